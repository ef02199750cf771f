"""Overlap of two things as a question about the difference of their positions: the Minkowski difference.

A *template* is a thing in one facing, its rings about the origin.  Two convex rings sink into each other by
the least of some linear functions of the difference between the positions of the things they belong to: one
for each edge of either (``solid.convex_depth``).  So for two templates these half-planes are worked out
once, and for each pair of spots only evaluated.  Where the answer is not clear by ``CLEAR`` metres,
``convex_depth`` itself is asked, so that the table stays that of the checks to the last bit.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Bools, Longs
from footwork.arrange.core.slack import CLEAR
from footwork.arrange.spots.layers import MOVING
from footwork.compiled.functions import bare, inner, unit
from footwork.compiled.records import record
from footwork.floor.overlap import flatten
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import TOLERANCE

SAME_DIRECTION = 1e-12
"""Directions that differ by less are one: of planes that face so the lower alone is kept, which decides
nothing within ``CLEAR``."""


@record
class Rings(NamedTuple):
    """Convex rings one after the other: corners ``x, y``; ring r is ``start[r]:start[r + 1]``."""

    x: FloatArray
    y: FloatArray
    start: Longs


def make_rings(rings: Sequence[FloatArray]) -> Rings:
    return Rings(*flatten(tuple(rings)))


@record
class Templates(NamedTuple):
    """Rings of all templates about the origin: layer l of template t, of those that move with a thing, has
    the rings ``layer[MOVING t + l]:layer[MOVING t + l + 1]``."""

    rings: Rings
    layer: Longs


@record
class TemplateSpots(NamedTuple):
    """Which template each spot is of, (spots,); those of template t are ``order[start[t]:start[t + 1]]``."""

    template: Longs
    order: Longs
    start: Longs


def spots_by_template(template: Sequence[int], count: int) -> TemplateSpots:
    """The spots sorted by their templates, of which there are ``count``."""
    of = np.array(template, np.int64)
    order = np.argsort(of, kind="stable").astype(np.int64)
    start = np.searchsorted(of[order], np.arange(count + 1)).astype(np.int64)
    return TemplateSpots(of, order, start)


@record
class HalfPlanes(NamedTuple):
    """Linear functions of (dx, dy): the depth of ring pair k is the least ``level - nx dx - ny dy`` over its
    planes ``start[k]:start[k + 1]``."""

    nx: FloatArray
    ny: FloatArray
    level: FloatArray
    start: Longs


@record
class RingPairs(NamedTuple):
    """Pairs of a ring of a footprint and one of a layer that it may not enter.

    ``first_enters``: it is the first thing's footprint and the second's ``layer``, else the other way round.
    ``body_ring`` and ``layer_ring`` number the rings within footprint and layer.
    """

    first_enters: Bools
    layer: Longs
    body_ring: Longs
    layer_ring: Longs


@record
class Difference(NamedTuple):
    """When rings of two templates overlap, as functions of (dx, dy), the second position less the first.

    ``planes`` and ``pairs`` go together; ``low`` and ``high`` (2,): between which dx and dy any pair can
    overlap.
    """

    planes: HalfPlanes
    pairs: RingPairs
    low: FloatArray
    high: FloatArray


@inner
def _add_edges(
    rings: Rings, planes: HalfPlanes, pair: int, a: int, b: int, of_first: bool, count: int
) -> int:
    """Add the planes of ring a's edges against ring b from ``count`` on, and return the new count.

    ``of_first``: ring a belongs to the first template.  Of planes that face the same way the lowest stays.
    """
    sign = 1.0 if of_first else -1.0
    x, y, nx, ny, level = rings.x, rings.y, planes.nx, planes.ny, planes.level
    begin, a0, a1 = planes.start[pair], rings.start[a], rings.start[a + 1]
    for i in range(a0, a1):
        j = i + 1 if i + 1 < a1 else a0
        ex, ey = x[j] - x[i], y[j] - y[i]
        length = (ex * ex + ey * ey) ** 0.5
        if length == 0.0:
            continue
        ux, uy = ey / length, -ex / length
        nearest = np.inf
        for k in range(rings.start[b], rings.start[b + 1]):
            nearest = min(nearest, ux * (x[k] - x[i]) + uy * (y[k] - y[i]))
        ux, uy, known = sign * ux, sign * uy, -1
        for k in range(begin, count):
            if abs(nx[k] - ux) + abs(ny[k] - uy) < SAME_DIRECTION:
                known = k
        if known >= 0:
            level[known] = min(level[known], -nearest)
        else:
            nx[count], ny[count], level[count] = ux, uy, -nearest
            count += 1
    return count


@inner
def _asked(first_enters: bool, layer: int, first: Bools, second: Bools) -> bool:
    """Whether pairs of a footprint and a layer are looked at; two footprints once."""
    return first[layer] if first_enters else layer > 0 and second[layer]


@unit
def _room_for(t: Templates, one: int, two: int, first: Bools, second: Bools) -> Difference:
    """As many pairs and planes as the difference of two templates can have, not yet filled."""
    pairs, most = 0, 0
    start = t.rings.start
    for first_enters in (False, True):
        a, b = (one, two) if first_enters else (two, one)
        for layer in range(MOVING):
            if _asked(first_enters, layer, first, second):
                for i in range(t.layer[MOVING * a], t.layer[MOVING * a + 1]):
                    for j in range(t.layer[MOVING * b + layer], t.layer[MOVING * b + layer + 1]):
                        pairs += 1
                        most += start[i + 1] - start[i] + start[j + 1] - start[j]
    planes = HalfPlanes(np.empty(most), np.empty(most), np.empty(most), np.zeros(pairs + 1, np.int64))
    of = RingPairs(
        np.zeros(pairs, np.bool_),
        np.zeros(pairs, np.int64),
        np.zeros(pairs, np.int64),
        np.zeros(pairs, np.int64),
    )
    return Difference(planes, of, np.full(2, np.inf), np.full(2, -np.inf))


@unit
def difference_of(t: Templates, one: int, two: int, first: Bools, second: Bools) -> Difference:
    """The difference of two templates.  ``first[l]``: the footprint of ``one`` may not enter layer l of
    ``two``; ``second[l]`` the other way round."""
    found = _room_for(t, one, two, first, second)
    rings, planes, pairs = t.rings, found.planes, found.pairs
    pair, count = 0, 0
    for first_enters in (False, True):
        a, b = (one, two) if first_enters else (two, one)
        for layer in range(MOVING):
            if not _asked(first_enters, layer, first, second):
                continue
            bodies, others = t.layer[MOVING * a], t.layer[MOVING * b + layer]
            for i in range(bodies, t.layer[MOVING * a + 1]):
                for j in range(others, t.layer[MOVING * b + layer + 1]):
                    count = _add_edges(rings, planes, pair, i, j, first_enters, count)
                    count = _add_edges(rings, planes, pair, j, i, not first_enters, count)
                    pairs.first_enters[pair], pairs.layer[pair] = first_enters, layer
                    pairs.body_ring[pair], pairs.layer_ring[pair] = i - bodies, j - others
                    if first_enters:
                        _widen(rings, i, j, found)
                    else:
                        _widen(rings, j, i, found)
                    pair += 1
                    planes.start[pair] = count
    return found


@inner
def _widen(rings: Rings, a: int, b: int, found: Difference) -> None:
    """Let ``found`` reach all differences at which the boxes of rings a (of the first template) and b
    meet."""
    a0, a1, b0, b1 = rings.start[a], rings.start[a + 1], rings.start[b], rings.start[b + 1]
    found.low[0] = min(found.low[0], rings.x[a0:a1].min() - rings.x[b0:b1].max())
    found.low[1] = min(found.low[1], rings.y[a0:a1].min() - rings.y[b0:b1].max())
    found.high[0] = max(found.high[0], rings.x[a0:a1].max() - rings.x[b0:b1].min())
    found.high[1] = max(found.high[1], rings.y[a0:a1].max() - rings.y[b0:b1].min())


@bare
def depth_of(planes: HalfPlanes, k: int, dx: float, dy: float) -> float:
    """Depth of ring pair k at that difference, or less than the tolerance if it is."""
    depth = np.inf
    for p in range(planes.start[k], planes.start[k + 1]):
        depth = min(depth, planes.level[p] - planes.nx[p] * dx - planes.ny[p] * dy)
        if depth < TOLERANCE - CLEAR:
            break
    return depth if depth < np.inf else TOLERANCE  # of two points nothing is known here
