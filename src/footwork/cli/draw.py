"""footwork draw: the plan of a layout."""

from __future__ import annotations

from pathlib import Path

import click

from footwork.cli import output
from footwork.cli.options import file_argument, layout_option


@click.command("draw", short_help="Draw the plan of a layout.")
@file_argument
@click.option(
    "--out",
    metavar="FILE",
    required=True,
    type=click.Path(path_type=Path),
    help="Where to: .svg, .png or .pdf.",
)
@layout_option
@click.option("--job", metavar="NAME", help="Draw the route of this job.")
@click.option("--standing", is_flag=True, help="Draw the standing hours at each place.")
def command(file: Path, out: Path, layout: str | None, job: str | None, standing: bool) -> None:
    """Draw the plan of a layout: walls, doors, stations, standing strips, and the route of a job."""
    from footwork.cli.walk import pick_job
    from footwork.model.read import load
    from footwork.scoring import find_layout

    scenario = load(file)
    chosen = find_layout(scenario, layout)
    if job is not None:
        pick_job(scenario, job)
    from footwork.show.draw import draw  # last: it takes a while to load

    draw(scenario, chosen, out, job=job, standing=standing)
    output.line(f"wrote {out}")
