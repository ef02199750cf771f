"""Message passing on a pair-table problem, compiled: the work inside one node of the tree.

The problem (``relaxation/model.py``) is kept as a reparametrisation.  ``theta[x]`` is what a label costs by
itself, an edge costs ``cost[x, y] - message(x) - message(y)``, and ``constant`` is what every choice
pays.  Whatever the messages hold, each choice keeps its total.  When all thetas and edges are at least
0 the constant is a lower bound, and at a variable whose edges have all been collected
``constant + theta[x]`` bounds every choice that uses label x.

A pass visits the variables in order and then in reverse order (TRW-S; Kolmogorov 2006, "Convergent
tree-reweighted message passing for energy minimization", IEEE TPAMI 28(10), in its collect-and-hand-on
form).  ``relaxation/packing_multipliers.py`` and ``relaxation/rlt_multipliers.py`` have what is paid on top
of it.
"""

from __future__ import annotations

import numpy as np

from footwork.arrange.core.arrays import Longs
from footwork.arrange.relaxation.edge_minima import collect
from footwork.arrange.relaxation.model import CAP, CLASH, Living, Problem, Scratch, State, Whole
from footwork.arrange.relaxation.packing_multipliers import FloorPoints, settle, soft_cover
from footwork.arrange.relaxation.rlt_multipliers import Room, Stars, move_star, note_places
from footwork.compiled.functions import bare, bare_unit


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


@bare_unit
def sweep(
    problem: Problem,
    live: Living,
    state: State,
    forward: bool,
    every: bool,
    constant: Whole,
    limit: Whole,
    floor: FloorPoints,
    stars: Stars,
    room: Room,
    scratch: Scratch,
) -> Whole:
    """One direction of a pass over all variables; returns the constant, ``limit`` when none is left.

    ``every`` collects all edges (the first sweep of a node, whose messages come from elsewhere, and
    which therefore fixes nothing); otherwise only those from the variables just visited can have
    changed.  ``floor`` is (heat, start, points, cover) for the rents' soft cover.  Conditional rents move as
    ``stars`` says, in a backward direction: the forward one after it tells stations what visits gain by that.
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
        if stars[0] > 0.0 and s < 0 and forward:
            note_places(problem, live, state, v, room)
        elif stars[0] > 0.0 and s >= 0 and not forward and not every:
            constant = move_star(problem, live, state, v, constant, limit, stars, room, scratch)
            if constant >= limit:
                return limit
        if heat > 0.0 and s >= 0:
            spots = live.spots[live.first[s] : live.first[s + 1]]
            soft_cover(state.alive[a:b], state.theta[a:b], problem.origin, spots, heat, start, points, cover)
        hand_on(problem, live, state, v, forward, scratch.unit)
    return constant
