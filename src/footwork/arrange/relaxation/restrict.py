"""What a node of the tree works on, compiled: the costs of its active spots, gathered from a problem's.

Rows and columns of the pair table and blocks of metres are copied in runs, so that most of the work is
copying; gathered once more on fewer spots when some have been fixed out.
"""

from __future__ import annotations

from typing import NamedTuple, TypeVar

import numpy as np

from footwork.arrange.core.arrays import Ints, Longs, Singles
from footwork.arrange.relaxation.edge_weights import edge_weights
from footwork.arrange.relaxation.model import (
    CLASH,
    LEG,
    PAIR,
    Blocks,
    Problem,
    Relaxation,
    RltMultipliers,
    State,
    Subproblem,
    Whole,
    fewer_labels,
    fewer_messages,
    labels_begin,
    messages_begin,
)
from footwork.compiled.functions import bare, inner, unit
from footwork.compiled.records import record

Values = TypeVar("Values", Ints, Singles)


@record
class Runs(NamedTuple):
    """Stretches of consecutive numbers: the first number of each, and how many it has."""

    begin: Longs
    length: Longs


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
def blocks_begin(blocks: Blocks, label_begin: Longs) -> Longs:
    """Where each block's metres begin when variables' labels begin at ``label_begin``."""
    rows, columns = blocks.row_variable, blocks.column_variable
    begin = np.zeros(len(rows) + 1, np.int64)
    for k in range(len(rows)):
        u, v = rows[k], columns[k]
        size = (label_begin[u + 1] - label_begin[u]) * (label_begin[v + 1] - label_begin[v])
        begin[k + 1] = begin[k] + size
    return begin


@inner
def costs_begin(problem: Problem, label_begin: Longs) -> Longs:
    """Where the costs of each PAIR or LEG edge begin, and how many there are in all."""
    kind, ends = problem.edges.kind, problem.edges.ends
    begin = np.zeros(len(kind) + 1, np.int64)
    for e in range(len(kind)):
        u, v = ends[e]
        dense = kind[e] in (PAIR, LEG)
        size = (label_begin[u + 1] - label_begin[u]) * (label_begin[v + 1] - label_begin[v])
        begin[e + 1] = begin[e] + dense * size
    return begin


@unit
def gather_costs(problem: Problem, label_begin: Longs, labels: Longs) -> tuple[Ints, Longs]:
    """Costs of PAIR and LEG edges for these labels (numbers at full size), and where each edge's begin."""
    edges, blocks, first = problem.edges, problem.blocks, problem.first
    station, pair, metres = problem.variables.station, problem.pairs.costs, blocks.metres
    full = labels_begin(problem.variables, first)
    base, begin = blocks_begin(blocks, full), costs_begin(problem, label_begin)
    costs: Ints = np.empty(begin[-1], np.int32)
    for e in range(len(edges.kind)):
        if edges.kind[e] not in (PAIR, LEG):
            continue
        u, v = edges.ends[e, edges.row_end[e]], edges.ends[e, 1 - edges.row_end[e]]
        runs, out = runs_of(labels[label_begin[v] : label_begin[v + 1]] - full[v]), begin[e]
        for r in range(label_begin[u], label_begin[u + 1]):
            row = labels[r] - full[u]
            if edges.kind[e] == PAIR:
                i, j = first[station[u]], first[station[v]]
                out = copy_runs(pair[i + row], j, runs, costs, out)
            else:
                at = base[edges.block[e]] + row * (full[v + 1] - full[v])
                out = cost_runs(metres, at, runs, edges.metre_cost[e], costs, out)
    return costs, begin


@unit
def gather_blocks(problem: Problem, label_begin: Longs, labels: Longs) -> Blocks:
    """The blocks' rows and columns of these labels (numbers at full size)."""
    blocks = problem.blocks
    metres, rows, columns = blocks.metres, blocks.row_variable, blocks.column_variable
    full = labels_begin(problem.variables, problem.first)
    base = blocks_begin(blocks, full)
    fewer: Singles = np.empty(blocks_begin(blocks, label_begin)[-1], np.float32)
    out: Whole = np.int64(0)
    for k in range(len(rows)):
        u, v = rows[k], columns[k]
        runs = runs_of(labels[label_begin[v] : label_begin[v + 1]] - full[v])
        for r in range(label_begin[u], label_begin[u + 1]):
            at = base[k] + (labels[r] - full[u]) * (full[v + 1] - full[v])
            out = copy_runs(metres, at, runs, fewer, out)
    return Blocks(fewer, rows, columns)


@bare
def copy_runs(source: Values, at: Whole, runs: Runs, target: Values, out: Whole) -> Whole:
    """Copy a row's ``runs`` (as of ``runs_of``); the row begins at ``at``.  Returns where the copy ends."""
    begin, length = runs.begin, runs.length
    for k in range(len(begin)):
        for m in range(length[k]):
            target[out + m] = source[at + begin[k] + m]
        out += length[k]
    return out


@bare
def cost_runs(metres: Singles, at: Whole, runs: Runs, metre_cost: float, costs: Ints, out: Whole) -> Whole:
    """As ``copy_runs``, metres turned into costs."""
    begin, length = runs.begin, runs.length
    one, top = np.float32(metre_cost), np.float32(CLASH)
    for k in range(len(begin)):
        for m in range(length[k]):
            costs[out + m] = np.int32(min(one * metres[at + begin[k] + m], top))
        out += length[k]
    return out


@inner
def runs_of(numbers: Longs) -> Runs:
    """The stretches of ascending numbers."""
    begin, length = np.empty(len(numbers), np.int64), np.empty(len(numbers), np.int64)
    count = 0
    for k in range(len(numbers)):
        if k > 0 and numbers[k] == numbers[k - 1] + 1:
            length[count - 1] += 1
        else:
            begin[count], length[count] = numbers[k], 1
            count += 1
    return Runs(begin[:count], length[:count])


@unit
def subproblem(problem: Problem, spots: Ints) -> tuple[Subproblem, Longs]:
    """The problem on ``spots`` (ascending), and which of its labels those are."""
    first, labels = fewer_labels(problem.variables, problem.first, spots)
    label_begin = labels_begin(problem.variables, first)
    costs, begin = gather_costs(problem, label_begin, labels)
    made = Subproblem(
        spots=spots,
        first=first,
        label_begin=label_begin,
        message_begin=messages_begin(problem.edges, label_begin),
        costs=costs,
        cost_begin=begin,
        edge_weight=edge_weights(problem, spots, first, costs, begin),
    )
    return made, labels


@unit
def active_spots(node: Relaxation) -> Ints:
    """Places in ``Subproblem.spots`` of the spots whose own label is active, ascending."""
    station, sub, active = node.problem.variables.station, node.sub, node.state.active
    mine = np.zeros(len(sub.spots), np.bool_)
    for v in range(len(station)):
        s = station[v]
        if s >= 0:
            mine[sub.first[s] : sub.first[s + 1]] = active[sub.label_begin[v] : sub.label_begin[v + 1]]
    return np.nonzero(mine)[0].astype(np.int32)


@unit
def shrink(node: Relaxation, costs: bool) -> Relaxation:
    """A node's arrays on its active spots alone; without ``costs`` those are left out."""
    problem, sub, state, rlt = node.problem, node.sub, node.state, node.state.rlt
    keep = active_spots(node)
    spots = sub.spots[keep]
    first, labels = fewer_labels(problem.variables, sub.first, keep)
    label_begin = labels_begin(problem.variables, first)
    less = State(
        active=state.active[labels],
        messages=fewer_messages(problem.edges, sub.label_begin, label_begin, labels, state.messages, 0),
        reduced=state.reduced[labels],
        min_marginal=state.min_marginal[labels],
        rlt=RltMultipliers(rlt.number[keep], rlt.points[keep], rlt.value[keep], rlt.step_size[keep]),
    )
    if costs:
        return Relaxation(problem, subproblem(problem, spots)[0], less)
    at = messages_begin(problem.edges, label_begin)
    fewer = Subproblem(spots, first, label_begin, at, sub.costs[:0], sub.cost_begin, sub.edge_weight)
    return Relaxation(problem, fewer, less)
