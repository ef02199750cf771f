"""How deep two shapes overlap, and how far apart they stand.

A shape is a union of convex rings (``shapes.Pieces``): arrays of shape (n, 2), counter-clockwise,
metres; two points make a segment.  One predicate serves the whole program: two shapes overlap when
they sink into each other by more than ``TOLERANCE``.
"""

from __future__ import annotations

from itertools import accumulate

import numpy as np
from numpy.typing import NDArray

from footwork.floor import solid
from footwork.floor.shapes import FloatArray, Pieces
from footwork.model.scenario import TOLERANCE, Point

Flat = tuple[FloatArray, FloatArray, NDArray[np.int64]]
"""A shape for the compiled code: x, y of all corners, and where each ring starts (one more than rings)."""


def flatten(pieces: Pieces) -> Flat:
    """``pieces`` in the form that ``floor.solid`` works on."""
    if not pieces:
        return np.empty(0), np.empty(0), np.zeros(1, dtype=np.int64)
    corners = pieces[0] if len(pieces) == 1 else np.concatenate(pieces)
    # Of a dozen numbers Python makes a sum in less time than numpy needs to begin.
    start = np.array([0, *accumulate(map(len, pieces))], dtype=np.int64)
    return corners[:, 0].copy(), corners[:, 1].copy(), start


def depth(a: Pieces, b: Pieces) -> float:
    """Metres by which ``a`` and ``b`` sink into each other: the deepest pair of their convex rings.

    0 when they touch, below 0 when they are apart, minus infinity when one of them is empty.
    """
    found = float(solid.union_depth(*flatten(a), *flatten(b)))
    return found if found > -solid.APART else -float("inf")


def overlaps(a: Pieces, b: Pieces, tolerance: float = TOLERANCE) -> bool:
    """Whether two shapes overlap: they sink into each other by more than ``tolerance`` metres."""
    return depth(a, b) > tolerance


def distance(a: Pieces, b: Pieces) -> float:
    """The straight-line gap in metres; 0 when they touch or overlap, infinity when one is empty."""
    return gap(flatten(a), flatten(b))


def gap(a: Flat, b: Flat) -> float:
    """``distance`` of two shapes that lie ready for the compiled code."""
    found = float(solid.union_nearest(*a, *b).gap)
    return found if found < solid.APART else float("inf")


def nearest(a: Pieces, b: Pieces) -> tuple[Point, Point]:
    """The nearest points of two shapes that are apart: one on ``a``, one on ``b``.

    Raises ValueError when one of them is empty.
    """
    if not a or not b:
        raise ValueError("nearest points of an empty shape")
    _, px, py, qx, qy = solid.union_nearest(*flatten(a), *flatten(b))
    return (float(px), float(py)), (float(qx), float(qy))


def part_inside(ring: FloatArray, start: Point, end: Point) -> tuple[float, float] | None:
    """Which part of a segment lies in a convex ring: from where to where, 0 at its start and 1 at its end.

    None where the two do not touch.  Cyrus and Beck 1978: half-plane after half-plane.
    """
    (x, y), (along_x, along_y) = start, (end[0] - start[0], end[1] - start[1])
    low, high = 0.0, 1.0
    corners = ring.tolist()
    for (ax, ay), (bx, by) in zip(corners, (*corners[1:], corners[0]), strict=True):
        inside = (bx - ax) * (y - ay) - (by - ay) * (x - ax)
        turns = (bx - ax) * along_y - (by - ay) * along_x
        if turns > 0.0:
            low = max(low, -inside / turns)
        elif turns < 0.0:
            high = min(high, -inside / turns)
        elif inside < 0.0:
            return None
    return (low, high) if low <= high else None


def blocked_shifts(moving: Pieces, standing: Pieces, direction: Point) -> tuple[tuple[float, float], ...]:
    """The shifts of ``moving`` along the unit vector ``direction`` at which it overlaps ``standing``.

    Open intervals in metres, one for each pair of rings that ever overlap, sorted.  Along a shift the
    depth of a pair is the least of linear functions, so that each pair is blocked on one interval.
    """
    found = []
    for a in moving:
        for b in standing:
            interval = _blocked_interval(a, b, np.asarray(direction))
            if interval is not None:
                found.append(interval)
    return tuple(sorted(found))


def _blocked_interval(a: FloatArray, b: FloatArray, direction: FloatArray) -> tuple[float, float] | None:
    normals_a, normals_b = _normals(a), _normals(b)
    # Overlap beyond the tolerance on each normal, and how it grows with the shift.
    start = np.concatenate(
        [
            (normals_a @ a.T).max(axis=1) - (normals_a @ b.T).min(axis=1),
            (normals_b @ b.T).max(axis=1) - (normals_b @ a.T).min(axis=1),
        ]
    )
    slope = np.concatenate([normals_a @ direction, -(normals_b @ direction)])
    start = start - TOLERANCE
    level = np.abs(slope) < 1e-12
    if (start[level] <= 0).any():
        return None
    turn = -start[~level] / slope[~level]
    rising = slope[~level] > 0
    low = float(turn[rising].max(initial=-np.inf))
    high = float(turn[~rising].min(initial=np.inf))
    return (low, high) if high > low else None


def _normals(ring: FloatArray) -> FloatArray:
    """Outward unit normals of a ring's edges, shape (n, 2)."""
    edges = np.roll(ring, -1, axis=0) - ring
    unit: FloatArray = np.column_stack([edges[:, 1], -edges[:, 0]])
    return unit / np.hypot(unit[:, 0], unit[:, 1])[:, None]


def clear_after(moving: Pieces, standing: Pieces, direction: Point) -> float:
    """Metres that ``moving`` must go along ``direction`` until it first overlaps ``standing`` no more.

    0 when it does not overlap it as it stands.
    """
    gone = 0.0
    for low, high in blocked_shifts(moving, standing, direction):
        if low < gone < high or (gone == 0.0 and low < 0.0 < high):
            gone = high
    return gone
