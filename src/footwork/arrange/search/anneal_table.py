"""Simulated annealing on the pair table, compiled.

Moves are those of ``search/neighbourhoods.py``, accepted by Metropolis' rule while the temperature falls.  A
clash is a price (``Tables.clash``) far above all others, so a start with clashes is mended by the same moves.
"""

from __future__ import annotations

import math

from footwork.arrange.core.arrays import Floats, Ints, Seeds, Singles
from footwork.arrange.core.random import draw
from footwork.arrange.search.neighbourhoods import Cooling, Freedom, PairCosts, new_walk, propose, settle_move
from footwork.compiled.functions import entry, unit

BETTER = 1e-9
"""Metres a year by which a state must cost less than the best to be the best: less is rounding."""


@unit
def energy(unary: Floats, pair: Singles, state: Ints) -> float:
    """Price of a state, clashes included."""
    total = 0.0
    for i in range(len(state)):
        total += unary[state[i]]
        for j in range(i):
            total += pair[state[i], state[j]]
    return total


@entry
def anneal(
    costs: PairCosts, freedom: Freedom, state: Ints, cooling: Cooling, seed: Seeds, best: Ints
) -> float:
    """Anneal on the pair table.

    state     spots to start from; changed to where the walk ended
    seed      (1,) uint64 generator state; changed
    best      filled with the best state seen; its price is returned
    """
    n = len(state)
    walk = new_walk(costs, state, seed)
    now = energy(costs.unary, costs.pair, state)
    best[:] = state
    least = now
    steps, hot, cold = cooling.steps, cooling.hot, cooling.cold
    for step in range(steps):
        temperature = hot * (cold / hot) ** (step / steps)
        count, change, _ = propose(costs, freedom, walk, temperature)
        if count == 1 or change <= 0.0 or draw(seed) < math.exp(-change / temperature):
            settle_move(costs, walk, count)
            now += change
            if now < least - BETTER:
                least = now
                for i in range(n):
                    best[i] = state[i]
    return energy(costs.unary, costs.pair, best)
