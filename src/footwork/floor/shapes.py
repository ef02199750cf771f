"""Shapes on the floor: footprints, strips, standing places, door swings, the way in for a vehicle.

Everything is in metres in the room's frame (x east, y north); rings are arrays of shape (n, 2),
counter-clockwise, without the first point repeated.  A station's own frame has u to the right and
v from front to back, both as seen by the person who stands at its front and looks at it: facing
south, u is east and v north.  A vehicle has the same frame; its front is the nose.

The sides of a thing with an outline are the sides of the box around it in its own frame.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from footwork.floor.headroom import reach_over
from footwork.model.scenario import TOLERANCE, Door, Placement, Point, Ring, Side, Station, Vehicle

FloatArray = NDArray[np.float64]
Pieces = tuple[FloatArray, ...]
"""A shape as the union of convex rings.  A ring of two points is a segment, such as a wall."""

PART = 0.6
"""Metres: the longest part of a side that one standing place serves when ``along`` is set."""

DRIVE_MARGIN = 0.3
"""Metres kept free on each side of a vehicle on its way in."""

ARC_PARTS = 16
"""Straight parts of a drawn door swing."""

OUTWARD: dict[Side, Point] = {
    "front": (0.0, -1.0),
    "back": (0.0, 1.0),
    "left": (-1.0, 0.0),
    "right": (1.0, 0.0),
}
"""The outward direction of each side in the station's own frame (u, v)."""

_STRAIGHT = 1e-9  # metres off the line, or square metres of turn, that still count as straight


@dataclass(frozen=True, eq=False)
class Strip:
    """Floor along one side of ``owner``: a rectangle ``depth`` metres deep, ``begin`` before its face."""

    owner: str
    side: Side
    polygon: FloatArray
    depth: float
    begin: float = 0.0


@dataclass(frozen=True, slots=True)
class StandingPlace:
    """Where the walker's centre is while working at ``owner``.

    ``outward`` is the unit vector from the face towards the walker.  ``side`` is None at a door.
    """

    owner: str
    side: Side | None
    at: Point
    outward: Point


def front_axes(facing: float) -> tuple[Point, Point]:
    """Unit vectors (u, v) of the frame of a thing whose front looks along bearing ``facing``.

    With b the bearing, v = (-sin b, -cos b) and u = (-cos b, sin b).  Quarter turns are exact.
    """
    quarter = facing % 360.0 / 90.0
    if quarter == int(quarter):
        sine, cosine = ((0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0))[int(quarter) % 4]
    else:
        bearing = math.radians(facing)
        sine, cosine = math.sin(bearing), math.cos(bearing)
    return (-cosine + 0.0, sine + 0.0), (-sine + 0.0, -cosine + 0.0)


def to_room(outline: Ring | ArrayLike, placement: Placement) -> FloatArray:
    """Points of a thing's own frame (u, v), shape (n, 2), in the room's frame."""
    local = np.asarray(outline, dtype=np.float64)
    placed: FloatArray = local @ _axes(placement.facing)
    placed += placement.at
    return placed


@lru_cache(maxsize=1024)
def _axes(facing: float) -> FloatArray:
    return _frozen(list(front_axes(facing)))


def footprint(thing: Station | Vehicle, placement: Placement) -> FloatArray:
    """The floor that a thing covers, as a ring."""
    return to_room(thing.outline, placement)


def pieces(thing: Station | Vehicle, placement: Placement) -> Pieces:
    """The footprint as convex rings; the same split however the thing is turned."""
    return tuple(to_room(piece, placement) for piece in convex_pieces(thing.outline))


def box(thing: Station | Vehicle) -> tuple[float, float, float, float]:
    """The box around the outline in the thing's own frame: least u, least v, greatest u, greatest v."""
    us = [p[0] for p in thing.outline]
    vs = [p[1] for p in thing.outline]
    return min(us), min(vs), max(us), max(vs)


def side_length(thing: Station | Vehicle, side: Side) -> float:
    """Metres along one side of the box around a thing."""
    left, front, right, back = box(thing)
    return right - left if side in ("front", "back") else back - front


def outward(side: Side, facing: float) -> Point:
    """Unit vector out of ``side`` of a thing that looks along ``facing``, in the room's frame."""
    u, v = front_axes(facing)
    a, b = OUTWARD[side]
    return (a * u[0] + b * v[0] + 0.0, a * u[1] + b * v[1] + 0.0)


def side_line(thing: Station | Vehicle, placement: Placement, side: Side) -> tuple[Point, Point]:
    """Both ends of a side in the room's frame, so that the thing lies to the left of start → end."""
    left, front, right, back = box(thing)
    ends = {
        "front": ((left, front), (right, front)),
        "right": ((right, front), (right, back)),
        "back": ((right, back), (left, back)),
        "left": ((left, back), (left, front)),
    }[side]
    (ax, ay), (bx, by) = to_room(ends, placement).tolist()
    return (ax, ay), (bx, by)


def side_rectangle(
    thing: Station | Vehicle,
    placement: Placement,
    side: Side,
    depth: float,
    width: float | None = None,
    begin: float = 0.0,
) -> FloatArray:
    """The rectangle before a side, from ``begin`` metres out on and ``depth`` deep, centred on the side.

    ``width`` is its size along the side in metres; None means the side's full length.
    """
    left, front, right, back = box(thing)
    middle_u, middle_v = (left + right) / 2, (front + back) / 2
    if side in ("front", "back"):
        half = (right - left if width is None else width) / 2
        near, far = (front - depth, front) if side == "front" else (back, back + depth)
        shift = -begin if side == "front" else begin
        near, far = near + shift, far + shift
        low_u, low_v, high_u, high_v = middle_u - half, near, middle_u + half, far
    else:
        half = (back - front if width is None else width) / 2
        near, far = (left - depth, left) if side == "left" else (right, right + depth)
        shift = -begin if side == "left" else begin
        near, far = near + shift, far + shift
        low_u, low_v, high_u, high_v = near, middle_v - half, far, middle_v + half
    corners = ((low_u, low_v), (high_u, low_v), (high_u, high_v), (low_u, high_v))
    return to_room(corners, placement)


def _strip(
    thing: Station | Vehicle, placement: Placement, side: Side, depth: float, begin: float = 0.0
) -> Strip:
    polygon = side_rectangle(thing, placement, side, depth, begin=begin)
    return Strip(thing.name, side, polygon, depth, begin)


def strips(station: Station, placement: Placement, depth: float | None = None) -> tuple[Strip, ...]:
    """The standing strips, one a side worked from; ``depth`` in metres, by default ``station.strip``."""
    deep, begin = station.strip if depth is None else depth, reach_over(station)
    return tuple(_strip(station, placement, side, deep, begin) for side in station.stand)


def reach_strips(station: Station, placement: Placement) -> tuple[Strip, ...]:
    """What one reaches over to work at a hanging thing: from its face to each standing strip."""
    reach = reach_over(station)
    return tuple(_strip(station, placement, side, reach) for side in station.stand if reach > 0.0)


def service_strips(station: Station, placement: Placement) -> tuple[Strip, ...]:
    """Floor kept for access, one strip along each side of ``station.service``."""
    return tuple(_strip(station, placement, side, depth) for side, depth in station.service if depth > 0)


def stock_strips(station: Station, placement: Placement) -> tuple[Strip, ...]:
    """Space kept for long material, one strip a side; its ``depth`` is the length of the material outside."""
    stock = station.stock
    if stock is None:
        return ()
    return tuple(
        Strip(
            station.name,
            side,
            side_rectangle(station, placement, side, stock.length(side), stock.width),
            stock.length(side),
        )
        for side in OUTWARD
        if stock.length(side) > 0
    )


def around(vehicle: Vehicle, placement: Placement) -> tuple[Strip, ...]:
    """The working space round a vehicle when a job visits it, one strip a side."""
    return tuple(_strip(vehicle, placement, side, depth) for side, depth in vehicle.around if depth > 0)


def standing_places(
    thing: Station | Vehicle,
    placement: Placement,
    walker_width: float,
    sides: Iterable[Side] | None = None,
) -> tuple[StandingPlace, ...]:
    """Where the walker stands, by side: ``sides`` or else the sides the thing is worked from.

    A place is the middle of its side, half of ``walker_width`` out from the face, and further by as much as
    one reaches over.  With ``along`` the side is cut into the fewest equal parts of at most 0.6 m and each
    part's middle has one.
    """
    found = []
    far = reach_over(thing) + walker_width / 2
    for side in thing.stand if sides is None else sides:
        start, end = side_line(thing, placement, side)
        out = outward(side, placement.facing)
        parts = _parts(side_length(thing, side)) if thing.along else 1
        for k in range(parts):
            share = (2 * k + 1) / (2 * parts)
            x = start[0] + (end[0] - start[0]) * share + out[0] * far
            y = start[1] + (end[1] - start[1]) * share + out[1] * far
            found.append(StandingPlace(thing.name, side, (x, y), out))
    return tuple(found)


def stepped_out(place: StandingPlace, walker_width: float, width: float) -> Point:
    """Where a person with a load of ``width`` starts to walk.

    Straight out from the standing place, until the face is half the load's width away.
    """
    out = (width - walker_width) / 2
    return (place.at[0] + out * place.outward[0], place.at[1] + out * place.outward[1])


def _parts(length: float) -> int:
    return max(1, math.ceil((length - TOLERANCE) / PART))


def door_place(door: Door, walker_width: float) -> StandingPlace:
    """The place at a door: the middle of its opening, half of ``walker_width`` inside."""
    (x, y), (nx, ny) = door.middle, door.inward
    return StandingPlace(door.name, None, (x + nx * walker_width / 2, y + ny * walker_width / 2), door.inward)


def swing(door: Door) -> FloatArray | None:
    """The quarter disc that a door sweeps, in the room or outside it; None for a door that does not swing.

    Its arc is drawn with straight parts that touch the true arc from outside, so that the ring
    never misses floor that the door sweeps; at most 0.03 % of the door's width too much.
    """
    if door.swing == "none":
        return None
    hinge, far = (door.start, door.end) if door.hinge == "start" else (door.end, door.start)
    sign = 1.0 if door.swing == "in" else -1.0
    along = np.subtract(far, hinge)
    across = sign * door.width * np.array(door.inward)
    step = math.pi / 2 / ARC_PARTS
    angles = (np.arange(ARC_PARTS) + 0.5) * step
    reach = 1 / math.cos(step / 2)
    arc = reach * (np.cos(angles)[:, None] * along + np.sin(angles)[:, None] * across)
    ring = np.vstack([[0.0, 0.0], along, arc, across]) + np.array(hinge)
    return _counter_clockwise(ring)


@dataclass(frozen=True, eq=False)
class WayIn:
    """How a vehicle drives in to where it stands.

    ``square`` is False when its axis is more than half a degree off square to the door's wall.
    ``short`` is by how many metres its body is too wide for the opening or beside it (0: it fits).
    ``corridor`` is the floor it needs inside, from the door's line to its far end, wider than the body by a
    margin on each side; None when the vehicle is not square to the wall or reaches no way into the room.
    """

    square: bool
    short: float
    corridor: FloatArray | None


SQUARE_WITHIN = math.sin(math.radians(0.5))


def drive_in(vehicle: Vehicle, placement: Placement, door: Door, margin: float = DRIVE_MARGIN) -> WayIn:
    """The straight way in of a vehicle through ``door``, nose first or tail first.

    ``margin`` is kept free on each side of it, in metres.
    """
    ring = footprint(vehicle, placement)
    inward = np.array(door.inward)
    wall = np.subtract(door.end, door.start) / door.width
    _, axis = front_axes(placement.facing)
    if abs(float(np.dot(axis, wall))) > SQUARE_WITHIN:
        return WayIn(False, 0.0, None)
    along = (ring - np.array(door.start)) @ wall
    deep = float(((ring - np.array(door.start)) @ inward).max())
    low, high = float(along.min()), float(along.max())
    short = max(0.0, -low, high - door.width)
    if deep <= 0:
        return WayIn(True, short, None)
    start, end = low - margin, high + margin
    corners = [(start, 0.0), (end, 0.0), (end, deep), (start, deep)]
    corridor = np.array(corners) @ np.array([wall, inward]) + np.array(door.start)
    return WayIn(True, short, _counter_clockwise(corridor))


def signed_area(ring: FloatArray) -> float:
    """Square metres, positive for a counter-clockwise ring (shoelace formula)."""
    x, y = ring[:, 0], ring[:, 1]
    return 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def _counter_clockwise(ring: FloatArray) -> FloatArray:
    return ring if signed_area(ring) > 0 else np.ascontiguousarray(ring[::-1])


# Convex pieces


def convex_pieces(ring: Ring | FloatArray) -> Pieces:
    """A simple polygon as convex rings that do not overlap; a convex ring comes back as itself.

    Points in a straight line are dropped.  Constrained Delaunay triangles are merged while the
    union stays convex (Hertel and Mehlhorn 1983: at most four times the least number).  Cached.
    """
    return _convex_pieces(tuple((float(x), float(y)) for x, y in ring))


@lru_cache(maxsize=4096)
def _convex_pieces(ring: Ring) -> Pieces:
    clean = _without_straight(list(ring))
    if signed_area(np.array(clean)) < 0:
        clean.reverse()
    if _is_convex(clean):
        return (_frozen(clean),)
    return split_convex(shapely.Polygon(clean))


def split_convex(area: Any) -> Pieces:
    """Any polygonal shapely geometry, holes included, as convex rings."""
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(area))
    corners = [[(float(x), float(y)) for x, y in shapely.get_coordinates(t)[:-1]] for t in triangles]
    faces = [c if signed_area(np.array(c)) > 0 else c[::-1] for c in corners]
    sides = {(face[k], face[k - 2]) for face in faces for k in range(3)}
    shared = [edge for edge in sides if edge < edge[::-1] and edge[::-1] in sides]
    # Longest first keeps the pieces round; which edge is left to the end decides how many there are.
    shared.sort(key=lambda e: (-math.dist(*e), e))
    orders = [[*shared[:k], *shared[k + 1 :], shared[k]] for k in reversed(range(len(shared)))]
    merged = min((_merge_all(faces, order) for order in orders), key=len, default=faces)
    return tuple(_frozen(_without_straight(face)) for face in merged)


def _merge_all(triangles: list[list[Point]], order: list[tuple[Point, Point]]) -> list[list[Point]]:
    """The faces left when the edges of ``order`` are taken out one by one where that stays convex."""
    faces: list[list[Point] | None] = list(triangles)
    for edge in order:
        _merge(faces, edge)
    return [face for face in faces if face]


def _merge(faces: list[list[Point] | None], edge: tuple[Point, Point]) -> None:
    """Merge the two faces on either side of ``edge`` in place, when their union is convex."""
    owners = [k for k, face in enumerate(faces) if face and edge[0] in face and edge[1] in face]
    touching = [(k, d) for k in owners for d in (edge, edge[::-1]) if _has_edge(faces[k] or [], d)]
    if len(touching) != 2:
        return
    (one, (a, b)), (two, _) = touching
    first, second = faces[one] or [], faces[two] or []
    i, j = first.index(b), second.index(a)
    union = first[i:] + first[:i] + (second[j:] + second[:j])[1:-1]
    if _is_convex(union):
        faces[one], faces[two] = union, None


def _has_edge(face: list[Point], edge: tuple[Point, Point]) -> bool:
    return edge[0] in face and face[(face.index(edge[0]) + 1) % len(face)] == edge[1]


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def _is_convex(ring: list[Point]) -> bool:
    return all(_turn(ring[k - 2], ring[k - 1], ring[k]) >= -_STRAIGHT for k in range(len(ring)))


def _without_straight(ring: list[Point]) -> list[Point]:
    """``ring`` less the points that lie on the line between their neighbours."""
    kept = list(ring)
    k = 0
    while k < len(kept) and len(kept) > 3:
        a, b, c = kept[k - 1], kept[k], kept[(k + 1) % len(kept)]
        if abs(_turn(a, b, c)) <= _STRAIGHT * max(math.dist(a, c), _STRAIGHT):
            del kept[k]
            k = max(0, k - 1)
        else:
            k += 1
    return kept


def _frozen(ring: list[Point]) -> FloatArray:
    array = np.array(ring, dtype=np.float64)
    array.flags.writeable = False
    return array
