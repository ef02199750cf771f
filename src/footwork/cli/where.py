"""footwork where: what the year would cost with one thing elsewhere."""

from __future__ import annotations

from pathlib import Path

import click

from footwork.cli import output
from footwork.cli.options import file_argument, json_option, layout_option, read_pitch
from footwork.cli.shell_names import names_in


@click.command("where", short_help="Where else one thing could stand, and what the year would cost.")
@file_argument
@click.argument("station", metavar="STATION", shell_complete=names_in("stations", "vehicles"))
@layout_option
@click.option(
    "--pitch",
    metavar="LENGTH",
    help="Width of the squares that the floor is told in; in the file's units, or with its own.  "
    "[default: 0.25 m]",
)
@click.option(
    "--top",
    type=click.IntRange(min=1),
    default=10,
    show_default=True,
    metavar="N",
    help="How many spots to tell.",
)
@click.option(
    "--picture",
    "-o",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Also draw them over the plan: .svg, .png, .pdf or .dxf.",
)
@json_option
def command(
    file: Path,
    station: str,
    layout: str | None,
    pitch: str | None,
    top: int,
    picture: Path | None,
    as_json: bool,
) -> int:
    """Where else a station or vehicle could stand while everything else stays.

    Each spot is told with what the whole year would cost then: walking, wishes and failed checks, as
    `footwork score` reckons. What no must-check allows is told with what stands in the way.

    Leaves with 1 when there is no spot for it.
    """
    from footwork.elsewhere.answer import where
    from footwork.elsewhere.where import PITCH
    from footwork.model.read import load
    from footwork.scoring import find_layout

    scenario = load(file)
    chosen = find_layout(scenario, layout)
    asked = read_pitch(pitch, scenario.units)
    if picture is not None:
        from footwork.show.files import check_goal

        check_goal(picture)
    found = where(scenario, station, chosen, pitch=PITCH if asked is None else asked, top=top)
    if picture is not None:
        from footwork.show.draw import draw

        draw(scenario, chosen, picture, elsewhere=found)
    if as_json:
        output.data(found.to_dict())
    else:
        from footwork.show import tables

        tables.where(found, output.console(), scenario)
        if picture is not None:
            output.line(f"\nwrote {picture}")
    return 0 if found.best else 1
