"""footwork sizes: which room."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from footwork.cli import output
from footwork.cli.options import file_argument, json_option
from footwork.cli.shell_names import names_in
from footwork.cli.studying import study_of, study_options

if TYPE_CHECKING:
    from footwork.model.scenario import Scenario
    from footwork.resizing import Size


@click.command("sizes", short_help="The best layout for many sizes of the room.")
@file_argument
@click.option(
    "--width", metavar="FROM:TO", help="East to west.  [default: a metre less than now to two more]"
)
@click.option(
    "--depth", metavar="FROM:TO", help="South to north.  [default: a metre less than now to two more]"
)
@click.option("--step", metavar="LENGTH", help="From one size to the next.  [default: 1 m]")
@click.option(
    "--base",
    metavar="NAME",
    shell_complete=names_in("layouts"),
    help="The layout to start from.  [default: the first of the file]",
)
@click.option(
    "--out",
    metavar="PATH",
    type=click.Path(path_type=Path),
    help="Also write it to a .csv, or draw it as .svg, .png or .pdf.",
)
@study_options
@json_option
def command(
    file: Path,
    width: str | None,
    depth: str | None,
    step: str | None,
    base: str | None,
    out: Path | None,
    as_json: bool,
    **asked: Any,
) -> int:
    """Find the best layout for many sizes of the room, and where more floor stops paying.

    With one of --width and --depth the other side stays as it is. Doors and windows keep their distance from
    the west or south end of their wall and go with it, yards with the wall they lie against; fixtures stay.
    The best layout of a room is tried in the next larger ones, so that none is dearer than it would be there.

    Sizes are searched one a core. What is finished is kept: after Ctrl-C, or when the power goes, the same
    command goes on where it stopped. Leaves with 1 when no size holds everything.
    """
    from footwork.model.read import load
    from footwork.study.sizes import grid, sizes

    scenario = load(file)
    wanted = _wanted(scenario, width, depth, step)
    check_out(out)
    with study_of(scenario, **asked) as study:
        found = sizes(
            scenario,
            grid(*wanted),
            base,
            **study,
        )
    if out is not None:
        _write(found, out)
    if as_json:
        output.data(found.to_dict())
    else:
        from footwork.show.size_tables import sizes as show

        show(found, output.console())
    if out is not None:
        output.note(f"wrote {out}")
    return 0 if any(room.layout is not None for room in found.rooms) else 1


def check_out(out: Path | None) -> None:
    """Refuse, before any work is done, a file that the result cannot be written into."""
    from footwork.show.charts import check_chart
    from footwork.show.files import check_goal

    if out is not None and out.suffix.lower() == ".csv":
        check_goal(out)
    elif out is not None:
        check_chart(out)


def _write(found: Any, out: Path) -> None:
    from footwork.show.charts import write_chart
    from footwork.show.files import write_whole
    from footwork.show.size_tables import draw_sizes, sizes_csv

    if out.suffix.lower() == ".csv":
        write_whole(out, lambda file: file.write(sizes_csv(found).encode("utf-8")))
    else:
        write_chart(out, f"{found.scenario.name}: which room", lambda axes: draw_sizes(found, axes))


def _wanted(
    scenario: Scenario, width: str | None, depth: str | None, step: str | None
) -> tuple[list[float], list[float]]:
    """The widths and depths asked for, metres."""
    from footwork.cli.studying import read_range, steps_between
    from footwork.model.errors import UsageError
    from footwork.moves import read_length

    now: Size | None = scenario.room.size
    if now is None:
        raise UsageError("this room is given by its outline; only a room given by size has other sizes")
    try:
        by = 1.0 if step is None else read_length(step, scenario.units)
    except ValueError as fault:
        raise UsageError(f"--step: {fault}") from None
    if by < 0.01:
        raise UsageError(f"--step: {step} is no step; give one of 1 cm or more")

    def side(option: str, given: str | None, other: str | None, length: float) -> list[float]:
        if given is not None:
            return steps_between(option, read_range(option, given, scenario.units), by)
        if other is not None:
            return [length]
        return [length + k * by for k in (-1, 0, 1, 2) if length + k * by > 0]

    return side("--width", width, depth, now[0]), side("--depth", depth, width, now[1])
