"""What the page hears and asks of the file: its faults, that it was changed elsewhere, what was not saved."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from footwork.model.errors import UsageError
from footwork.page.desk import Desk
from footwork.page.keeping.opening import Opened
from footwork.page.keeping.shelf import Shelf
from footwork.page.messages import Message, told


def faults(found: Opened) -> Message:
    """Everything that is wrong with a file, each with its line and what would mend it."""
    return {
        "say": "faults",
        "file": found.path.name,
        "faults": [
            {"line": p.line, "where": p.where, "what": p.what, "mend": p.mend} for p in found.problems
        ],
    }


def unchanged() -> Message:
    """That the file is as it is shown."""
    return {"say": "changed", "text": "", "can": False}


def changed(found: Opened) -> Message:
    """That somebody else has written the file, and what can be done about it."""
    name = found.path.name
    if found.text is None:
        return {"say": "changed", "text": f"{name} was taken away. What is here is kept.", "can": False}
    if found.scenario is None:
        first = found.problems[0]
        text = f"{name} was changed elsewhere and has faults now: {first}. What is here is kept."
        return {"say": "changed", "text": text, "can": False}
    text = f"{name} was changed elsewhere. Nothing is written over it unasked. Show it as it is now?"
    return {"say": "changed", "text": text, "can": True}


def left(shelf: Shelf) -> Message:
    """What was not saved and is offered, and whether the file is open in another page."""
    notes = []
    if shelf.elsewhere:
        notes.append(f"{shelf.path.name} is open in another page too: whoever saves second is asked first.")
    if shelf.journal.fault:
        notes.append(f"What is not saved cannot be kept for the next open: {shelf.journal.fault}.")
    return {"say": "left", "text": shelf.offer(), "elsewhere": " ".join(notes)}


def _take_up(shelf: Shelf, desk: Desk, there: Opened | None) -> Message:
    if there is None:
        raise UsageError(f"{shelf.path.name} is shown as it is")
    shelf.take_up(desk, there)
    return told(f"{shelf.path.name} as it is now; Undo brings back what was here", fault=False)


def _recover(shelf: Shelf, desk: Desk, there: Opened | None) -> Message:
    shelf.recover(desk)
    return left(shelf)


def _throw_away(shelf: Shelf, desk: Desk, there: Opened | None) -> Message:
    shelf.throw_away()
    return left(shelf)


DOES: Mapping[str, Callable[[Shelf, Desk, Opened | None], dict[str, Any]]] = {
    "take up": _take_up,
    "recover": _recover,
    "throw away": _throw_away,
}
"""What the page may ask for, by its word."""
