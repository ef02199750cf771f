"""One sweep over the variables of a node, compiled: the work inside one node of the tree.

The problem (``relaxation/model.py``) is kept as a reparametrisation.  ``reduced[x]`` is what a label costs by
itself, an edge costs ``cost[x, y] - message(x) - message(y)``, and ``constant`` is what every choice
pays.  Whatever the messages hold, each choice keeps its total.  When all reduced costs and edges are at least
0 the constant is a lower bound, and at a variable whose edges have all been collected
``constant + reduced[x]`` bounds every choice that uses label x: its min-marginal.

A pass is a sweep over the variables in order and then one in reverse order (TRW-S; Kolmogorov 2006,
"Convergent tree-reweighted message passing for energy minimization", IEEE TPAMI 28(10), in its
collect-and-hand-on form).  ``relaxation/packing_multipliers.py`` and ``relaxation/rlt_multipliers.py`` have
what is paid on top of it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Floats, Longs
from footwork.arrange.relaxation.edge_minima import collect
from footwork.arrange.relaxation.model import CLASH, MOST_MESSAGE, Relaxation, Scratch, Whole
from footwork.arrange.relaxation.packing_multipliers import add_soft_cover, take_least
from footwork.arrange.relaxation.rlt_multipliers import RltWork, move_rlt_multipliers, note_best_places
from footwork.compiled.functions import NO, YES, bare, bare_unit
from footwork.compiled.records import record

FORWARD, BACKWARD = YES, NO
"""Directions of a sweep."""


@record
class PassSteps(NamedTuple):
    """How multipliers move in a pass.

    soft_cover, temperature   whether stations' soft choices are added up on the way forward, and how soft
    moves_rlt, rlt_step       whether RLT-1 multipliers move on the way backward, and how far, as a part of
                              the gap
    """

    soft_cover: bool
    temperature: float
    moves_rlt: bool
    rlt_step: float


@record
class SweepWork(NamedTuple):
    """What a sweep works with besides the node: the soft cover of each point, RLT-1 multipliers' needs, room
    to work in."""

    cover: Floats
    rlt: RltWork
    scratch: Scratch


@bare
def hand_on(node: Relaxation, v: int, forward: bool, unit: Longs) -> None:
    """Share a variable's reduced costs among its edges to the variables still to come, by their weights.

    What the edges to come weigh is divided by what those behind weigh when that is more (TRW-S gives each
    later edge 1 / max(earlier, later); here edges count as often as they weigh).
    """
    incidence, ends, sub, state = node.problem.incidence, node.problem.edges.ends, node.sub, node.state
    edges, sides, weight = incidence.edge, incidence.side, sub.edge_weight
    begin, end = incidence.begin[v], incidence.begin[v + 1]
    later, earlier = np.int64(0), np.int64(0)
    for k in range(begin, end):
        if ends[edges[k], 1 - sides[k]] > v:
            later += weight[edges[k]]
        else:
            earlier += weight[edges[k]]
    if (later if forward else earlier) == 0:
        return
    a, b = sub.label_begin[v], sub.label_begin[v + 1]
    parts = max(earlier, later)
    for x in range(b - a):
        unit[x] = state.reduced[a + x] // parts if state.active[a + x] else 0
    for k in range(begin, end):
        e, side = edges[k], sides[k]
        if weight[e] > 0 and (ends[e, 1 - side] > v) == forward:
            mine, own = sub.message_begin[e, side], weight[e]
            reduced, messages = state.reduced[a:b], state.messages[mine : mine + b - a]
            for x in range(b - a):
                part = min(own * unit[x], np.int64(messages[x]) + MOST_MESSAGE)
                messages[x] -= np.int32(part)
                reduced[x] -= part


@bare_unit
def sweep(
    node: Relaxation,
    forward: bool,
    every: bool,
    constant: Whole,
    cutoff: Whole,
    steps: PassSteps,
    work: SweepWork,
) -> Whole:
    """One direction of a pass over all variables; returns the constant, ``cutoff`` when none is left.

    ``every`` collects all edges (the first sweep of a node, whose messages come from elsewhere, and
    which therefore fixes nothing); otherwise only those from the variables just visited can have
    changed.  RLT-1 multipliers move in the backward direction: the forward one after it tells stations what
    visits gain by that.
    """
    problem, sub, state, scratch = node.problem, node.sub, node.state, work.scratch
    station, incidence, ends = problem.variables.station, problem.incidence, problem.edges.ends
    active, reduced, min_marginal = state.active, state.reduced, state.min_marginal
    n = len(station)
    for step in range(n):
        v = step if forward else n - 1 - step
        for k in range(incidence.begin[v], incidence.begin[v + 1]):
            e, side = incidence.edge[k], incidence.side[k]
            if sub.edge_weight[e] > 0 and (every or (ends[e, 1 - side] < v) == forward):
                collect(node, e, side, scratch)
        a, b = sub.label_begin[v], sub.label_begin[v + 1]
        least = take_least(active[a:b], reduced[a:b])
        if least >= CLASH:
            return cutoff
        constant += least
        if not every:
            for x in range(a, b):
                if active[x]:
                    min_marginal[x] = max(min_marginal[x], constant + reduced[x])
                    active[x] = min_marginal[x] < cutoff
        if steps.moves_rlt and station[v] < 0 and forward:
            note_best_places(node, v, work.rlt.scratch.best_place)
        elif steps.moves_rlt and station[v] >= 0 and not forward and not every:
            constant = move_rlt_multipliers(node, v, constant, cutoff, steps.rlt_step, work.rlt, scratch)
            if constant >= cutoff:
                return cutoff
        if steps.soft_cover and station[v] >= 0 and forward and not every:
            add_soft_cover(node, v, steps.temperature, work.rlt.packing, work.cover)
        hand_on(node, v, forward, scratch.unit)
    return constant
