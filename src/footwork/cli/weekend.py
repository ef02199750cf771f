"""footwork weekend: the few moves that pay most."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from footwork.cli import output
from footwork.cli.options import file_argument, json_option, layout_option
from footwork.cli.studying import chart_option, check_picture, study_of, study_options

if TYPE_CHECKING:
    from footwork.study.weekend import Moves, Weekend


@click.command("weekend", short_help="The few moves that save most, and in which order to make them.")
@file_argument
@layout_option
@click.option(
    "--most",
    type=click.IntRange(min=1),
    metavar="N",
    help="Look at 0, 1, 2 ... N moves.  [default: 6, or all there is]",
)
@click.option(
    "--moves",
    type=click.IntRange(min=0),
    metavar="K",
    help="Tell the order of K moves.  [default: the fewest that save 80 % of what all would]",
)
@click.option("--save", metavar="NAME", help="Write the layout of these moves into FILE under this name.")
@click.option("--replace", is_flag=True, help="Let --save write over a layout of that name.")
@chart_option
@study_options
@json_option
def command(
    file: Path,
    layout: str | None,
    most: int | None,
    moves: int | None,
    save: str | None,
    replace: bool,
    out: Path | None,
    as_json: bool,
    **asked: Any,
) -> int:
    """Find the best layout for each number of things moved, and the order to move them in.

    Each number has a bound: no layout with so few moved on these spots costs less. In the order told no two
    things share the floor at any step. What has to be set aside meanwhile, and where it can stand, is chosen
    so that least weight is lifted twice and carried round; weights are those of the file, else 100 kg for
    each square metre, and a tenth of it for what rolls.

    Leaves with 1 when no layout passes every must-check.
    """
    from footwork.cli.saving import check_new_layout
    from footwork.model.errors import UsageError
    from footwork.model.read import load
    from footwork.study.weekend import MOST, weekend

    scenario = load(file)
    check_new_layout(scenario, save, replace)
    check_picture(out)
    greatest = min(MOST, len(scenario.things)) if most is None else most
    if moves is not None and moves > greatest:
        raise UsageError(f"--moves {moves} is more than the {greatest} looked at; give --most {moves}")
    with study_of(scenario, **asked) as study:
        found = weekend(
            scenario,
            layout,
            most=greatest,
            **study,
        )
    chosen = _chosen(found, moves)
    if out is not None:
        from footwork.show.charts import write_chart
        from footwork.show.weekend_tables import draw_weekend

        write_chart(out, f"{scenario.name}: what few moves save", lambda axes: draw_weekend(found, axes))
    _keep_and_show(found, chosen, save, replace, as_json)
    if out is not None:
        output.note(f"wrote {out}")
    return 0 if found.enough is not None else 1


def _chosen(found: Weekend, moves: int | None) -> Moves | None:
    if moves is None:
        return found.enough
    return next((each for each in found.curve if each.moves == moves), None)


def _keep_and_show(
    found: Weekend, chosen: Moves | None, save: str | None, replace: bool, as_json: bool
) -> None:
    """Save first, where that was asked; then show."""
    from footwork.cli.saving import keep_then_show, save_found
    from footwork.model.errors import UsageError
    from footwork.scoring import score

    def show(saved: bool) -> None:
        if as_json:
            output.data(found.to_dict())
            return
        from footwork.show.weekend_tables import weekend as show_curve

        show_curve(found, output.console(), chosen)

    if save is None:
        show(False)
        return
    if chosen is None or chosen.layout is None:
        show(False)
        raise UsageError(f"layout {save!r} is not saved: none was found")
    figures = score(found.scenario, chosen.layout)
    keep_then_show(lambda: save_found(found.scenario, figures, save, replace), show)
