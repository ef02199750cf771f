"""Message passing on a pair-table problem, compiled: the work inside one node of the tree.

Variables are the stations (labels: their spots) and, where a station can be worked from several
places, the visits (labels: a spot and one of its standing places).  Edges are of four kinds: PAIR
between two stations (a dense block of the pair table), APART between two stations that share no price
but may clash, LEG between the two ends of a walk (a dense
block of metres, times a weight), SAME between a visit and a station that may serve it (0 where the
visit's spot is the station's, impossible elsewhere; labels of other stations are free).

The problem is kept as a reparametrisation.  ``theta[x]`` is what a label costs by itself, an edge
costs ``cost[x, y] - message(x) - message(y)``, and ``constant`` is what every choice pays.  Whatever
the messages hold, each choice keeps its total.  When all thetas and edges are at least 0 the constant
is a lower bound, and at a variable whose edges have all been collected ``constant + theta[x]`` bounds
every choice that uses label x.

A pass visits the variables in order and then in reverse order (TRW-S; Kolmogorov 2006,
"Convergent tree-reweighted message passing for energy minimization", IEEE TPAMI 28(10), in its
collect-and-hand-on form).  On top of it, rents: a price at least 0 for every point of the floor
that at most one footprint may cover, paid by each spot that covers it and handed back once.

All prices are integers, so sums are exact: ``CLASH`` stands for a clash, messages stay within
``CAP``.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit

from footwork.arrange.tables import Bools, Bytes, Floats, Ints, Longs, Singles

Whole = int | np.int64

FloorPoints = tuple[float, Ints, Ints, Floats]
"""(heat, start, points, cover) for the rents' soft cover; see ``soft_cover``."""
Shared = tuple[Ints, Ints, Longs]
"""start, points, capacity: what spots share, as in ``tree.Cover``."""

CLASH = np.int32(1 << 29)
CAP = np.int32(1 << 26)
NO_SUPPORT = np.int32(1 << 28)
PAIR, LEG, SAME, APART = range(4)


class Problem(NamedTuple):
    """A problem in integers, at full size.

    pair (spots, spots), first (stations + 1,)   as in ``Tables``, stations in the order of the passes
    station (variables,)     the station that a variable is, -1 for a visit
    part (variables + 1,)    where each variable's parts begin; part k has the spots of station
                             ``part_station[k]``, ``part_places[k]`` labels a spot (a station: itself, 1)
    unary (labels,)          own prices, variable by variable, part by part, spot by spot
    ends (edges, 2)          an edge's variables; kind (edges,)
    rows (edges,)            LEG: which end has the rows of its block; SAME: which end is the visit
    block (edges,)           LEG: number of its block; SAME: number of the visit's part
    weight (edges,)          LEG: integer price of a metre
    near (variables + 1,)    where each variable's edges begin in ``edge``, ``side`` (which end it is)
    store, axes (blocks, 2)  metres row by row, infinite where there is no way, and the variables whose
                             labels are the rows and the columns
    joined (stations, stations)   the PAIR or APART edge of two stations, -1 where they have none
    origin (spots,)          the spots' numbers in the problem that this one was lifted from
    """

    pair: Ints
    first: Ints
    station: Ints
    part: Ints
    part_station: Ints
    part_places: Ints
    unary: Longs
    ends: Ints
    kind: Bytes
    rows: Ints
    block: Ints
    weight: Singles
    near: Ints
    edge: Ints
    side: Ints
    store: Singles
    axes: Ints
    joined: Ints
    origin: Ints


class Living(NamedTuple):
    """The problem on the living spots of a node.

    ``spots`` are numbers in the problem, ``first`` where each station's begin here; ``label`` where each
    variable's labels begin, ``at`` (edges, 2) where each end's messages begin.  ``pair`` holds the blocks of
    PAIR edges (rows: the first end), ``pair_at`` where each begins; ``store``, ``store_at`` those
    of legs.
    """

    spots: Ints
    first: Ints
    label: Longs
    at: Longs
    pair: Ints
    pair_at: Longs
    store: Singles
    store_at: Longs


class State(NamedTuple):
    """What a pass changes: by label, but ``messages`` as ``Living.at`` says."""

    alive: Bools
    messages: Ints
    theta: Longs
    marginal: Longs


@njit(cache=True, nogil=True)
def labels_begin(problem: Problem, first: Ints) -> Longs:
    """Where the labels of each variable begin when station i has spots ``first[i]:first[i + 1]``."""
    n = len(problem.station)
    label = np.zeros(n + 1, np.int64)
    for v in range(n):
        label[v + 1] = label[v]
        for k in range(problem.part[v], problem.part[v + 1]):
            s = problem.part_station[k]
            label[v + 1] += problem.part_places[k] * (first[s + 1] - first[s])
    return label


@njit(cache=True, nogil=True)
def messages_begin(problem: Problem, label: Longs) -> tuple[Longs, Whole]:
    """Where the messages of each edge's ends begin, and how many there are."""
    at = np.zeros((len(problem.kind), 2), np.int64)
    total = np.int64(0)
    for e in range(len(problem.kind)):
        for side in range(2):
            at[e, side] = total
            v = problem.ends[e, side]
            total += label[v + 1] - label[v]
    return at, total


@njit(cache=True, nogil=True)
def fewer_labels(problem: Problem, first: Ints, keep: Ints) -> tuple[Ints, Longs]:
    """(first, labels) when only the spots ``keep`` (ascending) stay: where stations begin then, and which
    of the labels stay."""
    fewer = np.searchsorted(keep, first).astype(np.int32)
    label, less = labels_begin(problem, first), labels_begin(problem, fewer)
    picks = np.empty(less[-1], np.int64)
    count = 0
    for v in range(len(problem.station)):
        base = label[v]
        for k in range(problem.part[v], problem.part[v + 1]):
            s, places = problem.part_station[k], problem.part_places[k]
            for x in range(fewer[s], fewer[s + 1]):
                for p in range(places):
                    picks[count] = base + (keep[x] - first[s]) * places + p
                    count += 1
            base += places * (first[s + 1] - first[s])
    return fewer, picks


@njit(cache=True, nogil=True)
def fewer_messages(problem: Problem, label: Longs, less: Longs, picks: Longs, messages: Ints) -> Ints:
    """The messages of the labels ``picks``; ``label``, ``less``: where variables begin before, after."""
    at, _ = messages_begin(problem, label)
    new, total = messages_begin(problem, less)
    fewer: Ints = np.empty(total, np.int32)
    for e in range(len(problem.kind)):
        for side in range(2):
            v = problem.ends[e, side]
            shift = at[e, side] - label[v]
            for k in range(less[v], less[v + 1]):
                fewer[new[e, side] + k - less[v]] = messages[picks[k] + shift]
    return fewer


@njit(cache=True, nogil=True)
def gather(full: Ints, spots: Ints) -> Ints:
    """The rows and columns ``spots`` of the square matrix ``full``."""
    n = len(spots)
    small = np.empty((n, n), np.int32)
    for a in range(n):
        row = full[spots[a]]
        for b in range(n):
            small[a, b] = row[spots[b]]
    return small


@njit(cache=True, nogil=True)
def gather_pairs(problem: Problem, first: Ints, spots: Ints) -> tuple[Ints, Longs]:
    """The blocks of PAIR edges on the living spots, and where each begins."""
    edges = len(problem.kind)
    begin = np.zeros(edges + 1, np.int64)
    for e in range(edges):
        begin[e + 1] = begin[e]
        if problem.kind[e] == PAIR:
            i, j = problem.station[problem.ends[e, 0]], problem.station[problem.ends[e, 1]]
            begin[e + 1] += (first[i + 1] - first[i]) * (first[j + 1] - first[j])
    small: Ints = np.empty(begin[-1], np.int32)
    for e in range(edges):
        if problem.kind[e] == PAIR:
            i, j = problem.station[problem.ends[e, 0]], problem.station[problem.ends[e, 1]]
            at = begin[e]
            for x in range(first[i], first[i + 1]):
                row = problem.pair[spots[x]]
                for y in range(first[j], first[j + 1]):
                    small[at] = row[spots[y]]
                    at += 1
    return small, begin


@njit(cache=True, nogil=True)
def gather_blocks(problem: Problem, label: Longs, picks: Longs) -> tuple[Singles, Longs]:
    """The blocks' rows and columns of the labels ``picks`` (numbers at full size), and where each begins."""
    full = labels_begin(problem, problem.first)
    blocks = len(problem.axes)
    begin = np.zeros(blocks + 1, np.int64)
    for k in range(blocks):
        u, v = problem.axes[k]
        begin[k + 1] = begin[k] + (label[u + 1] - label[u]) * (label[v + 1] - label[v])
    store = np.empty(begin[-1], np.float32)
    base, out = np.int64(0), np.int64(0)
    for k in range(blocks):
        u, v = problem.axes[k]
        columns = full[v + 1] - full[v]
        for r in range(label[u], label[u + 1]):
            row = base + (picks[r] - full[u]) * columns - full[v]
            for c in range(label[v], label[v + 1]):
                store[out] = problem.store[row + picks[c]]
                out += 1
        base += (full[u + 1] - full[u]) * columns
    return store, begin


@njit(cache=True, nogil=True)
def living(problem: Problem, spots: Ints) -> tuple[Living, Longs]:
    """The problem on ``spots`` (ascending), and which of its labels those are."""
    first, picks = fewer_labels(problem, problem.first, spots)
    label = labels_begin(problem, first)
    at, _ = messages_begin(problem, label)
    store, store_at = gather_blocks(problem, label, picks)
    pair, pair_at = gather_pairs(problem, first, spots)
    return Living(spots, first, label, at, pair, pair_at, store, store_at), picks


@njit(cache=True, nogil=True)
def least_pair(block: Ints, columns: int, by_row: bool, alive: Bools, off: Ints, best: Ints) -> None:
    """PAIR: for each label of one end the least of price - off over the living labels of the other.

    ``by_row``: the labels are the block's rows.  ``alive`` and ``off`` are the other end's.
    """
    if by_row:
        offset = np.where(alive, off, -CLASH)
        for r in range(len(best)):
            row, least = block[r * columns : (r + 1) * columns], best[r]
            for c in range(columns):
                least = min(least, np.int32(row[c] - offset[c]))
            best[r] = least
        return
    for r in range(len(alive)):
        if alive[r]:
            row, shift = block[r * columns : (r + 1) * columns], off[r]
            for c in range(columns):
                best[c] = min(best[c], np.int32(row[c] - shift))


@njit(cache=True, nogil=True)
def least_apart(
    pair: Ints, here: Ints, mine: Bools, there: Ints, alive: Bools, off: Ints, best: Ints
) -> None:
    """APART: for each living spot ``here`` the least of -off over those of ``there`` it does not clash with.

    Most do not clash with the best of all; only the others are looked at one by one.
    """
    offset = np.where(alive, off, -CLASH)
    top = np.argmax(offset)
    row = pair[there[top]]
    for x in range(len(here)):
        if not mine[x]:
            continue
        if row[here[x]] < CLASH:
            best[x] = -offset[top]
            continue
        own, least = pair[here[x]], best[x]
        for y in range(len(there)):
            least = min(least, np.int32(own[there[y]] - offset[y]))
        best[x] = least


@njit(cache=True, nogil=True)
def least_over_rows(block: Singles, columns: int, weight: float, alive: Bools, off: Ints, best: Ints) -> None:
    """best[c] = least over living rows r of price[r, c] - off[r]."""
    w, top = np.float32(weight), np.float32(CLASH)
    for r in range(len(alive)):
        if alive[r]:
            row, offset = block[r * columns : (r + 1) * columns], off[r]
            for c in range(columns):
                best[c] = min(best[c], np.int32(np.int32(min(w * row[c], top)) - offset))


@njit(cache=True, nogil=True)
def least_over_columns(
    block: Singles, columns: int, weight: float, alive: Bools, off: Ints, mine: Bools, best: Ints
) -> None:
    """best[r] = least over living columns c of price[r, c] - off[c], for the rows in ``mine``."""
    w, top = np.float32(weight), np.float32(CLASH)
    offset = np.where(alive, off, -CLASH)
    for r in range(len(mine)):
        if mine[r]:
            row = block[r * columns : (r + 1) * columns]
            least = best[r]
            for c in range(columns):
                least = min(least, np.int32(np.int32(min(w * row[c], top)) - offset[c]))
            best[r] = least


@njit(cache=True, nogil=True)
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


@njit(cache=True, nogil=True)
def collect(problem: Problem, live: Living, state: State, e: int, side: int, scratch: Ints) -> None:
    """Move the least price of edge e for each label of one end into that label's theta.

    Labels without support at the other end die.
    """
    v, u = problem.ends[e, side], problem.ends[e, 1 - side]
    a, b, c, d = live.label[v], live.label[v + 1], live.label[u], live.label[u + 1]
    mine, theirs = live.at[e, side], live.at[e, 1 - side]
    alive, off = state.alive[c:d], state.messages[theirs : theirs + d - c]
    best = scratch[: b - a]
    best[:] = CLASH + CAP
    if problem.kind[e] == PAIR:
        pairs = live.pair[live.pair_at[e] : live.pair_at[e + 1]]
        least_pair(pairs, d - c if side == 0 else b - a, side == 0, alive, off, best)
    elif problem.kind[e] == APART:
        i, j = problem.station[v], problem.station[u]
        here = live.spots[live.first[i] : live.first[i + 1]]
        there = live.spots[live.first[j] : live.first[j + 1]]
        least_apart(problem.pair, here, state.alive[a:b], there, alive, off, best)
    elif problem.kind[e] == LEG:
        k = problem.block[e]
        block = live.store[live.store_at[k] : live.store_at[k + 1]]
        if problem.rows[e] == side:
            least_over_columns(block, d - c, problem.weight[e], alive, off, state.alive[a:b], best)
        else:
            least_over_rows(block, b - a, problem.weight[e], alive, off, best)
    else:
        least_same(problem, live, e, problem.rows[e] == side, alive, off, best)
    for x in range(b - a):
        value = min(best[x], CAP)
        if best[x] >= NO_SUPPORT:
            state.alive[a + x] = False
        state.theta[a + x] += value - state.messages[mine + x]
        state.messages[mine + x] = value


@njit(cache=True, nogil=True)
def settle(alive: Bools, theta: Longs) -> Whole:
    """Take the least theta of a variable out of its thetas; returns it (CLASH when no label lives)."""
    least = np.int64(CLASH)
    for x in range(len(theta)):
        if alive[x] and theta[x] < least:
            least = theta[x]
    for x in range(len(theta)):
        theta[x] -= least
    return least


@njit(cache=True, nogil=True)
def hand_on(problem: Problem, live: Living, state: State, v: int, forward: bool) -> None:
    """Share a variable's thetas among its edges to the variables still to come."""
    begin, end = problem.near[v], problem.near[v + 1]
    later = 0
    for k in range(begin, end):
        if problem.ends[problem.edge[k], 1 - problem.side[k]] > v:
            later += 1
    earlier = end - begin - later
    if (later if forward else earlier) == 0:
        return
    a, b = live.label[v], live.label[v + 1]
    share = np.where(state.alive[a:b], state.theta[a:b] // max(earlier, later), 0)
    for k in range(begin, end):
        e, side = problem.edge[k], problem.side[k]
        if (problem.ends[e, 1 - side] > v) == forward:
            mine = live.at[e, side]
            for x in range(b - a):
                if share[x] > 0:
                    part = min(share[x], np.int64(state.messages[mine + x]) + CAP)
                    state.messages[mine + x] -= np.int32(part)
                    state.theta[a + x] -= part


@njit(cache=True, nogil=True)
def soft_cover(
    alive: Bools, theta: Longs, spots: Ints, heat: float, start: Ints, points: Ints, cover: Floats
) -> None:
    """Add a station's soft choice (weights exp(-theta / heat)) to the cover of each floor point."""
    total = 0.0
    for x in range(len(spots)):
        if alive[x]:
            total += np.exp(-theta[x] / heat)
    for x in range(len(spots)):
        if alive[x]:
            weight = np.exp(-theta[x] / heat) / total
            if weight > 1e-4:
                for k in range(start[spots[x]], start[spots[x] + 1]):
                    cover[points[k]] += weight


@njit(cache=True, nogil=True)
def sweep(
    problem: Problem,
    live: Living,
    state: State,
    forward: bool,
    every: bool,
    constant: Whole,
    limit: Whole,
    floor: FloorPoints,
) -> Whole:
    """One direction of a pass over all variables; returns the constant, ``limit`` when none is left.

    ``every`` collects all edges (the first sweep of a node, whose messages come from elsewhere, and
    which therefore fixes nothing); otherwise only those from the variables just visited can have
    changed.  ``floor`` is (heat, start, points, cover) for the rents' soft cover.
    """
    n = len(problem.station)
    heat, start, points, cover = floor
    scratch: Ints = np.empty(np.max(live.label[1:] - live.label[:-1]), np.int32)
    for step in range(n):
        v = step if forward else n - 1 - step
        for k in range(problem.near[v], problem.near[v + 1]):
            e, side = problem.edge[k], problem.side[k]
            if every or (problem.ends[e, 1 - side] < v) == forward:
                collect(problem, live, state, e, side, scratch)
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
            spots = problem.origin[live.spots[live.first[s] : live.first[s + 1]]]
            soft_cover(state.alive[a:b], state.theta[a:b], spots, heat, start, points, cover)
        hand_on(problem, live, state, v, forward)
    return constant


@njit(cache=True, nogil=True)
def move_rents(
    problem: Problem,
    live: Living,
    state: State,
    rents: Longs,
    drift: Floats,
    cover: Floats,
    shared: Shared,
    gap: float,
    pace: float,
) -> Whole:
    """Move the rents by the excess of the soft cover; returns the change of the constant.

    Subgradient step of length ``pace`` * gap / |excess|^2, averaged with the steps before it, each
    change at most a tenth of the gap.  Thetas are settled again, so that all are at least 0.
    """
    start, points, capacity = shared
    square = 0.0
    for c in range(len(rents)):
        excess = cover[c] - capacity[c]
        if rents[c] == 0 and excess < 0.0:
            excess = 0.0
        drift[c] = 0.5 * drift[c] + 0.5 * excess
        square += drift[c] * drift[c]
    if square < 1e-9:
        return np.int64(0)
    change = np.zeros(len(rents), np.int64)
    constant = np.int64(0)
    scale = pace * gap / square
    for c in range(len(rents)):
        step = min(max(scale * drift[c], -0.1 * gap), 0.1 * gap)
        new = max(np.int64(0), rents[c] + np.int64(step))
        change[c] = new - rents[c]
        rents[c] = new
        constant -= change[c] * capacity[c]
    for v in range(len(problem.station)):
        s = problem.station[v]
        if s < 0:
            continue
        a, b = live.label[v], live.label[v + 1]
        for x in range(b - a):
            spot = problem.origin[live.spots[live.first[s] + x]]
            for k in range(start[spot], start[spot + 1]):
                state.theta[a + x] += change[points[k]]
        least = settle(state.alive[a:b], state.theta[a:b])
        if least < CLASH:
            constant += least
    return constant


@njit(cache=True, nogil=True)
def living_spots(problem: Problem, live: Living, alive: Bools) -> Ints:
    """Places in ``live.spots`` of the spots whose own label lives, ascending."""
    mine = np.zeros(len(live.spots), np.bool_)
    for v in range(len(problem.station)):
        s = problem.station[v]
        if s >= 0:
            mine[live.first[s] : live.first[s + 1]] = alive[live.label[v] : live.label[v + 1]]
    return np.nonzero(mine)[0].astype(np.int32)


@njit(cache=True, nogil=True)
def shrink(problem: Problem, live: Living, state: State) -> tuple[Living, State]:
    """A node's arrays on its living spots alone."""
    keep = living_spots(problem, live, state.alive)
    less, _ = living(problem, live.spots[keep])
    _, picks = fewer_labels(problem, live.first, keep)
    messages = fewer_messages(problem, live.label, less.label, picks, state.messages)
    return less, State(state.alive[picks], messages, state.theta[picks], state.marginal[picks])


@njit(cache=True, nogil=True)
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
