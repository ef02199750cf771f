"""Simulated annealing over spots, compiled.

State: one spot a thing.  ``field[t]`` is what spot t would pay against all other things as they
stand now, kept up to date, so the price of a move is a difference of two entries.  A move takes one
to four things out and puts each back, one after the other, on a spot drawn with weight
exp(-price / heat) (heat bath).  The kinds differ in which go out and where they may go: one anywhere
(relocate), or about where it stands (turn); two where the other was, any two (swap) or two that stand
near each other (neighbours); a row of things as far along its line; or two to four together, anywhere.
The result is accepted by Metropolis' rule.  A clash is a price (``Tables.clash``) far above all others,
so a start with clashes is mended by the same moves.
"""

from __future__ import annotations

import math

import numpy as np

from footwork.arrange.tables import Floats, Ints, Seeds, Singles
from footwork.floor.compiled import entry, inner

MOST_OUT = 4
IN_LINE = 0.4
"""Metres aside that things in a row may stand."""
RELOCATE, TURN, SWAP, NEIGHBOURS, ROW, TOGETHER = range(6)
"""Kinds of moves."""
KINDS = 6


@inner
def draw(seed: Seeds) -> float:
    """The next number in [0, 1) of the generator whose state is ``seed[0]`` (splitmix64)."""
    seed[0] += np.uint64(0x9E3779B97F4A7C15)
    z = seed[0]
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    z = z ^ (z >> np.uint64(31))
    return np.float64(z >> np.uint64(11)) / 9007199254740992.0


@inner
def fill_field(unary: Floats, pair: Singles, state: Ints, field: Floats) -> None:
    """Compute ``field`` from nothing."""
    field[:] = unary
    for j in range(len(state)):
        row = pair[state[j]]
        for t in range(len(field)):
            field[t] += row[t]


@inner
def energy(unary: Floats, pair: Singles, state: Ints) -> float:
    """Price of a state, clashes included."""
    total = 0.0
    for i in range(len(state)):
        total += unary[state[i]]
        for j in range(i):
            total += pair[state[i], state[j]]
    return total


@inner
def near_to(thing: int, state: Ints, places: Floats, movable: Ints, seed: Seeds) -> int:
    """Of three things drawn the one that stands nearest to ``thing``; itself where no other was drawn."""
    best, other = 1e30, thing
    for _ in range(3):
        k = movable[int(draw(seed) * len(movable))]
        dx = places[state[k], 0] - places[state[thing], 0]
        dy = places[state[k], 1] - places[state[thing], 1]
        if k != thing and dx * dx + dy * dy < best:
            best, other = dx * dx + dy * dy, k
    return int(other)


@inner
def take_some(want: int, state: Ints, places: Floats, movable: Ints, out: Ints, seed: Seeds) -> int:
    """Take out up to ``want`` things, half of the times near each other; returns how many."""
    out[0] = movable[int(draw(seed) * len(movable))]
    count, tries = 1, 0
    near = draw(seed) < 0.5
    while count < min(want, len(movable)) and tries < 20:
        tries += 1
        other = movable[int(draw(seed) * len(movable))]
        if near:
            other = near_to(out[0], state, places, movable, seed)
        new = True
        for k in range(count):
            new = new and out[k] != other
        if new:
            out[count] = other
            count += 1
    return count


@inner
def take_row(state: Ints, places: Floats, movable: Ints, out: Ints, window: Floats, seed: Seeds) -> int:
    """Take out a thing and those that stand next in line with it, east to west or south to north, and set
    each one's window as far along that line; returns how many."""
    i = movable[int(draw(seed) * len(movable))]
    axis = int(draw(seed) * 2.0)
    ahead = 1.0 if draw(seed) < 0.5 else -1.0
    shift = ahead * (0.2 + draw(seed))
    out[0], count = i, 1
    while count < MOST_OUT:
        last, best, which = out[count - 1], 2.5, -1
        for k in movable:
            away = ahead * (places[state[k], axis] - places[state[last], axis])
            aside = abs(places[state[k], 1 - axis] - places[state[i], 1 - axis])
            if 0.05 < away < best and aside < IN_LINE:
                best, which = away, k
        if which < 0 or (count > 1 and draw(seed) < 0.3):
            break
        out[count] = which
        count += 1
    for k in range(count):
        window[k, axis] = places[state[out[k]], axis] + shift
        window[k, 1 - axis] = places[state[out[k]], 1 - axis]
        window[k, 2] = 0.3
    return count


@inner
def pick_out(
    state: Ints, places: Floats, movable: Ints, out: Ints, window: Floats, seed: Seeds
) -> tuple[int, int]:
    """Choose a kind of move and which things are taken out (their numbers in ``out``).

    ``window[k]``: x, y and the greatest distance from there that thing ``out[k]`` may be put back at.
    Returns (kind, how many).
    """
    window[:, 2] = math.inf
    if len(movable) == 0:
        return RELOCATE, 0
    u = draw(seed)
    if u < 0.40 or len(movable) == 1:
        return RELOCATE, take_some(1, state, places, movable, out, seed)
    if u < 0.48:
        count = take_some(1, state, places, movable, out, seed)
        window[0, 0], window[0, 1], window[0, 2] = places[state[out[0]], 0], places[state[out[0]], 1], 0.5
        return TURN, count
    if u < 0.62:
        kind = SWAP if u < 0.54 else NEIGHBOURS
        i = movable[int(draw(seed) * len(movable))]
        j = movable[int(draw(seed) * len(movable))]
        if kind == NEIGHBOURS:
            j = near_to(i, state, places, movable, seed)
        if i == j:
            return kind, 0
        out[0], out[1] = i, j
        for k in range(2):
            there = state[out[1 - k]]
            window[k, 0], window[k, 1], window[k, 2] = places[there, 0], places[there, 1], 1.0
        return kind, 2
    if u < 0.68:
        return ROW, take_row(state, places, movable, out, window, seed)
    want = 2 if u < 0.88 else (3 if u < 0.95 else MOST_OUT)
    return TOGETHER, take_some(want, state, places, movable, out, seed)


@inner
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
    places: Floats,
    window: Floats,
    prices: Floats,
    seed: Seeds,
) -> tuple[int, float]:
    """Draw a spot for thing ``i`` = out[done], given those still out and those put back already.

    ``free`` is False when only the base's spot may be used.  Returns (spot, its price); -1 where there is
    none in its window.
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
    far2 = window[done, 2] * window[done, 2]
    if free and far2 < math.inf:
        for t in range(width):
            dx, dy = places[a + t, 0] - window[done, 0], places[a + t, 1] - window[done, 1]
            if dx * dx + dy * dy > far2:
                prices[t] = math.inf
    least = prices[0]
    for t in range(1, width):
        least = min(least, prices[t])
    if least == math.inf:
        return -1, least
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


@inner
def paid_by(out: Ints, count: int, state: Ints, pair: Singles, field: Floats) -> float:
    """What the things taken out pay now, pairs among them once."""
    total = 0.0
    for k in range(count):
        total += field[state[out[k]]]
        for h in range(k):
            total -= pair[state[out[k]], state[out[h]]]
    return total


@inner
def settle_move(out: Ints, count: int, trial: Ints, state: Ints, pair: Singles, field: Floats) -> None:
    """Carry out a move."""
    for k in range(count):
        old = pair[state[out[k]]]
        new = pair[trial[k]]
        if state[out[k]] != trial[k]:
            for t in range(len(field)):
                field[t] += np.float64(new[t]) - np.float64(old[t])
            state[out[k]] = trial[k]


@inner
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
    window: Floats,
    prices: Floats,
    seed: Seeds,
) -> tuple[int, float, int]:
    """One move: fills ``out`` and ``trial``; returns (how many things, change of the price, kind)."""
    n = len(state)
    kind, count = pick_out(state, places, movable, out, window, seed)
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
            out[k], out, count, k, state, trial, first, pair, field, heat, moved < moves, base,
            places, window, prices, seed,
        )  # fmt: skip
        if spot < 0:
            return 0, 0.0, kind
        trial[k] = spot
        if spot != base[out[k]]:
            moved += 1
        then += price
    return count, then - now, kind


@entry
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
    prices, window = np.empty(np.max(first[1:] - first[:-1])), np.zeros((MOST_OUT, 3))
    for step in range(steps):
        heat = hot * (cold / hot) ** (step / steps)
        count, change, _ = propose(
            state, trial, out, first, pair, field, places, movable, heat, base, moves, window, prices, seed
        )
        if count == 1 or change <= 0.0 or draw(seed) < math.exp(-change / heat):
            settle_move(out, count, trial, state, pair, field)
            now += change
            if now < least - 1e-9:
                least = now
                for i in range(n):
                    best[i] = state[i]
    return energy(unary, pair, best)
