"""Rents, compiled: a price at least 0 for what at most so many spots of a choice may share.

Most are points of the floor that at most one footprint may cover.  A rent is paid by each spot that
covers the point and handed back once; a bound with rents is valid whatever they are.
"""

from __future__ import annotations

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats, Ints, Longs
from footwork.arrange.relaxation.model import CLASH, Living, Problem, State, Whole
from footwork.compiled.functions import bare, unit

FloorPoints = tuple[float, Ints, Ints, Floats]
"""(heat, start, points, cover) for the rents' soft cover; see ``soft_cover``."""
Shared = tuple[Ints, Ints, Longs]
"""start, points, capacity: what spots share, as in ``core/packing.py``."""


@bare
def settle(alive: Bools, theta: Longs) -> Whole:
    """Take the least theta of a variable out of its thetas; returns it (CLASH when no label lives)."""
    least = np.int64(CLASH)
    for x in range(len(theta)):
        if alive[x] and theta[x] < least:
            least = theta[x]
    for x in range(len(theta)):
        theta[x] -= least
    return least


@bare
def soft_cover(
    alive: Bools,
    theta: Longs,
    origin: Ints,
    spots: Ints,
    heat: float,
    start: Ints,
    points: Ints,
    cover: Floats,
) -> None:
    """Add a station's soft choice (weights exp(-theta / heat)) to the cover of each floor point.

    ``start`` and ``points`` speak of ``origin[spots]``.
    """
    total = 0.0
    for x in range(len(spots)):
        if alive[x]:
            total += np.exp(-theta[x] / heat)
    for x in range(len(spots)):
        if alive[x]:
            weight = np.exp(-theta[x] / heat) / total
            if weight > 1e-4:
                spot = origin[spots[x]]
                for k in range(start[spot], start[spot + 1]):
                    cover[points[k]] += weight


@unit
def move_rents(
    problem: Problem,
    live: Living,
    state: State,
    rents: Longs,
    drift: Floats,
    cover: Floats,
    shared: Shared,
    gap: float,
    pace: float,
) -> Whole:
    """Move the rents by the excess of the soft cover; returns the change of the constant.

    Subgradient step of length ``pace`` * gap / |excess|^2, averaged with the steps before it, each
    change at most a tenth of the gap.  Thetas are settled again, so that all are at least 0.
    """
    start, points, capacity = shared
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
    for v in range(len(problem.station)):
        s = problem.station[v]
        if s < 0:
            continue
        a, b = live.label[v], live.label[v + 1]
        for x in range(b - a):
            spot = problem.origin[live.spots[live.first[s] + x]]
            for k in range(start[spot], start[spot + 1]):
                state.theta[a + x] += change[points[k]]
        least = settle(state.alive[a:b], state.theta[a:b])
        if least < CLASH:
            constant += least
    return constant
