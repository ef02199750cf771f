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

from footwork.arrange.core.arrays import Ints
from footwork.arrange.core.packing import Packing
from footwork.arrange.spots.enumerate import SpotList
from footwork.arrange.spots.layers import Thing
from footwork.floor import shapes
from footwork.floor.headroom import fits_below
from footwork.floor.shapes import FloatArray
from footwork.floor.variants import comes_and_goes
from footwork.model.scenario import Placement

MARGIN = 0.005
"""Metres that a point must lie inside a footprint: two that both cover it overlap by twice as much."""
ALIKE = 0.03
"""Metres within which lines through points are one: the last serves all but overlaps narrower than this."""


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
    kept = _needed(point, spot, len(xs), len(ys))
    number = np.cumsum(kept) - 1
    spot, point = spot[kept[point]], number[point[kept[point]]]
    both = np.unique(np.column_stack((spot, point)), axis=0)
    start = np.concatenate(([0], np.cumsum(np.bincount(both[:, 0], minlength=spots)))).astype(np.int32)
    return Packing(start, both[:, 1].astype(np.int32), np.ones(int(kept.sum()), np.int64))


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
    low, high = ring.min(axis=0), ring.max(axis=0)
    found: list[Ints] = []
    for k in range(len(at)):
        here = at[k]
        x0, x1 = np.searchsorted(xs, (here[0] + low[0], here[0] + high[0]))
        y0, y1 = np.searchsorted(ys, (here[1] + low[1], here[1] + high[1]))
        east, north = np.repeat(np.arange(x0, x1), y1 - y0), np.tile(np.arange(y0, y1), x1 - x0)
        depth = np.column_stack((xs[east] - here[0], ys[north] - here[1])) @ normals.T - offset
        points = (east * len(ys) + north)[(depth >= 0.0).all(axis=1)]
        found.append(np.column_stack((np.full(len(points), k), points)).astype(np.int32))
    both = np.concatenate(found)
    return both[:, 0], both[:, 1]


def _needed(point: Ints, spot: Ints, columns: int, rows: int) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Which points to keep: a point whose spots all cover a neighbour as well says nothing more than that."""
    covering = [0] * (columns * rows)
    for p, s in zip(point.tolist(), spot.tolist(), strict=True):
        covering[p] |= 1 << s
    kept = np.zeros(len(covering), np.bool_)
    for p, own in enumerate(covering):
        # One spot alone conflicts with nothing.
        kept[p] = own & (own - 1) != 0
    for p, own in enumerate(covering):
        if not kept[p]:
            continue
        x, y = divmod(p, rows)
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1)):
            q = (x + dx) * rows + y + dy
            if 0 <= x + dx < columns and 0 <= y + dy < rows and kept[q] and own & ~covering[q] == 0:
                kept[p] = False
                break
    return kept
