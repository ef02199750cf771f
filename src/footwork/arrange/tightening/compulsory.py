"""What is walked, and the compulsory parts of a node's stations, compiled.

A station that a node has left one spot stands there; one whose active spots all cover some rectangle of floor
covers that, wherever it comes to stand.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats, Ints, Longs, Singles
from footwork.arrange.relaxation.model import Subproblem
from footwork.arrange.spots.stamps import FAR, Places, Slots, Stamps, stamp, take_off
from footwork.compiled.functions import bare, unit
from footwork.compiled.records import record
from footwork.floor.contact import (
    AX,
    AY,
    EAST,
    NORMAL_X,
    NORMAL_Y,
    NORTH,
    OFFSET,
    RADIUS,
    SOUTH,
    WEST,
    ZX,
    ZY,
    Arrays,
    X,
    Y,
)

BETWEEN_STATIONS, BLOCK, OF_STATION, OF_VISIT = range(4)
"""What a leg's metres are for: a PAIR edge's costs, a LEG's block, a station's or a visit's own cost."""
THIN = 0.02
"""Metres: compulsory parts narrower than this are left out."""
SHORT = 1e-9
"""Metres of a segment below which it is a point."""


@record
class LegEnds(NamedTuple):
    """One end of each leg.

    station     the station there, -1 for a door
    part        of the variable that ``Legs.target`` speaks of; -1 where that has none
    begin, end  where its standing places are in ``Legs.places``
    """

    station: Longs
    part: Ints
    begin: Ints
    end: Ints


@record
class DoorPlaces(NamedTuple):
    """Where each leg to a door ends, and the unit vector out of the room there."""

    x: Floats
    y: Floats
    out_x: Floats
    out_y: Floats


@record
class Legs(NamedTuple):
    """All that is walked, at full size, by leg (one of those of a job's leg that differ).

    a, b                  its ends
    nearest_b             BLOCK: one column a spot (the nearest place counts)
    places                numbers of standing places of a spot
    target, goal          what for, and which: BLOCK: the block, else the variable
    width, metre_cost     clear width; integers a metre
    known_begin (legs + 1,), known   metres at full size (not for BLOCK), and where a leg's begin
    """

    a: LegEnds
    b: LegEnds
    door: DoorPlaces
    nearest_b: Bools
    places: Longs
    target: Ints
    goal: Ints
    width: Floats
    metre_cost: Floats
    known_begin: Longs
    known: Singles


@record
class SpotMembers(NamedTuple):
    """The spots of a problem, aggregates after those of each station.

    first (stations + 1,)      where each station's begin
    station_size (stations,)   how many spots each has, without aggregates
    member_begin (spots + 1,)  where the spots that each spot or aggregate stands for begin in ``member``
    origin (spots,)            numbers of the spots in ``Floor.stamps`` and ``Floor.places``
    box (spots, 4)             a rectangle inside each footprint, an aggregate's inside all
    """

    first: Ints
    station_size: Longs
    member_begin: Longs
    member: Longs
    origin: Longs
    box: Floats


@record
class Floor(NamedTuple):
    """What stands on the floor.

    absent (stations,)  not on the floor in every state: vehicles, and what people walk below
    walker              metres that the walker is wide
    setting_off, pace   what a walk longer than a pace counts more (``floor.effort``)
    scene, slots        a slot for each station and, after them, for its compulsory part
    square              the scene's template of such a part, from (0, 0) to (1, 1)
    """

    absent: Bools
    walker: float
    setting_off: float
    pace: float
    scene: Arrays
    slots: Slots
    square: Arrays
    stamps: Stamps
    places: Places


@record
class Tightening(NamedTuple):
    """What the nodes of a problem are tightened with."""

    legs: Legs
    spots: SpotMembers
    floor: Floor


@bare
def put_floor(
    scene: Arrays, slots: Slots, slot: int, square: Arrays, x: float, y: float, dx: float, dy: float
) -> None:
    """Put the rectangle from (x, y) to (x + dx, y + dy) into a slot."""
    at = slots.vertex[slot]
    for v in range(len(square.vert)):
        px, py = x + dx * square.vert[v, X], y + dy * square.vert[v, Y]
        nx, ny = square.vert[v, NORMAL_X], square.vert[v, NORMAL_Y]
        scene.vert[at + v, X], scene.vert[at + v, Y] = px, py
        scene.vert[at + v, NORMAL_X], scene.vert[at + v, NORMAL_Y] = nx, ny
        scene.vert[at + v, OFFSET] = px * nx + py * ny
    at = slots.piece[slot]
    scene.ball[at, X], scene.ball[at, Y] = x + 0.5 * dx, y + 0.5 * dy
    scene.ball[at, RADIUS] = 0.5 * math.hypot(dx, dy)
    scene.box[at, WEST], scene.box[at, SOUTH] = x, y
    scene.box[at, EAST], scene.box[at, NORTH] = x + dx, y + dy
    at = slots.corner[slot]
    for k in range(len(square.corner)):
        scene.corner[at + k, X] = x + dx * square.corner[k, X]
        scene.corner[at + k, Y] = y + dy * square.corner[k, Y]
        for c in (AX, AY, ZX, ZY):
            scene.corner[at + k, c] = square.corner[k, c]


@bare
def take_floor(scene: Arrays, slots: Slots, slot: int) -> None:
    """Take a rectangle off the floor."""
    scene.ball[slots.piece[slot], X] = FAR
    scene.box[slots.piece[slot], WEST] = FAR


@unit
def put_compulsory_part(
    tightening: Tightening, scene: Arrays, sub: Subproblem, roots: Ints, s: int, around: Floats
) -> None:
    """Put what a station is certain to cover on the floor, and the box round it in ``around[s]``.

    ``roots`` are the node's spots in the problem that ``tightening`` is of.  Without a part the box is empty:
    its least coordinates are infinite.
    """
    floor, spots = tightening.floor, tightening.spots
    slots, stamps = floor.slots, floor.stamps
    n = len(floor.absent)
    first, last = sub.first[s], sub.first[s + 1]
    root = roots[first]
    alone = spots.origin[root]
    take_off(scene, slots, s, stamps, alone)
    take_floor(scene, slots, n + s)
    around[s, :2], around[s, 2:] = math.inf, -math.inf
    if floor.absent[s]:
        return
    if last - first == 1 and spots.member_begin[root + 1] - spots.member_begin[root] == 1:
        stamp(scene, slots, s, stamps, alone)
        t = stamps.template[alone]
        for p in range(stamps.piece[t + 1] - stamps.piece[t]):
            box = scene.box[slots.piece[s] + p]
            around[s, :2] = np.minimum(around[s, :2], box[:2])
            around[s, 2:] = np.maximum(around[s, 2:], box[2:])
        return
    west, south, east, north = -math.inf, -math.inf, math.inf, math.inf
    for k in range(first, last):
        box = spots.box[roots[k]]
        west, south = max(west, box[WEST]), max(south, box[SOUTH])
        east, north = min(east, box[EAST]), min(north, box[NORTH])
    if east - west > THIN and north - south > THIN:
        put_floor(scene, slots, n + s, floor.square, west, south, east - west, north - south)
        around[s, WEST], around[s, SOUTH], around[s, EAST], around[s, NORTH] = west, south, east, north


@bare
def from_box(box: Floats, x: float, y: float) -> float:
    """Distance from a point to a box."""
    aside = max(box[WEST] - x, x - box[EAST], 0.0)
    return math.hypot(aside, max(box[SOUTH] - y, y - box[NORTH], 0.0))


@bare
def from_segment(box: Floats, px: float, py: float, qx: float, qy: float) -> float:
    """A distance that a segment keeps from a box at least; 0 where they may meet."""
    dx, dy = qx - px, qy - py
    length = math.hypot(dx, dy)
    if length < SHORT:
        return float(from_box(box, px, py))
    # How far the box lies to one side of the line, and beyond its ends' box.
    cx, cy = 0.5 * (box[WEST] + box[EAST]) - px, 0.5 * (box[SOUTH] + box[NORTH]) - py
    half = 0.5 * (abs(dy) * (box[EAST] - box[WEST]) + abs(dx) * (box[NORTH] - box[SOUTH])) / length
    side = abs(cx * dy - cy * dx) / length - half
    gap_x = max(box[WEST] - max(px, qx), min(px, qx) - box[EAST], 0.0)
    gap_y = max(box[SOUTH] - max(py, qy), min(py, qy) - box[NORTH], 0.0)
    return float(max(side, math.hypot(gap_x, gap_y), 0.0))


Point = tuple[float, float]


@bare
def may_meet(around: Floats, a: int, b: int, start: Point, end: Point, radius: float, metres: float) -> bool:
    """Whether a path of at most ``metres`` may touch the compulsory part of others than a and b.

    A point at a distance h from the segment adds to a path of at least sqrt(L^2 + 4 h^2) through it.
    """
    px, py = start
    qx, qy = end
    straight = math.hypot(px - qx, py - qy)
    for s in range(len(around)):
        if s in (a, b) or around[s, WEST] == math.inf:
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
