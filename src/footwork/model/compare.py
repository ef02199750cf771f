"""Whether two scenarios say the same, part by part: what was to be saved, and what reads back."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

from footwork.model.scenario import Job, Scenario

NEAR = 2e-4
"""Metres: twice the 0.1 mm that a file holds, for a length may be the sum of two."""


def parts(scenario: Scenario, renamed: Mapping[str, str]) -> Iterator[tuple[str, Any]]:
    """Each part of a scenario that a file holds, by its name in the file.

    ``renamed`` holds the names of stations that the file has otherwise.  Jobs without a stop are left
    out, for a file cannot hold them.
    """

    def name(word: str) -> str:
        return renamed.get(word, word)

    yield "units", scenario.units
    yield "walker", scenario.walker
    yield "room", replace(scenario.room, walls=())
    for station in scenario.stations:
        yield f"stations.{name(station.name)}", replace(station, name="", group="", like=None)
    yield "seasons", scenario.seasons
    for vehicle in scenario.vehicles:
        yield f"vehicles.{vehicle.name}", vehicle
    for job in scenario.jobs:
        if job.route:
            yield f"jobs.{job.name}", _job(job, renamed)
    yield "spots", tuple((s.placement, tuple(map(name, s.takes))) for s in scenario.spots)
    wishes = [(name(p.station), name(p.near or ""), name(p.apart_from or ""), p) for p in scenario.prefer]
    yield "prefer", tuple((*words, p.weight, p.by) for *words, p in sorted(wishes, key=lambda w: w[:3]))
    yield "checks", tuple(sorted(scenario.checks.items(), key=lambda item: item[0]))
    for layout in scenario.layouts:
        places = sorted((name(word), place) for word, place in layout.placements.items())
        yield f"layouts.{layout.name}", tuple(places)


def _job(job: Job, renamed: Mapping[str, str]) -> tuple[Any, ...]:
    def name(word: str) -> str:
        return renamed.get(word, word)

    route = tuple((name(v.name), tuple(map(name, v.members)), v.side or "") for v in job.route)
    carry = tuple((name(c.start), name(c.end), c.width, c.weight) for c in job.carry)
    minutes = tuple(sorted((name(word), minutes) for word, minutes in job.minutes))
    return (job.times_per_year, job.times_range, job.weeks, job.seasons, job.outside, route, carry, minutes)


LAYOUTS = "layouts."
"""What the names of the parts begin with that are layouts."""


def differing(a: Scenario, b: Scenario) -> list[str]:
    """Names of the parts that two scenarios read from files say otherwise, or one of them alone; layouts
    are left out."""
    one, other = dict(parts(a, {})), dict(parts(b, {}))
    return [
        name
        for name in dict.fromkeys((*one, *other))
        if not name.startswith(LAYOUTS)
        and not (name in one and name in other and alike(one[name], other[name]))
    ]


def alike(a: Any, b: Any) -> bool:
    """Whether two parts say the same, lengths to the 0.1 mm that a file holds."""
    if isinstance(a, float | int) and isinstance(b, float | int):
        return abs(a - b) <= NEAR
    if isinstance(a, tuple) and isinstance(b, tuple):
        return len(a) == len(b) and all(alike(x, y) for x, y in zip(a, b, strict=True))
    if is_dataclass(a) and type(a) is type(b):
        return all(alike(getattr(a, f.name), getattr(b, f.name)) for f in fields(a) if f.compare)
    return bool(a == b)
