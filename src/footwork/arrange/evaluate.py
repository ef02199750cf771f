"""The true cost of a layout, compiled, with what a move does not touch remembered.

Same figures as ``floor.routes`` and ``floor.wishes``: every leg with everything on the floor, exact
arcs, the least over standing places along the whole route, the mean over the states of the vehicles.
A distance stays known while nothing that its search met has moved and nothing new stands near the
path, which is kept as a polyline whose arcs stray from it by less than the walker's radius.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numba import njit

from footwork.arrange.flat_routes import Routes, Wishes
from footwork.arrange.fleet import Places, Slots, Stamps, lift, stamp
from footwork.arrange.pairs import stuck
from footwork.arrange.tables import Ints, Longs
from footwork.floor.contact import Arrays
from footwork.floor.kernel import BEFORE, EX, EY, SX, SY, search
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import TOLERANCE

MOST_POINTS = 16
"""Points of a path that a memo keeps; a longer path is forgotten at every move."""


class Memo(NamedTuple):
    """What is known of one layout: slots' places, distances, the things each search met, its path."""

    at: FloatArray
    out: FloatArray
    metres: FloatArray
    met: npt.NDArray[np.uint64]
    path: FloatArray
    points: Longs
    known: npt.NDArray[np.bool_]
    promise: FloatArray


class Floor(NamedTuple):
    """Everything the compiled cost needs besides a memo: the thread's own scene and shared tables."""

    scene: Arrays
    slots: Slots
    stamps: Stamps
    places: Places
    routes: Routes
    wishes: Wishes
    unary: FloatArray
    first_thing: int
    joined: Longs


@njit(cache=True, nogil=True)
def put(floor: Floor, memo: Memo, thing: int, spot: int) -> None:
    """Place a thing: its obstacle in the scene and its standing places in the memo."""
    stamp(floor.scene, floor.slots, thing, floor.stamps, spot)
    places, routes = floor.places, floor.routes
    for s in range(routes.thing_slot[thing], routes.thing_slot[thing + 1]):
        k = places.start[spot] + routes.slot_place[s]
        for c in range(2):
            memo.at[s, c] = places.at[k, c]
            memo.out[s, c] = places.out[k, c]


@njit(cache=True, nogil=True)
def forget(floor: Floor, memo: Memo, thing: int) -> None:
    """Forget the distances that a thing's leaving its spot may change."""
    routes = floor.routes
    bit = np.uint64(1) << np.uint64(thing % 64)
    for e in range(len(memo.known)):
        if memo.known[e] and (
            memo.met[e] & bit
            or routes.slot_thing[routes.start[e]] == thing
            or routes.slot_thing[routes.end[e]] == thing
        ):
            memo.known[e] = False


@njit(cache=True, nogil=True)
def near_path(memo: Memo, e: int, x: float, y: float, reach: float) -> bool:
    """Whether a point is within ``reach`` of the polyline of entry e."""
    for k in range(memo.points[e] - 1):
        ax, ay = memo.path[e, k, 0], memo.path[e, k, 1]
        dx, dy = memo.path[e, k + 1, 0] - ax, memo.path[e, k + 1, 1] - ay
        square = dx * dx + dy * dy
        t = 0.0
        if square > 0.0:
            t = min(1.0, max(0.0, ((x - ax) * dx + (y - ay) * dy) / square))
        ex, ey = ax + t * dx - x, ay + t * dy - y
        if ex * ex + ey * ey < reach * reach:
            return True
    return False


@njit(cache=True, nogil=True)
def disturb(floor: Floor, memo: Memo, thing: int, spot: int) -> None:
    """Forget the distances whose path a thing newly on a spot may stand on."""
    routes, stamps = floor.routes, floor.stamps
    t = stamps.template[spot]
    for p in range(stamps.piece[t], stamps.piece[t + 1]):
        x = stamps.arrays.ball[p, 0] + stamps.at[spot, 0]
        y = stamps.arrays.ball[p, 1] + stamps.at[spot, 1]
        for e in range(len(memo.known)):
            if memo.known[e]:
                # A bent path's arcs stray from the polyline by less than a radius.
                radii = 0.5 if memo.points[e] == 2 else 1.0
                reach = stamps.arrays.ball[p, 2] + radii * routes.block_width[routes.entry_block[e]]
                memo.known[e] = memo.points[e] > 0 and not near_path(memo, e, x, y, reach)


@njit(cache=True, nogil=True)
def keep_path(memo: Memo, e: int, last: int, ef: FloatArray, ei: Longs) -> None:
    """Keep the polyline of a finished search, end to start."""
    count = 0
    while last >= 0:
        if count + 2 > MOST_POINTS:
            memo.points[e] = 0
            return
        memo.path[e, count, 0], memo.path[e, count, 1] = ef[last, EX], ef[last, EY]
        memo.path[e, count + 1, 0], memo.path[e, count + 1, 1] = ef[last, SX], ef[last, SY]
        count += 2
        last = ei[last, BEFORE]
    memo.points[e] = count


@njit(cache=True, nogil=True)
def distance(floor: Floor, memo: Memo, e: int, straight_only: bool) -> float:
    """Distance of entry e (with the steps out and in): remembered or searched; or only the straight line."""
    if memo.known[e]:
        return float(memo.metres[e])
    routes = floor.routes
    a, b = routes.start[e], routes.end[e]
    if a == b:
        return 0.0
    width = routes.block_width[routes.entry_block[e]]
    out = 0.5 * (width - routes.walker)
    px, py = memo.at[a, 0] + out * memo.out[a, 0], memo.at[a, 1] + out * memo.out[a, 1]
    qx, qy = memo.at[b, 0] + out * memo.out[b, 0], memo.at[b, 1] + out * memo.out[b, 1]
    if straight_only:
        return float(math.hypot(px - qx, py - qy) + 2.0 * out)
    joined = floor.joined
    joined[:] = 0
    metres = math.inf
    if not (stuck(floor.scene, px, py, 0.5 * width) or stuck(floor.scene, qx, qy, 0.5 * width)):
        metres, last, ef, ei, _ = search(
            floor.scene, px, py, qx, qy, 0.5 * width, TOLERANCE, math.inf, joined
        )
        keep_path(memo, e, last, ef, ei)
    met = np.uint64(0)
    if metres < math.inf:
        for o in range(floor.first_thing, len(joined)):
            if joined[o]:
                met |= np.uint64(1) << np.uint64((o - floor.first_thing) % 64)
    else:
        met = ~np.uint64(0)
        memo.points[e] = 0
    memo.metres[e] = metres + 2.0 * out
    memo.met[e] = met
    memo.known[e] = True
    return float(memo.metres[e])


@njit(cache=True, nogil=True)
def arrive(
    floor: Floor, memo: Memo, base: int, stride: int, count: int, cost: FloatArray, straight_only: bool
) -> float:
    """Least of ``cost[i]`` + entry ``base + i * stride``; unknown entries are searched by promise, and no
    further than they can pay; or counted at their straight line."""
    best = math.inf
    for i in range(count):
        if straight_only or memo.known[base + i * stride]:
            best = min(best, cost[i] + distance(floor, memo, base + i * stride, True))
    if straight_only:
        return best
    while True:
        least, which = best, -1
        for i in range(count):
            e = base + i * stride
            if not memo.known[e]:
                promise = cost[i] + distance(floor, memo, e, True)
                if promise < least:
                    least, which = promise, i
        if which < 0:
            return best
        best = min(best, cost[which] + distance(floor, memo, base + which * stride, False))


@njit(cache=True, nogil=True)
def walk_task(
    floor: Floor, memo: Memo, t: int, cost: FloatArray, then: FloatArray, straight_only: bool
) -> float:
    """Metres of one task: least over one standing place for each visit.

    ``straight_only`` counts what is not known at its straight line: a lower bound, at once.
    """
    routes = floor.routes
    begin, stop = routes.task[t], routes.task[t + 1]
    if begin == stop:
        return 0.0
    first = routes.step[begin]
    count = routes.columns[first] if routes.turned[begin] else routes.rows[first]
    cost[:count] = 0.0
    for k in range(begin, stop):
        block = routes.step[k]
        rows, columns, base = routes.rows[block], routes.columns[block], routes.block[block]
        ends = rows if routes.turned[k] else columns
        for j in range(ends):
            if routes.turned[k]:
                then[j] = arrive(floor, memo, base + j * columns, 1, count, cost, straight_only)
            else:
                then[j] = arrive(floor, memo, base + j, columns, count, cost, straight_only)
        count = ends
        cost[:count] = then[:count]
    least = math.inf
    for i in range(count):
        least = min(least, cost[i])
    return least


@njit(cache=True, nogil=True)
def wish_cost(floor: Floor, spots: Ints) -> float:
    """Weight x metres of the wishes; those measured to the building are ``floor.unary``."""
    wishes, at = floor.wishes, floor.stamps.at
    total = 0.0
    for i in range(len(spots)):
        total += floor.unary[spots[i]]
    for w in range(len(wishes.subject)):
        s = spots[wishes.subject[w]]
        metres = math.inf
        for k in range(wishes.start[w], wishes.start[w + 1]):
            o = spots[wishes.other[k]]
            metres = min(metres, math.hypot(at[s, 0] - at[o, 0], at[s, 1] - at[o, 1]))
        counted = metres if wishes.near[w] else max(0.0, wishes.by[w] - metres)
        total += wishes.weight[w] * counted
    return total


@njit(cache=True, nogil=True)
def true_cost(
    floor: Floor, memo: Memo, spots: Ints, cost: FloatArray, then: FloatArray, limit: float
) -> float:
    """Metres a year of the layout that ``put`` has set up; infinite as soon as it exceeds ``limit``."""
    routes = floor.routes
    total = wish_cost(floor, spots)
    for t in range(len(routes.weight)):
        if routes.weight[t] > 0.0:
            memo.promise[t] = walk_task(floor, memo, t, cost, then, True)
            total += routes.weight[t] * memo.promise[t]
    if total > limit or total == math.inf:
        return math.inf
    for state in range(len(routes.inside)):
        for v in range(len(spots)):
            if routes.is_vehicle[v]:
                if routes.inside[state, v]:
                    stamp(floor.scene, floor.slots, v, floor.stamps, spots[v])
                else:
                    lift(floor.scene, floor.slots, v, floor.stamps, spots[v])
        for t in range(len(routes.weight)):
            if routes.task_state[t] == state and routes.weight[t] > 0.0:
                metres = walk_task(floor, memo, t, cost, then, False)
                total += routes.weight[t] * (metres - memo.promise[t])
                if total > limit:
                    return math.inf
    return total
