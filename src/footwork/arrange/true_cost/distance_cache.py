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
from footwork.arrange.true_cost.routes import PairPrices, Routes, Wishes
from footwork.compiled.functions import bare, bare_unit
from footwork.compiled.records import record
from footwork.floor.contact import Arrays, Segment, hits, mark
from footwork.floor.desk import BEFORE, EX, EY, SX, SY, Desk, Edges
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import TOLERANCE

MOST_POINTS = 16
"""Points of a path that are kept; a longer path is forgotten whenever anything is put down."""

METRES, LOW_X, LOW_Y, HIGH_X, HIGH_Y, PATH = range(6)
"""Columns of ``EntryCache.figure``: length, the box round the path, then its points from end to start."""
KNOWN, POINTS, STAYS = range(3)
"""Columns of ``EntryCache.fact``: 1 when known, points kept, from ``STAYS`` on the set of things that must
stay, 64 to a column."""
WORD = 64


ENTRIES, TASKS = range(2)
"""What ``Trail.count`` counts."""


@record
class StandingPlaces(NamedTuple):
    """Where the walker stands in each slot, and the unit vector away from the face: each (slots, 2)."""

    at: FloatArray
    out: FloatArray


@record
class EntryCache(NamedTuple):
    """What is known by entry; ``value`` is its metres where they are known, else a lower bound of them."""

    value: FloatArray
    figure: FloatArray
    fact: Longs


@record
class TaskCache(NamedTuple):
    """A task's least metres at the values of its entries, exact where ``settled``."""

    cost: FloatArray
    settled: Bools


@record
class DistanceCache(NamedTuple):
    """What is known of one layout."""

    places: StandingPlaces
    entries: EntryCache
    tasks: TaskCache


@record
class Trail(NamedTuple):
    """What a move has changed: entries and tasks, how many of each, which are listed, and what they were."""

    entries: Longs
    tasks: Longs
    count: Longs  # type: ignore[assignment]  # a tuple's own ``count`` is not in use
    entry_in: Bools
    task_in: Bools
    saved: DistanceCache


@record
class Floor(NamedTuple):
    """Everything the compiled cost needs besides a cache: the thread's own scene, desk and list of
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
    prices: PairPrices
    first_thing: int


def new_cache(routes: Routes) -> DistanceCache:
    """A cache that knows nothing."""
    entries, tasks = len(routes.entries.start), len(routes.tasks.weight)
    words = 1 + len(routes.comes) // WORD
    return DistanceCache(
        places=StandingPlaces(at=routes.slots.door_at.copy(), out=routes.slots.door_out.copy()),
        entries=EntryCache(
            value=np.zeros(entries),
            figure=np.zeros((entries, PATH + 2 * MOST_POINTS)),
            fact=np.zeros((entries, STAYS + words), np.int64),
        ),
        tasks=TaskCache(cost=np.zeros(tasks), settled=np.zeros(tasks, np.bool_)),
    )


def new_trail(routes: Routes) -> Trail:
    """A trail without entries or tasks."""
    entries, tasks = len(routes.entries.start), len(routes.tasks.weight)
    return Trail(
        entries=np.zeros(entries, np.int64),
        tasks=np.zeros(tasks, np.int64),
        count=np.zeros(2, np.int64),
        entry_in=np.zeros(entries, np.bool_),
        task_in=np.zeros(tasks, np.bool_),
        saved=new_cache(routes),
    )


@bare
def save(cache: DistanceCache, trail: Trail, e: int) -> None:
    """Copy an entry before its first change in this move."""
    saved = trail.saved
    if trail.entry_in[e]:
        return
    trail.entry_in[e] = True
    trail.entries[trail.count[ENTRIES]] = e
    trail.count[ENTRIES] += 1
    saved.entries.value[e] = cache.entries.value[e]
    for c in range(cache.entries.fact.shape[1]):
        saved.entries.fact[e, c] = cache.entries.fact[e, c]
    for c in range(PATH + 2 * cache.entries.fact[e, POINTS]):
        saved.entries.figure[e, c] = cache.entries.figure[e, c]


@bare
def unsettle(cache: DistanceCache, trail: Trail, t: int) -> None:
    """Copy a task before its first change in this move; its cost is to be found again."""
    saved = trail.saved
    if not trail.task_in[t]:
        trail.task_in[t] = True
        trail.tasks[trail.count[TASKS]] = t
        trail.count[TASKS] += 1
        saved.tasks.cost[t], saved.tasks.settled[t] = cache.tasks.cost[t], cache.tasks.settled[t]
    cache.tasks.settled[t] = False


@bare
def begin(trail: Trail) -> None:
    """Begin a move: what the one before changed stays."""
    for k in range(trail.count[ENTRIES]):
        trail.entry_in[trail.entries[k]] = False
    for k in range(trail.count[TASKS]):
        trail.task_in[trail.tasks[k]] = False
    trail.count[ENTRIES], trail.count[TASKS] = 0, 0


@bare
def undo(cache: DistanceCache, trail: Trail) -> None:
    """Put back what the move has changed."""
    saved = trail.saved
    for k in range(trail.count[ENTRIES]):
        e = trail.entries[k]
        cache.entries.value[e] = saved.entries.value[e]
        for c in range(cache.entries.fact.shape[1]):
            cache.entries.fact[e, c] = saved.entries.fact[e, c]
        for c in range(PATH + 2 * cache.entries.fact[e, POINTS]):
            cache.entries.figure[e, c] = saved.entries.figure[e, c]
    for k in range(trail.count[TASKS]):
        t = trail.tasks[k]
        cache.tasks.cost[t], cache.tasks.settled[t] = saved.tasks.cost[t], saved.tasks.settled[t]


@bare
def put(floor: Floor, cache: DistanceCache, thing: int, spot: int) -> None:
    """Place a thing: its obstacle in the scene and its standing places in the cache."""
    stamp(floor.scene, floor.slots, thing, floor.stamps, spot)
    places, routes = floor.places, floor.routes
    for s in range(routes.slots.of_thing[thing], routes.slots.of_thing[thing + 1]):
        k = places.start[spot] + routes.slots.place[s]
        for c in range(2):
            cache.places.at[s, c] = places.at[k, c]
            cache.places.out[s, c] = places.out[k, c]


@bare
def forget(floor: Floor, cache: DistanceCache, trail: Trail, thing: int) -> None:
    """Forget the distances that a thing's leaving its spot may change."""
    routes, fact = floor.routes, cache.entries.fact
    for k in range(routes.entries.owned[thing], routes.entries.owned[thing + 1]):
        save(cache, trail, routes.entries.own[k])
        fact[routes.entries.own[k], KNOWN] = 0
    column, bit = STAYS + thing // WORD, 1 << (thing % WORD)
    for e in range(len(fact)):
        if fact[e, KNOWN] != 0 and fact[e, column] & bit != 0:
            save(cache, trail, e)
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
        if hits(vert, first, last, Segment(ax, ay, bx, by), radius + stray, TOLERANCE):
            return True
    return False


@bare_unit
def disturb(floor: Floor, cache: DistanceCache, trail: Trail, thing: int) -> None:
    """Forget the distances whose path a thing that was just put down may stand on (no way stays no way)."""
    routes, scene, fact, figure = floor.routes, floor.scene, cache.entries.fact, cache.entries.figure
    vert, box, span = scene.vert, scene.box, scene.span
    vehicle = routes.comes[thing]
    for m in range(floor.slots.piece[thing], len(span)):
        if span[m, 2] != floor.first_thing + thing:
            break
        for e in range(len(fact)):
            if fact[e, KNOWN] == 0 or figure[e, METRES] == math.inf:
                continue
            block = routes.entries.block[e]
            if vehicle and not routes.inside[routes.blocks.state[block], thing]:
                continue
            radius, points = 0.5 * routes.blocks.width[block], fact[e, POINTS]
            if points > 0 and (
                figure[e, LOW_X] - radius >= box[m, 2]
                or figure[e, HIGH_X] + radius <= box[m, 0]
                or figure[e, LOW_Y] - radius >= box[m, 3]
                or figure[e, HIGH_Y] + radius <= box[m, 1]
            ):
                continue
            if points == 0 or stands_on(vert, span[m, 0], span[m, 1], figure, e, points, radius):
                save(cache, trail, e)
                fact[e, KNOWN] = 0


@bare_unit
def keep_path(cache: DistanceCache, e: int, last: int, edges: Edges, radius: float) -> None:
    """Keep the polyline of a finished search, end to start, and the box that it and its arcs lie in."""
    figure, fact, count = cache.entries.figure, cache.entries.fact, 0
    ef, ei = edges.figure, edges.link
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
def justify(floor: Floor, cache: DistanceCache, e: int) -> None:
    """Keep what the search that has just ended says its answer rests on (``Desk.why``).

    Where obstacles share bits, on everything that took part: each blocked edge is blocked by one of these.
    """
    routes, joined, fact = floor.routes, floor.joined, cache.entries.fact
    for c in range(STAYS, fact.shape[1]):
        fact[e, c] = 0
    one, other = routes.slots.thing[routes.entries.start[e]], routes.slots.thing[routes.entries.end[e]]
    if len(joined) > WORD:
        for o in range(floor.first_thing, len(joined)):
            thing = o - floor.first_thing
            if joined[o] != 0 and thing != one and thing != other:
                fact[e, STAYS + thing // WORD] |= 1 << (thing % WORD)
        return
    stay = picked(floor, one, other)
    for thing in range(len(joined) - floor.first_thing):
        if stay & mark(floor.first_thing + thing) != 0:
            fact[e, STAYS] |= 1 << thing


@bare_unit
def picked(floor: Floor, one: int, other: int) -> int:
    """Obstacles that must stay, as few as come up: of each set one, none where a lasting one is in it.

    The building lasts, and the things ``one`` and ``other`` at the ends (-1: a door).
    """
    why, joined = floor.desk.why, floor.joined
    took_part, lasting = 0, 0
    for o in range(len(joined)):
        if joined[o] != 0:
            took_part |= mark(o)
        if o < floor.first_thing or o - floor.first_thing == one or o - floor.first_thing == other:
            lasting |= mark(o)
    stay = why.all_of[0] & ~lasting
    for k in range(why.sets[0]):
        found = why.one_of[k] & took_part
        if found & lasting == 0 and found & (found - 1) == 0:
            stay |= found
    for k in range(why.sets[0]):
        found = why.one_of[k] & took_part
        if found & (lasting | stay) == 0:
            stay |= found & -found
    return int(stay)
