"""Compiled primitives on convex rings: depth of overlap, straight-line gap, nearest points.

Shapes come as flat arrays: ``x``, ``y`` (float64) hold the corners of all rings one after the
other, counter-clockwise, and ring k is ``start[k]:start[k + 1]`` (int64).  A ring of two points is
a segment, of one a point.  Lengths are metres.  Everything in the program that asks whether two
things overlap ends here, so that a table built by the search and a check can never disagree.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from footwork.compiled.functions import entry, inner
from footwork.model.scenario import TOLERANCE

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

APART = 1e300
"""Metres: more than any distance; what the least of nothing is."""


class Nearest(NamedTuple):
    """Gap of two shapes, and where it is: p on the first, q on the second."""

    gap: float
    px: float
    py: float
    qx: float
    qy: float


@inner
def _least_overlap(
    ax: Floats, ay: Floats, a0: int, a1: int, bx: Floats, by: Floats, b0: int, b1: int
) -> float:
    """Least overlap of two rings over the outward normals of the first: separating axis test."""
    least = APART
    for i in range(a0, a1):
        j = i + 1 if i + 1 < a1 else a0
        ex = ax[j] - ax[i]
        ey = ay[j] - ay[i]
        length = (ex * ex + ey * ey) ** 0.5
        if length == 0.0:
            continue
        nx = ey / length
        ny = -ex / length
        nearest = APART
        for k in range(b0, b1):
            along = nx * (bx[k] - ax[i]) + ny * (by[k] - ay[i])
            nearest = min(nearest, along)
        least = min(least, -nearest)
    return least


@inner
def convex_depth(ax: Floats, ay: Floats, a0: int, a1: int, bx: Floats, by: Floats, b0: int, b1: int) -> float:
    """Penetration depth of ring ``a0:a1`` of one shape and ring ``b0:b1`` of another.

    The least distance one must move to be clear of the other; 0 when they touch; negative when
    they are apart (then it is only a lower bound of the gap's size, not the gap).
    """
    depth = min(
        _least_overlap(ax, ay, a0, a1, bx, by, b0, b1), _least_overlap(bx, by, b0, b1, ax, ay, a0, a1)
    )
    if depth >= APART:  # two points
        return -float(((ax[a0] - bx[b0]) ** 2 + (ay[a0] - by[b0]) ** 2) ** 0.5)
    return depth


@inner
def _boxes_apart(ax: Floats, ay: Floats, a0: int, a1: int, bx: Floats, by: Floats, b0: int, b1: int) -> float:
    """How far apart the boxes around two rings are along x or y, whichever is more; below 0: they meet."""
    alx = ahx = ax[a0]
    aly = ahy = ay[a0]
    for k in range(a0 + 1, a1):
        alx = min(alx, ax[k])
        ahx = max(ahx, ax[k])
        aly = min(aly, ay[k])
        ahy = max(ahy, ay[k])
    blx = bhx = bx[b0]
    bly = bhy = by[b0]
    for k in range(b0 + 1, b1):
        blx = min(blx, bx[k])
        bhx = max(bhx, bx[k])
        bly = min(bly, by[k])
        bhy = max(bhy, by[k])
    return float(max(max(alx - bhx, blx - ahx), max(aly - bhy, bly - ahy)))


@entry
def union_depth(ax: Floats, ay: Floats, astart: Ints, bx: Floats, by: Floats, bstart: Ints) -> float:
    """Penetration depth of two unions of convex rings: the deepest pair.  -``APART`` if one is empty."""
    deepest = -APART
    for i in range(astart.size - 1):
        for j in range(bstart.size - 1):
            a0, a1, b0, b1 = astart[i], astart[i + 1], bstart[j], bstart[j + 1]
            # What boxes are apart, the rings are at least, and to part the boxes parts the rings.
            boxes = -_boxes_apart(ax, ay, a0, a1, bx, by, b0, b1)
            if boxes > deepest:
                deepest = max(deepest, min(boxes, convex_depth(ax, ay, a0, a1, bx, by, b0, b1)))
    return deepest


@entry
def overlapping(ax: Floats, ay: Floats, astart: Ints, bx: Floats, by: Floats, bstart: Ints) -> bool:
    """Whether two unions of convex rings overlap by more than the tolerance.  Stops at the first pair."""
    for i in range(astart.size - 1):
        for j in range(bstart.size - 1):
            a0, a1, b0, b1 = astart[i], astart[i + 1], bstart[j], bstart[j + 1]
            if -_boxes_apart(ax, ay, a0, a1, bx, by, b0, b1) <= TOLERANCE:
                continue
            if convex_depth(ax, ay, a0, a1, bx, by, b0, b1) > TOLERANCE:
                return True
    return False


@inner
def point_to_ring(px: float, py: float, x: Floats, y: Floats, k0: int, k1: int) -> tuple[float, float, float]:
    """Distance from a point to the edges of a ring, and the nearest point on them."""
    best, bx, by = APART, 0.0, 0.0
    for i in range(k0, k1):
        j = i + 1 if i + 1 < k1 else k0
        ex = x[j] - x[i]
        ey = y[j] - y[i]
        square = ex * ex + ey * ey
        t = 0.0
        if square > 0.0:
            t = min(1.0, max(0.0, ((px - x[i]) * ex + (py - y[i]) * ey) / square))
        qx = x[i] + t * ex
        qy = y[i] + t * ey
        gap = ((px - qx) ** 2 + (py - qy) ** 2) ** 0.5
        if gap < best:
            best, bx, by = gap, qx, qy
    return best, bx, by


@entry
def union_nearest(ax: Floats, ay: Floats, astart: Ints, bx: Floats, by: Floats, bstart: Ints) -> Nearest:
    """Straight-line gap of two unions of convex rings, and where it is.

    Where they overlap the gap is 0 and p, q are the nearest
    corner of one to an edge of the other.
    """
    gap, px, py, qx, qy = APART, 0.0, 0.0, 0.0, 0.0
    inside = False
    for i in range(astart.size - 1):
        for j in range(bstart.size - 1):
            a0, a1, b0, b1 = astart[i], astart[i + 1], bstart[j], bstart[j + 1]
            if _boxes_apart(ax, ay, a0, a1, bx, by, b0, b1) > gap:
                continue
            if convex_depth(ax, ay, a0, a1, bx, by, b0, b1) > 0.0:
                inside = True
            for k in range(a0, a1):
                d, x, y = point_to_ring(ax[k], ay[k], bx, by, b0, b1)
                if d < gap:
                    gap, px, py, qx, qy = d, ax[k], ay[k], x, y
            for k in range(b0, b1):
                d, x, y = point_to_ring(bx[k], by[k], ax, ay, a0, a1)
                if d < gap:
                    gap, px, py, qx, qy = d, x, y, bx[k], by[k]
    if inside:
        gap = 0.0
    return Nearest(gap, px, py, qx, qy)
