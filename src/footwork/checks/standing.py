"""Where things may stand: in the room, clear of each other, against a wall or away from every wall,
within reach of what they are connected to.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

import numpy as np

from footwork.checks.case import Case
from footwork.checks.ground import Body, Clash, Fault, Ground, Placed, overlap_fault, wall_body
from footwork.checks.result import CheckResult
from footwork.checks.rule import COMMON_PRACTICE, YOUR_FILE, Rule
from footwork.floor.headroom import share_floor, underside
from footwork.floor.plan import wall_words
from footwork.floor.shapes import SQUARE_WITHIN, convex_pieces, side_line
from footwork.floor.walls import limits, outside_by
from footwork.model.names import alike
from footwork.model.rules import WALL_REACH
from footwork.model.scenario import TOLERANCE, Door, Point, Room, Station, Wall, Window

# --- in-room: the whole footprint on the floor.  Sizes and outlines are the file's.

IN_ROOM = Rule(
    "in-room", "everything stands wholly in the room, or in a yard where it may", "must", COMMON_PRACTICE
)


def in_room_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    """The footprint reaches out of the room; of room and yards, or through a wall, for outdoor things."""
    indoors = _indoors(placed)
    outside = ground.around_room if indoors else ground.around_all
    if _beyond(ground.room, placed, indoors) > TOLERANCE or placed.body.meets(outside):
        by = outside_by(placed.body.pieces, ground.room, indoors)
        clash = Clash(placed.name, placed.body.pieces, outside.pieces)
        yield Fault(placed.name, "the walls", 0.0, by, (clash,), note="out")
    elif not indoors:
        yield from (overlap_fault(placed.name, placed, w) for w in ground.segments if placed.body.meets(w))


def _indoors(placed: Placed) -> bool:
    return isinstance(placed.thing, Station) and not placed.thing.outdoors


def _beyond(room: Room, placed: Placed, indoors: bool) -> float:
    """Metres beyond the box around the floor: the ground outside does not go on for ever."""
    low_x, low_y, high_x, high_y = limits(room, indoors)
    x, y, _ = placed.body.flat
    return float(max(low_x - x.min(), low_y - y.min(), x.max() - high_x, y.max() - high_y))


def in_room(case: Case) -> Iterator[CheckResult]:
    say = case.say
    faults = case.gather(in_room_alone)
    outdoors = {p.name for p in case.placed if not _indoors(p)}

    def bad(fault: Fault) -> str:
        if fault.note != "out":
            return f"{fault.subject} stands across {fault.other} by {say(fault.actual)}: {case.mend(fault)}"
        where = "room and yards" if fault.subject in outdoors else "the room"
        return f"{fault.subject} reaches {say(fault.actual)} out of {where}: {case.mend(fault)}"

    yield from case.results([p.name for p in case.placed], faults, bad, lambda s: f"{s} stands in the room")


# --- no-overlap: footprints clear of each other and of fixtures.

NO_OVERLAP = Rule(
    "no-overlap",
    "footprints are clear of each other and of fixtures; what is known to be low enough may stand below what "
    "hangs",
    "must",
    COMMON_PRACTICE,
)


def no_overlap_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    for fixture in ground.fixtures:
        if placed.body.meets(fixture):
            yield overlap_fault(placed.name, placed, fixture)


def no_overlap_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    """Told once, of the first.  What is never there at once may share a place, and what is low enough stands
    below what hangs."""
    if share_floor(a.thing, b.thing) or ground.never_meet(a.thing, b.thing):
        return
    if a.body.meets(b.body):
        clashes = (
            Clash(a.name, a.body.pieces, b.body.pieces),
            Clash(b.name, b.body.pieces, a.body.pieces),
        )
        yield Fault(a.name, b.name, 0.0, a.body.depth(b.body), clashes)


def no_overlap(case: Case) -> Iterator[CheckResult]:
    faults = case.gather(no_overlap_alone, no_overlap_pair, case.layout.pairs_within(0.0))

    def bad(fault: Fault) -> str:
        return f"{fault.subject} overlaps {fault.other} by {case.say(fault.actual)}: {case.mend(fault)}"

    # A thing that overlaps one before it has been named there, and passes nothing.
    told = {fault.other for found in faults.values() for fault in found}
    names = [p.name for p in case.placed if p.name in faults or p.name not in told]
    yield from case.results(names, faults, bad, lambda s: f"{s} is clear of every other footprint")


# --- placing: against a wall, or away from every wall, as the station says.

PLACING = Rule(
    "placing",
    "a wall station has its whole back within {figure} of a wall and parallel to it; "
    "an island stands a walker's width or more from every wall",
    "must",
    COMMON_PRACTICE,
    WALL_REACH,
)


def placing_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    thing = placed.thing
    if not isinstance(thing, Station) or thing.placing == "any":
        return
    if thing.placing == "wall":
        most = ground.under(PLACING).figure or 0.0
        gap = wall_gap(ground.room, placed)
        if gap > most + TOLERANCE:
            yield Fault(placed.name, "the walls", most, gap)
        return
    width = ground.scenario.walker.width
    gap, wall = nearest_wall(ground.room, placed)
    if gap < width - TOLERANCE:
        yield Fault(placed.name, wall, width, gap)


def nearest_wall(room: Room, placed: Placed) -> tuple[float, str]:
    """Metres from a footprint to the nearest wall, and which that is."""
    return min((placed.body.distance(wall_body(w)), wall_words(w.name)) for w in room.walls)


def wall_gap(room: Room, placed: Placed) -> float:
    """Metres from a back to the wall it stands against; inf when no wall is parallel behind all of it.

    A door that is used is no wall; one that nobody opens is.  A window is one as far up as its sill: nothing
    hangs on glass.
    """
    back = side_line(placed.thing, placed.placement, "back")
    gaps = _no_wall(room, placed)
    least = math.inf
    for wall in room.walls:
        gap = _gap_to(wall, *back)
        if gap < least and not _before(gaps, wall, *back)[0]:
            least = gap
    return least


def _no_wall(room: Room, placed: Placed) -> tuple[Door | Window, ...]:
    """The openings that a thing cannot have its back to."""
    top = placed.thing.height
    hung = underside(placed.thing) > 0.0
    glass = (w for w in room.windows if w.sill is not None and (top is None or top > w.sill + TOLERANCE))
    return (*(door for door in room.doors if door.used), *(glass if hung else ()))


def _from_wall(room: Room, placed: Placed, most: float) -> float:
    """Metres by which a back is too far from a wall, or has to slide along one to get past its openings."""
    opening, slide = _opening_behind(room, placed, most)
    return min(wall_gap(room, placed) - most, slide if opening else math.inf)


def _opening_behind(room: Room, placed: Placed, most: float) -> tuple[str, float]:
    """The door in use that a back stands before, or the window, which would be near enough were it wall,
    else "".

    And by how many metres it has to slide along the wall to stand beside it.
    """
    back = side_line(placed.thing, placed.placement, "back")
    gaps = _no_wall(room, placed)
    near = (_before(gaps, w, *back) for w in room.walls if _gap_to(w, *back) <= most + TOLERANCE)
    return next((found for found in near if found[0]), ("", 0.0))


def _before(openings: Iterable[Door | Window], wall: Wall, start: Point, end: Point) -> tuple[str, float]:
    """The opening of a wall that some of the segment start, end lies before, else ""; and the metres along
    the wall that bring the segment past it."""
    low, high = sorted(_along(wall, p)[0] for p in (start, end))
    for opening in openings:
        if opening.wall == wall.name:
            ends = sorted(_along(wall, p)[0] for p in (opening.start, opening.end))
            if min(high, ends[1]) - max(low, ends[0]) > TOLERANCE:
                return opening.name, min(high - ends[0], ends[1] - low)
    return "", 0.0


def _gap_to(wall: Wall, start: Point, end: Point) -> float:
    """The greatest distance of the segment start, end from a wall along all of it; inf where it is not."""
    length, wide = math.dist(wall.start, wall.end), math.dist(start, end)
    (first, left), (last, right) = _along(wall, start), _along(wall, end)
    if abs(right - left) > SQUARE_WITHIN * wide:
        return math.inf
    # Half a degree off parallel moves the ends of the back along the wall by less than this.
    slack = TOLERANCE + SQUARE_WITHIN * 0.10
    if min(first, last) < -slack or max(first, last) > length + slack:
        return math.inf
    return max(abs(left), abs(right))


def _along(wall: Wall, point: Point) -> Point:
    """Metres along a wall from its start at which a point lies, and metres to the left of it."""
    (x, y), (end_x, end_y) = wall.start, wall.end
    length = math.dist(wall.start, wall.end)
    u, v = (end_x - x) / length, (end_y - y) / length
    return u * (point[0] - x) + v * (point[1] - y), u * (point[1] - y) - v * (point[0] - x)


def placing(case: Case) -> Iterator[CheckResult]:
    say = case.say
    kinds = {p.name: s.placing for p, s in case.stations if s.placing != "any"}
    room = case.ground.room
    by_name = {p.name: p for p in case.placed}

    def bad(fault: Fault) -> str:
        name, most = fault.subject, fault.required
        if kinds[name] == "island":
            move = case.shift([name], lambda placed: most - nearest_wall(room, placed)[0])
            return (
                f"{name} is {say(fault.actual)} from the {fault.other}; an island needs "
                f"{say(most)} all round: {move or 'move it away from the walls'}"
            )
        move = case.shift([name], lambda placed: _from_wall(room, placed, most))
        opening, _ = _opening_behind(room, by_name[name], most)
        if opening and any(window.name == opening for window in room.windows):
            return (
                f"{name} hangs on the window {opening}, and glass is no wall: {move or 'move it to a wall'}"
            )
        if opening:
            return (
                f"{name} stands with its back to the door {opening}, and a door in use is no wall: "
                f"{move or 'move it to a wall'}"
            )
        if math.isinf(fault.actual):
            return f"{name} has no wall along all of its back: turn it, or move it to a wall"
        return (
            f"the back of {name} is {say(fault.actual)} from its wall; {say(most)} at most: "
            f"{move or 'move it back to the wall'}"
        )

    def good(name: str) -> str:
        if kinds[name] == "wall":
            return f"{name} stands against a wall"
        return f"{name} can be walked round between it and every wall"

    def need(name: str) -> float | None:
        return case.rule.figure if kinds[name] == "wall" else case.ground.scenario.walker.width

    yield from case.results(kinds, case.gather(placing_alone), bad, good, need, lambda _: None)


# --- within: leads, hoses and ducts reach.

WITHIN = Rule(
    "within", "a lead, hose or duct is no longer than the station's `within` says", "must", YOUR_FILE
)


def within_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    """A straight line from the footprint's edge to the nearest fixture, window or door of a name."""
    if not isinstance(placed.thing, Station):
        return
    for name, longest in placed.thing.within:
        gap = nearest_named(ground, placed, name)
        if gap > longest + TOLERANCE:
            yield Fault(placed.name, name, longest, gap)


def nearest_named(ground: Ground, placed: Placed, name: str) -> float:
    """Metres from a footprint to the nearest part of the building that ``name`` means; inf without any."""
    return min(map(placed.body.distance, named(ground, name)), default=math.inf)


def named(ground: Ground, name: str) -> tuple[Body, ...]:
    """The fixtures, doors and windows of a name; kept with the ground."""
    key = ("named", name)
    if key not in ground.kept:
        room = ground.room
        openings: tuple[Door | Window, ...] = (*room.doors, *room.windows)
        rings = [(f.name, convex_pieces(f.outline)) for f in room.fixtures]
        lines = [(d.name, (np.array([d.start, d.end], dtype=np.float64),)) for d in openings]
        ground.kept[key] = tuple(Body(*one) for one in (*rings, *lines) if alike(name, [one[0]]))
    known: tuple[Body, ...] = ground.kept[key]
    return known


def within(case: Case) -> Iterator[CheckResult]:
    say = case.say
    ties = {p.name: s.within for p, s in case.stations if s.within}

    def bad(fault: Fault) -> str:
        if math.isinf(fault.actual):
            return f"{fault.subject} must be near {fault.other}, and the room has none: add it"
        name, other, longest = fault.subject, fault.other, fault.required
        move = case.shift([name], lambda placed: nearest_named(case.ground, placed, other) - longest)
        return (
            f"{name} is {say(fault.actual)} from {other}; {say(longest)} at most: "
            f"{move or f'move it {say(fault.actual - longest)} nearer, or have a longer lead'}"
        )

    yield from case.results(
        ties,
        case.gather(within_alone),
        bad,
        lambda s: f"{s} is within reach of {', '.join(name for name, _ in ties[s])}",
        lambda s: min(longest for _, longest in ties[s]),
        lambda _: None,
        lambda s: case.from_key(s, "within"),
    )
