"""Changing the text of a scenario file key by key, so that comments and all else stay as they are."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from footwork.model import spelling
from footwork.model.errors import ScenarioError, UsageError
from footwork.model.lines import KeyPath, with_table, without_table
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


def with_new(text: str, header: str, keys: Mapping[str, str | None]) -> str:
    """The text with a new table, after the last of its kind: ``[stations.bench]``, ``[[room.doors]]``."""
    rows = "".join(f"{key} = {value}\n" for key, value in keys.items() if value is not None)
    kind = header.strip("[]").partition(".")[0]
    return with_table(text, kind, f"{header}\n{rows}")


def without(text: str, path: KeyPath) -> str:
    """The text without the table at ``path``; UsageError where it cannot be taken out."""
    new = without_table(text, path)
    if new == text:
        raise UsageError(f"{dotted(path)}: {IN_THE_FILE}")
    return new


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
