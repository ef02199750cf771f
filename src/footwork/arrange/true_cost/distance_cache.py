"""What is known of a layout's distances while things move about on it, compiled.

An *entry* is a distance from one standing place to another (``routes.Routes``).  It stays known while
its answer cannot have changed: its own ends stand, nothing new stands on its path, and the obstacles that it
rests on are where they were.  The search gives sets of obstacles of each of which one must stay
(``kernel.explore``).  Where the building or one of the two things at the ends is in a set, it stays anyway;
of each other set one obstacle is picked, as few as come up, and only those are kept.

A move is tried in place.  What it changes is copied first (``save``) and put back when the move is refused
(``undo``).
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Bools, Longs
from footwork.arrange.spots.stamps import Places, Slots, Stamps, stamp
from footwork.arrange.true_cost.routes import Routes, Wishes
from footwork.compiled.functions import bare, bare_unit
from footwork.compiled.records import record
from footwork.floor.contact import Arrays, hits, mark
from footwork.floor.desk import BEFORE, EX, EY, SX, SY, Desk
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import TOLERANCE

MOST_POINTS = 16
"""Points of a path that are kept; a longer path is forgotten whenever anything is put down."""

METRES, LOW_X, LOW_Y, HIGH_X, HIGH_Y, PATH = range(6)
"""Columns of ``Memory.figure``: length, the box round the path, then its points from end to start."""
KNOWN, POINTS, RESTS = range(3)
"""Columns of ``Memory.fact``: 1 when known, points kept, from ``RESTS`` on the set of things that must stay,
64 to a column."""
WORD = 64


@record
class Memory(NamedTuple):
    """Places of the slots, and by entry and by task what is known.

    ``value``: an entry's metres where known, else the straight line; ``cost``: a task's least metres at these
    values, exact where ``settled``.
    """

    at: FloatArray
    out: FloatArray
    value: FloatArray
    figure: FloatArray
    fact: Longs
    cost: FloatArray
    settled: Bools


@record
class Log(NamedTuple):
    """What a move has changed: entries and tasks, how many of each, and which are on the lists."""

    entries: Longs
    tasks: Longs
    size: Longs
    entry_in: Bools
    task_in: Bools


@record
class Floor(NamedTuple):
    """Everything the compiled cost needs besides a memory: the thread's own scene, desk and list of
    obstacles that joined, and tables that all threads share."""

    scene: Arrays
    desk: Desk
    joined: Longs
    slots: Slots
    stamps: Stamps
    places: Places
    routes: Routes
    wishes: Wishes
    unary: FloatArray
    first_thing: int


def new_memory(routes: Routes) -> Memory:
    """A memory that knows nothing."""
    entries, tasks = len(routes.start), len(routes.weight)
    return Memory(
        routes.door_at.copy(),
        routes.door_out.copy(),
        np.zeros(entries),
        np.zeros((entries, PATH + 2 * MOST_POINTS)),
        np.zeros((entries, RESTS + 1 + len(routes.is_vehicle) // WORD), np.int64),
        np.zeros(tasks),
        np.zeros(tasks, np.bool_),
    )


def new_log(routes: Routes) -> Log:
    entries, tasks = len(routes.start), len(routes.weight)
    return Log(
        np.zeros(entries, np.int64),
        np.zeros(tasks, np.int64),
        np.zeros(2, np.int64),
        np.zeros(entries, np.bool_),
        np.zeros(tasks, np.bool_),
    )


@bare
def save(memory: Memory, saved: Memory, log: Log, e: int) -> None:
    """Copy an entry before its first change in this move."""
    if log.entry_in[e]:
        return
    log.entry_in[e] = True
    log.entries[log.size[0]] = e
    log.size[0] += 1
    saved.value[e] = memory.value[e]
    for c in range(memory.fact.shape[1]):
        saved.fact[e, c] = memory.fact[e, c]
    for c in range(PATH + 2 * memory.fact[e, POINTS]):
        saved.figure[e, c] = memory.figure[e, c]


@bare
def unsettle(memory: Memory, saved: Memory, log: Log, t: int) -> None:
    """Copy a task before its first change in this move; its cost is to be found again."""
    if not log.task_in[t]:
        log.task_in[t] = True
        log.tasks[log.size[1]] = t
        log.size[1] += 1
        saved.cost[t], saved.settled[t] = memory.cost[t], memory.settled[t]
    memory.settled[t] = False


@bare
def begin(log: Log) -> None:
    """Begin a move: what the one before changed stays."""
    for k in range(log.size[0]):
        log.entry_in[log.entries[k]] = False
    for k in range(log.size[1]):
        log.task_in[log.tasks[k]] = False
    log.size[0], log.size[1] = 0, 0


@bare
def undo(memory: Memory, saved: Memory, log: Log) -> None:
    """Put back what the move has changed."""
    for k in range(log.size[0]):
        e = log.entries[k]
        memory.value[e] = saved.value[e]
        for c in range(memory.fact.shape[1]):
            memory.fact[e, c] = saved.fact[e, c]
        for c in range(PATH + 2 * memory.fact[e, POINTS]):
            memory.figure[e, c] = saved.figure[e, c]
    for k in range(log.size[1]):
        t = log.tasks[k]
        memory.cost[t], memory.settled[t] = saved.cost[t], saved.settled[t]


@bare
def put(floor: Floor, memory: Memory, thing: int, spot: int) -> None:
    """Place a thing: its obstacle in the scene and its standing places in the memory."""
    stamp(floor.scene, floor.slots, thing, floor.stamps, spot)
    places, routes = floor.places, floor.routes
    for s in range(routes.thing_slot[thing], routes.thing_slot[thing + 1]):
        k = places.start[spot] + routes.slot_place[s]
        for c in range(2):
            memory.at[s, c] = places.at[k, c]
            memory.out[s, c] = places.out[k, c]


@bare
def forget(floor: Floor, memory: Memory, saved: Memory, log: Log, thing: int) -> None:
    """Forget the distances that a thing's leaving its spot may change."""
    routes, fact = floor.routes, memory.fact
    for k in range(routes.owned[thing], routes.owned[thing + 1]):
        save(memory, saved, log, routes.own[k])
        fact[routes.own[k], KNOWN] = 0
    column, bit = RESTS + thing // WORD, 1 << (thing % WORD)
    for e in range(len(fact)):
        if fact[e, KNOWN] != 0 and fact[e, column] & bit != 0:
            save(memory, saved, log, e)
            fact[e, KNOWN] = 0


@bare
def stands_on(
    vert: FloatArray, first: int, last: int, figure: FloatArray, e: int, points: int, radius: float
) -> bool:
    """Whether a piece stands on entry e's path, or so near that it may: an arc counts as its chord and
    as much more width as it strays from it, which is exact enough to be right and seldom wrong."""
    for k in range(points - 1):
        c = PATH + 2 * k
        ax, ay, bx, by = figure[e, c], figure[e, c + 1], figure[e, c + 2], figure[e, c + 3]
        stray = 0.0
        if k % 2 == 1:
            half2 = 0.25 * ((ax - bx) ** 2 + (ay - by) ** 2)
            stray = radius - math.sqrt(max(0.0, radius * radius - half2))
        if hits(vert, first, last, ax, ay, bx, by, radius + stray, TOLERANCE):
            return True
    return False


@bare_unit
def disturb(floor: Floor, memory: Memory, saved: Memory, log: Log, thing: int) -> None:
    """Forget the distances whose path a thing that was just put down may stand on (no way stays no way)."""
    routes, scene, fact, figure = floor.routes, floor.scene, memory.fact, memory.figure
    vert, box, span = scene.vert, scene.box, scene.span
    vehicle = routes.is_vehicle[thing]
    for m in range(floor.slots.piece[thing], len(span)):
        if span[m, 2] != floor.first_thing + thing:
            break
        for e in range(len(fact)):
            if fact[e, KNOWN] == 0 or figure[e, METRES] == math.inf:
                continue
            block = routes.entry_block[e]
            if vehicle and not routes.inside[routes.block_state[block], thing]:
                continue
            radius, points = 0.5 * routes.block_width[block], fact[e, POINTS]
            if points > 0 and (
                figure[e, LOW_X] - radius >= box[m, 2]
                or figure[e, HIGH_X] + radius <= box[m, 0]
                or figure[e, LOW_Y] - radius >= box[m, 3]
                or figure[e, HIGH_Y] + radius <= box[m, 1]
            ):
                continue
            if points == 0 or stands_on(vert, span[m, 0], span[m, 1], figure, e, points, radius):
                save(memory, saved, log, e)
                fact[e, KNOWN] = 0


@bare_unit
def keep_path(memory: Memory, e: int, last: int, ef: FloatArray, ei: Longs, radius: float) -> None:
    """Keep the polyline of a finished search, end to start, and the box that it and its arcs lie in."""
    figure, fact, count = memory.figure, memory.fact, 0
    low_x, low_y, high_x, high_y = math.inf, math.inf, -math.inf, -math.inf
    spare = radius if last >= 0 and ei[last, BEFORE] >= 0 else 0.0
    while last >= 0:
        if count + 2 > MOST_POINTS:
            fact[e, POINTS] = 0
            return
        x0, y0, x1, y1 = ef[last, EX], ef[last, EY], ef[last, SX], ef[last, SY]
        c = PATH + 2 * count
        figure[e, c], figure[e, c + 1], figure[e, c + 2], figure[e, c + 3] = x0, y0, x1, y1
        low_x, high_x = min(low_x, x0, x1), max(high_x, x0, x1)
        low_y, high_y = min(low_y, y0, y1), max(high_y, y0, y1)
        count += 2
        last = ei[last, BEFORE]
    fact[e, POINTS] = count
    figure[e, LOW_X], figure[e, HIGH_X] = low_x - spare, high_x + spare
    figure[e, LOW_Y], figure[e, HIGH_Y] = low_y - spare, high_y + spare


@bare_unit
def keep_rests(floor: Floor, memory: Memory, e: int) -> None:
    """Keep what the search that has just ended says its answer rests on (``Desk.sets``).

    Where obstacles share bits, on everything that took part: each blocked edge is blocked by one of these.
    """
    routes, joined, fact = floor.routes, floor.joined, memory.fact
    for c in range(RESTS, fact.shape[1]):
        fact[e, c] = 0
    one, other = routes.slot_thing[routes.start[e]], routes.slot_thing[routes.end[e]]
    if len(joined) > WORD:
        for o in range(floor.first_thing, len(joined)):
            thing = o - floor.first_thing
            if joined[o] != 0 and thing != one and thing != other:
                fact[e, RESTS + thing // WORD] |= 1 << (thing % WORD)
        return
    rests = picked_rests(floor, one, other)
    for thing in range(len(joined) - floor.first_thing):
        if rests & mark(floor.first_thing + thing) != 0:
            fact[e, RESTS] |= 1 << thing


@bare_unit
def picked_rests(floor: Floor, one: int, other: int) -> int:
    """Obstacles that must stay, as few as come up: of each set one, none where a lasting one is in it.

    The building lasts, and the things ``one`` and ``other`` at the ends (-1: a door).
    """
    sets, joined = floor.desk.sets, floor.joined
    took_part, lasting = 0, 0
    for o in range(len(joined)):
        if joined[o] != 0:
            took_part |= mark(o)
        if o < floor.first_thing or o - floor.first_thing == one or o - floor.first_thing == other:
            lasting |= mark(o)
    rests = sets[1] & ~lasting
    for k in range(2, 2 + sets[0]):
        found = sets[k] & took_part
        if found & lasting == 0 and found & (found - 1) == 0:
            rests |= found
    for k in range(2, 2 + sets[0]):
        found = sets[k] & took_part
        if found & (lasting | rests) == 0:
            rests |= found & -found
    return int(rests)
