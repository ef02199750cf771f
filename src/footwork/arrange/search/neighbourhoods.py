"""The moves of simulated annealing over spots, compiled.

State: one spot a thing.  ``field[t]`` is what spot t would pay against all other things as they
stand now, kept up to date, so the price of a move is a difference of two entries.  A move takes one
to four things out and puts each back, one after the other, on a spot drawn with weight
exp(-price / heat) (heat bath).  The kinds differ in which go out and where they may go: one anywhere
(relocate), or about where it stands (turn); two where the other was, any two (swap) or two that stand
near each other (neighbours); a row of things as far along its line; one where others stand in its way,
which go elsewhere (push); or two to four together, anywhere.
"""

from __future__ import annotations

import math

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints, Seeds, Singles
from footwork.arrange.core.random import draw
from footwork.compiled.functions import inner, unit

MOST_OUT = 4
IN_LINE = 0.4
"""Metres aside that things in a row may stand."""
RELOCATE, TURN, SWAP, NEIGHBOURS, ROW, PUSH, TOGETHER = range(7)
"""Kinds of moves."""
KINDS = 7
UP_TO = (0.40, 0.48, 0.54, 0.62, 0.68, 0.80)
"""How often a move is of a kind: below which number of a draw from [0, 1), in the order above."""
PUSH_WARM = 3.0
"""How much hotter than the rest the spot is drawn where others are pushed aside: its price leaves out what
they will pay."""


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


@unit
def pick_out(
    state: Ints, places: Floats, movable: Ints, out: Ints, window: Floats, seed: Seeds
) -> tuple[int, int]:
    """Choose a kind of move and which things are taken out (their numbers in ``out``).

    ``window[k]``: x, y and the greatest distance from there that thing ``out[k]`` may be put back at.
    Returns (kind, how many), none yet for a push (``push``).
    """
    window[:, 2] = math.inf
    if len(movable) == 0:
        return RELOCATE, 0
    u = draw(seed)
    if u < UP_TO[RELOCATE] or len(movable) == 1:
        return RELOCATE, take_some(1, state, places, movable, out, seed)
    if u < UP_TO[TURN]:
        count = take_some(1, state, places, movable, out, seed)
        window[0, 0], window[0, 1], window[0, 2] = places[state[out[0]], 0], places[state[out[0]], 1], 0.5
        return TURN, count
    if u < UP_TO[NEIGHBOURS]:
        kind = SWAP if u < UP_TO[SWAP] else NEIGHBOURS
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
    if u < UP_TO[ROW]:
        return ROW, take_row(state, places, movable, out, window, seed)
    if u < UP_TO[PUSH]:
        return PUSH, 0
    few = draw(seed)
    want = 2 if few < 0.625 else (3 if few < 0.85 else MOST_OUT)
    return TOGETHER, take_some(want, state, places, movable, out, seed)


@inner
def draw_spot(prices: Floats, width: int, heat: float, seed: Seeds) -> int:
    """Draw one of the first ``width`` spots with weight exp(-price / heat); -1 where all are infinite."""
    least = math.inf
    for t in range(width):
        least = min(least, prices[t])
    if least == math.inf:
        return -1
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
    return last


@unit
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
    t = draw_spot(prices, width, heat, seed)
    return (-1, math.inf) if t < 0 else (a + t, prices[t])


@unit
def push(
    state: Ints,
    trial: Ints,
    out: Ints,
    first: Ints,
    unary: Floats,
    pair: Singles,
    clash: float,
    movable: Ints,
    heat: float,
    prices: Floats,
    seed: Seeds,
) -> tuple[int, float]:
    """Draw a thing, and a spot for it where one to three others are in its way; these go out with it.

    Fills ``out``, the thing first, and ``trial[0]``; returns (how many, the spot's price without those in the
    way), 0 where there is no such spot.
    """
    i = movable[int(draw(seed) * len(movable))]
    a, width = first[i], first[i + 1] - first[i]
    in_way = np.zeros(width, np.int32)
    for t in range(width):
        prices[t] = unary[a + t]
        if prices[t] >= clash:
            in_way[t] = MOST_OUT
    for j in range(len(state)):
        if j != i:
            row = pair[state[j]]
            each = 1 if first[j + 1] - first[j] > 1 else MOST_OUT
            for t in range(width):
                if row[a + t] >= clash:
                    in_way[t] += each
                else:
                    prices[t] += row[a + t]
    for t in range(width):
        if in_way[t] == 0 or in_way[t] >= MOST_OUT:
            prices[t] = math.inf
    t = draw_spot(prices, width, PUSH_WARM * heat, seed)
    if t < 0:
        return 0, 0.0
    out[0], trial[0], count = i, a + t, 1
    row = pair[a + t]
    for j in range(len(state)):
        if j != i and row[state[j]] >= clash:
            out[count] = j
            count += 1
    return count, prices[t]


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


@unit
def propose(
    state: Ints,
    trial: Ints,
    out: Ints,
    first: Ints,
    unary: Floats,
    pair: Singles,
    clash: float,
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
    kind, count = pick_out(state, places, movable, out, window, seed)
    placed, then = 0, 0.0
    if kind == PUSH:
        count, then = push(state, trial, out, first, unary, pair, clash, movable, heat, prices, seed)
        placed = min(count, 1)
    moved = 0
    for i in range(len(state)):
        if state[i] != base[i]:
            moved += 1
    for k in range(count):
        if state[out[k]] != base[out[k]]:
            moved -= 1
    for k in range(placed):
        if trial[k] != base[out[k]]:
            moved += 1
    if moved > moves:
        return 0, 0.0, kind
    now = paid_by(out, count, state, pair, field)
    for k in range(placed, count):
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
