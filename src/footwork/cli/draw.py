"""footwork draw: the plan of a layout."""

from __future__ import annotations

from pathlib import Path

import click

from footwork.cli import output
from footwork.cli.options import file_argument, layout_option
from footwork.cli.shell_names import names_in


@click.command("draw", short_help="Draw the plan of a layout.")
@file_argument
@click.option(
    "--out",
    metavar="FILE",
    required=True,
    type=click.Path(path_type=Path),
    help="Where to: .svg, .png, .pdf or .dxf.",
)
@layout_option
@click.option("--job", metavar="NAME", shell_complete=names_in("jobs"), help="Draw the route of this job.")
@click.option("--walking", is_flag=True, help="Draw how often each place on the floor is walked over.")
@click.option("--standing", is_flag=True, help="Draw the standing hours, and where mats pay.")
@click.option(
    "--compare",
    nargs=2,
    metavar="BEFORE AFTER",
    shell_complete=names_in("layouts"),
    help="Draw layout AFTER, and where everything stood in layout BEFORE.",
)
@click.option("--scale", metavar="SCALE", help="1:25, or 1/2 in = 1 ft.  [default: the largest that fits]")
@click.option("--paper", metavar="NAME", help="A4 to A0, letter, legal, tabloid, C, D or E.")
def command(
    file: Path,
    out: Path,
    layout: str | None,
    job: str | None,
    walking: bool,
    standing: bool,
    compare: tuple[str, str] | None,
    scale: str | None,
    paper: str | None,
) -> None:
    """Draw the plan of a layout: walls, doors, stations, standing strips, and the route of a job.

    Printed at 100 %, the plan is true to the scale it names.  A dxf is full size, in metres, or in inches
    where the file is in feet or inches; there --scale sets the size of the text.
    """
    from footwork.cli.walk import pick_job
    from footwork.model.errors import UsageError
    from footwork.model.read import load
    from footwork.scoring import find_layout

    if compare is not None and (layout is not None or job is not None or walking or standing):
        raise UsageError(
            "--compare names both layouts and stands alone: leave out --layout, --job, --walking, --standing"
        )
    scenario = load(file)
    before, after = (None, layout) if compare is None else compare
    chosen = find_layout(scenario, after)
    if before is not None:
        find_layout(scenario, before)
    if job is not None:
        pick_job(scenario, job)
    from footwork.show.draw import draw  # last: it takes a while to load

    draw(
        scenario,
        chosen,
        out,
        job=job,
        standing=standing,
        walking=walking,
        before=before,
        scale=scale,
        paper=paper,
    )
    output.line(f"wrote {out}")
