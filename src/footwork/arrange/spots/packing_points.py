"""Points of the floor that at most one footprint may cover: each bears a packing multiplier of the bound.

Things that may share the floor with others (``may_share``) cover none.

Two boxes that overlap share the point whose coordinates are the greater of their least x and the greater of
their least y.  So the points just inside every least x and every least y of the footprints are met by each
overlap of two boxes, and hardly any are needed beside them.  On an even grid many points lie on the edges of
footprints and see no overlap: with points 0.25 m apart the proof of a tight room took 20 s, with these 2.3.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from footwork.arrange.core.arrays import Bools, Floats, Ints, Longs
from footwork.arrange.core.packing import Packing
from footwork.arrange.spots.enumerate import SpotList
from footwork.arrange.spots.layers import Thing
from footwork.compiled.functions import bare, entry
from footwork.floor import shapes
from footwork.floor.headroom import fits_below
from footwork.floor.shapes import FloatArray
from footwork.floor.variants import comes_and_goes
from footwork.model.scenario import Placement

MARGIN = 0.005
"""Metres that a point must lie inside a footprint: two that both cover it overlap by twice as much."""
ALIKE = 0.03
"""Metres within which lines through points are one: the last serves all but overlaps narrower than this."""

Words = NDArray[np.uint64]
"""Sets of spots, 64 a word: bit s % 64 of word s // 64 is spot s."""


def floor_cover(lists: Sequence[SpotList]) -> Packing:
    """Which points each spot's footprint covers, of those that no other point makes needless."""
    spots = sum(len(of.placements) for of in lists)
    pieces = list(_pieces(lists))
    if not pieces:
        return Packing.none(spots)
    low = np.concatenate([ring.min(axis=0) + at for _, at, ring in pieces])
    xs, ys = _lines(low[:, 0]), _lines(low[:, 1])
    inside = [_inside(ring, at, xs, ys) for _, at, ring in pieces]
    spot = np.concatenate([numbers[k] for (numbers, _, _), (k, _) in zip(pieces, inside, strict=True)])
    point = np.concatenate([points for _, points in inside])
    covering = np.zeros((len(xs) * len(ys), spots // 64 + 1), np.uint64)
    np.bitwise_or.at(covering, (point, spot // 64), np.uint64(1) << (spot % 64).astype(np.uint64))
    kept = np.zeros(len(covering), np.bool_)
    _find_needed(covering, len(xs), len(ys), kept)
    here = kept[point]
    each = np.sort(spot[here].astype(np.int64) * len(kept) + point[here])
    spot, point = np.divmod(each[np.diff(each, prepend=-1) > 0], len(kept))  # each once
    start = np.concatenate(([0], np.cumsum(np.bincount(spot, minlength=spots)))).astype(np.int32)
    number = (np.cumsum(kept) - 1).astype(np.int32)
    return Packing(start, number[point], np.ones(int(kept.sum()), np.int64))


def may_share(things: Sequence[Thing]) -> frozenset[str]:
    """Things so that of all others no two ever cover the same floor: of several that come and go all, as two
    may never be there at once; and what hangs where something may stand below it."""
    going = frozenset(thing.name for thing in things if comes_and_goes(thing))
    hang = frozenset(
        thing.name
        for thing in things
        if any(other is not thing and fits_below(other, thing) for other in things)
    )
    return hang | (going if len(going) > 1 else frozenset())


def inward_normals(ring: FloatArray) -> FloatArray:
    """Unit normals of a ring's edges, to its inside."""
    edges = np.roll(ring, -1, axis=0) - ring
    found: FloatArray = np.column_stack((-edges[:, 1], edges[:, 0])) / np.hypot(*edges.T)[:, None]
    return found


def _pieces(lists: Sequence[SpotList]) -> Iterator[tuple[Ints, FloatArray, FloatArray]]:
    """Convex pieces of footprints: the spots they are of, where those stand, the ring about (0, 0)."""
    shared = may_share([of.thing for of in lists])
    begin = 0
    for of in lists:
        facings = np.array([p.facing for p in of.placements])
        at = np.array([p.at for p in of.placements]).reshape(-1, 2)
        for facing in [] if of.thing.name in shared else np.unique(facings):
            here = np.flatnonzero(facings == facing)
            for ring in shapes.pieces(of.thing, Placement(0.0, 0.0, float(facing))):
                yield (begin + here).astype(np.int32), at[here], ring
        begin += len(of.placements)


def _lines(low: FloatArray) -> FloatArray:
    """Coordinates just inside of the different ones in ``low``, as far as they are not alike."""
    values = np.unique(low.round(4))
    last = np.append(np.diff(values) > ALIKE, True)
    return np.asarray(values[last] + 2.0 * MARGIN)


def _inside(ring: FloatArray, at: FloatArray, xs: FloatArray, ys: FloatArray) -> tuple[Ints, Ints]:
    """(place in ``at``, point) for every point that is ``MARGIN`` inside the ring moved there."""
    normals = inward_normals(ring)
    offset = (ring * normals).sum(axis=1) + MARGIN
    ends = (ring.min(axis=0), ring.max(axis=0))
    box = [np.searchsorted(lines, at[:, k] + end[k]) for k, lines in enumerate((xs, ys)) for end in ends]
    most = int(((box[1] - box[0]) * (box[3] - box[2])).sum())
    places, points = np.empty(most, np.int32), np.empty(most, np.int32)
    found = _points_inside(normals, offset, at, xs, ys, np.column_stack(box), places, points)
    return places[:found], points[:found]


@entry
def _points_inside(
    normals: Floats,
    offset: Floats,
    at: Floats,
    xs: Floats,
    ys: Floats,
    box: Longs,
    places: Ints,
    points: Ints,
) -> int:
    """Write (place in ``at``, point) for the points inside all edges; gives how many there are.

    ``box`` (places, 4) are the columns and rows to look at.
    """
    found = 0
    for k in range(len(at)):
        for column in range(box[k, 0], box[k, 1]):
            for row in range(box[k, 2], box[k, 3]):
                if _lies_inside(xs[column] - at[k, 0], ys[row] - at[k, 1], normals, offset):
                    places[found] = k
                    points[found] = column * len(ys) + row
                    found += 1
    return found


@bare
def _lies_inside(x: float, y: float, normals: Floats, offset: Floats) -> bool:
    inside = True
    for edge in range(len(normals)):
        inside &= x * normals[edge, 0] + y * normals[edge, 1] >= offset[edge]
    return inside


@entry
def _find_needed(covering: Words, columns: int, rows: int, kept: Bools) -> None:
    """Which points to keep: a point whose spots all cover a neighbour as well says nothing more than that."""
    for p in range(columns * rows):
        kept[p] = not _at_most_one(covering[p])  # one spot alone conflicts with nothing
    for x in range(columns):
        for y in range(rows):
            p = x * rows + y
            for column in range(max(0, x - 1), min(columns, x + 2)):
                for row in range(max(0, y - 1), min(rows, y + 2)):
                    q = column * rows + row
                    if q != p and kept[p] and kept[q] and _within(covering[p], covering[q]):
                        kept[p] = False


@bare
def _at_most_one(one: Words) -> bool:
    """Whether a set of spots has one element at most."""
    seen = False
    for word in one:
        if word != 0:
            if seen or word & (word - np.uint64(1)) != 0:
                return False
            seen = True
    return True


@bare
def _within(one: Words, other: Words) -> bool:
    """Whether a set of spots is part of another."""
    k = 0
    while k < len(one) and one[k] & ~other[k] == 0:
        k += 1
    return k == len(one)
