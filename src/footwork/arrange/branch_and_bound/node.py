"""The work inside one node of the tree: passes, fixing and rents until they stop paying."""

from __future__ import annotations

import numpy as np

from footwork.arrange.core.arrays import Bools, Ints, Longs, Shorts
from footwork.arrange.relaxation.edge_weights import forget_free_edges, free_edges
from footwork.arrange.relaxation.model import (
    LEG,
    PAIR,
    STEP_BITS,
    Conditional,
    Living,
    Problem,
    Scratch,
    State,
    Whole,
    fewer_labels,
    fewer_messages,
    in_steps,
    labels_begin,
    scratch_for,
)
from footwork.arrange.relaxation.packing_multipliers import FloorPoints, Shared, move_rents
from footwork.arrange.relaxation.restrict import living, living_spots, shrink
from footwork.arrange.relaxation.rlt_multipliers import (
    Room,
    Stars,
    charge_all,
    dues,
    ground_of,
    packed,
    room_for,
    unpacked,
)
from footwork.arrange.relaxation.rounding import decode
from footwork.arrange.relaxation.trws import sweep
from footwork.arrange.tightening.compulsory import Ways
from footwork.arrange.tightening.tighten import lift, raise_labels
from footwork.compiled.functions import NO, YES, bare_unit, entry, inner, unit

QUICK_PASSES = 2
"""Passes before ways to doors are raised, which half of the nodes don't live to see."""
FALL = 0.1
"""What is left of a step in the last pass where conditional rents move: long steps show that spots are too
dear, short ones keep what has been gained."""


@unit
def thetas(
    problem: Problem, live: Living, picks: Longs, messages: Ints, conditional: Conditional, rents: Longs,
    shared: Shared,
) -> Longs:  # fmt: skip
    """Thetas of a node: own prices, messages, dues and rents of its labels, ``picks`` at full size."""
    start, points, _ = shared
    theta = problem.unary[picks]
    for v in range(len(problem.station)):
        a, b = live.label[v], live.label[v + 1]
        for k in range(problem.near[v], problem.near[v + 1]):
            mine = live.at[problem.edge[k], problem.side[k]]
            for x in range(b - a):
                theta[a + x] += messages[mine + x]
        s = problem.station[v]
        if s >= 0:
            for x in range(b - a):
                theta[a + x] -= dues(conditional, live.first[s] + x)
                spot = problem.origin[live.spots[live.first[s] + x]]
                for k in range(start[spot], start[spot + 1]):
                    theta[a + x] += rents[points[k]]
    return theta


@inner
def some_station_is_empty(first: Ints) -> bool:
    """Whether a station has no living spot left."""
    return bool(np.any(first[1:] == first[:-1]))


@bare_unit
def there_and_back(
    problem: Problem, live: Living, state: State, constant: Whole, limit: Whole, floor: FloorPoints,
    stars: Stars, room: Room, scratch: Scratch,
) -> Whole:  # fmt: skip
    """One pass: backward, then forward with the soft cover of the floor; returns the constant."""
    _heat, start, points, cover = floor
    cold = (0.0, start, points, cover)
    constant = sweep(problem, live, state, NO, NO, constant, limit, cold, stars, room, scratch)
    if constant >= limit:
        return constant
    cover[:] = 0.0
    return sweep(problem, live, state, YES, NO, constant, limit, floor, stars, room, scratch)


@inner
def step_part(number: int, passes: int, moving: bool) -> float:
    """Part of a step that is made after pass ``number``: all of it in the first half of the passes, and where
    conditional rents are ``moving`` less and less in the second."""
    return float(FALL ** max(0.0, 2.0 * number / passes - 1.0)) if moving else 1.0


@entry
def make_passes(
    problem: Problem,
    live: Living,
    state: State,
    rents: Longs,
    shared: Shared,
    constant: Whole,
    limit: Whole,
    passes: int,
    paces: tuple[float, float],
    last: bool,
    fresh: bool,
) -> tuple[Whole, Whole, Living, State]:
    """Passes, fixing and rents from messages that may come from elsewhere.

    ``passes`` at most; 4 that gain less than 5 % of the gap are the last, where conditional rents move
    after a quarter of them.  Prices of ``fresh`` arrays are still to be charged
    (``relaxation/rlt_multipliers.py``).  Returns (best bound, constant that goes with the state, the
    living, the state); a bound of ``limit`` says that the node is done with. After the ``last`` passes of a
    problem only what lives is left, without its blocks.
    """
    start, points, _ = shared
    drift, cover = np.zeros(len(rents)), np.zeros(len(rents))
    moving = paces[1] > 0.0
    scratch, room = scratch_for(live.label), room_for(problem, live, shared)
    ground = ground_of(problem, live, shared, moving)
    if fresh:
        charge_all(problem, live, state.conditional, ground)
    stars = (paces[1], shared, ground)
    cold = (0.0, start, points, cover)
    constant = sweep(problem, live, state, YES, YES, constant, limit, cold, stars, room, scratch)
    best, earlier = constant, constant
    patience = passes // 4 if moving else 0
    for number in range(passes):
        if constant >= limit:
            return limit, limit, live, state
        if len(living_spots(problem, live, state.alive)) * 12 <= len(live.spots) * 11:
            live, state = shrink(problem, live, state, YES)
            ground = ground_of(problem, live, shared, moving)
            room.place[:] = 0
            charge_all(problem, live, state.conditional, ground)
            constant += free_edges(problem, live, state)
        heat = 0.0 if len(rents) == 0 else 0.015 * np.float64(limit - constant) + 1.0
        floor = (heat, start, points, cover)
        part = step_part(number, passes, moving)
        stars = (part * paces[1], shared, ground)
        constant = there_and_back(problem, live, state, constant, limit, floor, stars, room, scratch)
        best = max(best, constant)
        if number % 4 == 3:
            if number >= patience and np.float64(best - earlier) < 0.05 * np.float64(limit - best):
                break
            earlier = best
        if constant < limit and len(rents) > 0 and number < passes - 1:
            gap = np.float64(limit - constant)
            pace = part * paces[0]
            constant += move_rents(problem, live, state, rents, drift, cover, shared, gap, pace)
    if best < limit and last:
        live, state = shrink(problem, live, state, NO)
        if some_station_is_empty(live.first):
            best = limit
    return best, constant, live, state


@entry
def walked_pairs(problem: Problem, label: Longs) -> Whole:
    """How many pairs of labels are walked between when variables' labels begin at ``label``."""
    count: Whole = np.int64(0)
    for e in range(len(problem.kind)):
        if problem.kind[e] in (PAIR, LEG):
            u, v = problem.ends[e]
            count += (label[u + 1] - label[u]) * (label[v + 1] - label[v])
    return count


@unit
def begin(
    problem: Problem,
    spots: Ints,
    alive: Bools,
    messages: Ints,
    conditional: Conditional,
    rents: Longs,
    shared: Shared,
) -> tuple[Living, State, Whole]:
    """A node's arrays at its start, and its constant: the rents, handed back as often as they may be paid."""
    live, picks = living(problem, spots)
    forget_free_edges(problem, live, messages)
    theta = thetas(problem, live, picks, messages, conditional, rents, shared)
    state = State(alive, messages, theta, np.zeros(len(theta), np.int64), conditional)
    return live, state, -np.sum(rents * shared[2])


@entry
def opened(
    problem: Problem,
    spots: Ints,
    pick: Ints,
    first: Ints,
    alive: Bools,
    steps: Shorts,
    conditional: Ints,
    rents: Longs,
    shared: Shared,
) -> tuple[Living, State, Whole]:
    """A child's arrays and constant at its start; its ``spots`` take the places ``pick`` of its parent's.

    ``first``, ``alive``, ``steps`` and ``conditional`` are the parent's.
    """
    fewer, picks = fewer_labels(problem, first, pick)
    label, less = labels_begin(problem, first), labels_begin(problem, fewer)
    messages = fewer_messages(problem, label, less, picks, steps, STEP_BITS)
    own = unpacked(conditional, first[-1], pick)
    return begin(problem, spots, alive[picks], messages, own, rents, shared)


@entry
def lifted(
    root: Problem,
    problem: Problem,
    live: Living,
    state: State,
    constant: Whole,
    limit: Whole,
    rents: Longs,
    shared: Shared,
    ways: Ways,
) -> tuple[Problem, Living, State, Whole]:
    """A node's lifted problem, and its arrays and constant at the start of work on that."""
    problem = lift(root, problem, live, state, constant, limit, ways)
    every = np.arange(len(live.spots)).astype(np.int32)
    live, state, constant = begin(
        problem, every, state.alive, state.messages, state.conditional, rents, shared
    )
    return problem, live, state, constant


End = tuple[Problem, Living, State, Whole]
"""(the problem that a node was worked on at last, and its arrays and constant when the work ended)."""
Found = tuple[Whole, Ints, Ints, Bools, Shorts, Ints, Longs, Ints, Longs]
"""(bound, spots, first, alive, messages in steps, conditional rents packed, marginals by spot, decoded spots
or none, paid)."""


@inner
def least_price(problem: Problem, spots: Ints) -> Whole:
    """What a choice, a spot a station, costs by its stations' own prices and their pairs."""
    label = labels_begin(problem, problem.first)
    price = np.int64(0)
    for v in range(len(problem.station)):
        s = problem.station[v]
        if s >= 0:
            price += problem.unary[label[v] + spots[s] - problem.first[s]]
    for i in range(len(spots)):
        for j in range(i):
            price += np.int64(problem.pair[spots[i], spots[j]])
    return price


@entry
def found(problem: Problem, live: Living, state: State, best: Whole, limit: Whole, upper: Whole) -> Found:
    """What a worked node hands on; ``best`` is ``limit`` when it is done with.

    A choice is read off that one too: it costs the limit or more, but perhaps less than ``upper``, the best
    layout's price.  Only such a one is handed on.
    """
    n = len(live.first) - 1
    marginal, paid = np.zeros(len(live.spots), np.int64), np.zeros(n, np.int64)
    if best >= limit:
        state.alive[:] = True
    decoded = live.spots[:0]
    if not some_station_is_empty(live.first):
        chosen, paid = decode(problem, live, state, np.argsort(live.first[1:] - live.first[:-1]))
        if np.all(chosen >= 0):
            about = limit if best >= limit else best + np.sum(paid)
            if max(about, least_price(problem, live.spots[chosen])) < upper:
                decoded = live.spots[chosen]
    steps, own = in_steps(state.messages[:0]), live.spots[:0]
    if best < limit:
        steps, own = in_steps(state.messages), packed(state.conditional)
        for v in range(len(problem.station)):
            s = problem.station[v]
            if s >= 0:
                theirs = state.marginal[live.label[v] : live.label[v + 1]]
                marginal[live.first[s] : live.first[s + 1]] = theirs
    return min(best, limit), live.spots, live.first, state.alive, steps, own, marginal, decoded, paid


def work(
    root: Problem,
    problem: Problem,
    begun: tuple[Living, State, Whole],
    rents: Longs,
    shared: Shared,
    limit: int,
    upper: int,
    passes: int,
    paces: tuple[float, float],
    ways: Ways | None,
    most: int,
    rounds: int,
) -> tuple[End, Found]:
    """Work one node, and again with its walks lifted when at most ``most`` pairs are walked between.

    Returns how it ended, without the blocks of prices, and what was found.

    root      the problem at full size; ``problem`` the one that the node is worked on
    begun     its arrays and constant, as ``opened`` gives them; changed
    rents     (points,) int64 rents that those have paid; changed
    shared    start, points (the floor points that each spot covers, CSR over all spots), capacity
    limit     price at which a choice is of no use; ``upper`` that of the best layout
    passes    the most passes to make
    paces     steps of the rents and of conditional rents, as parts of the gap
    ways      what walks are raised and lifted with, None without; lifted at most ``rounds`` times, as long as
              a fifth of the spots that they were lifted on last has gone

    Not compiled as a whole: its compiled parts would be compiled once more within it.
    """
    live, state, constant = begun
    best: Whole = 0
    fresh = YES
    if ways is not None and problem is root:
        best, constant, live, state = make_passes(
            problem, live, state, rents, shared, constant, limit, QUICK_PASSES, paces, NO, YES
        )
        fresh = NO
        if best < limit:
            raise_labels(root, live, state, ways)
    if best < limit:
        more, constant, live, state = make_passes(
            problem, live, state, rents, shared, constant, limit, passes, paces, YES, fresh
        )
        best = max(best, more)
    for _ in range(rounds if ways is not None else 0):
        if best >= limit or walked_pairs(problem, live.label) > most:
            break
        if problem is not root and len(live.spots) * 5 > len(problem.pair) * 4:
            break
        assert ways is not None
        problem, live, state, constant = lifted(
            root, problem, live, state, constant, limit, rents, shared, ways
        )
        more, constant, live, state = make_passes(
            problem, live, state, rents, shared, constant, limit, passes, paces, YES, YES
        )
        best = max(best, more)
    return (problem, live, state, constant), found(problem, live, state, best, limit, upper)
