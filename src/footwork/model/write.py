"""Writing a layout, and what moves changed, into a scenario's own file.

Comments and formatting stay.  The file is written whole beside the old one and put in its place at
once, after it has been read back and found to say what it should.
"""

from __future__ import annotations

import contextlib
import math
import os
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from footwork.model.errors import ScenarioError, UsageError
from footwork.model.lines import with_table
from footwork.model.names import name_fault
from footwork.model.read import loads, read_text
from footwork.model.scenario import Layout, Scenario


@dataclass(frozen=True)
class _Saved:
    """What was last written to a file: from which text, into which, and the layouts with their names."""

    read: str
    written: str
    layouts: Mapping[str, Layout]


_saved: dict[Path, _Saved] = {}
"""By file.  A session saves again and again from the text it once read: without this, its own
earlier saves would look like somebody else's edits."""


def save(scenario: Scenario, layout: Layout, name: str, path: str | Path | None = None) -> None:
    """Write ``layout`` as ``[layouts.NAME]`` into the file at ``path``, by default the scenario's own.

    A layout of that name is written over.  Along with it goes what differs between the scenario and
    the file it was read from: stations and vehicles added or removed, the room's size, times, the
    shares of vehicles, places in other layouts.  Lengths are written in the file's units, to 0.1 mm.
    An edit that somebody made to the file in the meantime is kept.

    Raises UsageError, and writes nothing, when the name cannot be one, the change cannot be written,
    or the file cannot; ScenarioError when the file has faults by now.
    """
    target = Path(path) if path is not None else scenario.path
    if target is None:
        raise UsageError("this scenario was not read from a file; say where to save it")
    fault = name_fault(name)
    if fault:
        raise UsageError(f"layout '{name}': {fault}")
    _check_placements(scenario, layout, name)
    is_new = bool(scenario.text) and target != scenario.path and not target.exists()
    text = scenario.text if is_new else read_text(target)
    where, layouts = Path(os.path.realpath(target)), {name: layout}
    last = _saved.get(where)
    if last is not None and last.read == scenario.text and last.written == text:
        text = scenario.text
        layouts = {each: _completed(last.layouts[each], scenario, layout) for each in last.layouts} | layouts
    wanted = scenario.with_(layouts=_with_layouts(scenario, layouts))
    new = _rewritten(text, wanted, tuple(layouts), target)
    _check(new, wanted, text, target)
    _replace(target, new, bom=not is_new and _has_bom(target))
    _saved[where] = _Saved(scenario.text, new, layouts)


def save_layout(scenario: Scenario, layout: Layout, name: str) -> None:
    """``save`` into the scenario's own file."""
    save(scenario, layout, name)


def _check_placements(scenario: Scenario, layout: Layout, name: str) -> None:
    missing = [t.name for t in scenario.things if t.name not in layout.placements]
    if missing:
        verb = "has" if len(missing) == 1 else "have"
        raise UsageError(f"layout '{name}': {', '.join(missing)} {verb} no place in it")
    for thing, place in layout.placements.items():
        if not all(map(math.isfinite, (place.x, place.y, place.facing))):
            raise UsageError(f"layout '{name}': the place of {thing} is not a number")


def _completed(layout: Layout, scenario: Scenario, other: Layout) -> Layout:
    """A layout saved before, with what stands in the scenario by now: newcomers as in the other one."""
    names = [thing.name for thing in scenario.things]
    return Layout(layout.name, {n: layout.placements.get(n, other.placements[n]) for n in names})


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
        tables += [put_layout(doc, each, wanted, words) for each in wanted.layouts if each.name in names]
        new = tomlkit.dumps(doc)
    except (TOMLKitError, LookupError, ValueError, TypeError, AttributeError) as error:
        what = " ".join(str(error).split())[:80] or type(error).__name__
        raise UsageError(
            f"{path}: the change cannot be written into it ({what}); nothing is written"
        ) from None
    for table in filter(None, tables):
        new = with_table(new, "stations" if table.startswith("[stations.") else "layouts", table)
    return new.replace("\n", "\r\n") if "\r\n" in text else new


def _check(new: str, wanted: Scenario, old: str, path: Path) -> None:
    """Refuse a text that does not say what it should; better no file than a wrong one."""
    from footwork.model.compare import alike, parts
    from footwork.model.edits import words_between

    try:
        found = loads(new, path)
    except ScenarioError as error:
        raise UsageError(*(f"{path}: after this change, {problem}" for problem in error.problems)) from None
    if wanted.text and old.replace("\r\n", "\n") != wanted.text.replace("\r\n", "\n"):
        return  # somebody else's edits are in it too, and may say otherwise
    words = words_between(loads(wanted.text or old, path), wanted)
    said = dict(parts(found, {}))
    for part, should in parts(wanted, words.renamed):
        if part not in said or not alike(should, said[part]):
            raise UsageError(f"{path}: the change to {part} cannot be written into it; nothing is written")


def _has_bom(path: Path) -> bool:
    with contextlib.suppress(OSError), path.open("rb") as file:
        return file.read(3) == b"\xef\xbb\xbf"
    return False


def _replace(path: Path, text: str, *, bom: bool = False) -> None:
    """Put ``text`` in the place of the file at once, keeping its permissions; links are followed."""
    target = Path(os.path.realpath(path))
    if target.exists() and not (os.access(target, os.W_OK) and target.stat().st_mode & 0o222):
        raise UsageError(f"{path}: you have no permission to write it; nothing is written")
    temporary: str | None = None
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent)
        with open(handle, "wb") as file:
            file.write(text.encode("utf-8-sig" if bom else "utf-8"))
            file.flush()
            os.fsync(file.fileno())
        _copy_rights(target, temporary)
        os.replace(temporary, target)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise UsageError(f"{path}: it cannot be written: {reason}; nothing is written") from None
    except BaseException:  # interrupted: leave no half file beside the old one
        raise
    else:
        temporary = None
    finally:
        if temporary is not None:
            with contextlib.suppress(OSError):
                os.unlink(temporary)


def _copy_rights(target: Path, temporary: str) -> None:
    if target.exists():
        status = target.stat()
        os.chmod(temporary, status.st_mode & 0o7777)
        if hasattr(os, "chown"):
            with contextlib.suppress(OSError):
                os.chown(temporary, status.st_uid, status.st_gid)
    else:
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(temporary, 0o666 & ~mask)
