"""The walks of two things on two spots, for the pair table and for visits that are variables, compiled."""

from __future__ import annotations

import math

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats, Ints, Longs, Singles
from footwork.arrange.spots.stamps import Places, Slots, Stamps, stamp
from footwork.compiled.functions import bare_entry, entry, inner, unit
from footwork.floor.contact import Arrays, segment_blocker
from footwork.floor.desk import Desk, new_desk
from footwork.floor.kernel import explore
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import TOLERANCE

Ends = tuple[FloatArray, FloatArray]
"""Places and outward vectors, each (n, 2)."""


@inner
def stuck(scene: Arrays, x: float, y: float, radius: float) -> bool:
    """Whether a disc cannot even stand at a point."""
    return segment_blocker(scene, x, y, x, y, radius, TOLERANCE) >= 0


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
    return float(explore(scene, px, py, qx, qy, radius, TOLERANCE, math.inf, joined, desk, False)[0])


@unit
def least_walk(
    scene: Arrays,
    p: FloatArray,
    po: FloatArray,
    pk: Longs,
    q: FloatArray,
    qo: FloatArray,
    qk: Longs,
    width: float,
    walker: float,
    joined: Longs,
    tried: Bools,
    desk: Desk,
) -> float:
    """Least walk between one of the places ``pk`` of p and one of ``qk`` of q at a clear width.

    p, q (n, 2) places and po, qo (n, 2) their outward vectors.  Places are tried by straight distance, and
    no further than the best walk found.  ``joined``, ``tried`` and ``desk`` are scratch.
    """
    step = 0.5 * (width - walker)
    best = math.inf
    tried[: len(pk) * len(qk)] = False
    while True:
        least, which = best, -1
        for c in range(len(pk) * len(qk)):
            if not tried[c]:
                i, j = pk[c // len(qk)], qk[c % len(qk)]
                dx = p[i, 0] + step * po[i, 0] - q[j, 0] - step * qo[j, 0]
                dy = p[i, 1] + step * po[i, 1] - q[j, 1] - step * qo[j, 1]
                straight = math.hypot(dx, dy)
                if straight < least:
                    least, which = straight, c
        if which < 0:
            break
        tried[which] = True
        i, j = pk[which // len(qk)], qk[which % len(qk)]
        px, py = p[i, 0] + step * po[i, 0], p[i, 1] + step * po[i, 1]
        qx, qy = q[j, 0] + step * qo[j, 0], q[j, 1] + step * qo[j, 1]
        if segment_blocker(scene, px, py, qx, qy, 0.5 * width, TOLERANCE) < 0:
            best = least
            break
        if stuck(scene, px, py, 0.5 * width) or stuck(scene, qx, qy, 0.5 * width):
            continue
        joined[:] = 0
        found = explore(scene, px, py, qx, qy, 0.5 * width, TOLERANCE, best, joined, desk, False)
        best = min(best, found[0])
    return best + 2.0 * step


@bare_entry
def straight_block(p: FloatArray, q: FloatArray, more: float, out: FloatArray) -> None:
    """Add to ``out`` the straight line between the nearest places of two spots, and ``more`` metres.

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
                out[a, b] += math.sqrt(least) + more


@entry
def walk_block(
    scene: Arrays,
    slots: Slots,
    stamps: Stamps,
    places: Places,
    span_a: Ints,
    ka: Longs,
    span_b: Ints,
    kb: Longs,
    width: float,
    walker: float,
    out: FloatArray,
) -> None:
    """Add the metres of a leg between all spots of two things to ``out`` (rows: spots of the first).

    ``span`` (first, last) of each thing's spots; ``ka``, ``kb`` numbers of the places that serve.
    """
    joined = np.zeros(len(scene.first) - 1, np.int64)
    tried, desk = np.zeros(4096, np.bool_), new_desk(scene)
    for a in range(span_a[0], span_a[1]):
        stamp(scene, slots, 0, stamps, a)
        p = places.at[places.start[a] : places.start[a + 1]]
        po = places.out[places.start[a] : places.start[a + 1]]
        for b in range(span_b[0], span_b[1]):
            row, column = a - span_a[0], b - span_b[0]
            if out[row, column] == np.inf:
                continue
            stamp(scene, slots, 1, stamps, b)
            q = places.at[places.start[b] : places.start[b + 1]]
            qo = places.out[places.start[b] : places.start[b + 1]]
            out[row, column] += least_walk(scene, p, po, ka, q, qo, kb, width, walker, joined, tried, desk)


@entry
def fixed_walks(
    scene: Arrays,
    slots: Slots,
    stamps: Stamps,
    places: Places,
    span: Ints,
    ka: Longs,
    door: Ends,
    kb: Longs,
    width: float,
    walker: float,
    out: FloatArray,
) -> None:
    """Add to ``out`` (one a spot) the metres of a leg from each spot to a door's place, or between its sides.

    ``door`` is (place (1, 2), outward (1, 2)), or two arrays without rows for a thing's own sides.
    """
    joined = np.zeros(len(scene.first) - 1, np.int64)
    tried, desk = np.zeros(4096, np.bool_), new_desk(scene)
    for a in range(span[0], span[1]):
        stamp(scene, slots, 0, stamps, a)
        p = places.at[places.start[a] : places.start[a + 1]]
        po = places.out[places.start[a] : places.start[a + 1]]
        q, qo = door
        if len(q) == 0:
            q, qo = p, po
        out[a - span[0]] += least_walk(scene, p, po, ka, q, qo, kb, width, walker, joined, tried, desk)


@entry
def place_block(
    scene: Arrays,
    slots: Slots,
    stamps: Stamps,
    places: Places,
    span_a: Ints,
    ka: Longs,
    span_b: Ints,
    kb: Longs,
    width: float,
    walker: float,
    clash: Bools,
    least: Singles,
    exact: bool,
    nearest: bool,
    out: Singles,
) -> None:
    """Fill a block: rows (spot of a, place in ``ka``), columns (spot of b, place in ``kb``).

    ``clash`` and ``least`` (spots of a, spots of b): what cannot be together, and metres that no walk
    between the two undercuts.  ``exact``: search ways round; ``nearest``: one column a spot of b.
    """
    step = 0.5 * (width - walker)
    radius = 0.5 * width
    joined, desk = np.zeros(len(scene.first) - 1, np.int64), new_desk(scene)
    for a in range(span_a[1] - span_a[0]):
        stamp(scene, slots, 0, stamps, span_a[0] + a)
        for b in range(span_b[1] - span_b[0]):
            rows = slice(a * len(ka), (a + 1) * len(ka))
            if clash[a, b]:
                if nearest:
                    out[rows, b] = np.inf
                else:
                    out[rows, b * len(kb) : (b + 1) * len(kb)] = np.inf
                continue
            if exact:
                stamp(scene, slots, 1, stamps, span_b[0] + b)
            for i in range(len(ka)):
                p = places.start[span_a[0] + a] + ka[i]
                px, py = places.at[p, 0] + step * places.out[p, 0], places.at[p, 1] + step * places.out[p, 1]
                best = np.inf
                for j in range(len(kb)):
                    q = places.start[span_b[0] + b] + kb[j]
                    qx = places.at[q, 0] + step * places.out[q, 0]
                    qy = places.at[q, 1] + step * places.out[q, 1]
                    metres = math.hypot(px - qx, py - qy)
                    if exact and metres < best:
                        metres = place_walk(scene, px, py, qx, qy, radius, joined, desk)
                    metres = max(metres + 2.0 * step, np.float64(least[a, b])) * (1.0 - 2e-7)
                    if nearest:
                        best = min(best, metres)
                    else:
                        out[a * len(ka) + i, b * len(kb) + j] = metres
                if nearest:
                    out[a * len(ka) + i, b] = best


@entry
def door_column(
    scene: Arrays,
    slots: Slots,
    stamps: Stamps,
    places: Places,
    span: Ints,
    ka: Longs,
    door: FloatArray,
    width: float,
    walker: float,
    out: Floats,
) -> None:
    """Metres from each spot's places ``ka`` to a door: ``door`` is (x, y, outward x, outward y)."""
    step = 0.5 * (width - walker)
    joined, desk = np.zeros(len(scene.first) - 1, np.int64), new_desk(scene)
    qx, qy = door[0] + step * door[2], door[1] + step * door[3]
    for a in range(span[1] - span[0]):
        stamp(scene, slots, 0, stamps, span[0] + a)
        for i in range(len(ka)):
            p = places.start[span[0] + a] + ka[i]
            px, py = places.at[p, 0] + step * places.out[p, 0], places.at[p, 1] + step * places.out[p, 1]
            out[a * len(ka) + i] = place_walk(scene, px, py, qx, qy, 0.5 * width, joined, desk) + 2.0 * step
