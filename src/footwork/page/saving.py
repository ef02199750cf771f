"""Saving from the page: into the file, under a name, as ``footwork whatif --save`` does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from footwork.model.errors import UsageError
from footwork.model.names import name_fault
from footwork.model.read import read_text
from footwork.model.scenario import Layout, Scenario
from footwork.model.write import completed, draft, put_in_place, rewritten
from footwork.page.desk import Desk
from footwork.page.editing.document import has_room, read


@dataclass(frozen=True)
class Ask:
    """What has to be agreed to before it is saved: ``kind`` is the word for it, ``line`` the question."""

    kind: str
    line: str


class Keeper:
    """Knows the text of the file as the page knows it, and the names that the page itself has saved under.

    ``text`` is None where there is no file yet.
    """

    def __init__(self, text: str | None) -> None:
        self.text = text
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
        there = read_text(path) if path.exists() else None
        same = desk.scenario.text == desk.written.text and there is not None
        edited = there != self.text or (there or "") != desk.written.text
        if edited and "edited" not in agreed:
            return Ask("edited", _changed(path.name, there, same))
        known = {} if edited and not same else _layouts(there, path)
        if name in known and (name not in self._own or edited) and "over" not in agreed:
            return Ask("over", f"{path.name} has a layout {name!r} already. Write over it?")
        if same:
            draft(desk.scenario, layout, name, path).write()
        else:
            put_in_place(path, _whole(desk.scenario, layout, name, known, path), there)
        self.text = read_text(path)
        self._own.add(name)
        desk.keep(read(self.text, path))
        return None


def _layouts(text: str | None, path: Path) -> dict[str, Layout]:
    """The layouts of the file by name."""
    return {} if text is None else {each.name: each for each in read(text, path).layouts}


def _whole(scenario: Scenario, layout: Layout, name: str, known: Mapping[str, Layout], path: Path) -> str:
    """The text of a scenario that was changed here, with the layout in it and those that the file has."""
    if not has_room(scenario.text):
        raise UsageError("there is no room yet: give the lengths of its walls first; nothing is written")
    if not scenario.stations:
        raise UsageError("there are no stations yet: a file has one at least; nothing is written")
    own = {each.name: each for each in scenario.layouts}
    missing = {n: completed(each, scenario, layout) for n, each in known.items() if n not in own}
    layouts = {**own, **missing, name: Layout(name, dict(layout.placements))}
    wanted = scenario.with_(layouts=tuple(layouts.values()))
    return rewritten(wanted, path, (*missing, *({name} - missing.keys())))


def _changed(file: str, there: str | None, same: bool) -> str:
    if there is None:
        return f"{file} was taken away since it was opened here. Write it again?"
    told = f"{file} was changed elsewhere since it was opened here."
    if same:
        return f"{told}{_what_now()}"
    return f"{told} Write over it? What was changed there is lost."


def _what_now() -> str:
    return " Save this layout into it as it is now? What was changed there stays."


def propose(desk: Desk) -> str:
    """A name that no layout of the file has yet."""
    names = {layout.name for layout in desk.scenario.layouts}
    if not names:
        return desk.layout.name
    found = (name for name in ("tried", *(f"tried {k}" for k in range(2, 1000))) if name not in names)
    return next(found)
