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
from footwork.arrange.tables import Ints, Longs
from footwork.floor.contact import Arrays, segment_blocker
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
    value: FloatArray


class Work(NamedTuple):
    """Scratch of the dynamic programme along a route."""

    cost: FloatArray
    then: FloatArray
    back: Longs
    last: Longs


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
    """Forget the distances whose path a thing newly on a spot may stand on (no way stays no way)."""
    routes, stamps = floor.routes, floor.stamps
    t = stamps.template[spot]
    for p in range(stamps.piece[t], stamps.piece[t + 1]):
        x = stamps.arrays.ball[p, 0] + stamps.at[spot, 0]
        y = stamps.arrays.ball[p, 1] + stamps.at[spot, 1]
        for e in range(len(memo.known)):
            if memo.known[e] and memo.metres[e] < math.inf:
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
def bit_of(floor: Floor, obstacle: int) -> np.uint64:
    """The mark of an obstacle in ``Memo.met``; 0 for the building, which never moves."""
    if obstacle < floor.first_thing:
        return np.uint64(0)
    return np.uint64(1) << np.uint64((obstacle - floor.first_thing) % 64)


@njit(cache=True, nogil=True)
def seek(
    floor: Floor, memo: Memo, e: int, px: float, py: float, qx: float, qy: float, radius: float
) -> tuple[float, np.uint64]:
    """Length of the way from p to q and the marks of the obstacles that decide it; keeps its path.

    Straight where that is clear; none where an end cannot be stood at; else searched.
    """
    scene = floor.scene
    memo.points[e] = 0
    met = np.uint64(0)
    if segment_blocker(scene, px, py, qx, qy, radius, TOLERANCE) < 0:
        memo.path[e, 0, 0], memo.path[e, 0, 1] = px, py
        memo.path[e, 1, 0], memo.path[e, 1, 1] = qx, qy
        memo.points[e] = 2
        return math.hypot(px - qx, py - qy), met
    for x, y in ((px, py), (qx, qy)):
        piece = segment_blocker(scene, x, y, x, y, radius, TOLERANCE)
        if piece >= 0:
            return math.inf, bit_of(floor, scene.span[piece, 2])
    joined = floor.joined
    joined[:] = 0
    metres, last, ef, ei, _ = search(scene, px, py, qx, qy, radius, TOLERANCE, math.inf, joined)
    keep_path(memo, e, last, ef, ei)
    for o in range(len(joined)):
        if joined[o]:
            met |= bit_of(floor, o)
    return metres, met


@njit(cache=True, nogil=True)
def ends_of(floor: Floor, memo: Memo, e: int) -> tuple[float, float, float, float, float]:
    """Where entry e is walked from and to, straight out from its places, and the metres of one such step."""
    routes = floor.routes
    a, b = routes.start[e], routes.end[e]
    out = 0.5 * (routes.block_width[routes.entry_block[e]] - routes.walker)
    px, py = memo.at[a, 0] + out * memo.out[a, 0], memo.at[a, 1] + out * memo.out[a, 1]
    qx, qy = memo.at[b, 0] + out * memo.out[b, 0], memo.at[b, 1] + out * memo.out[b, 1]
    return px, py, qx, qy, out


@njit(cache=True, nogil=True)
def promise_all(floor: Floor, memo: Memo) -> None:
    """Fill ``memo.value``: distances where they are known, straight lines elsewhere."""
    for e in range(len(memo.known)):
        if memo.known[e]:
            memo.value[e] = memo.metres[e]
        elif floor.routes.start[e] == floor.routes.end[e]:
            memo.value[e], memo.metres[e], memo.points[e] = 0.0, 0.0, 0
            memo.known[e] = True
        else:
            px, py, qx, qy, out = ends_of(floor, memo, e)
            memo.value[e] = math.hypot(px - qx, py - qy) + 2.0 * out


@njit(cache=True, nogil=True)
def find_out(floor: Floor, memo: Memo, e: int) -> None:
    """Search the distance of entry e and keep it."""
    px, py, qx, qy, out = ends_of(floor, memo, e)
    metres, met = seek(floor, memo, e, px, py, qx, qy, out + 0.5 * floor.routes.walker)
    memo.metres[e] = metres + 2.0 * out
    memo.value[e] = memo.metres[e]
    memo.met[e] = met
    memo.known[e] = True


@njit(cache=True, nogil=True)
def walk_task(floor: Floor, memo: Memo, t: int, work: Work) -> float:
    """Least metres of one task over one standing place for each visit, at ``memo.value`` an entry.

    ``work.back[k, j]`` is the place before place j of the visit that step k reaches; ``work.last`` the last.
    """
    routes, cost, then = floor.routes, work.cost, work.then
    begin, stop = routes.task[t], routes.task[t + 1]
    if begin == stop:
        return 0.0
    first = routes.step[begin]
    count = routes.columns[first] if routes.turned[begin] else routes.rows[first]
    cost[:count] = 0.0
    for k in range(begin, stop):
        block = routes.step[k]
        rows, columns, base = routes.rows[block], routes.columns[block], routes.block[block]
        turned = routes.turned[k]
        ends = rows if turned else columns
        stride = 1 if turned else columns
        for j in range(ends):
            best, which = math.inf, 0
            e = base + (j * columns if turned else j)
            for i in range(count):
                metres = cost[i] + memo.value[e]
                e += stride
                if metres < best:
                    best, which = metres, i
            then[j] = best
            work.back[k - begin, j] = which
        count = ends
        cost[:count] = then[:count]
    least = math.inf
    for j in range(count):
        if cost[j] < least:
            least = cost[j]
            work.last[0] = j
    return least


@njit(cache=True, nogil=True)
def find_out_route(floor: Floor, memo: Memo, t: int, work: Work) -> bool:
    """Search what is only promised on the route that ``walk_task`` chose; whether there was any."""
    routes = floor.routes
    begin, any_found = routes.task[t], False
    j = work.last[0]
    for k in range(routes.task[t + 1] - 1, begin - 1, -1):
        block = routes.step[k]
        i = work.back[k - begin, j]
        columns = routes.columns[block]
        e = routes.block[block] + (j * columns + i if routes.turned[k] else i * columns + j)
        if not memo.known[e]:
            find_out(floor, memo, e)
            any_found = True
        j = i
    return any_found


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
def true_cost(floor: Floor, memo: Memo, spots: Ints, work: Work, limit: float) -> float:
    """Metres a year of the layout that ``put`` has set up; infinite as soon as it exceeds ``limit``.

    Starts from straight lines where nothing is known, and searches only the legs of the route that is
    the least so far, until all of them are known: no other route can be shorter then.
    """
    routes = floor.routes
    promise_all(floor, memo)
    total = wish_cost(floor, spots)
    for t in range(len(routes.weight)):
        memo.promise[t] = walk_task(floor, memo, t, work)
        total += routes.weight[t] * memo.promise[t]
    for state in range(len(routes.inside)):
        if total > limit or total == math.inf:
            return math.inf
        for v in range(len(spots)):
            if routes.is_vehicle[v]:
                if routes.inside[state, v]:
                    stamp(floor.scene, floor.slots, v, floor.stamps, spots[v])
                else:
                    lift(floor.scene, floor.slots, v, floor.stamps, spots[v])
        for t in range(len(routes.weight)):
            if routes.task_state[t] != state or routes.weight[t] <= 0.0:
                continue
            metres = walk_task(floor, memo, t, work)
            while metres < math.inf and find_out_route(floor, memo, t, work):
                metres = walk_task(floor, memo, t, work)
                if total + routes.weight[t] * (metres - memo.promise[t]) > limit:
                    return math.inf
            total += routes.weight[t] * (metres - memo.promise[t])
            if total > limit or total == math.inf:
                return math.inf
    return total
