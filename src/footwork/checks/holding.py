"""What holds a walker back: the gap that is too narrow, by how much, and what to move.

A move that is told has been tried: with it the way is there.  Metres, in the room's frame.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import shapely

from footwork.checks.case import Case
from footwork.checks.ground import Placed
from footwork.checks.mending import Move
from footwork.floor.overlap import distance
from footwork.floor.plan import Plan
from footwork.floor.scene import Scene
from footwork.floor.shapes import Pieces, StandingPlace, standing_places, stepped_out
from footwork.floor.widest import crowding, what_holds
from footwork.model.scenario import TOLERANCE, Point


@dataclass(frozen=True, slots=True)
class Hold:
    """What keeps a way from being walked: what to do, "" where nothing does, and the width there is.

    ``mended`` says whether the words tell a move that has been tried.
    """

    words: str
    width: float
    mended: bool = False


def where(place: StandingPlace) -> str:
    """A standing place in words."""
    return f"the door {place.owner}" if place.side is None else f"the {place.side} of {place.owner}"


def hold(
    case: Case, vehicles: frozenset[str], start: StandingPlace, end: StandingPlace, width: float
) -> Hold:
    """Name what holds a way of ``width`` back: an end that is blocked, or the gap that would have to open.

    The person steps straight out from a place until the load is clear of it, as on any leg.
    """
    plan = case.layout.plan
    scene = plan.scene(vehicles)
    names = plan.piece_names(scene)
    walker = plan.scenario.walker.width
    ends = [stepped_out(place, walker, width) for place in (start, end)]
    for place, at in zip((start, end), ends, strict=True):
        what, far = crowding(scene, names, at)
        if far < width / 2 - TOLERANCE:
            return _crowded(case, vehicles, (start, end), width, (place, what, far))
    if math.isfinite(scene.length(ends[0], ends[1], width / 2)):
        return Hold("", width)
    gap = what_holds(scene, names, ends[0], ends[1], width)
    if gap is None:
        return Hold("one of them is closed off on all sides: open a way to it", 0.0)
    a, b = gap.between
    pieces = _pieces(scene, names)

    def missing(placed: Placed) -> float:
        return width - distance(placed.body.pieces, pieces[b if placed.name == a else a])

    move = case.layout.mover.until((a, b), missing, opens(case, vehicles, start, end, width))
    words = f"the gap between {a} and {b} is {case.say(gap.width)}, {case.say(width - gap.width)} too narrow"
    return Hold(f"{words}: {case.words_of(move) or 'open it'}", gap.width, move is not None)


def _crowded(
    case: Case,
    vehicles: frozenset[str],
    ends: tuple[StandingPlace, StandingPlace],
    width: float,
    crowd: tuple[StandingPlace, str, float],
) -> Hold:
    """A place to stand that something is too close to."""
    plan, say = case.layout.plan, case.say
    place, what, far = crowd
    scene = plan.scene(vehicles)
    near = shapely.union_all([_shape(p) for p in _pieces(scene, plan.piece_names(scene))[what]])
    number = plan.places(place.owner, place.side).index(place)

    def missing(placed: Placed) -> float:
        if placed.name != place.owner:
            shape = shapely.union_all([_shape(p) for p in placed.body.pieces])
            return width / 2 - float(shape.distance(shapely.Point(_out(plan, place, width))))
        sides = None if place.side is None else (place.side,)
        walker = plan.scenario.walker.width
        mine = standing_places(placed.thing, placed.placement, walker, sides)[number]
        return width / 2 - float(near.distance(shapely.Point(_out(plan, mine, width))))

    names = [name for name in (what, place.owner) if name in plan.things]
    move = case.layout.mover.until(names, missing, opens(case, vehicles, *ends, width))
    short = say(width / 2 - far)
    words = (
        f"the place to stand at {where(place)} is {say(max(0.0, far))} from {what}, and needs "
        f"{say(width / 2)}: {case.words_of(move) or f'move one {short} away'}"
    )
    return Hold(words, max(0.0, 2 * far), move is not None)


def _out(plan: Plan, place: StandingPlace, width: float) -> Point:
    return stepped_out(place, plan.scenario.walker.width, width)


def opens(
    case: Case, vehicles: frozenset[str], start: StandingPlace, end: StandingPlace, width: float
) -> Callable[[Move], bool]:
    """Whether there is a way of ``width`` between two places after a move."""
    plan = case.layout.plan
    numbers = [plan.places(place.owner, place.side).index(place) for place in (start, end)]

    def opened(move: Move) -> bool:
        after = case.layout.mover.after(move)
        changed = Plan(plan.scenario, plan.layout.moved({after.name: after.placement}))
        p, q = (
            _out(changed, changed.places(place.owner, place.side)[k], width)
            for place, k in zip((start, end), numbers, strict=True)
        )
        return math.isfinite(changed.scene(vehicles).length(p, q, width / 2))

    return opened


def _pieces(scene: Scene, names: tuple[str, ...]) -> dict[str, Pieces]:
    """The shape of everything on the floor by name; a wall is all its stretches."""
    found: dict[str, Pieces] = {}
    for name, piece in zip(names, (p for o in scene.obstacles for p in o.pieces), strict=True):
        found[name] = (*found.get(name, ()), piece)
    return found


def _shape(piece: object) -> shapely.Geometry:
    points = shapely.points(piece)
    return shapely.LineString(points) if len(points) == 2 else shapely.Polygon(points)
