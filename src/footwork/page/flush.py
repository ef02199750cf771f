"""Coming flush: what is moved near a wall or a neighbour comes to lie against it.

Metres, in the room's frame.  Backs and ends come flush, fronts don't: one stands there.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from footwork.floor.shapes import FloatArray, outward, side_length, side_line
from footwork.model.scenario import SIDES, TOLERANCE, Placement, Side, Station, Vehicle
from footwork.page.ground import Solid, Standing, met

REACH = 0.10
"""Metres: a hand's breadth, the gap across which things come flush."""
PARALLEL = math.sin(math.radians(0.5))
SIDES_THAT_MEET: tuple[Side, ...] = ("back", "left", "right")
LEAST = 0.05
"""Metres that two edges have to lie beside each other."""
QUARTER = 90.0
INTO = 0.5
"""Part of a thing's depth that may reach into a wall when it is turned there: more, and it is beyond it."""
Edges = tuple[FloatArray, FloatArray, FloatArray]
"""Starts and ends of edges and the way out of what they bound, (n, 2) each."""
WHOLE = 5.0
"""Degrees within which a turn comes to the direction of a wall."""


@dataclass(frozen=True, slots=True)
class _Meeting:
    """A side of something moved beside an edge that stands: ``gap`` along ``out`` closes it."""

    gap: float
    out: tuple[float, float]
    back: bool


def flush(standing: Standing, moved: Collection[str], turned: bool = False) -> dict[str, Placement]:
    """Where the things in ``moved`` stand when they, as one, have come flush with what is within reach.

    First the nearest back, or where none is near the nearest side; then one more at right angles to it.
    What has ``turned`` also comes back out of a wall that it was turned into, whichever side that is.
    """
    solids = standing.solids(moved)
    placed = {name: standing.placements[name] for name in moved}
    if turned:
        placed = _out_of_walls(standing, placed, [solid for solid in solids if len(solid.ring) == 2])
    first = _best(_meetings(standing, placed, solids))
    if first is None:
        return placed
    placed = _shifted(placed, first)
    found = _meetings(standing, placed, solids)
    second = _best([m for m in found if abs(np.dot(m.out, first.out)) < PARALLEL])
    return placed if second is None else _shifted(placed, second)


def _out_of_walls(
    standing: Standing, placed: dict[str, Placement], walls: Sequence[Solid]
) -> dict[str, Placement]:
    """Each thing moved straight out of the wall it reaches furthest into, and then out of one more."""
    moved: dict[str, Placement] = {}
    edges = _edges([wall.ring for wall in walls])
    for name, place in placed.items():
        thing = standing.scenario.thing(name)
        now = {name: place}
        for _ in range(2):
            into = [
                meeting
                for side in SIDES
                for meeting in _met_by(thing, now[name], side, edges, INTO * _depth(thing, side))
                if meeting.gap < -TOLERANCE
            ]
            if into:
                now = _shifted(now, min(into, key=lambda m: m.gap))
        moved |= now
    return moved


def _depth(thing: Station | Vehicle, side: Side) -> float:
    """Metres from a side to the one across from it."""
    return side_length(thing, "left" if side in ("front", "back") else "front")


def _best(meetings: Sequence[_Meeting]) -> _Meeting | None:
    return min(meetings, key=lambda m: (not m.back, abs(m.gap)), default=None)


def _shifted(placed: dict[str, Placement], by: _Meeting) -> dict[str, Placement]:
    dx, dy = by.gap * by.out[0], by.gap * by.out[1]
    return {name: Placement(p.x + dx, p.y + dy, p.facing) for name, p in placed.items()}


def _meetings(standing: Standing, placed: dict[str, Placement], solids: Sequence[Solid]) -> list[_Meeting]:
    """Every side of what is moved that has an edge within reach."""
    found: list[_Meeting] = []
    for name, place in placed.items():
        thing = standing.scenario.thing(name)
        rings = [solid.ring for solid in solids if met(thing, solid)]
        if not rings:
            continue
        edges = _edges(rings)
        for side in SIDES_THAT_MEET:
            found += _met_by(thing, place, side, edges)
    return found


def _edges(rings: Sequence[FloatArray]) -> Edges:
    """Starts and ends of all edges and the way out of what they bound, (n, 2) each.

    A ring of two points is one edge, which bounds nothing: its way out is (0, 0).
    """
    starts = np.concatenate([ring if len(ring) > 2 else ring[:1] for ring in rings])
    ends = np.concatenate([np.roll(ring, -1, axis=0) if len(ring) > 2 else ring[1:] for ring in rings])
    bounds = np.concatenate([np.full(len(ring) if len(ring) > 2 else 1, len(ring) > 2) for ring in rings])
    run = ends - starts
    return starts, ends, np.column_stack([run[:, 1], -run[:, 0]]) * bounds[:, None]


def _met_by(
    thing: Station | Vehicle, place: Placement, side: Side, edges: Edges, into: float = REACH
) -> list[_Meeting]:
    """The edges beside a side, no further out than REACH and no further inside the thing than ``into``."""
    starts, ends, outwards = edges
    a, b = (np.array(end) for end in side_line(thing, place, side))
    out = outward(side, place.facing)
    length = float(np.hypot(*(b - a)))
    along = (b - a) / length
    edge = ends - starts
    lengths = np.hypot(edge[:, 0], edge[:, 1])
    straight = np.abs(edge @ np.array(out)) <= PARALLEL * np.maximum(lengths, 1e-9)
    gaps = ((starts + ends) / 2 - a) @ np.array(out)
    s, e = (starts - a) @ along, (ends - a) @ along
    beside = np.minimum(np.maximum(s, e), length) - np.maximum(np.minimum(s, e), 0.0)
    faced = outwards @ np.array(out) <= 0.0
    near = straight & faced & (gaps <= REACH) & (gaps >= -into) & (beside >= min(LEAST, length / 2))
    return [_Meeting(float(gap), out, side == "back") for gap in gaps[near]]


def wall_bearing(standing: Standing, bearing: float) -> float:
    """``bearing``, or the nearest of the ways that walls and the four quarters run or face, within a few
    degrees of it; else to the whole degree."""
    ways = {0.0}
    for wall in standing.scenario.room.walls:
        ways.add(math.degrees(math.atan2(wall.inward[0], wall.inward[1])) % QUARTER)
    wanted = [way + QUARTER * k for way in ways for k in range(-1, 5)]
    nearest = min(wanted, key=lambda way: abs((bearing - way + 180.0) % 360.0 - 180.0))
    off = abs((bearing - nearest + 180.0) % 360.0 - 180.0)
    return (nearest if off <= WHOLE else float(round(bearing))) % 360.0
