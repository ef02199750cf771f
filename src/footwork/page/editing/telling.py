"""What the page hears of what can be made and changed: the parts of a scenario as forms show them.

Lengths are texts in the file's units.
"""

from __future__ import annotations

import math
from typing import Any

from footwork.model import spelling
from footwork.model.catalogue import CATALOGUE
from footwork.model.errors import UsageError
from footwork.model.outlines import nearest_on
from footwork.model.scenario import Door, Fixture, Scenario, Station, Vehicle, Wall, Window
from footwork.model.units import format_length
from footwork.page.desk import facing_words
from footwork.page.editing import asked
from footwork.page.editing.asked import Message
from footwork.page.editing.building import asked_legs, asked_units
from footwork.page.editing.document import has_room, raw
from footwork.page.editing.edits import Edited
from footwork.page.editing.walls import Leg, legs_of, traced


def parts(scenario: Scenario) -> dict[str, Any]:
    """Everything that can be changed or deleted, and what is typed in which unit."""
    room, units = scenario.room, scenario.units
    text = raw(scenario.text)
    roomless = not has_room(scenario.text)
    tables = text.get("stations", {})
    groups = dict.fromkeys(s.group for s in scenario.stations)
    stations = [_station(scenario, group, tables.get(group, {})) for group in groups]
    return {
        "roomless": roomless,
        "units": units,
        "legs": [] if roomless else [_leg(leg, units) for leg in legs_of(room)],
        "walls": [] if roomless else [_wall(wall, units) for wall in room.walls],
        "doors": [_opening(door, room.walls, units) for door in room.doors],
        "windows": [_opening(window, room.walls, units) for window in room.windows],
        "fixtures": [_fixture(each, units) for each in room.fixtures],
        "made": stations + [_vehicle(scenario, v.name) for v in scenario.vehicles],
        "routes": {name: _job(job) for name, job in text.get("jobs", {}).items()},
    }


def catalogue() -> list[dict[str, str]]:
    """The usual stations that one may be like."""
    sizes = {name: entry.keys().get("size", ()) for name, entry in CATALOGUE.items()}
    return [
        {"name": name, "size": " x ".join(format_length(metres, "m") for metres in size)}
        for name, size in sizes.items()
    ]


def _leg(leg: Leg, units: str) -> dict[str, str]:
    return {"length": _length(leg.metres, units), "way": _way(leg.bearing)}


def _way(bearing: float) -> str:
    return facing_words(bearing).removesuffix("° from north")


def _length(metres: float, units: str) -> str:
    return format_length(metres, units)


def _wall(wall: Wall, units: str) -> dict[str, Any]:
    length = math.dist(wall.start, wall.end)
    told = wall.name if not wall.name.isdigit() else f"{wall.name}, which faces {_faced(wall)}"
    return {"name": wall.name, "shown": f"{told} ({_length(length, units)})"}


def _faced(wall: Wall) -> str:
    return facing_words(round(math.degrees(math.atan2(*wall.inward)), 1) % 360.0)


def _opening(opening: Door | Window, walls: tuple[Wall, ...], units: str) -> dict[str, Any]:
    wall = next(w for w in walls if w.name == opening.wall)
    told: dict[str, Any] = {
        "name": opening.name,
        "wall": opening.wall,
        "from": _length(math.dist(wall.start, opening.start), units),
        "width": _length(math.dist(opening.start, opening.end), units),
    }
    if isinstance(opening, Window):
        return {**told, "sill": "" if opening.sill is None else _length(opening.sill, units)}
    height = "" if opening.height is None else _length(opening.height, units)
    return {
        **told, "swing": opening.swing, "vehicle": opening.vehicle, "exit": opening.exit, "height": height,
    }  # fmt: skip


def _fixture(fixture: Fixture, units: str) -> dict[str, Any]:
    sized = min(fixture.size) > 1e-3
    return {
        "name": fixture.name,
        "kind": fixture.kind or "",
        "wide": _length(fixture.size[0], units) if sized else "",
        "deep": _length(fixture.size[1], units) if sized else "",
        "east": _length(fixture.at[0], units),
        "north": _length(fixture.at[1], units),
        "facing": _way(fixture.facing),
    }


def _station(scenario: Scenario, group: str, table: dict[str, Any]) -> dict[str, Any]:
    station: Station = next(s for s in scenario.stations if s.group == group)
    units = scenario.units
    return {
        "name": group,
        "vehicle": False,
        "members": list(scenario.group(group)),
        "like": station.like or "",
        "wide": _length(station.size[0], units),
        "deep": _length(station.size[1], units),
        "placing": station.placing,
        "stand": list(station.stand),
        "height": "" if station.height is None else _length(station.height, units),
        "strip": _length(station.strip, units),
        "own": sorted(table),
    }


def _vehicle(scenario: Scenario, name: str) -> dict[str, Any]:
    vehicle = scenario.vehicle(name)
    return {
        "name": name,
        "vehicle": True,
        "members": [name],
        "wide": _length(vehicle.size[0], scenario.units),
        "deep": _length(vehicle.size[1], scenario.units),
        "door": vehicle.door,
        "inside": _inside(vehicle),
    }


def _inside(vehicle: Vehicle) -> str:
    """Its share of the time, or one a season as a table of the file."""
    by_season = ", ".join(f"{spelling.key(name)} = {share:g}" for name, share in vehicle.inside_by)
    return f"{{ {by_season} }}" if by_season else f"{vehicle.inside:g}"


def _job(table: dict[str, Any]) -> dict[str, Any]:
    """How often, as typed: times a week as a number; and the route with its repeats."""
    times = table.get("times", "")
    words = str(times).split()
    weekly = len(words) == 3 and words[1:] == ["per", "week"]
    return {"times": words[0] if weekly else str(times), "route": table.get("route", [])}


def walls(scenario: Scenario, message: Message) -> dict[str, Any]:
    """What the walls typed so far come to: corners in metres, and the walls that would close them."""
    units = asked_units(scenario, message)
    try:
        found = traced(asked_legs(scenario, message))
    except UsageError as fault:
        return {"say": "walls", "corners": [], "text": fault.lines[0]}
    closing = [f"{_length(leg.metres, units)} {_way(leg.bearing)}" for leg in found.added]
    told = f"then closed by {' and '.join(closing)}" if closing else "closed"
    if found.off:
        told = f"closed; the tape is off by {_length(found.off, units)}"
    return {"say": "walls", "corners": [list(at) for at in found.corners], "text": told}


def at_wall(scenario: Scenario, message: Message) -> dict[str, Any]:
    """The wall that a click is nearest to, and how far along it; ``width`` metres begin there."""
    at, units = asked.entries(message, "at"), scenario.units
    if len(at) != 2 or not all(isinstance(v, float | int) for v in at):
        raise UsageError("the page sent no place")
    point = (float(at[0]), float(at[1]))
    wall = min(scenario.room.walls, key=lambda w: math.dist(nearest_on(w.start, w.end, point), point))
    there, length = nearest_on(wall.start, wall.end, point), math.dist(wall.start, wall.end)
    half = asked.metres(message, "width", units, "its width") / 2 if asked.word(message, "width") else 0.0
    start = max(0.0, min(math.dist(wall.start, there) - half, length - 2 * half))
    return {"say": "at wall", "wall": wall.name, "from": _length(round(start, 2), units)}


def done(edited: Edited) -> dict[str, Any]:
    """What an edit did, and what it took with it."""
    told = "; ".join((edited.words, *edited.notes))
    return {"say": "told", "text": told, "fault": False, "edited": True}
