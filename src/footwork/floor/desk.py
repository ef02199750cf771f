"""What a search for a path writes on: the edges tried or to be tried, a heap of them, and notes.

A desk is made once for a scene (``new_desk``) and used for one search after the other.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from footwork.compiled.functions import bare, entry, inner
from footwork.compiled.records import record
from footwork.floor.contact import Arrays, Floats, Ints

EDGES = 512
"""Edges that a desk holds; a search that needs more begins again on larger tables of its own."""
FULL = -2
"""What a search returns in place of an edge when its tables are too small."""
MOST_SETS = 64
"""Blocked edges of a search that are noted with all that blocks them; of further ones one obstacle each."""


@record
class Desk(NamedTuple):
    """Tables of edges (columns below), heap of keys and items, ``size``: (edges, edges on the heap).

    ``active``: numbers of the corners that have joined; ``heads``: latest edge accepted at each of them, by
    sense; ``accepted``: edges accepted.  ``sets`` says what blocked edges, for ``kernel.explore``: how many
    sets there are, the set of obstacles that must all stay, and the sets of which one must stay.
    """

    ef: Floats
    ei: Ints
    heap: Floats
    item: Ints
    size: Ints
    active: Ints
    heads: Ints
    accepted: Ints
    sets: Ints


@inner
def tables(edges: int) -> tuple[Floats, Ints, Floats, Ints, Ints]:
    """Tables, heap and list of those accepted for so many edges."""
    return (
        np.empty((edges, 10)),
        np.empty((edges, 4), np.int64),
        np.empty(edges),
        np.empty(edges, np.int64),
        np.empty(edges, np.int64),
    )


@entry
def new_desk(s: Arrays) -> Desk:
    """A desk for searches in scene ``s``, or in any with no more corners."""
    ef, ei, heap, item, accepted = tables(EDGES)
    corners = len(s.corner)
    return Desk(
        ef,
        ei,
        heap,
        item,
        np.zeros(2, np.int64),
        np.empty(corners, np.int64),
        np.empty(2 * corners, np.int64),
        accepted,
        np.zeros(MOST_SETS + 2, np.int64),
    )


@bare
def note(sets: Ints, by: int, one: int) -> None:
    """Note a blocked edge: the set of what blocks it, and the one of that set that takes part."""
    if by == one:
        sets[1] |= by
        return
    if by & sets[1] != 0:
        return
    k = sets[0]
    for i in range(2, k + 2):
        if sets[i] == by:
            return
    if k < MOST_SETS:
        sets[0] = k + 1
        sets[k + 2] = by
    else:
        sets[1] |= one


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


# An edge tried or to be tried: columns of the two tables that the search fills.
# floats: f, g at arrival, arrival direction ux uy, start sx sy, end ex ey, departure direction wx wy
F, G, UX, UY, SX, SY, EX, EY, WX, WY = range(10)
# integers: edge before, local corner (-1 the target), sense of turn there, next accepted at that
# corner and sense
BEFORE, CORNER, SENSE, NEXT = range(4)


@bare
def push(
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


@bare
def pop(heap: Floats, item: Ints, size: Ints) -> int:
    """Take the edge of least f off the heap."""
    e = item[0]
    size[1] -= 1
    heap[0], item[0] = heap[size[1]], item[size[1]]
    if size[1] > 0:
        _sift_down(heap, item, size[1])
    return int(e)
