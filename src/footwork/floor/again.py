"""Ways measured again after a move: compiled; what a move cannot have changed is not searched anew.

A search rests on the obstacles that joined it and on its path being clear of all others.  While none of those
that joined has moved, and nothing that moved stands in the path, its length stays what it is: the shortest
way among those that joined is as long as before, and it is still free.  What has no way among those that
joined has none among more.  Metres, in the room's frame.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from footwork.compiled.functions import bare, entry
from footwork.compiled.records import record
from footwork.floor.contact import (
    END,
    FIRST,
    OWNER,
    Arc,
    Arrays,
    Floats,
    Ints,
    Segment,
    X,
    Y,
    arc_hits,
    hits,
)
from footwork.floor.desk import BEFORE, CORNER, EX, EY, SENSE, SX, SY, UX, UY, WX, WY, Desk, Edges, new_desk
from footwork.floor.kernel import Query, explore

MOST_EDGES = 12
"""Edges of a path that are kept; of a longer one the search is done again after any move."""
EDGE = 11
"""Columns of ``Tracks.edge``: the ends of the straight part, then what is turned before it."""
_ARC = 4
"""The first column of the arc: those of ``contact.Arc``, with ``sense`` 0 where nothing is turned."""
START_X, START_Y, GOAL_X, GOAL_Y, REACH = range(5)
"""Columns of pairs: from where to where, and the radius of the disc."""


@record
class Tracks(NamedTuple):
    """What is known of n pairs of points: ``length`` (n,), what ``joined`` the search (n, obstacles), and the
    first ``edges`` (n,) rows of ``edge`` (n, MOST_EDGES, EDGE) that the path is made of."""

    length: Floats
    joined: Ints
    edges: Ints
    edge: Floats


@bare
def _keep(s: Arrays, tracks: Tracks, k: int, radius: float, found: Edges, last: int, desk: Desk) -> None:
    """Note the edges of a path, from the last to the first."""
    figure, link = found.figure, found.link
    n, e = 0, last
    while e >= 0:
        if n < MOST_EDGES:
            row = tracks.edge[k, n]
            row[0], row[1], row[2], row[3] = figure[e, SX], figure[e, SY], figure[e, EX], figure[e, EY]
            before = link[e, BEFORE]
            row[_ARC + 6] = 0.0
            if before >= 0 and radius > 0.0:
                c = desk.corners[link[before, CORNER]]
                row[_ARC], row[_ARC + 1] = s.corner[c, X], s.corner[c, Y]
                row[_ARC + 2], row[_ARC + 3] = figure[before, UX], figure[before, UY]
                row[_ARC + 4], row[_ARC + 5] = figure[e, WX], figure[e, WY]
                row[_ARC + 6] = float(link[before, SENSE])
        n += 1
        e = link[e, BEFORE]
    tracks.edges[k] = n


@bare
def _meets(s: Arrays, piece: int, row: Floats, radius: float, tol: float) -> bool:
    """Whether the disc would sink into a piece on an edge of a path."""
    first, last = s.span[piece, FIRST], s.span[piece, END]
    if hits(s.vert, first, last, Segment(row[0], row[1], row[2], row[3]), radius, tol):
        return True
    if row[_ARC + 6] == 0.0:
        return False
    arc = Arc(
        row[_ARC], row[_ARC + 1], row[_ARC + 2], row[_ARC + 3], row[_ARC + 4], row[_ARC + 5], row[_ARC + 6]
    )
    return arc_hits(s.vert, first, last, arc, radius, radius - tol)


@bare
def _stands(s: Arrays, tracks: Tracks, k: int, radius: float, tol: float, moved: Ints) -> bool:
    """Whether what is known of a pair holds although some obstacles have moved."""
    for o in range(len(moved)):
        if moved[o] != 0 and tracks.joined[k, o] != 0:
            return False
    if tracks.length[k] == math.inf:
        return True
    if tracks.edges[k] > MOST_EDGES:
        return False
    for m in range(len(s.span)):
        if moved[s.span[m, OWNER]] != 0:
            for e in range(tracks.edges[k]):
                if _meets(s, m, tracks.edge[k, e], radius, tol):
                    return False
    return True


@entry
def measure_again(s: Arrays, pairs: Floats, tol: float, moved: Ints, fresh: Ints, tracks: Tracks) -> Ints:
    """Measure what has to be measured again of ``pairs`` (n, 5): where they are ``fresh``, and where
    obstacles that have ``moved`` may have changed the way.

    ``tracks`` are written to.  Returns (n,), 1 where the length is another now.
    """
    changed, desk = np.zeros(len(pairs), np.int64), new_desk(s)
    joined = np.zeros(len(moved), np.int64)
    for k in range(len(pairs)):
        radius = pairs[k, REACH]
        if fresh[k] == 0 and _stands(s, tracks, k, radius, tol, moved):
            continue
        joined[:] = 0
        query = Query(
            pairs[k, START_X], pairs[k, START_Y], pairs[k, GOAL_X], pairs[k, GOAL_Y], radius, tol, math.inf
        )
        length, last, edges = explore(s, query, joined, desk, False)
        changed[k] = 1 if fresh[k] != 0 or length != tracks.length[k] else 0
        tracks.length[k], tracks.joined[k] = length, joined
        _keep(s, tracks, k, radius, edges, last, desk)
    return changed
