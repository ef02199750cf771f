"""The true cost of a layout, compiled, with what a move does not touch remembered.

Same figures as ``floor.routes`` and ``floor.wishes``: every leg with everything on the floor, exact
arcs, the least over standing places along the whole route, the mean over the states of the vehicles.
After a move only the routes are walked again that use a distance which may have changed, and of those
distances only the ones are searched that a least walk needs.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from footwork.arrange.core.arrays import Ints, Longs
from footwork.arrange.pair_table.walks import felt
from footwork.arrange.spots.stamps import stamp, take_off
from footwork.arrange.true_cost.distance_cache import (
    ENTRIES,
    HIGH_X,
    HIGH_Y,
    KNOWN,
    LOW_X,
    LOW_Y,
    METRES,
    POINTS,
    STAYS,
    DistanceCache,
    Floor,
    Trail,
    begin,
    disturb,
    forget,
    justify,
    keep_path,
    put,
    save,
    undo,
    unsettle,
)
from footwork.compiled.functions import bare, bare_unit, entry, unit
from footwork.compiled.records import record
from footwork.floor.kernel import Query, explore
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import TOLERANCE


@record
class Work(NamedTuple):
    """Scratch of the dynamic programme along a route."""

    cost: FloatArray
    then: FloatArray
    back: Longs
    last: Longs


@record
class Evaluation(NamedTuple):
    """What the true cost of one layout after the other is found with; one a thread."""

    floor: Floor
    cache: DistanceCache
    trail: Trail
    work: Work


@bare
def ends_of(floor: Floor, cache: DistanceCache, e: int) -> tuple[float, float, float, float, float]:
    """Where entry e is walked from and to, straight out from its places, and the metres of one such step."""
    routes = floor.routes
    a, b = routes.entries.start[e], routes.entries.end[e]
    out = 0.5 * (routes.blocks.width[routes.entries.block[e]] - routes.walker)
    at, outward = cache.places.at, cache.places.out
    px, py = at[a, 0] + out * outward[a, 0], at[a, 1] + out * outward[a, 1]
    qx, qy = at[b, 0] + out * outward[b, 0], at[b, 1] + out * outward[b, 1]
    return px, py, qx, qy, out


@bare
def bound_from_below(floor: Floor, cache: DistanceCache, e: int) -> None:
    """The lower bound of an entry that is not known: the straight line; from a place to itself nothing."""
    if floor.routes.entries.start[e] != floor.routes.entries.end[e]:
        px, py, qx, qy, out = ends_of(floor, cache, e)
        cache.entries.value[e] = math.hypot(px - qx, py - qy) + 2.0 * out
        return
    cache.entries.value[e] = 0.0
    fact, figure = cache.entries.fact, cache.entries.figure
    fact[e, KNOWN], fact[e, POINTS], fact[e, STAYS] = 1, 1, 0
    figure[e, METRES] = 0.0
    figure[e, LOW_X], figure[e, LOW_Y], figure[e, HIGH_X], figure[e, HIGH_Y] = (
        math.inf, math.inf, -math.inf, -math.inf,
    )  # fmt: skip


@entry
def find_out(floor: Floor, cache: DistanceCache, e: int) -> None:
    """Search the distance of entry e and keep it."""
    px, py, qx, qy, out = ends_of(floor, cache, e)
    radius = out + 0.5 * floor.routes.walker
    floor.joined[:] = 0
    query = Query(px, py, qx, qy, radius, TOLERANCE, math.inf)
    metres, last, edges = explore(floor.scene, query, floor.joined, floor.desk, True)
    keep_path(cache, e, last, edges, radius)
    justify(floor, cache, e)
    cache.entries.value[e] = metres + 2.0 * out
    cache.entries.figure[e, METRES] = cache.entries.value[e]
    cache.entries.fact[e, KNOWN] = 1


@bare_unit
def walk_task(floor: Floor, cache: DistanceCache, t: int, work: Work) -> float:
    """The least that a task counts over one standing place for each visit, at ``EntryCache.value`` an entry.

    ``work.back[k, j]`` is the place before place j of the visit that step k reaches; ``work.last`` the last.
    """
    routes, cost, then, value, back = floor.routes, work.cost, work.then, cache.entries.value, work.back
    begin, stop = routes.tasks.first[t], routes.tasks.first[t + 1]
    if begin == stop:
        return 0.0
    first = routes.tasks.step[begin]
    count = routes.blocks.columns[first] if routes.tasks.turned[begin] else routes.blocks.rows[first]
    for i in range(count):
        cost[i] = 0.0
    for k in range(begin, stop):
        block = routes.tasks.step[k]
        rows, columns = routes.blocks.rows[block], routes.blocks.columns[block]
        base = routes.blocks.first[block]
        turned, factor = routes.tasks.turned[k], routes.tasks.factor[k]
        ends = rows if turned else columns
        stride = 1 if turned else columns
        for j in range(ends):
            best, which = math.inf, 0
            e = base + (j * columns if turned else j)
            for i in range(count):
                metres = cost[i] + factor * felt(value[e], routes.setting_off, routes.pace)
                e += stride
                if metres < best:
                    best, which = metres, i
            then[j] = best
            back[k - begin, j] = which
        count = ends
        for i in range(count):
            cost[i] = then[i]
    least = math.inf
    for j in range(count):
        if cost[j] < least:
            least = cost[j]
            work.last[0] = j
    return least


@unit
def find_out_route(floor: Floor, cache: DistanceCache, trail: Trail, t: int, work: Work) -> bool:
    """Search what is only bounded on the route that ``walk_task`` chose; whether there was any."""
    routes = floor.routes
    begin, any_found = routes.tasks.first[t], False
    j = work.last[0]
    for k in range(routes.tasks.first[t + 1] - 1, begin - 1, -1):
        block = routes.tasks.step[k]
        i = work.back[k - begin, j]
        columns = routes.blocks.columns[block]
        e = routes.blocks.first[block] + (j * columns + i if routes.tasks.turned[k] else i * columns + j)
        if cache.entries.fact[e, KNOWN] == 0:
            save(cache, trail, e)
            find_out(floor, cache, e)
            any_found = True
        j = i
    return any_found


@bare_unit
def wish_cost(floor: Floor, spots: Ints) -> float:
    """Weight x metres of the wishes, and prices; what hangs on one thing alone is ``floor.unary``."""
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
    prices = floor.prices
    for p in range(len(prices.one)):
        i, j = prices.one[p], prices.two[p]
        row, column = spots[i] - prices.first[i], spots[j] - prices.first[j]
        total += prices.metres[prices.start[p] + row * prices.columns[p] + column]
    return total


@bare_unit
def walk_changed(floor: Floor, cache: DistanceCache, trail: Trail, work: Work) -> None:
    """Give every distance that was forgotten its straight line, and walk the routes that may use it."""
    routes = floor.routes
    for k in range(trail.count[ENTRIES]):
        e = trail.entries[k]
        if cache.entries.fact[e, KNOWN] == 0:
            bound_from_below(floor, cache, e)
            block = routes.entries.block[e]
            for u in range(routes.blocks.user[block], routes.blocks.user[block + 1]):
                unsettle(cache, trail, routes.blocks.used_by[u])
    for t in range(len(routes.tasks.weight)):
        if not cache.tasks.settled[t] and routes.tasks.weight[t] > 0.0:
            unsettle(cache, trail, t)
            cache.tasks.cost[t] = walk_task(floor, cache, t, work)


@bare
def total_of(floor: Floor, cache: DistanceCache, wishes: float) -> float:
    """Metres a year at the costs of the tasks as they stand, always summed in the same order."""
    total = wishes
    for t in range(len(floor.routes.tasks.weight)):
        if floor.routes.tasks.weight[t] > 0.0:
            total += floor.routes.tasks.weight[t] * cache.tasks.cost[t]
    return total


@bare
def bring_in(floor: Floor, spots: Ints, state: int) -> None:
    """Put what comes and goes and is there while a state holds on the floor, and take off the rest of it."""
    routes = floor.routes
    for v in range(len(spots)):
        if routes.comes[v]:
            if routes.inside[state, v]:
                stamp(floor.scene, floor.slots, v, floor.stamps, spots[v])
            else:
                take_off(floor.scene, floor.slots, v, floor.stamps, spots[v])


@unit
def true_cost(ev: Evaluation, spots: Ints, limit: float) -> float:
    """Metres a year of the layout that ``put`` has set up; infinite as soon as it exceeds ``limit``.

    Without a limit every task is walked, even where some cannot be.
    Starts from straight lines where nothing is known, and searches only the legs of the route that is
    the least so far, until all of them are known: no other route can be shorter then.
    """
    floor, cache, trail, work = ev.floor, ev.cache, ev.trail, ev.work
    routes = floor.routes
    walk_changed(floor, cache, trail, work)
    wishes = wish_cost(floor, spots)
    total = total_of(floor, cache, wishes)
    for state in range(len(routes.inside)):
        if total > limit or (total == math.inf and limit < math.inf):
            return math.inf
        ready = False
        for t in range(len(routes.tasks.weight)):
            if routes.tasks.state[t] != state or cache.tasks.settled[t] or routes.tasks.weight[t] <= 0.0:
                continue
            if not ready:
                bring_in(floor, spots, state)
                ready = True
            bounded = cache.tasks.cost[t]
            cache.tasks.cost[t] = walk_task(floor, cache, t, work)
            while cache.tasks.cost[t] < math.inf and find_out_route(floor, cache, trail, t, work):
                cache.tasks.cost[t] = walk_task(floor, cache, t, work)
                if total + routes.tasks.weight[t] * (cache.tasks.cost[t] - bounded) > limit:
                    return math.inf
            cache.tasks.settled[t] = True
            if bounded < math.inf:
                total += routes.tasks.weight[t] * (cache.tasks.cost[t] - bounded)
            if total > limit or (total == math.inf and limit < math.inf):
                return math.inf
    return total_of(floor, cache, wishes)


@entry
def afresh(ev: Evaluation, state: Ints, limit: float) -> float:
    """True cost of a state with an empty cache; infinite as soon as it exceeds ``limit``."""
    floor, cache, trail = ev.floor, ev.cache, ev.trail
    begin(trail)
    cache.entries.fact[:, KNOWN] = 0
    cache.tasks.settled[:] = False
    for i in range(len(state)):
        put(floor, cache, i, state[i])
    for e in range(len(cache.entries.fact)):
        bound_from_below(floor, cache, e)
    return true_cost(ev, state, limit)


@entry
def try_move(ev: Evaluation, state: Ints, after: Ints, out: Ints, count: int, limit: float) -> float:
    """True cost of ``after``, which differs from ``state`` in the things ``out``; infinite above ``limit``.

    The cache is that of ``after`` from now on; ``take_back`` makes it that of ``state`` again, which is
    needed where the cost came out infinite because of the limit.
    """
    floor, cache, trail = ev.floor, ev.cache, ev.trail
    begin(trail)
    for k in range(count):
        if after[out[k]] != state[out[k]]:
            forget(floor, cache, trail, out[k])
    for k in range(count):
        if after[out[k]] != state[out[k]]:
            put(floor, cache, out[k], after[out[k]])
            disturb(floor, cache, trail, out[k])
    return true_cost(ev, after, limit)


@entry
def take_back(ev: Evaluation, state: Ints, out: Ints, count: int) -> None:
    """Undo ``try_move``."""
    floor, cache, trail = ev.floor, ev.cache, ev.trail
    undo(cache, trail)
    for k in range(count):
        put(floor, cache, out[k], state[out[k]])
