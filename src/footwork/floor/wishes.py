"""Soft wishes, ``near`` and ``apart_from``, in metres along straight lines.

A line runs from the centre of a station to the centre of another one, or to the nearest point of a part
of the building.  Metres, in the room's frame.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from footwork.model.names import alike
from footwork.model.outlines import distance, nearest_on
from footwork.model.scenario import Door, Placement, Point, Prefer, Room, Scenario, Window


def to_building(room: Room, p: Point, name: str) -> float | None:
    """Distance to the nearest part of the building called ``name``; None when there is none.

    ``name`` is "window" or "door" for any of them, or what a window, door or fixture is called with or
    without its number.
    """
    openings: list[Door | Window] = [d for d in room.doors if name == "door" or alike(name, [d.name])]
    openings += [w for w in room.windows if name == "window" or alike(name, [w.name])]
    near = [math.dist(p, nearest_on(o.start, o.end, p)) for o in openings]
    near += [distance(f.outline, p) for f in room.fixtures if alike(name, [f.name])]
    return min(near) if near else None


def wish_terms(scenario: Scenario, wish: Prefer) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """The stations that a wish is about, each with the stations it is measured to (none: the building)."""
    target = wish.near or wish.apart_from or ""
    things = {v.name for v in scenario.vehicles}
    others = scenario.group(target) or ((target,) if target in things else ())
    stations = scenario.group(wish.station) or (wish.station,)
    return tuple((name, tuple(o for o in others if o != name)) for name in stations)


def wish_distance(wish: Prefer, metres: float) -> float:
    """The metres that a wish counts at a straight distance of ``metres``."""
    return metres if wish.near is not None else max(0.0, wish.by - metres)


def wish_metres(scenario: Scenario, placements: Mapping[str, Placement]) -> float:
    """Weight x metres of all wishes, in metres of walking a year."""
    total = []
    for wish in scenario.prefer:
        for name, others in wish_terms(scenario, wish):
            p = placements[name].at
            if others:
                metres: float | None = min(math.dist(p, placements[o].at) for o in others)
            else:
                metres = to_building(scenario.room, p, wish.near or wish.apart_from or "")
            if metres is not None:
                total.append(wish.weight * wish_distance(wish, metres))
    return math.fsum(total)
