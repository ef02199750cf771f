"""Compiled tests of contact: does a walking disc sink into an obstacle, along a segment or an arc?

Flat arrays (``Arrays``) describe a scene, for the compiled code:

- ``vert`` (n, 5): vertices of convex pieces, counter-clockwise: x, y, then the outward unit normal of the
  edge that leaves the vertex and that edge's offset (normal . vertex).  A wall is a piece of two vertices.
- ``ball`` (m, 3): a circle round each piece: x, y, radius; ``box`` (m, 4): least x, y and greatest x, y.
- ``span`` (m, 3): first vertex of each piece, one past its last, and the obstacle it belongs to.
- ``corner`` (k, 6): x, y, and the cone of outward directions from the unit vector in columns 2 and 3
  counter-clockwise to the one in 4 and 5, at most a half turn; ``first``: obstacle ``o`` owns corners
  ``first[o]:first[o + 1]``.

All lengths are metres in the room's frame.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from footwork.compiled.functions import bare, bare_entry
from footwork.compiled.records import record

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@record
class Arrays(NamedTuple):
    """A scene as flat arrays; see the module's text."""

    vert: Floats
    ball: Floats
    box: Floats
    span: Ints
    corner: Floats
    first: Ints


_ROUNDING = 1e-12
"""Metres.  What lies in line with a wall, past its end, may seem this deep inside it: distances decide."""


@bare
def _point_segment2(px: float, py: float, ax: float, ay: float, bx: float, by: float) -> float:
    """Squared distance from a point to a segment."""
    dx, dy = bx - ax, by - ay
    wx, wy = px - ax, py - ay
    length2 = dx * dx + dy * dy
    if length2 > 0.0:
        t = (wx * dx + wy * dy) / length2
        t = min(1.0, max(0.0, t))
        wx -= t * dx
        wy -= t * dy
    return wx * wx + wy * wy


@bare
def hits(
    vert: Floats, first: int, last: int, px: float, py: float, qx: float, qy: float, r: float, tol: float
) -> bool:
    """Whether a disc of radius ``r`` moving from p to q sinks more than ``tol`` into one piece.

    Separating axes decide most cases; only a segment that passes a corner closely needs distances.
    """
    near = r - tol
    dx, dy = qx - px, qy - py
    length2 = dx * dx + dy * dy
    apart = -math.inf
    if length2 > 0.0:
        inv = 1.0 / math.sqrt(length2)
        nx, ny = -dy * inv, dx * inv
        low, high = math.inf, -math.inf
        for i in range(first, last):
            side = (vert[i, 0] - px) * nx + (vert[i, 1] - py) * ny
            low = min(low, side)
            high = max(high, side)
        apart = max(low, -high)
        if apart >= near and apart >= 0.0:
            return False
    for i in range(first, last):
        a = px * vert[i, 2] + py * vert[i, 3] - vert[i, 4]
        b = qx * vert[i, 2] + qy * vert[i, 3] - vert[i, 4]
        side = min(a, b)
        if side > apart:
            apart = side
            if apart >= near and apart >= 0.0:
                return False
    if apart < -_ROUNDING:
        return r - apart > tol
    if near <= 0.0:
        return False
    near2 = near * near
    for i in range(first, last):
        j = i + 1 if i + 1 < last else first
        vx, vy, wx, wy = vert[i, 0], vert[i, 1], vert[j, 0], vert[j, 1]
        if (
            _point_segment2(vx, vy, px, py, qx, qy) < near2
            or _point_segment2(px, py, vx, vy, wx, wy) < near2
            or _point_segment2(qx, qy, vx, vy, wx, wy) < near2
        ):
            return True
    return False


@bare_entry
def point_distance(vert: Floats, first: int, last: int, px: float, py: float) -> float:
    """Distance from a point to a piece; inside it, minus the depth."""
    outside = -math.inf
    for i in range(first, last):
        outside = max(outside, px * vert[i, 2] + py * vert[i, 3] - vert[i, 4])
    if outside < -_ROUNDING:
        return outside
    best = math.inf
    for i in range(first, last):
        j = i + 1 if i + 1 < last else first
        best = min(best, _point_segment2(px, py, vert[i, 0], vert[i, 1], vert[j, 0], vert[j, 1]))
    return math.sqrt(best)


@bare
def _in_arc(ux: float, uy: float, tx: float, ty: float, o: float, x: float, y: float) -> bool:
    """Whether direction (x, y) lies on the arc from u to t, at most a half turn, turning by ``o``."""
    return o * (ux * y - uy * x) >= 0.0 and o * (x * ty - y * tx) >= 0.0


@bare
def arc_hits(
    vert: Floats, first: int, last: int, cx: float, cy: float, r: float,
    ux: float, uy: float, tx: float, ty: float, o: float, near: float,
) -> bool:  # fmt: skip
    """Whether the disc's centre comes nearer than ``near`` to one piece while it turns about c.

    The centre runs from c + r u to c + r t, counter-clockwise for ``o`` = 1, at most a half turn.  The
    distance from the arc to a convex piece is least at an end, where the arc points at a vertex, where
    it points along an edge's normal, or inside the piece.  No arc of a quarter turn can pass through a
    piece with both its ends a radius away, so the middle of the arc is tried too.
    """
    mx, my = ux + tx, uy + ty
    length = math.hypot(mx, my)
    if length > 1e-6:
        mx, my = mx / length, my / length
    else:
        mx, my = -o * uy, o * ux
    if (
        point_distance(vert, first, last, cx + r * ux, cy + r * uy) < near
        or point_distance(vert, first, last, cx + r * tx, cy + r * ty) < near
        or point_distance(vert, first, last, cx + r * mx, cy + r * my) < near
    ):
        return True
    for i in range(first, last):
        x, y = vert[i, 0] - cx, vert[i, 1] - cy
        length = math.hypot(x, y)
        if length > 0.0:
            x, y = x / length, y / length
            if (
                _in_arc(ux, uy, tx, ty, o, x, y)
                and point_distance(vert, first, last, cx + r * x, cy + r * y) < near
            ):
                return True
        x, y = -vert[i, 2], -vert[i, 3]
        if (
            _in_arc(ux, uy, tx, ty, o, x, y)
            and point_distance(vert, first, last, cx + r * x, cy + r * y) < near
        ):
            return True
    return False


@bare_entry
def segment_blocker(s: Arrays, px: float, py: float, qx: float, qy: float, r: float, tol: float) -> int:
    """The first piece that the disc would sink into from p to q, or -1."""
    vert, box, span = s.vert, s.box, s.span
    low_x, high_x = min(px, qx) - r, max(px, qx) + r
    low_y, high_y = min(py, qy) - r, max(py, qy) + r
    for m in range(len(span)):
        if low_x >= box[m, 2] or high_x <= box[m, 0] or low_y >= box[m, 3] or high_y <= box[m, 1]:
            continue
        if hits(vert, span[m, 0], span[m, 1], px, py, qx, qy, r, tol):
            return m
    return -1


@bare_entry
def arc_blocker(
    s: Arrays, cx: float, cy: float, r: float,
    ux: float, uy: float, tx: float, ty: float, o: float, tol: float,
) -> int:  # fmt: skip
    """The first piece that the disc would sink into while turning about c, or -1."""
    vert, ball, span = s.vert, s.ball, s.span
    for m in range(len(span)):
        wx, wy = ball[m, 0] - cx, ball[m, 1] - cy
        reach = ball[m, 2] + 2.0 * r
        if wx * wx + wy * wy < reach * reach and arc_hits(
            vert, span[m, 0], span[m, 1], cx, cy, r, ux, uy, tx, ty, o, r - tol
        ):
            return m
    return -1


@bare
def mark(obstacle: int) -> int:
    """The bit that stands for an obstacle in a set of them; shared from the 65th on."""
    return 1 << (obstacle % 64)


@bare
def blockers(
    s: Arrays, px: float, py: float, qx: float, qy: float,
    cx: float, cy: float, ux: float, uy: float, tx: float, ty: float, o: float,
    r: float, tol: float, joined: Ints, every: bool,
) -> tuple[int, bool, int]:  # fmt: skip
    """What the disc would sink into from p to q, or on the arc about c before that (none for ``o`` = 0).

    Returns (obstacle, whether there is one, set of obstacles by ``mark``): one that has joined where there
    is one, else the first.  With ``every`` the set is of all that block; without, only that there is one
    counts.  In a scene of more than 64 obstacles the set has only the one returned, as bits are shared.
    """
    vert, box, ball, span = s.vert, s.box, s.ball, s.span
    low_x, high_x = min(px, qx) - r, max(px, qx) + r
    low_y, high_y = min(py, qy) - r, max(py, qy) + r
    owner, found = -1, 0
    for m in range(len(span)):
        this = span[m, 2]
        shut = (
            low_x < box[m, 2]
            and high_x > box[m, 0]
            and low_y < box[m, 3]
            and high_y > box[m, 1]
            and hits(vert, span[m, 0], span[m, 1], px, py, qx, qy, r, tol)
        )
        if not shut and o != 0.0:
            wx, wy = ball[m, 0] - cx, ball[m, 1] - cy
            reach = ball[m, 2] + 2.0 * r
            shut = wx * wx + wy * wy < reach * reach and arc_hits(
                vert, span[m, 0], span[m, 1], cx, cy, r, ux, uy, tx, ty, o, r - tol
            )
        if shut:
            found |= mark(this)
            if owner < 0 or (joined[this] != 0 and joined[owner] == 0):
                owner = this
            if joined[owner] != 0 and not every:
                break
    if owner >= 0 and len(s.first) > 65:
        found = mark(owner)
    return owner, owner >= 0, found
