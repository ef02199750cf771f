"""What the page asks for, read: words, numbers and lengths of one message.

Every function raises UsageError, in one line, where what is there is of another kind.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from footwork.model import spelling
from footwork.model.errors import UsageError
from footwork.moves import read_length

LONGEST = 1000
Message = Mapping[str, Any]


def word(message: Message, key: str) -> str:
    """A text, without blanks at its ends; empty where there is none."""
    given = message.get(key, "")
    if not isinstance(given, str) or len(given) > LONGEST:
        raise UsageError(f"the page sent no {key}")
    return given.strip()


def needed(message: Message, key: str, what: str) -> str:
    """A text that has to be given; ``what`` it is in words."""
    given = word(message, key)
    if not given:
        raise UsageError(f"{what} is missing")
    return given


def number(message: Message, key: str) -> int | None:
    """A whole number of 0 or more, or None where there is none."""
    given = message.get(key)
    if given is None:
        return None
    if isinstance(given, bool) or not isinstance(given, int) or given < 0:
        raise UsageError(f"the page sent no {key}")
    return given


def entries(message: Message, key: str) -> list[Any]:
    """A list."""
    given = message.get(key, [])
    if not isinstance(given, list):
        raise UsageError(f"the page sent no {key}")
    return given


def metres(message: Message, key: str, units: str, what: str) -> float:
    """A length in metres, as it was typed: a bare number is in the file's units."""
    return length(needed(message, key, what), units, what)


def length(text: str, units: str, what: str) -> float:
    """A typed length in metres."""
    try:
        return read_length(text, units)
    except ValueError as fault:
        raise UsageError(f"{what}: {fault}") from None


def spelt_length(message: Message, key: str, units: str, what: str) -> str | None:
    """A typed length as the file has it, or None where none is given."""
    given = word(message, key)
    return spelling.length(length(given, units, what), units) if given else None
