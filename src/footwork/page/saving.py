"""Saving from the page: into the file, under a name, as ``footwork whatif --save`` does."""

from __future__ import annotations

from dataclasses import dataclass

from footwork.model.errors import UsageError
from footwork.model.names import name_fault
from footwork.model.read import loads, read_text
from footwork.model.scenario import Layout
from footwork.model.write import draft
from footwork.page.desk import Desk


@dataclass(frozen=True)
class Ask:
    """What has to be agreed to before it is saved: ``kind`` is the word for it, ``line`` the question."""

    kind: str
    line: str


class Keeper:
    """Knows the text of the file as the page knows it, and the names that the page itself has saved under."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._own: set[str] = set()

    def save(self, desk: Desk, layout: Layout, name: str, agreed: frozenset[str] = frozenset()) -> Ask | None:
        """Write ``layout`` as ``name``, or say what has to be agreed to first; nothing is written then.

        ``over``: there is a layout of that name which the page has not saved; ``edited``: somebody else has
        changed the file since.  Raises FootworkError, and writes nothing, where it cannot be written.
        """
        path = desk.scenario.path
        if path is None:
            raise UsageError("this scenario was not read from a file: there is nowhere to save it")
        fault = name_fault(name)
        if fault:
            raise UsageError(f"{name!r} cannot be a layout's name: {fault}")
        there = read_text(path)
        if there != self._text and "edited" not in agreed:
            return Ask("edited", f"{path.name} was changed elsewhere since it was opened here.{_what_now()}")
        known = {each.name for each in loads(there, path).layouts}
        if name in known and (name not in self._own or there != self._text) and "over" not in agreed:
            return Ask("over", f"{path.name} has a layout {name!r} already. Write over it?")
        draft(desk.scenario, layout, name, path).write()
        self._text = read_text(path)
        self._own.add(name)
        desk.saved = layout
        return None


def _what_now() -> str:
    return " Save this layout into it as it is now? What was changed there stays."


def propose(desk: Desk) -> str:
    """A name that no layout of the file has yet."""
    names = {layout.name for layout in desk.scenario.layouts}
    found = (name for name in ("tried", *(f"tried {k}" for k in range(2, 1000))) if name not in names)
    return next(found)
