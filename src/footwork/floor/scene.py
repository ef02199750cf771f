"""A floor with obstacles, and the shortest path of a walker across it.

A ``Scene`` holds obstacles as convex pieces and corners, also in the flat arrays of ``contact`` that the
compiled search of ``kernel`` runs on.  Everything is metres in the room's frame.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from footwork.floor import kernel
from footwork.floor.contact import Arrays, X, Y
from footwork.model.errors import GeometryError
from footwork.model.scenario import TOLERANCE, Point

Ring = NDArray[np.float64]
Corner = tuple[float, float, float, float, float, float]
"""Position, first and last outward direction (counter-clockwise) of a corner."""

_ARC_STEP = 0.19
"""Radians of arc for each vertex of a drawn path: circumscribed, 0.3 % longer than the arc at most."""


_ROUNDING = 1e-12
"""Metres: the least tolerance; below it the rounding of a turned corner shuts the way along a face."""


class Packed(NamedTuple):
    """Rows of ``contact.Arrays`` of one obstacle, and how many corners each of its pieces has."""

    vert: NDArray[np.float64]
    ball: NDArray[np.float64]
    box: NDArray[np.float64]
    counts: list[int]


@dataclass(frozen=True)
class Obstacle:
    """Something that cannot be walked through.

    ``pieces``: convex rings, shape (n, 2), counter-clockwise; a wall is two points.  ``corners``: where
    a path may turn.  Without any it is in nobody's way.
    """

    name: str
    pieces: tuple[Ring, ...]
    corners: tuple[Corner, ...]

    @cached_property
    def packed(self) -> Packed:
        """Its rows of the flat arrays, the same in every scene that it stands in."""
        edges = [ahead(p) - p for p in self.pieces]
        parts = [_packed(p, e) for p, e in zip(self.pieces, edges, strict=True)]
        return Packed(
            np.concatenate([np.zeros((0, 5)), *(part[0] for part in parts)]),
            np.array([part[1] for part in parts]).reshape(-1, 3),
            np.array([part[2] for part in parts]).reshape(-1, 4),
            [len(p) for p in self.pieces],
        )

    @staticmethod
    def from_ring(name: str, ring: ArrayLike, pieces: Iterable[ArrayLike] = ()) -> Obstacle:
        """An obstacle with the outline ``ring`` (n, 2), either way round, and its convex ``pieces``.

        Without ``pieces`` the ring must be convex.  Raises GeometryError naming the obstacle.
        """
        outline = clean_ring(name, ring)
        parts = tuple(np.asarray(p, dtype=np.float64) for p in pieces) or (outline,)
        return Obstacle(name, parts, tuple(_ring_corners(outline)))

    @staticmethod
    def from_walls(name: str, segments: Sequence[tuple[Point, Point]]) -> Obstacle:
        """Walls as thin segments: a path turns at their free ends and at corners that stick out."""
        pieces = tuple(np.array(s, dtype=np.float64) for s in segments if math.dist(*s) > TOLERANCE)
        return Obstacle(name, pieces, tuple(_wall_corners(pieces)))


@dataclass(frozen=True)
class Path:
    """The way from one point to another.

    ``length`` is exact, with true arcs, in metres; inf when there is no way.  ``points`` is a polyline that
    stays outside the arcs, at most 0.5 % longer than they are; empty when there is no way.  ``round``
    names the obstacles that the path turns at, in order.
    """

    length: float
    points: tuple[Point, ...] = ()
    round: tuple[str, ...] = ()

    @property
    def found(self) -> bool:
        return math.isfinite(self.length)


@dataclass(frozen=True)
class Scene:
    """Obstacles on a floor.  ``tolerance``: how far the walker may sink into one and still only touch it."""

    obstacles: tuple[Obstacle, ...]
    tolerance: float = TOLERANCE
    arrays: Arrays = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "tolerance", max(self.tolerance, _ROUNDING))
        object.__setattr__(self, "arrays", pack(self.obstacles))

    def path(self, start: Point, end: Point, radius: float) -> Path:
        """Shortest path of the centre of a disc of ``radius`` from ``start`` to ``end``."""
        (px, py), (qx, qy) = start, end
        ends = (float(px), float(py), float(qx), float(qy))
        edges = kernel.way(self.arrays, *ends, float(radius), float(self.tolerance)).tolist()
        if not edges:
            return Path(math.inf)
        corners = [int(edge[kernel.AT]) for edge in edges[1:]]
        owners = np.searchsorted(self.arrays.first, corners, side="right") - 1
        names = [self.obstacles[o].name for o in owners]
        points = trace(self.arrays, edges, radius)
        return Path(edges[-1][kernel.GONE], points, tuple(dict.fromkeys(names)))

    def length(self, start: Point, end: Point, radius: float) -> float:
        """Length of the shortest path, inf when there is none."""
        (px, py), (qx, qy) = start, end
        ends = (float(px), float(py), float(qx), float(qy))
        return float(kernel.shortest(self.arrays, *ends, float(radius), float(self.tolerance)))

    def lengths(self, starts: ArrayLike, ends: ArrayLike, radius: float) -> NDArray[np.float64]:
        """Lengths between all ``starts`` (n, 2) and ``ends`` (m, 2): shape (n, m), inf for no way."""
        p = np.ascontiguousarray(starts, dtype=np.float64).reshape(-1, 2)
        q = np.ascontiguousarray(ends, dtype=np.float64).reshape(-1, 2)
        return kernel.matrix(self.arrays, p, q, radius, self.tolerance)


def ahead(ring: NDArray[np.float64]) -> NDArray[np.float64]:
    """The corner after each of a ring (n, 2)."""
    return np.concatenate((ring[1:], ring[:1]))


def clean_ring(name: str, ring: ArrayLike) -> Ring:
    """The ring counter-clockwise, without repeated or collinear points.

    Raises GeometryError when fewer than three corners or no area remain, or a coordinate is not finite.
    """
    pts = np.asarray(ring, dtype=np.float64).reshape(-1, 2)
    if not np.isfinite(pts).all():
        raise GeometryError(f"{name}: a corner of its outline is not a finite number")
    keep = [p for i, p in enumerate(pts) if np.hypot(*(p - pts[i - 1])) > 1e-9]
    pts = np.array(keep).reshape(-1, 2)
    if len(pts) >= 3:
        a = pts - np.concatenate((pts[-1:], pts[:-1]))
        b = ahead(pts) - pts
        cross = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
        pts = pts[np.abs(cross) > 1e-12 * np.hypot(*a.T) * np.hypot(*b.T)]
    if len(pts) < 3:
        raise GeometryError(
            f"{name}: its outline has no area; give at least three corners that are not in line"
        )
    (x, y), (next_x, next_y) = pts.T, ahead(pts).T
    area = np.sum(x * next_y - next_x * y)
    return pts if area > 0 else pts[::-1].copy()


def _ring_corners(ring: Ring) -> Iterable[Corner]:
    """Convex corners of a counter-clockwise ring, each with the cone between its edges' outward normals."""
    edges = ahead(ring) - ring
    edges = edges / np.hypot(*edges.T)[:, None]
    normals = np.column_stack((edges[:, 1], -edges[:, 0]))
    for i, (x, y) in enumerate(ring):
        a, z = normals[i - 1], normals[i]
        if a[0] * z[1] - a[1] * z[0] > 0.0:
            yield (float(x), float(y), float(a[0]), float(a[1]), float(z[0]), float(z[1]))


def _wall_corners(pieces: Sequence[Ring]) -> Iterable[Corner]:
    """Corners of a net of walls: at each joint, the gaps between walls that are wider than a half turn."""
    joints: list[tuple[Ring, list[float]]] = []
    for piece in pieces:
        for here, there in (piece, piece[::-1]):
            angle = math.atan2(there[1] - here[1], there[0] - here[0])
            for at, angles in joints:
                if np.hypot(*(at - here)) <= TOLERANCE:
                    angles.append(angle)
                    break
            else:
                joints.append((here, [angle]))
    for at, angles in joints:
        angles.sort()
        for a, b in zip(angles, [*angles[1:], angles[0] + math.tau], strict=True):
            if b - a > math.pi + 1e-9:
                first, last = a + math.pi / 2, b - math.pi / 2
                yield (
                    float(at[0]), float(at[1]),
                    math.cos(first), math.sin(first), math.cos(last), math.sin(last),
                )  # fmt: skip


def pack(obstacles: Sequence[Obstacle]) -> Arrays:
    """The flat arrays of ``contact.Arrays`` for obstacles in their order."""
    parts = [obstacle.packed for obstacle in obstacles]
    corners = np.array([c for o in obstacles for c in o.corners], dtype=np.float64).reshape(-1, 6)
    owners = np.repeat(np.arange(len(parts), dtype=np.int64), [len(part.counts) for part in parts])
    ends = np.cumsum([count for part in parts for count in part.counts], dtype=np.int64)
    return Arrays(
        vert=np.concatenate([np.zeros((0, 5)), *(part.vert for part in parts)]),
        ball=np.concatenate([np.zeros((0, 3)), *(part.ball for part in parts)]),
        box=np.concatenate([np.zeros((0, 4)), *(part.box for part in parts)]),
        span=np.column_stack((np.concatenate(([0], ends))[:-1], ends, owners)).astype(np.int64),
        corner=corners,
        first=np.cumsum([0, *(len(o.corners) for o in obstacles)], dtype=np.int64),
    )


def _packed(piece: Ring, edges: Ring) -> tuple[NDArray[np.float64], tuple[float, ...], tuple[float, ...]]:
    """A piece's corners with the normals of its ``edges``, the disc about it, the box about it."""
    normals = np.column_stack((edges[:, 1], -edges[:, 0])) / np.hypot(edges[:, 0], edges[:, 1])[:, None]
    low, high = piece.min(axis=0), piece.max(axis=0)
    middle = (low + high) / 2
    reach = float(np.hypot(*(piece - middle).T).max())
    vert = np.column_stack((piece, normals, (piece * normals).sum(axis=1)))
    return vert, (*middle.tolist(), reach), (*low.tolist(), *high.tolist())


def trace(s: Arrays, edges: Sequence[Sequence[float]], r: float) -> tuple[Point, ...]:
    """The polyline along the edges of a path (``kernel.way``)."""
    points: list[Point] = []
    for at, sense, ux, uy, wx, wy, sx, sy, ex, ey, _ in edges:
        if at >= 0:
            corner = (float(s.corner[int(at), X]), float(s.corner[int(at), Y]))
            points += _arc_points(corner, r, (ux, uy), (wx, wy), sense)
        points += [(sx, sy), (ex, ey)]
    return tuple(_without_repeats(points))


def _arc_points(c: Point, r: float, u: Point, w: Point, o: float) -> list[Point]:
    """Vertices of a polyline round the outside of the arc from c + r u to c + r w, its ends left out."""
    angle = math.atan2(max(0.0, o * (u[0] * w[1] - u[1] * w[0])), u[0] * w[0] + u[1] * w[1])
    if angle < 1e-9 or r <= 0.0:
        return []
    steps = math.ceil(angle / _ARC_STEP)
    half = angle / steps / 2
    first = math.atan2(u[1], u[0])
    out = r / math.cos(half)
    turns = [first + o * half * (2 * i + 1) for i in range(steps)]
    return [(float(c[0] + out * math.cos(a)), float(c[1] + out * math.sin(a))) for a in turns]


def _without_repeats(points: Sequence[Point]) -> list[Point]:
    kept: list[Point] = []
    for p in points:
        if not kept or math.dist(p, kept[-1]) > 1e-9:
            kept.append(p)
    if len(kept) == 1 and len(points) > 1:
        kept.append(points[-1])
    return kept
