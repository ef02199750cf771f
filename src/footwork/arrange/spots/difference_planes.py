"""Overlap of two things as a question about the difference of their positions.

A *mould* is a thing in one facing, its rings about the origin.  Two convex rings sink into each other by
the least of some linear functions of the difference between the positions of the things they belong to: one
for each edge of either (``solid.convex_depth``).  So for two moulds these functions are worked out once, and
for each pair of spots only evaluated.  Where the answer is not clear by ``CLEAR`` metres, ``convex_depth``
itself is asked, so that the table stays that of the checks to the last bit.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Bools, Longs
from footwork.compiled.functions import bare, inner, unit
from footwork.compiled.records import record
from footwork.floor.overlap import flatten
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import TOLERANCE

CLEAR = 1e-7
"""Metres by which a depth must miss the tolerance for the moulds to decide; rounding is below 1e-11."""
SAME = 1e-12
"""Directions that differ by less are one."""
PARTS = 3
"""Layers that move with a thing: its footprint, floor that must stay free, floor for stock (``clashes``)."""


@record
class Moulds(NamedTuple):
    """Rings of all moulds: corners ``x, y`` about the origin; ring r is ``ring[r]:ring[r + 1]``; part p of
    mould m has the rings ``part[PARTS m + p]:part[PARTS m + p + 1]``.

    ``of`` (spots,) is each spot's mould and ``at`` (spots, 2) where it stands; the spots of mould m are
    ``order[start[m]:start[m + 1]]``.  ``cut`` (spots,): the spot's stock is not that of its mould.
    """

    x: FloatArray
    y: FloatArray
    ring: Longs
    part: Longs
    of: Longs
    at: FloatArray
    order: Longs
    start: Longs
    cut: Bools


def make_moulds(
    rings: Sequence[FloatArray], part: Sequence[int], of: Sequence[int], at: FloatArray, cut: Sequence[bool]
) -> Moulds:
    """Moulds of these rings; arguments as in ``Moulds``, moulds numbered in the order of their things."""
    x, y, ring = flatten(tuple(rings))
    mould = np.array(of, np.int64)
    order = np.argsort(mould, kind="stable").astype(np.int64)
    start = np.searchsorted(mould[order], np.arange(len(part) // PARTS + 1)).astype(np.int64)
    return Moulds(x, y, ring, np.array(part, np.int64), mould, at, order, start, np.array(cut, np.bool_))


@record
class Planes(NamedTuple):
    """When rings of two moulds overlap, as functions of (dx, dy), the second position less the first.

    The depth of ring pair k is the least ``level - nx dx - ny dy`` over its planes ``start[k]:start[k + 1]``.
    ``which`` (pairs, 4): 1 where it is the first's footprint that may not enter the part of the second, 0
    the other way round; that part; the ring's number in the footprint; and in the part.  ``reach``: between
    which dx and dy (least of both, greatest of both) any pair can overlap.
    """

    nx: FloatArray
    ny: FloatArray
    level: FloatArray
    start: Longs
    which: Longs
    reach: FloatArray


@inner
def _add_edges(
    m: Moulds, a0: int, a1: int, b0: int, b1: int, sign: float, begin: int, count: int,
    nx: FloatArray, ny: FloatArray, level: FloatArray,
) -> int:  # fmt: skip
    """Add the planes of ring a's edges against ring b from ``count`` on, and return the new count.

    ``sign`` is 1 where ring a belongs to the first mould, else -1.  Of planes that face the same way the
    lowest stays; ``begin`` is where this pair's planes begin.
    """
    for i in range(a0, a1):
        j = i + 1 if i + 1 < a1 else a0
        ex, ey = m.x[j] - m.x[i], m.y[j] - m.y[i]
        length = (ex * ex + ey * ey) ** 0.5
        if length == 0.0:
            continue
        ux, uy = ey / length, -ex / length
        nearest = np.inf
        for k in range(b0, b1):
            nearest = min(nearest, ux * (m.x[k] - m.x[i]) + uy * (m.y[k] - m.y[i]))
        ux, uy, known = sign * ux, sign * uy, -1
        for k in range(begin, count):
            if abs(nx[k] - ux) + abs(ny[k] - uy) < SAME:
                known = k
        if known >= 0:
            level[known] = min(level[known], -nearest)
        else:
            nx[count], ny[count], level[count] = ux, uy, -nearest
            count += 1
    return count


@unit
def planes_between(m: Moulds, one: int, two: int, first: Bools, second: Bools) -> Planes:
    """The planes of two moulds.  ``first[p]``: the footprint of ``one`` may not enter part p of ``two``;
    ``second[p]`` the other way round."""
    pairs, most = 0, 0
    for way in range(2):
        a, b, asked = (one, two, first) if way == 1 else (two, one, second)
        for p in range(PARTS):
            if asked[p] and (way == 1 or p > 0):
                for i in range(m.part[PARTS * a], m.part[PARTS * a + 1]):
                    for j in range(m.part[PARTS * b + p], m.part[PARTS * b + p + 1]):
                        pairs += 1
                        most += m.ring[i + 1] - m.ring[i] + m.ring[j + 1] - m.ring[j]
    nx, ny, level = np.empty(most), np.empty(most), np.empty(most)
    start, which = np.zeros(pairs + 1, np.int64), np.zeros((pairs, 4), np.int64)
    reach = np.array([np.inf, np.inf, -np.inf, -np.inf])
    pair, count = 0, 0
    for way in range(2):
        a, b, asked = (one, two, first) if way == 1 else (two, one, second)
        sign = 1.0 if way == 1 else -1.0
        for p in range(PARTS):
            if not asked[p] or (way == 0 and p == 0):
                continue
            for i in range(m.part[PARTS * a], m.part[PARTS * a + 1]):
                for j in range(m.part[PARTS * b + p], m.part[PARTS * b + p + 1]):
                    a0, a1, b0, b1 = m.ring[i], m.ring[i + 1], m.ring[j], m.ring[j + 1]
                    count = _add_edges(m, a0, a1, b0, b1, sign, start[pair], count, nx, ny, level)
                    count = _add_edges(m, b0, b1, a0, a1, -sign, start[pair], count, nx, ny, level)
                    which[pair, 0], which[pair, 1] = way, p
                    which[pair, 2], which[pair, 3] = i - m.part[PARTS * a], j - m.part[PARTS * b + p]
                    if way == 1:
                        _widen(m, a0, a1, b0, b1, reach)
                    else:
                        _widen(m, b0, b1, a0, a1, reach)
                    pair += 1
                    start[pair] = count
    return Planes(nx, ny, level, start, which, reach)


@inner
def _widen(m: Moulds, a0: int, a1: int, b0: int, b1: int, reach: FloatArray) -> None:
    """Make ``reach`` hold all differences at which the boxes of rings a (of the first mould) and b meet."""
    reach[0] = min(reach[0], m.x[a0:a1].min() - m.x[b0:b1].max())
    reach[1] = min(reach[1], m.y[a0:a1].min() - m.y[b0:b1].max())
    reach[2] = max(reach[2], m.x[a0:a1].max() - m.x[b0:b1].min())
    reach[3] = max(reach[3], m.y[a0:a1].max() - m.y[b0:b1].min())


@bare
def depth_of(planes: Planes, k: int, dx: float, dy: float) -> float:
    """Depth of ring pair k at that difference, or less than the tolerance if it is."""
    depth = np.inf
    for p in range(planes.start[k], planes.start[k + 1]):
        depth = min(depth, planes.level[p] - planes.nx[p] * dx - planes.ny[p] * dy)
        if depth < TOLERANCE - CLEAR:
            break
    return depth if depth < np.inf else TOLERANCE  # of two points nothing is known here
