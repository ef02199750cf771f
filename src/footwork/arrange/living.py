"""A pair-table problem in integers, and the part of it that a node of the tree works on, compiled.

Variables are the stations (labels: their spots) and, where a station can be worked from several
places, the visits (labels: a spot and one of its standing places).  Edges are of four kinds: PAIR
between two stations (a dense block of the pair table), APART between two stations that share no price
but may clash, LEG between the two ends of a walk (a dense block of metres, times a weight), SAME
between a visit and a station that may serve it (0 where the visit's spot is the station's, impossible
elsewhere; labels of other stations are free).

All prices are integers, so sums are exact: ``CLASH`` stands for a clash, messages stay within
``CAP``.
"""

from __future__ import annotations

from typing import NamedTuple, TypeVar

import numpy as np

from footwork.arrange.tables import Bools, Bytes, Ints, Longs, Shorts, Singles
from footwork.floor.compiled import bare, entry, inner

Whole = int | np.int64
Values = TypeVar("Values", Ints, Singles)

CLASH = np.int32(1 << 29)
CAP = np.int32(1 << 26)
NO_SUPPORT = np.int32(1 << 28)
PAIR, LEG, SAME, APART = range(4)
LARGEST = 1 << 23
"""The greatest price that is no clash."""
STEP_BITS = 9
MOST_POINTS = 48
"""Points that a spot has conditional rents for, at most."""


class Problem(NamedTuple):
    """A problem in integers, at full size.

    Its spots are those of the tables and patches of them (``patches.py``), at the least price of any.

    pair (spots, spots), first (stations + 1,)   as in ``Tables``, stations in the order of the passes
    clash (spots, spots / 8)   the pairs that clash, a bit each: small enough to stay near the processor
    station (variables,)     the station that a variable is, -1 for a visit
    part (variables + 1,)    where each variable's parts begin; part k has the spots of station
                             ``part_station[k]``, ``part_places[k]`` labels a spot (a station: itself, 1)
    unary (labels,)          own prices, variable by variable, part by part, spot by spot
    ends (edges, 2)          an edge's variables; kind (edges,)
    rows (edges,)            PAIR, LEG: which end has the rows of its block; SAME: which end is the visit
    block (edges,)           LEG: number of its block; SAME: number of the visit's part
    weight (edges,)          LEG: integer price of a metre
    near (variables + 1,)    where each variable's edges begin in ``edge``, ``side`` (which end it is)
    store, axes (blocks, 2)  metres row by row, infinite where there is no way, and the variables whose
                             labels are the rows and the columns
    joined (stations, stations)   the PAIR or APART edge of two stations, -1 where they have none
    origin (spots,)          the spots' numbers in the problem that this one was lifted from
    star (stations + 1,)     where each station's rays begin in ``ray`` (``conditional.py``)
    ray (rays, 4)            a PAIR or LEG edge, which end of it is the station's, the station at the other
                             end, and whether it is the first ray of the variable at the station's end
    """

    pair: Ints
    clash: Bytes
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
    star: Ints
    ray: Ints


class Living(NamedTuple):
    """The problem on the living spots of a node.

    ``spots`` are numbers in the problem, ``first`` where each station's begin here; ``label`` where each
    variable's labels begin, ``at`` (edges, 2) where each end's messages begin.  ``prices`` holds the blocks
    of PAIR and LEG edges, the rows of which are the end ``Problem.rows``; ``prices_at`` where each begins.
    ``draw`` (edges,) is how much of a variable's thetas an edge is handed, against its other edges: 0 where
    it can tell nothing, as its spots clash no more.
    """

    spots: Ints
    first: Ints
    label: Longs
    at: Longs
    prices: Ints
    prices_at: Longs
    draw: Longs


class Conditional(NamedTuple):
    """Conditional rents (``conditional.py``): for each of a node's spots the ``number`` of points that
    have one, the points, what they cost, and the ``pace`` at which that changes."""

    number: Ints
    points: Ints
    rents: Ints
    pace: Singles


class State(NamedTuple):
    """What a pass changes: by label, but ``messages`` as ``Living.at`` says, ``conditional`` by spot."""

    alive: Bools
    messages: Ints
    theta: Longs
    marginal: Longs
    conditional: Conditional


class Scratch(NamedTuple):
    """Room for a pass to work in, a place a label of one variable: three rows, and the units to hand on."""

    least: Ints
    unit: Longs


@inner
def scratch_for(label: Longs) -> Scratch:
    """Room enough where variables' labels begin at ``label``."""
    most = np.max(label[1:] - label[:-1])
    return Scratch(np.empty((3, most + 1), np.int32), np.empty(most, np.int64))


@entry
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


@entry
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


@inner
def clash_bits(pair: Ints) -> Bytes:
    """``Problem.clash`` of the prices ``pair``."""
    n = len(pair)
    bits = np.zeros((n, (n + 7) // 8), np.uint8)
    for x in range(n):
        for y in range(n):
            if pair[x, y] >= CLASH:
                bits[x, y >> 3] |= np.uint8(1 << (y & 7))
    return bits


@bare
def clashes(bits: Bytes, x: int, y: int) -> bool:
    """Whether spots x and y clash; ``bits`` is ``Problem.clash``."""
    return bool((bits[x, y >> 3] >> (y & 7)) & 1)


@inner
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


@inner
def fewer_messages(
    problem: Problem, label: Longs, less: Longs, picks: Longs, messages: Ints | Shorts, bits: int
) -> Ints:
    """The messages of the labels ``picks``, times 2^``bits``; ``label``, ``less``: where variables begin
    before, after."""
    at, _ = messages_begin(problem, label)
    new, total = messages_begin(problem, less)
    fewer: Ints = np.empty(total, np.int32)
    for e in range(len(problem.kind)):
        for side in range(2):
            v = problem.ends[e, side]
            shift = at[e, side] - label[v]
            for k in range(less[v], less[v + 1]):
                fewer[new[e, side] + k - less[v]] = np.int32(messages[picks[k] + shift]) << bits
    return fewer


@entry
def in_steps(messages: Ints) -> Shorts:
    """Messages in steps of 2^``STEP_BITS``, 2^-14 of the upper bound, cut where they are too great."""
    steps = np.empty(len(messages), np.int16)
    for k in range(len(messages)):
        steps[k] = min(max(messages[k] >> STEP_BITS, -(1 << 15)), (1 << 15) - 1)
    return steps


@inner
def gather(full: Ints, spots: Ints) -> Ints:
    """The rows and columns ``spots`` of the square matrix ``full``."""
    n = len(spots)
    small = np.empty((n, n), np.int32)
    for a in range(n):
        row = full[spots[a]]
        for b in range(n):
            small[a, b] = row[spots[b]]
    return small


@inner
def blocks_begin(problem: Problem, label: Longs) -> Longs:
    """Where each block of ``store`` begins when variables' labels begin at ``label``."""
    begin = np.zeros(len(problem.axes) + 1, np.int64)
    for k in range(len(problem.axes)):
        u, v = problem.axes[k]
        begin[k + 1] = begin[k] + (label[u + 1] - label[u]) * (label[v + 1] - label[v])
    return begin


@inner
def gather_prices(problem: Problem, label: Longs, picks: Longs) -> tuple[Ints, Longs]:
    """Prices of PAIR and LEG edges for the labels ``picks`` (numbers at full size), and where each begins."""
    full = labels_begin(problem, problem.first)
    base = blocks_begin(problem, full)
    edges = len(problem.kind)
    begin = np.zeros(edges + 1, np.int64)
    for e in range(edges):
        u, v = problem.ends[e]
        walked = problem.kind[e] in (PAIR, LEG)
        begin[e + 1] = begin[e] + walked * (label[u + 1] - label[u]) * (label[v + 1] - label[v])
    prices: Ints = np.empty(begin[-1], np.int32)
    for e in range(edges):
        if problem.kind[e] not in (PAIR, LEG):
            continue
        u, v = problem.ends[e, problem.rows[e]], problem.ends[e, 1 - problem.rows[e]]
        runs, out = runs_of(picks[label[v] : label[v + 1]] - full[v]), begin[e]
        for r in range(label[u], label[u + 1]):
            row = picks[r] - full[u]
            if problem.kind[e] == PAIR:
                i, j = problem.first[problem.station[u]], problem.first[problem.station[v]]
                out = copy_runs(problem.pair[i + row], j, runs, prices, out)
            else:
                at = base[problem.block[e]] + row * (full[v + 1] - full[v])
                out = price_runs(problem.store, at, runs, problem.weight[e], prices, out)
    return prices, begin


@inner
def gather_blocks(problem: Problem, label: Longs, picks: Longs) -> tuple[Singles, Longs]:
    """The blocks' rows and columns of the labels ``picks`` (numbers at full size), and where each begins."""
    full = labels_begin(problem, problem.first)
    base, begin = blocks_begin(problem, full), blocks_begin(problem, label)
    store: Singles = np.empty(begin[-1], np.float32)
    out: Whole = np.int64(0)
    for k in range(len(problem.axes)):
        u, v = problem.axes[k]
        runs = runs_of(picks[label[v] : label[v + 1]] - full[v])
        for r in range(label[u], label[u + 1]):
            at = base[k] + (picks[r] - full[u]) * (full[v + 1] - full[v])
            out = copy_runs(problem.store, at, runs, store, out)
    return store, begin


@bare
def copy_runs(source: Values, at: Whole, runs: Longs, target: Values, out: Whole) -> Whole:
    """Copy a row's ``runs`` (as of ``runs_of``); the row begins at ``at``.  Returns where the copy ends."""
    for k in range(len(runs)):
        for m in range(runs[k, 1]):
            target[out + m] = source[at + runs[k, 0] + m]
        out += runs[k, 1]
    return out


@bare
def price_runs(metres: Singles, at: Whole, runs: Longs, weight: float, prices: Ints, out: Whole) -> Whole:
    """As ``copy_runs``, metres turned into prices."""
    w, top = np.float32(weight), np.float32(CLASH)
    for k in range(len(runs)):
        for m in range(runs[k, 1]):
            prices[out + m] = np.int32(min(w * metres[at + runs[k, 0] + m], top))
        out += runs[k, 1]
    return out


@inner
def runs_of(numbers: Longs) -> Longs:
    """Stretches of consecutive numbers, (stretches, 2): first number and length."""
    runs = np.empty((len(numbers), 2), np.int64)
    count = 0
    for k in range(len(numbers)):
        if k > 0 and numbers[k] == numbers[k - 1] + 1:
            runs[count - 1, 1] += 1
        else:
            runs[count, 0], runs[count, 1] = numbers[k], 1
            count += 1
    return runs[:count]


@bare
def clash_count(problem: Problem, spots: Ints, first: Ints, e: int) -> Whole:
    """How many pairs of an edge's spots clash."""
    i, j = problem.station[problem.ends[e, 0]], problem.station[problem.ends[e, 1]]
    count: Whole = np.int64(0)
    for x in range(first[i], first[i + 1]):
        for y in range(first[j], first[j + 1]):
            count += int(clashes(problem.clash, spots[x], spots[y]))
    return count


@bare
def drawn(spread: float, clashing: float) -> Whole:
    """The draw of an edge: by the root of its prices' spread and the share of its pairs that clash."""
    return np.int64(max(1.0, 128.0 * spread**0.5 + 48.0 * clashing + 0.5))


@bare
def drawn_by_prices(prices: Ints) -> Whole:
    """The draw of an edge with these prices."""
    total, least, count = np.int64(0), CLASH, 0
    for price in prices:
        if price < CLASH:
            total += price
            least = min(least, price)
            count += 1
    spread = (total / count - least) / LARGEST if count > 0 else 0.0
    return drawn(spread, 1.0 - count / max(len(prices), 1))


@inner
def draws(problem: Problem, spots: Ints, first: Ints, prices: Ints, prices_at: Longs) -> Longs:
    """``Living.draw``: an edge draws by what its messages can tell.

    That of a visit and a station that serves it draws like the visit's legs.
    """
    draw = np.zeros(len(problem.kind), np.int64)
    of_visit = np.ones(len(problem.station), np.int64)
    for e in range(len(problem.kind)):
        u, v = problem.ends[e]
        if problem.kind[e] == APART:
            count = clash_count(problem, spots, first, e)
            i, j = problem.station[u], problem.station[v]
            pairs = (first[i + 1] - first[i]) * (first[j + 1] - first[j])
            if count > 0:
                draw[e] = drawn(0.0, count / pairs)
        elif problem.kind[e] != SAME:
            draw[e] = drawn_by_prices(prices[prices_at[e] : prices_at[e + 1]])
        if problem.kind[e] == LEG:
            of_visit[u], of_visit[v] = max(of_visit[u], draw[e]), max(of_visit[v], draw[e])
    for e in range(len(problem.kind)):
        if problem.kind[e] == SAME:
            draw[e] = of_visit[problem.ends[e, problem.rows[e]]]
    return draw


@inner
def living(problem: Problem, spots: Ints) -> tuple[Living, Longs]:
    """The problem on ``spots`` (ascending), and which of its labels those are."""
    first, picks = fewer_labels(problem, problem.first, spots)
    label = labels_begin(problem, first)
    at, _ = messages_begin(problem, label)
    prices, prices_at = gather_prices(problem, label, picks)
    draw = draws(problem, spots, first, prices, prices_at)
    return Living(spots, first, label, at, prices, prices_at, draw), picks


@inner
def living_spots(problem: Problem, live: Living, alive: Bools) -> Ints:
    """Places in ``live.spots`` of the spots whose own label lives, ascending."""
    mine = np.zeros(len(live.spots), np.bool_)
    for v in range(len(problem.station)):
        s = problem.station[v]
        if s >= 0:
            mine[live.first[s] : live.first[s + 1]] = alive[live.label[v] : live.label[v + 1]]
    return np.nonzero(mine)[0].astype(np.int32)


@inner
def shrink(problem: Problem, live: Living, state: State, blocks: bool) -> tuple[Living, State]:
    """A node's arrays on its living spots alone; without ``blocks`` they are left out."""
    keep = living_spots(problem, live, state.alive)
    spots = live.spots[keep]
    first, picks = fewer_labels(problem, live.first, keep)
    label = labels_begin(problem, first)
    messages = fewer_messages(problem, live.label, label, picks, state.messages, 0)
    rents = state.conditional
    fewer = Conditional(rents.number[keep], rents.points[keep], rents.rents[keep], rents.pace[keep])
    less = State(state.alive[picks], messages, state.theta[picks], state.marginal[picks], fewer)
    if blocks:
        return living(problem, spots)[0], less
    at, _ = messages_begin(problem, label)
    return Living(spots, first, label, at, live.prices[:0], live.prices_at, live.draw), less
