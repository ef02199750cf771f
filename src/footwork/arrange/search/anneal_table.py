"""Simulated annealing on the pair table, compiled.

Moves are those of ``search/neighbourhoods.py``, accepted by Metropolis' rule while the heat falls.  A clash
is a price (``Tables.clash``) far above all others, so a start with clashes is mended by the same moves.
"""

from __future__ import annotations

import math

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints, Seeds, Singles
from footwork.arrange.core.random import draw
from footwork.arrange.search.neighbourhoods import MOST_OUT, propose, settle_move
from footwork.compiled.functions import entry, unit


@unit
def fill_field(unary: Floats, pair: Singles, state: Ints, field: Floats) -> None:
    """Compute ``field`` from nothing."""
    field[:] = unary
    for j in range(len(state)):
        row = pair[state[j]]
        for t in range(len(field)):
            field[t] += row[t]


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
    unary: Floats,
    pair: Singles,
    clash: float,
    first: Ints,
    places: Floats,
    movable: Ints,
    base: Ints,
    moves: int,
    state: Ints,
    steps: int,
    hot: float,
    cold: float,
    seed: Seeds,
    best: Ints,
) -> float:
    """Anneal on the pair table.

    unary, pair, clash, first   as in ``Tables``
    places    (spots, 2) where each spot stands
    movable   things with a choice
    base      base spot by thing (-1: none), ``moves`` the most things that may leave it
    state     spots to start from; changed to where the walk ended
    steps     moves to try, heat falling from ``hot`` to ``cold`` (metres a year)
    seed      (1,) uint64 generator state; changed
    best      filled with the best state seen; its price is returned
    """
    n = len(state)
    field = np.empty(len(unary))
    fill_field(unary, pair, state, field)
    now = energy(unary, pair, state)
    best[:] = state
    least = now
    out = np.zeros(MOST_OUT, np.int32)
    trial = np.zeros(MOST_OUT, np.int32)
    prices, window = np.empty(np.max(first[1:] - first[:-1])), np.zeros((MOST_OUT, 3))
    for step in range(steps):
        heat = hot * (cold / hot) ** (step / steps)
        count, change, _ = propose(
            state, trial, out, first, unary, pair, clash, field, places, movable, heat, base, moves,
            window, prices, seed,
        )  # fmt: skip
        if count == 1 or change <= 0.0 or draw(seed) < math.exp(-change / heat):
            settle_move(out, count, trial, state, pair, field)
            now += change
            if now < least - 1e-9:
                least = now
                for i in range(n):
                    best[i] = state[i]
    return energy(unary, pair, best)
