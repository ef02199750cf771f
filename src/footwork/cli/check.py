"""footwork check: everything that is wrong with a file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from footwork.cli import output
from footwork.cli.options import json_option

if TYPE_CHECKING:
    from footwork.model.scenario import Scenario


@click.command("check", short_help="Say everything that is wrong with a file.")
@click.argument("file", metavar="[FILE]", required=False, type=click.Path(path_type=Path))
@click.option("--rules", is_flag=True, help="List the checks with figure, price and source, as in FILE.")
@json_option
def command(file: Path | None, rules: bool, as_json: bool) -> int:
    """Read FILE and say everything that is wrong with it.

    Every problem comes with its table, key and line and what would mend it. `footwork score` tells
    whether a layout of it passes the checks.
    """
    from footwork.model.errors import ScenarioError, UsageError
    from footwork.model.read import load

    if file is None and not rules:
        raise UsageError("which file? try: footwork check FILE")
    try:
        scenario = None if file is None else load(file)
    except ScenarioError as fault:
        if as_json:
            problems = [
                {"where": p.where, "line": p.line, "what": p.what, "mend": p.mend} for p in fault.problems
            ]
            output.data({"file": str(file), "ok": False, "problems": problems})
        else:
            output.errors(fault.lines)
        return fault.exit_status
    if rules:
        return _show_rules(scenario, as_json)
    assert scenario is not None
    if as_json:
        output.data({"file": str(file), "ok": True, "problems": []})
    else:
        from footwork.model.likely_units import question

        output.line(f"no fault found: {contents(scenario)}")
        if asked := question(scenario):
            output.line(f"note: {asked}")
    return 0


def _show_rules(scenario: Scenario | None, as_json: bool) -> int:
    """The checks as the file sets them, or as they are without one."""
    from footwork.checks import rules

    settings = {} if scenario is None else scenario.checks
    found = rules(settings)
    if as_json:
        output.data([rule.to_dict() for rule in found])
    else:
        from footwork.show import tables

        tables.rules(found, output.console(), "m" if scenario is None else scenario.units)
    return 0


def contents(scenario: Scenario) -> str:
    """What a file holds, in one line."""
    from footwork.model.units import format_length

    size = scenario.room.size
    if size is None:
        room = f"a room of {len(scenario.room.walls)} walls"
    else:
        room = " x ".join(format_length(side, scenario.units) for side in size)
    counts = (
        (len(scenario.stations), "station"),
        (len(scenario.vehicles), "vehicle"),
        (len(scenario.jobs), "job"),
        (len(scenario.spots), "spot"),
        (len(scenario.layouts), "layout"),
    )
    shown = [f"{n} {word}{'' if n == 1 else 's'}" for n, word in counts if n or word in ("job", "layout")]
    return ", ".join([room, *shown])
