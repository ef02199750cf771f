"""What each move does to a scenario and a layout: new ones come back, the old ones stay as they are.

Lengths are metres, x east, y north, bearings degrees clockwise from north.  Every function here
raises UsageError, one line, when the move names something that is not there or cannot be.
"""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import singledispatch
from typing import Literal

from footwork import moves
from footwork.model.errors import ScenarioError, UsageError
from footwork.model.limits import LONGEST, MOST_STATIONS
from footwork.model.names import name_fault
from footwork.model.outlines import bounds, fits
from footwork.model.scenario import Job, Layout, Placement, Point, Room, Scenario, Station, Vehicle, Wall
from footwork.model.spelling import held, held_length
from footwork.moves import unknown
from footwork.resizing import KEPT_PLACES, resized

AT_WALL = 0.10
"""Metres.  A back no farther than this from a wall stands against it (as for ``placing = "wall"``)."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """The scenario and layout after a move, and what the person should know about it."""

    scenario: Scenario
    layout: Layout
    notes: tuple[str, ...] = ()


@singledispatch
def apply_move(move: object, scenario: Scenario, layout: Layout) -> Outcome:
    """Apply one read move (see ``footwork.moves``); arguments are left as they are."""
    raise TypeError(f"not a move: {move!r}")


@apply_move.register
def _(move: moves.MoveTo, scenario: Scenario, layout: Layout) -> Outcome:
    thing = _movable(scenario, move.name)
    old = layout.placements[thing.name]
    facing = old.facing if move.facing is None else move.facing
    return Outcome(scenario, _moved(scenario, layout, {thing.name: Placement(*move.at, facing)}))


@apply_move.register
def _(move: moves.MoveBy, scenario: Scenario, layout: Layout) -> Outcome:
    thing = _movable(scenario, move.name)
    old = layout.placements[thing.name]
    new = Placement(old.x + move.by[0], old.y + move.by[1], old.facing)
    return Outcome(scenario, _moved(scenario, layout, {thing.name: new}))


@apply_move.register
def _(move: moves.Turn, scenario: Scenario, layout: Layout) -> Outcome:
    thing = _movable(scenario, move.name)
    old = layout.placements[thing.name]
    facing = (old.facing + move.degrees) % 360.0 if move.facing is None else move.facing
    return Outcome(scenario, _moved(scenario, layout, {thing.name: replace(old, facing=facing)}))


@apply_move.register
def _(move: moves.Swap, scenario: Scenario, layout: Layout) -> Outcome:
    first, second = _movable(scenario, move.first), _movable(scenario, move.second)
    if first.name == second.name:
        raise UsageError(f"swap names {first.name!r} twice; name two things")
    changes = {
        first.name: _in_place_of(second, layout.placements[second.name], first, scenario.room),
        second.name: _in_place_of(first, layout.placements[first.name], second, scenario.room),
    }
    return Outcome(scenario, _moved(scenario, layout, changes))


@apply_move.register
def _(move: moves.Remove, scenario: Scenario, layout: Layout) -> Outcome:
    if any(vehicle.name == move.name for vehicle in scenario.vehicles):
        gone: tuple[str, ...] = (move.name,)
    else:
        gone = scenario.group(move.name)
    if not gone:
        raise _no_thing(scenario, move.name)
    if len(gone) == len(scenario.stations):
        raise UsageError(f"{move.name!r} is all there is; a scenario needs a station")
    kept = without(scenario, gone)
    return Outcome(kept, _layout_without(layout, gone), _removal_notes(scenario, kept, gone))


@apply_move.register
def _(move: moves.Add, scenario: Scenario, layout: Layout) -> Outcome:
    taken = {thing.name for thing in scenario.things} | {station.group for station in scenario.stations}
    if move.name in taken:
        raise UsageError(f"there is a {move.name!r} already; give the new station another name")
    if wrong := name_fault(move.name):
        raise UsageError(f"add {move.name!r}: {wrong}")
    if len(scenario.stations) >= MOST_STATIONS:
        raise UsageError(f"{len(scenario.stations)} stations are all there may be; remove one first")
    station = _new_station(move, scenario)
    facing = move.facing if move.facing is not None else _away_from_wall(move.at, scenario.room)
    added = {station.name: _held(Placement(*move.at, facing), scenario.units)}
    layouts = tuple(each.moved(added) for each in scenario.layouts)
    notes = [f"no job visits {station.name} yet: it takes floor and adds no walking of its own"]
    if any(each.name != layout.name for each in layouts):
        notes.append(f"the other layouts have {station.name} in the same place")
    grown = scenario.with_(stations=(*scenario.stations, station), layouts=layouts)
    return Outcome(grown, layout.moved(added), tuple(notes))


@apply_move.register
def _(move: moves.Resize, scenario: Scenario, layout: Layout) -> Outcome:
    wide, deep = (held_length(side, scenario.units) for side in move.size)
    return Outcome(*resized(scenario, layout, (wide, deep)), (KEPT_PLACES,))


@apply_move.register
def _(move: moves.Times, scenario: Scenario, layout: Layout) -> Outcome:
    job = next((job for job in scenario.jobs if job.name == move.job), None)
    if job is None:
        raise unknown("job", move.job, (job.name for job in scenario.jobs))
    per_year = move.per_year * job.part
    new = replace(job, times=move.times, times_per_year=per_year)
    notes: tuple[str, ...] = ()
    if job.weeks is not None:
        notes = (f"{job.name} is done in {job.weeks:g} weeks of the year: {per_year:,.4g} times",)
    elif job.seasons:
        held = " and ".join(job.seasons)
        notes = (f"{job.name} is done in {held} alone: {per_year:,.4g} times a year",)
    if job.times_range and not job.times_range[0] <= per_year <= job.times_range[1]:
        new = replace(new, times_range=None)
        notes += (f"{job.name} is now done outside its times_range, which is dropped",)
    jobs = tuple(new if each is job else each for each in scenario.jobs)
    return Outcome(scenario.with_(jobs=jobs), layout, notes)


@apply_move.register
def _(move: moves.Inside, scenario: Scenario, layout: Layout) -> Outcome:
    vehicle = next((v for v in scenario.vehicles if v.name == move.vehicle), None)
    if vehicle is None:
        raise unknown("vehicle", move.vehicle, (v.name for v in scenario.vehicles))
    vehicles = tuple(
        replace(v, inside=move.share, inside_by=()) if v is vehicle else v for v in scenario.vehicles
    )
    if move.share == 0:
        asking = [job.name for job in scenario.jobs if any(vehicle.name in v.members for v in job.route)]
        note = f"{vehicle.name} still comes in for {', '.join(asking)}" if asking else ""
    else:
        asking = [job.name for job in scenario.jobs if vehicle.name in job.outside]
        note = f"{vehicle.name} still stays out for {', '.join(asking)}" if asking else ""
    return Outcome(scenario.with_(vehicles=vehicles), layout, (note,) if note else ())


def _moved(scenario: Scenario, layout: Layout, changes: Mapping[str, Placement]) -> Layout:
    """The layout with things elsewhere, where a file can say that they are: a what-if's figures are then
    those of what is saved."""
    return layout.moved({name: _held(place, scenario.units) for name, place in changes.items()})


def _held(place: Placement, units: str) -> Placement:
    try:
        return held(place, units)
    except ValueError as fault:
        raise UsageError(str(fault)) from None


def _no_thing(scenario: Scenario, name: str) -> UsageError:
    names = {thing.name for thing in scenario.things} | {station.group for station in scenario.stations}
    return unknown("station or vehicle", name, names, many="the file has")


def _movable(scenario: Scenario, name: str) -> Station | Vehicle:
    """The one thing of that name; refuses groups of several and stations that the file fixes."""
    for thing in scenario.things:
        if thing.name == name:
            if isinstance(thing, Station) and thing.fixed is not None:
                raise UsageError(f"{name!r} is fixed in the file; take out its `fixed` to let it move")
            return thing
    group = scenario.group(name)
    if group:
        raise UsageError(f"there are {len(group)} of {name!r}; say which: {', '.join(group)}")
    raise _no_thing(scenario, name)


def _in_place_of(old: Station | Vehicle, there: Placement, new: Station | Vehicle, room: Room) -> Placement:
    """Where ``new`` stands when it takes the place of ``old``.

    Backs meet where the old one stood against a wall, so that a deeper one does not sink into it;
    elsewhere the middles do.
    """
    b = math.radians(there.facing)
    front = (math.sin(b), math.cos(b))
    half = old.size[1] / 2
    back = (there.x - half * front[0], there.y - half * front[1])
    if isinstance(old, Vehicle) or not any(_wall_gap(wall, back) <= AT_WALL for wall in room.walls):
        return there
    half = new.size[1] / 2
    return Placement(back[0] + half * front[0], back[1] + half * front[1], there.facing)


def _wall_gap(wall: Wall, point: Point) -> float:
    """Distance in metres from a point to a wall, a segment."""
    (x0, y0), (x1, y1) = wall.start, wall.end
    dx, dy = x1 - x0, y1 - y0
    along = ((point[0] - x0) * dx + (point[1] - y0) * dy) / (dx * dx + dy * dy)
    along = min(1.0, max(0.0, along))
    return math.hypot(point[0] - x0 - along * dx, point[1] - y0 - along * dy)


def _away_from_wall(at: Point, room: Room) -> float:
    """The facing of something that turns its back to the nearest wall."""
    wall = min(room.walls, key=lambda wall: _wall_gap(wall, at))
    return math.degrees(math.atan2(wall.inward[0], wall.inward[1])) % 360.0


def _new_station(move: moves.Add, scenario: Scenario) -> Station:
    """The station as the file's reader makes it, so that one set of rules and defaults holds."""
    from footwork.model.read import loads

    lines = [
        "[walker]",
        f"profile = {_quoted(scenario.walker.profile)}",
        "[room]",
        f"size = [{LONGEST}, {LONGEST}]",
        f"[stations.{_quoted(move.name)}]",
    ]
    if move.like is not None:
        lines.append(f"like = {_quoted(move.like)}")
    if move.size is not None:
        wide, deep = (held_length(side, scenario.units) for side in move.size)
        lines.append(f"size = [{wide!r}, {deep!r}]")
    if move.placing is not None:
        lines.append(f"placing = {_quoted(move.placing)}")
    try:
        station = loads("\n".join(lines)).stations[0]
    except ScenarioError as fault:
        problem = fault.problems[0]
        raise UsageError(
            f"{move.name}: {problem.what}" + (f"; {problem.mend}" if problem.mend else "")
        ) from None
    x0, y0, x1, y1 = bounds(scenario.room.outline)
    outside = station.outdoors and bool(scenario.room.yards)
    if not outside and not fits(station.size, (x1 - x0, y1 - y0)):
        raise UsageError(f"{move.name}: it is larger than the room; check its unit")
    return station


def _quoted(text: str) -> str:
    """A string of TOML, whose escapes are those of JSON."""
    return json.dumps(text, ensure_ascii=False)


def without(scenario: Scenario, gone: tuple[str, ...]) -> Scenario:
    """The scenario with those stations or vehicles taken out of everything that names them."""
    stations = _shared_out([s for s in scenario.stations if s.name not in gone])
    vehicles = tuple(v for v in scenario.vehicles if v.name not in gone)
    left = {s.name for s in stations} | {s.group for s in stations} | {v.name for v in vehicles}
    before = {t.name for t in scenario.things} | {s.group for s in scenario.stations}
    words = frozenset(before - left)
    spots = (replace(s, takes=tuple(t for t in s.takes if t not in words)) for s in scenario.spots)
    return scenario.with_(
        stations=stations,
        vehicles=vehicles,
        jobs=tuple(_job_without(job, words) for job in scenario.jobs),
        spots=tuple(spot for spot in spots if spot.takes),
        prefer=tuple(p for p in scenario.prefer if not words & {p.station, p.near, p.apart_from}),
        layouts=tuple(_layout_without(layout, gone) for layout in scenario.layouts),
    )


def _shared_out(stations: list[Station]) -> tuple[Station, ...]:
    """Members of a group are used as before, as far as there are enough of them."""
    count = Counter(station.group for station in stations)

    def use(station: Station) -> Literal["nearest", "evenly"] | int:
        left = count[station.group]
        if left == 1 or station.use == "evenly":
            return "nearest" if left == 1 else "evenly"
        return station.use if station.use == "nearest" else min(station.use, left)

    return tuple(replace(station, use=use(station)) for station in stations)


def _job_without(job: Job, words: frozenset[str]) -> Job:
    visits = (replace(v, members=tuple(m for m in v.members if m not in words)) for v in job.route)
    return replace(
        job,
        route=tuple(visit for visit in visits if visit.members),
        minutes=tuple(entry for entry in job.minutes if entry[0] not in words),
        carry=tuple(c for c in job.carry if c.start not in words and c.end not in words),
        outside=tuple(name for name in job.outside if name not in words),
    )


def _layout_without(layout: Layout, gone: tuple[str, ...]) -> Layout:
    return Layout(layout.name, {n: place for n, place in layout.placements.items() if n not in gone})


def _removal_notes(before: Scenario, after: Scenario, gone: tuple[str, ...]) -> tuple[str, ...]:
    name = ", ".join(gone)
    fewer, empty = [], []
    for old, new in zip(before.jobs, after.jobs, strict=True):
        if len(new.route) < len(old.route):
            fewer.append(old.name)
            if len({visit.members for visit in new.route}) < 2:  # twice running is no walk
                empty.append(old.name)
    notes = [f"{name} is out of the route of {', '.join(fewer)}"] if fewer else []
    if empty:
        notes.append(f"{', '.join(empty)}: no leg is left, so it costs nothing")
    lost = len(before.prefer) - len(after.prefer)
    if lost:
        notes.append(f"{lost} [[prefer]] {'entry' if lost == 1 else 'entries'} that named {name} dropped")
    return tuple(notes)
