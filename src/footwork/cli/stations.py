"""footwork stations: the catalogue."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from footwork.cli import output
from footwork.cli.options import json_option
from footwork.cli.shell_names import catalogue_names

if TYPE_CHECKING:
    from footwork.model.catalogue import CatalogueEntry


@click.command("stations", short_help="Show the catalogue of common stations.")
@click.argument("name", metavar="[NAME]", required=False, shell_complete=catalogue_names)
@json_option
def command(name: str | None, as_json: bool) -> None:
    """Show the catalogue of common stations, or one entry of it with the source of each value.

    NAME may be another name that the thing goes by, such as drill press. Where it is part of several
    names, such as lathe, it lists those. A station of the file takes an entry by `like = "NAME"`; keys
    of its own win.
    """
    from footwork.model.catalogue import CATALOGUE, search

    found = list(CATALOGUE.values()) if name is None else _named(name)
    if as_json:
        output.data([each.to_dict() for each in found])
        return
    from footwork.show import tables

    if name is None:
        tables.catalogue(found, output.console())
    elif len(found) > 1:
        tables.matches(name, found, output.console())
    else:
        tables.entry(found[0], output.console(), [e for e in search(name) if e not in found])


def _named(word: str) -> list[CatalogueEntry]:
    """The one entry that goes by the name, else all that have every part of it among their words."""
    from footwork.model.catalogue import called, search

    found = called(word)
    return list(found if len(found) == 1 else search(word)) or _slip(word)


def _slip(word: str) -> list[CatalogueEntry]:
    """The entry that one nearly wrote; UsageError for one misspelt word of names, with those that have it."""
    from footwork.model.catalogue import CATALOGUE, entry
    from footwork.model.errors import UsageError
    from footwork.model.names import nearest

    parts = {part for e in CATALOGUE.values() for name in e.names for part in name.split()}
    near = nearest(word.lower(), sorted(parts))
    if near is not None and " " not in word:
        names = " or ".join(f"'{name}'" for name in CATALOGUE if near in name.split()) or f"'{near}'"
        raise UsageError(f"'{word}' is not in the catalogue; did you mean {names}?")
    return [entry(word)]
