"""How far it is to a fire extinguisher, along the floor as one runs."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from footwork.checks.case import Case
from footwork.checks.hazards import FLAMMABLE
from footwork.checks.result import CheckResult
from footwork.checks.rule import Rule, published
from footwork.checks.walking import all_in
from footwork.floor.shapes import StandingPlace
from footwork.floor.walls import edges
from footwork.model.scenario import SIDES, Fixture, Point, Scenario, Station, Vehicle

WORD = "extinguisher"
"""A fixture or station with this in its name is one."""

# --- extinguisher: every standing place, class A.

EXTINGUISHER = Rule(
    "extinguisher",
    "from every standing place it is at most {figure} along the floor to a fire extinguisher",
    "should",
    published("29 CFR 1910.157(d)(2), class A (from a secondary text)"),
    22.86,
)

# --- extinguisher-flammables: flammables and vehicles, class B.

EXTINGUISHER_FLAMMABLES = Rule(
    "extinguisher-flammables",
    "from a store of flammables or a vehicle it is at most {figure} along the floor to a fire extinguisher",
    "should",
    published("29 CFR 1910.157(d)(4), class B (from a secondary text)"),
    15.24,
)


def extinguishers(scenario: Scenario) -> tuple[Fixture | Station, ...]:
    """The fixtures and stations that are fire extinguishers."""
    things: tuple[Fixture | Station, ...] = (*scenario.room.fixtures, *scenario.stations)
    return tuple(thing for thing in things if WORD in thing.name.lower())


def extinguisher(case: Case) -> Iterator[CheckResult]:
    """With every vehicle in that is ever in."""
    names = [p.name for p, station in case.stations if station.stand]
    yield from _reach(case, names)


def extinguisher_flammables(case: Case) -> Iterator[CheckResult]:
    """Likewise, from what burns as a liquid."""
    garage = all_in(case)
    names = [
        p.name
        for p in case.placed
        if (
            p.name in garage if isinstance(p.thing, Vehicle) else FLAMMABLE in p.thing.minds and p.thing.stand
        )
    ]
    yield from _reach(case, names)


def _reach(case: Case, names: list[str]) -> Iterator[CheckResult]:
    plan, say = case.layout.plan, case.say
    most = case.rule.figure or math.inf
    ends = {thing.name: _beside(case, thing) for thing in extinguishers(plan.scenario)}
    if not ends:
        return
    scene = plan.scene(all_in(case))
    radius = plan.scenario.walker.radius
    targets = [(name, point) for name, points in ends.items() for point in points]
    for name in names:
        places: tuple[StandingPlace, ...] = plan.places(name)
        lengths = scene.lengths([p.at for p in places], [at for _, at in targets], radius)
        # Where one side cannot be stood at, the others count; who cannot walk at all fails `reachable`.
        each = np.min(lengths, axis=1)
        walked = each[np.isfinite(each)]
        if not len(walked):
            message = f"nobody can walk from {name} to {_any(tuple(ends))}: keep the floor before it free"
            yield case.result(name, False, most, None, message)
            continue
        far = float(walked.max())
        nearest = targets[int(np.argwhere(lengths == far)[0, 1])][0]
        if far <= most:
            yield case.result(name, True, most, far, f"{name} is {say(far)} from {nearest}, along the floor")
            continue
        message = (
            f"it is {say(far)} along the floor from {name} to {nearest}, {say(far - most)} over {say(most)}: "
            f"hang another extinguisher nearer to {name}"
        )
        yield case.result(name, False, most, far, message)


def _any(names: tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else f"any of {', '.join(names)}"


def _beside(case: Case, thing: Fixture | Station) -> list[Point]:
    """Where a person may stand to take an extinguisher: before each side of it, or before its wall."""
    plan = case.layout.plan
    radius = plan.scenario.walker.radius
    if isinstance(thing, Station):
        sides = thing.stand or SIDES
        return [place.at for side in sides for place in plan.places(thing.name, side)]
    found = []
    for start, end in edges(thing.outline):
        along = np.subtract(end, start) / max(math.dist(start, end), 1e-12)
        middle = (np.array(start) + np.array(end)) / 2
        x, y = (middle + radius * np.array([along[1], -along[0]])).tolist()
        found.append((x, y))
    return found
