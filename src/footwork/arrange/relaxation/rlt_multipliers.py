"""Conditional rents, compiled: what floor is worth while a station has a certain spot.

In every layout that has station i at spot x, a point of the floor is covered at most once by the stations
that i is walked to and from.  So while x is chosen these may be charged a rent for the point, and x be handed
it back once: a bound with such rents is valid whatever they are.  Without them each of these stations is
taken to stand at the best place about x, all of them at the same one, and where the flow has no hub that is
most of what a bound lacks.  In plain assignment problems this is level 1 of the reformulation-linearization
technique (Adams, Guignard, Hahn and Hightower 2007, "A level-2 reformulation-linearization technique bound
for the quadratic assignment problem", European Journal of Operational Research 180(3)), with points of the
floor in the place of its locations.

A station and those that it is walked to and from are a *star*, the edges that are charged its *rays*
(``Problem.ray``).  The charge is added to the rays' prices, so that messages know of it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Ints, Longs
from footwork.arrange.relaxation.edge_minima import collect
from footwork.arrange.relaxation.model import (
    CLASH,
    MOST_POINTS,
    Conditional,
    Living,
    Problem,
    Scratch,
    State,
    Whole,
)
from footwork.arrange.relaxation.packing_multipliers import Shared, settle
from footwork.compiled.functions import bare, bare_unit, unit
from footwork.compiled.records import record

MOST_DUES = 1 << 24
"""What a spot may be handed back at most, so that charged prices stay below clashes."""
FAR = 0.4
"""Part of the gap that a spot may cost, its rents still being moved: dearer ones matter less."""
SLOWER, FASTER, FASTEST = 0.5, 1.2, 2.0
"""By how much a spot's pace changes when a step made it cheaper, or dearer, and the most it may become
(as in resilient propagation; Riedmiller and Braun 1993, IEEE International Conference on Neural Networks)."""


@record
class Ground(NamedTuple):
    """Which of a node's spots cover each point, station by station, in CSR form.

    Those of station s that cover point c are ``spots[begin[c * stations + s]:begin[c * stations + s + 1]]``,
    as places among the node's spots.
    """

    begin: Ints
    spots: Ints


Stars = tuple[float, Shared, Ground]
"""(pace, shared, ground): the length of a step, in parts of the gap, and what is rented by whom."""


@record
class Room(NamedTuple):
    """Room to work in.

    ``place`` (labels,) has for each spot of a visit its best place, at the visit's first label and on.
    ``near`` (rays, spots), ``best`` (spots,), ``worth`` (spots,) are of one star; ``cover``, ``touched``,
    ``moved``, ``change`` (points,) of one spot, the first all 0 between two.
    """

    place: Ints
    near: Ints
    best: Ints
    worth: Longs
    cover: Ints
    touched: Ints
    moved: Ints
    change: Ints


@unit
def ground_of(problem: Problem, live: Living, shared: Shared, wanted: bool) -> Ground:
    """The ground of a node's spots; nothing unless it is ``wanted``."""
    start, points, capacity = shared
    if not wanted:
        return Ground(points[:0], points[:0])
    n = len(live.first) - 1
    begin = np.zeros(len(capacity) * n + 2, np.int32)
    for s in range(n):
        for x in range(live.first[s], live.first[s + 1]):
            spot = problem.origin[live.spots[x]]
            for k in range(start[spot], start[spot + 1]):
                begin[points[k] * n + s + 2] += 1
    for k in range(len(begin) - 1):
        begin[k + 1] += begin[k]
    spots = np.empty(begin[-1], np.int32)
    for s in range(n):
        for x in range(live.first[s], live.first[s + 1]):
            spot = problem.origin[live.spots[x]]
            for k in range(start[spot], start[spot + 1]):
                # Entries begin one place early, and end in theirs.
                at = points[k] * n + s + 1
                spots[begin[at]] = x
                begin[at] += 1
    return Ground(begin[:-1], spots)


@unit
def room_for(problem: Problem, live: Living, shared: Shared) -> Room:
    """Room enough for a node and all that it may shrink to."""
    points, rays = len(shared[2]), np.max(problem.star[1:] - problem.star[:-1])
    most = np.max(live.first[1:] - live.first[:-1])
    return Room(
        np.zeros(live.label[-1], np.int32),
        np.empty((rays, most), np.int32),
        np.empty(most, np.int32),
        np.empty(most, np.int64),
        np.zeros(points, np.int32),
        np.empty(points, np.int32),
        np.empty(points, np.int32),
        np.empty(points, np.int32),
    )


@bare
def places_of(problem: Problem, v: Whole) -> Whole:
    """Labels that each spot has in variable v, which has one part."""
    places: Whole = problem.part_places[problem.part[v]]
    return places


@bare
def note_places(problem: Problem, live: Living, state: State, v: Whole, room: Room) -> None:
    """Note the best place of each spot, where v is a visit that one station alone can serve."""
    places, a = places_of(problem, v), live.label[v]
    if problem.part[v + 1] - problem.part[v] > 1 or places == 1:
        return
    for x in range((live.label[v + 1] - a) // places):
        best = 0
        for p in range(1, places):
            if state.theta[a + x * places + p] < state.theta[a + x * places + best]:
                best = p
        room.place[a + x] = best


@bare_unit
def charge(
    problem: Problem, live: Living, ground: Ground, i: Whole, x: Whole, points: Ints, amounts: Ints,
    count: Whole,
) -> None:  # fmt: skip
    """Charge the star of station i for ``count`` points, so much each, while i has its spot x."""
    n = len(live.first) - 1
    for k in range(problem.star[i], problem.star[i + 1]):
        e, side, j = problem.ray[k, 0], problem.ray[k, 1], problem.ray[k, 2]
        v, u = problem.ends[e, side], problem.ends[e, 1 - side]
        p, q, low = places_of(problem, v), places_of(problem, u), live.first[j]
        # Steps in the block from label to label of either end.
        mine, theirs = np.int64(1), live.label[v + 1] - live.label[v]
        if problem.rows[e] == side:
            mine, theirs = live.label[u + 1] - live.label[u], np.int64(1)
        at = live.prices_at[e] + x * p * mine
        for m in range(count):
            c, amount = points[m] * n + j, amounts[m]
            for s in range(ground.begin[c], ground.begin[c + 1]):
                first = at + (ground.spots[s] - low) * q * theirs
                for a in range(p):
                    for b in range(q):
                        live.prices[first + a * mine + b * theirs] += amount


@bare_unit
def charge_all(problem: Problem, live: Living, rents: Conditional, ground: Ground) -> None:
    """Charge a node's prices, as they are gathered, with all that is to be paid."""
    for i in range(len(live.first) - 1):
        low = live.first[i]
        for x in range(low, live.first[i + 1]):
            charge(problem, live, ground, i, x - low, rents.points[x], rents.rents[x], rents.number[x])


@bare
def dues(rents: Conditional, x: Whole) -> Whole:
    """What a spot is handed back."""
    total: Whole = np.int64(0)
    for k in range(rents.number[x]):
        total += np.int64(rents.rents[x, k])
    return total


@bare_unit
def nearest(
    problem: Problem, live: Living, state: State, ray: Whole, room: Room, near: Ints, offset: Ints
) -> None:
    """near[x] = the spot at a ray's other end that is best with spot x at its best place, -1 for none.

    ``offset`` is room to work in.
    """
    e, side = problem.ray[ray, 0], problem.ray[ray, 1]
    v, u = problem.ends[e, side], problem.ends[e, 1 - side]
    p, q = places_of(problem, v), places_of(problem, u)
    theirs, a, c = live.at[e, 1 - side], live.label[v], live.label[u]
    columns, size, at = live.label[v + 1] - a, live.label[u + 1] - c, live.prices_at[e]
    spots = columns // p
    if problem.rows[e] == side:
        for y in range(size):
            offset[y] = state.messages[theirs + y] if state.alive[c + y] else -CLASH
        for x in range(spots):
            begin = at + (x * p + room.place[a + x]) * size
            row, least, found = live.prices[begin : begin + size], CLASH, 0
            for y in range(size):
                least = min(least, np.int32(row[y] - offset[y]))
            while found < size and row[found] - offset[found] != least:
                found += 1
            near[x] = found // q if found < size else -1
        return
    room.best[:spots] = CLASH
    near[:spots] = -1
    for y in range(size):
        if state.alive[c + y]:
            row, off = live.prices[at + y * columns : at + (y + 1) * columns], state.messages[theirs + y]
            for x in range(spots):
                value = np.int32(row[x * p + room.place[a + x]] - off)
                near[x] = y // q if value < room.best[x] else near[x]
                room.best[x] = min(value, room.best[x])


@bare
def count_cover(
    problem: Problem, live: Living, i: Whole, x: Whole, shared: Shared, room: Room
) -> tuple[int, float]:
    """Count how often the nearest spots about spot x of station i cover each point, in ``room.cover``.

    Returns how many points are covered (``room.touched``), and the square of the excess over one, points that
    have a rent and are not covered included.
    """
    start, points, capacity = shared
    touched, square = 0, 0.0
    for k in range(problem.star[i], problem.star[i + 1]):
        y = room.near[k - problem.star[i], x]
        if y >= 0:
            spot = problem.origin[live.spots[live.first[problem.ray[k, 2]] + y]]
            for c in points[start[spot] : start[spot + 1]]:
                if capacity[c] == 1:
                    if room.cover[c] == 0:
                        room.touched[touched] = c
                        touched += 1
                    square += room.cover[c] ** 2 - max(0, room.cover[c] - 1) ** 2
                    room.cover[c] += 1
    return touched, square


@bare
def move_spot(rents: Conditional, x: Whole, step: float, touched: int, room: Room) -> int:
    """Move the rents of a spot by its excess of cover, ``step`` for each time; clears ``room.cover``.

    Returns how many points changed: those in ``room.moved``, by ``room.change``.
    """
    kept, moved, due = 0, 0, dues(rents, x)
    for k in range(rents.number[x]):
        c, old = rents.points[x, k], np.int64(rents.rents[x, k])
        new = max(np.int64(0), old + np.int64(step * (room.cover[c] - 1)))
        new = old if due + new - old > MOST_DUES else new
        room.cover[c] = min(room.cover[c], 1)  # not to be met once more below
        if new != old:
            room.moved[moved], room.change[moved] = c, np.int32(new - old)
            moved += 1
            due += new - old
        if new > 0:
            rents.points[x, kept], rents.rents[x, kept] = c, np.int32(new)
            kept += 1
    for c in room.touched[:touched]:
        new = np.int64(step * (room.cover[c] - 1))
        room.cover[c] = 0
        if new > 0 and kept < MOST_POINTS and due + new <= MOST_DUES:
            rents.points[x, kept], rents.rents[x, kept] = c, np.int32(new)
            room.moved[moved], room.change[moved] = c, np.int32(new)
            kept, moved, due = kept + 1, moved + 1, due + new
    rents.number[x] = kept
    return moved


@bare
def tell_worth(problem: Problem, live: Living, state: State, v: Whole, sign: int, room: Room) -> None:
    """Add to ``room.worth`` ``sign`` times what each spot of a station (variable v) costs with its visits."""
    i = problem.station[v]
    spots = live.first[i + 1] - live.first[i]
    for x in range(spots):
        room.worth[x] += sign * state.theta[live.label[v] + x]
    for k in range(problem.star[i], problem.star[i + 1]):
        w = problem.ends[problem.ray[k, 0], problem.ray[k, 1]]
        if problem.ray[k, 3] > 0 and w != v:
            p, a = places_of(problem, w), live.label[w]
            for x in range(spots):
                room.worth[x] += sign * state.theta[a + x * p + room.place[a + x]]


@bare
def settle_variable(live: Living, state: State, v: Whole) -> Whole:
    """Take the least theta of a variable out of its thetas; returns it, ``CLASH`` when no label lives."""
    a, b = live.label[v], live.label[v + 1]
    return settle(state.alive[a:b], state.theta[a:b])


@bare_unit
def move_star(
    problem: Problem, live: Living, state: State, v: Whole, constant: Whole, limit: Whole, stars: Stars,
    room: Room, scratch: Scratch,
) -> Whole:  # fmt: skip
    """Move the conditional rents of a station (variable v), all of whose edges have been collected.

    A subgradient step for each of its spots: the nearest spots of its star are a least choice as seen from
    there.  Returns the constant.
    """
    pace, shared, ground = stars
    i = problem.station[v]
    low, begin, end = live.first[i], problem.star[i], problem.star[i + 1]
    spots, gap = live.first[i + 1] - low, np.float64(limit - constant)
    if end - begin < 2:
        return constant
    for k in range(begin, end):
        nearest(problem, live, state, k, room, room.near[k - begin], scratch.least[2])
    room.worth[:spots] = 0
    tell_worth(problem, live, state, v, -1, room)
    rents = state.conditional
    for x in range(spots):
        label = live.label[v] + x
        if state.alive[label] and np.float64(state.theta[label]) <= FAR * gap:
            touched, square = count_cover(problem, live, i, x, shared, room)
            for k in range(rents.number[low + x]):
                square += np.float64(room.cover[rents.points[low + x, k]] == 0)
            step = pace * gap * rents.pace[low + x] / max(square, 1.0)
            moved = move_spot(rents, low + x, step, touched, room)
            for k in range(moved):
                state.theta[label] -= room.change[k]
            charge(problem, live, ground, i, x, room.moved, room.change, moved)
    for k in range(begin, end):
        collect(problem, live, state, problem.ray[k, 0], problem.ray[k, 1], scratch.least)
    tell_worth(problem, live, state, v, 1, room)
    for x in range(spots):
        change = SLOWER if room.worth[x] < 0 else FASTER if room.worth[x] > 0 else 1.0
        rents.pace[low + x] = min(change * rents.pace[low + x], FASTEST)
    for k in range(begin, end):
        w = problem.ends[problem.ray[k, 0], problem.ray[k, 1]]
        if problem.ray[k, 3] > 0 and w != v:
            constant += settle_variable(live, state, w)
    return min(constant + settle_variable(live, state, v), limit)


@unit
def packed(rents: Conditional) -> Ints:
    """All rents in one array: for each spot how many, then the points, then what they cost."""
    flat: Ints = np.empty(len(rents.number) + 2 * np.sum(rents.number), np.int32)
    at = 0
    for x in range(len(rents.number)):
        n = rents.number[x]
        flat[at] = n
        flat[at + 1 : at + 1 + n] = rents.points[x, :n]
        flat[at + 1 + n : at + 1 + 2 * n] = rents.rents[x, :n]
        at += 1 + 2 * n
    return flat


@unit
def unpacked(flat: Ints, spots: Whole, pick: Ints) -> Conditional:
    """The rents of the spots in the places ``pick`` of so many; all begin at the same pace."""
    begin = np.zeros(spots + 1, np.int64)
    for x in range(spots):
        begin[x + 1] = begin[x] + 1 + 2 * flat[begin[x]]
    n = len(pick)
    points = np.empty((n, MOST_POINTS), np.int32)
    rents = Conditional(np.empty(n, np.int32), points, np.empty_like(points), np.ones(n, np.float32))
    for x in range(n):
        at = begin[pick[x]] + 1
        count = flat[at - 1]
        rents.number[x] = count
        rents.points[x, :count] = flat[at : at + count]
        rents.rents[x, :count] = flat[at + count : at + 2 * count]
    return rents
