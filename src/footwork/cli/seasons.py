"""footwork seasons: one layout for the year, or another each season."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from footwork.cli import output
from footwork.cli.options import file_argument, json_option, layout_option
from footwork.cli.studying import chart_option, check_picture, study_of, study_options

if TYPE_CHECKING:
    from footwork.study.seasons import Arrangement, Seasons


@click.command("seasons", short_help="Whether it pays to change the layout with the season.")
@file_argument
@layout_option
@click.option(
    "--most",
    type=click.IntRange(min=0),
    metavar="N",
    help="Try layouts with 1 ... N things elsewhere, beside any number.  [default: 3, or all there is]",
)
@click.option(
    "--minutes",
    type=click.FloatRange(min=0, max=100_000),
    metavar="M",
    help="What it takes to carry one thing, with emptying it and setting it up.  [default: 15]",
)
@click.option(
    "--plan",
    type=click.IntRange(min=0),
    metavar="K",
    help="Tell and save plan K of the table.  [default: the one that saves most time]",
)
@click.option(
    "--save",
    metavar="NAME",
    help="Write the plan's layouts into FILE as NAME-SEASON, one for the whole year as NAME.",
)
@click.option("--replace", is_flag=True, help="Let --save write over layouts of these names.")
@chart_option
@study_options
@json_option
def command(
    file: Path,
    layout: str | None,
    most: int | None,
    minutes: float | None,
    plan: int | None,
    save: str | None,
    replace: bool,
    out: Path | None,
    as_json: bool,
    **asked: Any,
) -> int:
    """Compare one layout for the whole year with another layout each season, for a FILE with [seasons].

    Each plan of the table moves more than the one above it and costs less. Told are the metres of each
    season, what is carried a year in all changes, the hours of walking that saves against one layout for the
    year, and below how many minutes a carry it pays. Of the plan that saves most time, or plan K, also what
    to carry into each season and in which order, as `footwork weekend` tells it. No plan on the spots
    searched costs less than the bound.

    Leaves with 1 when there is a season without a layout that passes every must-check.
    """
    from footwork.model.read import load
    from footwork.study.seasons import MINUTES, MOST, seasons

    scenario = load(file)
    _check_names(scenario, save, replace)
    check_picture(out)
    with study_of(scenario, **asked) as study:
        found = seasons(
            scenario,
            layout,
            most=min(MOST, len(scenario.things)) if most is None else most,
            minutes=MINUTES if minutes is None else minutes,
            **study,
        )
    if out is not None:
        from footwork.show.charts import write_chart
        from footwork.show.season_tables import draw_seasons

        title = f"{scenario.name}: what a change with the season saves"
        write_chart(out, title, lambda axes: draw_seasons(found, axes))
    _keep_and_show(found, _chosen(found, plan), save, replace, as_json)
    if out is not None:
        output.note(f"wrote {out}")
    return 0


def _check_names(scenario: Any, save: str | None, replace: bool) -> None:
    from footwork.cli.saving import check_new_layout

    check_new_layout(scenario, save, replace)
    for season in scenario.seasons if save is not None else ():
        check_new_layout(scenario, f"{save}-{season.name}", replace)


def _chosen(found: Seasons, number: int | None) -> int:
    from footwork.model.errors import UsageError

    if number is None:
        return found.best
    if number >= len(found.plans):
        raise UsageError(f"--plan {number}: there are plans 0 to {len(found.plans) - 1}")
    return number


def _keep_and_show(found: Seasons, chosen: int, save: str | None, replace: bool, as_json: bool) -> None:
    """Save first, where that was asked; then show."""
    from footwork.cli.saving import keep_then_show

    def show(saved: bool) -> None:
        if as_json:
            output.data(found.to_dict())
            return
        from footwork.show.season_tables import seasons as show_plans

        show_plans(found, output.console(), chosen)

    if save is None:
        show(False)
    else:
        keep_then_show(lambda: _save(found, found.plans[chosen], save, replace), show)


def _save(found: Seasons, plan: Arrangement, name: str, replace: bool) -> list[str]:
    """Write the layouts of a plan one after the other; gives what to say of them."""
    from footwork.cli.saving import save_found
    from footwork.model.read import load
    from footwork.scoring import score
    from footwork.study.seasons import in_season

    scenario, said = found.scenario, list[str]()
    alike = all(layout.placements == plan.layouts[0].placements for layout in plan.layouts)
    for season, layout in zip(scenario.seasons, plan.layouts, strict=True):
        figures = score(scenario if alike else in_season(scenario, season.name), layout)
        title = name if alike else f"{name}-{season.name}"
        now = scenario if not said or scenario.path is None else load(scenario.path)
        said += save_found(now, figures, title, replace)
        if alike:
            break
    return said
