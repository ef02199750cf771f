"""What stands on the floor while something is moved: named shapes to come flush with and to measure to.

Metres, in the room's frame.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from footwork.floor.headroom import overhead, share_floor
from footwork.floor.plan import wall_words
from footwork.floor.shapes import FloatArray, footprint
from footwork.floor.walls import wall_segments
from footwork.model.scenario import Placement, Room, Scenario, Station, Vehicle


@dataclass(frozen=True, eq=False)
class Solid:
    """A wall, fixture or thing: ``ring`` (n, 2) are its corners in order, two for a wall.

    ``thing`` is None for a part of the building.
    """

    name: str
    ring: FloatArray
    shape: shapely.Geometry
    thing: Station | Vehicle | None = None


@dataclass(frozen=True)
class Standing:
    """Where everything stands; vehicles in ``out`` are away."""

    scenario: Scenario
    placements: Mapping[str, Placement]
    out: frozenset[str] = frozenset()

    def with_(self, changes: Mapping[str, Placement]) -> Standing:
        """The same with some things elsewhere."""
        return Standing(self.scenario, {**self.placements, **changes}, self.out)

    def solids(self, besides: Collection[str]) -> tuple[Solid, ...]:
        """Walls, fixtures, and what is there of the things, but for those named."""
        things = [
            _solid(thing, self.placements[thing.name])
            for thing in self.scenario.things
            if thing.name not in besides and thing.name not in self.out
        ]
        return (*_building(self.scenario.room), *things)


def met(thing: Station | Vehicle, solid: Solid) -> bool:
    """Whether a thing cannot share floor with a solid: nothing that hangs clear of it is in its way."""
    if solid.thing is None:
        return True
    return not (share_floor(thing, solid.thing) or overhead(solid.thing))


def _solid(thing: Station | Vehicle, placement: Placement) -> Solid:
    ring = footprint(thing, placement)
    return Solid(thing.name, ring, shapely.Polygon(ring), thing)


@lru_cache(maxsize=16)
def _building(room: Room) -> tuple[Solid, ...]:
    """Walls from end to end, whatever opens in them: one measures to the line of a door, not through it."""
    lines = [(wall.name, wall.start, wall.end) for wall in room.walls]
    walls_of_room = {wall.name for wall in room.walls}
    lines += [(s.name, s.start, s.end) for s in wall_segments(room) if s.name not in walls_of_room]
    walls = [Solid(wall_words(name), np.array([a, b]), shapely.LineString([a, b])) for name, a, b in lines]
    fixtures = [Solid(f.name, np.array(f.outline), shapely.Polygon(f.outline)) for f in room.fixtures]
    return (*walls, *fixtures)
