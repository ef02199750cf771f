"""Names: what may be one, the nearest known one, and alike names such as socket-1, socket-2."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable

_FORBIDDEN = re.compile(r"[:,\"\\\[\]{}]")


def name_fault(name: str) -> str:
    """What is wrong with a name, or an empty string.

    A colon marks a side in a route and a comma parts names on the command line.
    """
    if not name.strip():
        return "a name cannot be empty"
    if name != name.strip() or not name.isprintable():
        return "a name cannot hold line breaks or begin or end with a space"
    if _FORBIDDEN.search(name):
        return 'a name cannot hold any of : , " \\ [ ] { }'
    return "" if len(name) <= 60 else "a name has at most 60 letters"


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known name most like ``word``, or None where none is near."""
    names = {k.casefold(): k for k in known}
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
