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
