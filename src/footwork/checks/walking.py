"""What the walker needs: a way to every place, and room for a wheelchair.

The way out to a door (`way-out`) belongs here too.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from footwork.checks.case import Case
from footwork.checks.ground import Body, Fault, Ground, Placed
from footwork.checks.result import CheckResult
from footwork.checks.rule import YOUR_FILE, Rule, published
from footwork.floor.shapes import StandingPlace, side_rectangle
from footwork.model.scenario import TOLERANCE, Station

# --- reachable: every place that a job uses, from every other it needs, in the state it needs.

REACHABLE = Rule("reachable", "every place that a job uses can be walked to", "must", YOUR_FILE)


def reachable(case: Case) -> Iterator[CheckResult]:
    for walk in case.layout.walks:
        blocked = [
            (state.vehicles_in, leg)
            for state in walk.states
            for leg in state.legs
            if not math.isfinite(leg.metres)
        ]
        if not blocked:
            yield case.result(walk.job.name, True, None, None, f"every leg of {walk.job.name} can be walked")
            continue
        vehicles, leg = blocked[0]
        width = case.say(leg.width)
        inside = (
            f" while {' and '.join(vehicles)} {'is' if len(vehicles) == 1 else 'are'} in" if vehicles else ""
        )
        pairs = dict.fromkeys((x.start.owner, x.end.owner) for _, x in blocked[1:])
        pairs.pop((leg.start.owner, leg.end.owner), None)
        more = f" (nor {', '.join(f'from {a} to {b}' for a, b in pairs)})" if pairs else ""
        message = (
            f"{walk.job.name}: no way {width} wide from {_where(leg.start)} to {_where(leg.end)}{inside}: "
            f"open a gap of {width}{more}"
        )
        yield case.result(walk.job.name, False, leg.width, None, message)


def _where(place: StandingPlace) -> str:
    return place.owner if place.side is None else f"the {place.side} of {place.owner}"


# --- wheelchair: route, turning circle, floor at each station.

WHEELCHAIR = Rule(
    "wheelchair",
    "with the wheelchair profile: a route 0.915 m wide, a turning circle of 1.525 m, and clear floor of "
    "0.760 x 1.220 m at each station",
    "must",
    published("ADA Standards 2010, 304.3.1, 305.3, 403.5.1 (from a secondary text)"),
)
ROUTE = 0.915
TURNING = 1.525
FLOOR = (0.760, 1.220)


def _approaches(placed: Placed) -> tuple[Body, ...]:
    """Clear floor at each side worked from, centred: alongside it and head on."""
    thing, at = placed.thing, placed.placement
    if not isinstance(thing, Station):
        return ()
    short, long = FLOOR
    rings = [
        side_rectangle(thing, at, s, d, w) for s in thing.stand for d, w in ((short, long), (long, short))
    ]
    return tuple(Body(f"the floor at {placed.name}", (ring,)) for ring in rings)


def _free_approaches(ground: Ground, placed: Placed, others: tuple[Placed, ...]) -> tuple[Body, ...]:
    hard = [*ground.building(), *(p.body for p in others if isinstance(p.thing, Station))]
    return tuple(body for body in _approaches(placed) if not any(body.meets(h) for h in hard))


def _floor_fault(placed: Placed, other: str) -> Fault:
    return Fault(placed.name, other, FLOOR[0], 0.0)


def wheelchair_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    """No clear floor at a station because of the building alone."""
    if ground.scenario.walker.profile != "wheelchair" or not _approaches(placed):
        return
    if not _free_approaches(ground, placed, ()):
        yield _floor_fault(placed, "the building")


def wheelchair_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    """One thing leaves no clear floor at another.  Several may together: the check itself sees that too."""
    if ground.scenario.walker.profile != "wheelchair":
        return
    for owner, other in ((a, b), (b, a)):
        if _free_approaches(ground, owner, ()) and not _free_approaches(ground, owner, (other,)):
            yield _floor_fault(owner, other.name)


def wheelchair(case: Case) -> Iterator[CheckResult]:
    say = case.say
    ground = case.ground
    walker = ground.scenario.walker
    if walker.profile != "wheelchair":
        return
    wide = walker.width >= ROUTE - TOLERANCE
    message = f"routes are walked at {say(walker.width)}"
    if not wide:
        message += f"; a wheelchair needs {say(ROUTE)}: set the walker's width"
    yield case.result("route", wide, ROUTE, walker.width, message)
    yield _turning(case)
    size = " x ".join(say(side) for side in FLOOR)
    for placed, station in case.stations:
        if not station.stand:
            continue
        others = tuple(p for p in case.placed if p.name != placed.name)
        ok = bool(_free_approaches(ground, placed, others))
        text = f"{size} of floor is clear at {placed.name}"
        if not ok:
            text = f"no {size} of clear floor at {placed.name}: make room before it, alongside or head on"
        yield case.result(placed.name, ok, FLOOR[0], FLOOR[0] if ok else 0.0, text)


def _turning(case: Case) -> CheckResult:
    say = case.say
    """A turning circle, with vehicles out, on floor that the stations' places can be reached from."""
    room = case.ground.room
    solid = [f.outline for f in room.fixtures] + [
        case.layout.plan.footprint(p.name) for p, _ in case.stations
    ]
    floor = shapely.Polygon(room.outline).difference(shapely.union_all([shapely.Polygon(r) for r in solid]))
    # Sixty-four parts a quarter circle: the drawn arc is 0.003 % of the radius inside the true one.
    turns, walks = (floor.buffer(TOLERANCE - width / 2, quad_segs=64) for width in (TURNING, ROUTE))
    places = [shapely.Point(pl.at) for p, _ in case.stations for pl in case.layout.plan.places(p.name)]
    parts = [part for part in shapely.get_parts(walks) if any(part.distance(p) <= ROUTE / 2 for p in places)]
    ok = any(part.intersects(turns) for part in parts) if not turns.is_empty else False
    text = f"a wheelchair can turn: a circle of {say(TURNING)} is free"
    if not ok:
        text = f"no free circle of {say(TURNING)} to turn a wheelchair in: open the floor somewhere"
    return case.result("turning circle", ok, TURNING, TURNING if ok else None, text)
