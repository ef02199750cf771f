"""Names: what may be one, the nearest known one, and alike names such as socket-1, socket-2."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterable

from footwork.model.limits import LONGEST_NAME, LONGEST_TEXT
from footwork.model.telling import BETWEEN, JOINERS, is_letter

_FORBIDDEN = re.compile(r"[:,\"\\\[\]{}]")
_CONTROLS = {0: "NUL", 7: "BELL", 8: "BACKSPACE", 9: "TAB", 10: "LINE FEED", 13: "CARRIAGE RETURN",
             27: "ESCAPE", 127: "DELETE"}  # fmt: skip
"""Those of the characters without a name in Unicode that people come across."""


def name_fault(name: str) -> str:
    """What is wrong with a name, or an empty string.

    A colon marks a side in a route and a comma parts names on the command line.  Letters of any script,
    marks, figures, symbols and emoji are all the same; a joiner stands between two of them.
    """
    if not name.strip():
        return "a name cannot be empty"
    if wrong := _unseen(name):
        return f"a name cannot hold {wrong}"
    if name != name.strip():
        return "a name cannot begin or end with a space"
    if name[0] in JOINERS or name[-1] in BETWEEN:
        at = 1 if name[0] in JOINERS else len(name)
        return f"a name cannot begin or end with {_called(name, at)}"
    if found := _FORBIDDEN.search(name):
        which = _called(name, found.start() + 1)
        return f'a name cannot hold any of : , " \\ [ ] {{ }}, and it holds {which}'
    return "" if len(name) <= LONGEST_NAME else f"a name has at most {LONGEST_NAME} letters"


def text_fault(text: str) -> str:
    """What is wrong with a text that is no name, such as what the scenario is called, or an empty string."""
    if wrong := _unseen(text):
        return f"a text cannot hold {wrong}"
    return "" if len(text) <= LONGEST_TEXT else f"a text has at most {LONGEST_TEXT} letters"


def _unseen(text: str) -> str:
    """The first character that a text may not hold, in words, or an empty string."""
    at = next((i for i, c in enumerate(text, start=1) if not is_letter(c)), 0)
    return _called(text, at) if at else ""


def _called(text: str, at: int) -> str:
    """The character at a place, from 1, by its number, its name, and the place."""
    c = text[at - 1]
    usual = "a control character" if unicodedata.category(c) == "Cc" else "which has no name"
    known = unicodedata.name(c, "") or _CONTROLS.get(ord(c), usual)
    return f"U+{ord(c):04X} {known} (letter {at})"


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known name most like ``word``, or None where none is near."""
    if len(word) > 2 * LONGEST_NAME:  # comparing would take long, and find nothing
        return None
    names = {k.casefold(): k for k in known if len(k) <= 2 * LONGEST_NAME}
    found = difflib.get_close_matches(word.casefold(), names, n=1, cutoff=0.6)
    return names[found[0]] if found else None


def hint(word: str, known: Iterable[str], kind: str = "") -> str:
    """What would mend an unknown ``word``: the nearest known name, or the list of them.

    ``kind`` says what the names are, in the plural, for the list.
    """
    names = list(dict.fromkeys(known))
    near = nearest(word, names)
    if near is not None:
        return f"did you mean '{near}'?"
    if not names:
        return f"there are no {kind}" if kind else ""
    some = ", ".join(names[:12]) + (", ..." if len(names) > 12 else "")
    return f"{kind or 'known'}: {some}"


def alike(word: str, names: Iterable[str]) -> tuple[str, ...]:
    """The names that ``word`` means: itself, and itself with a number (socket: socket-1, socket-2)."""
    pattern = re.compile(re.escape(word) + r"(-\d+)?")
    return tuple(n for n in names if pattern.fullmatch(n))
