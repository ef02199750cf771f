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
from footwork.arrange.spots.stamps import lift, stamp
from footwork.arrange.true_cost.distance_cache import (
    HIGH_X,
    HIGH_Y,
    KNOWN,
    LOW_X,
    LOW_Y,
    METRES,
    POINTS,
    RESTS,
    Floor,
    Log,
    Memory,
    begin,
    disturb,
    forget,
    keep_path,
    keep_rests,
    put,
    save,
    undo,
    unsettle,
)
from footwork.compiled.functions import bare, bare_entry, bare_unit, entry, unit
from footwork.compiled.records import record
from footwork.floor.kernel import explore
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import TOLERANCE


@record
class Work(NamedTuple):
    """Scratch of the dynamic programme along a route."""

    cost: FloatArray
    then: FloatArray
    back: Longs
    last: Longs


@bare
def ends_of(floor: Floor, memory: Memory, e: int) -> tuple[float, float, float, float, float]:
    """Where entry e is walked from and to, straight out from its places, and the metres of one such step."""
    routes = floor.routes
    a, b = routes.start[e], routes.end[e]
    out = 0.5 * (routes.block_width[routes.entry_block[e]] - routes.walker)
    px, py = memory.at[a, 0] + out * memory.out[a, 0], memory.at[a, 1] + out * memory.out[a, 1]
    qx, qy = memory.at[b, 0] + out * memory.out[b, 0], memory.at[b, 1] + out * memory.out[b, 1]
    return px, py, qx, qy, out


@bare
def promise(floor: Floor, memory: Memory, e: int) -> None:
    """The value of an entry that is not known: the straight line; from a place to itself nothing."""
    if floor.routes.start[e] != floor.routes.end[e]:
        px, py, qx, qy, out = ends_of(floor, memory, e)
        memory.value[e] = math.hypot(px - qx, py - qy) + 2.0 * out
        return
    memory.value[e] = 0.0
    fact, figure = memory.fact, memory.figure
    fact[e, KNOWN], fact[e, POINTS], fact[e, RESTS] = 1, 1, 0
    figure[e, METRES] = 0.0
    figure[e, LOW_X], figure[e, LOW_Y], figure[e, HIGH_X], figure[e, HIGH_Y] = (
        math.inf, math.inf, -math.inf, -math.inf,
    )  # fmt: skip


@entry
def find_out(floor: Floor, memory: Memory, e: int) -> None:
    """Search the distance of entry e and keep it."""
    px, py, qx, qy, out = ends_of(floor, memory, e)
    radius = out + 0.5 * floor.routes.walker
    floor.joined[:] = 0
    metres, last, ef, ei, _ = explore(
        floor.scene, px, py, qx, qy, radius, TOLERANCE, math.inf, floor.joined, floor.desk, True
    )
    keep_path(memory, e, last, ef, ei, radius)
    keep_rests(floor, memory, e)
    memory.value[e] = metres + 2.0 * out
    memory.figure[e, METRES] = memory.value[e]
    memory.fact[e, KNOWN] = 1


@bare_unit
def walk_task(floor: Floor, memory: Memory, t: int, work: Work) -> float:
    """Least metres of one task over one standing place for each visit, at ``memory.value`` an entry.

    ``work.back[k, j]`` is the place before place j of the visit that step k reaches; ``work.last`` the last.
    """
    routes, cost, then, value, back = floor.routes, work.cost, work.then, memory.value, work.back
    begin, stop = routes.task[t], routes.task[t + 1]
    if begin == stop:
        return 0.0
    first = routes.step[begin]
    count = routes.columns[first] if routes.turned[begin] else routes.rows[first]
    for i in range(count):
        cost[i] = 0.0
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
                metres = cost[i] + value[e]
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
def find_out_route(floor: Floor, memory: Memory, saved: Memory, log: Log, t: int, work: Work) -> bool:
    """Search what is only promised on the route that ``walk_task`` chose; whether there was any."""
    routes = floor.routes
    begin, any_found = routes.task[t], False
    j = work.last[0]
    for k in range(routes.task[t + 1] - 1, begin - 1, -1):
        block = routes.step[k]
        i = work.back[k - begin, j]
        columns = routes.columns[block]
        e = routes.block[block] + (j * columns + i if routes.turned[k] else i * columns + j)
        if memory.fact[e, KNOWN] == 0:
            save(memory, saved, log, e)
            find_out(floor, memory, e)
            any_found = True
        j = i
    return any_found


@bare_unit
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


@bare_unit
def walk_again(floor: Floor, memory: Memory, saved: Memory, log: Log, work: Work) -> None:
    """Give every distance that was forgotten its straight line, and walk the routes that may use it."""
    routes = floor.routes
    for k in range(log.size[0]):
        e = log.entries[k]
        if memory.fact[e, KNOWN] == 0:
            promise(floor, memory, e)
            block = routes.entry_block[e]
            for u in range(routes.user[block], routes.user[block + 1]):
                unsettle(memory, saved, log, routes.used_by[u])
    for t in range(len(routes.weight)):
        if not memory.settled[t] and routes.weight[t] > 0.0:
            unsettle(memory, saved, log, t)
            memory.cost[t] = walk_task(floor, memory, t, work)


@bare
def total_of(floor: Floor, memory: Memory, wishes: float) -> float:
    """Metres a year at the costs of the tasks as they stand, always summed in the same order."""
    total = wishes
    for t in range(len(floor.routes.weight)):
        if floor.routes.weight[t] > 0.0:
            total += floor.routes.weight[t] * memory.cost[t]
    return total


@bare_entry
def bring_in(floor: Floor, spots: Ints, state: int) -> None:
    """Put the vehicles that are in while a state holds on the floor, and take off the others."""
    routes = floor.routes
    for v in range(len(spots)):
        if routes.is_vehicle[v]:
            if routes.inside[state, v]:
                stamp(floor.scene, floor.slots, v, floor.stamps, spots[v])
            else:
                lift(floor.scene, floor.slots, v, floor.stamps, spots[v])


@unit
def true_cost(
    floor: Floor, memory: Memory, saved: Memory, log: Log, spots: Ints, work: Work, limit: float
) -> float:
    """Metres a year of the layout that ``put`` has set up; infinite as soon as it exceeds ``limit``.

    Without a limit every task is walked, even where some cannot be.
    Starts from straight lines where nothing is known, and searches only the legs of the route that is
    the least so far, until all of them are known: no other route can be shorter then.
    """
    routes = floor.routes
    walk_again(floor, memory, saved, log, work)
    wishes = wish_cost(floor, spots)
    total = total_of(floor, memory, wishes)
    for state in range(len(routes.inside)):
        if total > limit or (total == math.inf and limit < math.inf):
            return math.inf
        ready = False
        for t in range(len(routes.weight)):
            if routes.task_state[t] != state or memory.settled[t] or routes.weight[t] <= 0.0:
                continue
            if not ready:
                bring_in(floor, spots, state)
                ready = True
            promised = memory.cost[t]
            memory.cost[t] = walk_task(floor, memory, t, work)
            while memory.cost[t] < math.inf and find_out_route(floor, memory, saved, log, t, work):
                memory.cost[t] = walk_task(floor, memory, t, work)
                if total + routes.weight[t] * (memory.cost[t] - promised) > limit:
                    return math.inf
            memory.settled[t] = True
            if promised < math.inf:
                total += routes.weight[t] * (memory.cost[t] - promised)
            if total > limit or (total == math.inf and limit < math.inf):
                return math.inf
    return total_of(floor, memory, wishes)


@entry
def afresh(
    floor: Floor, memory: Memory, saved: Memory, log: Log, state: Ints, work: Work, limit: float
) -> float:
    """True cost of a state with nothing remembered; infinite as soon as it exceeds ``limit``."""
    begin(log)
    memory.fact[:, KNOWN] = 0
    memory.settled[:] = False
    for i in range(len(state)):
        put(floor, memory, i, state[i])
    for e in range(len(memory.fact)):
        promise(floor, memory, e)
    return true_cost(floor, memory, saved, log, state, work, limit)


@entry
def try_move(
    floor: Floor,
    memory: Memory,
    saved: Memory,
    log: Log,
    state: Ints,
    after: Ints,
    out: Ints,
    count: int,
    limit: float,
    work: Work,
) -> float:
    """True cost of ``after``, which differs from ``state`` in the things ``out``; infinite above ``limit``.

    The memory is that of ``after`` from now on; ``take_back`` makes it that of ``state`` again, which is
    needed where the cost came out infinite because of the limit.
    """
    begin(log)
    for k in range(count):
        if after[out[k]] != state[out[k]]:
            forget(floor, memory, saved, log, out[k])
    for k in range(count):
        if after[out[k]] != state[out[k]]:
            put(floor, memory, out[k], after[out[k]])
            disturb(floor, memory, saved, log, out[k])
    return true_cost(floor, memory, saved, log, after, work, limit)


@entry
def take_back(
    floor: Floor, memory: Memory, saved: Memory, log: Log, state: Ints, out: Ints, count: int
) -> None:
    """Undo ``try_move``."""
    undo(memory, saved, log)
    for k in range(count):
        put(floor, memory, out[k], state[out[k]])
