"""What the readers of ``fields.py`` accept, as JSON Schema: plain dictionaries, shared by the fields.

Patterns are written without anything that the regular expressions of ECMA 262 lack.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from footwork.model.limits import MOST_CORNERS
from footwork.model.units import FACINGS, PER_YEAR

Schema = Mapping[str, Any]


def _any_case(*words: str) -> str:
    """A pattern for any of these words, in small letters, capitals or both."""
    return "|".join(
        "".join(f"[{c}{c.upper()}]" if c.isalpha() else c for c in word)
        for word in sorted(words, key=len, reverse=True)
    )


_NUMBER = (
    r"(?:[0-9]{1,12}[ \-][0-9]{1,6}/[0-9]{1,6}|[0-9]{1,6}/[0-9]{1,6}|[0-9]{1,12}(?:\.[0-9]{0,12})?"
    r"|\.[0-9]{1,12})"
)
_FEET = f"(?:(?:{_any_case('ft', 'foot', 'feet')})|['′’‘])\\.?"
_INCHES = f"(?:(?:{_any_case('in', 'inch', 'inches')})|\"|″|”|“|['′’‘]{{2}})\\.?"
_METRIC = f"(?:{_any_case('m', 'metre', 'metres', 'meter', 'meters', 'mm', 'cm')})\\.?"
_ONE = f"\\s*{_NUMBER}\\s*(?:{_METRIC}|{_FEET}|{_INCHES})"
_FEET_AND_INCHES = f"\\s*{_NUMBER}\\s*{_FEET}[ \\-]*\\s*{_NUMBER}\\s*{_INCHES}"
_TEXT = f"(?:{_FEET_AND_INCHES}|{_ONE})[ \\-]*\\s*$"


def _length(what: str, sign: str, least: Schema) -> Schema:
    return {
        "description": f'{what}: a number in the file\'s units, or a text with its own, such as "2400 mm" or '
        '"7 ft 6 in".',
        "anyOf": [{"type": "number", **least}, {"type": "string", "pattern": f"^\\s*{sign}{_TEXT}"}],
    }


LENGTH = _length("A length", "-?", {})
POSITIVE = _length("A length above 0", "", {"exclusiveMinimum": 0})
NOT_NEGATIVE = _length("A length, 0 or more", "", {"minimum": 0})
OUTLINE: Schema = {
    "description": "Corners in order, at least three, the last not repeated.",
    "type": "array",
    "items": {"type": "array", "items": LENGTH, "minItems": 2, "maxItems": 2},
    "minItems": 3,
    "maxItems": MOST_CORNERS,
}
FACING: Schema = {
    "description": "Where the front looks: a word, or degrees clockwise from north.",
    "anyOf": [
        {"enum": list(FACINGS)},
        {"type": "number"},
        {"type": "string", "pattern": f"^\\s*(?:{_any_case(*FACINGS)})\\s*$"},
    ],
}
_PERIOD = _any_case(*(f"{word}{end}" for word in PER_YEAR for end in ("", "s")))
TIMES: Schema = {
    "description": 'How often: "3 per week" (day, week, month or year); a bare number is per year.',
    "anyOf": [
        {"type": "number", "minimum": 0, "maximum": 1e7},
        {
            "type": "string",
            "pattern": f"^\\s*(?:[0-9]{{1,12}}(?:\\.[0-9]{{1,12}})?|{_any_case('once', 'twice')})\\s*"
            f"(?:(?:{_any_case('per')})\\s+|(?:{_any_case('a', 'an')})\\s+|/\\s*)(?:{_PERIOD})\\s*$",
        },
    ],
}
SHARED: Mapping[str, Schema] = {
    "length": LENGTH,
    "length_above_0": POSITIVE,
    "length_0_or_more": NOT_NEGATIVE,
    "outline": OUTLINE,
    "facing": FACING,
    "times": TIMES,
}
"""What is written once and referred to by name."""
TEXT: Schema = {"type": "string", "pattern": "\\S"}
_LETTER = r'[^\s:,"\\\[\]{}]'
NAME: Schema = {
    "type": "string",
    "pattern": rf'^{_LETTER}(?:[^:,"\\\[\]{{}}]*{_LETTER})?$',
    "maxLength": 60,
}
WALL: Schema = {
    "description": "south, east, north or west; in a room with an outline the wall's number.",
    "anyOf": [{"enum": ["south", "east", "north", "west"]}, {"type": "integer"}, {"type": "string"}],
}


def number(least: float, most: float) -> Schema:
    """A number from ``least`` to ``most``."""
    return {"type": "number", "minimum": least, "maximum": most}


def whole(least: int, most: int) -> Schema:
    """A whole number from ``least`` to ``most``."""
    return {"type": "integer", "minimum": least, "maximum": most}


SEASONS: Schema = {
    "description": "The parts of the year by name; together they make it up.",
    "type": "object",
    "propertyNames": NAME,
    "additionalProperties": {
        "description": 'Part of the year: 0.4, "5 months", "20 weeks" or "150 days".',
        "anyOf": [
            {"type": "number", "exclusiveMinimum": 0, "maximum": 1},
            {
                "type": "string",
                "pattern": f"^\\s*[0-9]{{1,3}}(?:\\.[0-9]{{0,6}})?\\s*"
                f"(?:{_any_case('day', 'days', 'week', 'weeks', 'month', 'months')})\\s*$",
            },
        ],
    },
}


def one_of(words: Sequence[str]) -> Schema:
    """One of a few words."""
    return {"enum": list(words)}


def either(*values: Schema) -> Schema:
    """Any of a few."""
    return {"anyOf": list(values)}


def listing(item: Schema) -> Schema:
    """A list of any length."""
    return {"type": "array", "items": item}


SEASON_NAMES = either(TEXT, {**listing(TEXT), "minItems": 1})


def pair(item: Schema) -> Schema:
    """A list of two."""
    return {"type": "array", "items": item, "minItems": 2, "maxItems": 2}


def by_name(value: Schema) -> Schema:
    """A table of names."""
    return {"type": "object", "additionalProperties": value}


def by_side(sides: Sequence[str]) -> Schema:
    """A table of lengths by side."""
    return {
        "type": "object",
        "properties": dict.fromkeys(sides, NOT_NEGATIVE),
        "additionalProperties": False,
    }
