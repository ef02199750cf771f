"""footwork robust: what if the frequencies are guessed wrong."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from footwork.cli import output
from footwork.cli.options import above_nothing, file_argument, json_option
from footwork.cli.shell_names import names_in
from footwork.cli.studying import StudyLine, chart_option, check_picture, study_of, study_options

if TYPE_CHECKING:
    from footwork.model.scenario import Scenario
    from footwork.study.robust import Robust


@click.command("robust", short_help="Which layout to choose while frequencies are guesses.")
@file_argument
@click.argument("names", metavar="[NAME ...]", nargs=-1, shell_complete=names_in("layouts"))
@click.option(
    "--percent",
    callback=above_nothing,
    metavar="P",
    help="Every job may be done P % more or less often.  [default: as times_range says]",
)
@click.option("--search", is_flag=True, help="Also search for layouts that are regretted less.")
@click.option("--save", metavar="NAME", help="Write the one regretted least into FILE under this name.")
@click.option("--replace", is_flag=True, help="Let --save write over a layout of that name.")
@chart_option
@study_options
@json_option
def command(
    file: Path,
    names: tuple[str, ...],
    percent: float | None,
    search: bool,
    save: str | None,
    replace: bool,
    out: Path | None,
    as_json: bool,
    **asked: Any,
) -> None:
    """Compare layouts while it is not known how often each job is done, only between which frequencies.

    The named layouts, or all of FILE that pass every must-check. The regret of a layout is what it costs more
    than the best of them, once the frequencies are known; told is the greatest within the ranges, which is
    exact for these layouts. Also which of them change places, and which job to count first (`footwork
    tally`), as its count leaves least to regret.

    With --search layouts are added: the best as told, with each job most and least often, and where the best
    so far is regretted most, as long as that helps.
    """
    from footwork.cli.saving import check_new_layout
    from footwork.model.read import load
    from footwork.study.robust import robust

    scenario = load(file)
    check_new_layout(scenario, save, replace)
    check_picture(out)
    with study_of(scenario, **asked) as study:
        found = robust(
            scenario,
            names or None,
            percent=percent,
            search=search,
            **study,
        )
    keep_and_show(found, save, replace, out, as_json)


def suggest_robust(
    scenario: Scenario,
    base: str | None,
    how_long: tuple[float | None, int | None, float | None],
    choices: dict[str, Any],
    plan: bool,
    save: str | None,
    replace: bool,
    quiet: bool,
    as_json: bool,
) -> int:
    """``footwork suggest --robust``: ``how_long`` is seconds, iterations and pitch, ``choices`` the other
    options of the search.  Raises UsageError for those that it has no use for."""
    from footwork.model.errors import UsageError
    from footwork.study.cases import Engine
    from footwork.study.effort import SECONDS, Effort
    from footwork.study.journal import usual_path
    from footwork.study.robust import robust

    other = [name for name in ("keep", "moves", "alternatives", "anywhere") if choices.get(name)]
    other += ["plan"] * plan
    if other:
        raise UsageError(f"--robust and --{other[0]} exclude each other; give one")
    seconds, iterations, pitch = how_long
    effort = Effort(
        SECONDS if seconds is None else seconds,
        iterations,
        pitch,
        choices["facings"],
        choices["seed"],
        choices["strict"],
    )
    line = StudyLine(quiet)
    engine = Engine(choices["processes"], usual_path(scenario), line)
    try:
        found = robust(scenario, None if base is None else [base], effort=effort, engine=engine)
    finally:
        line.close()
    keep_and_show(found, save, replace, None, as_json)
    return 0


def keep_and_show(found: Robust, save: str | None, replace: bool, out: Path | None, as_json: bool) -> None:
    """Save and draw what was asked for, then show it."""
    from footwork.cli.saving import keep_then_show, save_found

    if out is not None:
        from footwork.show.charts import write_chart
        from footwork.show.robust_tables import draw_robust

        title = f"{found.scenario.name}: while frequencies are guesses"
        write_chart(out, title, lambda axes: draw_robust(found, axes))

    def show(saved: bool) -> None:
        if as_json:
            output.data(found.to_dict())
            return
        from footwork.show.robust_tables import robust as show_layouts

        show_layouts(found, output.console())

    if save is None:
        show(False)
    else:
        keep_then_show(lambda: save_found(found.scenario, found.scores[found.best], save, replace), show)
    if out is not None:
        output.note(f"wrote {out}")
