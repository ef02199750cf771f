"""One entry of the catalogue: each value with where it comes from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

COMMON = "common practice"


@dataclass(frozen=True, slots=True)
class Sourced:
    """A value of a station's key, lengths in metres, and its source."""

    value: Any
    source: str = COMMON


@dataclass(frozen=True)
class CatalogueEntry:
    """What a scenario gets by ``like = name``.

    ``trade`` groups the entries for reading; ``note`` says in a few words what the thing is, ``also`` what
    else people call it.
    """

    name: str
    trade: str
    note: str
    values: Mapping[str, Sourced]
    also: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Its own name and what else it is called."""
        return (self.name, *self.also)

    def keys(self) -> dict[str, Any]:
        """The keys of a ``[stations.NAME]`` table, lengths in metres."""
        return {key: sourced.value for key, sourced in self.values.items()}

    def to_dict(self) -> dict[str, Any]:
        """``{name, also, KEY: {value, source}, ..}``, lengths in metres."""
        plain = {key: {"value": s.value, "source": s.source} for key, s in self.values.items()}
        return {"name": self.name, "also": list(self.also), **plain}


def entries(trade: str, stations: Mapping[str, Mapping[str, Any]]) -> tuple[CatalogueEntry, ...]:
    """The entries of a trade; a bare value is common practice, a Sourced one names its source.

    ``note`` and ``also`` are about the entry, all else are keys of the station.
    """
    about = ("note", "also")
    return tuple(
        CatalogueEntry(
            name,
            trade,
            keys["note"],
            {k: v if isinstance(v, Sourced) else Sourced(v) for k, v in keys.items() if k not in about},
            tuple(keys.get("also", ())),
        )
        for name, keys in stations.items()
    )
