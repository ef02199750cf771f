"""What the walker needs: a way to every place, a way out, and room for a wheelchair."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import shapely

from footwork.checks.case import Case
from footwork.checks.ground import Body, Fault, Ground, Placed
from footwork.checks.result import CheckResult
from footwork.checks.rule import YOUR_FILE, Rule, published
from footwork.floor.routes import LegWalk, stepped_out
from footwork.floor.shapes import StandingPlace, door_place, side_rectangle
from footwork.floor.widest import crowding, gap_widths, what_holds, widest_from
from footwork.model.scenario import TOLERANCE, Point, Station

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
        inside = (
            f" while {' and '.join(vehicles)} {'is' if len(vehicles) == 1 else 'are'} in" if vehicles else ""
        )
        pairs = dict.fromkeys((x.start.owner, x.end.owner) for _, x in blocked[1:])
        pairs.pop((leg.start.owner, leg.end.owner), None)
        hold = _hold(case, frozenset(vehicles), leg)
        more = f" (nor {', '.join(f'from {a} to {b}' for a, b in pairs)})" if pairs else ""
        message = (
            f"{walk.job.name}: no way {case.say(leg.width)} wide from {_where(leg.start)} to "
            f"{_where(leg.end)}{inside}: {hold.words}{more}"
        )
        yield case.result(walk.job.name, False, leg.width, hold.width, message)


@dataclass(frozen=True, slots=True)
class _Hold:
    """What keeps a leg from being walked: what to do, and the width that there is (None: unknown)."""

    words: str
    width: float | None


def _hold(case: Case, vehicles: frozenset[str], leg: LegWalk) -> _Hold:
    """Name what holds a leg back: an end that is blocked, or the gap that would have to open and by
    how much.
    """
    plan, say = case.layout.plan, case.say
    scene = plan.scene(vehicles)
    names = plan.piece_names(scene)
    walker = plan.scenario.walker.width
    ends = [stepped_out(place, walker, leg.width) for place in (leg.start, leg.end)]
    for place, end in zip((leg.start, leg.end), ends, strict=True):
        what, far = crowding(scene, names, end)
        if far < leg.width / 2 - TOLERANCE:
            words = (
                f"the place to stand at {_where(place)} is {say(max(0.0, far))} from {what}; "
                f"it needs {say(leg.width / 2)}: move one {say(leg.width / 2 - far)} away"
            )
            return _Hold(words, max(0.0, 2 * far))
    gap = what_holds(scene, names, ends[0], ends[1], leg.width)
    if gap is None:
        return _Hold("one of them is closed off on all sides: open a way to it", 0.0)
    short = say(leg.width - gap.width)
    a, b = gap.between
    return _Hold(f"the gap between {a} and {b} is {say(gap.width)}: open it by {short}", gap.width)


def _where(place: StandingPlace) -> str:
    return place.owner if place.side is None else f"the {place.side} of {place.owner}"


# --- way-out: the widest disc that can leave each standing strip for a door.

WAY_OUT = Rule(
    "way-out",
    "the way from each station to a door is at least 28 in (0.711 m) wide, all the way",
    "should",
    published("29 CFR 1910.36(g)(2), least width of exit access"),
    0.7112,
)
WARN_BY = 0.010
"""Metres below the figure that are pointed out but do not fail."""


def way_out(case: Case) -> Iterator[CheckResult]:
    """With every vehicle in that is ever in: the person may have to leave just then."""
    plan, say = case.layout.plan, case.say
    doors = plan.room.doors
    needed = case.rule.figure or 0.0
    if not doors:
        return
    limit = max(needed, max(door.width for door in doors))
    visited = {m for job in plan.scenario.jobs for visit in job.route for m in visit.members}
    scene = plan.scene(frozenset(v.name for v in plan.scenario.vehicles if v.inside > 0 or v.name in visited))

    def exits(width: float) -> list[Point]:
        return [door_place(door, width).at for door in doors if door.width >= width - TOLERANCE]

    gaps = gap_widths(scene, limit)
    for placed, station in case.stations:
        if not station.stand:
            continue
        wide = min(
            widest_from(scene, strip.polygon, exits, limit, gaps) for strip in plan.strips(placed.name)
        )
        ok = wide >= needed - WARN_BY
        message = f"the way from {placed.name} to a door is {say(wide)} wide"
        if wide < needed - TOLERANCE:
            message += f"; {say(needed)} is the least for a way out: widen it by {say(needed - wide)}"
        yield case.result(placed.name, ok, needed, wide, message)


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
    """A turning circle, with vehicles out, on floor that the stations' places can be reached from."""
    say = case.say
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
