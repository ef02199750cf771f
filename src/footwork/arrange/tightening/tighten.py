"""Tightening: in a node, walks also lead round what is certain to stand in the way, compiled.

The pair table lets a walk go through everything but its own two things.  Where a node has left a third thing
one spot, or spots that all cover some floor, its compulsory part, no layout of the node walks through that
floor.

Walks of small nodes are searched anew with those parts as obstacles, for the pairs that can still be part of
a better layout; the costs that this makes are handed to a node's children.

Walks to doors are searched anew in large nodes too, after a few passes, where all of them would take too
long.  A walk to a door has a length for each label of its station.  What it is longer by joins the cost of
that label, and a label from which nobody could walk to the door is fixed out.  That takes no copy of the
costs and about as many walks as the node has spots.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints, Longs
from footwork.arrange.core.slack import KNOWN_FURTHER, KNOWN_UNITS, SINGLES_DOWN
from footwork.arrange.pair_table.walks import felt, place_walk
from footwork.arrange.relaxation.model import (
    CLASH,
    CLASHES,
    PAIR,
    Blocks,
    Pairs,
    Problem,
    Relaxation,
    Subproblem,
    Whole,
    clash_bits,
    fewer_labels,
    part_begins,
)
from footwork.arrange.relaxation.restrict import blocks_begin, gather, gather_blocks
from footwork.arrange.spots.stamps import copied, stamp
from footwork.arrange.tightening.compulsory import (
    BETWEEN_STATIONS,
    BLOCK,
    OF_STATION,
    OF_VISIT,
    Floor,
    LegEnds,
    Point,
    Tightening,
    may_meet,
    put_compulsory_part,
    take_floor,
)
from footwork.compiled.functions import bare, bare_unit, entry, inner, unit
from footwork.compiled.records import record
from footwork.floor.contact import Arrays
from footwork.floor.desk import Desk, new_desk
from footwork.model.scenario import TOLERANCE


@record
class WalkSearch(NamedTuple):
    """A scene with the compulsory parts of a node on it, and what else searching walks there takes.

    roots (spots,)        the node's spots in the problem that ``tightening`` is of
    around (stations, 4)  a box round each compulsory part
    joined, desk          scratch of ``place_walk``
    """

    tightening: Tightening
    roots: Ints
    scene: Arrays
    around: Floats
    joined: Longs
    desk: Desk


@unit
def new_search(tightening: Tightening, sub: Subproblem, roots: Ints) -> WalkSearch:
    """A search with the compulsory parts of all of a node's stations."""
    scene = copied(tightening.floor.scene)
    around = np.empty((len(tightening.floor.absent), 4))
    for s in range(len(around)):
        put_compulsory_part(tightening, scene, sub, roots, s, around)
    return WalkSearch(
        tightening, roots, scene, around, np.zeros(len(scene.first) - 1, np.int64), new_desk(scene)
    )


@bare
def make_way(search: WalkSearch, leg: int) -> None:
    """Take the compulsory parts of a leg's ends off the floor: they stand on the spot in question instead."""
    legs, slots, n = search.tightening.legs, search.tightening.floor.slots, len(search.around)
    take_floor(search.scene, slots, n + legs.a.station[leg])
    if legs.b.station[leg] >= 0:
        take_floor(search.scene, slots, n + legs.b.station[leg])


@unit
def put_back(search: WalkSearch, sub: Subproblem, leg: int) -> None:
    """Put the compulsory parts of a leg's ends on the floor again."""
    tightening, scene, legs = search.tightening, search.scene, search.tightening.legs
    put_compulsory_part(tightening, scene, sub, search.roots, legs.a.station[leg], search.around)
    if legs.b.station[leg] >= 0:
        put_compulsory_part(tightening, scene, sub, search.roots, legs.b.station[leg], search.around)


@bare_unit
def forbid_pairs(node: Relaxation, constant: Whole, cutoff: Whole, pair: Ints) -> None:
    """Make clashes of pairs of spots that no layout below ``cutoff`` has; ``constant`` is the state's."""
    edges, station = node.problem.edges, node.problem.variables.station
    sub, reduced, messages = node.sub, node.state.reduced, node.state.messages
    label, at = sub.label_begin, sub.message_begin
    for e in range(len(edges.kind)):
        if edges.kind[e] not in (PAIR, CLASHES):
            continue
        u, v = edges.ends[e, 0], edges.ends[e, 1]
        i, j = sub.first[station[u]], sub.first[station[v]]
        for x in range(label[u + 1] - label[u]):
            base = constant + reduced[label[u] + x] - messages[at[e, 0] + x]
            for y in range(label[v + 1] - label[v]):
                cost = base + reduced[label[v] + y] - messages[at[e, 1] + y]
                if cost + pair[i + x, j + y] >= cutoff:
                    pair[i + x, j + y] = CLASH
                    pair[j + y, i + x] = CLASH


@bare
def stand(floor: Floor, spot: int, number: int, step: float) -> Point:
    """Where a load of twice ``step`` more than the walker starts from a standing place."""
    k = floor.places.start[spot] + number
    at, out = floor.places.at[k], floor.places.out[k]
    return at[0] + step * out[0], at[1] + step * out[1]


@inner
def walk_round(search: WalkSearch, leg: int, x: int, place: int, y: int, other: int, known: float) -> float:
    """What a leg counts from place ``place`` of spot x to place ``other`` of spot y, or to its door (y = -1).

    At least ``known`` (metres without what is certain to stand), searched where that may be in the way.
    """
    legs, floor = search.tightening.legs, search.tightening.floor
    door, a, b = legs.door, legs.a.station[leg], legs.b.station[leg]
    step = 0.5 * (legs.width[leg] - floor.walker)
    px, py = stand(floor, x, place, step)
    qx, qy = door.x[leg] + step * door.out_x[leg], door.y[leg] + step * door.out_y[leg]
    if y >= 0:
        qx, qy = stand(floor, y, other, step)
    radius, short = 0.5 * legs.width[leg], known - 2.0 * step
    reach = short + KNOWN_FURTHER
    if may_meet(search.around, a, b, (px, py), (qx, qy), radius + TOLERANCE, reach):
        found = place_walk(search.scene, px, py, qx, qy, radius, search.joined, search.desk)
        return float(max(known, felt(found + 2.0 * step, floor.setting_off, floor.pace)))
    straight = math.hypot(px - qx, py - qy) + 2.0 * step
    return float(max(known, felt(straight, floor.setting_off, floor.pace)))


@unit
def nearest_walk(
    search: WalkSearch, leg: int, x: int, places: Longs, y: int, others: Longs, known: float
) -> float:
    """The least of ``walk_round`` over places of both ends; ``known`` is the least without what stands."""
    best = math.inf
    for i in range(len(places)):
        for j in range(len(others)):
            if best > known:
                best = min(best, walk_round(search, leg, x, places[i], y, others[j], known))
    return best


@inner
def places_of(search: WalkSearch, end: LegEnds, leg: int) -> Longs:
    """Numbers of the standing places of a leg's end."""
    return search.tightening.legs.places[end.begin[leg] : end.end[leg]]


@unit
def tighten_block(
    search: WalkSearch, problem: Problem, sub: Subproblem, leg: int, pair: Ints, blocks: Blocks, begin: Longs
) -> None:
    """Search the metres of a LEG's block anew; raises ``blocks``, which begin at ``begin``."""
    legs, floor = search.tightening.legs, search.tightening.floor
    origin, roots, metres = search.tightening.spots.origin, search.roots, blocks.metres
    block, a, b = legs.goal[leg], legs.a.station[leg], legs.b.station[leg]
    places, others = places_of(search, legs.a, leg), places_of(search, legs.b, leg)
    u, v, first = blocks.row_variable[block], blocks.column_variable[block], sub.first
    columns = sub.label_begin[v + 1] - sub.label_begin[v]
    row0 = begin[block] + part_begins(problem.variables, first, u, legs.a.part[leg]) * columns
    column0 = part_begins(problem.variables, first, v, legs.b.part[leg])
    for x in range(first[a], first[a + 1]):
        one = origin[roots[x]]
        stamp(search.scene, floor.slots, a, floor.stamps, one)
        for y in range(first[b], first[b + 1]):
            if pair[x, y] >= CLASH:
                continue
            two = origin[roots[y]]
            stamp(search.scene, floor.slots, b, floor.stamps, two)
            for i in range(len(places)):
                at = row0 + ((x - first[a]) * len(places) + i) * columns + column0
                if legs.nearest_b[leg]:
                    at += y - first[b]
                    known, own = np.float64(metres[at]), places[i : i + 1]
                    new = nearest_walk(search, leg, one, own, two, others, known)
                    metres[at] = max(metres[at], np.float32(new * SINGLES_DOWN))
                    continue
                at += (y - first[b]) * len(others)
                for j in range(len(others)):
                    known = np.float64(metres[at + j])
                    new = walk_round(search, leg, one, places[i], two, others[j], known)
                    metres[at + j] = max(metres[at + j], np.float32(new * SINGLES_DOWN))


@bare
def added_cost(metre_cost: float, more: float) -> Whole:
    """What a leg that is longer by so many metres than was known adds to a cost; CLASH without a walk."""
    if more == math.inf:
        return np.int64(CLASH)
    return np.int64(max(0.0, metre_cost * more - KNOWN_UNITS))


@unit
def tighten_pairs(search: WalkSearch, sub: Subproblem, leg: int, pair: Ints, base: Ints) -> None:
    """Search a leg between two stations' nearest places anew; raises their costs in ``base``."""
    legs, floor, spots = search.tightening.legs, search.tightening.floor, search.tightening.spots
    roots, first, cost = search.roots, sub.first, legs.metre_cost[leg]
    a, b = legs.a.station[leg], legs.b.station[leg]
    places, others = places_of(search, legs.a, leg), places_of(search, legs.b, leg)
    columns = spots.station_size[b]
    for x in range(first[a], first[a + 1]):
        one = spots.origin[roots[x]]
        stamp(search.scene, floor.slots, a, floor.stamps, one)
        for y in range(first[b], first[b + 1]):
            if pair[x, y] >= CLASH:
                continue
            two = spots.origin[roots[y]]
            stamp(search.scene, floor.slots, b, floor.stamps, two)
            at = legs.known_begin[leg] + (roots[x] - spots.first[a]) * columns + roots[y] - spots.first[b]
            known = np.float64(legs.known[at])
            new = nearest_walk(search, leg, one, places, two, others, known)
            base[x, y] = min(np.int64(base[x, y]) + added_cost(cost, new - known), np.int64(CLASH))
            base[y, x] = base[x, y]


@bare
def own_labels(problem: Problem, sub: Subproblem, tightening: Tightening, leg: int) -> int:
    """Where the labels begin that a leg, to a door or between a station's own sides, is part of."""
    legs = tightening.legs
    v = legs.goal[leg]
    begin = int(sub.label_begin[v])
    if legs.target[leg] == OF_VISIT:
        begin += part_begins(problem.variables, sub.first, v, legs.a.part[leg])
    return begin


@unit
def longer_by(search: WalkSearch, sub: Subproblem, leg: int) -> Floats:
    """Metres that a leg to a door, or between a station's own sides, is longer by than was known, by label.

    Infinite where nobody gets through; 0 where nobody could before.  An aggregate gets the least that any of
    its spots is longer by: not what its least walk is, as the spot of the least walk to one door may not be
    that of the least walk to another.
    """
    legs, floor, spots = search.tightening.legs, search.tightening.floor, search.tightening.spots
    roots, origin = search.roots, spots.origin
    a, of_visit = legs.a.station[leg], legs.target[leg] == OF_VISIT
    places, others = places_of(search, legs.a, leg), places_of(search, legs.b, leg)
    first, last = sub.first[a], sub.first[a + 1]
    each = len(places) if of_visit else 1
    longer = np.zeros((last - first) * each)
    for x in range(first, last):
        for i in range(each):
            own = places[i : i + 1] if of_visit else places
            more, walked = math.inf, False
            for k in range(spots.member_begin[roots[x]], spots.member_begin[roots[x] + 1]):
                m = spots.member[k]
                known = np.float64(legs.known[legs.known_begin[leg] + (m - spots.first[a]) * each + i])
                if known == math.inf:
                    continue
                stamp(search.scene, floor.slots, a, floor.stamps, origin[m])
                y = origin[m] if legs.b.station[leg] == a else -1
                new = nearest_walk(search, leg, origin[m], own, y, others, known)
                more, walked = min(more, new - known), True
            if walked:
                longer[(x - first) * each + i] = more
    return longer


@unit
def tightened(
    root: Problem, node: Relaxation, constant: Whole, cutoff: Whole, tightening: Tightening
) -> Problem:
    """The problem on a node's active spots, walks round what is certain to stand in the way.

    ``root`` is the problem that ``tightening`` is of, the node's what it was worked on: the root or one
    tightened before.  ``constant`` goes with the state; ``cutoff`` is a cost of no use.
    """
    problem, sub, legs = node.problem, node.sub, tightening.legs
    roots = problem.origin[sub.spots]
    pair = gather(problem.pairs.costs, sub.spots)
    forbid_pairs(node, constant, cutoff, pair)
    base = gather(root.pairs.costs, roots)
    own = root.unary[fewer_labels(root.variables, root.first, roots)[1]]
    labels = fewer_labels(problem.variables, problem.first, sub.spots)[1]
    blocks = gather_blocks(problem, sub.label_begin, labels)
    begin = blocks_begin(blocks, sub.label_begin)
    search = new_search(tightening, sub, roots)
    for leg in range(len(legs.target)):
        make_way(search, leg)
        if legs.target[leg] == BLOCK:
            tighten_block(search, problem, sub, leg, pair, blocks, begin)
        elif legs.target[leg] == BETWEEN_STATIONS:
            tighten_pairs(search, sub, leg, pair, base)
        else:
            label = own_labels(problem, sub, tightening, leg)
            for more in longer_by(search, sub, leg):
                own[label] = min(own[label] + added_cost(legs.metre_cost[leg], more), np.int64(CLASH))
                label += 1
        put_back(search, sub, leg)
    for x in range(len(pair)):
        for y in range(len(pair)):
            pair[x, y] = max(pair[x, y], base[x, y])
    return Problem(
        first=sub.first.copy(),
        pairs=Pairs(pair, clash_bits(pair)),
        unary=np.maximum(own, problem.unary[labels]),
        variables=problem.variables,
        edges=problem.edges,
        incidence=problem.incidence,
        blocks=blocks,
        products=problem.products,
        origin=roots,
    )


@entry
def tighten_labels(node: Relaxation, tightening: Tightening) -> None:
    """Charge a node's labels for what is certain to stand in the way to a door.

    The node is worked on the problem that ``tightening`` is of.
    """
    sub, state, legs = node.sub, node.state, tightening.legs
    search = new_search(tightening, sub, sub.spots)
    for leg in range(len(legs.target)):
        if legs.target[leg] in (OF_STATION, OF_VISIT):
            make_way(search, leg)
            label = own_labels(node.problem, sub, tightening, leg)
            for more in longer_by(search, sub, leg):
                if more == math.inf:
                    state.active[label] = False
                else:
                    state.reduced[label] += added_cost(legs.metre_cost[leg], more)
                label += 1
            put_back(search, sub, leg)
