"""Compiled shortest paths of a disc among convex obstacles.

The walker is a disc of radius ``r``; its centre may come within ``r`` of an obstacle, touching.
A shortest path of the centre is made of straight segments and of arcs of radius ``r`` about
convex corners of the obstacles, each segment tangent to the arcs at its ends (the tangent
visibility graph of curved obstacles).  Nothing is rounded to a grid and no arc becomes a polygon:
lengths are those of the true arcs.

The graph is never built.  A* starts with the straight line; an edge is tested against every
obstacle only when it reaches the top of the heap, and the obstacle that blocks it then joins the
search with its corners.  An obstacle that never blocked an edge worth trying plays no part.  This is
exact: every edge that was thrown away is blocked by an obstacle that has joined, so the search is an
A* on the problem with the joined obstacles alone, whose shortest path can't be longer than the
true one, and the path it returns is clear of all of them.

Flat arrays (``Arrays``) describe a scene, so that other compiled code can call ``search``:

- ``vert`` (n, 5): vertices of convex pieces, counter-clockwise: x, y, then the outward unit normal of
the edge that
  leaves the vertex and that edge's offset (normal . vertex).  A wall is a piece of two vertices.
- ``ball`` (m, 3): a circle round each piece: x, y, radius.
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
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_DIRECTION_SLACK = 1e-9
"""Sine of the angle by which a tangent may leave a corner's cone: rounding, not geometry."""


Found = tuple[float, int, Floats, Ints, Ints]
"""What ``search`` returns: length, last edge, the two tables of edges, the corners that joined."""


class Arrays(NamedTuple):
    """A scene as flat arrays; see the module's text."""

    vert: Floats
    ball: Floats
    span: Ints
    corner: Floats
    first: Ints


@njit(cache=True, nogil=True, error_model="numpy")
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


@njit(cache=True, nogil=True, error_model="numpy")
def _hits(
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
    if apart < 0.0:
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


@njit(cache=True, nogil=True, error_model="numpy")
def _point_distance(vert: Floats, first: int, last: int, px: float, py: float) -> float:
    """Distance from a point to a piece; inside it, minus the depth."""
    outside = -math.inf
    for i in range(first, last):
        outside = max(outside, px * vert[i, 2] + py * vert[i, 3] - vert[i, 4])
    if outside < 0.0:
        return outside
    best = math.inf
    for i in range(first, last):
        j = i + 1 if i + 1 < last else first
        best = min(best, _point_segment2(px, py, vert[i, 0], vert[i, 1], vert[j, 0], vert[j, 1]))
    return math.sqrt(best)


@njit(cache=True, nogil=True, error_model="numpy")
def _in_arc(ux: float, uy: float, tx: float, ty: float, o: float, x: float, y: float) -> bool:
    """Whether direction (x, y) lies on the arc from u to t, at most a half turn, turning by ``o``."""
    return o * (ux * y - uy * x) >= 0.0 and o * (x * ty - y * tx) >= 0.0


@njit(cache=True, nogil=True, error_model="numpy")
def _arc_hits(
    vert: Floats, first: int, last: int, cx: float, cy: float, r: float,
    ux: float, uy: float, tx: float, ty: float, o: float, near: float,
) -> bool:  # fmt: skip
    """Whether the disc's centre comes nearer than ``near`` to one piece while it turns about c.

    The centre runs from c + r u to c + r t, counter-clockwise for ``o`` = 1, at most a half turn.
    The distance from the arc to a convex piece is least at an end, where the arc points at a vertex,
    where it points along an edge's normal, or inside the piece; no arc of a quarter turn can pass
    through a piece with both its ends a radius away, so the middle of the arc is tried too.
    """
    mx, my = ux + tx, uy + ty
    length = math.hypot(mx, my)
    if length > 1e-6:
        mx, my = mx / length, my / length
    else:
        mx, my = -o * uy, o * ux
    if (
        _point_distance(vert, first, last, cx + r * ux, cy + r * uy) < near
        or _point_distance(vert, first, last, cx + r * tx, cy + r * ty) < near
        or _point_distance(vert, first, last, cx + r * mx, cy + r * my) < near
    ):
        return True
    for i in range(first, last):
        x, y = vert[i, 0] - cx, vert[i, 1] - cy
        length = math.hypot(x, y)
        if length > 0.0:
            x, y = x / length, y / length
            if (
                _in_arc(ux, uy, tx, ty, o, x, y)
                and _point_distance(vert, first, last, cx + r * x, cy + r * y) < near
            ):
                return True
        x, y = -vert[i, 2], -vert[i, 3]
        if (
            _in_arc(ux, uy, tx, ty, o, x, y)
            and _point_distance(vert, first, last, cx + r * x, cy + r * y) < near
        ):
            return True
    return False


@njit(cache=True, nogil=True, error_model="numpy")
def segment_blocker(s: Arrays, px: float, py: float, qx: float, qy: float, r: float, tol: float) -> int:
    """The first piece that the disc would sink into from p to q, or -1."""
    vert, ball, span = s.vert, s.ball, s.span
    dx, dy = qx - px, qy - py
    length2 = dx * dx + dy * dy
    inv = 1.0 / length2 if length2 > 0.0 else 0.0
    for m in range(len(span)):
        wx, wy = ball[m, 0] - px, ball[m, 1] - py
        t = min(1.0, max(0.0, (wx * dx + wy * dy) * inv))
        wx, wy = wx - t * dx, wy - t * dy
        reach = ball[m, 2] + r
        if wx * wx + wy * wy < reach * reach and _hits(
            vert, span[m, 0], span[m, 1], px, py, qx, qy, r, tol
        ):
            return m
    return -1


@njit(cache=True, nogil=True, error_model="numpy")
def arc_blocker(
    s: Arrays, cx: float, cy: float, r: float,
    ux: float, uy: float, tx: float, ty: float, o: float, tol: float,
) -> int:  # fmt: skip
    """The first piece that the disc would sink into while turning about c, or -1."""
    vert, ball, span = s.vert, s.ball, s.span
    for m in range(len(span)):
        wx, wy = ball[m, 0] - cx, ball[m, 1] - cy
        reach = ball[m, 2] + 2.0 * r
        if wx * wx + wy * wy < reach * reach and _arc_hits(
            vert, span[m, 0], span[m, 1], cx, cy, r, ux, uy, tx, ty, o, r - tol
        ):
            return m
    return -1


@njit(cache=True, nogil=True, error_model="numpy")
def _in_cone(s: Arrays, k: int, ux: float, uy: float, length: float, tol: float) -> bool:
    """Whether a line of ``length`` metres may leave or reach corner ``k`` at direction u from it.

    Its far end may have sunk into the face beside the corner by up to ``tol``: the line then leans over the
    edge of the cone by as much.  Whether it sinks too far is tested later, with everything else.
    """
    slack = max(_DIRECTION_SLACK, tol / max(length, 10.0 * tol))
    return bool(
        s.corner[k, 2] * uy - s.corner[k, 3] * ux >= -slack
        and ux * s.corner[k, 5] - uy * s.corner[k, 4] >= -slack
    )


@njit(cache=True, nogil=True, error_model="numpy")
def _tangent(dx: float, dy: float, lift: float, o: float, tol: float) -> tuple[float, float, float]:
    """Unit vector of a common tangent and its length.

    ``d`` joins the centres; ``lift`` is how far the tangent changes side on the way: 0 between
    corners turned the same way, 2 r between corners turned opposite ways, r from a corner to a point,
    -r from a point to a corner; ``o`` is the sense of turn at the corner it leaves (or, from a point,
    reaches).
    Discs that overlap by no more than ``tol`` touch.  Length -1 says there is no tangent.
    """
    d2 = dx * dx + dy * dy
    if d2 <= 0.0:
        return 0.0, 0.0, -1.0
    rest = d2 - lift * lift
    if rest < 0.0:
        d = math.sqrt(d2)
        if abs(lift) - d > tol:
            return 0.0, 0.0, -1.0
        w = math.copysign(1.0 / d, o * lift)
        return -dy * w, dx * w, 0.0
    length = math.sqrt(rest)
    # The direct line turned by the angle whose sine is lift / |d|.
    c, w = length / d2, o * lift / d2
    return dx * c - dy * w, dx * w + dy * c, length


@njit(cache=True, nogil=True, error_model="numpy")
def _sift_up(key: Floats, item: Ints, at: int) -> None:
    k, v = key[at], item[at]
    while at > 0:
        up = (at - 1) // 2
        if key[up] <= k:
            break
        key[at], item[at] = key[up], item[up]
        at = up
    key[at], item[at] = k, v


@njit(cache=True, nogil=True, error_model="numpy")
def _sift_down(key: Floats, item: Ints, size: int) -> None:
    k, v = key[0], item[0]
    at = 0
    while True:
        low = 2 * at + 1
        if low >= size:
            break
        if low + 1 < size and key[low + 1] < key[low]:
            low += 1
        if key[low] >= k:
            break
        key[at], item[at] = key[low], item[low]
        at = low
    key[at], item[at] = k, v


# An edge tried or to be tried: columns of the two tables that the search fills.
# floats: f, g at arrival, arrival direction ux uy, start sx sy, end ex ey, departure direction wx wy
F, G, UX, UY, SX, SY, EX, EY, WX, WY = range(10)
# integers: edge before, local corner (-1 the target), sense of turn there, next accepted at that
# corner and sense
BEFORE, CORNER, SENSE, NEXT = range(4)


@njit(cache=True, nogil=True, error_model="numpy")
def _push(
    ef: Floats, ei: Ints, heap: Floats, item: Ints, size: Ints,
    before: int, corner: int, sense: int, f: float, g: float,
) -> int:  # fmt: skip
    """Put a new edge on the heap; its number."""
    e = size[0]
    size[0] = e + 1
    ef[e, F], ef[e, G] = f, g
    ei[e, BEFORE], ei[e, CORNER], ei[e, SENSE], ei[e, NEXT] = before, corner, sense, -1
    h = size[1]
    size[1] = h + 1
    heap[h], item[h] = f, e
    _sift_up(heap, item, h)
    return int(e)


@njit(cache=True, nogil=True, error_model="numpy")
def _leave(
    s: Arrays, active: Ints, ef: Floats, ei: Ints, before: int,
    tx: float, ty: float, length: float, r: float, tol: float,
) -> tuple[float, float, float, float, float]:  # fmt: skip
    """Leave the corner at which edge ``before`` ends along (tx, ty).

    Returns the point of departure, the direction from the corner to it and the arc walked to get
    there; the arc is
    -1 when the turn would be outside the corner's cone or against its sense.
    """
    k = active[ei[before, CORNER]]
    o = float(ei[before, SENSE])
    wx, wy = o * ty, -o * tx
    if not _in_cone(s, k, wx, wy, length, tol):
        return 0.0, 0.0, 0.0, 0.0, -1.0
    ux, uy = ef[before, UX], ef[before, UY]
    turn = o * (ux * wy - uy * wx)
    if turn < -_DIRECTION_SLACK:
        return 0.0, 0.0, 0.0, 0.0, -1.0
    angle = math.atan2(max(0.0, turn), ux * wx + uy * wy)
    return s.corner[k, 0] + r * wx, s.corner[k, 1] + r * wy, wx, wy, r * angle


@njit(cache=True, nogil=True, error_model="numpy")
def _try_target(
    s: Arrays, active: Ints, ef: Floats, ei: Ints, heap: Floats, item: Ints, size: Ints,
    before: int, qx: float, qy: float, r: float, tol: float,
) -> None:  # fmt: skip
    """Queue the edge from the end of ``before`` to the target."""
    k = active[ei[before, CORNER]]
    tx, ty, length = _tangent(qx - s.corner[k, 0], qy - s.corner[k, 1], r, float(ei[before, SENSE]), tol)
    if length < 0.0:
        return
    sx, sy, wx, wy, arc = _leave(s, active, ef, ei, before, tx, ty, length, r, tol)
    if arc < 0.0:
        return
    g = ef[before, G] + arc + length
    e = _push(ef, ei, heap, item, size, before, -1, 0, g, g)
    ef[e, SX], ef[e, SY], ef[e, EX], ef[e, EY], ef[e, WX], ef[e, WY] = sx, sy, qx, qy, wx, wy


@njit(cache=True, nogil=True, error_model="numpy")
def _try_corner(
    s: Arrays, active: Ints, ef: Floats, ei: Ints, heap: Floats, item: Ints, size: Ints,
    before: int, j: int, o: int, px: float, py: float, qx: float, qy: float, r: float, tol: float,
) -> None:  # fmt: skip
    """Queue the edge from the end of ``before`` (-1: the start p) to local corner ``j`` in sense ``o``."""
    k = active[j]
    if before < 0:
        tx, ty, length = _tangent(s.corner[k, 0] - px, s.corner[k, 1] - py, -r, float(o), tol)
        sx, sy, wx, wy, arc, g = px, py, 0.0, 0.0, 0.0, 0.0
    else:
        i = active[ei[before, CORNER]]
        lift = 0.0 if ei[before, SENSE] == o else 2.0 * r
        tx, ty, length = _tangent(s.corner[k, 0] - s.corner[i, 0], s.corner[k, 1] - s.corner[i, 1],
        lift, float(ei[before, SENSE]), tol)
        g = ef[before, G]
    if length < 0.0 or not _in_cone(s, k, o * ty, -o * tx, length, tol):
        return
    if before >= 0:
        sx, sy, wx, wy, arc = _leave(s, active, ef, ei, before, tx, ty, length, r, tol)
        if arc < 0.0:
            return
    ux, uy = o * ty, -o * tx
    ex, ey = s.corner[k, 0] + r * ux, s.corner[k, 1] + r * uy
    g += arc + length
    e = _push(ef, ei, heap, item, size, before, j, o, g + math.hypot(qx - ex, qy - ey), g)
    ef[e, UX], ef[e, UY], ef[e, WX], ef[e, WY] = ux, uy, wx, wy
    ef[e, SX], ef[e, SY], ef[e, EX], ef[e, EY] = sx, sy, ex, ey


@njit(cache=True, nogil=True, error_model="numpy")
def _edge_blocker(
    s: Arrays, active: Ints, ef: Floats, ei: Ints, e: int, r: float, tol: float
) -> tuple[int, int]:
    """The piece that blocks edge ``e``, or -1; and 1 where its segment is to blame, 0 its arc."""
    m = segment_blocker(s, ef[e, SX], ef[e, SY], ef[e, EX], ef[e, EY], r, tol)
    if m >= 0:
        return m, 1
    before = ei[e, BEFORE]
    if before >= 0 and r > 0.0:
        k = active[ei[before, CORNER]]
        ux, uy, wx, wy = ef[before, UX], ef[before, UY], ef[e, WX], ef[e, WY]
        if abs(ux - wx) + abs(uy - wy) > 1e-12:
            o = float(ei[before, SENSE])
            return arc_blocker(s, s.corner[k, 0], s.corner[k, 1], r, ux, uy, wx, wy, o, tol), 0
    return -1, 0


@njit(cache=True, nogil=True, error_model="numpy")
def _dominated(
    s: Arrays, active: Ints, ef: Floats, ei: Ints, first: int, e: int, r: float, tol: float
) -> bool:
    """Whether an edge accepted earlier at the same corner and sense can go on as edge ``e`` would, at
    no more cost.
    """
    k = active[ei[e, CORNER]]
    o = float(ei[e, SENSE])
    wx, wy = ef[e, UX], ef[e, UY]
    c = first
    while c >= 0:
        ux, uy = ef[c, UX], ef[c, UY]
        turn = o * (ux * wy - uy * wx)
        if turn >= -1e-12:
            angle = math.atan2(max(0.0, turn), ux * wx + uy * wy)
            if ef[c, G] + r * angle <= ef[e, G] and (
                angle < 1e-12 or arc_blocker(s, s.corner[k, 0], s.corner[k, 1], r, ux, uy, wx, wy, o, tol) < 0
            ):
                return True
        c = ei[c, NEXT]
    return False


@njit(cache=True, nogil=True, error_model="numpy")
def _room_for(
    ef: Floats, ei: Ints, heap: Floats, item: Ints, used: int, more: int
) -> tuple[Floats, Ints, Floats, Ints]:
    """The same tables, larger if ``more`` rows would not fit after ``used``."""
    cap = len(heap)
    if used + more <= cap:
        return ef, ei, heap, item
    cap = 2 * (used + more)
    ef2, ei2 = np.empty((cap, 10)), np.empty((cap, 4), np.int64)
    heap2, item2 = np.empty(cap), np.empty(cap, np.int64)
    n = len(heap)
    ef2[:n], ei2[:n], heap2[:n], item2[:n] = ef, ei, heap, item
    return ef2, ei2, heap2, item2


@njit(cache=True, nogil=True, error_model="numpy")
def search(
    s: Arrays, px: float, py: float, qx: float, qy: float, r: float, tol: float, limit: float, joined: Ints
) -> Found:
    """Shortest path of the centre of a disc of radius ``r`` from p to q.

    Returns its length (inf when there is none, or none up to ``limit``), the number of its last
    edge (-1 when there is none), the two tables of edges and the corners that joined (see ``trace``).
    ``joined`` (zeros, one an obstacle) is set to 1 for each obstacle that took part: the length
    stays right while none of these moves away and nothing new stands on the path.
    """
    ef, ei = np.empty((256, 10)), np.empty((256, 4), np.int64)
    heap, item = np.empty(256), np.empty(256, np.int64)
    size = np.zeros(2, np.int64)
    corners = len(s.corner)
    active = np.empty(corners, np.int64)
    heads = np.full(2 * corners, -1, np.int64)
    accepted = np.empty(64, np.int64)
    n_active, n_accepted = 0, 0
    g = math.hypot(qx - px, qy - py)
    e = _push(ef, ei, heap, item, size, -1, -1, 0, g, g)
    ef[e, SX], ef[e, SY], ef[e, EX], ef[e, EY], ef[e, WX], ef[e, WY] = px, py, qx, qy, 0.0, 0.0
    while size[1] > 0:
        e = item[0]
        if heap[0] > limit:
            break
        size[1] -= 1
        heap[0], item[0] = heap[size[1]], item[size[1]]
        if size[1] > 0:
            _sift_down(heap, item, size[1])
        j = ei[e, CORNER]
        slot = 2 * j + (1 if ei[e, SENSE] < 0 else 0)
        if j >= 0 and _dominated(s, active, ef, ei, heads[slot], e, r, tol):
            continue
        m, _ = _edge_blocker(s, active, ef, ei, e, r, tol)
        if m < 0 and j < 0:
            return ef[e, G], int(e), ef, ei, active[:n_active]
        if m < 0:
            if n_accepted == len(accepted):
                accepted = np.concatenate((accepted, accepted))
            accepted[n_accepted] = e
            n_accepted += 1
            ei[e, NEXT], heads[slot] = heads[slot], e
            ef, ei, heap, item = _room_for(ef, ei, heap, item, size[0], 2 * n_active + 1)
            _try_target(s, active, ef, ei, heap, item, size, e, qx, qy, r, tol)
            for k in range(n_active):
                if k != j:
                    _try_corner(s, active, ef, ei, heap, item, size, e, k, 1, px, py, qx, qy, r, tol)
                    _try_corner(s, active, ef, ei, heap, item, size, e, k, -1, px, py, qx, qy, r, tol)
            continue
        owner = s.span[m, 2]
        if joined[owner] != 0:
            continue
        joined[owner] = 1
        for c in range(s.first[owner], s.first[owner + 1]):
            active[n_active] = c
            ef, ei, heap, item = _room_for(ef, ei, heap, item, size[0], 2 * (n_accepted + 1))
            for o in (1, -1):
                _try_corner(s, active, ef, ei, heap, item, size, -1, n_active, o, px, py, qx, qy, r, tol)
                for a in range(n_accepted):
                    _try_corner(s, active, ef, ei, heap, item, size, accepted[a], n_active, o, px, py,
                    qx, qy, r, tol)
            n_active += 1
    return math.inf, -1, ef, ei, active[:n_active]


@njit(cache=True, nogil=True, error_model="numpy")
def matrix(s: Arrays, p: Floats, q: Floats, r: float, tol: float) -> Floats:
    """Shortest lengths between all points ``p`` (n, 2) and ``q`` (m, 2)."""
    out = np.empty((len(p), len(q)))
    joined = np.zeros(len(s.first) - 1, np.int64)
    for i in range(len(p)):
        for j in range(len(q)):
            joined[:] = 0
            out[i, j] = search(s, p[i, 0], p[i, 1], q[j, 0], q[j, 1], r, tol, math.inf, joined)[0]
    return out
