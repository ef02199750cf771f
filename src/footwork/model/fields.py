"""The kinds of value that a scenario file holds, as pydantic field types.

Each reader raises ``fault(what, mend)``: the message the user sees, in plain words.  Lengths need
the validation context ``{"units": ...}``, the unit of bare numbers.  Beside each reader stands what it
accepts as JSON Schema, which ``json_schema.py`` puts together for editors.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Annotated, Any

from pydantic import BeforeValidator, GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError

from footwork.model import json_values as said
from footwork.model import slips
from footwork.model.limits import MOST_CORNERS, SHORTEST
from footwork.model.names import hint, name_fault, nearest, text_fault
from footwork.model.outlines import counter_clockwise, ring_fault
from footwork.model.scenario import SIDES, Point, Ring
from footwork.model.units import FACTORS, finite, parse_facing, parse_length, parse_times, shown

HAZARDS = ("sparks", "dust", "noise", "fumes", "heat", "spray")
MINDED = (*HAZARDS, "flammable", "combustible")
FIXTURE_KINDS = ("extinguisher", "heater", "stove", "panel", "socket", "tap")
NEEDS = ("socket", "tap")
USES = ("nearest", "evenly")
PLACINGS = ("wall", "island", "any")
GASES = ("oxygen", "fuel gas")
WORKS = ("rough", "ordinary", "fine")


@dataclass(frozen=True)
class Reads:
    """A reader of a value of the file, and what it accepts as JSON Schema."""

    reader: Callable[..., Any]
    accepts: said.Schema = field(hash=False)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return BeforeValidator(self.reader).__get_pydantic_core_schema__(source, handler)

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return dict(self.accepts)


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
    if metres < SHORTEST:
        raise fault(f"{shown(value)} is less than a tenth of a millimetre", "check its unit")
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
            raise fault(f"{got} is not {what}", _pair_mend(value, form))
        return (reader(value[0], info), reader(value[1], info))

    return read


def _pair_mend(value: Any, form: str) -> str:
    """How a list of two figures is written, with those that were meant where that can be seen."""
    commas = slips.split_by_commas(value) if isinstance(value, list) else ""
    if commas:
        plain = f"write {form}; " if len(value) == 3 else ""
        return f"{plain}decimals go after a point: {commas}"
    if isinstance(value, list) and len(value) == 1:
        value = value[0]
    return f"write {(slips.two_lengths(value) if isinstance(value, str) else '') or form}"


def _ring(value: Any, info: ValidationInfo) -> Ring:
    """The ring as the file has it: its direction and first point number the walls."""
    form = f"write {slips.ring(value) or '[[x, y], [x, y], [x, y], ...]'}"
    if not isinstance(value, list):
        raise fault(f"{shown(value)} is not an outline", form)
    if len(value) > MOST_CORNERS:
        raise fault(f"its outline has {len(value)} corners", f"draw it with {MOST_CORNERS} at most")
    points: list[Point] = []
    for number, item in enumerate(value, start=1):
        if not isinstance(item, list) or len(item) != 2:
            raise fault(
                f"its point {number} is not [x, y]",
                _pair_mend(item, "[x, y]") if isinstance(item, (list, str)) else form,
            )
        points.append((_length(item[0], info), _length(item[1], info)))
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
        return parse_times(value)
    except ValueError as error:
        raise split_fault(error) from None


def _times_text(value: Any) -> tuple[float, str]:
    return _times(value), " ".join(value.split()) if isinstance(value, str) else f"{value:g} per year"


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


def number(least: float, most: float, what: str = "") -> Reads:
    """A number from ``least`` to ``most``; ``what`` names its unit."""
    return Reads(lambda value: _number(value, least, most, what), said.number(least, most))


def _flag(value: Any) -> bool:
    if not isinstance(value, bool):
        raise fault(f"{shown(value)} is not true or false", "write true or false, without quotes")
    return value


def whole(least: int, most: int) -> Reads:
    """A whole number from ``least`` to ``most``."""

    def read(value: Any) -> int:
        if not isinstance(value, int) or isinstance(value, bool):
            raise fault(f"{shown(value)} is not a whole number", f"give one from {least} to {most}")
        if not least <= value <= most:
            raise fault(f"{shown(value)} is out of range", f"give a whole number from {least} to {most}")
        return value

    return Reads(read, said.whole(least, most))


def _word(value: Any, allowed: Sequence[str]) -> str:
    if not isinstance(value, str):
        raise fault(f"{shown(value)} is not a word in quotes", f"use {listed(allowed)}")
    if value not in allowed:
        near = nearest(value, allowed)
        more = f"did you mean '{near}'? " if near else ""
        raise fault(f"{shown(value)} is not known here", f"{more}use {listed(allowed)}")
    return value


def one_of(*allowed: str) -> Reads:
    """One of a few words."""
    return Reads(lambda value: _word(value, allowed), said.one_of(allowed))


def some_of(*allowed: str) -> Reads:
    """A list of different words out of a few; repeated ones count once."""

    def read(value: Any) -> tuple[str, ...]:
        if not isinstance(value, list):
            raise fault(f"{shown(value)} is not a list", f'write a list, such as ["{allowed[0]}"]')
        return tuple(dict.fromkeys(_word(item, allowed) for item in value))

    return Reads(read, said.listing(said.one_of(allowed)))


def listed(words: Sequence[str], last: str = "or") -> str:
    """``north, east or south``."""
    return f" {last} ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))


def _text(value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise fault(f"{shown(value)} is not a text", "write it in quotes")
    if wrong := text_fault(value):
        raise fault(f"{shown(value)}: {wrong}", "write it in plain letters")
    return value


def _name(value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise fault(f"{shown(value)} is not a text", "write it in quotes")
    if wrong := name_fault(value):
        raise fault(f"{shown(value)}: {wrong}")
    return value


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
            raise fault(f"{shown(key)} is not a side", hint(key, SIDES, "sides"))
    lengths = {side: _not_negative(value[side], info) for side in SIDES if side in value}
    return tuple(lengths.items())


def _season_names(value: Any) -> tuple[str, ...]:
    """One name, or a list of some."""
    if isinstance(value, str):
        return (_text(value),)
    if isinstance(value, list) and not value:
        raise fault("it names no season", "name one, or leave it out for the whole year")
    return _names(value)


def _inside(value: Any) -> float | tuple[tuple[str, float], ...]:
    """A share for the year, or one a season."""
    if isinstance(value, dict):
        return tuple((season, _number(share, 0, 1, "")) for season, share in value.items())
    return _number(value, 0, 1, "")


def _use(value: Any) -> str | int:
    """A word, or how many people work there at once."""
    if isinstance(value, int) and not isinstance(value, bool):
        if not 1 <= value <= 100:
            raise fault(
                f"{shown(value)} is out of range", "give how many people work there at once, 1 to 100"
            )
        return value
    if not isinstance(value, str) or value not in USES:
        raise fault(f"{shown(value)} is not known here", "use nearest, evenly, or a number of people")
    return value


def _within(value: Any, info: ValidationInfo) -> tuple[tuple[str, float], ...]:
    if not isinstance(value, dict):
        raise fault(f"{shown(value)} is not a table", "write { socket = 3.0 }")
    return tuple((word, _more_than_zero(length, info)) for word, length in value.items())


def _minutes(value: Any) -> tuple[tuple[str, float], ...]:
    if not isinstance(value, dict):
        raise fault(f"{shown(value)} is not a table of minutes", "write { bench = 20, drill = 5 }")
    return tuple((word, _number(minutes, 0, 1e6, " of minutes")) for word, minutes in value.items())


Positive = Annotated[float, Reads(_more_than_zero, said.POSITIVE)]
NotNegative = Annotated[float, Reads(_not_negative, said.NOT_NEGATIVE)]
Size = Annotated[
    tuple[float, float],
    Reads(
        _pair("two lengths", "[along the front, front to back]", _more_than_zero), said.pair(said.POSITIVE)
    ),
]
RoomSize = Annotated[
    tuple[float, float],
    Reads(_pair("two lengths", "[east, north]", _more_than_zero), said.pair(said.POSITIVE)),
]
At = Annotated[tuple[float, float], Reads(_pair("a place", "[x, y]", _length), said.pair(said.LENGTH))]
Outline = Annotated[tuple[tuple[float, float], ...], Reads(_ring, said.OUTLINE)]
OutlineCcw = Annotated[tuple[tuple[float, float], ...], Reads(_ring_ccw, said.OUTLINE)]
Facing = Annotated[float, Reads(_facing, said.FACING)]
Times = Annotated[tuple[float, str], Reads(_times_text, said.TIMES)]
TimesRange = Annotated[tuple[float, float], Reads(_times_range, said.pair(said.TIMES))]
Flag = Annotated[bool, Reads(_flag, {"type": "boolean"})]
Text = Annotated[str, Reads(_text, said.TEXT)]
Name = Annotated[str, Reads(_name, said.NAME)]
Names = Annotated[tuple[str, ...], Reads(_names, said.listing(said.TEXT))]
SeasonNames = Annotated[tuple[str, ...], Reads(_season_names, said.SEASON_NAMES)]
Inside = Annotated[
    float | tuple[tuple[str, float], ...],
    Reads(_inside, said.either(said.number(0, 1), said.by_name(said.number(0, 1)))),
]
WallName = Annotated[str, Reads(_wall, said.WALL)]
Sides = Annotated[tuple[tuple[str, float], ...], Reads(_sides, said.by_side(SIDES))]
Use = Annotated[str | int, Reads(_use, said.either(said.one_of(USES), said.whole(1, 100)))]
Within = Annotated[tuple[tuple[str, float], ...], Reads(_within, said.by_name(said.POSITIVE))]
Minutes = Annotated[tuple[tuple[str, float], ...], Reads(_minutes, said.by_name(said.number(0, 1e6)))]
