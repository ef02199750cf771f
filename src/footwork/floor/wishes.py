"""Soft wishes, ``near`` and ``apart_from``, in metres along straight lines.

A line runs from the centre of a station to the centre of another one, or to the nearest point of a part
of the building.  Metres, in the room's frame.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from footwork.model.names import alike
from footwork.model.scenario import Placement, Point, Prefer, Room, Scenario


def to_segment(p: Point, a: Point, b: Point) -> float:
    """Distance from a point to a segment."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    length2 = dx * dx + dy * dy
    t = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length2 if length2 > 0 else 0.0
    t = min(1.0, max(0.0, t))
    return math.hypot(p[0] - a[0] - t * dx, p[1] - a[1] - t * dy)


def to_building(room: Room, p: Point, name: str) -> float | None:
    """Distance to the nearest part of the building called ``name``; None when there is none.

    ``name`` is "window" or "door" for any of them, or the name of a window, door or fixture.
    """
    near = [to_segment(p, d.start, d.end) for d in room.doors if name in (d.name, "door")]
    near += [to_segment(p, w.start, w.end) for w in room.windows if name == "window" or alike(name, [w.name])]
    for fixture in room.fixtures:
        if alike(name, [fixture.name]):
            ring = fixture.outline
            near.append(min(to_segment(p, a, b) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)))
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
