"""Simulated annealing over spots, compiled.

State: one spot a thing.  ``field[t]`` is what spot t would pay against all other things as they
stand now, kept up to date, so the price of a move is a difference of two entries.  One move, in
many sizes, does it all: take one to four things out and put each back, one after the other, on a
spot drawn with weight exp(-price / heat) (heat bath).  One thing: it relocates, turns or shifts.
Two: they swap or exchange places along a wall.  More: a row shifts.  The result is accepted by
Metropolis' rule.  A clash is a price (``Tables.clash``) far above all others, so a start with
clashes is mended by the same moves.

Which things go out together: stations that flow joins, or that stand next to each other.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from footwork.arrange.tables import Floats, Ints, Seeds, Singles

MOST_OUT = 4


@njit(cache=True, nogil=True)
def draw(seed: Seeds) -> float:
    """The next number in [0, 1) of the generator whose state is ``seed[0]`` (splitmix64)."""
    seed[0] += np.uint64(0x9E3779B97F4A7C15)
    z = seed[0]
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    z = z ^ (z >> np.uint64(31))
    return np.float64(z >> np.uint64(11)) / 9007199254740992.0


@njit(cache=True, nogil=True)
def fill_field(unary: Floats, pair: Singles, state: Ints, field: Floats) -> None:
    """Compute ``field`` from nothing."""
    field[:] = unary
    for j in range(len(state)):
        row = pair[state[j]]
        for t in range(len(field)):
            field[t] += row[t]


@njit(cache=True, nogil=True)
def energy(unary: Floats, pair: Singles, state: Ints) -> float:
    """Price of a state, clashes included."""
    total = 0.0
    for i in range(len(state)):
        total += unary[state[i]]
        for j in range(i):
            total += pair[state[i], state[j]]
    return total


@njit(cache=True, nogil=True)
def pick_out(n: int, state: Ints, places: Floats, movable: Ints, out: Ints, seed: Seeds) -> int:
    """Choose which things are taken out; returns how many (their numbers in ``out``)."""
    if len(movable) == 0:
        return 0
    u = draw(seed)
    want = 1 if u < 0.5 else (2 if u < 0.85 else (3 if u < 0.95 else MOST_OUT))
    want = min(want, len(movable))
    out[0] = movable[int(draw(seed) * len(movable))]
    count = 1
    near = draw(seed) < 0.5
    tries = 0
    while count < want and tries < 20:
        tries += 1
        other = movable[int(draw(seed) * len(movable))]
        if near:
            best = 1e30
            for _ in range(3):
                k = movable[int(draw(seed) * len(movable))]
                dx = places[state[k], 0] - places[state[out[0]], 0]
                dy = places[state[k], 1] - places[state[out[0]], 1]
                if k != out[0] and dx * dx + dy * dy < best:
                    best = dx * dx + dy * dy
                    other = k
        new = True
        for k in range(count):
            new = new and out[k] != other
        if new:
            out[count] = other
            count += 1
    return count


@njit(cache=True, nogil=True)
def put_back(
    i: int,
    out: Ints,
    count: int,
    done: int,
    state: Ints,
    trial: Ints,
    first: Ints,
    pair: Singles,
    field: Floats,
    heat: float,
    free: bool,
    base: Ints,
    prices: Floats,
    seed: Seeds,
) -> tuple[int, float]:
    """Draw a spot for thing ``i`` = out[done], given those still out and those put back already.

    ``free`` is False when only the base's spot may be used.  Returns (spot, its price).
    """
    a, b = first[i], first[i + 1]
    if not free and base[i] >= 0:
        a, b = base[i], base[i] + 1
    width = b - a
    for t in range(width):
        prices[t] = field[a + t]
    for k in range(count):
        if out[k] != i:
            row = pair[state[out[k]]]
            for t in range(width):
                prices[t] -= row[a + t]
    for k in range(done):
        row = pair[trial[k]]
        for t in range(width):
            prices[t] += row[a + t]
    least = prices[0]
    for t in range(1, width):
        least = min(least, prices[t])
    reach = least + 20.0 * heat
    total = 0.0
    for t in range(width):
        if prices[t] <= reach:
            total += math.exp((least - prices[t]) / heat)
    left = draw(seed) * total
    last = 0
    for t in range(width):
        if prices[t] <= reach:
            last = t
            left -= math.exp((least - prices[t]) / heat)
            if left <= 0.0:
                break
    return a + last, prices[last]


@njit(cache=True, nogil=True)
def paid_by(out: Ints, count: int, state: Ints, pair: Singles, field: Floats) -> float:
    """What the things taken out pay now, pairs among them once."""
    total = 0.0
    for k in range(count):
        total += field[state[out[k]]]
        for h in range(k):
            total -= pair[state[out[k]], state[out[h]]]
    return total


@njit(cache=True, nogil=True)
def settle_move(out: Ints, count: int, trial: Ints, state: Ints, pair: Singles, field: Floats) -> None:
    """Carry out a move."""
    for k in range(count):
        old = pair[state[out[k]]]
        new = pair[trial[k]]
        if state[out[k]] != trial[k]:
            for t in range(len(field)):
                field[t] += np.float64(new[t]) - np.float64(old[t])
            state[out[k]] = trial[k]


@njit(cache=True, nogil=True)
def propose(
    state: Ints,
    trial: Ints,
    out: Ints,
    first: Ints,
    pair: Singles,
    field: Floats,
    places: Floats,
    movable: Ints,
    heat: float,
    base: Ints,
    moves: int,
    prices: Floats,
    seed: Seeds,
) -> tuple[int, float]:
    """One move: fills ``out`` and ``trial``; returns (how many things, change of the price)."""
    n = len(state)
    count = pick_out(n, state, places, movable, out, seed)
    moved = 0
    for i in range(n):
        if state[i] != base[i]:
            moved += 1
    for k in range(count):
        if state[out[k]] != base[out[k]]:
            moved -= 1
    now = paid_by(out, count, state, pair, field)
    then = 0.0
    for k in range(count):
        spot, price = put_back(
            out[k], out, count, k, state, trial, first, pair, field, heat, moved < moves, base, prices, seed
        )
        trial[k] = spot
        if spot != base[out[k]]:
            moved += 1
        then += price
    return count, then - now


@njit(cache=True, nogil=True)
def anneal(
    unary: Floats,
    pair: Singles,
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

    unary, pair, first   as in ``Tables``
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
    prices = np.empty(np.max(first[1:] - first[:-1]))
    for step in range(steps):
        heat = hot * (cold / hot) ** (step / steps)
        count, change = propose(
            state, trial, out, first, pair, field, places, movable, heat, base, moves, prices, seed
        )
        if count == 1 or change <= 0.0 or draw(seed) < math.exp(-change / heat):
            settle_move(out, count, trial, state, pair, field)
            now += change
            if now < least - 1e-9:
                least = now
                for i in range(n):
                    best[i] = state[i]
    return energy(unary, pair, best)
