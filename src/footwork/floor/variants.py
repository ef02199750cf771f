"""How a job is really walked: who of a shared group serves it, and what has to be rolled out for it.

A job has variants where a group of alike stations is shared evenly: each member serves as often as the
others.  A station that is parked is rolled out before a job's first visit to it and back after the last: two
more stops at the place where it is parked, with legs as wide as the thing.  In a variant that does not use
it, it stands in nobody's way.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from footwork.floor.shapes import StandingPlace, door_place, standing_places
from footwork.model.scenario import Job, Scenario, Station, Vehicle, Visit

PARKED = ", parked"
"""What the name of a stop ends with where a thing is parked."""


@dataclass(frozen=True, slots=True)
class Variant:
    """One way in which a job is done, for ``share`` of its times; ``out`` are parked things that it uses."""

    share: float
    route: tuple[Visit, ...]
    out: frozenset[str] = frozenset()


def variants(scenario: Scenario, job: Job) -> tuple[Variant, ...]:
    """The variants of a job, by share alike; one where nothing is shared."""
    shared = _shared(scenario, job)
    count = math.lcm(*(len(members) for members in shared.values()))
    return tuple(_variant(scenario, job, shared, number, count) for number in range(count))


def comes_and_goes(thing: Station | Vehicle) -> bool:
    """Whether a thing is on the floor in some states only."""
    return isinstance(thing, Vehicle) or thing.parked is not None


def _shared(scenario: Scenario, job: Job) -> dict[tuple[str, ...], tuple[str, ...]]:
    """Groups that the job's visits share evenly, by all their members: those that serve."""
    found = {}
    for visit in job.route:
        if visit.kind == "station" and len(visit.members) > 1:
            use = scenario.station(visit.members[0]).use
            if use != "nearest":
                serving = visit.members if use == "evenly" else visit.members[: int(use)]
                found[visit.members] = serving
    return found


def _variant(
    scenario: Scenario, job: Job, shared: dict[tuple[str, ...], tuple[str, ...]], number: int, count: int
) -> Variant:
    def served(visit: Visit) -> Visit:
        serving = shared.get(visit.members)
        return visit if serving is None else replace(visit, members=(serving[number % len(serving)],))

    route = tuple(served(visit) for visit in job.route) if shared else job.route
    parked = {s.name for s in scenario.stations if s.parked is not None}
    out = frozenset(visit.members[0] for visit in route if visit.members[0] in parked)
    return Variant(1.0 / count, tuple(_rolled(route, out)) if out else route, out)


def _rolled(route: tuple[Visit, ...], out: frozenset[str]) -> Iterator[Visit]:
    """The route with a stop where each thing is parked, before its first visit and after its last."""
    names = [visit.members[0] for visit in route]
    for k, visit in enumerate(route):
        name = names[k]
        if name in out and name not in names[:k]:
            yield parked_visit(name)
        yield visit
        if name in out and name not in names[k + 1 :]:
            yield parked_visit(name)


def parked_visit(name: str) -> Visit:
    """The stop where a thing is parked.  No thing of the file has a comma in its name."""
    return Visit(f"{name}{PARKED}", "parked", (f"{name}{PARKED}",))


def parked_thing(scenario: Scenario, name: str) -> Station | None:
    """The station whose parking a stop is; None for any other name."""
    return scenario.station(name.removesuffix(PARKED)) if name.endswith(PARKED) else None


def fixed_place(scenario: Scenario, name: str) -> StandingPlace:
    """Where one stands at a stop that never moves: a door, or where a thing is parked."""
    width = scenario.walker.width
    thing = parked_thing(scenario, name)
    if thing is None or thing.parked is None:
        return door_place(scenario.room.door(name), width)
    place = standing_places(thing, thing.parked, width)[0]
    return replace(place, owner=name, side=None)


def widths(scenario: Scenario, job: Job, route: tuple[Visit, ...]) -> list[float]:
    """Clear width, in metres, that each leg of a route needs: what is rolled along is as wide as it is."""
    walker = scenario.walker.width

    def rolled(a: Visit, b: Visit) -> float:
        for one, other in ((a, b), (b, a)):
            thing = parked_thing(scenario, one.members[0])
            if thing is not None and other.members == (thing.name,):
                return min(thing.size)
        return 0.0

    return [max(job.width_between(a, b, walker), rolled(a, b)) for a, b in pairwise(route)]
