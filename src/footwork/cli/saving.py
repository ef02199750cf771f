"""Saving from the command line and the prompt: first the file, then what is told of it.

Whoever reads the output may leave early (``| head -1``); what was found is in the file by then.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from footwork.cli import output
from footwork.model.errors import FootworkError, UsageError

if TYPE_CHECKING:
    from footwork.arrange.core.results import Suggestion
    from footwork.model.scenario import Scenario
    from footwork.model.write import Draft
    from footwork.scoring import Score
    from footwork.whatif import State


@dataclass(frozen=True, slots=True)
class Wish:
    """What was asked to be saved: ``everything`` that moves changed, or ``to`` a new file.

    ``mend`` says how to ask for one of the two, where there is need to.
    """

    name: str
    replace: bool = False
    everything: bool = False
    to: Path | None = None
    mend: str = "--all writes all of it, --to FILE a new file"


class NotSaved(UsageError):
    """Moves changed more than where things stand, and nobody said what is to become of that.

    ``listed`` are lines that say what would change for the other layouts.
    """

    def __init__(self, line: str, listed: Iterable[str]) -> None:
        super().__init__(line)
        self.listed = tuple(listed)


def check_new_layout(scenario: Scenario, name: str | None, over: bool) -> None:
    """Refuse, before any work is done, a name that a layout cannot have or already has."""
    from footwork.model.names import name_fault

    if name is None:
        if over:
            raise UsageError("--replace does nothing without --save NAME")
        return
    fault = name_fault(name)
    if fault:
        raise UsageError(f"--save {name!r}: {fault}")
    if not over and any(layout.name == name for layout in scenario.layouts):
        raise UsageError(
            f"--save {name!r}: the file has a layout of that name; "
            "choose another, or add --replace to write over it"
        )


def check_goal(name: str | None, everything: bool, to: Path | None) -> None:
    """Refuse, before any work is done, what cannot be done with --all and --to."""
    if name is None and (everything or to is not None):
        raise UsageError(f"{'--all' if everything else '--to'} does nothing without --save NAME")
    if everything and to is not None:
        raise UsageError("--all and --to exclude each other; give one")
    if to is not None:
        check_new_file(to)


def check_new_file(path: Path) -> None:
    """Refuse a file that is there already, and one in a folder that is not."""
    if path.exists():
        raise UsageError(f"{path}: there is such a file already; choose another name")
    if not path.parent.is_dir():
        raise UsageError(f"{path}: there is no folder {path.parent}")


def save_state(state: State, wish: Wish) -> list[str]:
    """Write the layout of a what-if, and nothing else unless asked; gives what to say of it.

    Raises NotSaved, and writes nothing, where moves changed what all layouts share and nobody said
    ``everything`` or a file of its own; UsageError where it cannot be written.
    """
    from footwork.model.write import draft

    made = draft(state.scenario, state.layout, wish.name, wish.to, over=wish.replace)
    if not wish.everything and wish.to is None and made.changes:
        raise NotSaved(f"layout {wish.name!r} is not saved; {wish.mend}", _shared(made, wish.name))
    made.write()
    return _said(wish.name, made.path, state.score.ok)


def _said(name: str, path: Path | None, ok: bool) -> list[str]:
    fails = [] if ok else ["note: it fails a must-check; `footwork score` says which"]
    return [f"saved as layout {name!r} in {path}", *fails]


def _shared(made: Draft, name: str) -> list[str]:
    """What would change for the other layouts of the file."""
    from footwork.show.change_tables import shared_lines
    from footwork.whatif import shared

    changes, left_out = shared(made.before, made.after, name)
    return [
        "the moves changed more than where things stand; every layout of the file would have this:",
        *(f"  {line}" for line in made.changes),
        *(f"  {line}" for line in shared_lines(changes, left_out, made.after)),
    ]


def as_held(result: Suggestion, scenario: Scenario) -> Suggestion:
    """The suggestion with its best layout as the file can hold it: the figures are of what is saved."""
    from footwork.model.scenario import Layout
    from footwork.model.spelling import held_layout
    from footwork.scoring import score

    best = result.best
    layout = held_layout(Layout(best.layout, best.placements), scenario)
    if layout.placements == best.placements:
        return result
    found = score(scenario, layout)
    anywhere = None if result.anywhere is None else replace(result.anywhere, cost=found.cost)
    return replace(result, layouts=(found, *result.layouts[1:]), anywhere=anywhere)


def save_found(scenario: Scenario, found: Score, name: str, over: bool) -> list[str]:
    """Write the layout that a search found into the scenario's own file; gives what to say of it.

    Where it cannot be, as when the file was edited during the search, it is written beside that, with the
    scenario as it was read, and UsageError says so.
    """
    from footwork.model.scenario import Layout
    from footwork.model.write import draft

    layout = Layout(name, found.placements)
    try:
        draft(scenario, layout, name, scenario.path, over=over).write()
    except FootworkError as fault:
        beside = _beside(scenario, name)
        if beside is None:
            raise
        try:
            draft(scenario, layout, name, beside).write()
        except FootworkError:
            raise fault from None
        raise UsageError(
            *fault.lines, f"layout {name!r} is saved beside it, with the scenario as it was read, in {beside}"
        ) from None
    return _said(name, scenario.path, found.ok)


def _beside(scenario: Scenario, name: str) -> Path | None:
    """A name for a new file beside the scenario's own."""
    if scenario.path is None or not scenario.text:
        return None
    plain = re.sub(r"[^\w.-]+", "-", name)
    stem = f"{scenario.path.stem}-{plain}"
    names = (stem, *(f"{stem}-{number}" for number in range(2, 100)))
    paths = (scenario.path.with_name(f"{each}{scenario.path.suffix}") for each in names)
    return next((path for path in paths if not path.exists()), None)


def keep_then_show(keep: Callable[[], list[str]], show: Callable[[bool], object]) -> None:
    """Save, then show, then say what was saved or why it was not; ``show`` is told whether it was.

    Raises what ``keep`` raised when all is shown, else BrokenPipeError where nobody reads any more.
    """
    said: list[str] = []
    fault: FootworkError | None = None
    closed: BrokenPipeError | None = None
    try:
        said = keep()
    except FootworkError as found:
        fault = found
    try:
        show(bool(said))
        sys.stdout.flush()
    except BrokenPipeError as found:
        output.nobody_reads()
        closed = found
    finally:
        told(said)
    if fault is not None:
        told(fault.listed if isinstance(fault, NotSaved) else ())
        raise fault
    if closed is not None:
        raise closed


def told(lines: Iterable[str]) -> None:
    """Remarks about what was saved, on stderr."""
    for line in lines:
        output.note(line)
