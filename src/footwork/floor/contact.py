"""Compiled tests of contact: does a walking disc sink into an obstacle, along a segment or an arc?

Flat arrays (``Arrays``) describe a scene, for the compiled code:

- ``vert`` (n, 5): vertices of convex pieces, counter-clockwise: x, y, then the outward unit normal of the
  edge that leaves the vertex and that edge's offset (normal . vertex).  A wall is a piece of two vertices.
- ``ball`` (m, 3): a circle round each piece: x, y, radius; ``box`` (m, 4): least x, y and greatest x, y.
- ``span`` (m, 3): first vertex of each piece, one past its last, and the obstacle it belongs to.
- ``corner`` (k, 6): x, y, and the cone of outward directions from the unit vector a counter-clockwise to
  the unit vector z, at most a half turn; ``first``: obstacle ``o`` owns corners ``first[o]:first[o + 1]``.

Lines and arcs are plain named tuples of numbers, which compiled code hands on by value: they cost nothing.
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


X, Y = range(2)
"""Columns of ``vert``, ``ball`` and ``corner``."""
NORMAL_X, NORMAL_Y, OFFSET = range(2, 5)
"""Further columns of ``vert``."""
RADIUS = 2
"""Further column of ``ball``."""
AX, AY, ZX, ZY = range(2, 6)
"""Further columns of ``corner``."""
WEST, SOUTH, EAST, NORTH = range(4)
"""Columns of ``box``."""
FIRST, END, OWNER = range(3)
"""Columns of ``span``."""


class Segment(NamedTuple):
    """Where the disc's centre goes straight, from p to q."""

    px: float
    py: float
    qx: float
    qy: float


class Arc(NamedTuple):
    """Where the disc's centre turns about c, a radius away, from direction u to direction t.

    At most a half turn; ``sense`` 1.0 is counter-clockwise, -1.0 clockwise.
    """

    cx: float
    cy: float
    ux: float
    uy: float
    tx: float
    ty: float
    sense: float


MOST_MARKS = 64
"""Obstacles that a set of them, one bit each, can tell apart."""
_HALF_TURN = 1e-6
"""Length of the sum of two unit vectors below which they are taken for opposite: an arc's middle is then
found by a quarter turn, as the sum would point anywhere."""
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
def hits(vert: Floats, first: int, last: int, line: Segment, r: float, tol: float) -> bool:
    """Whether a disc of radius ``r`` moving along ``line`` sinks more than ``tol`` into one piece.

    Separating axes decide most cases; only a segment that passes a corner closely needs distances.
    """
    px, py, qx, qy = line.px, line.py, line.qx, line.qy
    near = r - tol
    dx, dy = qx - px, qy - py
    length2 = dx * dx + dy * dy
    apart = -math.inf
    if length2 > 0.0:
        inv = 1.0 / math.sqrt(length2)
        nx, ny = -dy * inv, dx * inv
        low, high = math.inf, -math.inf
        for i in range(first, last):
            side = (vert[i, X] - px) * nx + (vert[i, Y] - py) * ny
            low = min(low, side)
            high = max(high, side)
        apart = max(low, -high)
        if apart >= near and apart >= 0.0:
            return False
    for i in range(first, last):
        a = px * vert[i, NORMAL_X] + py * vert[i, NORMAL_Y] - vert[i, OFFSET]
        b = qx * vert[i, NORMAL_X] + qy * vert[i, NORMAL_Y] - vert[i, OFFSET]
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
        vx, vy, wx, wy = vert[i, X], vert[i, Y], vert[j, X], vert[j, Y]
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
        outside = max(outside, px * vert[i, NORMAL_X] + py * vert[i, NORMAL_Y] - vert[i, OFFSET])
    if outside < -_ROUNDING:
        return outside
    best = math.inf
    for i in range(first, last):
        j = i + 1 if i + 1 < last else first
        best = min(best, _point_segment2(px, py, vert[i, X], vert[i, Y], vert[j, X], vert[j, Y]))
    return math.sqrt(best)


@bare
def _in_arc(arc: Arc, x: float, y: float) -> bool:
    """Whether direction (x, y) lies on an arc."""
    o = arc.sense
    return o * (arc.ux * y - arc.uy * x) >= 0.0 and o * (x * arc.ty - y * arc.tx) >= 0.0


@bare
def arc_hits(vert: Floats, first: int, last: int, arc: Arc, r: float, near: float) -> bool:
    """Whether the disc's centre comes nearer than ``near`` to one piece on an arc of radius ``r``.

    The distance from the arc to a convex piece is least at an end, where the arc points at a vertex, where
    it points along an edge's normal, or inside the piece.  No arc of a quarter turn can pass through a
    piece with both its ends a radius away, so the middle of the arc is tried too.
    """
    cx, cy, ux, uy, tx, ty = arc.cx, arc.cy, arc.ux, arc.uy, arc.tx, arc.ty
    mx, my = ux + tx, uy + ty
    length = math.hypot(mx, my)
    if length > _HALF_TURN:
        mx, my = mx / length, my / length
    else:
        mx, my = -arc.sense * uy, arc.sense * ux
    if (
        point_distance(vert, first, last, cx + r * ux, cy + r * uy) < near
        or point_distance(vert, first, last, cx + r * tx, cy + r * ty) < near
        or point_distance(vert, first, last, cx + r * mx, cy + r * my) < near
    ):
        return True
    for i in range(first, last):
        x, y = vert[i, X] - cx, vert[i, Y] - cy
        length = math.hypot(x, y)
        if length > 0.0:
            x, y = x / length, y / length
            if _in_arc(arc, x, y) and point_distance(vert, first, last, cx + r * x, cy + r * y) < near:
                return True
        x, y = -vert[i, NORMAL_X], -vert[i, NORMAL_Y]
        if _in_arc(arc, x, y) and point_distance(vert, first, last, cx + r * x, cy + r * y) < near:
            return True
    return False


@bare_entry
def segment_blocker(s: Arrays, px: float, py: float, qx: float, qy: float, r: float, tol: float) -> int:
    """The first piece that the disc would sink into from p to q, or -1."""
    vert, box, span, line = s.vert, s.box, s.span, Segment(px, py, qx, qy)
    low_x, high_x = min(px, qx) - r, max(px, qx) + r
    low_y, high_y = min(py, qy) - r, max(py, qy) + r
    for m in range(len(span)):
        if (
            low_x >= box[m, EAST]
            or high_x <= box[m, WEST]
            or low_y >= box[m, NORTH]
            or high_y <= box[m, SOUTH]
        ):
            continue
        if hits(vert, span[m, FIRST], span[m, END], line, r, tol):
            return m
    return -1


@bare_entry
def arc_blocker(s: Arrays, arc: Arc, r: float, tol: float) -> int:
    """The first piece that the disc would sink into on an arc of radius ``r``, or -1."""
    vert, ball, span = s.vert, s.ball, s.span
    for m in range(len(span)):
        wx, wy = ball[m, X] - arc.cx, ball[m, Y] - arc.cy
        reach = ball[m, RADIUS] + 2.0 * r
        if wx * wx + wy * wy < reach * reach and arc_hits(
            vert, span[m, FIRST], span[m, END], arc, r, r - tol
        ):
            return m
    return -1


@bare
def mark(obstacle: int) -> int:
    """The bit that stands for an obstacle in a set of them; shared from the 65th on."""
    return 1 << (obstacle % MOST_MARKS)


@bare
def blockers(
    s: Arrays, line: Segment, turns: bool, arc: Arc, r: float, tol: float, joined: Ints, justify: bool
) -> tuple[int, bool, int]:
    """What the disc would sink into along ``line``, or where it ``turns``, on the arc before that.

    Returns (obstacle, whether there is one, set of obstacles by ``mark``): one that has joined where there
    is one, else the first.  With ``justify`` the set is of all that block; without, only that there is one
    counts.  In a scene of more obstacles than marks the set has only the one returned, as bits are shared.
    """
    vert, box, ball, span = s.vert, s.box, s.ball, s.span
    low_x, high_x = min(line.px, line.qx) - r, max(line.px, line.qx) + r
    low_y, high_y = min(line.py, line.qy) - r, max(line.py, line.qy) + r
    owner, found = -1, 0
    for m in range(len(span)):
        this = span[m, OWNER]
        shut = (
            low_x < box[m, EAST]
            and high_x > box[m, WEST]
            and low_y < box[m, NORTH]
            and high_y > box[m, SOUTH]
            and hits(vert, span[m, FIRST], span[m, END], line, r, tol)
        )
        if not shut and turns:
            wx, wy = ball[m, X] - arc.cx, ball[m, Y] - arc.cy
            reach = ball[m, RADIUS] + 2.0 * r
            shut = wx * wx + wy * wy < reach * reach and arc_hits(
                vert, span[m, FIRST], span[m, END], arc, r, r - tol
            )
        if shut:
            found |= mark(this)
            if owner < 0 or (joined[this] != 0 and joined[owner] == 0):
                owner = this
            if joined[owner] != 0 and not justify:
                break
    if owner >= 0 and len(s.first) > MOST_MARKS + 1:
        found = mark(owner)
    return owner, owner >= 0, found
