"""Clear distances: how far it is from each side of a thing to what that side faces, as a tape would say.

Metres, in the room's frame.  The sides are those of the box around a thing in its own frame.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from footwork.floor.shapes import outward, side_length, side_line
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


def clear_distances(standing: Standing, name: str) -> dict[Side, Clear]:
    """The clear distance of each side of a thing that faces anything."""
    thing, place = standing.scenario.thing(name), standing.placements[name]
    solids = [solid for solid in standing.solids({name}) if met(thing, solid)]
    shapes = np.array([solid.shape for solid in solids])
    found = {}
    for side in SIDES:
        nearest = _nearest(thing, place, side, shapes)
        if nearest is not None:
            k, metres, start, end = nearest
            found[side] = Clear(side, metres, solids[k].name, start, end)
    return found


def _nearest(
    thing: Station | Vehicle, place: Placement, side: Side, shapes: np.ndarray
) -> tuple[int, float, Point, Point] | None:
    """Which shape a side meets first when it goes straight out, how far that is, and the line to it.

    What it meets begins at the middle of the thing: an overlap is a distance below nothing.
    """
    (ax, ay), (bx, by) = side_line(thing, place, side)
    middle, out = np.array([(ax + bx) / 2, (ay + by) / 2]), np.array(outward(side, place.facing))
    half = side_length(thing, side) / 2
    across = np.array([bx - ax, by - ay]) / (2 * half)
    depth = side_length(thing, "left" if side in ("front", "back") else "front") / 2
    # what touches from the side is not faced
    wide = max(half - TOLERANCE, half / 2)
    corners = [middle - wide * across, middle + wide * across]
    band = shapely.Polygon(
        [corners[0] - depth * out, corners[1] - depth * out, corners[1] + FAR * out, corners[0] + FAR * out]
    )
    best: tuple[int, float, Point, Point] | None = None
    hit = np.flatnonzero(shapely.intersects(shapes, band))
    for k, shape in zip(hit.tolist(), shapely.intersection(shapes[hit], band), strict=True):
        points = shapely.get_coordinates(shape) - middle
        ahead = points @ out
        metres = float(ahead.min())
        if best is None or metres < best[1] - 1e-9:
            there = (points @ across)[ahead < metres + 1e-6]
            aside = float(np.clip(0.0, there.min(), there.max()))
            start = middle + aside * across
            end = start + metres * out
            best = (k, metres, (float(start[0]), float(start[1])), (float(end[0]), float(end[1])))
    return best


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
