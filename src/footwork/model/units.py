"""Lengths, bearings and frequencies as people write them, turned into metres, degrees and times a year.

The international foot is 0.3048 m and the inch 0.0254 m, exactly.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

from footwork.model.limits import LONGEST, MOST_TIMES
from footwork.model.slips import decimal_comma, frequency
from footwork.model.telling import is_letter

UNITS = ("m", "mm", "cm", "ft", "in")

FACTORS: Mapping[str, Fraction] = {
    "m": Fraction(1),
    "mm": Fraction(1, 1000),
    "cm": Fraction(1, 100),
    "ft": Fraction(3048, 10000),
    "in": Fraction(254, 10000),
}
"""Metres in one of each unit."""

FACINGS: Mapping[str, float] = {"north": 0.0, "east": 90.0, "south": 180.0, "west": 270.0}
"""Bearings in degrees clockwise from north."""

PER_YEAR: Mapping[str, float] = {"day": 365.0, "week": 52.0, "month": 12.0, "year": 1.0}
"""A year has 365 days, 52 weeks, 12 months."""

_DECIMALS: Mapping[str, int] = {"m": 4, "mm": 1, "cm": 2, "ft": 4, "in": 3}
_ALIASES: Mapping[str, str] = {
    "m": "m", "metre": "m", "metres": "m", "meter": "m", "meters": "m",
    "mm": "mm", "cm": "cm",
    "ft": "ft", "foot": "ft", "feet": "ft", "'": "ft",
    "in": "in", "inch": "in", "inches": "in", '"': "in",
}  # fmt: skip
_PRIMES = str.maketrans("′’‘″”“\u00a0", "'''\"\"\" ")
_NUMBER = r"(?:\d{1,12}[ -]\d{1,6}/\d{1,6}|\d{1,6}/\d{1,6}|\d{1,12}(?:\.\d{0,12})?|\.\d{1,12})"
_PART = re.compile(rf"\s*({_NUMBER})\s*('|\"|[a-zA-Z]+)\.?", re.ASCII)
_TIMES = re.compile(r"\s*(\d{1,12}(?:\.\d{1,12})?|once|twice)\s*(?:per\s+|an?\s+|/\s*)(\w+)\s*", re.ASCII)


def parse_length(value: object, units: str = "m") -> float:
    """Metres in ``value``: a number in ``units``, or a string with its own unit.

    Reads ``"2400 mm"``, ``"7 ft 6 in"``, ``7' 6-1/2"``, ``"1/2 in"``, and a minus sign before any.
    Raises ValueError, with a message for the user, on anything else, infinite numbers, and lengths
    over a kilometre.
    """
    if isinstance(value, str):
        metres = float(_read_length(value))
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        metres = _scaled(finite(value), units)
    else:
        raise ValueError(f'{shown(value)} is not a length; write a number, or a string such as "2400 mm"')
    if abs(metres) > LONGEST:
        far = f"{metres:,.0f} m" if abs(metres) < 1e12 else "far over a kilometre"
        raise ValueError(f"{shown(value)} is {far}; check its unit, bare numbers are in {units}")
    return metres


def _scaled(value: float, units: str) -> float:
    """``value`` in ``units`` as metres, rounded once: 0.1 mm is exactly the float 0.0001."""
    return value if units == "m" else float(Fraction(Decimal(repr(value))) * FACTORS[units])


def _read_length(text: str) -> Fraction:
    plain = text.translate(_PRIMES).strip().replace("''", '"')
    sign, body = (-1, plain[1:]) if plain.startswith("-") else (1, plain)
    parts: list[tuple[Fraction, str]] = []
    at = 0
    while at < len(body):
        found = _PART.match(body, at)
        unit = _ALIASES.get(found[2].lower()) if found else None
        if found is None or unit is None:
            raise ValueError(f"{shown(text)} is not a length; {_length_help(body)}")
        parts.append((_fraction(found[1], text), unit))
        at = found.end()
        # 7'-6" is how drawings write it
        at += len(body[at:]) - len(body[at:].lstrip(" -")) if unit == "ft" else 0
    if [unit for _, unit in parts] not in ([u] for u in UNITS) and [u for _, u in parts] != ["ft", "in"]:
        raise ValueError(f"{shown(text)} is not a length; {_length_help(body)}")
    return sign * sum((number * FACTORS[unit] for number, unit in parts), Fraction(0))


def _length_help(body: str) -> str:
    if re.fullmatch(r"\s*[\d.]+\s*", body):
        return 'give its unit, as in "2400 mm", or write it as a number without quotes'
    if decimal_comma(body):
        return f"write the decimals after a point: {decimal_comma(body)}"
    return 'write it as "2400 mm", "2.4 m", "7 ft 6 in" or 7\' 6-1/2"'


def _fraction(number: str, text: str) -> Fraction:
    whole, _, rest = number.replace("-", " ").rpartition(" ")
    try:
        return Fraction(whole or 0) + Fraction(rest)
    except ZeroDivisionError:
        raise ValueError(f"{shown(text)} is not a length; it divides by zero") from None


def finite(value: float) -> float:
    """``value`` as a float; ValueError when it is infinite, not a number, or too great to hold."""
    try:
        number = float(value)
    except OverflowError:
        raise ValueError("the number is too great") from None
    if not math.isfinite(number):
        raise ValueError(f"{number} is not a number that can be used")
    return number


def in_units(metres: float, units: str) -> float | int:
    """``metres`` as a number of ``units`` to write into a file, rounded to 0.1 mm or finer."""
    value = round(float(Fraction(metres) / FACTORS[units]), _DECIMALS[units])
    return int(value) if units == "mm" and value == int(value) else value + 0.0


def format_length(metres: float, units: str = "m", fraction: int = 16) -> str:
    """``metres`` as text in ``units``: ``2.40 m``, ``2400 mm``, ``240 cm``, ``7' 6-1/2"``, ``90-1/2"``.

    Feet and inches are rounded to one ``fraction``-th of an inch; the others to 10 mm in metres,
    1 mm in the rest.
    """
    if not math.isfinite(metres):
        return "-"
    if units == "m":
        return f"{metres + 0.0:.2f} m"
    if units in ("mm", "cm"):
        value = float(metres) / float(FACTORS[units])
        return f"{value:.0f} mm" if units == "mm" else f"{value:.1f} cm".replace(".0 cm", " cm")
    steps = round(abs(metres) / 0.0254 * fraction)
    sign = "-" if metres < 0 and steps else ""
    if units == "in":
        return f"{sign}{_inches(steps, fraction)}"
    feet, rest = divmod(steps, 12 * fraction)
    return f"{sign}{feet}' {_inches(rest, fraction)}" if feet else f"{sign}{_inches(rest, fraction)}"


def walking_unit(units: str) -> tuple[str, float]:
    """The unit that walking is told in, in a file of ``units``, and how many of it are a metre."""
    return ("ft", float(1 / FACTORS["ft"])) if units in ("ft", "in") else ("m", 1.0)


def _inches(steps: int, fraction: int) -> str:
    whole, part = divmod(steps, fraction)
    if not part:
        return f'{whole}"'
    reduced = Fraction(part, fraction)
    text = f"{reduced.numerator}/{reduced.denominator}"
    return f'{whole}-{text}"' if whole else f'{text}"'


def parse_facing(value: object) -> float:
    """Degrees clockwise from north, 0 to below 360, from a word or a bearing.  ValueError otherwise."""
    if isinstance(value, str):
        word = value.strip().lower()
        if word in FACINGS:
            return FACINGS[word]
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        return finite(value) % 360.0 % 360.0
    raise ValueError(
        f"{shown(value)} is not a facing; use north, east, south, west, or degrees clockwise from north"
    )


def format_facing(degrees: float) -> str | float:
    """The word for a facing, or its degrees where none fits."""
    for word, bearing in FACINGS.items():
        if abs((degrees - bearing + 180.0) % 360.0 - 180.0) < 1e-6:
            return word
    return round(degrees % 360.0, 4)


def parse_times(value: object) -> float:
    """Times a year from ``"3 per week"``, ``"twice a month"`` or a plain number, which is per year.

    Raises ValueError on anything else, on negative or infinite numbers, and on more than a person could do.
    """
    times = _read_times(value)
    if times > MOST_TIMES:
        often = f"{_times_told(times)} times a year"
        raise ValueError(f"{shown(value)} is {often}; give a number a person could do")
    return times


def _read_times(value: object) -> float:
    if isinstance(value, str):
        found = _TIMES.fullmatch(value.lower())
        period = found[2].removesuffix("s") if found else ""
        if found and period in PER_YEAR:
            number = {"once": 1.0, "twice": 2.0}.get(found[1])
            return (float(found[1]) if number is None else number) * PER_YEAR[period]
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        number = finite(value)
        if number >= 0:
            return number
        raise ValueError(f"{shown(value)} is negative; a job is done 0 times or more")
    meant = frequency(value) if isinstance(value, str) else ""
    form = f"write {meant}" if meant else 'write it as "3 per week" (day, week, month or year)'
    raise ValueError(f"{shown(value)} is not a frequency; {form}")


def _times_told(times: float) -> str:
    return f"{times:,.0f}" if times < 1e15 else f"{times:.3g}"


def times_words(per_year: float) -> str:
    """Times a year as text that reads back as near as three figures can tell: ``"2.5 per week"``."""
    period = "week" if per_year >= PER_YEAR["week"] else "year"
    number = per_year / PER_YEAR[period]
    decimals = max(0, 2 - math.floor(math.log10(number))) if number > 0 else 0
    text = f"{number:.{min(decimals, 12)}f}"
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} per {period}"


def share_of_year(weeks: float | None) -> float:
    """The part of the year that so many weeks are; all of it where nothing is said."""
    return 1.0 if weeks is None else weeks / PER_YEAR["week"]


def parse_season(value: object) -> float:
    """The part of the year, above 0 to 1, from a number or ``"5 months"``.  ValueError for anything else."""
    if isinstance(value, str):
        found = re.fullmatch(r"\s*(\d{1,3}(?:\.\d{0,6})?)\s*(day|week|month)s?\s*", value.lower())
        if found is None:
            raise ValueError(f'{shown(value)} is no part of the year; write 0.4, "5 months" or "20 weeks"')
        share = float(found[1]) / PER_YEAR[found[2]]
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        share = finite(value)
    else:
        raise ValueError(f'{shown(value)} is no part of the year; write 0.4, "5 months" or "20 weeks"')
    if not 0 < share <= 1:
        raise ValueError(f"{shown(value)} is {'more than' if share > 1 else 'no part of'} the year; "
                         "give a part of it above 0, 1 at most")  # fmt: skip
    return share


def shown(value: object) -> str:
    """A value from the file as an error message shows it: short, on one line, in the file's own words."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        text = f"'{value}'" if "'" not in value else f'"{value}"' if '"' not in value else value
    elif isinstance(value, dict):
        return "a table"
    elif isinstance(value, (int, float)):
        try:
            text = str(value)
        except ValueError:  # more digits than Python prints
            return "a number of thousands of digits"
    elif isinstance(value, (list, tuple)):
        return "a list"
    else:
        text = str(value)
    text = "".join(c if is_letter(c) else " " for c in text)
    return text if len(text) <= 40 else text[:37] + "..."
