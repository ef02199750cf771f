"""Annealing on the true cost, compiled; the pair table refuses hopeless moves before they are costed.

The threshold that a move must meet is drawn first.  The pair table never exceeds the true cost, so a
move whose table price is above the threshold is refused without computing the true one: exact, and
cheap.  The true cost itself stops as soon as it passes the threshold.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Ints, Longs, Seeds
from footwork.arrange.core.random import draw
from footwork.arrange.core.slack import TABLE_ABOVE
from footwork.arrange.search.anneal_table import BETTER, energy
from footwork.arrange.search.neighbourhoods import (
    KINDS,
    Cooling,
    Freedom,
    PairCosts,
    new_walk,
    propose,
    settle_move,
)
from footwork.arrange.true_cost.evaluate import Evaluation, afresh, take_back, try_move
from footwork.arrange.true_cost.judge import Judge
from footwork.compiled.functions import entry

COSTED, ACCEPTED = range(2)
"""Columns of a tally of moves by kind."""


class Annealed(NamedTuple):
    """The best state's true cost, moves costed, moves accepted."""

    cost: float
    costed: int
    accepted: int


@entry
def anneal_true(
    costs: PairCosts,
    freedom: Freedom,
    ev: Evaluation,
    state: Ints,
    cooling: Cooling,
    seed: Seeds,
    best: Ints,
    tally: Longs,
) -> Annealed:
    """Anneal on the true cost with early rejection, from ``state``, which must be free of clashes.

    While it cannot be walked (infinite cost) every Gibbs move is taken that the table proposes.

    Arguments as in ``anneal_table.anneal``, and what finds true costs.  ``best`` gets the best state;
    ``tally`` (kinds, 2) counts moves costed and accepted by kind.
    """
    walk = new_walk(costs, state, seed)
    out, new = walk.out, walk.trial
    paired = costs.constant + energy(costs.unary, costs.pair, state)
    now = afresh(ev, state, math.inf)
    least = now
    best[:] = state
    after = state.copy()
    costed, accepted = 0, 0
    steps, hot, cold = cooling.steps, cooling.hot, cooling.cold
    for step in range(steps):
        temperature = hot * (cold / hot) ** (step / steps)
        count, change, kind = propose(costs, freedom, walk, temperature)
        limit = now - temperature * math.log(1.0 - draw(seed))
        if paired + change > limit + TABLE_ABOVE:
            continue
        for k in range(count):
            after[out[k]] = new[k]
        if np.array_equal(after, state):
            continue
        costed += 1
        tally[kind, COSTED] += 1
        found = try_move(ev, state, after, out, count, limit)
        if found <= limit:
            accepted += 1
            tally[kind, ACCEPTED] += 1
            settle_move(costs, walk, count)
            now = found
            paired += change
            if now < least - BETTER:
                least = now
                best[:] = state
        else:
            take_back(ev, state, out, count)
            for k in range(count):
                after[out[k]] = state[out[k]]
    return Annealed(least, costed, accepted)


class TrueAnnealer:
    """Anneals on the true cost with a judge of its own, so one thread at a time."""

    def __init__(self, judge: Judge) -> None:
        self.judge = judge
        self.tally: Longs = np.zeros((KINDS, 2), np.int64)
        """Moves costed and accepted, by kind."""

    def __call__(
        self, costs: PairCosts, freedom: Freedom, state: Ints, cooling: Cooling, seed: Seeds, best: Ints
    ) -> float:
        """``anneal_true``: changes ``state``, fills ``best``, returns its cost."""
        ev = self.judge.evaluation
        return float(anneal_true(costs, freedom, ev, state, cooling, seed, best, self.tally).cost)
