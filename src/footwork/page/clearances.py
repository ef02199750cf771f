"""Clear distances: how far it is from each side of a thing to what that side faces, as a tape would say.

Metres, in the room's frame.  The sides are those of the box around a thing in its own frame.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from footwork.floor.shapes import FloatArray, box, outward, side_length, side_line, to_room
from footwork.model.errors import UsageError
from footwork.model.scenario import SIDES, TOLERANCE, Placement, Point, Side, Station, Vehicle
from footwork.model.units import format_length
from footwork.page.ground import Standing, met

FAR = 1000.0
"""Metres: further than any room reaches."""
OPPOSITE: dict[Side, Side] = {"front": "back", "back": "front", "left": "right", "right": "left"}


@dataclass(frozen=True, slots=True)
class Clear:
    """The clear distance from ``side`` to the thing or wall ``to``, along the line from ``start`` to ``end``.

    ``metres`` is below 0 where the two overlap.
    """

    side: Side
    metres: float
    to: str
    start: Point
    end: Point


@dataclass(frozen=True, eq=False)
class _Face:
    """One side of a thing: its middle, the unit vectors along it and out of it, half its length."""

    side: Side
    middle: FloatArray
    along: FloatArray
    out: FloatArray
    half: float

    @property
    def band(self) -> shapely.Polygon:
        """The floor straight before it; what only touches it from the side is not in it."""
        wide = max(self.half - TOLERANCE, self.half / 2)
        a, b = self.middle - wide * self.along, self.middle + wide * self.along
        return shapely.Polygon([a, b, b + FAR * self.out, a + FAR * self.out])

    def nearest(self, shape: shapely.Geometry, name: str) -> Clear:
        """The distance to the part of a shape that is furthest in: straight before the middle, if it can."""
        points = shapely.get_coordinates(shape) - self.middle
        ahead = points @ self.out
        metres = float(ahead.min())
        beside = (points @ self.along)[ahead < metres + 1e-6]
        start = self.middle + float(np.clip(0.0, beside.min(), beside.max())) * self.along
        end = start + metres * self.out
        return Clear(self.side, metres, name, _point(start), _point(end))


def _point(at: FloatArray) -> Point:
    return (float(at[0]), float(at[1]))


def _face(thing: Station | Vehicle, place: Placement, side: Side) -> _Face:
    a, b = (np.array(end) for end in side_line(thing, place, side))
    half = side_length(thing, side) / 2
    return _Face(side, (a + b) / 2, (b - a) / (2 * half), np.array(outward(side, place.facing)), half)


def clear_distances(standing: Standing, name: str) -> dict[Side, Clear]:
    """The clear distance of each side of a thing that faces anything.

    What overlaps the thing counts for the one side that it reaches in through least.
    """
    thing, place = standing.scenario.thing(name), standing.placements[name]
    solids = [solid for solid in standing.solids({name}) if met(thing, solid)]
    shapes = np.array([solid.shape for solid in solids])
    faces = [_face(thing, place, side) for side in SIDES]
    left, front, right, back = box(thing)
    own = shapely.Polygon(to_room(((left, front), (right, front), (right, back), (left, back)), place))
    core = own.buffer(-TOLERANCE, join_style="mitre")
    within = shapely.intersects(shapes, core)
    found: list[Clear] = []
    for k in np.flatnonzero(within).tolist():
        part = shapely.intersection(shapes[k], own)
        found.append(max((face.nearest(part, solids[k].name) for face in faces), key=lambda c: c.metres))
    for face in faces:
        hit = np.flatnonzero(shapely.intersects(shapes, face.band) & ~within)
        parts = shapely.intersection(shapes[hit], face.band)
        found += [face.nearest(part, solids[k].name) for k, part in zip(hit.tolist(), parts, strict=True)]
    ordered = sorted(found, key=lambda clear: -clear.metres)
    by_side = {clear.side: clear for clear in ordered}
    return {side: by_side[side] for side in SIDES if side in by_side}


def at_distance(standing: Standing, name: str, side: Side, metres: float) -> Placement:
    """Where a thing stands when its ``side`` is ``metres`` clear of what it faces, moved straight there.

    Raises UsageError, in one line, when that side faces nothing or there is not so much room.
    """
    clear = clear_distances(standing, name)
    units = standing.scenario.units
    if side not in clear:
        raise UsageError(f"{name}: there is nothing to measure to from its {side}")
    now = clear[side]
    if metres < 0.0:
        raise UsageError(f"{name}: {format_length(metres, units)} is less than nothing; give 0 or more")
    behind = clear.get(OPPOSITE[side])
    if behind is not None and metres > now.metres + behind.metres + TOLERANCE:
        most = format_length(max(0.0, now.metres + behind.metres), units)
        raise UsageError(
            f"{name}: there is no room for {format_length(metres, units)} at its {side}: between {now.to} "
            f"and {behind.to} there is {most} at most"
        )
    place = standing.placements[name]
    out = outward(side, place.facing)
    by = now.metres - metres
    return Placement(place.x + by * out[0], place.y + by * out[1], place.facing)
