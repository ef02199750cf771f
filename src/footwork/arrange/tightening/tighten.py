"""Tightening: in a node, walks also lead round what is certain to stand in the way, compiled.

The pair table lets a walk go through everything but its own two things.  Where a node has settled a
third thing on one spot, or on spots that all cover some floor, no layout of the node walks through
that floor.

Lifting is for small nodes.  The node's prices are searched anew with those floors as obstacles, for the
pairs that can still be part of a better layout, and handed to its children.

Raising is done in large nodes too, after a few passes, where lifting would take too long.  A walk to a door
has a length for each label of its station.  What it is longer by joins the price of that label, and a label
from which nobody could walk to the door dies.  That takes no copy of the prices and about as many walks as
the node has spots.
"""

from __future__ import annotations

import math

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints, Longs, Singles
from footwork.arrange.pair_table.walks import place_walk
from footwork.arrange.relaxation.model import (
    APART,
    CLASH,
    PAIR,
    Living,
    Problem,
    State,
    Whole,
    clash_bits,
    fewer_labels,
)
from footwork.arrange.relaxation.restrict import gather, gather_blocks
from footwork.arrange.spots.stamps import copied, stamp
from footwork.arrange.tightening.compulsory import (
    BETWEEN_STATIONS,
    BLOCK,
    OF_STATION,
    OF_VISIT,
    Ways,
    may_meet,
    settle_floor,
    take_floor,
)
from footwork.compiled.functions import bare, bare_unit, entry, inner, unit
from footwork.floor.contact import Arrays
from footwork.floor.desk import Desk, new_desk
from footwork.model.scenario import TOLERANCE


@bare
def part_begins(problem: Problem, first: Ints, part: int) -> int:
    """Where a part's labels begin among its variable's."""
    v = 0
    while problem.part[v + 1] <= part:
        v += 1
    begin = 0
    for k in range(problem.part[v], part):
        s = problem.part_station[k]
        begin += problem.part_places[k] * (first[s + 1] - first[s])
    return begin


@bare_unit
def forbid_pairs(
    problem: Problem, live: Living, state: State, constant: Whole, limit: Whole, pair: Ints
) -> None:
    """Make clashes of pairs of spots that no layout below ``limit`` has; ``constant`` goes with ``state``."""
    for e in range(len(problem.kind)):
        if problem.kind[e] not in (PAIR, APART):
            continue
        u, v = problem.ends[e]
        i, j = live.first[problem.station[u]], live.first[problem.station[v]]
        for x in range(live.label[u + 1] - live.label[u]):
            base = constant + state.theta[live.label[u] + x] - state.messages[live.at[e, 0] + x]
            for y in range(live.label[v + 1] - live.label[v]):
                price = base + state.theta[live.label[v] + y] - state.messages[live.at[e, 1] + y]
                if price + pair[i + x, j + y] >= limit:
                    pair[i + x, j + y] = CLASH
                    pair[j + y, i + x] = CLASH


@bare
def stand(ways: Ways, spot: int, number: int, step: float) -> tuple[float, float]:
    """Where a load of twice ``step`` more than the walker starts from a standing place."""
    k = ways.places.start[spot] + number
    at, out = ways.places.at[k], ways.places.out[k]
    return at[0] + step * out[0], at[1] + step * out[1]


@inner
def lift_walk(
    ways: Ways, scene: Arrays, around: Floats, w: int, x: int, number: int, y: int, other: int, known: float,
    joined: Longs, desk: Desk,
) -> float:  # fmt: skip
    """Metres of way w from place ``number`` of spot x to place ``other`` of spot y, or to its door (y = -1).

    At least ``known`` (metres without what is settled), searched where something settled may be in the way.
    """
    step = 0.5 * (ways.width[w] - ways.walker)
    px, py = stand(ways, x, number, step)
    qx, qy = ways.door[w, 0] + step * ways.door[w, 2], ways.door[w, 1] + step * ways.door[w, 3]
    if y >= 0:
        qx, qy = stand(ways, y, other, step)
    radius, short = 0.5 * ways.width[w], known - 2.0 * step
    if may_meet(around, ways.a[w], ways.b[w], px, py, qx, qy, radius + TOLERANCE, short + 1e-6):
        return float(max(known, place_walk(scene, px, py, qx, qy, radius, joined, desk) + 2.0 * step))
    return float(max(known, math.hypot(px - qx, py - qy) + 2.0 * step))


@unit
def nearest_walk(
    ways: Ways, scene: Arrays, around: Floats, w: int, x: int, ka: Longs, y: int, kb: Longs, known: float,
    joined: Longs, desk: Desk,
) -> float:  # fmt: skip
    """The least of ``lift_walk`` over places of both ends; ``known`` is the least without what is settled."""
    best = math.inf
    for i in range(len(ka)):
        for j in range(len(kb)):
            if best > known:
                best = min(best, lift_walk(ways, scene, around, w, x, ka[i], y, kb[j], known, joined, desk))
    return best


@unit
def lift_block(
    problem: Problem, live: Living, ways: Ways, scene: Arrays, around: Floats, roots: Ints, w: int,
    pair: Ints, store: Singles, store_at: Longs, joined: Longs, desk: Desk,
) -> None:  # fmt: skip
    """Search the metres of a LEG's block anew; raises ``store``."""
    spots, block = ways.origin[roots].astype(np.int64), ways.goal[w]
    a, b = ways.a[w], ways.b[w]
    ka = ways.numbers[ways.places_a[w, 0] : ways.places_a[w, 1]]
    kb = ways.numbers[ways.places_b[w, 0] : ways.places_b[w, 1]]
    v = problem.axes[block, 1]
    columns = live.label[v + 1] - live.label[v]
    row0 = store_at[block] + part_begins(problem, live.first, ways.part_a[w]) * columns
    column0 = part_begins(problem, live.first, ways.part_b[w])
    for x in range(live.first[a], live.first[a + 1]):
        stamp(scene, ways.slots, a, ways.stamps, spots[x])
        for y in range(live.first[b], live.first[b + 1]):
            if pair[x, y] >= CLASH:
                continue
            stamp(scene, ways.slots, b, ways.stamps, spots[y])
            for i in range(len(ka)):
                at = row0 + ((x - live.first[a]) * len(ka) + i) * columns + column0
                if ways.nearest_b[w]:
                    at += y - live.first[b]
                    known, own = np.float64(store[at]), ka[i : i + 1]
                    new = nearest_walk(
                        ways, scene, around, w, spots[x], own, spots[y], kb, known, joined, desk
                    )
                    store[at] = max(store[at], np.float32(new * (1.0 - 2e-7)))
                    continue
                at += (y - live.first[b]) * len(kb)
                for j in range(len(kb)):
                    known = np.float64(store[at + j])
                    new = lift_walk(
                        ways, scene, around, w, spots[x], ka[i], spots[y], kb[j], known, joined, desk
                    )
                    store[at + j] = max(store[at + j], np.float32(new * (1.0 - 2e-7)))


@bare
def charge(weight: float, more: float) -> Whole:
    """What a way that is longer by so many metres than was known adds to a price; CLASH without a way."""
    if more == math.inf:
        return np.int64(CLASH)
    # Two units for the rounding of what was known: too little, never too much.
    return np.int64(max(0.0, weight * more - 2.0))


@unit
def lift_pairs(
    live: Living, ways: Ways, scene: Arrays, around: Floats, roots: Ints, w: int, pair: Ints, base: Ints,
    joined: Longs, desk: Desk,
) -> None:  # fmt: skip
    """Search a way between two stations' nearest places anew; raises their prices in ``base``."""
    spots = ways.origin[roots].astype(np.int64)
    a, b = ways.a[w], ways.b[w]
    ka = ways.numbers[ways.places_a[w, 0] : ways.places_a[w, 1]]
    kb = ways.numbers[ways.places_b[w, 0] : ways.places_b[w, 1]]
    columns = ways.spots[b]
    for x in range(live.first[a], live.first[a + 1]):
        stamp(scene, ways.slots, a, ways.stamps, spots[x])
        for y in range(live.first[b], live.first[b + 1]):
            if pair[x, y] >= CLASH:
                continue
            stamp(scene, ways.slots, b, ways.stamps, spots[y])
            at = ways.known[w] + (roots[x] - ways.first[a]) * columns + roots[y] - ways.first[b]
            known = np.float64(ways.metres[at])
            new = nearest_walk(ways, scene, around, w, spots[x], ka, spots[y], kb, known, joined, desk)
            base[x, y] = min(np.int64(base[x, y]) + charge(ways.weight[w], new - known), np.int64(CLASH))
            base[y, x] = base[x, y]


@bare
def own_labels(problem: Problem, live: Living, ways: Ways, w: int) -> int:
    """Where the labels begin that way w, to a door or between a station's own sides, is part of."""
    begin = int(live.label[ways.goal[w]])
    if ways.target[w] == OF_VISIT:
        begin += part_begins(problem, live.first, ways.part_a[w])
    return begin


@unit
def longer_own(
    live: Living, ways: Ways, scene: Arrays, around: Floats, roots: Ints, w: int, numbers: Longs,
    joined: Longs, desk: Desk,
) -> Floats:  # fmt: skip
    """Metres that a way to a door, or between a station's own sides, is longer by than was known, by label.

    Infinite where nobody gets through; 0 where nobody could before.  ``numbers`` is ``Ways.origin``.  A patch
    gets the least that any of its spots is longer by: not what its least way is, as the spot of the least way
    to one door may not be that of the least way to another.
    """
    a = ways.a[w]
    ka = ways.numbers[ways.places_a[w, 0] : ways.places_a[w, 1]]
    kb = ways.numbers[ways.places_b[w, 0] : ways.places_b[w, 1]]
    each = len(ka) if ways.target[w] == OF_VISIT else 1
    longer = np.zeros((live.first[a + 1] - live.first[a]) * each)
    for x in range(live.first[a], live.first[a + 1]):
        for i in range(each):
            places = ka[i : i + 1] if ways.target[w] == OF_VISIT else ka
            more, walked = math.inf, False
            for k in range(ways.member[roots[x]], ways.member[roots[x] + 1]):
                m = ways.members[k]
                known = np.float64(ways.metres[ways.known[w] + (m - ways.first[a]) * each + i])
                if known == math.inf:
                    continue
                stamp(scene, ways.slots, a, ways.stamps, numbers[m])
                y = numbers[m] if ways.b[w] == a else -1
                new = nearest_walk(ways, scene, around, w, numbers[m], places, y, kb, known, joined, desk)
                more, walked = min(more, new - known), True
            if walked:
                longer[(x - live.first[a]) * each + i] = more
    return longer


@unit
def lift(
    root: Problem,
    problem: Problem,
    live: Living,
    state: State,
    constant: Whole,
    limit: Whole,
    ways: Ways,
) -> Problem:
    """The problem on a node's living spots, walks round what is certain to stand in the way.

    ``root`` is the problem that ``ways`` was made for, ``problem`` what the node was worked on: the root
    or one lifted before.  ``constant`` goes with ``state``; ``limit`` is a price of no use.
    """
    roots = problem.origin[live.spots]
    pair = gather(problem.pair, live.spots)
    forbid_pairs(problem, live, state, constant, limit, pair)
    base = gather(root.pair, roots)
    own = root.unary[fewer_labels(root, root.first, roots)[1]]
    picks = fewer_labels(problem, problem.first, live.spots)[1]
    store, store_at = gather_blocks(problem, live.label, picks)
    scene = copied(ways.scene)
    n = len(ways.absent)
    around = np.empty((n, 4))
    for s in range(n):
        settle_floor(ways, scene, live, roots, s, around)
    numbers = ways.origin.astype(np.int64)
    joined, desk = np.zeros(len(scene.first) - 1, np.int64), new_desk(scene)
    for w in range(len(ways.a)):
        a, b = ways.a[w], ways.b[w]
        # The two ends stand on the spot in question instead.
        take_floor(scene, ways.slots, n + a)
        if b >= 0:
            take_floor(scene, ways.slots, n + b)
        if ways.target[w] == BLOCK:
            lift_block(problem, live, ways, scene, around, roots, w, pair, store, store_at, joined, desk)
        elif ways.target[w] == BETWEEN_STATIONS:
            lift_pairs(live, ways, scene, around, roots, w, pair, base, joined, desk)
        else:
            label = own_labels(problem, live, ways, w)
            for more in longer_own(live, ways, scene, around, roots, w, numbers, joined, desk):
                own[label] = min(own[label] + charge(ways.weight[w], more), np.int64(CLASH))
                label += 1
        settle_floor(ways, scene, live, roots, a, around)
        if b >= 0:
            settle_floor(ways, scene, live, roots, b, around)
    for x in range(len(pair)):
        for y in range(len(pair)):
            pair[x, y] = max(pair[x, y], base[x, y])
    return Problem(
        pair,
        clash_bits(pair),
        live.first.copy(),
        problem.station,
        problem.part,
        problem.part_station,
        problem.part_places,
        np.maximum(own, problem.unary[picks]),
        problem.ends,
        problem.kind,
        problem.rows,
        problem.block,
        problem.weight,
        problem.near,
        problem.edge,
        problem.side,
        store,
        problem.axes,
        problem.joined,
        roots,
        problem.star,
        problem.ray,
    )


@entry
def raise_labels(root: Problem, live: Living, state: State, ways: Ways) -> None:
    """Charge a node's labels for what is certain to stand in the way to a door."""
    scene = copied(ways.scene)
    n = len(ways.absent)
    around = np.empty((n, 4))
    for s in range(n):
        settle_floor(ways, scene, live, live.spots, s, around)
    numbers = ways.origin.astype(np.int64)
    joined, desk = np.zeros(len(scene.first) - 1, np.int64), new_desk(scene)
    for w in range(len(ways.a)):
        if ways.target[w] in (OF_STATION, OF_VISIT):
            # The station stands on the spot in question instead.
            take_floor(scene, ways.slots, n + ways.a[w])
            label = own_labels(root, live, ways, w)
            for more in longer_own(live, ways, scene, around, live.spots, w, numbers, joined, desk):
                if more == math.inf:
                    state.alive[label] = False
                else:
                    state.theta[label] += charge(ways.weight[w], more)
                label += 1
            settle_floor(ways, scene, live, live.spots, ways.a[w], around)
