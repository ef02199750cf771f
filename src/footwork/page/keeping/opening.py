"""Opening a file for the page: one that does not exist starts empty, a broken one says what is wrong."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from footwork.model.errors import Problem, ScenarioError, UsageError
from footwork.model.read import read_text
from footwork.model.scenario import Layout, Scenario
from footwork.page.editing.document import read
from footwork.page.editing.free_floor import placed
from footwork.scoring import find_layout

FIRST = "today"
"""What the first layout of a file is called."""


@dataclass(frozen=True)
class Opened:
    """A file as it is, ``text`` None where there is none yet: a scenario with a layout, or problems."""

    path: Path
    text: str | None
    scenario: Scenario | None = None
    layout: Layout | None = None
    problems: tuple[Problem, ...] = ()


def opened(path: Path, layout: str | None = None) -> Opened:
    """The file at ``path`` and its layout of that name, or its first.

    What no layout places stands where floor is free.  Raises UsageError where the file has no such layout or
    can be neither read nor made.
    """
    if not path.exists():
        if not path.absolute().parent.is_dir():
            raise UsageError(f"{path}: there is no such folder; make it first")
        return _readable(path, None, layout)
    try:
        text = read_text(path)
    except ScenarioError as fault:
        raise UsageError(*fault.lines) from None
    try:
        return _readable(path, text, layout)
    except ScenarioError as fault:
        return Opened(path, text, problems=fault.problems)


def _readable(path: Path, text: str | None, name: str | None) -> Opened:
    scenario = read(text or "", path)
    if scenario.layouts or name is not None:
        return Opened(path, text, scenario, find_layout(scenario, name))
    return Opened(path, text, scenario, Layout(FIRST, placed(scenario, {})))
