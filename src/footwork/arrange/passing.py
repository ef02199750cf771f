"""Message passing on a pair-table problem, compiled: the work inside one node of the tree.

The problem is kept as a reparametrisation.  ``theta[x]`` is what a spot costs by itself, an edge
between the stations i and j costs ``cost[x, y] - into[j, x] - into[i, y]``, and ``constant`` is
what every choice pays.  Whatever ``into`` (the messages) holds, each choice keeps its total.  When
all thetas and edges are at least 0 the constant is a lower bound, and at a station whose edges
have all been collected ``constant + theta[x]`` bounds every choice that uses spot x.

A pass visits the stations in order and then in reverse order (TRW-S; Kolmogorov 2006,
"Convergent tree-reweighted message passing for energy minimization", IEEE TPAMI 28(10), in its
collect-and-hand-on form).  On top of it, rents: a price at least 0 for every point of the floor
that at most one footprint may cover, paid by each spot that covers it and handed back once.

All prices are integers, so sums are exact: ``CLASH`` stands for a clash, messages stay within
``CAP``.  Arrays: spots run over the living spots of the node, ordered by station.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from footwork.arrange.tables import Bools, Bytes, Floats, Ints, Longs

Whole = int | np.int64

FloorPoints = tuple[float, Ints, Ints, Ints, Floats]
"""(heat, start, points, spots, cover) for the rents' soft cover; see ``soft_cover``."""

CLASH = np.int32(1 << 29)
CAP = np.int32(1 << 26)
NO_SUPPORT = np.int32(1 << 28)


@njit(cache=True, nogil=True)
def gather(full: Ints, spots: Ints) -> Ints:
    """The rows and columns ``spots`` of the square matrix ``full``."""
    n = len(spots)
    small = np.empty((n, n), np.int32)
    for a in range(n):
        row = full[spots[a]]
        for b in range(n):
            small[a, b] = row[spots[b]]
    return small


@njit(cache=True, nogil=True)
def collect(
    cost: Ints, first: Ints, alive: Bools, into: Ints, theta: Longs, i: int, j: int, best: Ints
) -> None:
    """Move the least price of edge (i, j) for each spot of i into that spot's theta.

    Returns False when no spot of j is alive.  Spots of i without support in j die.
    """
    a, b = first[i], first[i + 1]
    width = b - a
    best[:width] = CLASH + CAP
    for y in range(first[j], first[j + 1]):
        if alive[y]:
            offset = into[i, y]
            row = cost[y, a:b]
            for x in range(width):
                value = row[x] - offset
                best[x] = min(best[x], value)
    for x in range(width):
        value = min(best[x], CAP)
        if best[x] >= NO_SUPPORT:
            alive[a + x] = False
        theta[a + x] += value - into[j, a + x]
        into[j, a + x] = value


@njit(cache=True, nogil=True)
def settle(first: Ints, alive: Bools, theta: Longs, i: int) -> Whole:
    """Take the least theta of station i out of its thetas; returns it (CLASH when none lives)."""
    least = np.int64(CLASH)
    for x in range(first[i], first[i + 1]):
        if alive[x] and theta[x] < least:
            least = theta[x]
    for x in range(first[i], first[i + 1]):
        theta[x] -= least
    return least


@njit(cache=True, nogil=True)
def hand_on(first: Ints, alive: Bools, into: Ints, theta: Longs, i: int, edges: Bytes, forward: bool) -> None:
    """Share station i's thetas among its edges to the stations still to come."""
    n = len(first) - 1
    earlier = 0
    later = 0
    for j in range(n):
        if edges[i, j]:
            if j < i:
                earlier += 1
            else:
                later += 1
    ahead = later if forward else earlier
    if ahead == 0:
        return
    parts = max(earlier, later)
    for x in range(first[i], first[i + 1]):
        share = theta[x] // parts
        if not alive[x] or share <= 0:
            continue
        for j in range(n):
            if edges[i, j] and (j > i) == forward:
                part = min(share, np.int64(into[j, x]) + CAP)
                into[j, x] -= np.int32(part)
                theta[x] -= part


@njit(cache=True, nogil=True)
def soft_cover(
    first: Ints,
    alive: Bools,
    theta: Longs,
    i: int,
    heat: float,
    start: Ints,
    points: Ints,
    spots: Ints,
    cover: Floats,
) -> None:
    """Add station i's soft choice (weights exp(-theta / heat)) to the cover of each floor point."""
    total = 0.0
    for x in range(first[i], first[i + 1]):
        if alive[x]:
            total += np.exp(-theta[x] / heat)
    for x in range(first[i], first[i + 1]):
        if alive[x]:
            weight = np.exp(-theta[x] / heat) / total
            if weight > 1e-4:
                for k in range(start[spots[x]], start[spots[x] + 1]):
                    cover[points[k]] += weight


@njit(cache=True, nogil=True)
def sweep(
    cost: Ints,
    first: Ints,
    alive: Bools,
    into: Ints,
    theta: Longs,
    edges: Bytes,
    forward: bool,
    every: bool,
    constant: Whole,
    limit: Whole,
    marginal: Longs,
    floor: FloorPoints,
) -> Whole:
    """One direction of a pass over all stations; returns the constant, ``limit`` when none is left.

    ``every`` collects all edges (the first sweep of a node, whose messages come from elsewhere, and
    which therefore fixes nothing); otherwise only those from the stations just visited can have
    changed.  ``floor`` is (heat, start, points, spots, cover) for the rents' soft cover.
    """
    n = len(first) - 1
    heat, start, points, spots, cover = floor
    best: Ints = np.empty(np.max(first[1:] - first[:-1]), np.int32)
    for step in range(n):
        i = step if forward else n - 1 - step
        for j in range(n):
            if edges[i, j] and (every or (j < i) == forward):
                collect(cost, first, alive, into, theta, i, j, best)
        least = settle(first, alive, theta, i)
        if least >= CLASH:
            return limit
        constant += least
        if not every:
            for x in range(first[i], first[i + 1]):
                if alive[x]:
                    marginal[x] = max(marginal[x], constant + theta[x])
                    alive[x] = marginal[x] < limit
        if heat > 0.0:
            soft_cover(first, alive, theta, i, heat, start, points, spots, cover)
        hand_on(first, alive, into, theta, i, edges, forward)
    return constant


@njit(cache=True, nogil=True)
def move_rents(
    first: Ints,
    alive: Bools,
    theta: Longs,
    rents: Longs,
    drift: Floats,
    cover: Floats,
    capacity: Longs,
    start: Ints,
    points: Ints,
    spots: Ints,
    gap: float,
    pace: float,
) -> Whole:
    """Move the rents by the excess of the soft cover; returns the change of the constant.

    Subgradient step of length ``pace`` * gap / |excess|^2, averaged with the steps before it, each
    change at most a tenth of the gap.  Thetas are settled again, so that all are at least 0.
    """
    square = 0.0
    for c in range(len(rents)):
        excess = cover[c] - capacity[c]
        if rents[c] == 0 and excess < 0.0:
            excess = 0.0
        drift[c] = 0.5 * drift[c] + 0.5 * excess
        square += drift[c] * drift[c]
    if square < 1e-9:
        return np.int64(0)
    change = np.zeros(len(rents), np.int64)
    constant = np.int64(0)
    scale = pace * gap / square
    for c in range(len(rents)):
        step = min(max(scale * drift[c], -0.1 * gap), 0.1 * gap)
        new = max(np.int64(0), rents[c] + np.int64(step))
        change[c] = new - rents[c]
        rents[c] = new
        constant -= change[c] * capacity[c]
    for x in range(len(spots)):
        for k in range(start[spots[x]], start[spots[x] + 1]):
            theta[x] += change[points[k]]
    for i in range(len(first) - 1):
        least = settle(first, alive, theta, i)
        if least < CLASH:
            constant += least
    return constant


@njit(cache=True, nogil=True)
def shrink(
    cost: Ints, first: Ints, alive: Bools, into: Ints, theta: Longs, marginal: Longs, spots: Ints
) -> tuple[Ints, Ints, Bools, Ints, Longs, Longs, Ints]:
    """The node's arrays on its living spots alone, and where those were."""
    kept = np.nonzero(alive)[0]
    n = len(first) - 1
    low: Ints = np.zeros(n + 1, np.int32)
    for x in kept:
        for i in range(n):
            if first[i] <= x < first[i + 1]:
                low[i + 1] += 1
    for i in range(n):
        low[i + 1] += low[i]
    fewer: Ints = np.empty((n, len(kept)), np.int32)
    for j in range(n):
        fewer[j] = into[j][kept]
    return (
        gather(cost, kept.astype(np.int32)),
        low,
        alive[kept],
        fewer,
        theta[kept],
        marginal[kept],
        spots[kept],
    )


@njit(cache=True, nogil=True)
def decode(
    cost: Ints, first: Ints, alive: Bools, into: Ints, theta: Longs, order: Longs
) -> tuple[Ints, Longs]:
    """A choice read off the thetas, station by station in ``order``, and what each paid above 0.

    Returns (place in the node's spots by station, reduced cost by station).
    """
    n = len(first) - 1
    chosen = np.full(n, -1, np.int32)
    paid = np.zeros(n, np.int64)
    for i in order:
        best = np.int64(1) << 40
        for x in range(first[i], first[i + 1]):
            if not alive[x]:
                continue
            price = theta[x]
            for j in range(n):
                y = chosen[j]
                if y >= 0:
                    price += np.int64(cost[y, x]) - into[j, x] - into[i, y]
            if price < best:
                best = price
                chosen[i] = x
        paid[i] = best
    return chosen, paid
