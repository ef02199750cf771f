"""Walls as segments, and the solid ground outside the room.

Metres, in the room's frame.  A yard's outline runs along the wall of the room where they meet; the
shared stretch belongs to the room's wall and counts once.  The opening of a door that leads to a
yard is a gap; every other door is shut as far as walking goes, and a part of its wall.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from footwork.floor.overlap import depth
from footwork.floor.shapes import FloatArray, Pieces, split_convex
from footwork.model.scenario import TOLERANCE, Door, Point, Ring, Room, Yard

GROWN = 10.0
"""Metres that the solid ground reaches beyond the room and its yards."""

Interval = tuple[float, float]


@dataclass(frozen=True, slots=True)
class WallSegment:
    """A straight stretch that nobody walks through.

    ``name`` is the wall's, or "yard NAME" for a yard's edge.
    """

    name: str
    start: Point
    end: Point

    @property
    def pieces(self) -> Pieces:
        """The segment as a shape (a ring of two points)."""
        return (np.array([self.start, self.end], dtype=np.float64),)


@lru_cache(maxsize=64)
def wall_segments(room: Room) -> tuple[WallSegment, ...]:
    """Walls and yard edges, less the openings of doors between room and yard.

    An opening is a gap only where the yard really borders it, so that no one walks off the plan.
    """
    found: list[WallSegment] = []
    for wall in room.walls:
        doors = [door for door in room.doors if door.wall == wall.name]
        gaps = [gap for door in doors for gap in _gaps(room, door, wall.start, wall.end)]
        found += _stretches(wall.name, wall.start, wall.end, gaps)
    taken = [(wall.start, wall.end) for wall in room.walls]
    for yard in room.yards:
        for start, end in edges(yard.outline):
            shared = [i for a, b in taken if (i := shared_interval(start, end, a, b))]
            found += _stretches(f"yard {yard.name}", start, end, shared)
            taken.append((start, end))
    return tuple(found)


def _gaps(room: Room, door: Door, start: Point, end: Point) -> Iterator[Interval]:
    """Stretches of the wall start → end where ``door`` opens onto its yard."""
    yards: tuple[Yard, ...] = tuple(y for y in room.yards if y.name == door.yard)
    opening = shared_interval(start, end, door.start, door.end)
    if opening is None:
        return
    for yard in yards:
        for a, b in edges(yard.outline):
            edge = shared_interval(start, end, a, b)
            if edge and min(edge[1], opening[1]) - max(edge[0], opening[0]) > TOLERANCE:
                yield max(edge[0], opening[0]), min(edge[1], opening[1])


def edges(outline: Ring) -> Iterator[tuple[Point, Point]]:
    """The edges of a ring, in order."""
    return zip(outline, (*outline[1:], outline[0]), strict=True)


def shared_interval(start: Point, end: Point, a: Point, b: Point) -> Interval | None:
    """Where the segment a b runs along start → end, in metres from ``start``; None when it does not.

    Two segments run along each other when the shared stretch is longer than the tolerance and no
    part of it is further than the tolerance off the line.
    """
    length = math.dist(start, end)
    if length <= TOLERANCE:
        return None
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    along = [(p[0] - start[0]) * ux + (p[1] - start[1]) * uy for p in (a, b)]
    off = [(p[1] - start[1]) * ux - (p[0] - start[0]) * uy for p in (a, b)]
    low, high = max(0.0, min(along)), min(length, max(along))
    if high - low <= TOLERANCE:
        return None
    slope = (off[1] - off[0]) / (along[1] - along[0])
    if any(abs(off[0] + slope * (s - along[0])) > TOLERANCE for s in (low, high)):
        return None
    return low, high


def outside_of(length: float, gaps: Iterable[Interval]) -> tuple[Interval, ...]:
    """What is left of 0..length after ``gaps`` are taken out; crumbs within the tolerance are dropped."""
    left: list[Interval] = []
    reached = 0.0
    for low, high in sorted(gaps):
        if low - reached > TOLERANCE:
            left.append((reached, low))
        reached = max(reached, high)
    if length - reached > TOLERANCE:
        left.append((reached, length))
    return tuple(left)


def _stretches(name: str, start: Point, end: Point, gaps: list[Interval]) -> list[WallSegment]:
    length = math.dist(start, end)
    kept = outside_of(length, gaps)

    def at(s: float) -> Point:
        if s == 0.0:
            return start
        if s == length:
            return end
        return (start[0] + (end[0] - start[0]) * s / length, start[1] + (end[1] - start[1]) * s / length)

    return [WallSegment(name, at(low), at(high)) for low, high in kept]


@lru_cache(maxsize=64)
def solid(room: Room, indoors: bool) -> Pieces:
    """Everything outside the room (``indoors``) or outside room and yards, to 10 m beyond them.

    Convex rings that do not overlap: what stands in the room sinks into none of them.
    """
    inside = shapely.Polygon(room.outline)
    if not indoors:
        # A yard drawn within the tolerance of the wall meets it; no sliver may stay between them.
        yards = [shapely.snap(shapely.Polygon(y.outline), inside, TOLERANCE) for y in room.yards]
        inside = shapely.union_all([inside, *yards])
    low_x, low_y, high_x, high_y = limits(room, indoors)
    ground = shapely.box(low_x - GROWN, low_y - GROWN, high_x + GROWN, high_y + GROWN)
    return split_convex(ground.difference(inside))


def limits(room: Room, indoors: bool) -> tuple[float, float, float, float]:
    """The box around the room, and its yards unless ``indoors``: least x, least y, greatest x, greatest y."""
    rings = [room.outline] if indoors else [room.outline, *(y.outline for y in room.yards)]
    corners: FloatArray = np.concatenate([np.asarray(ring, dtype=np.float64) for ring in rings])
    (low_x, low_y), (high_x, high_y) = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
    return low_x, low_y, high_x, high_y


def outside_by(shape: Pieces, room: Room, indoors: bool) -> float:
    """Metres by which a shape reaches out of the room (``indoors``) or out of room and yards; ≤ 0: inside."""
    low_x, low_y, high_x, high_y = limits(room, indoors)
    corners = np.concatenate(shape)
    (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
    beyond = float(max(low_x - x0, low_y - y0, x1 - high_x, y1 - high_y))
    return max(beyond, depth(shape, solid(room, indoors)))
