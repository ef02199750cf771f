"""Changing the text of a scenario file key by key, so that comments and all else stay as they are."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from footwork.model import spelling
from footwork.model.errors import ScenarioError, UsageError
from footwork.model.lines import KeyPath, with_renamed, with_table, without_elements, without_table
from footwork.model.read import loads
from footwork.model.scenario import Scenario

STAND_IN = '\n[room]\nsize = ["6 m", "4 m"]\n'
"""The room that is drawn nowhere, until there is one."""
IN_THE_FILE = "the file writes it in a way that cannot be changed here; change it in the file"


def raw(text: str) -> dict[str, Any]:
    """The text as plain tables and values."""
    return tomllib.loads(text.replace("\r\n", "\n"))


def has_room(text: str) -> bool:
    """Whether a room has been made."""
    return "room" in raw(text)


def read(text: str, path: Path | None) -> Scenario:
    """The scenario of a text that may have no stations yet, and no room; ScenarioError where it has faults.

    Of one without a room that of the result stands in for it.
    """
    try:
        roomless = not has_room(text)
    except (ValueError, RecursionError):  # told by the reader, with line and mend
        roomless = False
    if not roomless:
        return loads(text, path, unfinished=True)
    return loads(text + STAND_IN, path, unfinished=True).with_(text=text)


def reread(text: str, scenario: Scenario) -> Scenario:
    """The scenario of a changed text; UsageError, in one line, where it would have faults."""
    try:
        return read(text, scenario.path)
    except ScenarioError as fault:
        told = [f"{p.where}: {p.what}{f'; {p.mend}' if p.mend else ''}" for p in fault.problems]
        more = f" (and {len(told) - 1} more)" if len(told) > 1 else ""
        raise UsageError(f"{told[0]}{more}") from None


def with_keys(text: str, path: Sequence[str | int], keys: Mapping[str, str | None]) -> str:
    """The text with keys of the table at ``path`` set to TOML values; None takes a key out.

    What says the same already stays as it is typed.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        doc: Any = tomlkit.parse(text)
        table = doc
        for part in path:
            table = table[part]
        for key, value in keys.items():
            if value is None:
                table.pop(key, None)
                continue
            new = tomlkit.value(value)
            if key not in table or table[key].unwrap() != new.unwrap():
                table[key] = new
        return tomlkit.dumps(doc)
    except (TOMLKitError, LookupError, TypeError, ValueError, AttributeError):
        raise UsageError(f"{dotted(path)}: {IN_THE_FILE}") from None


def with_new(text: str, path: tuple[str, ...], keys: Mapping[str, str | None], listed: bool = False) -> str:
    """The text with a new table, after the last of its kind: ``[stations.bench]``, ``[[room.doors]]``.

    Where the file writes those of its kind in one line each, so is the new one.
    """
    given = {key: spelt for key, spelt in keys.items() if spelt is not None}
    header = ".".join(map(spelling.key, path))
    rows = "".join(f"{key} = {spelt}\n" for key, spelt in given.items())
    new = with_table(text, path[0], f"[[{header}]]\n{rows}" if listed else f"[{header}]\n{rows}")
    try:
        raw(new)
    except ValueError:
        line = f"{{ {', '.join(f'{key} = {spelt}' for key, spelt in given.items())} }}"
        return _with_element(text, path, line) if listed else with_keys(text, path[:-1], {path[-1]: line})
    return new


def _with_element(text: str, path: tuple[str, ...], line: str) -> str:
    """The text with one more in an array."""
    import tomlkit

    doc: Any = tomlkit.parse(text)
    array = doc
    for part in path:
        array = array[part]
    array.append(tomlkit.value(line))
    return tomlkit.dumps(doc)


def without(text: str, path: KeyPath) -> str:
    """The text without the table at ``path``, however it is written."""
    new = without_table(text, path)
    if new != text:
        return new
    if isinstance(path[-1], int):
        return without_elements(text, [path])
    return with_keys(text, path[:-1], {path[-1]: None})


def renamed(text: str, path: tuple[str, str], new: str) -> str:
    """The text with the table at ``path`` under another name; what speaks of it is left alone."""
    other = with_renamed(text, path, spelling.key(new))
    if other != text:
        return other
    import tomlkit

    doc: Any = tomlkit.parse(text)
    doc[path[0]][new] = doc[path[0]].pop(path[1])
    return tomlkit.dumps(doc)


def dotted(path: Iterable[str | int]) -> str:
    """``room.doors.1``, counted from 1."""
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in path)


def value(given: Any) -> str:
    """A TOML value: a text, a number, a flag, or a list of them."""
    if isinstance(given, bool):
        return "true" if given else "false"
    if isinstance(given, str):
        return spelling.string(given)
    if isinstance(given, dict):
        return f"{{ {', '.join(f'{spelling.key(k)} = {value(v)}' for k, v in given.items())} }}"
    if isinstance(given, list | tuple):
        return f"[{', '.join(map(value, given))}]"
    return repr(given)
