"""Where a node of the tree is split, compiled: on which station, and its spots into which groups.

A station's spots are split by where they stand into at most four groups.  Each group has a bound already:
the least min-marginal of its spots.  The few heaviest of the stations whose place is still open are ranked by
how much those rise on average.  Where a node's own tree would be large they are tried (strong branching;
Applegate, Bixby, Chvatal and Cook 2006, "The Traveling Salesman Problem", has it for linear programs): a few
passes with the labels of one group alone say how far each child would rise, and the station whose children's
trees would be the smallest together is taken.  A group that reaches the limit in this leaves the node,
whichever station is taken.

Lighter stations are left out because so few passes mislead: they favour a station one of whose groups is
refuted at once, though another gains nothing however long it is worked.  Of a heavy one all groups gain.
"""

from __future__ import annotations

import numpy as np

from footwork.arrange.branch_and_bound.node import there_and_back
from footwork.arrange.core.arrays import Bytes, Floats, Ints, Longs
from footwork.arrange.relaxation.edge_weights import free_edges
from footwork.arrange.relaxation.model import Living, Problem, Scratch, State, Whole, scratch_for
from footwork.arrange.relaxation.packing_multipliers import FloorPoints, Shared
from footwork.arrange.relaxation.restrict import living, living_spots
from footwork.arrange.relaxation.rlt_multipliers import Room, Stars, charge_all, ground_of, room_for
from footwork.compiled.functions import entry, inner, unit

SINGLES = 4
"""Spots up to which each is a group of its own."""
HEAVIEST = 5
"""Stations that are looked at: those that weigh most (``tree.weights``)."""
PASSES = 2
"""Passes of a trial."""
SHRINKS = 8.0
"""A child's tree is e^-``SHRINKS`` as large if its bound rises by all that is left to the limit."""


@inner
def halve(places: Floats, members: Longs, group: Bytes, low: int, high: int) -> None:
    """Give the half of ``members`` that lies lower along the longer way the number low, the others high."""
    width = np.ptp(places[members, 0])
    depth = np.ptp(places[members, 1])
    along = places[members, 0] if width >= depth else places[members, 1]
    ranked = members[np.argsort(along, kind="mergesort")]
    middle = len(ranked) // 2
    group[ranked[:middle]] = low
    group[ranked[middle:]] = high


@unit
def groups(places: Floats) -> Bytes:
    """The group of each of some spots: near one another, at most four; singles when four or fewer.

    ``places`` (k, 2) says where each stands.  Halved at the median along the longer way, twice.
    """
    k = len(places)
    group = np.zeros(k, np.uint8)
    if k <= SINGLES:
        for x in range(k):
            group[x] = x
        return group
    halve(places, np.arange(k), group, 0, 2)
    for low in (0, 2):
        halve(places, np.nonzero(group == low)[0], group, low, low + 1)
    return group


@inner
def bounds_of(group: Bytes, marginal: Longs, key: Whole, limit: Whole) -> Longs:
    """The least marginal of each group; the node's bound ``key`` at least, ``limit`` at most."""
    bounds = np.full(np.max(group) + 1, np.int64(limit))
    for x in range(len(group)):
        bounds[group[x]] = min(bounds[group[x]], max(marginal[x], np.int64(key)))
    return bounds


@unit
def ranked(
    places: Floats, first: Ints, marginal: Longs, paid: Longs, key: Whole, limit: Whole, hub: bool
) -> Longs:
    """The stations to split on, best first: a hub by itself, else the heaviest of two spots or more.

    Arguments as of ``split``, ``places`` (spots, 2) those of the node's spots.
    """
    n = len(first) - 1
    if hub and first[n] - first[n - 1] > 1:
        return np.full(1, n - 1)
    rise, count = np.full(n, -np.inf), 0
    for i in range(n - 1, -1, -1):  # the heaviest first
        low, high = first[i], first[i + 1]
        if high - low > 1 and count < HEAVIEST:
            bounds = bounds_of(groups(places[low:high]), marginal[low:high], key, limit)
            # What its spot in the decoded choice paid breaks ties.
            rise[i] = np.mean((bounds - key).astype(np.float64)) + 1e-3 * paid[i] / np.log2(high - low + 1.0)
            count += 1
    return np.argsort(-rise, kind="mergesort")[:count]


@unit
def tried(
    problem: Problem, live: Living, state: State, constant: Whole, limit: Whole, v: int, group: Bytes,
    number: int, floor: FloorPoints, stars: Stars, room: Room, scratch: Scratch,
) -> Whole:  # fmt: skip
    """The bound after some passes with none of variable v's labels but those of one group."""
    less = State(
        state.alive.copy(),
        state.messages.copy(),
        state.theta.copy(),
        state.marginal.copy(),
        state.conditional,
    )
    for x in range(len(group)):
        if group[x] != number:
            less.alive[live.label[v] + x] = False
    best = constant
    for _ in range(PASSES):
        constant = there_and_back(problem, live, less, constant, limit, floor, stars, room, scratch)
        best = max(best, constant)
        if best >= limit:
            break
    return best


@unit
def tree_size(
    problem: Problem, live: Living, state: State, constant: Whole, limit: Whole, key: Whole, station: int,
    group: Bytes, bounds: Longs, beaten: float, floor: FloorPoints, stars: Stars, room: Room,
    scratch: Scratch,
) -> float:  # fmt: skip
    """How large the trees of a station's groups would be together, as parts of one that gains nothing.

    Raises ``bounds``; labels of groups that reach the limit die.  Given up, and infinite, once ``beaten``.
    """
    v = 0
    while problem.station[v] != station:
        v += 1
    size = 0.0
    for number in np.argsort(bounds):
        if bounds[number] < limit:
            new = tried(problem, live, state, constant, limit, v, group, number, floor, stars, room, scratch)
            bounds[number] = max(bounds[number], new)
        if bounds[number] < limit:
            size += np.exp(-SHRINKS * np.float64(bounds[number] - key) / np.float64(limit - key))
            if size >= beaten:
                return np.inf
        else:
            for x in range(len(group)):
                if group[x] == number:
                    state.alive[live.label[v] + x] = False
    return size


@unit
def best_of(
    problem: Problem, live: Living, state: State, constant: Whole, limit: Whole, key: Whole, places: Floats,
    marginal: Longs, order: Longs, shared: Shared,
) -> tuple[int, Longs]:  # fmt: skip
    """(the best of the stations ``order``, its groups' bounds) by trial; arguments as of ``split``."""
    live = living(problem, live.spots)[0]
    ground = ground_of(problem, live, shared, bool(np.any(state.conditional.number)))
    charge_all(problem, live, state.conditional, ground)
    constant += free_edges(problem, live, state)
    start, points, capacity = shared
    floor = (0.0, start, points, np.zeros(len(capacity)))
    still, room = (0.0, shared, ground), room_for(problem, live, shared)
    scratch, least, station, bounds = scratch_for(live.label), np.inf, order[0], marginal[:0]
    for i in order:
        low, high = live.first[i], live.first[i + 1]
        group = groups(places[low:high])
        own = bounds_of(group, marginal[low:high], key, limit)
        size = tree_size(
            problem, live, state, constant, limit, key, i, group, own, least, floor, still, room, scratch
        )
        if size < least:
            least, station, bounds = size, i, own
    return station, bounds


@entry
def split(
    problem: Problem, live: Living, state: State, constant: Whole, limit: Whole, key: Whole, marginal: Longs,
    paid: Longs, places: Floats, shared: Shared, hub: bool, strong: bool,
) -> tuple[Longs, Ints, Longs]:  # fmt: skip
    """The children of a node: groups of one station's spots.

    problem, live, state, constant   as ``work`` leaves them; labels may die
    limit     price of no use; ``key`` the node's bound
    marginal  by the node's spots; ``paid`` what each station's decoded spot paid
    places    (k, 2) where each spot of the problem at full size stands
    shared    as in ``work``
    hub       whether the last station comes first of all; ``strong`` whether stations are tried

    Returns (bound of each child, places in the node's spots of what each keeps, where those of each begin).
    """
    first = live.first
    where = places[problem.origin[live.spots]]
    order = ranked(where, first, marginal, paid, key, limit, hub)
    station, bounds = order[0], marginal[:0]
    if strong and len(order) > 1:
        station, bounds = best_of(problem, live, state, constant, limit, key, where, marginal, order, shared)
    low, high = first[station], first[station + 1]
    group = groups(where[low:high])
    if len(bounds) == 0:
        bounds = bounds_of(group, marginal[low:high], key, limit)
    keep = living_spots(problem, live, state.alive)
    picks = np.empty(len(bounds) * len(keep), np.int32)
    begin = np.zeros(len(bounds) + 1, np.int64)
    for k in range(len(bounds)):
        count = begin[k]
        for x in keep:
            if x < low or x >= high or group[x - low] == k:
                picks[count] = x
                count += 1
        begin[k + 1] = count
    return bounds, picks[: begin[-1]], begin
