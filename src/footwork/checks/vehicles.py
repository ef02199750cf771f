"""Vehicles: the way in, and room to work round one."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from footwork.checks.case import NO_MOVE, Case
from footwork.checks.ground import Body, Claim, Clash, Fault, Ground, Placed, Thing
from footwork.checks.result import CheckResult
from footwork.checks.rule import COMMON_PRACTICE, YOUR_FILE, Rule
from footwork.checks.strips import claim_fault
from footwork.floor import shapes
from footwork.floor.headroom import fits_below, overhead
from footwork.floor.overlap import distance
from footwork.floor.shapes import DRIVE_MARGIN, FloatArray, WayIn, front_axes
from footwork.model.scenario import TOLERANCE, Station, Vehicle

# --- drive-in: straight in, through an opening as wide as the body.

DRIVE_IN = Rule(
    "drive-in",
    "a vehicle drives straight in: the opening takes its body, and {figure} more on each side is free "
    "inside, but for stations on castors",
    "must",
    COMMON_PRACTICE,
    DRIVE_MARGIN,
)


def margin(ground: Ground) -> float:
    """Metres free on each side of a vehicle on its way in, as the file has it."""
    return ground.under(DRIVE_IN).figure or 0.0


def way_in(ground: Ground, placed: Placed) -> WayIn:
    """How a vehicle drives in to where it stands."""
    assert isinstance(placed.thing, Vehicle)
    door = ground.room.door(placed.thing.door)
    return shapes.drive_in(placed.thing, placed.placement, door, margin(ground))


def corridor(ground: Ground, placed: Placed) -> Body | None:
    """The floor that a vehicle needs to drive in; None for one that stays outside."""
    ring = way_in(ground, placed).corridor
    return None if ring is None else Body(f"the way in of {placed.name}", (ring,))


def drive_in_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    """Not square to the door's wall, wider or higher than the opening, or walls and fixtures in the way."""
    if not isinstance(placed.thing, Vehicle):
        return
    way = way_in(ground, placed)
    if not placed.body.meets(ground.floor):
        return
    door = ground.room.door(placed.thing.door)
    if not way.square:
        yield Fault(placed.name, door.name, 0.0, 0.0, note="turned")
    elif way.short > TOLERANCE:
        yield Fault(placed.name, door.name, 0.0, way.short, note="narrow")
    height = placed.thing.height
    if height is not None and door.height is not None and height > door.height + TOLERANCE:
        yield Fault(placed.name, door.name, door.height, height, note="low")
    lane = corridor(ground, placed)
    if lane is None:
        return
    for body in ground.building():
        if lane.meets(body):
            yield Fault(placed.name, body.name, 0.0, lane.depth(body), _apart(placed, lane, body))


def _apart(placed: Placed, lane: Body, body: Body, other: str = "") -> tuple[Clash, ...]:
    mine = Clash(placed.name, lane.pieces, body.pieces)
    return (Clash(other, body.pieces, lane.pieces), mine) if other else (mine,)


def drive_in_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    """A station that cannot roll away, or a vehicle that may be in at once, on the way in; a vehicle of known
    height passes below what hangs higher."""
    for mover, other in ((a, b), (b, a)):
        if not isinstance(mover.thing, Vehicle) or not _bars(ground, mover.thing, other.thing):
            continue
        lane = corridor(ground, mover)
        if lane is not None and lane.meets(other.body):
            deep = lane.depth(other.body)
            yield Fault(mover.name, other.name, 0.0, deep, _apart(mover, lane, other.body, other.name))


def _bars(ground: Ground, vehicle: Vehicle, other: Thing) -> bool:
    """Whether a vehicle cannot pass where another thing is: it is there too, and hangs no higher."""
    return _stays(ground, vehicle, other) and not fits_below(vehicle, other)


def _stays(ground: Ground, vehicle: Vehicle, other: Thing) -> bool:
    """Whether a thing is where it is while a vehicle is in."""
    if isinstance(other, Vehicle):
        return ground.together(vehicle, other)
    return not other.castors


def _crowds(ground: Ground, vehicle: Vehicle, other: Thing) -> bool:
    """Whether a thing is in the way of people beside a vehicle that is in."""
    return _stays(ground, vehicle, other) and not overhead(other)


def roll_away(ground: Ground, body: Body, placed: tuple[Placed, ...]) -> tuple[str, ...]:
    """Names of the stations on castors that stand in ``body`` and must be rolled away first."""
    movable = (p for p in placed if isinstance(p.thing, Station) and p.thing.castors)
    return tuple(p.name for p in movable if body.meets(p.body))


def first_rolled(ground: Ground, vehicle: Placed, placed: tuple[Placed, ...]) -> tuple[str, ...]:
    """Names of all the stations on castors that go out of the way before a vehicle is in and worked on."""
    lane = corridor(ground, vehicle)
    bodies = [*([] if lane is None else [lane]), *(claim.body for claim in _around(ground, vehicle))]
    return tuple(dict.fromkeys(name for body in bodies for name in roll_away(ground, body, placed)))


def drive_in(case: Case) -> Iterator[CheckResult]:
    say = case.say
    vehicles = {p.name: p for p in case.placed if isinstance(p.thing, Vehicle)}

    def bad(fault: Fault) -> str:
        if fault.note == "turned":
            return f"{fault.subject} does not stand square to {fault.other}: turn it nose or tail to the door"
        if fault.note == "narrow":
            move = case.shift([fault.subject], lambda placed: way_in(case.ground, placed).short)
            return (
                f"{fault.subject} is not in line with the opening of {fault.other} by {say(fault.actual)}: "
                f"{move or 'widen the door'}"
            )
        if fault.note == "low":
            return (
                f"{fault.subject} is {say(fault.actual)} high and the opening of {fault.other} "
                f"{say(fault.required)}: work on it outside, or raise the door"
            )
        return (
            f"{fault.other} stands {say(fault.actual)} in the way in of {fault.subject} "
            f"({say(margin(case.ground))} wider than it on each side): {case.mend(fault)}"
        )

    def good(name: str) -> str:
        lane = corridor(case.ground, vehicles[name])
        if lane is None:
            return f"{name} stands outside"
        rolled = roll_away(case.ground, lane, case.placed)
        first = (
            f", once {' and '.join(rolled)} {'is' if len(rolled) == 1 else 'are'} rolled away"
            if rolled
            else ""
        )
        return f"{name} can drive straight in{first}"

    faults = case.gather(drive_in_alone, drive_in_pair)
    yield from case.results(vehicles, faults, bad, good)


# --- vehicle-around: room to work on each side named, when a job visits the vehicle.

VEHICLE_AROUND = Rule(
    "vehicle-around",
    "the working space round a vehicle that a job visits, as its `around` says, is free but for stations on "
    "castors",
    "must",
    YOUR_FILE,
)


def _around(ground: Ground, placed: Placed) -> tuple[Claim, ...]:
    return placed.strips if isinstance(placed.thing, Vehicle) and placed.name in ground.visited else ()


def vehicle_around_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    for claim in _around(ground, placed):
        for body in ground.in_claim(claim):
            yield claim_fault(placed, claim, body)


def vehicle_around_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    """As for the way in: stations on castors may stand there and are rolled away.

    That holds for those that the job itself uses too: a tool chest is rolled along as the work goes round the
    vehicle, which the metres from where it stands do not flatter.
    """
    for owner, other in ((a, b), (b, a)):
        if not isinstance(owner.thing, Vehicle) or not _crowds(ground, owner.thing, other.thing):
            continue
        for claim in _around(ground, owner):
            if claim.body.meets(other.body):
                yield claim_fault(owner, claim, other.body, other.name)


def vehicle_around(case: Case) -> Iterator[CheckResult]:
    say = case.say
    claims = {p.name: c for p in case.placed if (c := _around(case.ground, p))}
    depth = {name: min(c.strip.depth for c in mine) for name, mine in claims.items()}

    def bad(fault: Fault) -> str:
        return (
            f"{fault.subject} has {say(fault.actual)} free at its {fault.side} up to {fault.other}; "
            f"{say(fault.required)} is needed to work there: {case.mend(fault)}"
        )

    def good(name: str) -> str:
        bodies = (claim.body for claim in claims[name])
        rolled = dict.fromkeys(n for body in bodies for n in roll_away(case.ground, body, case.placed))
        first = f"; roll {' and '.join(rolled)} away first" if rolled else ""
        return f"there is room to work round {name}{first}"

    faults = case.gather(vehicle_around_alone, vehicle_around_pair)
    yield from case.results(claims, faults, bad, good, depth.get, depth.get)


# --- vehicle-margin: a hand's breadth round a vehicle that is in.

VEHICLE_MARGIN = Rule(
    "vehicle-margin",
    "round a vehicle that is in, {figure} stays free to walls, fixtures, the shut door and whatever does not "
    "roll",
    "must",
    COMMON_PRACTICE,
    0.15,
)


def kept_apart(ground: Ground, one: Thing, two: Thing) -> float:
    """Metres that two things keep from each other because one of them is a vehicle that is in; or 0."""
    for vehicle, other in ((one, two), (two, one)):
        if isinstance(vehicle, Vehicle) and _bars(ground, vehicle, other):
            return ground.under(VEHICLE_MARGIN).figure or 0.0
    return 0.0


def vehicle_margin_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    """One that stands across its door's line does not let it shut, which ``door-shut`` tells."""
    vehicle = placed.thing
    if not isinstance(vehicle, Vehicle) or not placed.body.meets(ground.floor):
        return
    need = ground.under(VEHICLE_MARGIN).figure or 0.0
    door = ground.room.door(vehicle.door)
    line = Body(door.name, (np.array([door.start, door.end], dtype=np.float64),))
    shut = () if placed.body.meets(line) else (line,)
    for body in (*shut, *ground.segments, *ground.fixtures):
        gap = distance(placed.body.pieces, body.pieces)
        if gap < need - TOLERANCE and not placed.body.meets(body):
            yield Fault(placed.name, body.name, need, gap)


def vehicle_margin_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    need = kept_apart(ground, a.thing, b.thing)
    if need <= 0.0:
        return
    gap = distance(a.body.pieces, b.body.pieces)
    if gap < need - TOLERANCE:
        vehicle, other = (a, b) if isinstance(a.thing, Vehicle) else (b, a)
        yield Fault(vehicle.name, other.name, need, gap)


def vehicle_margin(case: Case) -> Iterator[CheckResult]:
    say, need = case.say, case.rule.figure
    by_name = {p.name: p for p in case.placed}
    bodies = {b.name: b for b in (*case.ground.segments, *case.ground.fixtures)}

    def bad(fault: Fault) -> str:
        def missing(placed: Placed) -> float:
            name = fault.other if placed.name == fault.subject else fault.subject
            other = by_name[name].body if name in by_name else bodies.get(name)
            return math.inf if other is None else fault.required - distance(placed.body.pieces, other.pieces)

        names = [name for name in (fault.other, fault.subject) if name in by_name]
        return (
            f"while {fault.subject} is in, {fault.other} is {say(fault.actual)} from it; "
            f"{say(fault.required)}, a hand's breadth, is the least: {case.shift(names, missing) or NO_MOVE}"
        )

    names = [p.name for p in case.placed if isinstance(p.thing, Vehicle) and p.body.meets(case.ground.floor)]
    yield from case.results(
        names,
        case.gather(vehicle_margin_alone, vehicle_margin_pair),
        bad,
        lambda s: f"a hand's breadth is free round {s}",
        lambda _: need,
        lambda _: need,
    )


# --- driver-door: where one gets out.

DRIVER_DOOR = Rule(
    "driver-door",
    "beside the driver's door of a vehicle that is in, {figure} is free to get out",
    "must",
    COMMON_PRACTICE,
    0.60,
)
DOOR_FROM, DOOR_TO = 0.2, 0.6
"""Where a driver's door and the way out of it lie, in parts of the vehicle's length behind its nose."""


def getting_out(ground: Ground, placed: Placed) -> Body | None:
    """The floor beside the driver's door; None where the file names no side, or the vehicle is outside.

    The driver's left is the left of somebody who sits in the vehicle and looks to its nose.
    """
    vehicle = placed.thing
    if not isinstance(vehicle, Vehicle) or vehicle.driver is None or not placed.body.meets(ground.floor):
        return None
    deep = ground.under(DRIVER_DOOR).figure or 0.0
    width, length = vehicle.size
    u, v = (np.array(axis) for axis in front_axes(placed.placement.facing))
    # u is the right hand of who looks at the nose from before it: the left hand of who sits inside.
    side = u if vehicle.driver == "left" else -u
    near, far = (-length / 2 + part * length for part in (DOOR_FROM, DOOR_TO))
    corners = [(width / 2, near), (width / 2 + deep, near), (width / 2 + deep, far), (width / 2, far)]
    ring: FloatArray = np.array([np.array(placed.placement.at) + a * side + b * v for a, b in corners])
    name = f"the driver's side of {placed.name}"
    return Body(name, (ring if shapes.signed_area(ring) > 0 else np.ascontiguousarray(ring[::-1]),))


def driver_door_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    floor = getting_out(ground, placed)
    if floor is not None:
        for body in ground.building():
            if floor.meets(body):
                yield _shut_in(ground, placed, floor, body, "")


def _shut_in(ground: Ground, placed: Placed, floor: Body, body: Body, other: str) -> Fault:
    need = ground.under(DRIVER_DOOR).figure or 0.0
    free = min(need, distance(placed.body.pieces, body.pieces))
    return Fault(placed.name, body.name, need, free, _apart(placed, floor, body, other))


def driver_door_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    for vehicle, other in ((a, b), (b, a)):
        floor = getting_out(ground, vehicle)
        if floor is None or not _crowds(ground, ground.scenario.vehicle(vehicle.name), other.thing):
            continue
        if floor.meets(other.body):
            yield _shut_in(ground, vehicle, floor, other.body, other.name)


def driver_door(case: Case) -> Iterator[CheckResult]:
    say, need = case.say, case.rule.figure

    def bad(fault: Fault) -> str:
        vehicle = case.ground.scenario.vehicle(fault.subject)
        return (
            f"while {fault.subject} is in, {fault.other} is {say(fault.actual)} from its {vehicle.driver} "
            f"side, where the driver gets out; {say(fault.required)} is needed there: {case.mend(fault)}, or "
            "drive in the other way round"
        )

    names = [p.name for p in case.placed if getting_out(case.ground, p) is not None]
    yield from case.results(
        names,
        case.gather(driver_door_alone, driver_door_pair),
        bad,
        lambda s: f"the driver of {s} can get out",
        lambda _: need,
        lambda _: need,
    )
