"""The catalogue: usual sizes, strips, placing, stock room, heights and hazards of common stations."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

from footwork.model.catalogue.entry import CatalogueEntry, Sourced
from footwork.model.catalogue.general import GENERAL
from footwork.model.catalogue.hot_work import HOT_WORK
from footwork.model.catalogue.metalwork import METALWORK
from footwork.model.catalogue.vehicle import VEHICLE
from footwork.model.catalogue.woodwork import WOODWORK
from footwork.model.errors import UsageError
from footwork.model.names import hint

__all__ = ["CATALOGUE", "CatalogueEntry", "Sourced", "called", "entry", "search", "unknown"]

CATALOGUE: Mapping[str, CatalogueEntry] = MappingProxyType(
    {e.name: e for e in (*GENERAL, *METALWORK, *HOT_WORK, *WOODWORK, *VEHICLE)}
)
"""Every entry by name, those of every trade first."""

SOME = 4
"""As many names at most are told in one line."""


def called(word: str) -> tuple[CatalogueEntry, ...]:
    """The entries that go by ``word``: the one of that name, else all that are also called so.

    Capitals, blanks and hyphens make no difference: Band-Saw is bandsaw.
    """
    wanted = _folded(word)
    named = tuple(e for e in CATALOGUE.values() if _folded(e.name) == wanted)
    return named or tuple(e for e in CATALOGUE.values() if wanted in map(_folded, e.also))


def search(word: str) -> tuple[CatalogueEntry, ...]:
    """All entries that have every part of ``word`` in their names, else in the note on what they are."""
    parts = word.casefold().split()
    if not parts:
        return ()
    wanted = _folded(word)
    known = CATALOGUE.values()
    named = [e for e in known if any(_within(parts, wanted, name.casefold()) for name in e.names)]
    noted = [e for e in known if all(part in e.note.casefold().split() for part in parts)]
    return tuple(named or noted)


def entry(name: str) -> CatalogueEntry:
    """The entry that goes by that name.

    UsageError, naming the nearest ones, where there is none or more than one.
    """
    found = called(name)
    if len(found) == 1:
        return found[0]
    raise UsageError("; ".join(unknown(name)))


def unknown(word: str) -> tuple[str, str]:
    """What is wrong with a name that is not that of one entry, and what would mend it."""
    several = called(word)
    if several:
        return f"'{word}' is a name of several in the catalogue", f"write {_quoted(several)}"
    said = set(word.casefold().split())
    near = tuple(e for e in CATALOGUE.values() if any(said <= set(n.casefold().split()) for n in e.names))
    if said and near and len(near) <= SOME:
        return f"'{word}' is not in the catalogue", f"write {_quoted(near)}"
    names = dict.fromkeys([*CATALOGUE, *(name for e in CATALOGUE.values() for name in e.also)])
    return f"'{word}' is not in the catalogue", hint(word, names, "it has")


def _folded(word: str) -> str:
    return re.sub(r"[\s_-]+", "", word.casefold())


def _within(parts: list[str], folded: str, name: str) -> bool:
    return all(part in name for part in parts) or folded in _folded(name)


def _quoted(entries: tuple[CatalogueEntry, ...]) -> str:
    names = [f"'{e.name}'" for e in entries]
    return " or ".join(filter(None, (", ".join(names[:-1]), names[-1])))
