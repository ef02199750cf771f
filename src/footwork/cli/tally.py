"""footwork tally: how often jobs are done, counted on a sheet."""

from __future__ import annotations

from pathlib import Path

import click

from footwork.cli import output
from footwork.cli.options import above_nothing, file_argument, json_option


@click.command("tally", short_help="Count visits on a sheet into jobs and how often they are done.")
@file_argument
@click.argument("visits", metavar="[VISITS]", required=False, type=click.Path(path_type=Path))
@click.option("--sheet", is_flag=True, help="Print an empty sheet to tick, with the places of FILE.")
@click.option(
    "--rows", type=click.IntRange(1, 10_000), default=40, metavar="N", help="Rows of it.  [default: 40]"
)
@click.option(
    "--weeks",
    callback=above_nothing,
    metavar="W",
    help="How long the sheet was kept.  [default: from its first day to its last]",
)
@click.option(
    "--pause",
    callback=above_nothing,
    metavar="HOURS",
    help="Hours without a visit after which the next begins anew.  [default: 4]",
)
@click.option("--merge", is_flag=True, help="Write the frequencies and their ranges into FILE.")
@click.option("--to", metavar="NEW", type=click.Path(path_type=Path), help="Write them into a copy of FILE.")
@json_option
def command(
    file: Path,
    visits: Path | None,
    sheet: bool,
    rows: int,
    weeks: float | None,
    pause: float | None,
    merge: bool,
    to: Path | None,
    as_json: bool,
) -> None:
    """Count the visits in VISITS, a CSV file, into jobs with how often they are done.

    Its columns are `place`, `time` (2026-03-01 14:05, or 14:10 on the day of the row before) or `order` (a
    number), and `job` if you like. Or a column for each place, ticked, as --sheet prints: with 1, 2, 3 under
    several places a row is a whole job.

    Rows of one job that follow each other are one time that it was done, until the route that FILE has for it
    is through. Rows without a job count as walks from one place to the next. What a job is likely to be done
    is the exact interval of a Poisson count at 95 %; with --merge it becomes the job's times_range. Comments
    in FILE stay.
    """
    from footwork.model.errors import UsageError
    from footwork.model.read import load
    from footwork.study.tally import PAUSE, tally, tick_sheet

    scenario = load(file)
    if sheet:
        if visits is not None or merge or to is not None or as_json:
            raise UsageError("--sheet prints an empty sheet; leave out VISITS, --merge, --to and --json")
        output.line(tick_sheet(scenario, rows).rstrip("\n"))
        return
    if visits is None:
        raise UsageError("name the CSV file with the visits; --sheet prints an empty one")
    if merge and to is not None:
        raise UsageError("--merge and --to exclude each other; give one")
    if to is not None:
        from footwork.cli.saving import check_new_file

        check_new_file(to)
    found = tally(scenario, visits, weeks=weeks, pause=PAUSE if pause is None else pause)
    goal = file if merge else to
    if goal is not None:
        from footwork.model.write import put_in_place

        put_in_place(goal, found.text, scenario.text if merge else None)
    if as_json:
        output.data(found.to_dict())
    else:
        from footwork.show.tally_tables import tally as show

        show(found, output.console())
    if goal is not None:
        output.note(f"saved in {goal}: {len(found.jobs)} jobs counted")
