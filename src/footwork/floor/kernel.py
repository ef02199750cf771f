"""Compiled shortest paths of a disc among convex obstacles.

The walker is a disc of radius ``r``; its centre stays ``r`` away from every obstacle, touching allowed.
A shortest path of the centre is made of straight segments and of arcs of radius ``r`` about convex
corners of the obstacles, each segment tangent to the arcs at its ends (the tangent visibility graph of
curved obstacles).  Nothing is rounded to a grid and no arc becomes a polygon: lengths are those of the
true arcs.

The graph is never built.  A* starts with the straight line; an edge is tested against every obstacle
only when it reaches the top of the heap, and the obstacle that blocks it then joins the search with its
corners.  An obstacle that never blocked an edge worth trying plays no part.  This is exact: every edge
that was thrown away is blocked by an obstacle that has joined, so the search is an A* on the problem
with the joined obstacles alone.  The shortest path of that problem can't be longer than the true one,
and the path that is returned was tested against every obstacle, joined or not: it is the true one.

A scene is the flat arrays of ``contact.Arrays``, so that other compiled code can call ``search``.
All lengths are metres in the room's frame.
"""

from __future__ import annotations

import math

import numpy as np

from footwork.compiled.functions import bare, bare_unit, entry, unit
from footwork.floor.contact import Arrays, Floats, Ints, arc_blocker, blockers, mark, segment_blocker
from footwork.floor.desk import (
    BEFORE,
    CORNER,
    EX,
    EY,
    FULL,
    NEXT,
    SENSE,
    SX,
    SY,
    UX,
    UY,
    WX,
    WY,
    Desk,
    G,
    new_desk,
    note,
    pop,
    push,
    tables,
)

_DIRECTION_SLACK = 1e-9
"""Sine of the angle by which a tangent may leave a corner's cone: rounding, not geometry."""


Found = tuple[float, int, Floats, Ints, Ints]
"""What ``search`` returns: length, last edge, the two tables of edges, the corners that joined."""


@bare
def _in_cone(ax: float, ay: float, zx: float, zy: float, ux: float, uy: float, slack: float) -> bool:
    """Whether direction u lies in the cone from a counter-clockwise to z, at most a half turn."""
    return ax * uy - ay * ux >= -slack and ux * zy - uy * zx >= -slack


@bare
def _lean(length: float, tol: float) -> float:
    """How far a line of ``length`` from a corner to the start or target may leave the corner's cone.

    That end may have sunk by ``tol`` into the face beside the corner, and the line leans over by as much.
    Whether it sinks too far is tested later, with everything else.  The sine of an angle.
    """
    return max(_DIRECTION_SLACK, tol / max(length, 10.0 * tol))


@bare
def _tangent(dx: float, dy: float, lift: float, o: float, tol: float) -> tuple[float, float, float]:
    """Unit vector of a common tangent and its length.

    ``d`` joins the centres; ``lift`` is how far the tangent changes side on the way: 0 between corners
    turned the same way, 2 r between corners turned opposite ways, r from a corner to a point, -r from a
    point to a corner.  ``o`` is the sense of turn at the corner that the tangent leaves, or from a point
    the one that it reaches: 1 counter-clockwise, -1 clockwise.  Discs that overlap by no more than
    ``tol`` touch.  Length -1 says that there is no tangent.
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


@bare
def _leaves(
    ax: float, ay: float, zx: float, zy: float, ux: float, uy: float, wx: float, wy: float, o: float,
    slack: float,
) -> float:  # fmt: skip
    """Angle turned at a corner from direction u to direction w in sense ``o``.

    -1 when w lies outside the corner's cone (from a counter-clockwise to z) or behind u.
    """
    turn = o * (ux * wy - uy * wx)
    if turn < -_DIRECTION_SLACK or not _in_cone(ax, ay, zx, zy, wx, wy, slack):
        return -1.0
    return math.atan2(max(0.0, turn), ux * wx + uy * wy)


@bare
def _to_target(
    corner: Floats, active: Ints, ef: Floats, ei: Ints, heap: Floats, item: Ints, size: Ints,
    before: int, qx: float, qy: float, r: float, tol: float,
) -> None:  # fmt: skip
    """Queue the edge from the end of ``before`` to the target."""
    k = active[ei[before, CORNER]]
    cx, cy = corner[k, 0], corner[k, 1]
    o = float(ei[before, SENSE])
    tx, ty, length = _tangent(qx - cx, qy - cy, r, o, tol)
    if length < 0.0:
        return
    wx, wy = o * ty, -o * tx
    ax, ay, zx, zy = corner[k, 2], corner[k, 3], corner[k, 4], corner[k, 5]
    angle = _leaves(ax, ay, zx, zy, ef[before, UX], ef[before, UY], wx, wy, o, _lean(length, tol))
    if angle < 0.0:
        return
    g = ef[before, G] + r * angle + length
    e = push(ef, ei, heap, item, size, before, -1, 0, g, g)
    ef[e, SX], ef[e, SY], ef[e, EX], ef[e, EY] = cx + r * wx, cy + r * wy, qx, qy
    ef[e, WX], ef[e, WY] = wx, wy


@bare
def _from_start(
    corner: Floats, active: Ints, j: int, ef: Floats, ei: Ints, heap: Floats, item: Ints, size: Ints,
    px: float, py: float, qx: float, qy: float, r: float, tol: float,
) -> None:  # fmt: skip
    """Queue the edges from the start to local corner ``j``, in both senses."""
    k = active[j]
    cx, cy, ax, ay, zx, zy = (
        corner[k, 0],
        corner[k, 1],
        corner[k, 2],
        corner[k, 3],
        corner[k, 4],
        corner[k, 5],
    )
    for sense in (1, -1):
        o = float(sense)
        tx, ty, g = _tangent(cx - px, cy - py, -r, o, tol)
        ux, uy = o * ty, -o * tx
        if g < 0.0 or not _in_cone(ax, ay, zx, zy, ux, uy, _lean(g, tol)):
            continue
        ex, ey = cx + r * ux, cy + r * uy
        e = push(ef, ei, heap, item, size, -1, j, sense, g + math.hypot(qx - ex, qy - ey), g)
        ef[e, UX], ef[e, UY], ef[e, WX], ef[e, WY] = ux, uy, 0.0, 0.0
        ef[e, SX], ef[e, SY], ef[e, EX], ef[e, EY] = px, py, ex, ey


@bare
def _to_corners(
    corner: Floats, active: Ints, low: int, high: int, ef: Floats, ei: Ints, heap: Floats, item: Ints,
    size: Ints, before: int, qx: float, qy: float, r: float, tol: float,
) -> None:  # fmt: skip
    """Queue the edges from the end of ``before`` to local corners ``low`` to ``high``, in both senses."""
    i = ei[before, CORNER]
    h = active[i]
    hx, hy, ax, ay, zx, zy = (
        corner[h, 0],
        corner[h, 1],
        corner[h, 2],
        corner[h, 3],
        corner[h, 4],
        corner[h, 5],
    )
    o = float(ei[before, SENSE])
    ux, uy, gone = ef[before, UX], ef[before, UY], ef[before, G]
    for j in range(low, high):
        if j == i:
            continue
        k = active[j]
        kx, ky = corner[k, 0], corner[k, 1]
        for sense in (1, -1):
            lift = 0.0 if sense == o else 2.0 * r
            tx, ty, length = _tangent(kx - hx, ky - hy, lift, o, tol)
            nx, ny = sense * ty, -sense * tx
            if length < 0.0 or not _in_cone(
                corner[k, 2], corner[k, 3], corner[k, 4], corner[k, 5], nx, ny, _DIRECTION_SLACK
            ):
                continue
            wx, wy = o * ty, -o * tx
            angle = _leaves(ax, ay, zx, zy, ux, uy, wx, wy, o, _DIRECTION_SLACK)
            if angle < 0.0:
                continue
            ex, ey = kx + r * nx, ky + r * ny
            g = gone + r * angle + length
            e = push(ef, ei, heap, item, size, before, j, sense, g + math.hypot(qx - ex, qy - ey), g)
            ef[e, UX], ef[e, UY], ef[e, WX], ef[e, WY] = nx, ny, wx, wy
            ef[e, SX], ef[e, SY], ef[e, EX], ef[e, EY] = hx + r * wx, hy + r * wy, ex, ey


@bare
def _dominated(
    s: Arrays, corner: Floats, active: Ints, ef: Floats, ei: Ints, first: int, e: int, r: float, tol: float
) -> bool:
    """Whether an edge accepted earlier can go on as edge ``e`` would, at no more cost.

    ``first`` is the latest edge accepted at the same corner and sense; ``NEXT`` leads to those before it.
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
                angle < 1e-12 or arc_blocker(s, corner[k, 0], corner[k, 1], r, ux, uy, wx, wy, o, tol) < 0
            ):
                return True
        c = ei[c, NEXT]
    return False


@bare
def _blockers(
    s: Arrays, corner: Floats, active: Ints, ef: Floats, ei: Ints, e: int, r: float, tol: float, joined: Ints,
    every: bool,
) -> tuple[int, bool, int]:  # fmt: skip
    """What blocks edge ``e``, its segment or the arc before it; as ``contact.blockers``."""
    before = ei[e, BEFORE]
    cx, cy, ux, uy, wx, wy, o = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    if before >= 0 and r > 0.0:
        ux, uy, wx, wy = ef[before, UX], ef[before, UY], ef[e, WX], ef[e, WY]
        if abs(ux - wx) + abs(uy - wy) > 1e-12:
            k = active[ei[before, CORNER]]
            cx, cy, o = corner[k, 0], corner[k, 1], float(ei[before, SENSE])
    return blockers(
        s, ef[e, SX], ef[e, SY], ef[e, EX], ef[e, EY], cx, cy, ux, uy, wx, wy, o, r, tol, joined, every
    )


@entry
def search(
    s: Arrays, px: float, py: float, qx: float, qy: float, r: float, tol: float, limit: float, joined: Ints
) -> Found:
    """Shortest path of the centre of a disc of radius ``r`` from p to q: ``explore`` on a desk of its own.

    ``joined`` must be zeros.
    """
    return explore(s, px, py, qx, qy, r, tol, limit, joined, new_desk(s), False)


@unit
def explore(
    s: Arrays, px: float, py: float, qx: float, qy: float, r: float, tol: float, limit: float, joined: Ints,
    desk: Desk, every: bool,
) -> Found:  # fmt: skip
    """Shortest path of the centre of a disc of radius ``r`` from p to q.

    Returns its length (inf when there is none, or none up to ``limit``), the number of its last edge (-1
    when there is none), the two tables of edges (good until the desk is used again), and the corners that
    joined, from which ``scene.trace`` draws the path.  ``joined`` (zeros, one for each obstacle) is set to
    1 for each obstacle that took part.

    With ``every``, ``desk.sets`` says what the answer rests on.  Each edge that was tried and is blocked is
    blocked by a set of obstacles; a shorter path would have to use one that is blocked no more.  So the
    length stays right while the path stays clear, the obstacles of ``sets[1]`` stay where they are, and of
    each set ``sets[2:2 + sets[0]]`` one that joined does.  New obstacles can't open a way.
    """
    ef, ei, heap, item, accepted = desk.ef, desk.ei, desk.heap, desk.item, desk.accepted
    last, n_active = _run(
        s, px, py, qx, qy, r, tol, limit, joined, every,
        ef, ei, heap, item, accepted, desk.size, desk.active, desk.heads, desk.sets,
    )  # fmt: skip
    while last == FULL:
        joined[:] = 0
        ef, ei, heap, item, accepted = tables(8 * len(heap))
        last, n_active = _run(
            s, px, py, qx, qy, r, tol, limit, joined, every,
            ef, ei, heap, item, accepted, desk.size, desk.active, desk.heads, desk.sets,
        )  # fmt: skip
    return ef[last, G] if last >= 0 else math.inf, last, ef, ei, desk.active[:n_active]


@bare_unit
def _run(
    s: Arrays, px: float, py: float, qx: float, qy: float, r: float, tol: float, limit: float, joined: Ints,
    every: bool, ef: Floats, ei: Ints, heap: Floats, item: Ints, accepted: Ints, size: Ints, active: Ints,
    heads: Ints, sets: Ints,
) -> tuple[int, int]:  # fmt: skip
    """``explore`` on tables of a given size: the last edge (-1 none, FULL where they are too small) and
    how many corners have joined."""
    corner = s.corner
    n_active, n_accepted = 0, 0
    size[0], size[1], sets[0], sets[1] = 0, 0, 0, 0
    for x, y in ((px, py), (qx, qy)):
        m = segment_blocker(s, x, y, x, y, r, tol)
        if m >= 0:
            joined[s.span[m, 2]] = 1
            note(sets, mark(s.span[m, 2]), mark(s.span[m, 2]))
            return -1, 0
    g = math.hypot(qx - px, qy - py)
    e = push(ef, ei, heap, item, size, -1, -1, 0, g, g)
    ef[e, SX], ef[e, SY], ef[e, EX], ef[e, EY], ef[e, WX], ef[e, WY] = px, py, qx, qy, 0.0, 0.0
    while size[1] > 0 and heap[0] <= limit:
        e = pop(heap, item, size)
        j = ei[e, CORNER]
        slot = 2 * j + (1 if ei[e, SENSE] < 0 else 0)
        if j >= 0 and _dominated(s, corner, active, ef, ei, heads[slot], e, r, tol):
            continue
        owner, shut, by = _blockers(s, corner, active, ef, ei, e, r, tol, joined, every)
        if not shut and j < 0:
            return e, n_active
        if not shut:
            accepted[n_accepted] = e
            n_accepted += 1
            ei[e, NEXT], heads[slot] = heads[slot], e
            if size[0] + 2 * n_active + 1 > len(heap):
                return FULL, n_active
            _to_target(corner, active, ef, ei, heap, item, size, e, qx, qy, r, tol)
            _to_corners(corner, active, 0, n_active, ef, ei, heap, item, size, e, qx, qy, r, tol)
            continue
        if every:
            note(sets, by, mark(owner))
        if joined[owner] != 0:
            continue
        joined[owner] = 1
        fresh = n_active
        for c in range(s.first[owner], s.first[owner + 1]):
            active[n_active] = c
            heads[2 * n_active], heads[2 * n_active + 1] = -1, -1
            n_active += 1
        if size[0] + 2 * (n_accepted + 1) * (n_active - fresh) > len(heap):
            return FULL, n_active
        for j in range(fresh, n_active):
            _from_start(corner, active, j, ef, ei, heap, item, size, px, py, qx, qy, r, tol)
        for a in range(n_accepted):
            _to_corners(
                corner, active, fresh, n_active, ef, ei, heap, item, size, accepted[a], qx, qy, r, tol
            )
    return -1, n_active


@entry
def matrix(s: Arrays, p: Floats, q: Floats, r: float, tol: float) -> Floats:
    """Shortest lengths between all points ``p`` (n, 2) and ``q`` (m, 2): shape (n, m), inf for no way."""
    out = np.empty((len(p), len(q)))
    joined, desk = np.zeros(len(s.first) - 1, np.int64), new_desk(s)
    for i in range(len(p)):
        for j in range(len(q)):
            joined[:] = 0
            found = explore(s, p[i, 0], p[i, 1], q[j, 0], q[j, 1], r, tol, math.inf, joined, desk, False)
            out[i, j] = found[0]
    return out
