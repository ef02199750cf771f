"""Edits of the building: its walls, doors, windows and fixtures.

Each takes a scenario and what the page asks for and gives the changed text and, in words, what was done.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from footwork.model import spelling
from footwork.model.build_room import SOUTH, outline_walls
from footwork.model.errors import UsageError
from footwork.model.places import TOLD
from footwork.model.scenario import Door, Placement, Point, Ring, Scenario, Wall, Window
from footwork.model.units import UNITS
from footwork.moves import read_way
from footwork.page.editing import asked
from footwork.page.editing.asked import Message
from footwork.page.editing.document import has_room, raw, value, with_keys, with_new, without
from footwork.page.editing.walls import Leg, bearing, legs_of, rectangle, traced

PARTS: Mapping[str, str] = {"doors": "door", "windows": "window", "fixtures": "fixture"}
SWINGS = ("none", "in", "out")
BESIDE = 0.02
"""Metres that an opening may lie beside the new line of its wall and still belong to it."""


@dataclass(frozen=True)
class Changed:
    """The text of the file after an edit, what was done, and what to know about it.

    ``names`` are those that things have now, by those that they had.
    """

    text: str
    words: str
    notes: tuple[str, ...] = ()
    names: Mapping[str, str] = field(default_factory=dict)


def asked_legs(scenario: Scenario, message: Message) -> tuple[Leg, ...]:
    """The walls that the page asks for; UsageError names the one that cannot be read.

    ``same`` is the number of a wall of the room that stays as it is, to the last digit.
    """
    units = asked_units(scenario, message)
    legs = []
    known = legs_of(scenario.room) if has_room(scenario.text) else ()
    for k, wall in enumerate(asked.entries(message, "walls")):
        if not isinstance(wall, Mapping):
            raise UsageError("the page sent no walls")
        same = asked.number(wall, "same")
        if same is not None and same < len(known):
            legs.append(known[same])
            continue
        metres = asked.metres(wall, "length", units, f"wall {k + 1}: its length")
        try:
            way = read_way(asked.needed(wall, "way", f"wall {k + 1}: its way"))
        except ValueError as fault:
            raise UsageError(f"wall {k + 1}: {fault}") from None
        legs.append(Leg(metres, way))
    return tuple(legs)


def asked_units(scenario: Scenario, message: Message) -> str:
    """The units that lengths are typed in: a file without a room may still be given them."""
    wanted = asked.word(message, "units")
    return wanted if wanted in UNITS and not has_room(scenario.text) else scenario.units


def walls(scenario: Scenario, message: Message) -> Changed:
    """Make the room, or make it another; openings stay in their walls, things where they stand."""
    units = asked_units(scenario, message)
    found = traced(asked_legs(scenario, message))
    note: tuple[str, ...] = ()
    if found.off:
        off = spelling.length(round(found.off, 4), units)
        note = (f"the tape is off by {off} {units}: the last wall is drawn to where the first began",)
    if not has_room(scenario.text):
        text = scenario.text if units == scenario.units else _with_units(scenario, units)
        side = rectangle(found.corners)
        keys = {"size": spelling.lengths(side, units)} if side else {"outline": _ring(found.corners, units)}
        return Changed(with_new(text, ("room",), keys), "make the room", note)
    return Changed(_another_room(scenario, found.corners), "change the room", note)


def _with_units(scenario: Scenario, units: str) -> str:
    if "units" in raw(scenario.text):
        return with_keys(scenario.text, (), {"units": value(units)})
    return f"units = {value(units)}\n{scenario.text}"


def _ring(ring: Sequence[Point], units: str) -> str:
    return f"[{', '.join(spelling.lengths(point, units) for point in ring)}]"


def _another_room(scenario: Scenario, ring: Ring) -> str:
    """The text with another room, each opening in the wall that it was in."""
    units, old = scenario.units, scenario.room
    side = rectangle(ring) if old.size is not None else None
    if side is not None:
        return with_keys(scenario.text, ("room",), {"size": spelling.lengths(side, units)})
    if old.size is None:  # it keeps its place
        (x, y), (x0, y0) = ring[0], old.walls[0].start
        ring = tuple((a - x + x0, b - y + y0) for a, b in ring)
    keys = {"size": None, "outline": _ring(ring, units)}
    text = with_keys(by_their_middles(scenario), ("room",), keys)
    new = outline_walls(ring)
    if old.size is None and list(map(_way, old.walls)) == list(map(_way, new)):
        return text
    openings: list[tuple[str, int, Door | Window]] = [("doors", k, d) for k, d in enumerate(old.doors)]
    openings += [("windows", k, w) for k, w in enumerate(old.windows)]
    for part, k, opening in openings:
        wall, start = _its_wall(opening, new)
        place = {"wall": wall.name, "from": spelling.length(round(start, 5), units)}
        text = with_keys(text, ("room", part, k), place)
    return text


def by_their_middles(scenario: Scenario) -> str:
    """The text with every place that was measured from walls told by its middle: the walls are others now."""
    text, told, units = scenario.text, raw(scenario.text), scenario.units
    path: tuple[str | int, ...]
    for k, table in enumerate(told["room"].get("fixtures", ())):
        if "at" not in table:
            fixture = scenario.room.fixtures[k]
            place = Placement(*fixture.at, fixture.facing)
            text = with_keys(text, ("room", "fixtures", k), _middle(place, units))
    for layout in scenario.layouts:
        for name, table in told["layouts"][layout.name].items():
            if "at" not in table:
                path = ("layouts", layout.name, name)
                text = with_keys(text, path, _middle(layout.placements[name], units))
    for station in scenario.stations:
        for key, own in (("fixed", station.fixed), ("parked", station.parked)):
            table = told["stations"][station.group].get(key)
            if own is not None and table is not None and "at" not in table:
                text = with_keys(text, ("stations", station.group, key), _middle(own, units))
    for vehicle in scenario.vehicles:
        for k, table in enumerate(told["vehicles"][vehicle.name].get("spots", ())):
            if "at" not in table:
                path = ("vehicles", vehicle.name, "spots", k)
                text = with_keys(text, path, _middle(vehicle.spots[k], units))
    return text


def _middle(place: Placement, units: str) -> dict[str, str | None]:
    middle = {"at": spelling.lengths(place.at, units), "facing": spelling.facing(place.facing)}
    return {**dict.fromkeys(TOLD), **middle}


def _way(wall: Wall) -> float:
    return round(bearing(wall.start, wall.end), 1)


def _its_wall(opening: Door | Window, walls: Sequence[Wall]) -> tuple[Wall, float]:
    """The wall that an opening lies in, else the nearest beside it, and metres from that wall's start."""
    best: tuple[float, float, Wall] | None = None
    for wall in walls:
        if math.dist(wall.inward, opening.inward) > BESIDE:
            continue
        length = math.dist(wall.start, wall.end)
        along = ((wall.end[0] - wall.start[0]) / length, (wall.end[1] - wall.start[1]) / length)
        spans = [_along(point, wall.start, along) for point in (opening.start, opening.end)]
        off = max(abs(beside) for _, beside in spans)
        start, end = sorted(run for run, _ in spans)
        if start < -BESIDE or end > length + BESIDE:
            continue
        if best is None or off < best[0]:
            best = (off, min(max(0.0, start), max(0.0, length - (end - start))), wall)
    if best is None:
        kind = "door" if isinstance(opening, Door) else "window"
        raise UsageError(f"the {kind} {opening.name!r} fits in no wall of that room; move or delete it first")
    return best[2], best[1]


def _along(point: Point, start: Point, along: Point) -> tuple[float, float]:
    """Metres along a line and beside it."""
    x, y = point[0] - start[0], point[1] - start[1]
    return (x * along[0] + y * along[1], x * along[1] - y * along[0])


def opening(scenario: Scenario, message: Message) -> Changed:
    """Make a door or window, or change of the one at ``index`` what is given."""
    part = asked.word(message, "part")
    if part not in ("doors", "windows"):
        raise UsageError("the page sent no part of the building")
    units, wall = scenario.units, asked.word(message, "wall")
    known = [each.name for each in scenario.room.walls]
    if wall and wall not in known:
        raise UsageError(f"there is no wall {wall!r}; the walls are {', '.join(known)}")
    swing, name = asked.word(message, "swing"), asked.word(message, "name")
    keys: dict[str, str | None] = {
        "name": value(name) if name else None,
        "wall": (wall if wall.isdigit() else value(wall)) if wall else None,
        "from": asked.spelt_length(message, "from", units, "from"),
        "width": asked.spelt_length(message, "width", units, "its width"),
        "sill": asked.spelt_length(message, "sill", units, "its sill"),
        "swing": value(swing) if swing in SWINGS[1:] else None,
        "vehicle": "true" if message.get("vehicle") is True else None,
        "exit": "true" if message.get("exit") is True else None,
        "height": asked.spelt_length(message, "height", units, "its height"),
    }
    index = asked.number(message, "index")
    for needed in ("wall", "from", "width"):
        if keys[needed] is None and (index is None or needed in message):
            raise UsageError(f"a {PARTS[part]} needs its {needed}")
    return _put(scenario, message, part, keys)


def fixture(scenario: Scenario, message: Message) -> Changed:
    """Make a post, a stove, a socket or the like, or change of the one at ``index`` what is given."""
    units, index = scenario.units, asked.number(message, "index")
    old = scenario.room.fixtures[index] if index is not None and index < len(scenario.room.fixtures) else None
    at = spelt_pair(message, ("east", "north"), units, old.at if old else None)
    kind, facing, name = (asked.word(message, key) for key in ("kind", "facing", "name"))
    keys: dict[str, str | None] = {
        "name": value(name) if name else None,
        "at": at,
        "size": spelt_pair(message, ("wide", "deep"), units, old.size if old else None),
        "facing": None if facing in ("", "south") else spelling.facing(_bearing(facing)),
        "kind": value(kind) if kind else None,
    }
    if old is None and at is None:
        raise UsageError("say how far east and how far north its middle is")
    moved = {"at": {"east", "north"}, "size": {"wide", "deep"}}
    given = {**message, **{key: True for key, words in moved.items() if words & message.keys()}}
    if old is not None and "at" in given:  # no more measured from walls
        keys |= dict.fromkeys(TOLD)
        given |= dict.fromkeys(TOLD, True)
        if "facing" not in given and old.facing != SOUTH:
            keys["facing"], given["facing"] = spelling.facing(old.facing), True
    return _put(scenario, given, "fixtures", keys)


def spelt_pair(
    message: Message, words: tuple[str, str], units: str, old: tuple[float, float] | None = None
) -> str | None:
    """Two typed lengths as the file has them; of one that is not sent the old one stays.  None: neither."""
    pair = []
    for word, metres in zip(words, old or (None, None), strict=True):
        spelt = asked.spelt_length(message, word, units, word)
        kept = metres is not None and word not in message
        pair.append(spelling.length(metres, units) if kept and metres is not None else spelt)
    if pair == [None, None] or not set(words) & message.keys():
        return None
    if None in pair:
        raise UsageError(f"{words[0] if pair[0] is None else words[1]} is missing: two lengths are needed")
    return f"[{pair[0]}, {pair[1]}]"


def _bearing(words: str) -> float:
    try:
        return read_way(words)
    except ValueError as fault:
        raise UsageError(str(fault)) from None


def _put(scenario: Scenario, message: Message, part: str, keys: dict[str, str | None]) -> Changed:
    index, what = asked.number(message, "index"), asked.word(message, "name") or PARTS[part]
    if index is None:
        return Changed(with_new(scenario.text, ("room", part), keys, listed=True), f"make {what}")
    given = {key: spelt for key, spelt in keys.items() if key in message}
    return Changed(with_keys(scenario.text, ("room", part, index), given), f"change {what}")


def without_part(scenario: Scenario, message: Message) -> Changed:
    """Delete a door, window or fixture."""
    part, index = asked.word(message, "part"), asked.number(message, "index")
    if part not in PARTS or index is None or index >= len(getattr(scenario.room, part)):
        raise UsageError("the page sent no part of the building")
    name = getattr(scenario.room, part)[index].name
    return Changed(without(scenario.text, ("room", part, index)), f"delete {name}")
