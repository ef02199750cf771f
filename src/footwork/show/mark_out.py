"""Marking out: where the corners of every footprint lie, measured from two walls.

A corner is marked from a wall by two lengths: along the wall from one of its corners, and square out from
it.  Lengths here are metres; ``mark_tables.py`` and ``mark_pdf.py`` show them in the file's units.  A wall is
the line that the file gives, its inside face.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from footwork.floor.headroom import underside
from footwork.floor.plan import Plan
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import TOLERANCE, Layout, Point, Room, Scenario, Station, Wall
from footwork.model.showing import Shown
from footwork.scoring import find_layout

AT_WALL = 0.10
"""Metres from a wall within which a thing is marked out with those along that wall."""

_APART = math.sin(math.radians(30.0))
"""Two walls that meet at less would fix a corner badly."""
_SQUARE = 1e-6

FIXED, FLOOR, OUTSIDE, VEHICLES = "fixed", "floor", "outside", "vehicles"
"""Groups beside those along a wall, which have the wall's name."""


@dataclass(frozen=True, slots=True)
class Base:
    """How things are measured from one wall: along it from its corner with wall ``corner``, and square out.

    ``origin`` is that corner; ``along`` and ``out`` are unit vectors.  ``outside``: out of the room, as for
    what stands in a yard.  ``carried_on``: some foot lies on the wall's line beyond its end.
    """

    wall: str
    corner: str
    origin: Point
    along: Point
    out: Point
    outside: bool = False
    carried_on: bool = False

    def offsets(self, points: FloatArray) -> FloatArray:
        """Metres along and out of points (n, 2) of the room."""
        measured: FloatArray = (points - np.array(self.origin)) @ np.array([self.along, self.out]).T
        return measured

    def point(self, along: float, out: float) -> Point:
        """The place that two lengths mark: the other way round."""
        (ax, ay), (bx, by), (x, y) = self.along, self.out, self.origin
        return (x + along * ax + out * bx, y + along * ay + out * by)


@dataclass(frozen=True, slots=True)
class Diagonal:
    """A length across a footprint from one corner to another, to check that it is square."""

    start: int
    end: int
    metres: float


@dataclass(frozen=True)
class Mark:
    """One footprint to mark out.

    ``corners`` (n, 2) run round the footprint from its front left, counter-clockwise as the plan shows it;
    ``offsets`` (2, n, 2) are metres along and out for each corner from each of ``bases``.
    ``square``: each length along the first wall is at once the length out from the second, so that two
    lengths say all there is.  ``underside`` is how high a thing hangs, 0 for what stands.
    """

    number: int
    name: str
    group: str
    facing: float
    size: tuple[float, float]
    corners: FloatArray
    sides: tuple[str, ...]
    bases: tuple[Base, Base]
    offsets: FloatArray
    diagonals: tuple[Diagonal, ...]
    square: bool
    underside: float = 0.0

    @property
    def shown(self) -> tuple[Base, ...]:
        """The bases worth showing: the second only where it can be measured from and tells something new."""
        return self.bases[:1] if self.square or self.bases[1].carried_on else self.bases


@dataclass(frozen=True)
class MarkList(Shown):
    """All footprints of a layout in the order to mark them out."""

    scenario: Scenario
    layout: Layout
    marks: tuple[Mark, ...]

    @property
    def groups(self) -> tuple[tuple[str, tuple[Mark, ...]], ...]:
        """Marks by group, in order."""
        names = dict.fromkeys(mark.group for mark in self.marks)
        return tuple((name, tuple(m for m in self.marks if m.group == name)) for name in names)


def mark_out(scenario: Scenario, layout: Layout | str | None = None) -> MarkList:
    """The marking-out list of a layout: by name, as an object, or the file's first.

    What is fixed comes first, to be checked; then what stands along each wall, round the room; then what
    stands out on the floor, in the yards, and the vehicles.  Raises UsageError when there is no such layout,
    or it leaves something out.
    """
    plan = Plan(scenario, find_layout(scenario, layout))
    order = _round_the_room(plan.room)
    found = []
    for name in plan.things:
        ring = plan.footprint(name)
        first, second = _two_bases(plan.room, ring, plan.placements[name].facing)
        thing = plan.things[name]
        if not isinstance(thing, Station):
            group = VEHICLES
        elif thing.fixed is not None:
            group = FIXED
        elif first.outside:
            group = OUTSIDE
        else:
            near = float(first.offsets(ring)[:, 1].min())
            group = first.wall if near <= AT_WALL + TOLERANCE else FLOOR
        found.append((_place_in_order(group, first, ring, order), name, group, first, second))
    found.sort(key=lambda item: (item[0], item[1]))
    marks = [_mark(plan, k, *item[1:]) for k, item in enumerate(found, start=1)]
    return MarkList(scenario, plan.layout, tuple(marks))


def _mark(plan: Plan, number: int, name: str, group: str, first: Base, second: Base) -> Mark:
    thing = plan.things[name]
    front_left = _front_left(thing.outline)
    outline = (*thing.outline[front_left:], *thing.outline[:front_left])
    ring = np.roll(plan.footprint(name), -front_left, axis=0)
    offsets = np.stack([first.offsets(ring), second.offsets(ring)])
    return Mark(
        number,
        name,
        group,
        plan.placements[name].facing,
        thing.size,
        ring,
        _corner_words(outline),
        (first, second),
        offsets,
        _diagonals(ring),
        bool(np.abs(offsets[0] - offsets[1][:, ::-1]).max() < _SQUARE),
        underside(thing),
    )


def corner_letter(k: int) -> str:
    """``a`` to ``z``, then ``aa``, ``ab`` ..."""
    return (corner_letter(k // 26 - 1) if k >= 26 else "") + chr(ord("a") + k % 26)


def _front_left(outline: Sequence[Point]) -> int:
    """The corner nearest to the front left of the box round an outline."""
    corner = (min(p[0] for p in outline), min(p[1] for p in outline))
    return min(range(len(outline)), key=lambda k: (round(math.dist(outline[k], corner), 6), outline[k][1]))


def _corner_words(outline: Sequence[Point]) -> tuple[str, ...]:
    """Which corner each is, as seen by the person at the front; empty where the footprint is no rectangle."""
    x0, x1 = min(p[0] for p in outline), max(p[0] for p in outline)
    y0, y1 = min(p[1] for p in outline), max(p[1] for p in outline)
    words = []
    for x, y in outline:
        end = "front" if abs(y - y0) <= TOLERANCE else "back" if abs(y - y1) <= TOLERANCE else ""
        hand = "left" if abs(x - x0) <= TOLERANCE else "right" if abs(x - x1) <= TOLERANCE else ""
        words.append(f"{end} {hand}" if end and hand else "")
    rectangle = len(outline) == 4 and all(words) and len(set(words)) == 4
    return tuple(words) if rectangle else ("",) * len(words)


def _diagonals(ring: FloatArray) -> tuple[Diagonal, ...]:
    """Two lengths across: of a rectangle its diagonals, of a triangle two sides."""
    half = len(ring) // 2
    return tuple(Diagonal(k, k + half, math.dist(ring[k], ring[k + half])) for k in (0, 1))


# The two walls


@dataclass(frozen=True, slots=True)
class _Seen:
    """A wall as seen from a footprint: metres to it, and whether a tape reaches from it to every corner."""

    wall: Wall
    distance: float
    usable: bool
    backed: float

    @property
    def key(self) -> tuple[bool, float, float]:
        return (not self.usable, round(self.distance, 3), self.backed)


def _two_bases(room: Room, ring: FloatArray, facing: float) -> tuple[Base, Base]:
    """The nearest wall, and the nearest that is not parallel to it.

    First those from which every corner can be measured inside the room; else the nearest ones, their lines
    carried on.  Of two as near, the one that the back is turned to.
    """
    floor = shapely.Polygon(room.outline).buffer(TOLERANCE)
    looks = (math.sin(math.radians(facing)), math.cos(math.radians(facing)))
    seen = [_see(wall, ring, floor, looks) for wall in room.walls]
    first = min(seen, key=lambda s: s.key)
    turns = {s.wall.name: _turn(first.wall, s.wall) for s in seen}
    enough = min(_APART, max(turns.values()))  # in a sliver of a room all walls run alike
    second = min((s for s in seen if turns[s.wall.name] >= enough), key=lambda s: s.key)
    return _base(room, first.wall, second.wall, ring), _base(room, second.wall, first.wall, ring)


def _see(wall: Wall, ring: FloatArray, floor: shapely.Geometry, looks: Point) -> _Seen:
    base = _from_end(wall, "", at_start=True)
    offsets = base.offsets(ring)
    length = math.dist(wall.start, wall.end)
    over = offsets[:, 0].min() >= -TOLERANCE and offsets[:, 0].max() <= length + TOLERANCE
    feet = [base.point(float(s), 0.0) for s in offsets[:, 0]]
    tapes = [shapely.LineString([foot, corner]) for foot, corner in zip(feet, ring, strict=True)]
    usable = bool(over and offsets[:, 1].min() >= -TOLERANCE and all(floor.covers(tape) for tape in tapes))
    distance = shapely.Polygon(ring).distance(shapely.LineString([wall.start, wall.end]))
    return _Seen(wall, float(distance), usable, -(looks[0] * wall.inward[0] + looks[1] * wall.inward[1]))


def _turn(one: Wall, other: Wall) -> float:
    """The sine of the angle between two walls."""
    return abs(one.inward[0] * other.inward[1] - one.inward[1] * other.inward[0])


def _from_end(wall: Wall, corner: str, at_start: bool) -> Base:
    start, end = (wall.start, wall.end) if at_start else (wall.end, wall.start)
    length = math.dist(start, end)
    along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    return Base(wall.name, corner, start, along, wall.inward)


def _base(room: Room, wall: Wall, other: Wall, ring: FloatArray) -> Base:
    """Measured from the corner with ``other`` where they meet, else from the nearer end."""
    corners = [_at_corner(room, wall, end) for end in (wall.start, wall.end)]
    ends = [_from_end(wall, corner, at_start=k == 0) for k, corner in enumerate(corners)]
    meeting = [base for base in ends if base.corner == other.name]
    base = meeting[0] if meeting else min(ends, key=lambda b: abs(float(b.offsets(ring)[:, 0].mean())))
    offsets = base.offsets(ring)
    outside = bool(offsets[:, 1].max() <= TOLERANCE)
    length = math.dist(wall.start, wall.end)
    beyond = bool(offsets[:, 0].min() < -TOLERANCE or offsets[:, 0].max() > length + TOLERANCE)
    out = (-base.out[0], -base.out[1]) if outside else base.out
    return Base(base.wall, base.corner, base.origin, base.along, out, outside, beyond)


def _at_corner(room: Room, wall: Wall, end: Point) -> str:
    """The name of the wall that meets ``wall`` at ``end``."""
    others = [w for w in room.walls if w.name != wall.name]
    return min(others, key=lambda w: min(math.dist(end, w.start), math.dist(end, w.end))).name


# The order


def _round_the_room(room: Room) -> dict[str, tuple[int, Point, Point]]:
    """For each wall its place on a way round the room, counter-clockwise, where that begins on it, and
    the unit vector that it goes."""
    ring = np.asarray(room.outline)
    found: dict[str, tuple[int, Point, Point]] = {}
    for wall in room.walls:
        left = (wall.inward[1], -wall.inward[0])  # counter-clockwise: the room lies to the left
        way = np.subtract(wall.end, wall.start) @ np.array(left)
        start = wall.start if way > 0 else wall.end
        place = int(np.hypot(*(ring - np.array(start)).T).argmin())
        found[wall.name] = (place, start, left)
    return found


def _place_in_order(
    group: str, base: Base, ring: FloatArray, order: dict[str, tuple[int, Point, Point]]
) -> tuple[int, int, float]:
    rank = {FIXED: 0, FLOOR: 2, OUTSIDE: 3, VEHICLES: 4}.get(group, 1)
    place, start, way = order[base.wall]
    along = float((ring.mean(axis=0) - np.array(start)) @ np.array(way))
    return (rank, place, round(along, 4))


def to_dict(found: MarkList) -> dict[str, Any]:
    """The list as JSON; lengths in metres, bearings in degrees."""
    return {
        "scenario": found.scenario.name,
        "layout": found.layout.name,
        "stations": [_mark_dict(mark) for mark in found.marks],
    }


def _mark_dict(mark: Mark) -> dict[str, Any]:
    return {
        "number": mark.number,
        "name": mark.name,
        "group": mark.group,
        "facing": mark.facing,
        "size": list(mark.size),
        "walls": [
            {"wall": b.wall, "from": b.corner, "outside": b.outside, "carried_on": b.carried_on}
            for b in mark.bases
        ],
        "corners": [
            {
                "corner": corner_letter(k),
                "which": mark.sides[k],
                "at": _rounded(mark.corners[k]),
                "offsets": [
                    dict(zip(("along", "out"), _rounded(mark.offsets[w, k]), strict=True)) for w in (0, 1)
                ],
            }
            for k in range(len(mark.corners))
        ],
        "diagonals": [
            {"from": corner_letter(d.start), "to": corner_letter(d.end), "metres": round(d.metres, 6)}
            for d in mark.diagonals
        ],
    }


def _rounded(values: FloatArray) -> list[float]:
    """To a micrometre, without a minus before 0."""
    return [round(float(v), 6) + 0.0 for v in values]
