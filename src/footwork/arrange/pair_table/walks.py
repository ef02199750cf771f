"""The walks of two things on two spots, for the pair table and for visits that are variables, compiled."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats, Longs, Singles
from footwork.arrange.core.slack import SINGLES_DOWN
from footwork.arrange.spots.stamps import Places, SlotScene, stamp
from footwork.compiled.functions import bare, bare_entry, entry, inner, unit
from footwork.compiled.records import record
from footwork.floor.contact import Arrays, segment_blocker
from footwork.floor.desk import Desk, new_desk
from footwork.floor.kernel import Query, explore
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import TOLERANCE


@record
class LegEnd(NamedTuple):
    """One end of legs: the spots ``begin`` to ``end``, at each of which the standing places numbered
    ``serving`` serve it.  A door is one spot with one place."""

    places: Places
    serving: Longs
    begin: int
    end: int


@record
class Load(NamedTuple):
    """Somebody who walks with a load: a disc of ``radius`` that starts ``step`` metres further out than
    somebody without one, who walks those straight out and straight in.

    A walk longer than a ``pace`` counts ``setting_off`` metres more than it measures (``floor.effort``).
    """

    radius: float
    step: float
    setting_off: float
    pace: float


@bare
def felt(metres: float, setting_off: float, pace: float) -> float:
    """What a walk of so many metres counts."""
    return metres + setting_off if metres > pace + TOLERANCE else metres


@record
class Scratch(NamedTuple):
    """What a search for a walk writes on: for each obstacle, for each pair of places, and the desk."""

    joined: Longs
    tried: Bools
    desk: Desk


@inner
def _scratch(scene: Arrays, pairs: int) -> Scratch:
    return Scratch(np.zeros(len(scene.first) - 1, np.int64), np.zeros(pairs, np.bool_), new_desk(scene))


@inner
def stuck(scene: Arrays, x: float, y: float, radius: float) -> bool:
    """Whether a disc cannot even stand at a point."""
    return segment_blocker(scene, x, y, x, y, radius, TOLERANCE) >= 0


@inner
def stepped(places: Places, k: int, step: float) -> tuple[float, float]:
    """The point ``step`` metres straight out from standing place k."""
    return places.at[k, 0] + step * places.out[k, 0], places.at[k, 1] + step * places.out[k, 1]


@inner
def place_walk(
    scene: Arrays, px: float, py: float, qx: float, qy: float, radius: float, joined: Longs, desk: Desk
) -> float:
    """Least walk between two points; infinite where an end cannot be stood at.

    ``joined`` (one for each obstacle) and ``desk`` are scratch.
    """
    if segment_blocker(scene, px, py, qx, qy, radius, TOLERANCE) < 0:
        return math.hypot(px - qx, py - qy)
    if stuck(scene, px, py, radius) or stuck(scene, qx, qy, radius):
        return math.inf
    joined[:] = 0
    query = Query(px, py, qx, qy, radius, TOLERANCE, math.inf)
    return float(explore(scene, query, joined, desk, False)[0])


@unit
def least_walk(
    scene: Arrays, one: LegEnd, a: int, two: LegEnd, b: int, load: Load, scratch: Scratch
) -> float:
    """Least walk from one of the places that serve at spot a of one end to one at spot b of the other.

    Places are tried by straight distance, and no further than the best walk found.
    """
    p, p_out, p0, serving_p = one.places.at, one.places.out, one.places.start[a], one.serving
    q, q_out, q0, serving_q = two.places.at, two.places.out, two.places.start[b], two.serving
    step, radius, tried, count = load.step, load.radius, scratch.tried, len(two.serving)
    best = math.inf
    tried[: len(serving_p) * count] = False
    while True:
        least, which = best, -1
        for c in range(len(serving_p) * count):
            if not tried[c]:
                i, j = p0 + serving_p[c // count], q0 + serving_q[c % count]
                dx = p[i, 0] + step * p_out[i, 0] - q[j, 0] - step * q_out[j, 0]
                dy = p[i, 1] + step * p_out[i, 1] - q[j, 1] - step * q_out[j, 1]
                straight = math.hypot(dx, dy)
                if straight < least:
                    least, which = straight, c
        if which < 0:
            break
        tried[which] = True
        px, py = stepped(one.places, p0 + serving_p[which // count], step)
        qx, qy = stepped(two.places, q0 + serving_q[which % count], step)
        if segment_blocker(scene, px, py, qx, qy, radius, TOLERANCE) < 0:
            best = least
            break
        if stuck(scene, px, py, radius) or stuck(scene, qx, qy, radius):
            continue
        scratch.joined[:] = 0
        query = Query(px, py, qx, qy, radius, TOLERANCE, best)
        best = min(best, explore(scene, query, scratch.joined, scratch.desk, False)[0])
    return felt(best + 2.0 * step, load.setting_off, load.pace)


@bare_entry
def straight_block(
    p: FloatArray, q: FloatArray, more: float, setting_off: float, pace: float, out: FloatArray
) -> None:
    """Add to ``out`` what the straight line between two spots' nearest places and ``more`` metres count.

    p and q (spots, places, 2) for two things; rows of ``out`` are spots of the first.  Infinity stays.
    """
    for a in range(len(p)):
        for b in range(len(q)):
            if out[a, b] < np.inf:
                least = np.inf
                for i in range(p.shape[1]):
                    for j in range(q.shape[1]):
                        dx, dy = p[a, i, 0] - q[b, j, 0], p[a, i, 1] - q[b, j, 1]
                        least = min(least, dx * dx + dy * dy)
                out[a, b] += felt(math.sqrt(least) + more, setting_off, pace)


@entry
def walk_block(floor: SlotScene, one: LegEnd, two: LegEnd, load: Load, out: FloatArray) -> None:
    """Add the metres of a leg between all spots of two things to ``out`` (rows: spots of the first).

    The things have slots 0 and 1; where ``out`` is infinite it stays so.
    """
    scene, slots, stamps = floor.arrays, floor.slots, floor.stamps
    scratch = _scratch(scene, len(one.serving) * len(two.serving))
    for a in range(one.begin, one.end):
        stamp(scene, slots, 0, stamps, a)
        for b in range(two.begin, two.end):
            row, column = a - one.begin, b - two.begin
            if out[row, column] == np.inf:
                continue
            stamp(scene, slots, 1, stamps, b)
            out[row, column] += least_walk(scene, one, a, two, b, load, scratch)


@entry
def own_walks(
    floor: SlotScene, one: LegEnd, two: LegEnd, between_sides: bool, load: Load, out: FloatArray
) -> None:
    """Add to ``out`` (one a spot) the metres of a leg from each spot of one thing to a door, or
    ``between_sides`` of the thing itself."""
    scene, slots, stamps = floor.arrays, floor.slots, floor.stamps
    scratch = _scratch(scene, len(one.serving) * len(two.serving))
    for a in range(one.begin, one.end):
        stamp(scene, slots, 0, stamps, a)
        b = a if between_sides else two.begin
        out[a - one.begin] += least_walk(scene, one, a, two, b, load, scratch)


@entry
def place_block(
    floor: SlotScene,
    one: LegEnd,
    two: LegEnd,
    load: Load,
    least: Singles,
    search: bool,
    nearest: bool,
    out: Singles,
) -> None:
    """Fill a block: rows (spot of one end, place that serves), columns (spot of the other, place).

    ``least`` (spots of the one, spots of the other): metres that no walk between the two undercuts, infinite
    where they cannot be together.  ``search`` ways round; ``nearest``: one column a spot.
    """
    scene, slots, stamps = floor.arrays, floor.slots, floor.stamps
    p_serving, q_serving, step, radius = one.serving, two.serving, load.step, load.radius
    scratch = _scratch(scene, 0)
    joined, desk = scratch.joined, scratch.desk
    for a in range(one.end - one.begin):
        stamp(scene, slots, 0, stamps, one.begin + a)
        for b in range(two.end - two.begin):
            rows = slice(a * len(p_serving), (a + 1) * len(p_serving))
            if least[a, b] == np.inf:
                if nearest:
                    out[rows, b] = np.inf
                else:
                    out[rows, b * len(q_serving) : (b + 1) * len(q_serving)] = np.inf
                continue
            if search:
                stamp(scene, slots, 1, stamps, two.begin + b)
            p0, q0 = one.places.start[one.begin + a], two.places.start[two.begin + b]
            for i in range(len(p_serving)):
                px, py = stepped(one.places, p0 + p_serving[i], step)
                best = np.inf
                for j in range(len(q_serving)):
                    qx, qy = stepped(two.places, q0 + q_serving[j], step)
                    metres = math.hypot(px - qx, py - qy)
                    if search and metres < best:
                        metres = place_walk(scene, px, py, qx, qy, radius, joined, desk)
                    metres = felt(metres + 2.0 * step, load.setting_off, load.pace)
                    metres = max(metres, np.float64(least[a, b])) * SINGLES_DOWN
                    if nearest:
                        best = min(best, metres)
                    else:
                        out[a * len(p_serving) + i, b * len(q_serving) + j] = metres
                if nearest:
                    out[a * len(p_serving) + i, b] = best


@entry
def door_column(floor: SlotScene, one: LegEnd, door: LegEnd, load: Load, out: Floats) -> None:
    """Metres from each place that serves at each spot of a thing to a door."""
    scene, slots, stamps, step, radius = floor.arrays, floor.slots, floor.stamps, load.step, load.radius
    scratch = _scratch(scene, 0)
    qx, qy = stepped(door.places, door.serving[0], step)
    for a in range(one.end - one.begin):
        stamp(scene, slots, 0, stamps, one.begin + a)
        for i in range(len(one.serving)):
            k = one.places.start[one.begin + a] + one.serving[i]
            px, py = stepped(one.places, k, step)
            metres = place_walk(scene, px, py, qx, qy, radius, scratch.joined, scratch.desk)
            out[a * len(one.serving) + i] = felt(metres + 2.0 * step, load.setting_off, load.pace)
