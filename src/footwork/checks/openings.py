"""What stands before doors and windows: an opening is no wall."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from footwork.checks.case import Case, either
from footwork.checks.ground import Body, Clash, Fault, Ground, Placed
from footwork.checks.result import CheckResult
from footwork.checks.rule import COMMON_PRACTICE, Rule
from footwork.floor.headroom import above_door, overhead
from footwork.floor.shapes import FloatArray, signed_area
from footwork.model.scenario import TOLERANCE, Door, Station, Window

# --- opening-clear: before a door that people use.

OPENING_CLEAR = Rule(
    "opening-clear",
    "before a door that people use the floor is free as wide as the door and {figure} deep",
    "must",
    COMMON_PRACTICE,
    0.90,
)

# --- vehicle-opening: before a door for vehicles, whether or not one is in the file.

VEHICLE_OPENING = Rule(
    "vehicle-opening",
    "inside a door for vehicles the floor is free as wide as the opening and {figure} deep, but for stations "
    "on castors",
    "must",
    COMMON_PRACTICE,
    1.20,
)
"""So deep that a sheet 1.22 m wide, carried flat through the door, can be set down or turned inside.  What a
vehicle of the file needs further in, ``drive-in`` keeps free."""


def before(opening: Door | Window, depth: float, outside: bool = False) -> Body:
    """The floor ``depth`` metres in from an opening, as wide as it is; ``outside`` as far out, too."""
    start, end, inward = np.array(opening.start), np.array(opening.end), np.array(opening.inward)
    low, high = (-depth if outside else 0.0) * inward, depth * inward
    ring: FloatArray = np.array([start + low, end + low, end + high, start + high])
    return Body(opening.name, (ring if signed_area(ring) > 0 else np.ascontiguousarray(ring[::-1]),))


def kept_open(ground: Ground) -> tuple[tuple[Rule, Door, Body], ...]:
    """Doors that are used, each with its rule and the floor before it; kept with the ground."""
    if "kept open" not in ground.kept:
        found = []
        for door in ground.room.doors:
            rule = VEHICLE_OPENING if door.vehicle else OPENING_CLEAR
            depth = ground.under(rule).figure or 0.0
            if door.used and depth > 0.0:
                found.append((rule, door, before(door, depth, outside=door.yard is not None)))
        ground.kept["kept open"] = tuple(found)
    known: tuple[tuple[Rule, Door, Body], ...] = ground.kept["kept open"]
    return known


def stands_before(thing: object, rule: Rule, door: Door) -> bool:
    """Whether a rule on openings is about a thing: a vehicle goes out by one, and castors roll away.

    People go below what hangs overhead, and whatever comes in by a vehicle's door below what hangs as high.
    """
    if not isinstance(thing, Station):
        return False
    if rule is VEHICLE_OPENING:
        return not thing.castors and not above_door(thing, door)
    return not overhead(thing)


def _alone(ground: Ground, placed: Placed, asked: Rule) -> Iterator[Fault]:
    for rule, door, floor in kept_open(ground):
        if rule is asked and stands_before(placed.thing, rule, door) and placed.body.meets(floor):
            clash = Clash(placed.name, placed.body.pieces, floor.pieces)
            need = ground.under(rule).figure or 0.0
            yield Fault(door.name, placed.name, need, _free(door, placed.body), (clash,))


def _building(ground: Ground, asked: Rule) -> Iterator[Fault]:
    need = ground.under(asked).figure or 0.0
    for rule, door, floor in kept_open(ground):
        for fixture in ground.fixtures if rule is asked else ():
            if fixture.meets(floor):
                yield Fault(door.name, fixture.name, need, _free(door, fixture), note=FIXTURE)


FIXTURE = "fixture"


def opening_clear_building(ground: Ground) -> Iterator[Fault]:
    """Fixtures before a door: a fault of the building that no layout mends."""
    return _building(ground, OPENING_CLEAR)


def vehicle_opening_building(ground: Ground) -> Iterator[Fault]:
    """Likewise, before a door for vehicles."""
    return _building(ground, VEHICLE_OPENING)


def _free(opening: Door | Window, body: Body) -> float:
    """Metres between an opening's line and what is before it."""
    x, y, _ = body.flat
    (sx, sy), (ix, iy) = opening.start, opening.inward
    off = (x - sx) * ix + (y - sy) * iy
    return max(0.0, float(off.min()) if off.max() > 0.0 else float(-off.max()))


def opening_clear_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    return _alone(ground, placed, OPENING_CLEAR)


def vehicle_opening_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    return _alone(ground, placed, VEHICLE_OPENING)


def _results(case: Case, mine: Rule) -> Iterator[CheckResult]:
    say, need = case.say, case.rule.figure

    def bad(fault: Fault) -> str:
        door = case.ground.room.door(fault.subject)
        if fault.note == FIXTURE:
            ways = either(f"move {fault.other} in the file if it can be", _otherwise(case.ground, door))
            return (
                f"{fault.other}, a fixture, is {say(fault.actual)} before {door.name}; {say(fault.required)} "
                f"must stay free there: {ways}"
            )
        fixed = case.ground.scenario.station(fault.other).fixed is not None
        stands = f"{fault.other} {'is fixed' if fixed else 'stands'} {say(fault.actual)} before "
        ways = either(
            f"take `fixed` out of {fault.other}" if fixed else case.apart(fault),
            "" if fixed else "stand it elsewhere",
            _otherwise(case.ground, door),
        )
        return (
            f"{stands}{'the exit' if door.exit else 'the door'} {door.name}; {say(fault.required)} must stay "
            f"free there: {ways}"
        )

    names = [door.name for rule, door, _ in kept_open(case.ground) if rule is mine]
    faults = {k: list(v) for k, v in case.gather(lambda ground, placed: _alone(ground, placed, mine)).items()}
    for fault in _building(case.ground, mine):
        faults.setdefault(fault.subject, []).append(fault)
    yield from case.results(
        names, faults, bad, lambda s: f"the floor before {s} is free", lambda _: need, lambda _: need
    )


def _otherwise(ground: Ground, door: Door) -> str:
    """What may be changed about a door, rather than about what stands before it."""
    scenario = ground.scenario
    if door.exit:
        return "make another door the exit"
    visited = any(door.name in visit.members for job in scenario.jobs for visit in job.route)
    if visited or any(vehicle.door == door.name for vehicle in scenario.vehicles):
        return ""
    return "give the door used = false if nobody opens it"


def opening_clear(case: Case) -> Iterator[CheckResult]:
    yield from _results(case, OPENING_CLEAR)


def vehicle_opening(case: Case) -> Iterator[CheckResult]:
    yield from _results(case, VEHICLE_OPENING)


# --- window-sill: light, and a window that opens.

WINDOW_SILL = Rule(
    "window-sill",
    "what stands within {figure} of a window is no taller than its sill",
    "should",
    COMMON_PRACTICE,
    0.50,
    price=2000.0,
)
"""Nobody stands a rack before the light of a bench to save a few hundred metres a year."""


def sills(ground: Ground) -> tuple[tuple[Window, Body], ...]:
    """Windows whose sill the file tells, each with the floor before it; kept with the ground."""
    if "sills" not in ground.kept:
        depth = ground.under(WINDOW_SILL).figure or 0.0
        ground.kept["sills"] = tuple(
            (window, before(window, depth))
            for window in ground.room.windows
            if window.sill is not None and depth > 0.0
        )
    known: tuple[tuple[Window, Body], ...] = ground.kept["sills"]
    return known


def window_sill_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    """A station without a height is taken as tall."""
    if not isinstance(placed.thing, Station):
        return
    tall = math.inf if placed.thing.height is None else placed.thing.height
    for window, floor in sills(ground):
        sill = window.sill or 0.0
        if tall > sill + TOLERANCE and placed.body.meets(floor):
            clash = Clash(placed.name, placed.body.pieces, floor.pieces)
            yield Fault(placed.name, window.name, sill, tall, (clash,))


def window_sill(case: Case) -> Iterator[CheckResult]:
    say = case.say

    def bad(fault: Fault) -> str:
        ways = either(case.apart(fault), "stand something lower there")
        if math.isinf(fault.actual):
            return (
                f"{fault.subject} stands before {fault.other}, and has no height in the file, so it is taken "
                f"as tall: give its height, or {ways}"
            )
        return (
            f"{fault.subject} is {say(fault.actual)} high before {fault.other}, whose sill is "
            f"{say(fault.required)} up: {ways}"
        )

    near = [p.name for p, _ in case.stations if any(p.body.meets(floor) for _, floor in sills(case.ground))]
    yield from case.results(
        near,
        case.gather(window_sill_alone),
        bad,
        lambda s: f"{s} is no taller than the sill behind it",
        lambda s: min((w.sill or 0.0 for w, _ in sills(case.ground)), default=None),
        lambda s: case.ground.scenario.thing(s).height,
    )
