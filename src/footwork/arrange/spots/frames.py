"""Where walls and doors put a thing: the frames that spots and cells (``every_position/``) are laid in."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from footwork.arrange.spots.layers import Thing
from footwork.floor import shapes
from footwork.floor.walls import limits
from footwork.model.scenario import Placement, Point, Room, Scenario, Station, Vehicle


@dataclass(frozen=True)
class Frame:
    """A wall or a door: unit vectors ``along`` it and ``inward`` from ``origin``, and its ``length``.

    ``depth`` is how far the room reaches behind a door, 0 of a wall.
    """

    origin: Point
    along: Point
    inward: Point
    length: float
    depth: float = 0.0

    @property
    def facings(self) -> tuple[float, float]:
        """Of what looks inward, and of what looks out."""
        nx, ny = self.inward
        return bearing(nx, ny), bearing(-nx, -ny)

    def placement(self, across: float, deep: float, facing: float) -> Placement:
        """A placement so far along and so far in."""
        (x, y), (dx, dy), (nx, ny) = self.origin, self.along, self.inward
        return Placement(x + across * dx + deep * nx, y + across * dy + deep * ny, facing)


@dataclass(frozen=True)
class Back:
    """A station with its back to a wall: how far its sides reach along the wall from its centre."""

    frame: Frame
    facing: float
    low: float
    high: float


def bearing(x: float, y: float) -> float:
    """Bearing of a direction, degrees clockwise from north, in [0, 360)."""
    return round(math.degrees(math.atan2(x, y)), 9) % 360.0


def backs_against(room: Room, station: Station) -> Iterator[Back]:
    """A station against each wall of the room."""
    left, _, right, _ = shapes.box(station)
    for wall in room.walls:
        frame = _frame(wall.start, wall.end, wall.inward, math.dist(wall.start, wall.end))
        facing = frame.facings[0]
        u, (dx, dy) = shapes.front_axes(facing)[0], frame.along
        low, high = (left, right) if u[0] * dx + u[1] * dy > 0 else (-right, -left)
        yield Back(frame, facing, low, high)


def door_frame(scenario: Scenario, vehicle: Vehicle) -> Frame:
    """The door that a vehicle comes in by."""
    door = scenario.room.door(vehicle.door)
    x0, y0, x1, y1 = limits(scenario.room, True)
    depth = abs(door.inward[0]) * (x1 - x0) + abs(door.inward[1]) * (y1 - y0)
    return _frame(door.start, door.end, door.inward, door.width, depth)


def _frame(start: Point, end: Point, inward: Point, length: float, depth: float = 0.0) -> Frame:
    along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    return Frame(start, along, inward, length, depth)


def own_spots(scenario: Scenario, thing: Thing) -> list[Placement]:
    """The user's own spots for a thing, if any: it stands on no other."""
    if isinstance(thing, Vehicle):
        return list(thing.spots)
    return [s.placement for s in scenario.spots if thing.name in s.takes or thing.group in s.takes]
