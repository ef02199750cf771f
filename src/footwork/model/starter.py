"""A first scenario to start from: which room, stations, vehicle and jobs it holds.

``starter_text`` writes it down, ``starter_kinds`` has what each kind would hold if there is floor for it.
Metres inside; the text is in the units asked for.
"""

from __future__ import annotations

import math

from footwork.model import starter_text
from footwork.model.catalogue import CATALOGUE
from footwork.model.errors import UsageError
from footwork.model.names import hint
from footwork.model.starter_kinds import KINDS, Kind, StationRow
from footwork.model.starter_text import Gate, Plan
from footwork.model.units import walking_unit

SMALLEST = (3.0, 2.4)
"""Metres: below this no starter makes sense."""

LARGEST = 100.0
"""Metres: above this it is no home workshop."""

FILL = 0.85
"""Share of the floor that stations and the floor before them may take; the rest is for walking.
Common practice, and what `footwork suggest` arranges in rooms from 4 x 3 m to 15 x 10 m."""

SMALL_FLOOR = 24.0
SMALL_SIDE = 3.6
"""Square metres, and metres: below either a room takes the smaller of two machines, benches at the walls."""

GATE = 2.6
"""Metres: the width of the opening that the car comes in by."""

PAST_THE_CAR = 2.45
"""Metres beside a car: a station with its standing strip, and room to drive in (common practice)."""

AHEAD_OF_THE_CAR = 1.2
"""Metres before and behind a car together: to pass at its nose, and the gate shut behind it."""


def starter(kind: str = "metalwork", room: tuple[float, float] | None = None, units: str = "m") -> str:
    """The text of a small commented scenario that is valid as it stands.

    ``kind`` is metalwork, woodwork, vehicle or mixed; ``room`` is (east to west, south to north) in
    metres; lengths of the text are in ``units``, "m" or "ft".  Stations that the room has no floor for
    are left out, and the text says which.  Raises UsageError on an unknown kind and on a room that is
    too small or too large to be one.
    """
    return starter_text.write(_planned(kind, room, units), units)


def left_out(kind: str = "metalwork", room: tuple[float, float] | None = None) -> tuple[str, ...]:
    """What the kind would hold and that room has no floor for, in words; arguments and errors as above."""
    plan = _planned(kind, room)
    car = () if plan.kind.car is None or plan.gate is not None else (starter_text.NO_CAR,)
    return (*car, *plan.left_out)


def _planned(name: str, room: tuple[float, float] | None, units: str = "m") -> Plan:
    """What the starter holds, or UsageError, with lengths in ``units``."""
    if name not in KINDS:
        raise UsageError(f"no starter of kind '{name}'; {hint(name, KINDS, 'kinds')}")
    kind = KINDS[name]
    width, depth = room or kind.room
    unit, per_metre = walking_unit(units)
    across, deep = width * per_metre, depth * per_metre
    size = f"a room of {across:.4g} x {deep:.4g} {unit}"
    least = [math.ceil(10 * side * per_metre - 1e-9) / 10 for side in SMALLEST]
    if min(width, depth) < SMALLEST[1] or max(width, depth) < SMALLEST[0]:
        raise UsageError(f"{size} is too small to work in; give {least[0]:g} x {least[1]:g} {unit} or more")
    if max(width, depth) > LARGEST:
        most = math.floor(LARGEST * per_metre)
        raise UsageError(f"{size} is no workshop; give at most {most} {unit} a side")
    gate = _gate(kind, width, depth)
    chosen, rest = _choose(kind, width, depth, gate)
    return Plan(kind, width, depth, gate, chosen, rest)


def _gate(kind: Kind, width: float, depth: float) -> Gate | None:
    """Where the car comes in: through the south wall, else the west; None where it does not fit in.

    It needs its length and room to pass, and beside it a row of stations with the floor before them.
    """
    if kind.car is None:
        return None
    for wall, side, along in (("south", width, depth), ("west", depth, width)):
        spare = side - kind.car[0] - PAST_THE_CAR
        if along >= kind.car[1] + AHEAD_OF_THE_CAR - 1e-9 and spare >= -1e-9:
            return Gate(wall, round(0.3 + min(0.3, spare), 2), GATE)
    return None


def _choose(
    kind: Kind, width: float, depth: float, gate: Gate | None
) -> tuple[dict[str, tuple[str, str]], tuple[str, ...]]:
    """Stations by name, each with its catalogue entry and comment, as long as there is floor for them."""
    small = width * depth < SMALL_FLOOR or min(width, depth) < SMALL_SIDE
    floor = FILL * width * depth
    if gate is not None and kind.car is not None:
        floor -= (kind.car[0] + 0.8) * (kind.car[1] + 0.6) * 0.9
    chosen: dict[str, tuple[str, str]] = {}
    rest: list[str] = []
    for number, row in enumerate(kind.stations):
        like = _like(row, small)
        fits = max(CATALOGUE[like].keys()["size"]) <= max(width, depth) - 0.8
        if number < 3 or (floor >= _floor(like) and fits):
            floor -= _floor(like)
            chosen[row[0]] = (like, row[3])
        else:
            rest.append(row[1])
    return chosen, tuple(rest)


def _like(row: StationRow, small: bool) -> str:
    return row[2] if small and row[2] else row[1]


def _floor(like: str) -> float:
    """Square metres of a station with the floor before it."""
    keys = CATALOGUE[like].keys()
    sides = len(keys.get("stand", ["front"]))
    around = 1.2 if keys.get("placing") == "island" else 0.0
    return float((keys["size"][0] + 0.2 + around) * (keys["size"][1] + 0.75 * min(sides, 2)))
