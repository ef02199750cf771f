"""What each edge of a node is handed of its ends' reduced costs, compiled: by what its messages can tell.

An edge between stations whose active spots clash no more can tell nothing: its weight
(``Subproblem.edge_weight``) is 0 and it is left out.  What its messages hold goes back into the reduced costs
of its ends.
"""

from __future__ import annotations

import numpy as np

from footwork.arrange.core.arrays import Ints, Longs
from footwork.arrange.relaxation.model import (
    CHANNELLING,
    CLASH,
    CLASHES,
    LARGEST,
    LEG,
    Problem,
    Relaxation,
    Subproblem,
    Whole,
    clash,
)
from footwork.compiled.functions import bare, bare_unit, unit


@bare
def clash_count(problem: Problem, spots: Ints, first: Ints, e: int) -> Whole:
    """How many pairs of an edge's spots clash."""
    station, ends, clashes = problem.variables.station, problem.edges.ends, problem.pairs.clashes
    i, j = station[ends[e, 0]], station[ends[e, 1]]
    count: Whole = np.int64(0)
    for x in range(first[i], first[i + 1]):
        for y in range(first[j], first[j + 1]):
            count += int(clash(clashes, spots[x], spots[y]))
    return count


@bare
def weight_of(spread: float, clashing: float) -> Whole:
    """The weight of an edge: by the root of its costs' spread and the share of its pairs that clash."""
    return np.int64(max(1.0, 128.0 * spread**0.5 + 48.0 * clashing + 0.5))


@bare
def weight_by_costs(costs: Ints) -> Whole:
    """The weight of an edge with these costs."""
    total, least, count = np.int64(0), CLASH, 0
    for cost in costs:
        if cost < CLASH:
            total += cost
            least = min(least, cost)
            count += 1
    spread = (total / count - least) / LARGEST if count > 0 else 0.0
    return weight_of(spread, 1.0 - count / max(len(costs), 1))


@unit
def edge_weights(problem: Problem, spots: Ints, first: Ints, costs: Ints, cost_begin: Longs) -> Longs:
    """``Subproblem.edge_weight``: an edge weighs by what its messages can tell.

    That of a visit and a station that serves it weighs as the visit's legs.
    """
    edges, station = problem.edges, problem.variables.station
    weight = np.zeros(len(edges.kind), np.int64)
    of_visit = np.ones(len(station), np.int64)
    for e in range(len(edges.kind)):
        u, v = edges.ends[e]
        if edges.kind[e] == CLASHES:
            count = clash_count(problem, spots, first, e)
            i, j = station[u], station[v]
            pairs = (first[i + 1] - first[i]) * (first[j + 1] - first[j])
            if count > 0:
                weight[e] = weight_of(0.0, count / pairs)
        elif edges.kind[e] != CHANNELLING:
            weight[e] = weight_by_costs(costs[cost_begin[e] : cost_begin[e + 1]])
        if edges.kind[e] == LEG:
            of_visit[u], of_visit[v] = max(of_visit[u], weight[e]), max(of_visit[v], weight[e])
    for e in range(len(edges.kind)):
        if edges.kind[e] == CHANNELLING:
            weight[e] = of_visit[edges.ends[e, edges.visit_end[e]]]
    return weight


@bare_unit
def clear_free_edges(problem: Problem, sub: Subproblem, messages: Ints) -> None:
    """Leave them out of messages that come from elsewhere, which may be anything."""
    ends = problem.edges.ends
    for e in range(len(ends)):
        if sub.edge_weight[e] == 0:
            for side in range(2):
                v, at = ends[e, side], sub.message_begin[e, side]
                for x in range(sub.label_begin[v + 1] - sub.label_begin[v]):
                    messages[at + x] = 0


@bare_unit
def free_edges(node: Relaxation) -> Whole:
    """Leave them out of a node's state; returns what the constant gains by it.

    The greatest messages of both ends are no more than 0 together, since no edge costs less than 0.  Every
    reduced cost gains what its label's message is below the greatest, so none falls.
    """
    ends, sub, state = node.problem.edges.ends, node.sub, node.state
    gain = np.int64(0)
    for e in range(len(ends)):
        if sub.edge_weight[e] == 0:
            for side in range(2):
                v, at = ends[e, side], sub.message_begin[e, side]
                a, n = sub.label_begin[v], sub.label_begin[v + 1] - sub.label_begin[v]
                greatest = np.int64(-(1 << 40))
                for x in range(n):
                    if state.active[a + x]:
                        greatest = max(greatest, np.int64(state.messages[at + x]))
                for x in range(n):
                    state.reduced[a + x] += greatest - state.messages[at + x]
                    state.messages[at + x] = 0
                gain -= greatest
    return gain
