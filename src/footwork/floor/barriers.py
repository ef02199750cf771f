"""The fewest things that have to go for a way to open.

Grown by half the width of the way, what stands on the floor cuts it into faces; each face lies under some of
the grown shapes and under no other.  A way that crosses a face needs those things gone.  So the smallest set
of things without which there is a way is found exactly, by going from face to neighbouring face with the set
of all that had to go so far.  Metres, in the room's frame.
"""

from __future__ import annotations

import heapq
import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import count, pairwise

import shapely

from footwork.floor.scene import Scene
from footwork.model.scenario import TOLERANCE, Point, Room

MOST = 4
"""Things in a set, at most: of more nobody wants to read one by one."""
_ROUND = 16
"""Straight parts of a quarter of a circle; what is found is tried on true arcs."""
_KEPT = 200_000
"""Steps of the search, at most: a guard that no shed of some size comes near."""

Names = frozenset[str]


@dataclass(frozen=True, eq=False)
class Barriers:
    """The faces of one floor for ways of one width: what lies on each, and which faces touch."""

    scene: Scene
    width: float
    faces: tuple[shapely.Geometry, ...]
    on: tuple[Names, ...]
    beside: Mapping[int, frozenset[int]]
    tree: shapely.STRtree

    @staticmethod
    def of(scene: Scene, room: Room, movable: Iterable[str], width: float) -> Barriers:
        """``movable`` are the names of obstacles that may go; all others stay."""
        names = frozenset(movable)
        grown: dict[str, shapely.Geometry] = {}
        stays = []
        for obstacle in scene.obstacles:
            shapes = [_shape(piece) for piece in obstacle.pieces]
            near = shapely.union_all(shapely.buffer(shapes, width / 2 - TOLERANCE, quad_segs=_ROUND))
            if obstacle.name in names:
                grown[obstacle.name] = near
            else:
                stays.append(near)
        rings = [room.outline, *(yard.outline for yard in room.yards)]
        floor = shapely.union_all([shapely.Polygon(ring) for ring in rings])
        free = floor.difference(shapely.union_all(stays))
        lines = shapely.union_all([free.boundary, *(shape.boundary for shape in grown.values())])
        faces, on = [], []
        shapely.prepare(free)
        for face in shapely.get_parts(shapely.polygonize(shapely.get_parts(lines))):
            inside = face.representative_point()
            if free.contains(inside):
                faces.append(face)
                on.append(frozenset(name for name, shape in grown.items() if shape.contains(inside)))
        return Barriers(scene, width, tuple(faces), tuple(on), _touching(faces), shapely.STRtree(faces))

    def smallest(self, start: Point, end: Point, stay: Names = frozenset()) -> tuple[Names, ...]:
        """The smallest sets of things without which there is a way between two points, alphabetically.

        Of at most ``MOST`` things, none of them in ``stay``; () where no such set opens a way.
        """
        found: list[Names] = []
        for gone in self._sets(self._at(start), self._at(end), stay):
            if found and len(gone) > len(found[0]):
                break
            if gone not in found and self._opens(start, end, gone):
                found.append(gone)
        return tuple(sorted(found, key=sorted))

    def _sets(self, starts: list[int], ends: list[int], stay: Names) -> Iterator[Names]:
        """Sets of things in the way from face to face, the smallest first."""
        goal = frozenset(ends)
        known: defaultdict[int, list[Names]] = defaultdict(list)
        order = count()
        heap = [(len(self.on[f]), next(order), f, self.on[f]) for f in starts if not self.on[f] & stay]
        heapq.heapify(heap)
        for _ in range(_KEPT):
            if not heap:
                return
            _, _, face, gone = heapq.heappop(heap)
            if any(other <= gone for other in known[face]):
                continue
            known[face].append(gone)
            if face in goal:
                yield gone
            for near in self.beside.get(face, ()):
                more = gone | self.on[near]
                if len(more) <= MOST and not more & stay and not any(o <= more for o in known[near]):
                    heapq.heappush(heap, (len(more), next(order), near, more))

    def _at(self, point: Point) -> list[int]:
        """The faces on which a point lies, or the nearest within what rounding can do."""
        here = shapely.Point(point)
        return [int(k) for k in self.tree.query(here, predicate="dwithin", distance=10 * TOLERANCE)]

    def _opens(self, start: Point, end: Point, gone: Names) -> bool:
        left = tuple(o for o in self.scene.obstacles if o.name not in gone)
        return math.isfinite(Scene(left, self.scene.tolerance).length(start, end, self.width / 2))


def _touching(faces: list[shapely.Geometry]) -> Mapping[int, frozenset[int]]:
    """Which faces have a stretch of their edges in common."""
    sides: defaultdict[frozenset[Point], list[int]] = defaultdict(list)
    for k, face in enumerate(faces):
        for ring in (face.exterior, *face.interiors):
            for a, b in pairwise(ring.coords):
                sides[frozenset((a, b))].append(k)
    beside: defaultdict[int, set[int]] = defaultdict(set)
    for pair in sides.values():
        if len(pair) == 2:
            beside[pair[0]].add(pair[1])
            beside[pair[1]].add(pair[0])
    return {k: frozenset(near) for k, near in beside.items()}


def _shape(piece: object) -> shapely.Geometry:
    points = shapely.points(piece)
    return shapely.LineString(points) if len(points) == 2 else shapely.Polygon(points)
