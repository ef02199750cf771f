"""What a search for a path writes on: the edges tried or to be tried, a heap of them, and notes.

A desk is made once for a scene (``new_desk``) and used for one search after the other.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from footwork.compiled.functions import bare, entry, unit
from footwork.compiled.records import record
from footwork.floor.contact import Arrays, Floats, Ints

ROOM = 512
"""Edges that a desk has room for; a search that needs more begins again on larger tables of its own."""
FULL = -2
"""What a search returns in place of an edge when its tables are too small."""
MOST_SETS = 64
"""Blocked edges of a search that are noted with all that blocks them; of further ones one obstacle each."""

F, G, UX, UY, SX, SY, EX, EY, WX, WY = range(10)
"""Columns of ``Edges.figure``: least length of a way by the edge, length at its arrival, direction u of
arrival, start s, end e, direction w of departure."""
BEFORE, CORNER, SENSE, NEXT = range(4)
"""Columns of ``Edges.link``: edge before (-1: none), number of the corner (-1: the target) and sense of turn
there, edge accepted before at that corner and sense."""
MADE, WAITING = range(2)
"""What ``Edges.count`` counts: edges in the tables, edges on the heap."""


@record
class Edges(NamedTuple):
    """Edges tried or to be tried: tables of them (columns above), and a heap of those to be tried.

    ``key`` and ``item``: the heap's least lengths and edges; ``accepted``: edges that nothing blocks.
    """

    figure: Floats
    link: Ints
    key: Floats
    item: Ints
    accepted: Ints
    count: Ints  # type: ignore[assignment]  # a tuple's own ``count`` is not in use


@record
class Justification(NamedTuple):
    """Why an answer holds, as sets of obstacles (``contact.mark``): all in ``all_of[0]`` must stay, and one
    of each of ``one_of[:sets[0]]``."""

    all_of: Ints
    one_of: Ints
    sets: Ints


@record
class Desk(NamedTuple):
    """Edges, corners that have joined, the latest edge accepted at each by sense (``head_of``), and what
    the answer of ``kernel.explore`` rests on."""

    edges: Edges
    corners: Ints
    heads: Ints
    why: Justification


@unit
def new_edges(most: int) -> Edges:
    """Tables and heap with room for so many edges."""
    return Edges(
        figure=np.empty((most, 10)),
        link=np.empty((most, 4), np.int64),
        key=np.empty(most),
        item=np.empty(most, np.int64),
        accepted=np.empty(most, np.int64),
        count=np.zeros(2, np.int64),
    )


@entry
def new_desk(s: Arrays) -> Desk:
    """A desk for searches in scene ``s``, or in any with no more corners."""
    corners = len(s.corner)
    return Desk(
        edges=new_edges(ROOM),
        corners=np.empty(corners, np.int64),
        heads=np.empty(2 * corners, np.int64),
        why=Justification(
            all_of=np.zeros(1, np.int64), one_of=np.zeros(MOST_SETS, np.int64), sets=np.zeros(1, np.int64)
        ),
    )


@bare
def head_of(corner: int, sense: int) -> int:
    """Where ``Desk.heads`` has the latest edge accepted at a corner that has joined and a sense of turn."""
    return 2 * corner + (1 if sense < 0 else 0)


@bare
def note(why: Justification, by: int, one: int) -> None:
    """Note a blocked edge: the set of what blocks it, and the one of that set that takes part."""
    all_of, one_of, sets = why.all_of, why.one_of, why.sets
    if by == one:
        all_of[0] |= by
        return
    if by & all_of[0] != 0:
        return
    for k in range(sets[0]):
        if one_of[k] == by:
            return
    if sets[0] < MOST_SETS:
        one_of[sets[0]] = by
        sets[0] += 1
    else:
        all_of[0] |= one


@bare
def _sift_up(key: Floats, item: Ints, at: int) -> None:
    k, v = key[at], item[at]
    while at > 0:
        up = (at - 1) // 2
        if key[up] <= k:
            break
        key[at], item[at] = key[up], item[up]
        at = up
    key[at], item[at] = k, v


@bare
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


@bare
def push(edges: Edges, before: int, corner: int, sense: int, f: float, g: float) -> int:
    """Put a new edge on the heap; its number."""
    figure, link, key, item, count = edges.figure, edges.link, edges.key, edges.item, edges.count
    e = count[MADE]
    count[MADE] = e + 1
    figure[e, F], figure[e, G] = f, g
    link[e, BEFORE], link[e, CORNER], link[e, SENSE], link[e, NEXT] = before, corner, sense, -1
    h = count[WAITING]
    count[WAITING] = h + 1
    key[h], item[h] = f, e
    _sift_up(key, item, h)
    return int(e)


@bare
def pop(edges: Edges) -> int:
    """Take the edge of least f off the heap."""
    key, item, count = edges.key, edges.item, edges.count
    e = item[0]
    count[WAITING] -= 1
    key[0], item[0] = key[count[WAITING]], item[count[WAITING]]
    if count[WAITING] > 0:
        _sift_down(key, item, count[WAITING])
    return int(e)
