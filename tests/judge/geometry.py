"""Where things are: footprints, standing places, walls with openings, and which vehicles are in.

Metres, room frame: x east, y north.  A station's own frame is the station as drawn when it faces south,
front at the bottom: x to the right hand of the person at the front, y from front to back.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

LONGEST_PART = 0.6
"""Metres: with ``along`` a side is cut into the fewest equal parts of at most this."""

HEADROOM = 2.03
"""Metres: people walk below what hangs as high (6 ft 8 in, 29 CFR 1910.36(g)(1), to the centimetre)."""

TOUCH = 5e-3
"""Metres: how far a yard's edge may be from a door and still be opened by it."""


@dataclass(frozen=True)
class Place:
    """A standing place: where the walker's centre is, and the direction straight away from the face."""

    owner: str
    side: str
    at: tuple[float, float]
    outward: tuple[float, float]

    def stepped_out(self, distance: float) -> tuple[float, float]:
        """The point ``distance`` metres straight out from the place."""
        return (self.at[0] + distance * self.outward[0], self.at[1] + distance * self.outward[1])


@dataclass(frozen=True)
class Ground:
    """What a walker meets: floor to be on, thin walls not to cross, solid things not to enter."""

    floor: Any
    walls: tuple[tuple[tuple[float, float], tuple[float, float]], ...]
    things: Mapping[str, np.ndarray]


def placed(scenario: Any, layout: Any, name: str) -> Any:
    """Where a thing stands: where the file fixes it, otherwise where the layout says."""
    for station in scenario.stations:
        if station.name == name and station.fixed is not None:
            return station.fixed
    return layout.placements[name]


def turned(points: Iterable[Iterable[float]], placement: Any) -> np.ndarray:
    """Points of a station's own frame, (n, 2), as they lie in the room.

    A station that faces south lies as drawn; a bearing grows clockwise, so one that faces west (270) is
    turned clockwise by 90 degrees.
    """
    clockwise = math.radians(placement.facing - 180.0)
    c, s = math.cos(clockwise), math.sin(clockwise)
    x, y = np.asarray(points, dtype=float).T
    return np.column_stack([placement.x + c * x + s * y, placement.y - s * x + c * y])


def footprint(thing: Any, placement: Any) -> np.ndarray:
    """Corners of the floor a station or vehicle covers, (n, 2)."""
    return turned(thing.outline, placement)


def side_points(thing: Any, side: str, away: float) -> list[tuple[float, float]]:
    """Points ``away`` metres out from a side, in the station's own frame: its middle, or one a part with
    ``along``."""
    (x0, y0), (x1, y1) = np.min(thing.outline, axis=0), np.max(thing.outline, axis=0)
    across = side in ("front", "back")
    low, high = (x0, x1) if across else (y0, y1)
    parts = max(1, math.ceil((high - low) / LONGEST_PART - 1e-9)) if thing.along else 1
    middles = [low + (high - low) * (k + 0.5) / parts for k in range(parts)]
    level = {"front": y0 - away, "back": y1 + away, "left": x0 - away, "right": x1 + away}[side]
    return [(m, level) if across else (level, m) for m in middles]


def places(thing: Any, placement: Any, walker_width: float, side: str | None = None) -> list[Place]:
    """The standing places of a station or vehicle: of one side, or of every side it is worked from.

    One reaches over what stands below a hanging thing, and stands so much further away.
    """
    found = []
    sides = thing.stand if side is None else (side,)
    over = thing.reach if getattr(thing, "from_floor", 0.0) > 0 else 0.0
    for one in sides:
        near = turned(side_points(thing, one, over + walker_width / 2), placement)
        far = turned(side_points(thing, one, over + walker_width / 2 + 1.0), placement)
        for p, q in zip(near, far, strict=True):
            found.append(Place(thing.name, one, (float(p[0]), float(p[1])), tuple(float(v) for v in q - p)))
    return found


def door_place(door: Any, walker_width: float) -> Place:
    """The standing place of a door: middle of the opening, half a walker's width inside."""
    x = (door.start[0] + door.end[0]) / 2 + door.inward[0] * walker_width / 2
    y = (door.start[1] + door.end[1]) / 2 + door.inward[1] * walker_width / 2
    return Place(door.name, "inside", (x, y), tuple(door.inward))


def opening(door: Any) -> Polygon:
    """A thin box over a door's opening, exactly as wide as the door."""
    return LineString([door.start, door.end]).buffer(TOUCH, cap_style="flat")


def edges(ring: Iterable[tuple[float, float]], openings: Iterable[Polygon]) -> list[tuple]:
    """The sides of a ring as segments, less the openings."""
    left = shapely.union_all([LineString(pair) for pair in itertools.pairwise([*ring, next(iter(ring))])])
    for one in openings:
        left = left.difference(one)
    segments = []
    for line in getattr(left, "geoms", [left]):
        segments += [pair for pair in itertools.pairwise(line.coords) if math.dist(*pair) > 1e-9]
    return segments


def ground(scenario: Any, layout: Any, vehicles_in: Iterable[str]) -> Ground:
    """What a walker meets in a layout while ``vehicles_in`` are in."""
    room = scenario.room
    openings = {door: opening(door) for door in room.doors if door.yard is not None}
    walls = edges(room.outline, openings.values())
    for yard in room.yards:
        walls += edges(yard.outline, [o for door, o in openings.items() if door.yard == yard.name])
    shapes = [Polygon(room.outline), *(Polygon(y.outline) for y in room.yards), *openings.values()]
    solid = [f for f in room.fixtures if max(f.size) > 1e-4]
    things = {f.name: np.asarray(f.outline, dtype=float) for f in solid}
    inside = set(vehicles_in)
    for thing in (*scenario.stations, *(v for v in scenario.vehicles if v.name in inside)):
        if getattr(thing, "from_floor", 0.0) < HEADROOM:
            things[thing.name] = footprint(thing, placed(scenario, layout, thing.name))
    return Ground(shapely.union_all(shapes), tuple(walls), things)


def states(scenario: Any, job: Any) -> list[tuple[frozenset[str], float]]:
    """Which vehicles are in while a job is done, each combination with its share of the time."""
    visited = {m for visit in job.route if visit.kind == "vehicle" for m in visit.members}
    share = {}
    for vehicle in scenario.vehicles:
        inside = 1.0 if vehicle.name in visited else 0.0 if vehicle.name in job.outside else vehicle.inside
        share[vehicle.name] = inside
    found = []
    for choice in itertools.product((True, False), repeat=len(share)):
        weight = math.prod(p if is_in else 1 - p for p, is_in in zip(share.values(), choice, strict=True))
        if weight > 0:
            found.append((frozenset(itertools.compress(share, choice)), weight))
    return found


def routes(scenario: Any, job: Any) -> list[tuple[Any, ...]]:
    """The ways in which a job's visits are served, each as often as the others: one, unless a group of alike
    stations is used evenly.

    Then its members take turns, from job to job; of a group of which so many work at once, the first so many.
    """
    uses = {s.name: s.use for s in scenario.stations}
    turns = {}
    for visit in job.route:
        use = uses.get(visit.members[0], "nearest")
        if len(visit.members) > 1 and use != "nearest":
            turns[visit.members] = visit.members if use == "evenly" else visit.members[: int(use)]
    count = math.lcm(*(len(members) for members in turns.values()))

    def served(visit: Any, number: int) -> Any:
        members = turns.get(visit.members)
        return visit if members is None else replace(visit, members=(members[number % len(members)],))

    return [tuple(served(visit, number) for visit in job.route) for number in range(count)]
