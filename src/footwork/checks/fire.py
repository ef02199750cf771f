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
from footwork.floor.scene import Scene
from footwork.floor.walls import edges
from footwork.floor.widest import crowding
from footwork.model.outlines import contains
from footwork.model.scenario import TOLERANCE, Fixture, Point, Scenario, Vehicle

WORD = "extinguisher"
"""The kind of a fixture that is one."""

# --- extinguisher: every standing place, class A.

EXTINGUISHER = Rule(
    "extinguisher",
    "from every standing place it is at most {figure} along the floor to a fire extinguisher",
    "should",
    published("29 CFR 1910.157(d)(2), class A (from a secondary text)"),
    22.86,
    price=1500.0,
)

# --- extinguisher-flammables: flammables and vehicles, class B.

EXTINGUISHER_FLAMMABLES = Rule(
    "extinguisher-flammables",
    "from a store of flammables or a vehicle it is at most {figure} along the floor to a fire extinguisher",
    "should",
    published("29 CFR 1910.157(d)(4), class B (from a secondary text)"),
    15.24,
    price=1500.0,
)


def extinguishers(scenario: Scenario) -> tuple[Fixture, ...]:
    """The fixtures that are fire extinguishers."""
    return tuple(fixture for fixture in scenario.room.fixtures if fixture.kind == WORD)


def extinguisher(case: Case) -> Iterator[CheckResult]:
    """With every vehicle in that is ever in."""
    names = [p.name for p, station in case.stations if station.stand]
    yield from _reach(case, names, blocked=True)


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


def _reach(case: Case, names: list[str], blocked: bool = False) -> Iterator[CheckResult]:
    """The longest way from any place of each thing to the extinguisher that is nearest to that place.

    ``blocked``: one that nobody can stand before is told as well.
    """
    if not names:
        return
    plan, say = case.layout.plan, case.say
    most = case.rule.figure or math.inf
    scene = plan.scene(all_in(case))
    bare = Scene(plan.building)
    radius = plan.scenario.walker.radius
    targets: list[tuple[str, Point]] = []
    for thing in extinguishers(plan.scenario):
        near = {at: crowding(scene, plan.piece_names(scene), at) for at in _beside(case, thing)}
        free = [at for at, (_, far) in near.items() if far >= radius - TOLERANCE]
        targets += [(thing.name, at) for at in free]
        if blocked and near and not free:
            front = max(near, key=lambda at: crowding(bare, plan.piece_names(bare), at)[1])
            what = near[front][0]
            message = f"nobody can stand before {thing.name}: clear {what} from before it"
            yield case.result(thing.name, False, most, None, message)
    for name in names if targets else ():
        places = plan.places(name)
        lengths = scene.lengths([p.at for p in places], [at for _, at in targets], radius)
        # Where one side cannot be stood at, the others count; who cannot walk at all fails `reachable`.
        each = np.min(lengths, axis=1)
        walked = each[np.isfinite(each)]
        if not len(walked):
            end = " or ".join(dict.fromkeys(end for end, _ in targets))
            message = f"there is no way from {name} to {end}: open one, {say(2 * radius)} wide"
            yield case.result(name, False, most, None, message)
            continue
        far = float(walked.max())
        nearest = targets[int(np.argwhere(lengths == far)[0, 1])][0]
        message = f"{name} is {say(far)} from {nearest}, along the floor"
        if far > most:
            message = (
                f"it is {say(far)} along the floor from {name} to {nearest}, {say(far - most)} over "
                f"{say(most)}: hang another extinguisher nearer to {name}"
            )
        yield case.result(name, far <= most, most, far, message)


def _beside(case: Case, thing: Fixture) -> list[Point]:
    """Where a person may stand to take an extinguisher: before each side of it, or before its wall."""
    plan = case.layout.plan
    radius = plan.scenario.walker.radius
    found = []
    for start, end in edges(thing.outline):
        along = np.subtract(end, start) / max(math.dist(start, end), 1e-12)
        middle = (np.array(start) + np.array(end)) / 2
        x, y = (middle + radius * np.array([along[1], -along[0]])).tolist()
        found.append((x, y))
    # One that hangs on a wall of the room is not taken from the yard behind it.
    indoors = contains(plan.room.outline, thing.at)
    grounds = (plan.room.outline,) if indoors else tuple(yard.outline for yard in plan.room.yards)
    return [at for at in found if any(contains(ring, at) for ring in grounds)]
