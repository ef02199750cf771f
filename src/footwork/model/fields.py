"""The kinds of value that a scenario file holds, as pydantic field types.

Each reader raises ``fault(what, mend)``: the message the user sees, in plain words.  Lengths need
the validation context ``{"units": ...}``, the unit of bare numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Annotated, Any

from pydantic import BeforeValidator, ValidationInfo
from pydantic_core import PydanticCustomError

from footwork.model.names import hint, name_fault, nearest
from footwork.model.outlines import counter_clockwise, ring_fault
from footwork.model.scenario import SIDES, Point, Ring
from footwork.model.units import FACTORS, finite, parse_facing, parse_length, parse_times, shown

HAZARDS = ("sparks", "dust", "noise", "fumes", "heat", "spray")
MINDED = (*HAZARDS, "flammable")
PLACINGS = ("wall", "island", "any")


def fault(what: str, mend: str = "") -> PydanticCustomError:
    """An error with the words for the user; ``mend`` says what would mend it."""
    return PydanticCustomError("footwork", "{what}", {"what": what, "mend": mend})


def split_fault(error: ValueError) -> PydanticCustomError:
    """A ValueError of the units module, whose text is ``what; mend``, as a fault."""
    what, _, mend = str(error).partition("; ")
    return fault(what, mend)


def _units(info: ValidationInfo) -> str:
    return str((info.context or {}).get("units", "m"))


def _length(value: Any, info: ValidationInfo) -> float:
    try:
        return parse_length(value, _units(info))
    except ValueError as error:
        raise split_fault(error) from None


def _more_than_zero(value: Any, info: ValidationInfo) -> float:
    metres = _length(value, info)
    if metres <= 0:
        raise fault(f"{shown(value)} is not more than 0", "give a length above 0")
    return metres


def _not_negative(value: Any, info: ValidationInfo) -> float:
    metres = _length(value, info)
    if metres < 0:
        raise fault(f"{shown(value)} is negative", "give 0 or more")
    return metres


def _pair(what: str, form: str, reader: Callable[[Any, ValidationInfo], float]) -> Callable[..., Any]:
    def read(value: Any, info: ValidationInfo) -> tuple[float, float]:
        if not isinstance(value, list) or len(value) != 2:
            got = f"a list of {len(value)}" if isinstance(value, list) else shown(value)
            raise fault(f"{got} is not {what}", f"write {form}")
        return (reader(value[0], info), reader(value[1], info))

    return read


def _ring(value: Any, info: ValidationInfo) -> Ring:
    """The ring as the file has it: its direction and first point number the walls."""
    if not isinstance(value, list):
        raise fault(f"{shown(value)} is not an outline", "write [[x, y], [x, y], [x, y], ...]")
    points: list[Point] = []
    for number, item in enumerate(value, start=1):
        if not isinstance(item, list) or len(item) != 2:
            raise fault(f"its point {number} is not [x, y]", "write [[x, y], [x, y], [x, y], ...]")
        points.append((_length(item[0], info), _length(item[1], info)))
    if len(points) > 1000:
        raise fault(f"its outline has {len(points)} corners", "draw it with 1000 at most")
    wrong = ring_fault(tuple(points), float(FACTORS[_units(info)]))
    if wrong:
        what, _, mend = wrong.partition(": ")
        raise fault(what, mend)
    return tuple(points)


def _ring_ccw(value: Any, info: ValidationInfo) -> Ring:
    return counter_clockwise(_ring(value, info))


def _facing(value: Any) -> float:
    try:
        return parse_facing(value)
    except ValueError as error:
        what, _, mend = str(error).partition("; ")
        near = nearest(value, ("north", "east", "south", "west")) if isinstance(value, str) else None
        raise fault(what, f"did you mean '{near}'?" if near else mend) from None


def _times(value: Any) -> float:
    try:
        times = parse_times(value)
    except ValueError as error:
        raise split_fault(error) from None
    if times > 1e7:
        raise fault(f"{shown(value)} is {times:,.0f} times a year", "give a number a person could do")
    return times


def _times_text(value: Any) -> tuple[float, str]:
    return _times(value), value if isinstance(value, str) else f"{value:g} per year"


def _times_range(value: Any) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise fault(f"{shown(value)} is not a range", 'write it as ["1 per week", "6 per week"]')
    low, high = _times(value[0]), _times(value[1])
    if low > high:
        raise fault("its first figure is above its second", "write the lower one first")
    return (low, high)


def _number(value: Any, least: float, most: float, what: str) -> float:
    if not isinstance(value, (int, float)) or isinstance(value, bool):
        raise fault(f"{shown(value)} is not a number", f"write a number{what}")
    try:
        found = finite(value)
    except ValueError as error:
        raise fault(str(error), f"write a number{what}") from None
    if not least <= found <= most:
        span = f"from {least:,g} to {most:,.0f}"
        raise fault(f"{shown(value)} is out of range", f"give a number{what} {span}")
    return found


def number(least: float, most: float, what: str = "") -> BeforeValidator:
    """A number from ``least`` to ``most``; ``what`` names its unit."""
    return BeforeValidator(lambda value: _number(value, least, most, what))


def _flag(value: Any) -> bool:
    if not isinstance(value, bool):
        raise fault(f"{shown(value)} is not true or false", "write true or false, without quotes")
    return value


def whole(least: int, most: int) -> BeforeValidator:
    """A whole number from ``least`` to ``most``."""

    def read(value: Any) -> int:
        if not isinstance(value, int) or isinstance(value, bool):
            raise fault(f"{shown(value)} is not a whole number", f"give one from {least} to {most}")
        if not least <= value <= most:
            raise fault(f"{shown(value)} is out of range", f"give a whole number from {least} to {most}")
        return value

    return BeforeValidator(read)


def _word(value: Any, allowed: Sequence[str]) -> str:
    if not isinstance(value, str):
        raise fault(f"{shown(value)} is not a word in quotes", f"use {listed(allowed)}")
    if value not in allowed:
        near = nearest(value, allowed)
        more = f"did you mean '{near}'? " if near else ""
        raise fault(f"{shown(value)} is not known here", f"{more}use {listed(allowed)}")
    return value


def one_of(*allowed: str) -> BeforeValidator:
    """One of a few words."""
    return BeforeValidator(lambda value: _word(value, allowed))


def some_of(*allowed: str) -> BeforeValidator:
    """A list of different words out of a few; repeated ones count once."""

    def read(value: Any) -> tuple[str, ...]:
        if not isinstance(value, list):
            raise fault(f"{shown(value)} is not a list", f'write a list, such as ["{allowed[0]}"]')
        return tuple(dict.fromkeys(_word(item, allowed) for item in value))

    return BeforeValidator(read)


def listed(words: Sequence[str], last: str = "or") -> str:
    """``north, east or south``."""
    return f" {last} ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))


def _text(value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise fault(f"{shown(value)} is not a text", "write it in quotes")
    return value


def _name(value: Any) -> str:
    wrong = name_fault(_text(value))
    if wrong:
        raise fault(f"{shown(value)}: {wrong}")
    return str(value)


def _names(value: Any) -> tuple[str, ...]:
    if not isinstance(value, list):
        raise fault(f"{shown(value)} is not a list of names", 'write a list, such as ["lathe", "mill"]')
    return tuple(dict.fromkeys(_text(item) for item in value))


def _wall(value: Any) -> str:
    if isinstance(value, bool) or not isinstance(value, (str, int)):
        raise fault(f"{shown(value)} is not a wall", "use south, east, north, west, or a wall's number")
    return shown(value) if isinstance(value, int) else value


def _sides(value: Any, info: ValidationInfo) -> tuple[tuple[str, float], ...]:
    if not isinstance(value, dict):
        raise fault(f"{shown(value)} is not a table of sides", "write { back = 0.3 }")
    for key in value:
        if key not in SIDES:
            raise fault(f"'{key}' is not a side", hint(key, SIDES, "sides"))
    lengths = {side: _not_negative(value[side], info) for side in SIDES if side in value}
    return tuple(lengths.items())


def _within(value: Any, info: ValidationInfo) -> tuple[tuple[str, float], ...]:
    if not isinstance(value, dict):
        raise fault(f"{shown(value)} is not a table", "write { socket = 3.0 }")
    return tuple((word, _more_than_zero(length, info)) for word, length in value.items())


def _minutes(value: Any) -> tuple[tuple[str, float], ...]:
    if not isinstance(value, dict):
        raise fault(f"{shown(value)} is not a table of minutes", "write { bench = 20, drill = 5 }")
    return tuple((word, _number(minutes, 0, 1e6, " of minutes")) for word, minutes in value.items())


Positive = Annotated[float, BeforeValidator(_more_than_zero)]
NotNegative = Annotated[float, BeforeValidator(_not_negative)]
Size = Annotated[
    tuple[float, float],
    BeforeValidator(_pair("two lengths", "[along the front, front to back]", _more_than_zero)),
]
RoomSize = Annotated[
    tuple[float, float], BeforeValidator(_pair("two lengths", "[east, north]", _more_than_zero))
]
At = Annotated[tuple[float, float], BeforeValidator(_pair("a place", "[x, y]", _length))]
Outline = Annotated[tuple[tuple[float, float], ...], BeforeValidator(_ring)]
OutlineCcw = Annotated[tuple[tuple[float, float], ...], BeforeValidator(_ring_ccw)]
Facing = Annotated[float, BeforeValidator(_facing)]
Times = Annotated[tuple[float, str], BeforeValidator(_times_text)]
TimesRange = Annotated[tuple[float, float], BeforeValidator(_times_range)]
Flag = Annotated[bool, BeforeValidator(_flag)]
Text = Annotated[str, BeforeValidator(_text)]
Name = Annotated[str, BeforeValidator(_name)]
Names = Annotated[tuple[str, ...], BeforeValidator(_names)]
WallName = Annotated[str, BeforeValidator(_wall)]
Sides = Annotated[tuple[tuple[str, float], ...], BeforeValidator(_sides)]
Within = Annotated[tuple[tuple[str, float], ...], BeforeValidator(_within)]
Minutes = Annotated[tuple[tuple[str, float], ...], BeforeValidator(_minutes)]
