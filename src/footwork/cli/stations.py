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

    Where NAME is part of several names, such as lathe, it lists those. A station of the file takes an
    entry by `like = "NAME"`; keys of its own win.
    """
    from footwork.model.catalogue import CATALOGUE, entry

    entries = list(CATALOGUE.values()) if name is None else _named(name) or [entry(name)]
    if as_json:
        output.data([each.to_dict() for each in entries])
        return
    from footwork.show import tables

    if name is None:
        tables.catalogue(entries, output.console())
    elif len(entries) > 1:
        tables.matches(name, entries, output.console())
    else:
        tables.entry(entries[0], output.console())


def _named(word: str) -> list[CatalogueEntry]:
    """The entry of that name, else all that have every part of it among their words."""
    from footwork.model.catalogue import CATALOGUE

    if word in CATALOGUE:
        return [CATALOGUE[word]]
    parts = word.lower().split()
    named = [e for e in CATALOGUE.values() if parts and all(part in e.name.lower() for part in parts)]
    noted = [e for e in CATALOGUE.values() if parts and all(part in e.note.lower().split() for part in parts)]
    if not (named or noted):
        _suggest(word)
    return named or noted


def _suggest(word: str) -> None:
    """Raises UsageError for one misspelt word of a name, such as piller, with the names that have it."""
    from footwork.model.catalogue import CATALOGUE
    from footwork.model.errors import UsageError
    from footwork.model.names import nearest

    near = nearest(word.lower(), sorted({part for name in CATALOGUE for part in name.split()}))
    if near is not None and " " not in word:
        names = " or ".join(f"'{name}'" for name in CATALOGUE if near in name.split())
        raise UsageError(f"'{word}' is not in the catalogue; did you mean {names}?")
