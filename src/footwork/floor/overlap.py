"""How deep two shapes overlap, and how far apart they stand.

A shape is a union of convex rings (``shapes.Pieces``): arrays of shape (n, 2), counter-clockwise,
metres; two points make a segment.  One predicate serves the whole program: two shapes overlap when
they sink into each other by more than ``TOLERANCE``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from footwork.floor import solid
from footwork.floor.shapes import FloatArray, Pieces
from footwork.model.scenario import TOLERANCE, Point

Flat = tuple[FloatArray, FloatArray, NDArray[np.int64]]
"""A shape for the compiled code: x, y of all corners, and where each ring starts (one more than rings)."""


def flatten(pieces: Pieces) -> Flat:
    """``pieces`` in the form that ``floor.solid`` works on."""
    start = np.zeros(len(pieces) + 1, dtype=np.int64)
    if not pieces:
        return np.empty(0), np.empty(0), start
    np.cumsum([len(piece) for piece in pieces], out=start[1:])
    corners = np.concatenate(pieces)
    return np.ascontiguousarray(corners[:, 0]), np.ascontiguousarray(corners[:, 1]), start


def depth(a: Pieces, b: Pieces) -> float:
    """Metres by which ``a`` and ``b`` sink into each other: the deepest pair of their convex rings.

    0 when they touch, below 0 when they are apart, minus infinity when one of them is empty.
    """
    found = float(solid.union_depth(*flatten(a), *flatten(b)))
    return found if found > -1e299 else -float("inf")


def overlaps(a: Pieces, b: Pieces, tolerance: float = TOLERANCE) -> bool:
    """Whether two shapes overlap: they sink into each other by more than ``tolerance`` metres."""
    return depth(a, b) > tolerance


def distance(a: Pieces, b: Pieces) -> float:
    """The straight-line gap in metres; 0 when they touch or overlap, infinity when one is empty."""
    found = float(solid.union_nearest(*flatten(a), *flatten(b))[0])
    return found if found < 1e299 else float("inf")


def nearest(a: Pieces, b: Pieces) -> tuple[Point, Point]:
    """The nearest points of two shapes that are apart: one on ``a``, one on ``b``.

    Raises ValueError when one of them is empty.
    """
    if not a or not b:
        raise ValueError("nearest points of an empty shape")
    _, px, py, qx, qy = solid.union_nearest(*flatten(a), *flatten(b))
    return (float(px), float(py)), (float(qx), float(qy))
