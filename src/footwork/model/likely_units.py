"""Whether the bare numbers of a file look as if they were meant in another unit than they are read in.

A room of 20 x 24 with a bench of 6 x 2.5 is a double garage in feet and a hall in metres.  The room alone
does not tell; what stands in it does.  Nobody reaches further than an arm over a bench, so few things are
deeper than two arms, and few are less than a foot deep: each size in the file that only one unit makes
usual speaks for that unit, and so do doors and vehicles.  The question is asked where four times as many
speak for the other unit as for that of the file.  A hall with large machines has benches, bins and doors of
usual sizes too, and is not asked about; nor is a room whose size is written with its unit.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Any

from footwork.model.scenario import Scenario

DEEP = 1.25
"""Metres: what is worked from both sides is hardly deeper than two arms reach (common practice)."""

USUAL: Mapping[str, tuple[tuple[float, float], tuple[float, float]]] = {
    "station": ((0.1, DEEP), (1.0, 4.1)),
    "door": ((0.6, 1.6), (2.5, 4.0)),
    "vehicle door": ((1.8, 6.0), (6.5, 20.0)),
    "vehicle": ((0.5, 3.0), (4.0, 8.5)),
    "beside inches": ((0.0, 0.0), (1.0, 30.0)),
    "beside millimetres": ((0.1, 30.0), (0.0, 0.0)),
}
"""What bare numbers usually are in metres and in feet: the shorter side of a station, the width of an opening
for people or a vehicle, the width of a vehicle, one side of a station whose other is written in such a unit.
Common practice."""

FEET_ROOM = (8.0, 60.0)
"""Feet: the longer side of a home workshop."""

METRES_ROOM = (2.4, 15.0)
"""Metres: the same."""

_SEEN = {"station": "{:g} x {:g}", "beside inches": "{:g}", "beside millimetres": "{:g}"}

WEIGHT = {"door": 1, "vehicle door": 1}
"""What a figure counts where it is not 2: a wide gate alone is found in halls and garages alike."""

ENOUGH, FOR_EACH = 2, 4
"""So much must speak for the other unit, and so many times what speaks for the file's."""

HALL = 100.0
"""Metres: above this a side is no home workshop in any case."""

LEAST = 1.5
"""Metres: a room whose longer side is shorter is none."""


def question(scenario: Scenario) -> str:
    """One line that asks about the unit, or nothing."""
    return _asked(scenario.text, scenario.units) if scenario.text else ""


@lru_cache(maxsize=4)
def _asked(text: str, units: str) -> str:
    raw = tomllib.loads(text.replace("\r\n", "\n"))
    sides = _room(raw)
    if sides is None:
        return ""
    found = list(_figures(raw))
    other = _other_unit(max(sides), units, found)
    if not other:
        return ""
    odd = (each for each in found if each[0] in _SEEN and _vote(each[0], min(each[2:])) != units)
    seen = next((f" and {name} {_SEEN[kind].format(a, b)} {units}" for kind, name, a, b in odd), "")
    words = {"m": "metres", "ft": "feet", "cm": "centimetres"}[other]
    return (
        f"the room is {sides[0]:g} x {sides[1]:g} {units}{seen}: are these {words}? Then write "
        f'units = "{other}"; if not, write the room\'s size with its unit, as in "{sides[0]:g} {units}", '
        "and this is not asked again"
    )


def _other_unit(longer: float, units: str, found: list[tuple[str, str, float, float]]) -> str:
    """The unit that the numbers look like, or nothing where they look like the file's."""
    if units == "m" and longer > HALL:
        return "cm"
    if units in ("mm", "cm", "in"):
        metres = longer * {"mm": 0.001, "cm": 0.01, "in": 0.0254}[units]
        return "" if metres >= LEAST else "m" if longer <= METRES_ROOM[1] else "ft"
    low, high = FEET_ROOM if units == "m" else METRES_ROOM
    votes = {"": 0, "m": 0, "ft": 0}
    for kind, _, a, b in found:
        votes[_vote(kind, min(a, b))] += WEIGHT.get(kind, 2)
    other = "ft" if units == "m" else "m"
    speaks = low <= longer <= high and votes[other] >= max(ENOUGH, FOR_EACH * votes[units])
    return other if speaks else ""


def _vote(kind: str, figure: float) -> str:
    """The one unit that makes a figure usual; nothing where both or neither do."""
    metres, feet = (low <= figure <= high for low, high in USUAL[kind])
    return "" if metres == feet else "m" if metres else "ft"


def _room(raw: Mapping[str, Any]) -> tuple[float, float] | None:
    """The sides of the room, where no length of it is written with its unit."""
    room = raw.get("room", {})
    points = room.get("outline") or [[0, 0], room.get("size", [])]
    flat = [value for point in points for value in point]
    if len(flat) < 4 or not all(isinstance(value, (int, float)) for value in flat):
        return None
    width, depth = (max(flat[k::2]) - min(flat[k::2]) for k in (0, 1))
    return float(width), float(depth)


def _figures(raw: Mapping[str, Any]) -> Iterator[tuple[str, str, float, float]]:
    """Bare sizes of the file: of what kind of thing, its name, two sides (of an opening its width twice)."""
    for name, table in raw.get("stations", {}).items():
        yield from _sides("station", name, table.get("size"))
    for name, table in raw.get("vehicles", {}).items():
        yield from _sides("vehicle", name, table.get("size"))
    for table in raw.get("room", {}).get("doors", []):
        width = table.get("width")
        if isinstance(width, (int, float)):
            kind = "vehicle door" if table.get("vehicle") else "door"
            yield kind, str(table.get("name", kind)), float(width), float(width)


def _sides(kind: str, name: str, size: Any) -> Iterator[tuple[str, str, float, float]]:
    if isinstance(size, list) and len(size) == 2 and all(isinstance(side, (int, float)) for side in size):
        yield kind, name, float(size[0]), float(size[1])
    elif kind == "station" and isinstance(size, list) and len(size) == 2:
        bare = [float(side) for side in size if isinstance(side, (int, float))]
        written = [side for side in size if isinstance(side, str)]
        if bare and written:
            inches = re.search(r"ft|foot|feet|in|['\"′″’”]", written[0], re.IGNORECASE)
            yield "beside inches" if inches else "beside millimetres", name, bare[0], bare[0]
