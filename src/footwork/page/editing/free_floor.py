"""A first place for what has none: somewhere free, for the hand to move on from.

Metres, in the room's frame.  Nothing here decides what is allowed; the checks do.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping

import numpy as np
import shapely

from footwork.floor.shapes import footprint, strips, swing
from footwork.model.outlines import bounds
from footwork.model.scenario import TOLERANCE, Placement, Point, Scenario, Station, Vehicle
from footwork.model.spelling import held
from footwork.page.flush import flush
from footwork.page.ground import Standing

Claim = Callable[[Station | Vehicle, Placement], shapely.Geometry]
PITCH = 0.25


BEFORE_A_DOOR = 0.6
"""Metres before a door that are left free: a walker's width."""


def placed(
    scenario: Scenario, known: Mapping[str, Placement], clicked: Point | None = None
) -> dict[str, Placement]:
    """Places for all things: those known, and a free one for each that has none.

    ``clicked`` is where the person wants what is new.
    """
    places = {t.name: known[t.name] for t in scenario.things if t.name in known}
    places |= {s.name: s.fixed for s in scenario.stations if s.fixed is not None}
    largest_first: tuple[Station | Vehicle, ...] = (*scenario.vehicles, *scenario.stations)
    for thing in largest_first:
        if thing.name not in places:
            found = None
            if clicked is None:
                found = _free_place(scenario, places, thing, _claimed) or _free_place(
                    scenario, places, thing, _own
                )
            if found is None:
                found = _near(scenario, places, thing, clicked)
            places[thing.name] = held(found, scenario.units)
    return {thing.name: places[thing.name] for thing in scenario.things}


def _near(
    scenario: Scenario, places: Mapping[str, Placement], thing: Station | Vehicle, clicked: Point | None
) -> Placement:
    """Where it was clicked, back to the nearest wall; without a click in the middle of the room."""
    x0, y0, x1, y1 = bounds(scenario.room.outline)
    at = clicked or ((x0 + x1) / 2, (y0 + y1) / 2)
    wall = min(
        scenario.room.walls, key=lambda w: shapely.LineString([w.start, w.end]).distance(shapely.Point(at))
    )
    there = Placement(*at, _facing(wall.inward))
    if isinstance(thing, Vehicle):
        return there
    others = tuple(s for s in scenario.stations if s.name in places or s.name == thing.name)
    vehicles = tuple(v for v in scenario.vehicles if v.name in places)
    standing = Standing(scenario.with_(stations=others, vehicles=vehicles), {**places, thing.name: there})
    return flush(standing, (thing.name,))[thing.name]


def _facing(inward: Point) -> float:
    return math.degrees(math.atan2(*inward)) % 360.0


def _free_place(
    scenario: Scenario, places: Mapping[str, Placement], thing: Station | Vehicle, claimed: Claim
) -> Placement | None:
    """The first place where what things claim of the floor meets nowhere; None where there is none."""
    room = shapely.Polygon(scenario.room.outline).buffer(TOLERANCE)
    taken = [claimed(t, places[t.name]) for t in scenario.things if t.name in places]
    taken += [shapely.Polygon(fixture.outline) for fixture in scenario.room.fixtures]
    taken += [shapely.Polygon(area.outline) for area in scenario.room.keep_clear]
    taken += [shapely.Polygon(leaf) for door in scenario.room.doors if (leaf := swing(door)) is not None]
    used = [door for door in scenario.room.doors if door.used]
    taken += [shapely.LineString([door.start, door.end]).buffer(BEFORE_A_DOOR) for door in used]
    in_the_way = shapely.union_all(taken)
    shapely.prepare(room)
    shapely.prepare(in_the_way)
    for place in _tried(scenario, thing):
        if room.contains(_own(thing, place)) and not in_the_way.intersects(
            claimed(thing, place).buffer(-1e-3, join_style="mitre")
        ):
            return place
    return None


def _own(thing: Station | Vehicle, place: Placement) -> shapely.Geometry:
    """What it stands on."""
    return shapely.Polygon(footprint(thing, place))


def _claimed(thing: Station | Vehicle, place: Placement) -> shapely.Geometry:
    """What it stands on, and the floor to stand at it."""
    shapes = [_own(thing, place)]
    if isinstance(thing, Station):
        shapes += [shapely.Polygon(strip.polygon) for strip in strips(thing, place)]
    return shapely.union_all(shapes)


def _tried(scenario: Scenario, thing: Station | Vehicle) -> Iterator[Placement]:
    """Along the walls, back to them; then, and first of what stands free, over the floor."""
    stands_free = isinstance(thing, Vehicle) or thing.placing == "island"
    if not stands_free:
        yield from _along_walls(scenario, thing)
    x0, y0, x1, y1 = bounds(scenario.room.outline)
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    spots = [(float(x), float(y)) for x in np.arange(x0, x1, PITCH) for y in np.arange(y0, y1, PITCH)]
    facings = (0.0, 90.0) if isinstance(thing, Vehicle) else (180.0, 270.0)
    for at in sorted(spots, key=lambda at: math.dist(at, middle)):
        yield from (Placement(*at, facing) for facing in facings)
    if stands_free:
        yield from _along_walls(scenario, thing)


def _along_walls(scenario: Scenario, thing: Station | Vehicle) -> Iterator[Placement]:
    wide, deep = thing.size
    for wall in scenario.room.walls:
        length = math.dist(wall.start, wall.end)
        along = ((wall.end[0] - wall.start[0]) / length, (wall.end[1] - wall.start[1]) / length)
        for run in np.arange(wide / 2, length - wide / 2 + 1e-9, PITCH):
            x, y = (wall.start[k] + float(run) * along[k] + wall.inward[k] * deep / 2 for k in (0, 1))
            yield Placement(x, y, _facing(wall.inward))
