"""The work inside one node of the tree: passes, fixing and multipliers until they stop paying."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from footwork.arrange.branch_and_bound.frontier import Handed
from footwork.arrange.core.arrays import Bools, Floats, Ints, Longs
from footwork.arrange.relaxation.edge_weights import clear_free_edges, free_edges
from footwork.arrange.relaxation.model import (
    LEG,
    PAIR,
    STEP_BITS,
    Problem,
    Relaxation,
    RltMultipliers,
    State,
    Subproblem,
    Whole,
    fewer_labels,
    fewer_messages,
    in_steps,
    labels_begin,
    scratch_for,
)
from footwork.arrange.relaxation.packing_multipliers import (
    PackingMultipliers,
    PackingPoints,
    move_packing_multipliers,
)
from footwork.arrange.relaxation.restrict import active_spots, shrink, subproblem
from footwork.arrange.relaxation.rlt_multipliers import (
    RltWork,
    charge_all,
    covering_of,
    packed,
    refund,
    rlt_scratch_for,
    unpacked,
)
from footwork.arrange.relaxation.rounding import decode
from footwork.arrange.relaxation.trws import BACKWARD, FORWARD, PassSteps, SweepWork, sweep
from footwork.arrange.tightening.compulsory import Tightening
from footwork.arrange.tightening.tighten import tighten_labels, tightened
from footwork.compiled.functions import NO, YES, bare_unit, entry, inner, unit
from footwork.compiled.records import record

QUICK_PASSES = 2
"""Passes before walks to doors are tightened, which half of the nodes don't live to see."""
FALL = 0.1
"""What is left of a step in the last pass where RLT-1 multipliers move: long steps show that spots are too
dear, short ones keep what has been gained."""
TEMPERATURE = 0.015
"""Temperature of a station's soft choice, as a part of the gap."""
PATIENCE, LEAST_GAIN = 4, 0.05
"""So many passes that gain less than this part of the gap are the last."""
SHRINK_OF, SHRINK_FROM = 12, 11
"""Arrays are gathered anew once no more than 11 of 12 spots are active."""
TIGHTEN_OF, TIGHTEN_FROM = 5, 4
"""Walks are tightened once more when no more than 4 of 5 spots are left of those they were tightened for."""


@record
class PassRules(NamedTuple):
    """How a node's passes are made.

    passes                 the most of them
    packing_step           step size of the packing multipliers, as a part of the gap
    moves_rlt, rlt_step    whether RLT-1 multipliers move, and their step size
    """

    passes: int
    packing_step: float
    moves_rlt: bool
    rlt_step: float


@record
class NodeState(NamedTuple):
    """A node's relaxation, the constant that goes with its state, and the best bound on the way there."""

    relaxation: Relaxation
    constant: Whole
    bound: Whole


@record
class NodeResult(NamedTuple):
    """What is found in a node.

    bound, spots              its bound, and its spots, as numbers in its problem
    handed                    what it hands to its children
    min_marginal (spots,)     the bound of every choice that uses a spot
    decoded                   spots of a choice read off it, or none
    decoded_reduced           reduced cost of each station's spot in that
    """

    bound: Whole
    spots: Ints
    handed: Handed
    min_marginal: Longs
    decoded: Ints
    decoded_reduced: Longs


@unit
def reduced_costs(
    problem: Problem, sub: Subproblem, labels: Longs, messages: Ints, rlt: RltMultipliers,
    multipliers: Longs, packing: PackingPoints,
) -> Longs:  # fmt: skip
    """Reduced costs of a node: own costs, messages, refunds and packing multipliers of its labels, which are
    ``labels`` at full size."""
    incidence, station, origin = problem.incidence, problem.variables.station, problem.origin
    start, points, at = packing.start, packing.points, sub.message_begin
    reduced = problem.unary[labels]
    for v in range(len(station)):
        a, b = sub.label_begin[v], sub.label_begin[v + 1]
        for k in range(incidence.begin[v], incidence.begin[v + 1]):
            mine = at[incidence.edge[k], incidence.side[k]]
            for x in range(b - a):
                reduced[a + x] += messages[mine + x]
        s = station[v]
        if s >= 0:
            for x in range(b - a):
                reduced[a + x] -= refund(rlt, sub.first[s] + x)
                spot = origin[sub.spots[sub.first[s] + x]]
                for k in range(start[spot], start[spot + 1]):
                    reduced[a + x] += multipliers[points[k]]
    return reduced


@inner
def some_station_is_empty(first: Ints) -> bool:
    """Whether a station has no active spot left."""
    return bool(np.any(first[1:] == first[:-1]))


@bare_unit
def there_and_back(
    node: Relaxation, constant: Whole, cutoff: Whole, steps: PassSteps, work: SweepWork
) -> Whole:
    """One pass: backward, then forward with the soft cover of the floor; returns the constant."""
    constant = sweep(node, BACKWARD, NO, constant, cutoff, steps, work)
    if constant >= cutoff:
        return constant
    work.cover[:] = 0.0
    return sweep(node, FORWARD, NO, constant, cutoff, steps, work)


@inner
def sweep_work(node: Relaxation, packing: PackingPoints, cover: Floats, covering: bool) -> SweepWork:
    """What sweeps of a node work with; which spots cover each point only where ``covering``."""
    problem, sub = node.problem, node.sub
    rlt = RltWork(
        packing, covering_of(problem, sub, packing, covering), rlt_scratch_for(problem, sub, packing)
    )
    return SweepWork(cover, rlt, scratch_for(sub.label_begin))


@inner
def step_part(number: int, passes: int, moves_rlt: bool) -> float:
    """Part of a step that is made after pass ``number``: all of it in the first half of the passes, and where
    RLT-1 multipliers move less and less in the second."""
    return float(FALL ** max(0.0, 2.0 * number / passes - 1.0)) if moves_rlt else 1.0


@entry
def make_passes(
    start: NodeState, multipliers: Longs, packing: PackingPoints, cutoff: Whole, rules: PassRules, last: bool,
    fresh: bool,
) -> NodeState:  # fmt: skip
    """Passes, fixing and multipliers from messages that may come from elsewhere.

    ``PATIENCE`` passes that gain little are the last, where RLT-1 multipliers move after a quarter of them.
    Costs of ``fresh`` arrays are still to be charged (``relaxation/rlt_multipliers.py``).  A bound of
    ``cutoff`` says that the node is done with.  After the ``last`` passes on a problem only what is active is
    left, without its blocks.
    """
    node, constant, passes, moves_rlt = start.relaxation, start.constant, rules.passes, rules.moves_rlt
    points, some_points = len(multipliers), len(multipliers) > 0
    moved = PackingMultipliers(multipliers, np.zeros(points), np.zeros(points))
    work = sweep_work(node, packing, moved.cover, moves_rlt)
    if fresh:
        charge_all(node, work.rlt)
    steps = PassSteps(some_points, 1.0, moves_rlt, rules.rlt_step)
    constant = sweep(node, FORWARD, YES, constant, cutoff, steps, work)
    best, earlier = constant, constant
    patience = passes // 4 if moves_rlt else 0
    for number in range(passes):
        if constant >= cutoff:
            return NodeState(node, np.int64(cutoff), np.int64(cutoff))
        if len(active_spots(node)) * SHRINK_OF <= len(node.sub.spots) * SHRINK_FROM:
            node = shrink(node, YES)
            covering = covering_of(node.problem, node.sub, packing, moves_rlt)
            work = SweepWork(moved.cover, RltWork(packing, covering, work.rlt.scratch), work.scratch)
            work.rlt.scratch.best_place[:] = 0
            charge_all(node, work.rlt)
            constant += free_edges(node)
        part = step_part(number, passes, moves_rlt)
        temperature = TEMPERATURE * np.float64(cutoff - constant) + 1.0
        steps = PassSteps(some_points, temperature, moves_rlt, part * rules.rlt_step)
        constant = there_and_back(node, constant, cutoff, steps, work)
        best = max(best, constant)
        if number % PATIENCE == PATIENCE - 1:
            if number >= patience and np.float64(best - earlier) < LEAST_GAIN * np.float64(cutoff - best):
                break
            earlier = best
        if constant < cutoff and some_points and number < passes - 1:
            gap = np.float64(cutoff - constant)
            constant += move_packing_multipliers(node, moved, packing, gap, part * rules.packing_step)
    if best < cutoff and last:
        node = shrink(node, NO)
        if some_station_is_empty(node.sub.first):
            best = np.int64(cutoff)
    return NodeState(node, constant, best)


@entry
def walked_pairs(state: NodeState) -> Whole:
    """How many pairs of a node's labels are walked between."""
    edges, label = state.relaxation.problem.edges, state.relaxation.sub.label_begin
    count: Whole = np.int64(0)
    for e in range(len(edges.kind)):
        if edges.kind[e] in (PAIR, LEG):
            u, v = edges.ends[e]
            count += (label[u + 1] - label[u]) * (label[v + 1] - label[v])
    return count


@entry
def few_have_gone(state: NodeState) -> bool:
    """Whether a node has most of the spots of its problem still."""
    node = state.relaxation
    return len(node.sub.spots) * TIGHTEN_OF > len(node.problem.origin) * TIGHTEN_FROM


@unit
def begun(
    problem: Problem, spots: Ints, active: Bools, messages: Ints, rlt: RltMultipliers, multipliers: Longs,
    packing: PackingPoints,
) -> NodeState:  # fmt: skip
    """A node at its start.  Its constant are the multipliers, handed back as often as they may be paid."""
    sub, labels = subproblem(problem, spots)
    clear_free_edges(problem, sub, messages)
    reduced = reduced_costs(problem, sub, labels, messages, rlt, multipliers, packing)
    state = State(active, messages, reduced, np.zeros(len(reduced), np.int64), rlt)
    constant = -np.sum(multipliers * packing.capacity)
    return NodeState(Relaxation(problem, sub, state), constant, np.int64(0))


@entry
def opened(
    problem: Problem, spots: Ints, pick: Ints, parent: Handed, multipliers: Longs, packing: PackingPoints
) -> NodeState:
    """A child at its start; its ``spots`` take the places ``pick`` of its parent's."""
    fewer, labels = fewer_labels(problem.variables, parent.first, pick)
    before, after = labels_begin(problem.variables, parent.first), labels_begin(problem.variables, fewer)
    messages = fewer_messages(problem.edges, before, after, labels, parent.steps, STEP_BITS)
    rlt = unpacked(parent.rlt, parent.first[-1], pick)
    return begun(problem, spots, parent.active[labels], messages, rlt, multipliers, packing)


@entry
def on_tightened(
    root: Problem, node: NodeState, cutoff: Whole, tightening: Tightening, multipliers: Longs,
    packing: PackingPoints,
) -> NodeState:  # fmt: skip
    """A node at the start of work on its tightened problem."""
    state = node.relaxation.state
    problem = tightened(root, node.relaxation, node.constant, cutoff, tightening)
    every = np.arange(len(node.relaxation.sub.spots)).astype(np.int32)
    return begun(problem, every, state.active, state.messages, state.rlt, multipliers, packing)


@entry
def tighten_walks_to_doors(node: NodeState, tightening: Tightening) -> None:
    tighten_labels(node.relaxation, tightening)


@inner
def least_cost(problem: Problem, spots: Ints) -> Whole:
    """What a choice, a spot a station, costs by its stations' own costs and their pairs."""
    station, pair = problem.variables.station, problem.pairs.costs
    label = labels_begin(problem.variables, problem.first)
    cost = np.int64(0)
    for v in range(len(station)):
        s = station[v]
        if s >= 0:
            cost += problem.unary[label[v] + spots[s] - problem.first[s]]
    for i in range(len(spots)):
        for j in range(i):
            cost += np.int64(pair[spots[i], spots[j]])
    return cost


@inner
def spot_min_marginals(node: Relaxation) -> Longs:
    """The min-marginals of the stations' own labels."""
    station, sub = node.problem.variables.station, node.sub
    found = np.zeros(len(sub.spots), np.int64)
    for v in range(len(station)):
        s = station[v]
        if s >= 0:
            theirs = node.state.min_marginal[sub.label_begin[v] : sub.label_begin[v + 1]]
            found[sub.first[s] : sub.first[s + 1]] = theirs
    return found


@entry
def result_of(ended: NodeState, bound: Whole, cutoff: Whole, incumbent: Whole) -> NodeResult:
    """What is found in a worked node; ``bound`` is ``cutoff`` when it is done with.

    A choice is read off that one too: it costs the cutoff or more, but perhaps less than the incumbent.  Only
    such a one is handed on.
    """
    node = ended.relaxation
    sub, state = node.sub, node.state
    done = bound >= cutoff
    if done:
        state.active[:] = True
    decoded, reduced = sub.spots[:0], np.zeros(len(sub.first) - 1, np.int64)
    if not some_station_is_empty(sub.first):
        found = decode(node, np.argsort(sub.first[1:] - sub.first[:-1]))
        reduced = found.reduced
        if np.all(found.chosen >= 0):
            about = cutoff if done else bound + np.sum(reduced)
            spots = sub.spots[found.chosen]
            if max(about, least_cost(node.problem, spots)) < incumbent:
                decoded = spots
    steps, rlt = in_steps(state.messages[:0]), sub.spots[:0]
    min_marginal = np.zeros(len(sub.spots), np.int64)
    if not done:
        steps, rlt, min_marginal = in_steps(state.messages), packed(state.rlt), spot_min_marginals(node)
    return NodeResult(
        bound=min(bound, cutoff),
        spots=sub.spots,
        handed=Handed(sub.first, state.active, steps, rlt),
        min_marginal=min_marginal,
        decoded=decoded,
        decoded_reduced=reduced,
    )


@dataclass(frozen=True)
class NodeRules:
    """How the nodes of a tree are worked.

    root        the problem at full size
    packing     the points that each spot covers
    quick       passes before walks to doors are tightened
    tightening  what nodes are tightened with, None without
    rounds      how often walks are tightened at most
    """

    root: Problem
    packing: PackingPoints
    quick: PassRules
    tightening: Tightening | None = None
    rounds: int = 0


@dataclass(frozen=True)
class Worked:
    """A worked node: the problem it was worked on at last, how it ended, without the blocks of costs, and
    what was found."""

    problem: Problem
    ended: NodeState
    result: NodeResult


def work(
    problem: Problem, node: NodeState, multipliers: Longs, rules: NodeRules, passes: PassRules, most: int,
    cutoff: int, incumbent: int,
) -> Worked:  # fmt: skip
    """Work one node on ``problem``, and again with walks tightened when at most ``most`` pairs are walked.

    node         as ``opened`` gives it; changed
    multipliers  (points,) int64, those that it has paid; changed
    passes       how passes are made
    cutoff       cost at which a choice is of no use; ``incumbent`` that of the best layout

    Not compiled as a whole: its compiled parts would be compiled once more within it.
    """
    packing, tightening, root = rules.packing, rules.tightening, rules.root
    best: Whole = 0
    fresh = YES
    if tightening is not None and problem is root:
        node = make_passes(node, multipliers, packing, cutoff, rules.quick, NO, YES)
        best, fresh = node.bound, NO
        if best < cutoff:
            tighten_walks_to_doors(node, tightening)
    if best < cutoff:
        node = make_passes(node, multipliers, packing, cutoff, passes, YES, fresh)
        best = max(best, node.bound)
    for _ in range(rules.rounds if tightening is not None else 0):
        if best >= cutoff or walked_pairs(node) > most:
            break
        if problem is not root and few_have_gone(node):
            break
        assert tightening is not None
        node = on_tightened(root, node, cutoff, tightening, multipliers, packing)
        problem = node.relaxation.problem
        node = make_passes(node, multipliers, packing, cutoff, passes, YES, YES)
        best = max(best, node.bound)
    return Worked(problem, node, result_of(node, best, cutoff, incumbent))
