"""Room for a wheelchair: the width of the route, a turning circle, floor at each station."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from footwork.checks.case import Case
from footwork.checks.ground import Body, Clash, Fault, Ground, Placed
from footwork.checks.result import CheckResult
from footwork.checks.rule import Rule, published
from footwork.floor.headroom import overhead, reach_over
from footwork.floor.shapes import FloatArray, side_rectangle
from footwork.model.scenario import TOLERANCE, Point, Station

# --- wheelchair: route, turning circle, floor at each station.

WHEELCHAIR = Rule(
    "wheelchair",
    "with the wheelchair profile: a route {0.915} wide, a turning circle of {1.525}, and clear floor of "
    "{0.76} x {1.22} at each station",
    "must",
    published("ADA Standards 2010, 304.3.1, 305.3, 403.5.1 (from a secondary text)"),
)
ROUTE = 0.915
TURNING = 1.525
FLOOR = (0.760, 1.220)


def approaches(placed: Placed) -> Iterator[Body]:
    """Clear floor at each side worked from, centred: alongside it and head on."""
    thing, at = placed.thing, placed.placement
    if not isinstance(thing, Station):
        return
    short, long = FLOOR
    far = reach_over(thing)
    for side in thing.stand:
        for deep, wide in ((short, long), (long, short)):
            yield Body(f"the floor at {placed.name}", (side_rectangle(thing, at, side, deep, wide, far),))


def free_approaches(ground: Ground, placed: Placed, others: tuple[Placed, ...]) -> Iterator[Body]:
    """Those on which neither the building nor a station of ``others`` stands; vehicles go out, and what hangs
    overhead is in nobody's way."""
    return _free(ground, placed, [p.body for p in others if _stands(p)])


def _free(ground: Ground, placed: Placed, taken: Sequence[Body]) -> Iterator[Body]:
    """The approaches on which neither the building nor any of ``taken`` stands."""
    for body in approaches(placed):
        if not body.meets(ground.hard) and not any(map(body.meets, taken)):
            yield body


def _stands(placed: Placed) -> bool:
    """Whether a thing takes floor that a wheelchair needs."""
    return isinstance(placed.thing, Station) and not overhead(placed.thing)


def _floor_fault(placed: Placed, other: str) -> Fault:
    return Fault(placed.name, other, FLOOR[0], 0.0)


def wheelchair_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    """No clear floor at a station because of the building alone."""
    if ground.scenario.walker.profile != "wheelchair" or not isinstance(placed.thing, Station):
        return
    if placed.thing.stand and not any(True for _ in free_approaches(ground, placed, ())):
        yield _floor_fault(placed, "the building")


def wheelchair_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    """One thing leaves no clear floor at another.  Several may together: the check itself sees that too."""
    if ground.scenario.walker.profile != "wheelchair":
        return
    for owner, other in ((a, b), (b, a)):
        free = list(free_approaches(ground, owner, ()))
        if free and _stands(other) and all(body.meets(other.body) for body in free):
            yield _floor_fault(owner, other.name)


def wheelchair(case: Case) -> Iterator[CheckResult]:
    say, ground = case.say, case.ground
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
    standing = [p for p in case.placed if _stands(p)]
    for placed, station in case.stations:
        if not station.stand:
            continue
        others = [p.body for p in standing if p is not placed]
        ok = any(True for _ in _free(ground, placed, others))
        text = f"{size} of floor is clear at {placed.name}"
        if not ok:
            text = (
                f"no {size} of clear floor at {placed.name}, alongside or head on: {_make_room(case, placed)}"
            )
        yield case.result(placed.name, ok, FLOOR[0], FLOOR[0] if ok else 0.0, text)


def _make_room(case: Case, placed: Placed) -> str:
    """What to do about the approach that the fewest things are in the way of."""
    ground = case.ground
    things = [p.body for p in case.placed if _stands(p) and p.name != placed.name]
    names = {body.name for body in things}
    ways = [
        (approach, [body for body in (*ground.building(), *things) if approach.meets(body)])
        for approach in approaches(placed)
    ]
    approach, blockers = min(ways, key=lambda way: len(way[1]))
    clashes = [Clash(placed.name, approach.pieces, blockers[0].pieces)]
    if blockers[0].name in names:
        clashes.append(Clash(blockers[0].name, blockers[0].pieces, approach.pieces))
    move = case.words_of(case.layout.mover.apart(clashes)) if len(blockers) == 1 else ""
    if move:
        return move
    inner = [body.name for body in blockers if body.name in names]
    if len(inner) < len(blockers):
        return f"turn {placed.name}, or move it further from {blockers[0].name}"
    return f"clear {' and '.join(inner)} from before it"


def _turning(case: Case) -> CheckResult:
    """A turning circle, with vehicles out, on floor that the stations' places can be reached from."""
    room = case.ground.room
    solid = [f.outline for f in room.fixtures] + [
        case.layout.plan.footprint(p.name) for p in case.placed if _stands(p)
    ]
    floor = shapely.Polygon(room.outline).difference(shapely.union_all(_polygons(solid)))
    # Sixty-four parts a quarter circle: the drawn arc is 0.003 % of the radius inside the true one.
    walks = floor.buffer(TOLERANCE - ROUTE / 2, quad_segs=64)
    at = [place.at for p, _ in case.stations for place in case.layout.plan.places(p.name)]
    places = shapely.points(np.array(at, dtype=np.float64).reshape(-1, 2))
    parts = [p for p in shapely.get_parts(walks) if (shapely.distance(p, places) <= ROUTE / 2).any()]
    turns = floor.buffer(TOLERANCE - TURNING / 2, quad_segs=64)
    if any(part.intersects(turns) for part in parts):
        text = f"a wheelchair can turn: a circle of {case.say(TURNING)} is free"
        return case.result("turning circle", True, TURNING, TURNING, text)
    say = case.say
    wide, (x, y) = _widest_circle(parts)
    text = (
        f"the widest free circle to turn a wheelchair in is {say(wide)}, its middle at {say(x)} east, "
        f"{say(y)} north; {say(TURNING)} is needed: clear {say(TURNING - wide)} more about it"
    )
    if not wide:
        text = (
            f"no station can be got to on floor {say(ROUTE)} wide: clear a way to them, and a circle of "
            f"{say(TURNING)} to turn in"
        )
    return case.result("turning circle", False, TURNING, wide, text)


def _polygons(rings: Sequence[Sequence[Point] | FloatArray]) -> FloatArray:
    """Polygons of rings (n, 2)."""
    of = np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])
    if not rings:
        return np.empty(0)
    made: FloatArray = shapely.polygons(shapely.linearrings(np.concatenate(rings), indices=of))
    return made


def _widest_circle(parts: list[shapely.Geometry]) -> tuple[float, Point]:
    """Diameter of the widest circle on floor whose middle a wheelchair can reach, and where that is."""
    best, at = 0.0, (0.0, 0.0)
    for part in parts:
        # On floor drawn in by half the route the widest circle has the same middle, less the route.
        radius = shapely.maximum_inscribed_circle(part, tolerance=0.001)
        wide = float(radius.length) * 2 + ROUTE
        if wide > best:
            x, y = radius.coords[0]
            best, at = wide, (float(x), float(y))
    return best, at
