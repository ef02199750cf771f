"""RLT-1 multipliers, compiled: what floor is worth while a station has a certain spot.

In every layout that has station i at spot x, a point of the floor is covered at most once by the stations
that i is walked to and from.  So while x is chosen these may be charged a multiplier for the point, and x be
refunded it once: a bound with such multipliers is valid whatever they are.  Without them each of these
stations is taken to stand at the best place about x, all of them at the same one, and where the flow has no
hub that is most of what a bound lacks.  In plain assignment problems this is level 1 of the
reformulation-linearization technique (Adams, Guignard, Hahn and Hightower 2007, "A level-2
reformulation-linearization technique bound for the quadratic assignment problem", European Journal of
Operational Research 180(3)), with points of the floor in the place of its locations.

The packing constraint of a point, times the variable of a label, is a constraint on products of two labels.
One edge to each station that i is walked to and from carries the products of their labels (``Products``):
the charge is added to its costs, so that messages know of it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Bools, Ints, Longs
from footwork.arrange.relaxation.edge_minima import collect
from footwork.arrange.relaxation.model import (
    CLASH,
    MOST_POINTS,
    Problem,
    Relaxation,
    RltMultipliers,
    Scratch,
    State,
    Subproblem,
    Variables,
    Whole,
)
from footwork.arrange.relaxation.packing_multipliers import PackingPoints, take_least
from footwork.compiled.functions import bare, bare_unit, unit
from footwork.compiled.records import record

MOST_REFUND = 1 << 24
"""What a spot may be refunded at most, so that charged costs stay below clashes."""
FAR = 0.4
"""Part of the gap that a spot may cost, its multipliers still being moved: dearer ones matter less."""
SLOWER, FASTER, FASTEST = 0.5, 1.2, 2.0
"""By how much a spot's step size changes when a step made it cheaper, or dearer, and the most it may become
(as in resilient propagation; Riedmiller and Braun 1993, IEEE International Conference on Neural Networks)."""


@record
class Covering(NamedTuple):
    """Which of a node's spots cover each point, station by station, in CSR form.

    Those of station s that cover point c are ``spots[begin[s * points + c]:begin[s * points + c + 1]]``, as
    places among the station's spots.
    """

    begin: Ints
    spots: Ints


@record
class Charges(NamedTuple):
    """What points cost each spot of a station more than before: ``number`` (spots,) of them, which ``points``
    and by what ``amount`` (spots, 2 ``MOST_POINTS``)."""

    number: Ints
    points: Ints
    amount: Ints


@record
class RltScratch(NamedTuple):
    """Room to work in.

    best_place (labels,)          for each spot of a visit its best place, at the visit's first label and on
    near (spots,)                 of one station: whose multipliers are moved
    nearest (edges of one station, spots), least (spots,), worth (spots,)   of one station
    charges                       of one station
    pairs (spots times spots,)    what two stations' spots are charged, row by row
    row (labels,)                 what one spot's labels are
    cover, covered (points,)      of one spot, the first all 0 between two
    """

    best_place: Ints
    near: Bools
    nearest: Ints
    least: Ints
    worth: Longs
    charges: Charges
    pairs: Ints
    row: Ints
    cover: Ints
    covered: Ints


@record
class RltWork(NamedTuple):
    """What moving a node's RLT-1 multipliers takes."""

    packing: PackingPoints
    covering: Covering
    scratch: RltScratch


@unit
def covering_of(problem: Problem, sub: Subproblem, packing: PackingPoints, wanted: bool) -> Covering:
    """Which of a node's spots cover each point; nothing unless it is ``wanted``."""
    start, points, origin = packing.start, packing.points, problem.origin
    if not wanted:
        return Covering(points[:0], points[:0])
    first, n, count = sub.first, len(sub.first) - 1, len(packing.capacity)
    begin = np.zeros(count * n + 2, np.int32)
    for s in range(n):
        for x in range(first[s], first[s + 1]):
            spot = origin[sub.spots[x]]
            for k in range(start[spot], start[spot + 1]):
                begin[s * count + points[k] + 2] += 1
    for k in range(len(begin) - 1):
        begin[k + 1] += begin[k]
    spots = np.empty(begin[-1], np.int32)
    for s in range(n):
        for x in range(first[s], first[s + 1]):
            spot = origin[sub.spots[x]]
            for k in range(start[spot], start[spot + 1]):
                # Entries begin one place early, and end in theirs.
                at = s * count + points[k] + 1
                spots[begin[at]] = x - first[s]
                begin[at] += 1
    return Covering(begin[:-1], spots)


@unit
def rlt_scratch_for(problem: Problem, sub: Subproblem, packing: PackingPoints) -> RltScratch:
    """Room enough for a node and all that it may shrink to."""
    begin, points = problem.products.begin, len(packing.capacity)
    most = np.max(sub.first[1:] - sub.first[:-1])
    amounts = np.empty((most, 2 * MOST_POINTS), np.int32)
    return RltScratch(
        best_place=np.zeros(sub.label_begin[-1], np.int32),
        near=np.zeros(most, np.bool_),
        nearest=np.empty((np.max(begin[1:] - begin[:-1]), most), np.int32),
        least=np.empty(most, np.int32),
        worth=np.empty(most, np.int64),
        charges=Charges(np.empty(most, np.int32), amounts, np.empty_like(amounts)),
        pairs=np.empty(most * most, np.int32),
        row=np.empty(np.max(sub.label_begin[1:] - sub.label_begin[:-1]), np.int32),
        cover=np.zeros(points, np.int32),
        covered=np.empty(points, np.int32),
    )


@bare
def places_of(variables: Variables, v: Whole) -> Whole:
    """Labels that each spot has in variable v, which has one part."""
    places: Whole = variables.part_places[variables.part_begin[v]]
    return places


@bare
def note_best_places(node: Relaxation, v: Whole, best_place: Ints) -> None:
    """Note the best place of each spot, where v is a visit that one station alone can serve."""
    variables, sub, reduced = node.problem.variables, node.sub, node.state.reduced
    places, a = places_of(variables, v), sub.label_begin[v]
    if variables.part_begin[v + 1] - variables.part_begin[v] > 1 or places == 1:
        return
    for x in range((sub.label_begin[v + 1] - a) // places):
        best = 0
        for p in range(1, places):
            if reduced[a + x * places + p] < reduced[a + x * places + best]:
                best = p
        best_place[a + x] = best


@bare
def charged_pairs(
    sub: Subproblem, covering: Covering, charges: Charges, i: Whole, j: Whole, by_row: bool, out: Ints
) -> None:
    """out[x, y], or out[y, x] unless ``by_row``: what j's spot y costs more while i has its spot x."""
    spots, others = sub.first[i + 1] - sub.first[i], sub.first[j + 1] - sub.first[j]
    points = (len(covering.begin) - 1) // (len(sub.first) - 1)
    begin = covering.begin[j * points : (j + 1) * points + 1]
    # Unsigned indices are not asked whether they count from the end: this is the innermost loop of a node.
    across, along = np.uint64(others if by_row else 1), np.uint64(1 if by_row else spots)
    out[: spots * others] = 0
    for x in range(spots):
        at, mine, amounts = np.uint64(x) * across, charges.points[x], charges.amount[x]
        for m in range(charges.number[x]):
            c, amount = np.uint64(mine[m]), amounts[m]
            for s in range(np.uint64(begin[c]), np.uint64(begin[c + np.uint64(1)])):
                out[at + np.uint64(covering.spots[s]) * along] += amount


@bare_unit
def charge(node: Relaxation, work: RltWork, i: Whole, charges: Charges) -> None:
    """Charge the stations walked to from i for points, while i has the spot whose charges they are.

    Blocks of costs are gone through row by row, once for all points: as they lie in memory.
    """
    problem, sub, costs = node.problem, node.sub, node.sub.costs
    edges, products, pairs, row = problem.edges, problem.products, work.scratch.pairs, work.scratch.row
    for k in range(products.begin[i], products.begin[i + 1]):
        e, side, j = products.edge[k], products.side[k], products.other[k]
        by_row = edges.row_end[e] == side
        charged_pairs(sub, work.covering, charges, i, j, by_row, pairs)
        v, u = edges.ends[e, edges.row_end[e]], edges.ends[e, 1 - edges.row_end[e]]
        p, q = places_of(problem.variables, v), places_of(problem.variables, u)
        columns = sub.label_begin[u + 1] - sub.label_begin[u]
        across, at = columns // q, sub.cost_begin[e]
        for x in range((sub.label_begin[v + 1] - sub.label_begin[v]) // p):
            mine, charged = pairs[x * across : (x + 1) * across], np.int32(0)
            for y in range(across):
                charged |= mine[y]
            if charged != 0:
                labels = mine
                if q > 1:
                    labels = row
                    for y in range(across):
                        for b in range(q):
                            labels[np.uint64(y * q + b)] = mine[y]
                for _ in range(p):
                    target = costs[at : at + columns]
                    for y in range(columns):
                        target[y] += labels[y]
                    at += columns
            else:
                at += p * columns


@bare_unit
def charge_all(node: Relaxation, work: RltWork) -> None:
    """Charge a node's costs, as they are gathered, with all that is to be paid."""
    first, rlt, charges = node.sub.first, node.state.rlt, work.scratch.charges
    for i in range(len(first) - 1):
        for x in range(first[i + 1] - first[i]):
            count = rlt.number[first[i] + x]
            charges.number[x] = count
            for k in range(count):
                charges.points[x, k] = rlt.points[first[i] + x, k]
                charges.amount[x, k] = rlt.value[first[i] + x, k]
        charge(node, work, i, charges)


@bare
def refund(rlt: RltMultipliers, x: Whole) -> Whole:
    """What a spot is refunded."""
    total: Whole = np.int64(0)
    for k in range(rlt.number[x]):
        total += np.int64(rlt.value[x, k])
    return total


@bare_unit
def find_nearest(node: Relaxation, k: Whole, scratch: RltScratch, nearest: Ints, offset: Ints) -> None:
    """nearest[x] = the spot at the other end of ``Products`` k that is best with spot x at its best place,
    -1 for none; of spots that are near alone.

    ``offset`` is room to work in.
    """
    problem, sub, state, best_place = node.problem, node.sub, node.state, scratch.best_place
    e, side = problem.products.edge[k], problem.products.side[k]
    v, u = problem.edges.ends[e, side], problem.edges.ends[e, 1 - side]
    p, q = places_of(problem.variables, v), places_of(problem.variables, u)
    theirs, a, c = sub.message_begin[e, 1 - side], sub.label_begin[v], sub.label_begin[u]
    columns, size, at = sub.label_begin[v + 1] - a, sub.label_begin[u + 1] - c, sub.cost_begin[e]
    spots = columns // p
    if problem.edges.row_end[e] == side:
        for y in range(size):
            offset[y] = state.messages[theirs + y] if state.active[c + y] else -CLASH
        for x in range(spots):
            begin = at + (x * p + best_place[a + x]) * size
            row, least, found = sub.costs[begin : begin + size], CLASH, 0
            if not scratch.near[x]:
                continue
            for y in range(size):
                least = min(least, np.int32(row[y] - offset[y]))
            while found < size and row[found] - offset[found] != least:
                found += 1
            nearest[x] = found // q if found < size else -1
        return
    best = scratch.least
    best[:spots] = CLASH
    nearest[:spots] = -1
    for y in range(size):
        if state.active[c + y]:
            row, message = sub.costs[at + y * columns : at + (y + 1) * columns], state.messages[theirs + y]
            spot = np.int32(y // q)
            for x in range(spots):
                label = np.uint64(x) if p == 1 else np.uint64(x * p + best_place[a + x])
                value = np.int32(row[label] - message)
                nearest[x] = spot if value < best[x] else nearest[x]
                best[x] = min(value, best[x])


@bare
def count_cover(node: Relaxation, i: Whole, x: Whole, work: RltWork) -> tuple[int, float]:
    """Count how often the nearest spots about spot x of station i cover each point, in ``RltScratch.cover``.

    Returns how many points are covered (``RltScratch.covered``), and the square of the excess over one,
    points that have a multiplier and are not covered included.
    """
    products, sub, origin = node.problem.products, node.sub, node.problem.origin
    start, points, capacity = work.packing.start, work.packing.points, work.packing.capacity
    nearest, cover, covered = work.scratch.nearest, work.scratch.cover, work.scratch.covered
    count, square, rlt, own = 0, 0.0, node.state.rlt, sub.first[i] + x
    for k in range(products.begin[i], products.begin[i + 1]):
        y = nearest[k - products.begin[i], x]
        if y >= 0:
            spot = origin[sub.spots[sub.first[products.other[k]] + y]]
            for at in points[start[spot] : start[spot + 1]]:
                c = np.uint64(at)
                if capacity[c] == 1:
                    if cover[c] == 0:
                        covered[count] = at
                        count += 1
                    square += cover[c] ** 2 - max(0, cover[c] - 1) ** 2
                    cover[c] += 1
    for k in range(rlt.number[own]):
        square += np.float64(cover[np.uint64(rlt.points[own, k])] == 0)
    return count, square


@bare
def step_spot(
    rlt: RltMultipliers, x: Whole, step: float, count: int, scratch: RltScratch, points: Ints, change: Ints
) -> int:
    """Move the multipliers of a spot by its excess of cover, ``step`` for each time; clears the cover.

    ``count`` points are covered.  Returns how many ``points`` changed: those, each by its ``change``.
    """
    cover, covered = scratch.cover, scratch.covered
    kept, moved, total = 0, 0, refund(rlt, x)
    for k in range(rlt.number[x]):
        c, old = rlt.points[x, k], np.int64(rlt.value[x, k])
        new = max(np.int64(0), old + np.int64(step * (cover[c] - 1)))
        new = old if total + new - old > MOST_REFUND else new
        cover[c] = min(cover[c], 1)  # not to be met once more below
        if new != old:
            points[moved], change[moved] = c, np.int32(new - old)
            moved += 1
            total += new - old
        if new > 0:
            rlt.points[x, kept], rlt.value[x, kept] = c, np.int32(new)
            kept += 1
    for c in covered[:count]:
        new = np.int64(step * (cover[c] - 1))
        cover[c] = 0
        if new > 0 and kept < MOST_POINTS and total + new <= MOST_REFUND:
            rlt.points[x, kept], rlt.value[x, kept] = c, np.int32(new)
            points[moved], change[moved] = c, np.int32(new)
            kept, moved, total = kept + 1, moved + 1, total + new
    rlt.number[x] = kept
    return moved


@bare
def add_worth(node: Relaxation, v: Whole, sign: int, scratch: RltScratch) -> None:
    """Add to ``RltScratch.worth`` ``sign`` times what each spot of a station (variable v) costs with its
    visits."""
    problem, sub, reduced = node.problem, node.sub, node.state.reduced
    products, worth, best_place = problem.products, scratch.worth, scratch.best_place
    i = problem.variables.station[v]
    spots = sub.first[i + 1] - sub.first[i]
    for x in range(spots):
        worth[x] += sign * reduced[sub.label_begin[v] + x]
    for k in range(products.begin[i], products.begin[i + 1]):
        w = problem.edges.ends[products.edge[k], products.side[k]]
        if products.first[k] and w != v:
            p, a = places_of(problem.variables, w), sub.label_begin[w]
            for x in range(spots):
                worth[x] += sign * reduced[a + x * p + best_place[a + x]]


@bare
def take_least_of(sub: Subproblem, state: State, v: Whole) -> Whole:
    """``take_least`` of variable v."""
    a, b = sub.label_begin[v], sub.label_begin[v + 1]
    return take_least(state.active[a:b], state.reduced[a:b])


@bare_unit
def move_rlt_multipliers(
    node: Relaxation, v: Whole, constant: Whole, cutoff: Whole, step_size: float, work: RltWork,
    scratch: Scratch,
) -> Whole:  # fmt: skip
    """Move the RLT-1 multipliers of a station (variable v), all of whose edges have been collected.

    A subgradient step for each of its spots: the nearest spots of the stations walked to are a least choice
    as seen from there.  Returns the constant.
    """
    problem, sub, state, own = node.problem, node.sub, node.state, work.scratch
    products, reduced, rlt, charges = problem.products, state.reduced, state.rlt, own.charges
    i = problem.variables.station[v]
    low, begin, end = sub.first[i], products.begin[i], products.begin[i + 1]
    spots, gap = sub.first[i + 1] - low, np.float64(cutoff - constant)
    if end - begin < 2:
        return constant
    near = own.near
    for x in range(spots):
        label = sub.label_begin[v] + x
        near[x] = state.active[label] and np.float64(reduced[label]) <= FAR * gap
    for k in range(begin, end):
        find_nearest(node, k, own, own.nearest[k - begin], scratch.offset)
    own.worth[:spots] = 0
    add_worth(node, v, -1, own)
    for x in range(spots):
        label, charges.number[x] = sub.label_begin[v] + x, 0
        if near[x]:
            count, square = count_cover(node, i, x, work)
            step = step_size * gap * rlt.step_size[low + x] / max(square, 1.0)
            change = charges.amount[x]
            charges.number[x] = step_spot(rlt, low + x, step, count, own, charges.points[x], change)
            for k in range(charges.number[x]):
                reduced[label] -= change[k]
    charge(node, work, i, charges)
    for k in range(begin, end):
        collect(node, products.edge[k], products.side[k], scratch)
    add_worth(node, v, 1, own)
    for x in range(spots):
        change = SLOWER if own.worth[x] < 0 else FASTER if own.worth[x] > 0 else 1.0
        rlt.step_size[low + x] = min(change * rlt.step_size[low + x], FASTEST)
    for k in range(begin, end):
        w = problem.edges.ends[products.edge[k], products.side[k]]
        if products.first[k] and w != v:
            constant += take_least_of(sub, state, w)
    return min(constant + take_least_of(sub, state, v), cutoff)


@unit
def packed(rlt: RltMultipliers) -> Ints:
    """All multipliers in one array: for each spot how many, then the points, then their values."""
    flat: Ints = np.empty(len(rlt.number) + 2 * np.sum(rlt.number), np.int32)
    at = 0
    for x in range(len(rlt.number)):
        n = rlt.number[x]
        flat[at] = n
        flat[at + 1 : at + 1 + n] = rlt.points[x, :n]
        flat[at + 1 + n : at + 1 + 2 * n] = rlt.value[x, :n]
        at += 1 + 2 * n
    return flat


@unit
def unpacked(flat: Ints, spots: Whole, pick: Ints) -> RltMultipliers:
    """The multipliers of the spots in the places ``pick`` of so many; all begin at the same step size."""
    begin = np.zeros(spots + 1, np.int64)
    for x in range(spots):
        begin[x + 1] = begin[x] + 1 + 2 * flat[begin[x]]
    n = len(pick)
    points = np.empty((n, MOST_POINTS), np.int32)
    rlt = RltMultipliers(np.empty(n, np.int32), points, np.empty_like(points), np.ones(n, np.float32))
    for x in range(n):
        at = begin[pick[x]] + 1
        count = flat[at - 1]
        rlt.number[x] = count
        rlt.points[x, :count] = flat[at : at + count]
        rlt.value[x, :count] = flat[at + count : at + 2 * count]
    return rlt
