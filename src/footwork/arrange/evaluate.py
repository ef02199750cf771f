"""The true cost of a layout, compiled, with what a move does not touch remembered.

Same figures as ``floor.routes`` and ``floor.wishes``: every leg with everything on the floor, exact
arcs, the least over standing places along the whole route, the mean over the states of the vehicles.
A distance stays known while nothing that its search met has moved and nothing new stands near the
path, which is kept as a polyline whose arcs stray from it by less than the walker's radius.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numba import njit

from footwork.arrange.fleet import Places, Slots, Stamps, lift, sides_of, stamp
from footwork.arrange.pairs import PairTable, stuck
from footwork.floor import shapes
from footwork.floor.kernel import BEFORE, EX, EY, SX, SY, Arrays, search
from footwork.floor.routes import vehicle_states
from footwork.floor.shapes import FloatArray, door_place
from footwork.floor.wishes import wish_terms
from footwork.model.scenario import TOLERANCE, Placement, Scenario, Visit

Longs = npt.NDArray[np.int64]


class Routes(NamedTuple):
    """All routes of all jobs in all states, flat.

    Slots are standing places: ``thing`` (-1: a door) and which of its places; a door's is ``door_at``,
    ``door_out`` at its own slot.  A block is a table of distances between the slots of two visits in one
    state at one width: entries ``block[l]`` onwards, ``rows[l]`` x ``columns[l]``.  Entry e is from slot
    ``start[e]`` to ``end[e]``.  Task t walks steps ``task[t]:task[t + 1]``; step k uses block ``step[k]``,
    turned round where ``turned[k]``; a metre of it weighs ``weight[t]``.
    """

    slot_thing: Longs
    slot_place: Longs
    door_at: FloatArray
    door_out: FloatArray
    thing_slot: Longs
    block: Longs
    rows: Longs
    columns: Longs
    block_state: Longs
    block_width: FloatArray
    start: Longs
    end: Longs
    entry_block: Longs
    task: Longs
    step: Longs
    turned: npt.NDArray[np.bool_]
    weight: FloatArray
    task_state: Longs
    inside: npt.NDArray[np.bool_]
    is_vehicle: npt.NDArray[np.bool_]
    walker: float


class Wishes(NamedTuple):
    """Wishes between things: subject, the others (CSR), near or apart_from, by, weight."""

    subject: Longs
    other: Longs
    start: Longs
    near: npt.NDArray[np.bool_]
    by: FloatArray
    weight: FloatArray


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
def put(floor, memo, thing, spot):
    """Place a thing: its obstacle in the scene and its standing places in the memo."""
    stamp(floor.scene, floor.slots, thing, floor.stamps, spot)
    places, routes = floor.places, floor.routes
    for s in range(routes.thing_slot[thing], routes.thing_slot[thing + 1]):
        k = places.start[spot] + routes.slot_place[s]
        for c in range(2):
            memo.at[s, c] = places.at[k, c]
            memo.out[s, c] = places.out[k, c]


@njit(cache=True, nogil=True)
def forget(floor, memo, thing):
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
def near_path(memo, e, x, y, reach):
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
def disturb(floor, memo, thing, spot):
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
def keep_path(memo, e, last, ef, ei):
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
def distance(floor, memo, e, straight_only):
    """Distance of entry e (with the steps out and in): remembered or searched; or only the straight line."""
    if memo.known[e]:
        return memo.metres[e]
    routes = floor.routes
    a, b = routes.start[e], routes.end[e]
    if a == b:
        return 0.0
    width = routes.block_width[routes.entry_block[e]]
    out = 0.5 * (width - routes.walker)
    px, py = memo.at[a, 0] + out * memo.out[a, 0], memo.at[a, 1] + out * memo.out[a, 1]
    qx, qy = memo.at[b, 0] + out * memo.out[b, 0], memo.at[b, 1] + out * memo.out[b, 1]
    if straight_only:
        return math.hypot(px - qx, py - qy) + 2.0 * out
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
    return memo.metres[e]


@njit(cache=True, nogil=True)
def arrive(floor, memo, base, stride, count, cost, straight_only):
    """Least of ``cost[i]`` + entry ``base + i * stride``; unknown entries are searched by promise, and no
    further than they can pay; or counted at their straight line."""
    best = math.inf
    for i in range(count):
        if straight_only or memo.known[base + i * stride]:
            best = min(best, cost[i] + distance(floor, memo, base + i * stride, True))
    if straight_only:
        return best
    done = -math.inf
    while True:
        least, which = best, -1
        for i in range(count):
            e = base + i * stride
            if not memo.known[e]:
                promise = cost[i] + distance(floor, memo, e, True)
                if promise < least and promise >= done:
                    least, which = promise, i
        if which < 0:
            return best
        done = least
        best = min(best, cost[which] + distance(floor, memo, base + which * stride, False))
        if floor.routes.start[base + which * stride] == floor.routes.end[base + which * stride]:
            done = math.nextafter(done, math.inf)


@njit(cache=True, nogil=True)
def walk_task(floor, memo, t, cost, then, straight_only):
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
def wish_cost(floor, spots):
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
def true_cost(floor, memo, spots, cost, then, limit):
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


def make_routes(table: PairTable) -> Routes:
    """Flatten the jobs of a table's scenario."""
    return _Flattener(table).routes()


class _Flattener:
    """Collects slots, blocks and tasks; see ``Routes``."""

    def __init__(self, table: PairTable) -> None:
        self.scenario: Scenario = table.scenario
        self.things = [spots.thing for spots in table.lists]
        self.slots: dict[tuple[str, str | None, int], int] = {}
        self.slot_rows: list[tuple[int, int, float, float, float, float]] = []
        self.thing_slot = [0]
        origin = Placement(0.0, 0.0, 0.0)
        walker = self.scenario.walker.width
        for number, thing in enumerate(self.things):
            found = shapes.standing_places(thing, origin, walker, sides_of(self.scenario, thing))
            for k, place in enumerate(found):
                self.slots[thing.name, place.side, k] = len(self.slot_rows)
                self.slot_rows.append((number, k, 0.0, 0.0, 0.0, 0.0))
            self.thing_slot.append(len(self.slot_rows))
        self.blocks: dict[tuple[int, Longs | tuple[int, ...], tuple[int, ...], float], int] = {}

    def members(self, visit: Visit) -> tuple[int, ...]:
        """Slots that may serve a visit."""
        found: list[int] = []
        for name in visit.members:
            if visit.kind == "door":
                key = (name, None, -1)
                if key not in self.slots:
                    place = door_place(self.scenario.room.door(name), self.scenario.walker.width)
                    self.slots[key] = len(self.slot_rows)
                    self.slot_rows.append((-1, 0, *place.at, *place.outward))
                found.append(self.slots[key])
                continue
            sides = self.scenario.thing(name).stand if visit.side is None else (visit.side,)
            found += [s for (owner, side, _), s in self.slots.items() if owner == name and side in sides]
        return tuple(found)

    def routes(self) -> Routes:
        scenario = self.scenario
        states: dict[frozenset[str], int] = {}
        tasks: list[tuple[int, float, list[tuple[int, bool]]]] = []
        for job in scenario.jobs:
            ends = [self.members(v) for v in job.route]
            widths = [job.width_between(a, b, scenario.walker.width) for a, b in pairwise(job.route)]
            for state, share in vehicle_states(scenario, job):
                number = states.setdefault(state, len(states))
                legs = [self.leg(number, a, b, w) for (a, b), w in zip(pairwise(ends), widths, strict=True)]
                tasks.append((number, share * job.times_per_year, legs))
        names = [t.name for t in self.things]
        inside = np.array([[n in state for n in names] for state in states], bool).reshape(
            len(states), len(names)
        )
        return self._flat(tasks, inside)

    def leg(self, state: int, a: tuple[int, ...], b: tuple[int, ...], width: float) -> tuple[int, bool]:
        """The block of a leg, and whether the leg runs from its columns to its rows."""
        if (state, b, a, width) in self.blocks:
            return self.blocks[state, b, a, width], True
        return self.blocks.setdefault((state, a, b, width), len(self.blocks)), False

    def _flat(
        self, tasks: Sequence[tuple[int, float, list[tuple[int, bool]]]], inside: npt.NDArray[np.bool_]
    ) -> Routes:
        blocks = list(self.blocks)
        sizes = [len(a) * len(b) for _, a, b, _ in blocks]
        entries = [(p, q) for _, a, b, _ in blocks for p in a for q in b]
        steps = [step for _, _, legs in tasks for step in legs]
        rows = np.array(self.slot_rows, dtype=np.float64).reshape(-1, 6)
        return Routes(
            rows[:, 0].astype(np.int64), rows[:, 1].astype(np.int64),
            np.ascontiguousarray(rows[:, 2:4]), np.ascontiguousarray(rows[:, 4:6]),
            np.array(self.thing_slot), np.cumsum([0, *sizes]),
            np.array([len(a) for _, a, _, _ in blocks], np.int64), np.array([len(b) for _, _, b, _ in blocks], np.int64),
            np.array([s for s, *_ in blocks], np.int64), np.array([w for *_, w in blocks], np.float64),
            np.array([p for p, _ in entries], np.int64), np.array([q for _, q in entries], np.int64),
            np.repeat(np.arange(len(blocks)), sizes).astype(np.int64),
            np.cumsum([0, *(len(legs) for _, _, legs in tasks)]),
            np.array([s for s, _ in steps], np.int64), np.array([t for _, t in steps], np.bool_),
            np.array([w for _, w, _ in tasks], np.float64), np.array([s for s, _, _ in tasks], np.int64),
            inside, np.array([not hasattr(t, "placing") for t in self.things], np.bool_), self.scenario.walker.width,
        )  # fmt: skip


def make_wishes(table: PairTable) -> Wishes:
    """Flatten the wishes between things."""
    scenario = table.scenario
    terms = [
        (w, table.number[name], [table.number[o] for o in others])
        for w in scenario.prefer
        for name, others in wish_terms(scenario, w)
        if others
    ]
    return Wishes(
        np.array([s for _, s, _ in terms], np.int64), np.array([o for *_, os in terms for o in os], np.int64),
        np.cumsum([0, *(len(os) for *_, os in terms)]), np.array([w.near is not None for w, *_ in terms], np.bool_),
        np.array([w.by for w, *_ in terms], np.float64), np.array([w.weight for w, *_ in terms], np.float64),
    )  # fmt: skip
