"""Message passing on a pair-table problem, compiled: the work inside one node of the tree.

The problem (``living.py``) is kept as a reparametrisation.  ``theta[x]`` is what a label costs by
itself, an edge costs ``cost[x, y] - message(x) - message(y)``, and ``constant`` is what every choice
pays.  Whatever the messages hold, each choice keeps its total.  When all thetas and edges are at least
0 the constant is a lower bound, and at a variable whose edges have all been collected
``constant + theta[x]`` bounds every choice that uses label x.

A pass visits the variables in order and then in reverse order (TRW-S; Kolmogorov 2006,
"Convergent tree-reweighted message passing for energy minimization", IEEE TPAMI 28(10), in its
collect-and-hand-on form).  ``rents.py`` has what is paid on top of it.
"""

from __future__ import annotations

import numpy as np

from footwork.arrange.living import (
    APART,
    CAP,
    CLASH,
    LEG,
    NO_SUPPORT,
    PAIR,
    Living,
    Problem,
    Scratch,
    State,
    Whole,
    clashes,
)
from footwork.arrange.rents import FloorPoints, settle, soft_cover
from footwork.arrange.tables import Bools, Ints, Longs
from footwork.floor.compiled import bare, inner

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


@bare
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


@bare
def hand_on(problem: Problem, live: Living, state: State, v: int, forward: bool, unit: Longs) -> None:
    """Share a variable's thetas among its edges to the variables still to come, as those draw.

    What the edges to come draw is divided by what those behind draw when that is more (TRW-S gives each
    later edge 1 / max(earlier, later); here edges count as often as they draw).
    """
    begin, end = problem.near[v], problem.near[v + 1]
    later, earlier = np.int64(0), np.int64(0)
    for k in range(begin, end):
        if problem.ends[problem.edge[k], 1 - problem.side[k]] > v:
            later += live.draw[problem.edge[k]]
        else:
            earlier += live.draw[problem.edge[k]]
    if (later if forward else earlier) == 0:
        return
    a, b = live.label[v], live.label[v + 1]
    parts = max(earlier, later)
    for x in range(b - a):
        unit[x] = state.theta[a + x] // parts if state.alive[a + x] else 0
    for k in range(begin, end):
        e, side = problem.edge[k], problem.side[k]
        if live.draw[e] > 0 and (problem.ends[e, 1 - side] > v) == forward:
            mine, draw = live.at[e, side], live.draw[e]
            theta, messages = state.theta[a:b], state.messages[mine : mine + b - a]
            for x in range(b - a):
                part = min(draw * unit[x], np.int64(messages[x]) + CAP)
                messages[x] -= np.int32(part)
                theta[x] -= part


@bare
def sweep(
    problem: Problem,
    live: Living,
    state: State,
    forward: bool,
    every: bool,
    constant: Whole,
    limit: Whole,
    floor: FloorPoints,
    scratch: Scratch,
) -> Whole:
    """One direction of a pass over all variables; returns the constant, ``limit`` when none is left.

    ``every`` collects all edges (the first sweep of a node, whose messages come from elsewhere, and
    which therefore fixes nothing); otherwise only those from the variables just visited can have
    changed.  ``floor`` is (heat, start, points, cover) for the rents' soft cover.
    """
    n = len(problem.station)
    heat, start, points, cover = floor
    for step in range(n):
        v = step if forward else n - 1 - step
        for k in range(problem.near[v], problem.near[v + 1]):
            e, side = problem.edge[k], problem.side[k]
            if live.draw[e] > 0 and (every or (problem.ends[e, 1 - side] < v) == forward):
                collect(problem, live, state, e, side, scratch.least)
        a, b = live.label[v], live.label[v + 1]
        least = settle(state.alive[a:b], state.theta[a:b])
        if least >= CLASH:
            return limit
        constant += least
        if not every:
            for x in range(a, b):
                if state.alive[x]:
                    state.marginal[x] = max(state.marginal[x], constant + state.theta[x])
                    state.alive[x] = state.marginal[x] < limit
        s = problem.station[v]
        if heat > 0.0 and s >= 0:
            spots = live.spots[live.first[s] : live.first[s + 1]]
            soft_cover(state.alive[a:b], state.theta[a:b], problem.origin, spots, heat, start, points, cover)
        hand_on(problem, live, state, v, forward, scratch.unit)
    return constant


@inner
def decode(problem: Problem, live: Living, state: State, order: Longs) -> tuple[Ints, Longs]:
    """A choice read off the stations' thetas, one by one in ``order``, and what each paid above 0.

    Returns (place in the node's spots by station, reduced cost by station).
    """
    n = len(live.first) - 1
    label = np.zeros(n, np.int64)
    for v in range(len(problem.station)):
        if problem.station[v] >= 0:
            label[problem.station[v]] = live.label[v]
    chosen = np.full(n, -1, np.int32)
    paid = np.zeros(n, np.int64)
    for i in order:
        best = np.int64(1) << 40
        for x in range(live.first[i], live.first[i + 1]):
            local = x - live.first[i]
            if not state.alive[label[i] + local]:
                continue
            price = state.theta[label[i] + local]
            for j in range(n):
                y, e = chosen[j], problem.joined[i, j]
                if y >= 0 and e >= 0:
                    mine = 0 if problem.station[problem.ends[e, 0]] == i else 1
                    there = live.at[e, 1 - mine] + y - live.first[j]
                    price += np.int64(problem.pair[live.spots[y], live.spots[x]])
                    price -= state.messages[live.at[e, mine] + local] + state.messages[there]
            if price < best:
                best = price
                chosen[i] = x
        paid[i] = best
    return chosen, paid
