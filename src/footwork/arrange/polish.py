"""Annealing on the true cost, compiled; the pair table refuses hopeless moves before they are costed.

The threshold that a move must meet is drawn first.  The pair table never exceeds the true cost, so a
move whose table price is above the threshold is refused without computing the true one: exact, and
cheap.  The true cost itself stops as soon as it passes the threshold.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from footwork.arrange.anneal import MOST_OUT, draw, energy, fill_field, propose, settle_move
from footwork.arrange.evaluate import Floor, Memo, Work, disturb, forget, put, true_cost
from footwork.arrange.tables import Floats, Ints, Seeds, Singles


@njit(cache=True, nogil=True)
def copy_memo(source: Memo, target: Memo) -> None:
    """Overwrite one memo by another."""
    target.at[:] = source.at
    target.out[:] = source.out
    target.metres[:] = source.metres
    target.met[:] = source.met
    for e in range(len(source.known)):
        if source.known[e]:
            target.points[e] = source.points[e]
            target.path[e, : source.points[e]] = source.path[e, : source.points[e]]
    target.known[:] = source.known


@njit(cache=True, nogil=True)
def afresh(floor: Floor, memo: Memo, state: Ints, work: Work) -> float:
    """True cost of a state with nothing remembered."""
    memo.known[:] = False
    for i in range(len(state)):
        put(floor, memo, i, state[i])
    return true_cost(floor, memo, state, work, math.inf)


@njit(cache=True, nogil=True)
def try_move(
    floor: Floor,
    memo: Memo,
    trial: Memo,
    state: Ints,
    after: Ints,
    out: Ints,
    count: int,
    limit: float,
    work: Work,
) -> float:
    """True cost of ``after``, which differs from ``state`` in the things ``out``; fills ``trial``."""
    copy_memo(memo, trial)
    for k in range(count):
        if after[out[k]] != state[out[k]]:
            forget(floor, trial, out[k])
    for k in range(count):
        if after[out[k]] != state[out[k]]:
            put(floor, trial, out[k], after[out[k]])
            disturb(floor, trial, out[k], after[out[k]])
    return true_cost(floor, trial, after, work, limit)


@njit(cache=True, nogil=True)
def polish(
    unary: Floats,
    pair: Singles,
    constant: float,
    first: Ints,
    places: Floats,
    movable: Ints,
    base: Ints,
    moves: int,
    floor: Floor,
    memo: Memo,
    trial: Memo,
    work: Work,
    state: Ints,
    steps: int,
    hot: float,
    cold: float,
    seed: Seeds,
    best: Ints,
) -> tuple[float, int]:
    """Anneal on the true cost from ``state``, which must be free of clashes.

    While it cannot be walked (infinite cost) every move is taken that the table's heat bath proposes.

    Arguments as in ``anneal.anneal``, the floor and two memos, and scratch for the routes.  ``best`` gets
    the best state; returns (its true cost, moves costed).
    """
    field = np.empty(len(unary))
    fill_field(unary, pair, state, field)
    paired = constant + energy(unary, pair, state)
    now = afresh(floor, memo, state, work)
    least = now
    best[:] = state
    after = state.copy()
    out, new = np.zeros(MOST_OUT, np.int32), np.zeros(MOST_OUT, np.int32)
    prices = np.empty(np.max(first[1:] - first[:-1]))
    costed = 0
    for step in range(steps):
        heat = hot * (cold / hot) ** (step / steps)
        count, change = propose(
            state, new, out, first, pair, field, places, movable, heat, base, moves, prices, seed
        )
        limit = now - heat * math.log(1.0 - draw(seed))
        if paired + change > limit + 1e-6:
            continue
        for k in range(count):
            after[out[k]] = new[k]
        if np.array_equal(after, state):
            continue
        costed += 1
        found = try_move(floor, memo, trial, state, after, out, count, limit, work)
        if found <= limit:
            memo, trial = trial, memo
            settle_move(out, count, new, state, pair, field)
            now = found
            paired += change
            if now < least - 1e-9:
                least = now
                best[:] = state
        else:
            for k in range(count):
                after[out[k]] = state[out[k]]
                put(floor, memo, out[k], state[out[k]])
    return least, costed
