"""Writing a layout, and what moves changed, into a scenario's own file.

Comments and formatting stay.  The file is written whole beside the old one and put in its place at
once, after it has been read back and found to say what it should.
"""

from __future__ import annotations

import contextlib
import math
import os
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from footwork.compiled.signals import undisturbed
from footwork.model.changes import told
from footwork.model.compare import LAYOUTS, alike, differing, parts
from footwork.model.errors import ScenarioError, UsageError
from footwork.model.lines import with_table
from footwork.model.names import name_fault
from footwork.model.read import loads, read_text
from footwork.model.scenario import Layout, Scenario
from footwork.model.whole import alone_in, put_whole


@dataclass(frozen=True)
class _Saved:
    """What was last written to a file: from which text, into which, and the layouts with their names."""

    read: str
    written: str
    layouts: Mapping[str, Layout]


_saved: dict[Path, _Saved] = {}
"""By file.  A session saves again and again from the text it once read: without this, its own
earlier saves would look like somebody else's edits."""


@dataclass(frozen=True)
class Draft:
    """A file as it would be with a layout saved in it; nothing is written yet.

    ``before`` is what the file says now, or the one that a new file is made from; ``after`` what it would
    say.
    """

    path: Path
    before: Scenario
    after: Scenario
    text: str
    _old: str | None
    _made: _Saved

    @property
    def changes(self) -> tuple[str, ...]:
        """What would change for every layout of the file, in words."""
        return told(self.before, self.after)

    def write(self) -> None:
        """Put the text in the place of the file at once.

        Raises UsageError, and writes nothing, when it cannot be, or the file is not as it was drafted from.
        """
        with undisturbed():
            put_in_place(self.path, self.text, self._old)
            _saved[Path(os.path.realpath(self.path))] = self._made


def save(scenario: Scenario, layout: Layout, name: str, path: str | Path | None = None) -> None:
    """Write ``layout`` as ``[layouts.NAME]`` into the file at ``path``, by default the scenario's own.

    A layout of that name is written over.  Along with it goes what differs between the scenario and
    the file it was read from: stations and vehicles added or removed, the room's size, times, the
    shares of vehicles, places in other layouts.  Lengths are written in the file's units, to 0.1 mm.
    Where the path is of no file yet, it becomes that of a copy with the changes in it.

    Layouts and comments that somebody edited in the meantime stay.  Raises UsageError, and writes
    nothing, when anything else was edited, for the layout belongs to what was read; when the name
    cannot be one, the change cannot be written, or the file cannot; ScenarioError when the file has
    faults by now.
    """
    draft(scenario, layout, name, path).write()


def draft(
    scenario: Scenario, layout: Layout, name: str, path: str | Path | None = None, *, over: bool = True
) -> Draft:
    """What ``save`` would write.  Raises as it does, and, unless ``over``, where there is such a layout."""
    target = Path(path) if path is not None else scenario.path
    if target is None:
        raise UsageError("this scenario was not read from a file; say where to save it")
    fault = name_fault(name)
    if fault:
        raise UsageError(f"layout '{name}': {fault}")
    _check_placements(scenario, layout, name)
    is_new = bool(scenario.text) and target != scenario.path and not target.exists()
    text = old = scenario.text if is_new else read_text(target)
    before, layouts = loads(text, target), {name: layout}
    if not over and any(each.name == name for each in before.layouts):
        raise UsageError(f"{target}: it has a layout {name!r} already; --replace writes over it")
    last = _saved.get(Path(os.path.realpath(target)))
    if last is not None and last.read != scenario.text:
        last = None
    if last is not None and last.written == text:
        text = scenario.text
        layouts = {each: completed(last.layouts[each], scenario, layout) for each in last.layouts} | layouts
    edited = scenario.text and _plain(text) != _plain(scenario.text)
    if edited:
        _check_edits(scenario, last, before, target)
    wanted = scenario.with_(layouts=_with_layouts(scenario, layouts))
    new = _rewritten(text, wanted, tuple(layouts), target)
    after = _loads_again(new, target)
    _check(after, wanted, loads(scenario.text or text, target), layouts if edited else None)
    return Draft(target, before, after, new, None if is_new else old, _Saved(scenario.text, new, layouts))


def rewritten(scenario: Scenario, path: Path, names: tuple[str, ...] = ()) -> str:
    """The text of the scenario's file with all that differs from it, and its layouts of those names.

    ``path`` is for messages.  Raises UsageError where it cannot be written so that it reads back the same.
    """
    new = _rewritten(scenario.text, scenario, names, path)
    _check(_loads_again(new, path), scenario, loads(scenario.text, path), None)
    return new


def put_in_place(path: Path, text: str, old: str | None) -> None:
    """Put a text in the place of a file at once, as long as that still is ``old``; None: there is none.

    Raises UsageError, and writes nothing, when it is not, or cannot be written.
    """
    with alone_in(Path(os.path.realpath(path)).parent):
        there = read_text(path) if path.exists() else None
        if there != old:
            raise UsageError(f"{path}: somebody else has just written it; nothing is written: save again")
        _replace(path, text, bom=there is not None and _has_bom(path))


def _plain(text: str) -> str:
    return text.replace("\r\n", "\n")


def _check_edits(scenario: Scenario, last: _Saved | None, now: Scenario, path: Path) -> None:
    """Refuse where the file says something else by now than was read, or saved last, but for its layouts."""
    read = loads(scenario.text, path)
    known = read if last is None else loads(last.written, path)
    edited = differing(known, now)
    if edited:
        some = ", ".join(edited[:4]) + (f" and {len(edited) - 4} more" if len(edited) > 4 else "")
        what = (
            "it was edited after it was read" if path == scenario.path else "it says otherwise than was read"
        )
        raise UsageError(
            f"{path}: {what} ({some}): a layout of what was read is not written into it; "
            "read it again, or save into another file"
        )
    if differing(read, known):
        raise UsageError(
            f"{path}: it was edited after moves were saved in it; nothing is written: read it again, "
            "or save into another file"
        )


def _check_placements(scenario: Scenario, layout: Layout, name: str) -> None:
    missing = [t.name for t in scenario.things if t.name not in layout.placements]
    if missing:
        verb = "has" if len(missing) == 1 else "have"
        raise UsageError(f"layout '{name}': {', '.join(missing)} {verb} no place in it")
    for thing, place in layout.placements.items():
        if not all(map(math.isfinite, (place.x, place.y, place.facing))):
            raise UsageError(f"layout '{name}': the place of {thing} is not a number")


def completed(layout: Layout, scenario: Scenario, other: Layout) -> Layout:
    """A layout saved before, with what stands in the scenario by now: newcomers as in the other one."""
    names = [thing.name for thing in scenario.things]
    return Layout(layout.name, {n: layout.placements.get(n) or other.placements[n] for n in names})


def _with_layouts(scenario: Scenario, layouts: Mapping[str, Layout]) -> tuple[Layout, ...]:
    """The layouts of the scenario with those put over or after them."""
    named = {name: Layout(name, dict(layout.placements)) for name, layout in layouts.items()}
    return tuple(({each.name: each for each in scenario.layouts} | named).values())


def _rewritten(text: str, wanted: Scenario, names: tuple[str, ...], path: Path) -> str:
    """The file's text with the layouts of those names and the changes in it."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    from footwork.model.edits import carry_over, put_layout, without_gone, words_between

    before = loads(wanted.text or text, path)
    if before.units != wanted.units:
        raise UsageError(f"{path}: its units have changed to {before.units}; read it again before saving")
    try:
        doc: Any = tomlkit.parse(without_gone(text.replace("\r\n", "\n"), before, wanted))
        words = words_between(before, wanted)
        tables = carry_over(doc, before, wanted)
        there = loads(text, path)
        tables += [
            put_layout(doc, each, wanted, words, there) for each in wanted.layouts if each.name in names
        ]
        new = tomlkit.dumps(doc)
    except (TOMLKitError, LookupError, ValueError, TypeError, AttributeError) as error:
        what = " ".join(str(error).split())[:80] or type(error).__name__
        raise UsageError(
            f"{path}: the change cannot be written into it ({what}); nothing is written"
        ) from None
    for table in filter(None, tables):
        new = with_table(new, "stations" if table.startswith("[stations.") else "layouts", table)
    return new.replace("\n", "\r\n") if "\r\n" in text else new


def _loads_again(new: str, path: Path) -> Scenario:
    """What the new text says; UsageError when that is no scenario."""
    try:
        return loads(new, path)
    except ScenarioError as error:
        raise UsageError(*(f"{path}: after this change, {problem}" for problem in error.problems)) from None


def _check(found: Scenario, wanted: Scenario, read: Scenario, layouts: Collection[str] | None) -> None:
    """Refuse a text that does not say what it should; better no file than a wrong one.

    ``layouts`` are those to look at; None: all.  Where somebody edited the others, they say otherwise.
    """
    from footwork.model.edits import words_between

    said = dict(parts(found, {}))
    for part, should in parts(wanted, words_between(read, wanted).renamed):
        if layouts is not None and part.startswith(LAYOUTS) and part.removeprefix(LAYOUTS) not in layouts:
            continue
        if part not in said or not alike(should, said[part]):
            where = f"{found.path}: the change to {part}"
            raise UsageError(f"{where} cannot be written into it; nothing is written")


def _has_bom(path: Path) -> bool:
    with contextlib.suppress(OSError), path.open("rb") as file:
        return file.read(3) == b"\xef\xbb\xbf"
    return False


def _replace(path: Path, text: str, *, bom: bool = False) -> None:
    """Put ``text`` in the place of the file at once, keeping its permissions; links are followed."""
    target = Path(os.path.realpath(path))
    if target.exists() and not (os.access(target, os.W_OK) and target.stat().st_mode & 0o222):
        raise UsageError(f"{path}: you have no permission to write it; nothing is written")
    try:
        put_whole(target, text.encode("utf-8-sig" if bom else "utf-8"))
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise UsageError(f"{path}: it cannot be written: {reason}; nothing is written") from None
