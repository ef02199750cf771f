"""Annealing on the true cost, compiled; the pair table refuses hopeless moves before they are costed.

The threshold that a move must meet is drawn first.  The pair table never exceeds the true cost, so a
move whose table price is above the threshold is refused without computing the true one: exact, and
cheap.  The true cost itself stops as soon as it passes the threshold.
"""

from __future__ import annotations

import math

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints, Longs, Seeds, Singles
from footwork.arrange.core.pairwise import Restriction, Tables
from footwork.arrange.core.random import draw
from footwork.arrange.search.anneal_table import energy, fill_field
from footwork.arrange.search.neighbourhoods import KINDS, MOST_OUT, propose, settle_move
from footwork.arrange.true_cost.distance_cache import (
    Floor,
    Log,
    Memory,
)
from footwork.arrange.true_cost.evaluate import Work, afresh, take_back, try_move
from footwork.arrange.true_cost.judge import Judge
from footwork.compiled.functions import entry


@entry
def polish(
    unary: Floats,
    pair: Singles,
    constant: float,
    clash: float,
    first: Ints,
    places: Floats,
    movable: Ints,
    base: Ints,
    moves: int,
    floor: Floor,
    memory: Memory,
    saved: Memory,
    log: Log,
    work: Work,
    state: Ints,
    steps: int,
    hot: float,
    cold: float,
    seed: Seeds,
    best: Ints,
    tally: Longs,
) -> tuple[float, int, int]:
    """Anneal on the true cost from ``state``, which must be free of clashes.

    While it cannot be walked (infinite cost) every move is taken that the table's heat bath proposes.

    Arguments as in ``anneal_table.anneal``, the floor, a memory and what undoes its changes, and scratch for
    the routes.  ``best`` gets the best state; ``tally`` (kinds, 2) counts moves costed and accepted by kind.
    Returns (the best state's true cost, moves costed, moves accepted).
    """
    field = np.empty(len(unary))
    fill_field(unary, pair, state, field)
    paired = constant + energy(unary, pair, state)
    now = afresh(floor, memory, saved, log, state, work, math.inf)
    least = now
    best[:] = state
    after = state.copy()
    out, new = np.zeros(MOST_OUT, np.int32), np.zeros(MOST_OUT, np.int32)
    prices, window = np.empty(np.max(first[1:] - first[:-1])), np.zeros((MOST_OUT, 3))
    costed, accepted = 0, 0
    for step in range(steps):
        heat = hot * (cold / hot) ** (step / steps)
        count, change, kind = propose(
            state, new, out, first, unary, pair, clash, field, places, movable, heat, base, moves,
            window, prices, seed,
        )  # fmt: skip
        limit = now - heat * math.log(1.0 - draw(seed))
        if paired + change > limit + 1e-6:
            continue
        for k in range(count):
            after[out[k]] = new[k]
        if np.array_equal(after, state):
            continue
        costed += 1
        tally[kind, 0] += 1
        found = try_move(floor, memory, saved, log, state, after, out, count, limit, work)
        if found <= limit:
            accepted += 1
            tally[kind, 1] += 1
            settle_move(out, count, new, state, pair, field)
            now = found
            paired += change
            if now < least - 1e-9:
                least = now
                best[:] = state
        else:
            take_back(floor, memory, saved, log, state, out, count)
            for k in range(count):
                after[out[k]] = state[out[k]]
    return least, costed, accepted


class Polisher:
    """Anneals on the true cost with a judge of its own, so one thread at a time."""

    def __init__(self, judge: Judge) -> None:
        self.judge = judge
        self.tally: Longs = np.zeros((KINDS, 2), np.int64)
        """Moves costed and accepted, by kind."""

    def __call__(
        self,
        tables: Tables,
        places: Floats,
        movable: Ints,
        restriction: Restriction,
        state: Ints,
        steps: int,
        hot: float,
        cold: float,
        seed: Seeds,
        best: Ints,
    ) -> float:
        """``polish``: changes ``state``, fills ``best``, returns its cost."""
        judge = self.judge
        cost, _, _ = polish(
            tables.unary,
            tables.pair,
            tables.constant,
            tables.clash,
            tables.first,
            places,
            movable,
            restriction.base,
            restriction.moves,
            judge.floor,
            judge.memory,
            judge.saved,
            judge.log,
            judge.work,
            state,
            steps,
            hot,
            cold,
            seed,
            best,
            self.tally,
        )
        return float(cost)
