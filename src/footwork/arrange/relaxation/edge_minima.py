"""Edges of a pair-table problem, compiled: the least price that each label of one end has at the other."""

from __future__ import annotations

import numpy as np

from footwork.arrange.core.arrays import Bools, Ints
from footwork.arrange.relaxation.model import (
    APART,
    CAP,
    CLASH,
    LEG,
    NO_SUPPORT,
    PAIR,
    Living,
    Problem,
    State,
    clashes,
)
from footwork.compiled.functions import bare, bare_unit

ROUNDS = 8
"""Best spots of the other end that are tried one by one."""


@bare
def least_over_rows(block: Ints, columns: int, alive: Bools, off: Ints, best: Ints) -> None:
    """best[c] = least over living rows r of price[r, c] - off[r]."""
    for r in range(len(alive)):
        if alive[r]:
            row, shift = block[r * columns : (r + 1) * columns], off[r]
            for c in range(columns):
                best[c] = min(best[c], np.int32(row[c] - shift))


@bare
def least_over_columns(
    block: Ints, columns: int, alive: Bools, off: Ints, mine: Bools, best: Ints, offset: Ints
) -> None:
    """best[r] = least over living columns c of price[r, c] - off[c], for the rows in ``mine``.

    ``offset`` is room to work in.
    """
    for c in range(columns):
        # No least is found where nothing lives.
        offset[c] = off[c] if alive[c] else -CLASH
    for r in range(len(mine)):
        if mine[r]:
            row, least = block[r * columns : (r + 1) * columns], best[r]
            for c in range(columns):
                least = min(least, np.int32(row[c] - offset[c]))
            best[r] = least


@bare
def least_apart(
    problem: Problem, live: Living, state: State, v: int, u: int, theirs: int, scratch: Ints
) -> None:
    """APART: for each living spot of v the least of -off over those of u that it does not clash with.

    Most do not clash with the best of all, and of the others most not with the next.  After ``ROUNDS``
    the last few look through all.  ``theirs`` is where u's messages begin; the result is ``scratch[0]``,
    the other rows are room to work in.
    """
    a, b, c, d = live.label[v], live.label[v + 1], live.label[u], live.label[u + 1]
    here, there = live.first[problem.station[v]], live.first[problem.station[u]]
    count = 0
    for x in range(b - a):
        scratch[1, count] = x
        count += int(state.alive[a + x])
    for y in range(d - c):
        scratch[2, y] = state.messages[theirs + y] if state.alive[c + y] else -CLASH
    for _ in range(ROUNDS):
        if count == 0:
            return
        greatest = scratch[2, 0]
        for y in range(1, d - c):
            greatest = max(greatest, scratch[2, y])
        if greatest == -CLASH:
            return
        top = 0
        while scratch[2, top] < greatest:
            top += 1
        scratch[2, top] = -CLASH
        row, still = live.spots[there + top], 0
        for k in range(count):
            x = scratch[1, k]
            clash = clashes(problem.clash, row, live.spots[here + x])
            scratch[0, x] = scratch[0, x] if clash else -greatest
            scratch[1, still] = x
            still += int(clash)
        count = still
    for k in range(count):
        x = scratch[1, k]
        row, least = live.spots[here + x], scratch[0, x]
        for y in range(d - c):
            if -scratch[2, y] < least and not clashes(problem.clash, row, live.spots[there + y]):
                least = -scratch[2, y]
        scratch[0, x] = least


@bare
def least_same(
    problem: Problem, live: Living, e: int, to_visit: bool, alive: Bools, off: Ints, best: Ints
) -> None:
    """SAME: for each label of one end the least of -off over the living labels of the other that agree.

    ``alive`` and ``off`` are the other end's.
    """
    part = problem.block[e]
    visit = problem.ends[e, problem.rows[e]]
    begin = 0
    for k in range(problem.part[visit], part):
        s = problem.part_station[k]
        begin += problem.part_places[k] * (live.first[s + 1] - live.first[s])
    s, places = problem.part_station[part], problem.part_places[part]
    end = begin + places * (live.first[s + 1] - live.first[s])
    free = best[0]
    if to_visit:
        for x in range(len(alive)):
            if alive[x]:
                free = min(free, -off[x])
                for z in range(begin + x * places, begin + (x + 1) * places):
                    best[z] = -off[x]
        best[:begin] = free
        best[end:] = free
        return
    for z in range(len(alive)):
        if alive[z]:
            if begin <= z < end:
                x = (z - begin) // places
                best[x] = min(best[x], -off[z])
            else:
                free = min(free, -off[z])
    for x in range(len(best)):
        best[x] = min(best[x], free)


@bare_unit
def collect(problem: Problem, live: Living, state: State, e: int, side: int, scratch: Ints) -> None:
    """Move the least price of edge e for each label of one end into that label's theta.

    Labels without support at the other end die.
    """
    v, u = problem.ends[e, side], problem.ends[e, 1 - side]
    a, b, c, d = live.label[v], live.label[v + 1], live.label[u], live.label[u + 1]
    mine, theirs = live.at[e, side], live.at[e, 1 - side]
    alive, off = state.alive[c:d], state.messages[theirs : theirs + d - c]
    best = scratch[0, : b - a]
    best[:] = CLASH + CAP
    if problem.kind[e] in (PAIR, LEG):
        prices = live.prices[live.prices_at[e] : live.prices_at[e + 1]]
        if problem.rows[e] == side:
            least_over_columns(prices, d - c, alive, off, state.alive[a:b], best, scratch[2])
        else:
            least_over_rows(prices, b - a, alive, off, best)
    elif problem.kind[e] == APART:
        least_apart(problem, live, state, v, u, theirs, scratch)
    else:
        least_same(problem, live, e, problem.rows[e] == side, alive, off, best)
    living, theta, messages = state.alive[a:b], state.theta[a:b], state.messages[mine : mine + b - a]
    for x in range(b - a):
        value = min(best[x], CAP)
        living[x] = living[x] and best[x] < NO_SUPPORT
        theta[x] += value - messages[x]
        messages[x] = value
