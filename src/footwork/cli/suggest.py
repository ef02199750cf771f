"""footwork suggest: search for a better layout."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from footwork.cli import output
from footwork.cli.options import (
    anywhere_option,
    file_argument,
    json_option,
    moves_option,
    names,
    plan_option,
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


@click.command("suggest", short_help="Search for the layout with least walking.")
@file_argument
@click.option(
    "--base",
    metavar="NAME",
    shell_complete=names_in("layouts"),
    help="The layout to do better than.  [default: the first of the file]",
)
@search_options
@click.option(
    "--keep",
    callback=names,
    metavar="A,B",
    shell_complete=names_in("stations", "vehicles", listed=True),
    help="Stations that stay as in the base.",
)
@moves_option
@click.option(
    "--alternatives",
    type=click.IntRange(0, 50),
    default=0,
    metavar="N",
    help="Also show N others that differ by three stations or more.",
)
@anywhere_option
@strict_option
@click.option(
    "--robust",
    is_flag=True,
    help="The layout regretted least while jobs are done as often as their times_range says.",
)
@plan_option
@save_options
@quiet_option
@json_option
def command(
    file: Path,
    base: str | None,
    seconds: float | None,
    iterations: int | None,
    pitch: str | None,
    robust: bool,
    plan: bool,
    save: str | None,
    replace: bool,
    quiet: bool,
    as_json: bool,
    **choices: Any,
) -> int:
    """Search for the layout that costs least walking, and prove how good it is.

    Never suggests a layout that fails a must-check, nor one worse than the base. Ctrl-C stops the
    search and shows the best so far. Leaves with 1 when no layout was found.

    --save writes the best into FILE before anything is printed. When FILE was edited during the search, but
    for layouts and comments, it goes into a new file beside it, and the command leaves with 2.

    With --anywhere, what was found on spots is refined: things slide, stand flush with walls and
    neighbours, and turn by up to 1 degree. The bound then printed last holds for every position:
    centres anywhere, as far from the facings tried as that; backs as far off a wall as its check
    allows. It is weaker than the bound on spots. What is kept, fixed or has spots of its own stays on them.

    Where a should-check fails in the best layout and would wherever things stand, it says why: in JSON
    `unavoidable`. `uncounted` are checks whose price is in the cost and not in the bound.

    With --robust it is as `footwork robust --search`: several layouts are searched for, --seconds each, and
    the one whose greatest regret within the ranges is least is shown.
    """
    from footwork.cli.progress import ProgressLine
    from footwork.model.errors import UsageError
    from footwork.model.read import load
    from footwork.scoring import find_layout

    if seconds is not None and iterations is not None:
        raise UsageError("--seconds and --iterations exclude each other; give one")
    if plan and as_json:
        raise UsageError("--plan and --json exclude each other; give one")
    scenario = load(file)
    check_new_layout(scenario, save, replace)
    base = find_layout(scenario, base).name if base is not None or scenario.layouts else None
    distance = read_pitch(pitch, scenario.units)
    if robust:
        from footwork.cli.robust import suggest_robust

        return suggest_robust(
            scenario, base, (seconds, iterations, distance), choices, plan, save, replace, quiet, as_json
        )
    from footwork.arrange.suggest import suggest  # last: it takes a while to load

    progress = ProgressLine(quiet, scenario.units)
    try:
        result = suggest(
            scenario,
            base,
            seconds=30.0 if seconds is None else seconds,
            iterations=iterations,
            pitch=distance,
            progress=progress,
            **choices,
        )
    finally:
        progress.close()
    if not result.layouts or save is None:
        _show(result, scenario, plan, as_json)
        return 0 if result.layouts else 1
    held = as_held(result, scenario)
    keep_then_show(
        lambda: save_found(scenario, held.best, save, replace),
        lambda saved: _show(held, scenario, plan, as_json),
    )
    return 0


def _show(result: Suggestion, scenario: Scenario, plan: bool, as_json: bool) -> None:
    if as_json:
        output.data(result.to_dict())
        return
    from footwork.show import tables

    tables.suggestion(result, output.console(), scenario)
    if plan and result.layouts:
        from footwork.model.scenario import Layout
        from footwork.show.terminal_plan import stands_elsewhere, terminal_plan

        best = Layout("suggested", result.best.placements)
        before = None if result.base_score is None else result.base_score.placements
        output.line()
        terminal_plan(scenario, best, output.console(), stands_elsewhere(before, best.placements))
