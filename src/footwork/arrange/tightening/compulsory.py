"""What is walked, and the floor that a node's stations are certain to cover, compiled.

A station that a node has settled on one spot stands there; one whose living spots all cover some
rectangle of floor covers that, wherever it comes to stand.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats, Ints, Longs, Singles
from footwork.arrange.relaxation.model import Living
from footwork.arrange.spots.stamps import FAR, Places, Slots, Stamps, lift, stamp
from footwork.compiled.functions import bare, unit
from footwork.compiled.records import record
from footwork.floor.contact import Arrays

BETWEEN_STATIONS, BLOCK, OF_STATION, OF_VISIT = range(4)
"""What a way's metres are for: a PAIR edge's block, a LEG's block, a station's or a visit's own price."""
THIN = 0.02
"""Metres: settled floor narrower than this is left out."""


@record
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
    first (stations + 1,)   where each station's spots begin, patches after them
    spots (stations,)       how many spots each has, without patches
    member (spots + 1,)     where the spots that each spot or patch stands for begin in ``members``
    origin (spots,)         numbers of the spots in ``stamps`` and ``places``
    box (spots, 4)          a rectangle inside each footprint, a patch's inside all: least x, y, greatest x, y
    absent (stations,)      vehicles: not on the floor in every state
    scene, slots            a slot for each station and, after them, for its settled floor
    square                  the scene's template of such a floor, from (0, 0) to (1, 1)
    """

    a: Longs
    b: Longs
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
    spots: Longs
    member: Longs
    members: Longs
    origin: Ints
    box: Floats
    absent: Bools
    walker: float
    scene: Arrays
    slots: Slots
    square: Arrays
    stamps: Stamps
    places: Places


@bare
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


@bare
def take_floor(scene: Arrays, slots: Slots, slot: int) -> None:
    """Take a rectangle off the floor."""
    scene.ball[slots.piece[slot], 0] = FAR
    scene.box[slots.piece[slot], 0] = FAR


@unit
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
    if last - first == 1 and ways.member[roots[first] + 1] - ways.member[roots[first]] == 1:
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


@bare
def from_box(box: Floats, x: float, y: float) -> float:
    """Distance from a point to a box."""
    return math.hypot(max(box[0] - x, x - box[2], 0.0), max(box[1] - y, y - box[3], 0.0))


@bare
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
    return float(max(side, math.hypot(gap_x, gap_y), 0.0))


@bare
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
