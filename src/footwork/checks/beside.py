"""What stays free beside a vehicle that is in: a hand's breadth, the driver's way out, its door's line."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from footwork.checks.case import NO_MOVE, Case
from footwork.checks.ground import Body, Clash, Fault, Ground, Placed, Thing
from footwork.checks.result import CheckResult
from footwork.checks.rule import COMMON_PRACTICE, Rule
from footwork.checks.vehicles import apart, bars, crowds
from footwork.floor import shapes
from footwork.floor.shapes import FloatArray, front_axes
from footwork.model.scenario import TOLERANCE, Door, Placement, Vehicle

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
        if isinstance(vehicle, Vehicle) and ground.ever_in(vehicle) and bars(ground, vehicle, other):
            return ground.under(VEHICLE_MARGIN).figure or 0.0
    return 0.0


def _line(door: Door) -> Body:
    """Where a door is when it is shut."""
    return Body(door.name, (np.array([door.start, door.end], dtype=np.float64),))


def _is_in(ground: Ground, placed: Placed) -> bool:
    """Whether a thing is a vehicle that is ever in, and stands in the room."""
    thing = placed.thing
    return isinstance(thing, Vehicle) and ground.ever_in(thing) and placed.body.meets(ground.floor)


def vehicle_margin_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    """One that stands across its door's line does not let it shut, which ``door-shut`` tells."""
    vehicle = placed.thing
    if not isinstance(vehicle, Vehicle) or not _is_in(ground, placed):
        return
    need = ground.under(VEHICLE_MARGIN).figure or 0.0
    line = _line(ground.room.door(vehicle.door))
    shut = () if placed.body.meets(line) else (line,)
    for body in (*shut, *ground.segments, *ground.fixtures):
        gap = placed.body.distance(body)
        if gap < need - TOLERANCE and not placed.body.meets(body):
            yield Fault(placed.name, body.name, need, gap)


def vehicle_margin_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    need = kept_apart(ground, a.thing, b.thing)
    if need <= 0.0:
        return
    gap = a.body.distance(b.body)
    if gap < need - TOLERANCE:
        vehicle, other = (a, b) if isinstance(a.thing, Vehicle) else (b, a)
        yield Fault(vehicle.name, other.name, need, gap)


def vehicle_margin(case: Case) -> Iterator[CheckResult]:
    say, need = case.say, case.rule.figure
    by_name = {p.name: p for p in case.placed}
    lines = (_line(case.ground.room.door(vehicle.door)) for vehicle in case.ground.scenario.vehicles)
    bodies = {b.name: b for b in (*case.ground.segments, *case.ground.fixtures, *lines)}

    def bad(fault: Fault) -> str:
        def missing(placed: Placed) -> float:
            name = fault.other if placed.name == fault.subject else fault.subject
            other = by_name[name].body if name in by_name else bodies.get(name)
            return math.inf if other is None else fault.required - placed.body.distance(other)

        names = [name for name in (fault.other, fault.subject) if name in by_name]
        return (
            f"while {fault.subject} is in, {fault.other} is {say(fault.actual)} from it; "
            f"{say(fault.required)}, a hand's breadth, is the least: {case.shift(names, missing) or NO_MOVE}"
        )

    names = [p.name for p in case.placed if _is_in(case.ground, p)]
    yield from case.results(
        names,
        case.gather(vehicle_margin_alone, vehicle_margin_pair, case.layout.pairs_with_a_vehicle),
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
    """The floor beside the driver's door; None where the file names no side, or the vehicle is outside."""
    vehicle = placed.thing
    if not isinstance(vehicle, Vehicle) or vehicle.driver is None or not _is_in(ground, placed):
        return None
    return Body(f"the driver's side of {placed.name}", (driver_floor(ground, vehicle, placed.placement),))


def driver_floor(ground: Ground, vehicle: Vehicle, placement: Placement) -> FloatArray:
    """The ring of that floor, (4, 2), for a vehicle at a placement.

    The driver's left is the left of somebody who sits in the vehicle and looks to its nose.
    """
    deep = ground.under(DRIVER_DOOR).figure or 0.0
    width, length = vehicle.size
    u, v = (np.array(axis) for axis in front_axes(placement.facing))
    # u is the right hand of who looks at the nose from before it: the left hand of who sits inside.
    side = u if vehicle.driver == "left" else -u
    near, far = (-length / 2 + part * length for part in (DOOR_FROM, DOOR_TO))
    corners = [(width / 2, near), (width / 2 + deep, near), (width / 2 + deep, far), (width / 2, far)]
    ring: FloatArray = np.array([np.array(placement.at) + a * side + b * v for a, b in corners])
    return ring if shapes.signed_area(ring) > 0 else np.ascontiguousarray(ring[::-1])


def driver_door_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    floor = getting_out(ground, placed)
    if floor is None:
        return
    met = [body for body in (*ground.segments, *ground.fixtures) if floor.meets(body)]
    if not met and floor.meets(ground.around_all):
        met = [ground.around_all]
    for body in met:
        yield _shut_in(ground, placed, floor, body, "")


def _shut_in(ground: Ground, placed: Placed, floor: Body, body: Body, other: str) -> Fault:
    need = ground.under(DRIVER_DOOR).figure or 0.0
    free = min(need, placed.body.distance(body))
    return Fault(placed.name, body.name, need, free, apart(placed, floor, body, other))


def driver_door_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    for vehicle, other in ((a, b), (b, a)):
        floor = getting_out(ground, vehicle)
        if floor is None or not crowds(ground, ground.scenario.vehicle(vehicle.name), other.thing):
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
        case.gather(driver_door_alone, driver_door_pair, case.layout.pairs_with_a_vehicle),
        bad,
        lambda s: f"the driver of {s} can get out",
        lambda _: need,
        lambda _: need,
    )


# --- door-shut: a vehicle does not stand in its doorway.

DOOR_SHUT = Rule(
    "door-shut",
    "no vehicle stands across a door's line, so that the door can shut",
    "should",
    COMMON_PRACTICE,
    price=2000.0,
)


def door_shut_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    if not isinstance(placed.thing, Vehicle) or not ground.ever_in(placed.thing):
        return
    for door in ground.room.doors:
        line = _line(door)
        if placed.body.meets(line):
            clash = Clash(placed.name, placed.body.pieces, line.pieces)
            yield Fault(placed.name, door.name, 0.0, placed.body.depth(line), (clash,))


def door_shut(case: Case) -> Iterator[CheckResult]:
    """A vehicle that is told to move then stands a hand's breadth from the shut door."""
    say, ground = case.say, case.ground
    need = ground.under(VEHICLE_MARGIN).figure or 0.0

    def bad(fault: Fault) -> str:
        line = _line(ground.room.door(fault.other))

        def missing(placed: Placed) -> float:
            if placed.body.meets(line):
                return placed.body.depth(line)
            return need - placed.body.distance(line)

        return (
            f"{fault.subject} stands {say(fault.actual)} across the line of {fault.other}, which cannot "
            f"shut: {case.shift([fault.subject], missing) or NO_MOVE}"
        )

    vehicles = [p.name for p in case.placed if isinstance(p.thing, Vehicle) and ground.ever_in(p.thing)]
    yield from case.results(
        vehicles, case.gather(door_shut_alone), bad, lambda s: f"doors can shut while {s} is in"
    )
