"""Vehicles: the way in, and room to work round one."""

from __future__ import annotations

from collections.abc import Iterator

from footwork.checks.case import Case
from footwork.checks.ground import Body, Claim, Clash, Fault, Ground, Placed, Thing
from footwork.checks.result import CheckResult
from footwork.checks.rule import COMMON_PRACTICE, YOUR_FILE, Rule
from footwork.checks.strips import claim_fault
from footwork.floor import shapes
from footwork.floor.headroom import fits_below, overhead
from footwork.floor.shapes import DRIVE_MARGIN, WayIn
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
            yield Fault(placed.name, body.name, 0.0, lane.depth(body), apart(placed, lane, body))


def apart(placed: Placed, lane: Body, body: Body, other: str = "") -> tuple[Clash, ...]:
    """The clashes of floor that a vehicle needs, ``lane``, with what stands in it."""
    mine = Clash(placed.name, lane.pieces, body.pieces)
    return (Clash(other, body.pieces, lane.pieces), mine) if other else (mine,)


def drive_in_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    """A station that cannot roll away, or a vehicle that may be in at once, on the way in; a vehicle of known
    height passes below what hangs higher."""
    for mover, other in ((a, b), (b, a)):
        if not isinstance(mover.thing, Vehicle) or not bars(ground, mover.thing, other.thing):
            continue
        lane = corridor(ground, mover)
        if lane is not None and lane.meets(other.body):
            deep = lane.depth(other.body)
            yield Fault(mover.name, other.name, 0.0, deep, apart(mover, lane, other.body, other.name))


def bars(ground: Ground, vehicle: Vehicle, other: Thing) -> bool:
    """Whether a vehicle cannot pass where another thing is: it is there too, and hangs no higher."""
    return _stays(ground, vehicle, other) and not fits_below(vehicle, other)


def _stays(ground: Ground, vehicle: Vehicle, other: Thing) -> bool:
    """Whether a thing is where it is while a vehicle is in."""
    if isinstance(other, Vehicle):
        return ground.together(vehicle, other)
    return not other.castors


def crowds(ground: Ground, vehicle: Vehicle, other: Thing) -> bool:
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

    faults = case.gather(drive_in_alone, drive_in_pair, case.layout.pairs_with_a_vehicle)
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
        if not isinstance(owner.thing, Vehicle) or not crowds(ground, owner.thing, other.thing):
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

    faults = case.gather(vehicle_around_alone, vehicle_around_pair, case.layout.pairs_with_a_vehicle)
    yield from case.results(claims, faults, bad, good, depth.get, depth.get)
