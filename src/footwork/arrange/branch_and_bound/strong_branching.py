"""Where a node of the tree is split, compiled: on which station, and its spots into which groups.

A station's spots are split by where they stand into at most four groups.  Each group has a bound already:
the least min-marginal of its spots.  The few heaviest of the stations whose place is still open are ranked by
how much those rise on average.  Where a node's own tree would be large they are tried (strong branching;
Applegate, Bixby, Chvatal and Cook 2006, "The Traveling Salesman Problem", has it for linear programs): a few
passes with the labels of one group alone say how far each child would rise, and the station whose children's
trees would be the smallest together, by estimate (Knuth 1975), is taken.  A group that reaches the cutoff in
this leaves the node, whichever station is taken.

Lighter stations are left out because so few passes mislead: they favour a station one of whose groups is
refuted at once, though another gains nothing however long it is worked.  Of a heavy one all groups gain.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from footwork.arrange.branch_and_bound.node import NodeResult, NodeState, sweep_work, there_and_back
from footwork.arrange.core.arrays import Bytes, Floats, Ints, Longs
from footwork.arrange.relaxation.edge_weights import free_edges
from footwork.arrange.relaxation.model import Relaxation, State, Whole
from footwork.arrange.relaxation.packing_multipliers import PackingPoints
from footwork.arrange.relaxation.restrict import active_spots, subproblem
from footwork.arrange.relaxation.rlt_multipliers import charge_all
from footwork.arrange.relaxation.trws import PassSteps, SweepWork
from footwork.compiled.functions import NO, entry, inner, unit
from footwork.compiled.records import record

SINGLES = 4
"""Spots up to which each is a group of its own."""
HEAVIEST = 5
"""Stations that are looked at: those that weigh most (``tree.weights``)."""
PASSES = 2
"""Passes of a trial."""
TREE_DECAY = 8.0
"""A child's tree is e^-``TREE_DECAY`` as large if its bound rises by all that is left to the cutoff."""
TIE = 1e-3
"""Part of the decoded choice's reduced cost that counts where stations rise alike."""


@record
class BranchingRules(NamedTuple):
    """How the nodes of a tree are split.

    positions (spots, 2)  where each spot of the problem at full size stands
    packing               the points that each covers
    hub                   whether the last station comes first of all
    """

    positions: Floats
    packing: PackingPoints
    hub: bool


@record
class Children(NamedTuple):
    """Children of a node, in CSR form: the bound of each, and places in the node's spots of what each
    keeps."""

    bound: Longs
    begin: Longs
    pick: Ints


@record
class Trials(NamedTuple):
    """A node in which stations are tried; ``bound`` is the node's."""

    relaxation: Relaxation
    constant: Whole
    bound: Whole
    cutoff: Whole
    steps: PassSteps
    work: SweepWork


@inner
def halve(positions: Floats, members: Longs, group: Bytes, low: int, high: int) -> None:
    """Give the half of ``members`` that lies lower along the longer way the number low, the others high."""
    width = np.ptp(positions[members, 0])
    depth = np.ptp(positions[members, 1])
    along = positions[members, 0] if width >= depth else positions[members, 1]
    ranked = members[np.argsort(along, kind="mergesort")]
    middle = len(ranked) // 2
    group[ranked[:middle]] = low
    group[ranked[middle:]] = high


@unit
def groups(positions: Floats) -> Bytes:
    """The group of each of some spots: near one another, at most four; singles when four or fewer.

    ``positions`` (k, 2) says where each stands.  Halved at the median along the longer way, twice.
    """
    k = len(positions)
    group = np.zeros(k, np.uint8)
    if k <= SINGLES:
        for x in range(k):
            group[x] = x
        return group
    halve(positions, np.arange(k), group, 0, 2)
    for low in (0, 2):
        halve(positions, np.nonzero(group == low)[0], group, low, low + 1)
    return group


@inner
def bounds_of(group: Bytes, min_marginal: Longs, bound: Whole, cutoff: Whole) -> Longs:
    """The least min-marginal of each group; the node's bound at least, ``cutoff`` at most."""
    bounds = np.full(np.max(group) + 1, np.int64(cutoff))
    for x in range(len(group)):
        bounds[group[x]] = min(bounds[group[x]], max(min_marginal[x], np.int64(bound)))
    return bounds


@unit
def ranked(
    first: Ints, result: NodeResult, positions: Floats, hub: bool, bound: Whole, cutoff: Whole
) -> Longs:
    """The stations to split on, best first: a hub by itself, else the heaviest of two spots or more.

    ``positions`` (spots, 2) are those of the node's spots.
    """
    n = len(first) - 1
    if hub and first[n] - first[n - 1] > 1:
        return np.full(1, n - 1)
    rise, count = np.full(n, -np.inf), 0
    for i in range(n - 1, -1, -1):  # the heaviest first
        low, high = first[i], first[i + 1]
        if high - low > 1 and count < HEAVIEST:
            bounds = bounds_of(groups(positions[low:high]), result.min_marginal[low:high], bound, cutoff)
            tie = TIE * result.decoded_reduced[i] / np.log2(high - low + 1.0)
            rise[i] = np.mean((bounds - bound).astype(np.float64)) + tie
            count += 1
    return np.argsort(-rise, kind="mergesort")[:count]


@unit
def trial_bound(trials: Trials, v: int, group: Bytes, number: int) -> Whole:
    """The bound after some passes with none of variable v's labels but those of one group."""
    node, cutoff = trials.relaxation, trials.cutoff
    state, label = node.state, node.sub.label_begin[v]
    less = State(
        state.active.copy(), state.messages.copy(), state.reduced.copy(), state.min_marginal.copy(), state.rlt
    )
    for x in range(len(group)):
        if group[x] != number:
            less.active[label + x] = False
    tried = Relaxation(node.problem, node.sub, less)
    constant = trials.constant
    best = constant
    for _ in range(PASSES):
        constant = there_and_back(tried, constant, cutoff, trials.steps, trials.work)
        best = max(best, constant)
        if best >= cutoff:
            break
    return best


@unit
def tree_size(trials: Trials, station: int, group: Bytes, bounds: Longs, beaten: float) -> float:
    """How large the trees of a station's groups would be together, as parts of one that gains nothing.

    Raises ``bounds``; labels of groups that reach the cutoff are fixed out.  Given up, and infinite, once
    ``beaten``.
    """
    node, bound, cutoff = trials.relaxation, trials.bound, trials.cutoff
    v = 0
    while node.problem.variables.station[v] != station:
        v += 1
    active, label = node.state.active, node.sub.label_begin[v]
    size = 0.0
    for number in np.argsort(bounds):
        if bounds[number] < cutoff:
            bounds[number] = max(bounds[number], trial_bound(trials, v, group, number))
        if bounds[number] < cutoff:
            size += np.exp(-TREE_DECAY * np.float64(bounds[number] - bound) / np.float64(cutoff - bound))
            if size >= beaten:
                return np.inf
        else:
            for x in range(len(group)):
                if group[x] == number:
                    active[label + x] = False
    return size


@unit
def trials_in(ended: NodeState, packing: PackingPoints, bound: Whole, cutoff: Whole) -> Trials:
    """A node made ready for trials, its costs gathered anew."""
    problem, state = ended.relaxation.problem, ended.relaxation.state
    node = Relaxation(problem, subproblem(problem, ended.relaxation.sub.spots)[0], state)
    work = sweep_work(node, packing, np.zeros(len(packing.capacity)), bool(np.any(state.rlt.number)))
    charge_all(node, work.rlt)
    constant = ended.constant + free_edges(node)
    still = PassSteps(NO, 1.0, NO, 0.0)
    return Trials(node, constant, np.int64(bound), np.int64(cutoff), still, work)


@unit
def best_of(trials: Trials, result: NodeResult, positions: Floats, order: Longs) -> tuple[int, Longs]:
    """(the best of the stations ``order``, its groups' bounds) by trial."""
    first, min_marginal = trials.relaxation.sub.first, result.min_marginal
    least, station, bounds = np.inf, order[0], min_marginal[:0]
    for i in order:
        low, high = first[i], first[i + 1]
        group = groups(positions[low:high])
        own = bounds_of(group, min_marginal[low:high], trials.bound, trials.cutoff)
        size = tree_size(trials, i, group, own, least)
        if size < least:
            least, station, bounds = size, i, own
    return station, bounds


@entry
def split(
    ended: NodeState, result: NodeResult, rules: BranchingRules, bound: Whole, cutoff: Whole, strong: bool
) -> Children:
    """The children of a node: groups of one station's spots.

    ended, result  as ``work`` leaves them; labels may be fixed out
    bound, cutoff  the node's bound, and the cost of no use
    strong         whether stations are tried
    """
    node = ended.relaxation
    first = node.sub.first
    positions = rules.positions[node.problem.origin[node.sub.spots]]
    order = ranked(first, result, positions, rules.hub, bound, cutoff)
    station, bounds = order[0], result.min_marginal[:0]
    if strong and len(order) > 1:
        trials = trials_in(ended, rules.packing, bound, cutoff)
        station, bounds = best_of(trials, result, positions, order)
    low, high = first[station], first[station + 1]
    group = groups(positions[low:high])
    if len(bounds) == 0:
        bounds = bounds_of(group, result.min_marginal[low:high], bound, cutoff)
    keep = active_spots(node)
    pick = np.empty(len(bounds) * len(keep), np.int32)
    begin = np.zeros(len(bounds) + 1, np.int64)
    for k in range(len(bounds)):
        count = begin[k]
        for x in keep:
            if x < low or x >= high or group[x - low] == k:
                pick[count] = x
                count += 1
        begin[k + 1] = count
    return Children(bounds, begin, pick[: begin[-1]])
