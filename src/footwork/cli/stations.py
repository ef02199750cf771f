"""footwork stations: the catalogue."""

from __future__ import annotations

import click

from footwork.cli import output
from footwork.cli.options import json_option
from footwork.cli.shell_names import catalogue_names


@click.command("stations", short_help="Show the catalogue of common stations.")
@click.argument("name", metavar="[NAME]", required=False, shell_complete=catalogue_names)
@json_option
def command(name: str | None, as_json: bool) -> None:
    """Show the catalogue of common stations, or one entry of it with the source of each value.

    A station of the file takes an entry by `like = "NAME"`; keys of its own win.
    """
    from footwork.model.catalogue import CATALOGUE, entry

    entries = list(CATALOGUE.values()) if name is None else [entry(name)]
    if as_json:
        output.data([each.to_dict() for each in entries])
        return
    from footwork.show import tables

    if name is None:
        tables.catalogue(entries, output.console())
    else:
        tables.entry(entries[0], output.console())
