"""What a node of the tree works on, compiled: the prices of its living spots, gathered from a problem's.

Rows and columns of the pair table and blocks of metres are copied in runs, so that most of the work is
copying; gathered once more on fewer spots when some have died.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np

from footwork.arrange.core.arrays import Bools, Ints, Longs, Singles
from footwork.arrange.relaxation.edge_weights import draws
from footwork.arrange.relaxation.model import (
    CLASH,
    LEG,
    PAIR,
    Conditional,
    Living,
    Problem,
    State,
    Whole,
    fewer_labels,
    fewer_messages,
    labels_begin,
    messages_begin,
)
from footwork.compiled.functions import bare, inner, unit

Values = TypeVar("Values", Ints, Singles)


@unit
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


@unit
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


@unit
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


@unit
def living(problem: Problem, spots: Ints) -> tuple[Living, Longs]:
    """The problem on ``spots`` (ascending), and which of its labels those are."""
    first, picks = fewer_labels(problem, problem.first, spots)
    label = labels_begin(problem, first)
    at, _ = messages_begin(problem, label)
    prices, prices_at = gather_prices(problem, label, picks)
    draw = draws(problem, spots, first, prices, prices_at)
    return Living(spots, first, label, at, prices, prices_at, draw), picks


@unit
def living_spots(problem: Problem, live: Living, alive: Bools) -> Ints:
    """Places in ``live.spots`` of the spots whose own label lives, ascending."""
    mine = np.zeros(len(live.spots), np.bool_)
    for v in range(len(problem.station)):
        s = problem.station[v]
        if s >= 0:
            mine[live.first[s] : live.first[s + 1]] = alive[live.label[v] : live.label[v + 1]]
    return np.nonzero(mine)[0].astype(np.int32)


@unit
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
