"""footwork report: one page for the screen."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from footwork.cli import output
from footwork.cli.options import (
    anywhere_option,
    file_argument,
    moves_option,
    names,
    quiet_option,
    read_pitch,
    save_options,
    search_options,
    strict_option,
)
from footwork.cli.saving import as_held, check_new_layout, keep_then_show, save_found
from footwork.cli.shell_names import names_in

if TYPE_CHECKING:
    from footwork.arrange.core.results import Suggestion
    from footwork.model.scenario import Scenario


@click.command("report", short_help="Write a page with plans, jobs, checks and what to move.")
@file_argument
@click.option(
    "--out",
    metavar="FILE",
    required=True,
    type=click.Path(path_type=Path),
    help="Where to: an .html file.",
)
@click.option(
    "--layout",
    metavar="NAME",
    shell_complete=names_in("layouts"),
    help="The layout the page is about.  [default: the last of the file]",
)
@click.option(
    "--before",
    metavar="NAME",
    shell_complete=names_in("layouts"),
    help="The layout it is compared with.  [default: the first of the file]",
)
@click.option(
    "--study",
    "studies",
    metavar="FILE.json",
    multiple=True,
    type=click.Path(path_type=Path),
    help="Add a section with what a study printed with --json; may be given several times.",
)
@click.option("--suggest", is_flag=True, help="Search for a better layout, and report on that.")
@search_options
@click.option(
    "--keep",
    callback=names,
    metavar="A,B",
    shell_complete=names_in("stations", "vehicles", listed=True),
    help="Stations that stay as before.",
)
@moves_option
@anywhere_option
@strict_option
@save_options
@quiet_option
@click.pass_context
def command(
    ctx: click.Context,
    /,
    file: Path,
    out: Path,
    layout: str | None,
    before: str | None,
    studies: tuple[Path, ...],
    suggest: bool,
    save: str | None,
    replace: bool,
    **choices: Any,
) -> None:
    """Write a page about a layout beside the one before it, for a screen, a phone or a printer.

    It shows both plans with the walk of each job, the jobs, what is walked from where to where, every check,
    and what to move in which order. The page is one file and needs no network. With --suggest it searches
    first, as `footwork suggest` does, and shows how good what it found is; --save keeps that in the file.
    """
    from footwork.model.errors import UsageError
    from footwork.model.read import load
    from footwork.scoring import find_layout
    from footwork.show.files import check_goal

    _check_choices(ctx, layout, suggest)
    if out.suffix.lower() not in (".html", ".htm"):
        raise UsageError(f"{out}: a report is written as .html; give the file this suffix")
    check_goal(out)
    scenario = load(file)
    check_new_layout(scenario, save, replace)
    told = [_study(path, scenario) for path in studies]
    base = find_layout(scenario, before).name if before is not None or scenario.layouts else None
    if not suggest:
        after = find_layout(scenario, layout or (scenario.layouts[-1].name if scenario.layouts else None))
    from footwork.show.report.write import report  # last: it takes a while to load

    if not suggest:
        report(scenario, after, out, before=None if base == after.name else base, studies=told)
        output.line(f"wrote {out}")
        return
    found = _search(scenario, base, **choices)
    if save is not None and found.layouts:
        found = as_held(found, scenario)

    def keep() -> list[str]:
        return [] if save is None or not found.layouts else save_found(scenario, found.best, save, replace)

    def show(saved: bool) -> None:
        named = {} if save is None else {"name": save}
        report(load(file) if saved else scenario, found, out, **named, studies=told)
        for remark in found.notes:
            output.note(f"note: {remark}")
        output.line(f"wrote {out}")

    keep_then_show(keep, show)


def _study(path: Path, scenario: Scenario) -> object:
    """What a study printed into a file.  Raises UsageError where it is something else."""
    import json

    from footwork.model.errors import UsageError
    from footwork.show.report.studies import section

    try:
        told = json.loads(path.read_text(encoding="utf-8"))
        section(told, scenario)
    except OSError as fault:
        raise UsageError(f"{path}: {fault.strerror or fault}") from None
    except ValueError:
        raise UsageError(f"{path}: it is not JSON; print the study with --json into it") from None
    except UsageError as fault:
        raise UsageError(f"{path}: {fault.lines[0]}") from None
    return told


_ANY_PAGE = frozenset(("file", "out", "layout", "before", "studies", "suggest", "quiet"))
"""Arguments that mean something without a search; all others go with one."""


def _check_choices(ctx: click.Context, layout: str | None, suggest: bool) -> None:
    """Refuse choices of a search without a search, and a search beside a layout of the file."""
    from click.core import ParameterSource

    from footwork.model.errors import UsageError

    if suggest and layout is not None:
        raise UsageError("--suggest and --layout exclude each other: the page is about one of them")
    given = [
        name
        for name in ctx.params
        if name not in _ANY_PAGE and ctx.get_parameter_source(name) == ParameterSource.COMMANDLINE
    ]
    if given and not suggest:
        raise UsageError(f"--{given[0]} goes with --suggest; add that, or leave --{given[0]} out")
    if "seconds" in given and "iterations" in given:
        raise UsageError("--seconds and --iterations exclude each other; give one")


def _search(
    scenario: Scenario,
    base: str | None,
    *,
    seconds: float | None,
    pitch: str | None,
    quiet: bool,
    **choices: Any,
) -> Suggestion:
    """What ``footwork suggest`` finds with the same choices."""
    distance = read_pitch(pitch, scenario.units)
    from footwork.arrange.suggest import suggest
    from footwork.cli.progress import ProgressLine

    progress = ProgressLine(quiet, scenario.units)
    try:
        return suggest(
            scenario,
            base,
            seconds=30.0 if seconds is None else seconds,
            pitch=distance,
            progress=progress,
            **choices,
        )
    finally:
        progress.close()
