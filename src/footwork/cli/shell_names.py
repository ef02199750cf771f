"""What the shell may complete after an option that takes a name: the names of the file on the same line.

Nothing but the TOML is read, and nothing ever fails: a person in the middle of a line wants no error.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import click

    Complete = Callable[[click.Context, click.Parameter, str], list[str]]


def names_in(*tables: str, listed: bool = False) -> Complete:
    """Complete with the keys of these tables of the file; ``listed``: several, with commas between them."""

    def complete(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
        done, _, begun = incomplete.rpartition(",") if listed else ("", "", incomplete)
        taken = set(done.split(",")) if listed else _given(ctx.params.get(param.name or ""))
        before = f"{done}," if done else ""
        found = [name for name in _names(_file(ctx), tables) if name.startswith(begun)]
        return [f"{before}{name}" for name in found if name not in taken]

    return complete


def catalogue_names(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Complete with the stations of the catalogue, and what else they are called once that is begun."""
    from footwork.model.catalogue import CATALOGUE

    names = [name for e in CATALOGUE.values() for name in (e.names if incomplete else (e.name,))]
    return list(dict.fromkeys(name for name in names if name.startswith(incomplete)))


def _file(ctx: click.Context) -> Any:
    """The FILE of the line; click leaves it among the rest while the last option has no value yet."""
    return ctx.params.get("file") or next(iter(ctx.args), None)


def _given(value: Any) -> set[str]:
    """Names that an argument of several has on the line already."""
    return {str(each) for each in value} if isinstance(value, tuple) else set()


def _names(path: Any, tables: Iterable[str]) -> list[str]:
    import tomllib

    if path is None:
        return []
    with contextlib.suppress(OSError, ValueError, RecursionError), open(path, "rb") as file:
        raw = tomllib.load(file)
        found = [raw[table] for table in tables if isinstance(raw.get(table), dict)]
        return [name for names in found for name in names]
    return []
