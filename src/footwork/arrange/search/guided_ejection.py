"""A spot for every thing without a clash: guided ejection search, compiled.

Things without a spot wait.  The one that failed most often, of these the one with the fewest free spots, goes
next, to a free spot; where none is free, to the spot whose clashing things have failed least often, and
those wait instead.  What found no free spot weighs more from then on, so that things that are hard to place
eject those that are easy.  With few moves allowed (``Freedom``) a thing goes back to its base's
spot when no more may leave theirs.
"""

from __future__ import annotations

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints, Seeds, Singles
from footwork.arrange.core.random import draw
from footwork.arrange.search.neighbourhoods import Freedom, PairCosts
from footwork.compiled.functions import entry, inner

WAITS = -1
"""In place of the spot of a thing that has none."""
USELESS = 1e12
"""Load of a spot that nothing may take: more than any weights add up to."""


@entry
def crowding(pair: Singles, clash: float, first: Ints) -> Floats:
    """Shares of the other things' spots that each spot takes, added up: corners take least."""
    found = np.full(len(pair), 0.01)
    for s in range(len(pair)):
        for j in range(len(first) - 1):
            taken = 0
            for t in range(first[j], first[j + 1]):
                taken += pair[s, t] >= clash
            found[s] += taken / max(1, first[j + 1] - first[j])
    return found


@inner
def press(pair: Singles, clash: float, spot: int, weight: float, load: Floats) -> None:
    """Add ``weight`` to the load of every spot that clashes with ``spot``."""
    row = pair[spot]
    for t in range(len(load)):
        if row[t] >= clash:
            load[t] += weight


@inner
def next_waiting(first: Ints, load: Floats, weight: Floats, state: Ints, seed: Seeds) -> int:
    """The thing to place next, -1 when none waits."""
    found, most, fewest = -1, -1.0, 0
    for i in range(len(state)):
        if state[i] != WAITS or weight[i] < most:
            continue
        free = 0
        for t in range(first[i], first[i + 1]):
            free += load[t] == 0.0
        if weight[i] > most or free < fewest or (free == fewest and draw(seed) < 0.5):
            found, most, fewest = i, weight[i], free
    return found


@inner
def lightest(low: int, high: int, load: Floats, crowds: Floats, seed: Seeds) -> int:
    """A spot of the least load from ``low`` up to ``high``; of several likely one that leaves others room."""
    best, least, lost = low, np.inf, np.inf
    for t in range(low, high):
        if load[t] > least:
            continue
        loses = crowds[t] * (0.1 + draw(seed))
        if load[t] < least or loses < lost:
            best, least, lost = t, load[t], loses
    return best


@entry
def guided_ejection(
    costs: PairCosts, crowds: Floats, freedom: Freedom, state: Ints, weight: Floats, steps: int, seed: Seeds
) -> int:
    """Give every thing that waits a spot, moving others where needed; how many wait in the end.

    crowds    from ``crowding``
    state     spots, ``WAITS`` for things without; changed, free of clashes in the end
    weight    how hard each thing is to place, 1 and more in whole numbers; changed
    steps     things put down at most
    seed      (1,) uint64 generator state; changed
    """
    pair, clash, unary, first = costs.pair, costs.clash, costs.unary, costs.first
    base, moves = freedom.base, freedom.moves
    n, moved = len(state), 0
    load = np.where(unary >= clash, USELESS, 0.0)
    for i in range(n):
        if state[i] != WAITS and load[state[i]] > 0.0:
            state[i] = WAITS
        if state[i] != WAITS:
            press(pair, clash, state[i], weight[i], load)
            moved += state[i] != base[i]
    for _ in range(steps):
        i = next_waiting(first, load, weight, state, seed)
        if i < 0:
            return 0
        low, high = first[i], first[i + 1]
        if moved >= moves and base[i] >= 0:
            low, high = base[i], base[i] + 1
        spot = lightest(low, high, load, crowds, seed)
        if load[spot] > 0.0:
            weight[i] += 1.0
            for j in range(n):
                if state[j] != WAITS and pair[spot, state[j]] >= clash:
                    press(pair, clash, state[j], -weight[j], load)
                    moved -= state[j] != base[j]
                    state[j] = WAITS
        state[i] = spot
        press(pair, clash, spot, weight[i], load)
        moved += spot != base[i]
    left = 0
    for i in range(n):
        left += state[i] == WAITS
    return left
