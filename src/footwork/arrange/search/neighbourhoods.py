"""The moves of simulated annealing over spots, compiled.

State: one spot a thing.  ``Walk.field[t]`` is what spot t would pay against all other things as they
stand now, kept up to date, so the price of a move is a difference of two entries.  A move takes one
to four things out and puts each back, one after the other, on a spot drawn with weight
exp(-price / temperature) (a Gibbs move).  The kinds differ in which go out and where they may go: one
anywhere (relocate), or about where it stands (turn); two where the other was, any two (swap) or two that
stand near each other (neighbours); a row of things as far along its line; one where others stand in its
way, which go elsewhere (an ejection move); or two to four together, anywhere.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints, Seeds, Singles
from footwork.arrange.core.pairwise import Restriction, Tables
from footwork.arrange.core.random import draw
from footwork.compiled.functions import entry, inner, unit
from footwork.compiled.records import record

MOST_OUT = 4
IN_LINE = 0.4
"""Metres aside that things in a row may stand."""
RELOCATE, TURN, SWAP, NEIGHBOURS, ROW, EJECTION, TOGETHER = range(7)
"""Kinds of moves."""
KINDS = 7
UP_TO = (0.40, 0.48, 0.54, 0.62, 0.68, 0.80)
"""How often a move is of a kind: below which number of a draw from [0, 1), in the order above."""
EJECTION_WARM = 3.0
"""How much hotter than the rest the spot is drawn where others are sent elsewhere: its price leaves out what
they will pay."""
X, Y, REACH = range(3)
"""Columns of ``Walk.window``; X and Y of places."""


@record
class PairCosts(NamedTuple):
    """What the pair table says (see ``Tables``), and where each spot stands (spots, 2)."""

    unary: Floats
    pair: Singles
    constant: float
    clash: float
    first: Ints
    places: Floats


@record
class Freedom(NamedTuple):
    """What may move: things with a choice, base spots by thing (-1: none), and the most things that may leave
    theirs."""

    movable: Ints
    base: Ints
    moves: int


@record
class Walk(NamedTuple):
    """Where the search stands and what it is about to do.

    state     spot of each thing
    field     by spot, what it would pay against all other things as they stand now
    out       things that the move takes out, ``trial`` the spots they get
    window    x, y and the greatest distance from there that each may be put back at
    prices    scratch, one a spot of a thing
    seed      (1,) uint64 generator state
    """

    state: Ints
    field: Floats
    out: Ints
    trial: Ints
    window: Floats
    prices: Floats
    seed: Seeds


class Cooling(NamedTuple):
    """Moves to try, and temperatures at the first and after the last, in metres a year."""

    steps: int
    hot: float
    cold: float


def pair_costs(tables: Tables, places: Floats) -> PairCosts:
    return PairCosts(
        unary=tables.unary,
        pair=tables.pair,
        constant=tables.constant,
        clash=tables.clash,
        first=tables.first,
        places=places,
    )


def freedom(tables: Tables, restriction: Restriction) -> Freedom:
    movable = np.array([i for i in range(tables.things) if np.diff(tables.first)[i] > 1], np.int32)
    return Freedom(movable=movable, base=restriction.base, moves=restriction.moves)


@entry
def new_walk(costs: PairCosts, state: Ints, seed: Seeds) -> Walk:
    """A walk that begins at ``state``, which it changes, as it does ``seed``."""
    field = np.empty(len(costs.unary))
    fill_field(costs, state, field)
    return Walk(
        state=state,
        field=field,
        out=np.zeros(MOST_OUT, np.int32),
        trial=np.zeros(MOST_OUT, np.int32),
        window=np.zeros((MOST_OUT, 3)),
        prices=np.empty(np.max(costs.first[1:] - costs.first[:-1])),
        seed=seed,
    )


@unit
def fill_field(costs: PairCosts, state: Ints, field: Floats) -> None:
    """Compute ``Walk.field`` from nothing."""
    pair = costs.pair
    field[:] = costs.unary
    for j in range(len(state)):
        row = pair[state[j]]
        for t in range(len(field)):
            field[t] += row[t]


@inner
def near_to(thing: int, state: Ints, places: Floats, movable: Ints, seed: Seeds) -> int:
    """Of three things drawn the one that stands nearest to ``thing``; itself where no other was drawn."""
    best, other = 1e30, thing
    for _ in range(3):
        k = movable[int(draw(seed) * len(movable))]
        dx = places[state[k], X] - places[state[thing], X]
        dy = places[state[k], Y] - places[state[thing], Y]
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
        window[k, REACH] = 0.3
    return count


@unit
def pick_out(costs: PairCosts, freedom: Freedom, walk: Walk) -> tuple[int, int]:
    """Choose a kind of move, which things are taken out, and their windows.

    Returns (kind, how many), none yet for an ejection move (``eject``).
    """
    places, movable = costs.places, freedom.movable
    state, out, window, seed = walk.state, walk.out, walk.window, walk.seed
    window[:, REACH] = math.inf
    if len(movable) == 0:
        return RELOCATE, 0
    u = draw(seed)
    if u < UP_TO[RELOCATE] or len(movable) == 1:
        return RELOCATE, take_some(1, state, places, movable, out, seed)
    if u < UP_TO[TURN]:
        count = take_some(1, state, places, movable, out, seed)
        window[0, X], window[0, Y], window[0, REACH] = places[state[out[0]], X], places[state[out[0]], Y], 0.5
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
            window[k, X], window[k, Y], window[k, REACH] = places[there, X], places[there, Y], 1.0
        return kind, 2
    if u < UP_TO[ROW]:
        return ROW, take_row(state, places, movable, out, window, seed)
    if u < UP_TO[EJECTION]:
        return EJECTION, 0
    few = draw(seed)
    want = 2 if few < 0.625 else (3 if few < 0.85 else MOST_OUT)
    return TOGETHER, take_some(want, state, places, movable, out, seed)


@inner
def draw_spot(prices: Floats, width: int, temperature: float, seed: Seeds) -> int:
    """Draw one of the first ``width`` spots with weight exp(-price / temperature); -1 where all are
    infinite."""
    least = math.inf
    for t in range(width):
        least = min(least, prices[t])
    if least == math.inf:
        return -1
    reach = least + 20.0 * temperature
    total = 0.0
    for t in range(width):
        if prices[t] <= reach:
            total += math.exp((least - prices[t]) / temperature)
    left = draw(seed) * total
    last = 0
    for t in range(width):
        if prices[t] <= reach:
            last = t
            left -= math.exp((least - prices[t]) / temperature)
            if left <= 0.0:
                break
    return last


@unit
def put_back(
    costs: PairCosts, freedom: Freedom, walk: Walk, temperature: float, count: int, done: int, free: bool
) -> tuple[int, float]:
    """Draw a spot for thing ``out[done]``, given those still out and those put back already.

    ``free`` is False when only the base's spot may be used.  Returns (spot, its price); -1 where there is
    none in its window.
    """
    first, pair, places, base = costs.first, costs.pair, costs.places, freedom.base
    state, field, out, trial = walk.state, walk.field, walk.out, walk.trial
    window, prices = walk.window, walk.prices
    i = out[done]
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
    far2 = window[done, REACH] * window[done, REACH]
    if free and far2 < math.inf:
        for t in range(width):
            dx, dy = places[a + t, X] - window[done, X], places[a + t, Y] - window[done, Y]
            if dx * dx + dy * dy > far2:
                prices[t] = math.inf
    t = draw_spot(prices, width, temperature, walk.seed)
    return (-1, math.inf) if t < 0 else (a + t, prices[t])


@unit
def eject(costs: PairCosts, freedom: Freedom, walk: Walk, temperature: float) -> tuple[int, float]:
    """Draw a thing, and a spot for it where one to three others are in its way; these go out with it.

    Fills ``out``, the thing first, and ``trial[0]``; returns (how many, the spot's price without those in the
    way), 0 where there is no such spot.
    """
    first, unary, pair, clash, movable = costs.first, costs.unary, costs.pair, costs.clash, freedom.movable
    state, out, trial, prices, seed = walk.state, walk.out, walk.trial, walk.prices, walk.seed
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
    t = draw_spot(prices, width, EJECTION_WARM * temperature, seed)
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
def paid_by(costs: PairCosts, walk: Walk, count: int) -> float:
    """What the things taken out pay now, pairs among them once."""
    pair, state, field, out = costs.pair, walk.state, walk.field, walk.out
    total = 0.0
    for k in range(count):
        total += field[state[out[k]]]
        for h in range(k):
            total -= pair[state[out[k]], state[out[h]]]
    return total


@inner
def settle_move(costs: PairCosts, walk: Walk, count: int) -> None:
    """Carry out a move."""
    pair, state, field, out, trial = costs.pair, walk.state, walk.field, walk.out, walk.trial
    for k in range(count):
        old = pair[state[out[k]]]
        new = pair[trial[k]]
        if state[out[k]] != trial[k]:
            for t in range(len(field)):
                field[t] += np.float64(new[t]) - np.float64(old[t])
            state[out[k]] = trial[k]


@unit
def propose(costs: PairCosts, freedom: Freedom, walk: Walk, temperature: float) -> tuple[int, float, int]:
    """One move: fills ``out`` and ``trial``; returns (how many things, change of the price, kind)."""
    state, out, trial, base = walk.state, walk.out, walk.trial, freedom.base
    kind, count = pick_out(costs, freedom, walk)
    placed, then = 0, 0.0
    if kind == EJECTION:
        count, then = eject(costs, freedom, walk, temperature)
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
    if moved > freedom.moves:
        return 0, 0.0, kind
    now = paid_by(costs, walk, count)
    for k in range(placed, count):
        spot, price = put_back(costs, freedom, walk, temperature, count, k, moved < freedom.moves)
        if spot < 0:
            return 0, 0.0, kind
        trial[k] = spot
        if spot != base[out[k]]:
            moved += 1
        then += price
    return count, then - now, kind
