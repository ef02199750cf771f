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

A scene is the flat arrays of ``contact.Arrays``, so that other compiled code can call ``explore``.
All lengths are metres in the room's frame.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from footwork.compiled.functions import bare, bare_unit, entry, unit
from footwork.floor.contact import (
    AX,
    AY,
    OWNER,
    ZX,
    ZY,
    Arc,
    Arrays,
    Floats,
    Ints,
    Segment,
    X,
    Y,
    arc_blocker,
    blockers,
    mark,
    segment_blocker,
)  # fmt: skip
from footwork.floor.desk import (
    BEFORE,
    CORNER,
    EX,
    EY,
    FULL,
    MADE,
    NEXT,
    SENSE,
    SX,
    SY,
    UX,
    UY,
    WAITING,
    WX,
    WY,
    Desk,
    Edges,
    G,
    head_of,
    new_desk,
    new_edges,
    note,
    pop,
    push,
)  # fmt: skip

_DIRECTION_SLACK = 1e-9
"""Sine of the angle by which a tangent may leave a corner's cone: rounding, not geometry."""
_SAME_DIRECTION = 1e-12
"""Angle below which two directions are one: no arc lies between them that could be blocked."""
_SENSES = (1, -1)
"""Senses of turn, counter-clockwise first."""


class Query(NamedTuple):
    """What is asked: the shortest path of the centre of a disc of radius ``r`` from p to q.

    ``tol``: how far the disc may sink into an obstacle and still only touch it; ``limit``: the greatest
    length that is wanted.  A plain named tuple, handed on by value.
    """

    px: float
    py: float
    qx: float
    qy: float
    r: float
    tol: float
    limit: float


class Cone(NamedTuple):
    """Directions from the unit vector a counter-clockwise to the unit vector z, at most a half turn."""

    ax: float
    ay: float
    zx: float
    zy: float


AT, TURN, U_X, U_Y, W_X, W_Y, S_X, S_Y, E_X, E_Y, GONE = range(11)
"""Columns of the edges of a path (``way``): the corner turned before each (-1: none) and the sense of the
turn, directions of arrival there and of departure, start and end of the straight part, length so far."""


@bare
def _in_cone(cone: Cone, ux: float, uy: float, slack: float) -> bool:
    """Whether direction u lies in a cone."""
    return cone.ax * uy - cone.ay * ux >= -slack and ux * cone.zy - uy * cone.zx >= -slack


@bare
def _cone_of(corner: Floats, k: int) -> Cone:
    """The cone of outward directions of a corner."""
    return Cone(corner[k, AX], corner[k, AY], corner[k, ZX], corner[k, ZY])


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
def _leaves(cone: Cone, ux: float, uy: float, wx: float, wy: float, o: float, slack: float) -> float:
    """Angle turned at a corner from direction u to direction w in sense ``o``.

    -1 when w lies outside the corner's cone or behind u.
    """
    turn = o * (ux * wy - uy * wx)
    if turn < -_DIRECTION_SLACK or not _in_cone(cone, wx, wy, slack):
        return -1.0
    return math.atan2(max(0.0, turn), ux * wx + uy * wy)


@bare
def _to_target(s: Arrays, query: Query, desk: Desk, edges: Edges, before: int) -> None:
    """Queue the edge from the end of ``before`` to the target."""
    figure, corner = edges.figure, s.corner
    k = desk.corners[edges.link[before, CORNER]]
    cx, cy = corner[k, X], corner[k, Y]
    o = float(edges.link[before, SENSE])
    tx, ty, length = _tangent(query.qx - cx, query.qy - cy, query.r, o, query.tol)
    if length < 0.0:
        return
    wx, wy = o * ty, -o * tx
    slack = _lean(length, query.tol)
    angle = _leaves(_cone_of(corner, k), figure[before, UX], figure[before, UY], wx, wy, o, slack)
    if angle < 0.0:
        return
    g = figure[before, G] + query.r * angle + length
    e = push(edges, before, -1, 0, g, g)
    figure[e, SX], figure[e, SY] = cx + query.r * wx, cy + query.r * wy
    figure[e, EX], figure[e, EY] = query.qx, query.qy
    figure[e, WX], figure[e, WY] = wx, wy


@bare
def _from_start(s: Arrays, query: Query, desk: Desk, edges: Edges, j: int) -> None:
    """Queue the edges from the start to the ``j``-th corner that joined, in both senses."""
    figure, corner, k = edges.figure, s.corner, desk.corners[j]
    px, py, r = query.px, query.py, query.r
    cx, cy, cone = corner[k, X], corner[k, Y], _cone_of(corner, k)
    for sense in _SENSES:
        o = float(sense)
        tx, ty, g = _tangent(cx - px, cy - py, -r, o, query.tol)
        ux, uy = o * ty, -o * tx
        if g < 0.0 or not _in_cone(cone, ux, uy, _lean(g, query.tol)):
            continue
        ex, ey = cx + r * ux, cy + r * uy
        e = push(edges, -1, j, sense, g + math.hypot(query.qx - ex, query.qy - ey), g)
        figure[e, UX], figure[e, UY], figure[e, WX], figure[e, WY] = ux, uy, 0.0, 0.0
        figure[e, SX], figure[e, SY], figure[e, EX], figure[e, EY] = px, py, ex, ey


@bare
def _to_corners(s: Arrays, query: Query, desk: Desk, edges: Edges, low: int, high: int, before: int) -> None:
    """Queue the edges from the end of ``before`` to corners ``low`` to ``high`` of those that joined, in both
    senses."""
    figure, corner, corners = edges.figure, s.corner, desk.corners
    qx, qy, r, tol = query.qx, query.qy, query.r, query.tol
    i = edges.link[before, CORNER]
    h = corners[i]
    hx, hy, cone = corner[h, X], corner[h, Y], _cone_of(corner, h)
    o = float(edges.link[before, SENSE])
    ux, uy, gone = figure[before, UX], figure[before, UY], figure[before, G]
    for j in range(low, high):
        if j == i:
            continue
        k = corners[j]
        kx, ky = corner[k, X], corner[k, Y]
        for sense in _SENSES:
            lift = 0.0 if sense == o else 2.0 * r
            tx, ty, length = _tangent(kx - hx, ky - hy, lift, o, tol)
            nx, ny = sense * ty, -sense * tx
            if length < 0.0 or not _in_cone(_cone_of(corner, k), nx, ny, _DIRECTION_SLACK):
                continue
            wx, wy = o * ty, -o * tx
            angle = _leaves(cone, ux, uy, wx, wy, o, _DIRECTION_SLACK)
            if angle < 0.0:
                continue
            ex, ey = kx + r * nx, ky + r * ny
            g = gone + r * angle + length
            e = push(edges, before, j, sense, g + math.hypot(qx - ex, qy - ey), g)
            figure[e, UX], figure[e, UY], figure[e, WX], figure[e, WY] = nx, ny, wx, wy
            figure[e, SX], figure[e, SY], figure[e, EX], figure[e, EY] = hx + r * wx, hy + r * wy, ex, ey


@bare
def _dominated(s: Arrays, query: Query, desk: Desk, edges: Edges, e: int) -> bool:
    """Whether an edge accepted earlier can go on as edge ``e`` would, at no more cost."""
    figure, link, r = edges.figure, edges.link, query.r
    j, sense = link[e, CORNER], link[e, SENSE]
    k, o = desk.corners[j], float(sense)
    cx, cy = s.corner[k, X], s.corner[k, Y]
    wx, wy = figure[e, UX], figure[e, UY]
    c = desk.heads[head_of(j, sense)]
    while c >= 0:
        ux, uy = figure[c, UX], figure[c, UY]
        turn = o * (ux * wy - uy * wx)
        if turn >= -_SAME_DIRECTION:
            angle = math.atan2(max(0.0, turn), ux * wx + uy * wy)
            if figure[c, G] + r * angle <= figure[e, G] and (
                angle < _SAME_DIRECTION or arc_blocker(s, Arc(cx, cy, ux, uy, wx, wy, o), r, query.tol) < 0
            ):
                return True
        c = link[c, NEXT]
    return False


@bare
def _blockers(
    s: Arrays, query: Query, desk: Desk, edges: Edges, e: int, joined: Ints, justify: bool
) -> tuple[int, bool, int]:
    """What blocks edge ``e``, its segment or the arc before it; as ``contact.blockers``."""
    figure, link = edges.figure, edges.link
    before = link[e, BEFORE]
    turns, arc = False, Arc(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    if before >= 0 and query.r > 0.0:
        ux, uy, wx, wy = figure[before, UX], figure[before, UY], figure[e, WX], figure[e, WY]
        if abs(ux - wx) + abs(uy - wy) > _SAME_DIRECTION:
            k = desk.corners[link[before, CORNER]]
            turns = True
            arc = Arc(s.corner[k, X], s.corner[k, Y], ux, uy, wx, wy, float(link[before, SENSE]))
    line = Segment(figure[e, SX], figure[e, SY], figure[e, EX], figure[e, EY])
    return blockers(s, line, turns, arc, query.r, query.tol, joined, justify)


@entry
def way(s: Arrays, px: float, py: float, qx: float, qy: float, r: float, tol: float) -> Floats:
    """The edges of the shortest path from p to q, from the first to the last (n, 11); none without a way."""
    desk, joined = new_desk(s), np.zeros(len(s.first) - 1, np.int64)
    _, last, edges = explore(s, Query(px, py, qx, qy, r, tol, math.inf), joined, desk, False)
    figure, link = edges.figure, edges.link
    count, e = 0, last
    while e >= 0:
        count, e = count + 1, link[e, BEFORE]
    out, e = np.zeros((count, 11)), last
    for k in range(count - 1, -1, -1):
        before = link[e, BEFORE]
        out[k, AT] = -1.0
        if before >= 0:
            out[k, AT], out[k, TURN] = desk.corners[link[before, CORNER]], link[before, SENSE]
            out[k, U_X], out[k, U_Y] = figure[before, UX], figure[before, UY]
            out[k, W_X], out[k, W_Y] = figure[e, WX], figure[e, WY]
        out[k, S_X], out[k, S_Y], out[k, E_X], out[k, E_Y] = (
            figure[e, SX], figure[e, SY], figure[e, EX], figure[e, EY],
        )  # fmt: skip
        out[k, GONE] = figure[e, G]
        e = before
    return out


@unit
def explore(s: Arrays, query: Query, joined: Ints, desk: Desk, justify: bool) -> tuple[float, int, Edges]:
    """The shortest path that ``query`` asks for.

    Returns its length (inf when there is none, or none up to ``limit``), the number of its last edge (-1
    when there is none), and the edges (good until the desk is used again).  ``joined`` (zeros, one for each
    obstacle) is set to 1 for each obstacle that took part.

    With ``justify``, ``desk.why`` says what the answer rests on.  Each edge that was tried and is blocked is
    blocked by a set of obstacles; a shorter path would have to use one that is blocked no more.  So the
    length stays right while the path stays clear, all obstacles of ``all_of`` stay where they are, and of
    each set of ``one_of`` one that joined does.  New obstacles can't open a way.
    """
    edges = desk.edges
    last = _run(s, query, joined, desk, edges, justify)
    while last == FULL:
        joined[:] = 0
        edges = new_edges(8 * len(edges.key))
        last = _run(s, query, joined, desk, edges, justify)
    return edges.figure[last, G] if last >= 0 else math.inf, last, edges


@bare_unit
def _run(s: Arrays, query: Query, joined: Ints, desk: Desk, edges: Edges, justify: bool) -> int:
    """``explore`` on given tables of edges: the last edge, -1 none, ``FULL`` where they are too small."""
    px, py, qx, qy = query.px, query.py, query.qx, query.qy
    figure, link, count, accepted = edges.figure, edges.link, edges.count, edges.accepted
    heads, why = desk.heads, desk.why
    n_active, n_accepted = 0, 0
    count[MADE], count[WAITING], why.sets[0], why.all_of[0] = 0, 0, 0, 0
    for x, y in ((px, py), (qx, qy)):
        m = segment_blocker(s, x, y, x, y, query.r, query.tol)
        if m >= 0:
            joined[s.span[m, OWNER]] = 1
            note(why, mark(s.span[m, OWNER]), mark(s.span[m, OWNER]))
            return -1
    g = math.hypot(qx - px, qy - py)
    e = push(edges, -1, -1, 0, g, g)
    figure[e, SX], figure[e, SY], figure[e, EX], figure[e, EY] = px, py, qx, qy
    figure[e, WX], figure[e, WY] = 0.0, 0.0
    while count[WAITING] > 0 and edges.key[0] <= query.limit:
        e = pop(edges)
        j = link[e, CORNER]
        if j >= 0 and _dominated(s, query, desk, edges, e):
            continue
        owner, shut, by = _blockers(s, query, desk, edges, e, joined, justify)
        if not shut and j < 0:
            return e
        if not shut:
            accepted[n_accepted] = e
            n_accepted += 1
            head = head_of(j, link[e, SENSE])
            link[e, NEXT], heads[head] = heads[head], e
            if count[MADE] + 2 * n_active + 1 > len(edges.key):
                return FULL
            _to_target(s, query, desk, edges, e)
            _to_corners(s, query, desk, edges, 0, n_active, e)
            continue
        if justify:
            note(why, by, mark(owner))
        if joined[owner] != 0:
            continue
        joined[owner] = 1
        fresh = n_active
        for c in range(s.first[owner], s.first[owner + 1]):
            desk.corners[n_active] = c
            heads[head_of(n_active, 1)], heads[head_of(n_active, -1)] = -1, -1
            n_active += 1
        if count[MADE] + 2 * (n_accepted + 1) * (n_active - fresh) > len(edges.key):
            return FULL
        for j in range(fresh, n_active):
            _from_start(s, query, desk, edges, j)
        for a in range(n_accepted):
            _to_corners(s, query, desk, edges, fresh, n_active, accepted[a])
    return -1


@entry
def shortest(s: Arrays, px: float, py: float, qx: float, qy: float, r: float, tol: float) -> float:
    """Length of the shortest path from p to q, inf when there is none."""
    joined = np.zeros(len(s.first) - 1, np.int64)
    length, _, _ = explore(s, Query(px, py, qx, qy, r, tol, math.inf), joined, new_desk(s), False)
    return length


@entry
def matrix(s: Arrays, p: Floats, q: Floats, r: float, tol: float) -> Floats:
    """Shortest lengths between all points ``p`` (n, 2) and ``q`` (m, 2): shape (n, m), inf for no way."""
    out = np.empty((len(p), len(q)))
    joined, desk = np.zeros(len(s.first) - 1, np.int64), new_desk(s)
    for i in range(len(p)):
        for j in range(len(q)):
            joined[:] = 0
            query = Query(p[i, X], p[i, Y], q[j, X], q[j, Y], r, tol, math.inf)
            length, _, _ = explore(s, query, joined, desk, False)
            out[i, j] = length
    return out
