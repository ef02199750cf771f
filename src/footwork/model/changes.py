"""What one version of a file says otherwise than another, in words: one line for each thing that changed.

Both are scenarios as read from a file, so that names mean the same in them.  Layouts are left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from footwork.model.compare import differing
from footwork.model.scenario import Job, Scenario, Station, Vehicle
from footwork.model.units import format_length


def told(before: Scenario, after: Scenario) -> tuple[str, ...]:
    """One line for each part that differs, lengths in the file's units."""
    parts = differing(before, after)
    lines = [
        *_room(before, after, parts),
        *_stations(before, after, parts),
        *_vehicles(before, after, parts),
        *_jobs(before, after, parts),
        *_lists(before, after, parts),
    ]
    own = ("room", "stations.", "vehicles.", "jobs.", "spots", "prefer")
    return (*lines, *(f"{part}: changed" for part in parts if not part.startswith(own)))


def _size(size: tuple[float, float], units: str) -> str:
    return " x ".join(format_length(side, units) for side in size)


def _resized(before: Scenario, after: Scenario) -> bool:
    return before.room.size != after.room.size


def _room(before: Scenario, after: Scenario, parts: Sequence[str]) -> Iterator[str]:
    if "room" not in parts:
        return
    old, new = before.room.size, after.room.size
    if old is not None and new is not None and old != new:
        yield f"the room: {_size(new, after.units)} instead of {_size(old, before.units)}"
    else:
        yield "the room: changed"


def _stations(before: Scenario, after: Scenario, parts: Sequence[str]) -> Iterator[str]:
    old, new = _by_group(before), _by_group(after)
    for group in dict.fromkeys((*old, *new)):
        was, now = old.get(group, []), new.get(group, [])
        if not was:
            yield f"{group}: a new station, {_size(now[0].size, after.units)}"
        elif not now:
            yield f"{group}: taken away"
        elif len(was) != len(now):
            yield f"{group}: {len(now)} of them instead of {len(was)}"
        elif any(f"stations.{station.name}" in parts for station in now):
            follows = _resized(before, after) and any(s.fixed or s.parked for s in now)
            yield f"{group}: its place goes with the wall" if follows else f"{group}: changed"


def _by_group(scenario: Scenario) -> dict[str, list[Station]]:
    found: dict[str, list[Station]] = {}
    for station in scenario.stations:
        found.setdefault(station.group, []).append(station)
    return found


def _vehicles(before: Scenario, after: Scenario, parts: Sequence[str]) -> Iterator[str]:
    now = {vehicle.name: vehicle for vehicle in after.vehicles}
    for vehicle in before.vehicles:
        new = now.pop(vehicle.name, None)
        if new is None:
            yield f"{vehicle.name}: taken away"
        elif (new.inside, new.inside_by) != (vehicle.inside, vehicle.inside_by):
            yield f"{vehicle.name}: {_inside(new)}, instead of {_inside(vehicle)}"
        elif f"vehicles.{vehicle.name}" in parts:
            yield f"{vehicle.name}: {'its spots go with the wall' if _resized(before, after) else 'changed'}"
    yield from (f"{name}: a new vehicle" for name in now)


def _inside(vehicle: Vehicle) -> str:
    """How much of the time it is in when no job says."""
    if vehicle.inside_by:
        return ", ".join(f"in for {share:.0%} of {season}" for season, share in vehicle.inside_by).replace(
            "%", " %"
        )
    return {0.0: "out", 1.0: "in"}.get(vehicle.inside, f"in for {vehicle.inside:.0%} of the time").replace(
        "%", " %"
    )


def _jobs(before: Scenario, after: Scenario, parts: Sequence[str]) -> Iterator[str]:
    now = {job.name: job for job in after.jobs}
    for job in before.jobs:
        new = now.pop(job.name, None)
        if new is None:
            yield f"job {job.name}: gone" + (", for no stop of its route is left" if job.route else "")
        elif f"jobs.{job.name}" in parts:
            yield f"job {job.name}: {'; '.join(_job(job, new)) or 'changed'}"
    yield from (f"job {name}: new" for name in now)


def _job(old: Job, new: Job) -> Iterator[str]:
    if abs(old.times_per_year - new.times_per_year) > 1e-6:
        yield f"{_times(new)} instead of {_times(old)}"
    if old.times_range is not None and new.times_range is None:
        yield "without its times_range"
    if len(new.route) < len(old.route):
        left = {visit.name for visit in new.route}
        gone = dict.fromkeys(visit.name for visit in old.route if visit.name not in left)
        stops = len(old.route) - len(new.route)
        yield f"without {', '.join(gone)}" if gone else f"{stops} stops fewer"
    elif fewer := _fewer(old, new):
        yield f"fewer of {fewer} to go to"
    if out := [name for name in old.outside if name not in new.outside]:
        yield f"{', '.join(out)} need not be out"


def _fewer(old: Job, new: Job) -> str:
    """Names of stops that fewer alike stations can serve."""
    pairs = zip(old.route, new.route, strict=False)
    return ", ".join(dict.fromkeys(now.name for was, now in pairs if len(now.members) < len(was.members)))


def _times(job: Job) -> str:
    return job.times or f"{job.times_per_year / job.part:.6g} per year"


def _lists(before: Scenario, after: Scenario, parts: Sequence[str]) -> Iterator[str]:
    for part, old, new in (
        ("spots", len(before.spots), len(after.spots)),
        ("prefer", len(before.prefer), len(after.prefer)),
    ):
        if part in parts:
            yield f"[[{part}]]: {f'{new} instead of {old}' if old != new else 'changed'}"
