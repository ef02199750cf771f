"""footwork compare: layouts side by side."""

from __future__ import annotations

from pathlib import Path

import click

from footwork.cli import output
from footwork.cli.options import file_argument, json_option
from footwork.cli.shell_names import names_in


@click.command("compare", short_help="Show layouts side by side.")
@file_argument
@click.argument("names", metavar="[NAME NAME ...]", nargs=-1, shell_complete=names_in("layouts"))
@json_option
def command(file: Path, names: tuple[str, ...], as_json: bool) -> int:
    """Show layouts side by side: the named ones, or all of the file.

    Leaves with 1 when one of them fails a must-check.
    """
    from footwork.model.errors import UsageError
    from footwork.model.read import load
    from footwork.scoring import find_layout, score

    scenario = load(file)
    layouts = [find_layout(scenario, name) for name in dict.fromkeys(names)] or list(scenario.layouts)
    if len(layouts) < 2:
        find_layout(scenario)  # a file without any layout has its own message
        known = ", ".join(layout.name for layout in scenario.layouts)
        raise UsageError(f"name two layouts or more to compare; {file} has {known}")
    scores = [score(scenario, layout) for layout in layouts]
    if as_json:
        output.data([each.to_dict() for each in scores])
    else:
        from footwork.show import tables

        tables.compare(scores, output.console(), scenario)
    return 0 if all(each.ok for each in scores) else 1
