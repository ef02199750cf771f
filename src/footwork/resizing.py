"""Another size for a room that is given by its size: walls move, openings keep their distance along them."""

from __future__ import annotations

from dataclasses import replace

from footwork.model.errors import UsageError
from footwork.model.outlines import area, fits
from footwork.model.scenario import (
    TOLERANCE,
    Door,
    Fixture,
    KeepClear,
    Layout,
    Placement,
    Point,
    Ring,
    Room,
    Scenario,
    Wall,
    Window,
    Yard,
)
from footwork.model.units import format_length

Size = tuple[float, float]


KEPT_PLACES = (
    "stations in the room keep their places; what stood against an east or north wall may need a move"
)


def resized(scenario: Scenario, layout: Layout, size: Size) -> tuple[Scenario, Layout]:
    """The scenario and a layout with the room at ``size``; what has a place beyond a wall goes with it.

    Raises UsageError as :func:`resize_room` does.
    """
    room = resize_room(scenario, size)
    old = scenario.room.size or size

    def there(place: Placement | None) -> Placement | None:
        return None if place is None else shifted(place, old, size)

    changed = scenario.with_(
        room=room,
        stations=tuple(replace(s, fixed=there(s.fixed), parked=there(s.parked)) for s in scenario.stations),
        layouts=tuple(shifted_layout(each, old, size) for each in scenario.layouts),
        vehicles=tuple(
            replace(v, spots=tuple(shifted(spot, old, size) for spot in v.spots)) for v in scenario.vehicles
        ),
        spots=tuple(replace(spot, placement=shifted(spot.placement, old, size)) for spot in scenario.spots),
    )
    return changed, shifted_layout(layout, old, size)


def resize_room(scenario: Scenario, size: Size) -> Room:
    """The room at ``size`` (east to west, south to north, metres).

    Doors and windows keep their distance from the west or south end of their wall, fixtures and
    floor to keep clear stay where they are, but for fixtures without a size, which hang on their
    wall and go with it; yards follow the wall they lie against.  Raises
    UsageError, one line for each thing that no longer fits.
    """
    room = scenario.room
    if room.size is None:
        raise UsageError("this room is given by its outline; only a room given by size can be resized so")
    faults = [
        *_loose_openings(room, size, scenario.units),
        *_outside(room, size),
        *_squeezed(room, size),
        *_too_large(scenario, size),
    ]
    if faults:
        shown = " x ".join(format_length(side, scenario.units) for side in size)
        raise UsageError(*(f"a room of {shown}: {fault}" for fault in faults))
    old = room.size
    walls = tuple(_moved_wall(wall, old, size) for wall in room.walls)
    by_name = {wall.name: (before, wall) for before, wall in zip(room.walls, walls, strict=True)}
    return replace(
        room,
        size=size,
        outline=tuple(_moved_corner(point, old, size) for point in room.outline),
        walls=walls,
        doors=tuple(
            replace(d, start=_along(by_name[d.wall], d.start), end=_along(by_name[d.wall], d.end))
            for d in room.doors
        ),
        windows=tuple(
            replace(w, start=_along(by_name[w.wall], w.start), end=_along(by_name[w.wall], w.end))
            for w in room.windows
        ),
        fixtures=tuple(_hung(fixture, old, size) for fixture in room.fixtures),
        yards=tuple(Yard(y.name, _moved_ring(y.outline, old, size)) for y in room.yards),
    )


def shifted(placement: Placement, old: Size, new: Size) -> Placement:
    """Where a thing stands afterwards: outside beyond the east or north wall it follows the wall."""
    x, y = _moved_corner(placement.at, old, new)
    return replace(placement, x=x, y=y)


def shifted_layout(layout: Layout, old: Size, new: Size) -> Layout:
    """A layout with every placement shifted."""
    return Layout(layout.name, {name: shifted(place, old, new) for name, place in layout.placements.items()})


def _moved_corner(point: Point, old: Size, new: Size) -> Point:
    """A point on or beyond the east wall goes with it, and so for the north wall; others stay."""
    x, y = point
    return (
        x if x < old[0] - TOLERANCE else round(x + new[0] - old[0], 9),
        y if y < old[1] - TOLERANCE else round(y + new[1] - old[1], 9),
    )


def _moved_ring(ring: Ring, old: Size, new: Size) -> Ring:
    return tuple(_moved_corner(point, old, new) for point in ring)


def _hung(fixture: Fixture, old: Size, new: Size) -> Fixture:
    if max(fixture.size) > TOLERANCE:
        return fixture
    at = _moved_corner(fixture.at, old, new)
    return replace(fixture, at=at, outline=_moved_ring(fixture.outline, old, new))


def _moved_wall(wall: Wall, old: Size, new: Size) -> Wall:
    return replace(wall, start=_moved_corner(wall.start, old, new), end=_moved_corner(wall.end, old, new))


def _along(walls: tuple[Wall, Wall], point: Point) -> Point:
    """A point of the old wall carried to the new one, as far from its start as before."""
    before, after = walls
    return (
        point[0] + after.start[0] - before.start[0],
        point[1] + after.start[1] - before.start[1],
    )


def _length(wall: Wall) -> float:
    return abs(wall.end[0] - wall.start[0]) + abs(wall.end[1] - wall.start[1])


def _loose_openings(room: Room, size: Size, units: str) -> list[str]:
    old = room.size or size
    openings: tuple[Door | Window, ...] = (*room.doors, *room.windows)
    faults = []
    for wall in room.walls:
        length = _length(_moved_wall(wall, old, size))
        for opening in openings:
            if opening.wall != wall.name:
                continue
            reach = max(
                abs(p[0] - wall.start[0]) + abs(p[1] - wall.start[1]) for p in (opening.start, opening.end)
            )
            if reach > length + TOLERANCE:
                faults.append(
                    f"{opening.name!r} ends {format_length(reach, units)} along the {wall.name} wall, "
                    f"which would be {format_length(length, units)} long"
                )
    return faults


def _outside(room: Room, size: Size) -> list[str]:
    old = room.size or size
    things: list[tuple[Fixture | KeepClear, Fixture | KeepClear]]
    things = [(f, _hung(f, old, size)) for f in room.fixtures] + [(k, k) for k in room.keep_clear]
    return [
        f"{thing.name!r} would be outside"
        for thing, moved in things
        if _inside(thing.outline, old) and not _inside(moved.outline, size)
    ]


def _inside(ring: Ring, size: Size) -> bool:
    return all(
        -TOLERANCE <= x <= size[0] + TOLERANCE and -TOLERANCE <= y <= size[1] + TOLERANCE for x, y in ring
    )


def _too_large(scenario: Scenario, size: Size) -> list[str]:
    """Stations that go into such a room at no angle (those that may stand in a yard left out)."""
    return [
        f"{station.name!r} is larger than that"
        for station in scenario.stations
        if not (station.outdoors and scenario.room.yards) and not fits(station.size, size)
    ]


def _squeezed(room: Room, size: Size) -> list[str]:
    """Yards that lie along a wall so far that nothing of them would be left."""
    old = room.size or size
    return [
        f"the yard {yard.name!r} would be squeezed to nothing"
        for yard in room.yards
        if area(_moved_ring(yard.outline, old, size)) < TOLERANCE
    ]
