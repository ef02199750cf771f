"""How far it is to a fire extinguisher, along the floor as one runs."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

import numpy as np

from footwork.checks.case import Case
from footwork.checks.hazards import FLAMMABLE
from footwork.checks.result import CheckResult
from footwork.checks.rule import Rule, published
from footwork.checks.states import (
    State,
    states_at,
    states_ever,
    vehicles_in,
    while_in,
    without_vehicles,
)
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
    """With every vehicle in that may be while somebody is there, who may have to fetch one just then."""
    yield from _reach(case, [p.name for p, station in case.stations if station.stand])


def extinguisher_flammables(case: Case) -> Iterator[CheckResult]:
    """Likewise, from what burns as a liquid."""
    garage = frozenset[str]().union(*states_ever(case.ground))
    names = [
        p.name
        for p in case.placed
        if (
            p.name in garage if isinstance(p.thing, Vehicle) else FLAMMABLE in p.thing.minds and p.thing.stand
        )
    ]
    yield from _reach(case, names)


def shut_off(case: Case) -> Mapping[str, str]:
    """Extinguishers that nobody can stand before, and stations without a way to any: what to do, by name."""
    stations = [p.name for p, station in case.stations if station.stand]
    things = extinguishers(case.ground.scenario)
    if not stations:
        return {}
    crowded = ((thing.name, _crowded_words(case, thing)) for thing in things)
    cut_off = ((name, _no_way(case, name)) for name in stations if things)
    return {name: words for name, words in (*crowded, *cut_off) if words}


def _crowded_words(case: Case, thing: Fixture) -> str:
    """That nobody can stand before an extinguisher, in a state in which it is so; "" where somebody can."""
    for state in states_ever(case.ground):
        front = _crowded(case, state, thing)
        if front:
            by = not _crowded(case, without_vehicles(case.ground, state), thing)
            told = f"nobody can stand before {thing.name}: clear {front} from before it"
            return _while(case, state, told, by)
    return ""


def _while(case: Case, state: State, told: str, by_vehicles: bool) -> str:
    """``told``, and while which vehicles are in that is so, where it is by them."""
    return f"{while_in(vehicles_in(case.ground, state))}, {told}" if by_vehicles else told


def _crowded(case: Case, state: State, thing: Fixture) -> str:
    """What stands where a person would take an extinguisher; "" where some place is free."""
    plan = case.layout.plan
    scene, bare = plan.scene(state), Scene(plan.building)
    near = {at: crowding(scene, plan.piece_names(scene), at) for at in _beside(case, thing)}
    if any(far >= plan.scenario.walker.radius - TOLERANCE for _, far in near.values()):
        return ""
    front = max(near, key=lambda at: crowding(bare, plan.piece_names(bare), at)[1], default=None)
    return "" if front is None else near[front][0]


def _no_way(case: Case, name: str) -> str:
    """That there is none from a station to an extinguisher that can be stood before; "" where there is."""
    for state in states_at(case.ground, name):
        free = _free(case, state)
        if not free or math.isfinite(_longest(case, name, state)[0]):
            continue
        by = math.isfinite(_longest(case, name, without_vehicles(case.ground, state))[0])
        end = " or ".join(dict.fromkeys(end for end, _ in free))
        wide = case.say(2 * case.layout.plan.scenario.walker.radius)
        return _while(case, state, f"there is no way from {name} to {end}: open one, {wide} wide", by)
    return ""


def _free(case: Case, state: State) -> tuple[tuple[str, Point], ...]:
    """Where somebody can stand to take an extinguisher, each with its name; kept with the layout."""
    key, kept = ("extinguishers", state), case.layout.kept
    if key not in kept:
        plan = case.layout.plan
        scene = plan.scene(state)
        names, radius = plan.piece_names(scene), plan.scenario.walker.radius
        kept[key] = tuple(
            (thing.name, at)
            for thing in extinguishers(plan.scenario)
            for at in _beside(case, thing)
            if crowding(scene, names, at)[1] >= radius - TOLERANCE
        )
    known: tuple[tuple[str, Point], ...] = kept[key]
    return known


def _reach(case: Case, names: list[str]) -> Iterator[CheckResult]:
    """The longest way from any place of each thing to the extinguisher that is nearest to that place.

    Of one without any way ``extinguisher-clear`` tells.
    """
    for name in names:
        ways = [(*_longest(case, name, state), state) for state in states_at(case.ground, name)]
        found = [way for way in ways if math.isfinite(way[0])]
        if found:
            yield _reached(case, name, *max(found, key=lambda way: way[0]))


def _longest(case: Case, name: str, state: State) -> tuple[float, str]:
    """Metres from the place of a thing from which it is furthest to an extinguisher, and the nearest one's
    name; inf where there is none to walk to.  Kept with the layout.

    Where one side cannot be stood at, the others count; inf where nobody can walk at all.
    """
    key, kept = ("to an extinguisher", state), case.layout.kept
    if key not in kept:
        kept[key] = _all_longest(case, state)
    known: dict[str, tuple[float, str]] = kept[key]
    return known[name]


def _all_longest(case: Case, state: State) -> dict[str, tuple[float, str]]:
    """The same of all things in a state."""
    plan, targets = case.layout.plan, _free(case, state)
    found = {placed.name: (math.inf, "") for placed in case.placed}
    places = [(name, place.at) for name in found for place in plan.places(name)]
    if not targets or not places:
        return found
    radius = plan.scenario.walker.radius
    lengths = plan.scene(state).lengths([at for _, at in places], [at for _, at in targets], radius)
    for (name, _), row in zip(places, lengths, strict=True):
        nearest = int(np.argmin(row))
        far = float(row[nearest])
        if math.isfinite(far) and (not math.isfinite(found[name][0]) or far > found[name][0]):
            found[name] = (far, targets[nearest][0])
    return found


def _reached(case: Case, name: str, far: float, nearest: str, state: State) -> CheckResult:
    """How far one extinguisher is from a thing, in words: which, and in which state that is so."""
    say, most = case.say, case.rule.figure or math.inf
    if far <= most:
        return case.result(name, True, most, far, f"{name} is {say(far)} from {nearest}, along the floor")
    told = (
        f"it is {say(far)} along the floor from {name} to {nearest}, {say(far - most)} over {say(most)}: "
        f"hang another extinguisher nearer to {name}"
    )
    by = _longest(case, name, without_vehicles(case.ground, state))[0] <= most
    return case.result(name, False, most, far, _while(case, state, told, by))


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
