"""Lifting: in a small node, walks also lead round what is certain to stand in the way, compiled.

The pair table lets a walk go through everything but its own two things.  Where a node has settled a
third thing on one spot, or on spots that all cover some floor, no layout of the node walks through
that floor.  The node's prices are searched anew with those floors as obstacles, for the pairs that can
still be part of a better layout, and handed to its children.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit

from footwork.arrange.fleet import FAR, Places, Slots, Stamps, lift, stamp
from footwork.arrange.passing import APART, CLASH, PAIR, Living, Problem, State, Whole, fewer_labels, gather
from footwork.arrange.place_walk import place_walk
from footwork.arrange.tables import Bools, Floats, Ints, Longs, Singles
from footwork.floor.contact import Arrays
from footwork.model.scenario import TOLERANCE

BETWEEN_STATIONS, BLOCK, OF_STATION, OF_VISIT = range(4)
"""What a way's metres are for: a PAIR edge's block, a LEG's block, a station's or a visit's own price."""
THIN = 0.02
"""Metres: settled floor narrower than this is left out."""


class Ways(NamedTuple):
    """All that is walked, at full size, by way (one of a leg's kinds).

    a, b (ways,)            stations at its ends, -1 for a door
    part_a, part_b          BLOCK: parts of the row and column variables; OF_VISIT: ``part_a``
    nearest_b               BLOCK: one column a spot (the nearest place counts)
    places_a, places_b      (ways, 2) where each end's places begin and end in ``numbers``
    target, goal            what for, and which: BLOCK: the block, else the variable
    width, weight           clear width, integers a metre
    known (ways + 1,)       where its metres at full size begin in ``metres`` (not for BLOCK)
    door (ways, 4)          x, y, outward x, outward y
    first (stations + 1,)   where each station's spots begin
    origin (spots,)         numbers of the spots in ``stamps`` and ``places``
    box (spots, 4)          a rectangle inside each footprint: least x, y, greatest x, y
    absent (stations,)      vehicles: not on the floor in every state
    scene, slots            a slot for each station and, after them, for its settled floor
    square                  the scene's template of such a floor, from (0, 0) to (1, 1)
    """

    a: Ints
    b: Ints
    part_a: Ints
    part_b: Ints
    nearest_b: Bools
    places_a: Ints
    places_b: Ints
    numbers: Longs
    target: Ints
    goal: Ints
    width: Floats
    weight: Floats
    known: Longs
    metres: Singles
    door: Floats
    first: Ints
    origin: Ints
    box: Floats
    absent: Bools
    walker: float
    scene: Arrays
    slots: Slots
    square: Arrays
    stamps: Stamps
    places: Places


@njit(cache=True, nogil=True)
def put_floor(
    scene: Arrays, slots: Slots, slot: int, square: Arrays, x: float, y: float, dx: float, dy: float
) -> None:
    """Put the rectangle from (x, y) to (x + dx, y + dy) into a slot."""
    at = slots.vertex[slot]
    for v in range(len(square.vert)):
        px, py = x + dx * square.vert[v, 0], y + dy * square.vert[v, 1]
        nx, ny = square.vert[v, 2], square.vert[v, 3]
        scene.vert[at + v, 0], scene.vert[at + v, 1] = px, py
        scene.vert[at + v, 2], scene.vert[at + v, 3] = nx, ny
        scene.vert[at + v, 4] = px * nx + py * ny
    at = slots.piece[slot]
    scene.ball[at, 0], scene.ball[at, 1] = x + 0.5 * dx, y + 0.5 * dy
    scene.ball[at, 2] = 0.5 * math.hypot(dx, dy)
    scene.box[at, 0], scene.box[at, 1], scene.box[at, 2], scene.box[at, 3] = x, y, x + dx, y + dy
    at = slots.corner[slot]
    for k in range(len(square.corner)):
        scene.corner[at + k, 0] = x + dx * square.corner[k, 0]
        scene.corner[at + k, 1] = y + dy * square.corner[k, 1]
        for c in range(2, 6):
            scene.corner[at + k, c] = square.corner[k, c]


@njit(cache=True, nogil=True)
def take_floor(scene: Arrays, slots: Slots, slot: int) -> None:
    """Take a rectangle off the floor."""
    scene.ball[slots.piece[slot], 0] = FAR
    scene.box[slots.piece[slot], 0] = FAR


@njit(cache=True, nogil=True)
def settle_floor(ways: Ways, scene: Arrays, live: Living, roots: Ints, s: int, around: Floats) -> None:
    """Put what a station is certain to cover on the floor, and the box round it in ``around[s]``.

    Without any the box is empty: its least coordinates are infinite.
    """
    n = len(ways.absent)
    first, last = live.first[s], live.first[s + 1]
    spots = ways.origin[roots]
    lift(scene, ways.slots, s, ways.stamps, spots[first])
    take_floor(scene, ways.slots, n + s)
    around[s, :2], around[s, 2:] = math.inf, -math.inf
    if ways.absent[s]:
        return
    if last - first == 1:
        stamp(scene, ways.slots, s, ways.stamps, spots[first])
        t = ways.stamps.template[spots[first]]
        for p in range(ways.stamps.piece[t + 1] - ways.stamps.piece[t]):
            box = scene.box[ways.slots.piece[s] + p]
            around[s, :2] = np.minimum(around[s, :2], box[:2])
            around[s, 2:] = np.maximum(around[s, 2:], box[2:])
        return
    x0, y0, x1, y1 = -math.inf, -math.inf, math.inf, math.inf
    for k in range(first, last):
        box = ways.box[roots[k]]
        x0, y0, x1, y1 = max(x0, box[0]), max(y0, box[1]), min(x1, box[2]), min(y1, box[3])
    if x1 - x0 > THIN and y1 - y0 > THIN:
        put_floor(scene, ways.slots, n + s, ways.square, x0, y0, x1 - x0, y1 - y0)
        around[s, 0], around[s, 1], around[s, 2], around[s, 3] = x0, y0, x1, y1


@njit(cache=True, nogil=True)
def from_box(box: Floats, x: float, y: float) -> float:
    """Distance from a point to a box."""
    return math.hypot(max(box[0] - x, x - box[2], 0.0), max(box[1] - y, y - box[3], 0.0))


@njit(cache=True, nogil=True)
def from_segment(box: Floats, px: float, py: float, qx: float, qy: float) -> float:
    """A distance that a segment keeps from a box at least; 0 where they may meet."""
    dx, dy = qx - px, qy - py
    length = math.hypot(dx, dy)
    if length < 1e-9:
        return float(from_box(box, px, py))
    # How far the box lies to one side of the line, and beyond its ends' box.
    cx, cy = 0.5 * (box[0] + box[2]) - px, 0.5 * (box[1] + box[3]) - py
    half = 0.5 * (abs(dy) * (box[2] - box[0]) + abs(dx) * (box[3] - box[1])) / length
    side = abs(cx * dy - cy * dx) / length - half
    gap_x = max(box[0] - max(px, qx), min(px, qx) - box[2], 0.0)
    gap_y = max(box[1] - max(py, qy), min(py, qy) - box[3], 0.0)
    return max(side, math.hypot(gap_x, gap_y), 0.0)


@njit(cache=True, nogil=True)
def may_meet(
    around: Floats, a: int, b: int, px: float, py: float, qx: float, qy: float, radius: float, metres: float
) -> bool:
    """Whether a path from p to q of at most ``metres`` may touch the settled floor of others than a and b.

    A point at a distance h from the segment adds to a path of at least sqrt(L^2 + 4 h^2) through it.
    """
    straight = math.hypot(px - qx, py - qy)
    for s in range(len(around)):
        if s in (a, b) or around[s, 0] == math.inf:
            continue
        through = max(0.0, from_box(around[s], px, py) - radius) + max(
            0.0, from_box(around[s], qx, qy) - radius
        )
        if through > metres:
            continue
        aside = max(0.0, from_segment(around[s], px, py, qx, qy) - radius)
        if math.hypot(straight, 2.0 * aside) <= metres:
            return True
    return False


@njit(cache=True, nogil=True)
def part_begins(problem: Problem, first: Ints, part: int) -> int:
    """Where a part's labels begin among its variable's."""
    v = 0
    while problem.part[v + 1] <= part:
        v += 1
    begin = 0
    for k in range(problem.part[v], part):
        s = problem.part_station[k]
        begin += problem.part_places[k] * (first[s + 1] - first[s])
    return begin


@njit(cache=True, nogil=True)
def forbid_pairs(
    problem: Problem, live: Living, state: State, constant: Whole, limit: Whole, pair: Ints
) -> None:
    """Make clashes of pairs of spots that no layout below ``limit`` has; ``constant`` goes with ``state``."""
    for e in range(len(problem.kind)):
        if problem.kind[e] not in (PAIR, APART):
            continue
        u, v = problem.ends[e]
        i, j = live.first[problem.station[u]], live.first[problem.station[v]]
        for x in range(live.label[u + 1] - live.label[u]):
            base = constant + state.theta[live.label[u] + x] - state.messages[live.at[e, 0] + x]
            for y in range(live.label[v + 1] - live.label[v]):
                price = base + state.theta[live.label[v] + y] - state.messages[live.at[e, 1] + y]
                if price + pair[i + x, j + y] >= limit:
                    pair[i + x, j + y] = CLASH
                    pair[j + y, i + x] = CLASH


@njit(cache=True, nogil=True)
def stand(ways: Ways, spot: int, number: int, step: float) -> tuple[float, float]:
    """Where a load of twice ``step`` more than the walker starts from a standing place."""
    k = ways.places.start[spot] + number
    at, out = ways.places.at[k], ways.places.out[k]
    return at[0] + step * out[0], at[1] + step * out[1]


@njit(cache=True, nogil=True)
def lift_walk(
    ways: Ways, scene: Arrays, around: Floats, w: int, x: int, number: int, y: int, other: int, known: float,
    joined: Longs,
) -> float:  # fmt: skip
    """Metres of way w from place ``number`` of spot x to place ``other`` of spot y, or to its door (y = -1).

    At least ``known`` (metres without what is settled), searched where something settled may be in the way.
    """
    step = 0.5 * (ways.width[w] - ways.walker)
    px, py = stand(ways, x, number, step)
    qx, qy = ways.door[w, 0] + step * ways.door[w, 2], ways.door[w, 1] + step * ways.door[w, 3]
    if y >= 0:
        qx, qy = stand(ways, y, other, step)
    radius, short = 0.5 * ways.width[w], known - 2.0 * step
    if may_meet(around, ways.a[w], ways.b[w], px, py, qx, qy, radius + TOLERANCE, short + 1e-6):
        return float(max(known, place_walk(scene, px, py, qx, qy, radius, joined) + 2.0 * step))
    return float(max(known, math.hypot(px - qx, py - qy) + 2.0 * step))


@njit(cache=True, nogil=True)
def nearest_walk(
    ways: Ways, scene: Arrays, around: Floats, w: int, x: int, ka: Longs, y: int, kb: Longs, known: float,
    joined: Longs,
) -> float:  # fmt: skip
    """The least of ``lift_walk`` over places of both ends; ``known`` is the least without what is settled."""
    best = math.inf
    for i in range(len(ka)):
        for j in range(len(kb)):
            if best > known:
                best = min(best, lift_walk(ways, scene, around, w, x, ka[i], y, kb[j], known, joined))
    return best


@njit(cache=True, nogil=True)
def lift_block(
    problem: Problem, live: Living, ways: Ways, scene: Arrays, around: Floats, roots: Ints, w: int,
    pair: Ints, store: Singles, joined: Longs,
) -> None:  # fmt: skip
    """Search the metres of a LEG's block anew; raises ``store``."""
    spots, a, b, block = ways.origin[roots], ways.a[w], ways.b[w], ways.goal[w]
    ka = ways.numbers[ways.places_a[w, 0] : ways.places_a[w, 1]]
    kb = ways.numbers[ways.places_b[w, 0] : ways.places_b[w, 1]]
    v = problem.axes[block, 1]
    columns = live.label[v + 1] - live.label[v]
    row0 = live.store_at[block] + part_begins(problem, live.first, ways.part_a[w]) * columns
    column0 = part_begins(problem, live.first, ways.part_b[w])
    for x in range(live.first[a], live.first[a + 1]):
        stamp(scene, ways.slots, a, ways.stamps, spots[x])
        for y in range(live.first[b], live.first[b + 1]):
            if pair[x, y] >= CLASH:
                continue
            stamp(scene, ways.slots, b, ways.stamps, spots[y])
            for i in range(len(ka)):
                at = row0 + ((x - live.first[a]) * len(ka) + i) * columns + column0
                if ways.nearest_b[w]:
                    at += y - live.first[b]
                    new = nearest_walk(
                        ways, scene, around, w, spots[x], ka[i : i + 1], spots[y], kb, store[at], joined
                    )
                    store[at] = max(store[at], np.float32(new * (1.0 - 2e-7)))
                    continue
                at += (y - live.first[b]) * len(kb)
                for j in range(len(kb)):
                    new = lift_walk(
                        ways, scene, around, w, spots[x], ka[i], spots[y], kb[j], store[at + j], joined
                    )
                    store[at + j] = max(store[at + j], np.float32(new * (1.0 - 2e-7)))


@njit(cache=True, nogil=True)
def lift_pairs(
    live: Living, ways: Ways, scene: Arrays, around: Floats, roots: Ints, w: int, pair: Ints, base: Ints,
    joined: Longs,
) -> None:  # fmt: skip
    """Search a way between two stations' nearest places anew; raises their prices in ``base``."""
    spots, a, b = ways.origin[roots], ways.a[w], ways.b[w]
    ka = ways.numbers[ways.places_a[w, 0] : ways.places_a[w, 1]]
    kb = ways.numbers[ways.places_b[w, 0] : ways.places_b[w, 1]]
    columns = ways.first[b + 1] - ways.first[b]
    for x in range(live.first[a], live.first[a + 1]):
        stamp(scene, ways.slots, a, ways.stamps, spots[x])
        for y in range(live.first[b], live.first[b + 1]):
            if pair[x, y] >= CLASH:
                continue
            stamp(scene, ways.slots, b, ways.stamps, spots[y])
            at = ways.known[w] + (roots[x] - ways.first[a]) * columns + roots[y] - ways.first[b]
            known = np.float64(ways.metres[at])
            new = nearest_walk(ways, scene, around, w, spots[x], ka, spots[y], kb, known, joined)
            base[x, y] = raised(base[x, y], ways.weight[w], new, known)
            base[y, x] = base[x, y]


@njit(cache=True, nogil=True)
def lift_own(
    problem: Problem, live: Living, ways: Ways, scene: Arrays, around: Floats, roots: Ints, w: int,
    own: Longs, joined: Longs,
) -> None:  # fmt: skip
    """Search a way to a door, or between a station's own sides, anew; raises labels' prices in ``own``."""
    spots, a = ways.origin[roots], ways.a[w]
    ka = ways.numbers[ways.places_a[w, 0] : ways.places_a[w, 1]]
    kb = ways.numbers[ways.places_b[w, 0] : ways.places_b[w, 1]]
    each = len(ka) if ways.target[w] == OF_VISIT else 1
    row0 = live.label[ways.goal[w]]
    if ways.target[w] == OF_VISIT:
        row0 += part_begins(problem, live.first, ways.part_a[w])
    for x in range(live.first[a], live.first[a + 1]):
        stamp(scene, ways.slots, a, ways.stamps, spots[x])
        y = spots[x] if ways.b[w] == a else -1
        for i in range(each):
            at = row0 + (x - live.first[a]) * each + i
            known = np.float64(ways.metres[ways.known[w] + (roots[x] - ways.first[a]) * each + i])
            from_places = ka[i : i + 1] if ways.target[w] == OF_VISIT else ka
            new = nearest_walk(ways, scene, around, w, spots[x], from_places, y, kb, known, joined)
            own[at] = raised(own[at], ways.weight[w], new, known)


@njit(cache=True, nogil=True)
def raised(price: Whole, weight: float, metres: float, known: float) -> Whole:
    """An integer price when a way is found to be longer than was known; CLASH without a way."""
    if metres == math.inf:
        return np.int64(CLASH)
    # Two units for the rounding of what was known: too little, never too much.
    more = weight * (metres - known) - 2.0
    return min(np.int64(price) + np.int64(max(more, 0.0)), np.int64(CLASH))


@njit(cache=True, nogil=True)
def own_scene(scene: Arrays) -> Arrays:
    """A scene of its own for a node to change."""
    return Arrays(
        scene.vert.copy(),
        scene.ball.copy(),
        scene.box.copy(),
        scene.span.copy(),
        scene.corner.copy(),
        scene.first.copy(),
    )


@njit(cache=True, nogil=True)
def lifted(
    root: Problem,
    problem: Problem,
    live: Living,
    state: State,
    constant: Whole,
    limit: Whole,
    ways: Ways,
) -> Problem:
    """The problem on a node's living spots, walks round what is certain to stand in the way.

    ``root`` is the problem that ``ways`` was made for, ``problem`` what the node was worked on: the root
    or one lifted before.  ``constant`` goes with ``state``; ``limit`` is a price of no use.
    """
    roots = problem.origin[live.spots]
    pair = gather(problem.pair, live.spots)
    forbid_pairs(problem, live, state, constant, limit, pair)
    base = gather(root.pair, roots)
    own = root.unary[fewer_labels(root, root.first, roots)[1]]
    now = problem.unary[fewer_labels(problem, problem.first, live.spots)[1]]
    store = live.store.copy()
    scene = own_scene(ways.scene)
    n = len(ways.absent)
    around = np.empty((n, 4))
    for s in range(n):
        settle_floor(ways, scene, live, roots, s, around)
    joined = np.zeros(len(scene.first) - 1, np.int64)
    for w in range(len(ways.a)):
        a, b = ways.a[w], ways.b[w]
        # The two ends stand on the spot in question instead.
        take_floor(scene, ways.slots, n + a)
        if b >= 0:
            take_floor(scene, ways.slots, n + b)
        if ways.target[w] == BLOCK:
            lift_block(problem, live, ways, scene, around, roots, w, pair, store, joined)
        elif ways.target[w] == BETWEEN_STATIONS:
            lift_pairs(live, ways, scene, around, roots, w, pair, base, joined)
        else:
            lift_own(problem, live, ways, scene, around, roots, w, own, joined)
        settle_floor(ways, scene, live, roots, a, around)
        if b >= 0:
            settle_floor(ways, scene, live, roots, b, around)
    for x in range(len(pair)):
        for y in range(len(pair)):
            pair[x, y] = max(pair[x, y], base[x, y])
    return Problem(
        pair,
        live.first.copy(),
        problem.station,
        problem.part,
        problem.part_station,
        problem.part_places,
        np.maximum(own, now),
        problem.ends,
        problem.kind,
        problem.rows,
        problem.block,
        problem.weight,
        problem.near,
        problem.edge,
        problem.side,
        store,
        problem.axes,
        problem.joined,
        roots,
    )
