"""footwork score: the figures of a layout."""

from __future__ import annotations

from pathlib import Path

import click

from footwork.cli import output
from footwork.cli.options import file_argument, json_option, layout_option


@click.command("score", short_help="Walking, standing and checks of a layout.")
@file_argument
@layout_option
@json_option
def command(file: Path, layout: str | None, as_json: bool) -> int:
    """Reckon the figures of a layout: walking by job, standing, and every check.

    A leg without a way wide enough is squeezed through the widest there is: it counts, is told apart, and
    the layout fails the must-check `reachable`. In JSON `squeezed` of a leg is null, or has the `width` of
    that way, 0 for none, and how many metres lead straight `over` what stands there; the sums of such legs
    are `squeezed_metres_each` and `squeezed_metres_per_year`. `held` of a failed check is what holds the
    walker back and by what; of one pinch it is the same in all results.

    `cost` is what is walked, `effort_metres` for setting off and loads, `prefer_metres` for wishes, and
    `check_metres` for should-checks that fail. Each check has its `price`, and in `accepted` the file's words
    where it accepts what fails: `ok` is then true.

    Leaves with 1 when the layout fails a must-check.
    """
    from footwork.model.read import load
    from footwork.scoring import score

    scenario = load(file)
    result = score(scenario, layout)
    if as_json:
        output.data(result.to_dict())
    else:
        from footwork.show import tables

        tables.score(result, output.console(), scenario)
    return 0 if result.ok else 1
