"""footwork mark: the marking-out list."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from footwork.cli import output
from footwork.cli.options import file_argument, json_option, layout_option

if TYPE_CHECKING:
    from footwork.show.mark_out import MarkList


@click.command("mark", short_help="List where to mark out every footprint.")
@file_argument
@layout_option
@click.option(
    "--out",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Write it to a .csv, or to a .pdf with a plan of the numbers.",
)
@json_option
def command(file: Path, layout: str | None, out: Path | None, as_json: bool) -> None:
    """List where to mark out every footprint on the floor, in the order to do it.

    Each corner is measured from the nearest wall: along it from a corner of the room, and square out from it,
    in the file's units (feet and inches to 1/16). A length across shows whether it is square.
    """
    from footwork.model.errors import UsageError
    from footwork.model.read import load
    from footwork.show.mark_out import mark_out, to_dict

    if out is not None and as_json:
        raise UsageError("--out and --json exclude each other; give one")
    kind = "" if out is None else out.suffix.lower()
    if out is not None and kind not in (".csv", ".pdf"):
        raise UsageError(f"{out}: a marking-out list is written as .csv or .pdf; give the file one of these")
    found = mark_out(load(file), layout)
    if as_json:
        output.data(to_dict(found))
        return
    _warn(found)
    if out is None:
        from footwork.show.mark_tables import marking_list

        marking_list(found, output.console())
    else:
        from footwork.show.mark_file import write_list

        write_list(found, out)
        output.line(f"wrote {out}")


def _warn(found: MarkList) -> None:
    """Say so before anybody chalks out a layout that cannot be used."""
    from footwork.scoring import score

    if not score(found.scenario, found.layout).ok:
        output.note(
            f"note: layout {found.layout.name!r} fails a must-check; `footwork score` says which, "
            "before you mark it out"
        )
