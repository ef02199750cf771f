"""The catalogue: usual sizes, strips, placing, stock room, heights and hazards of common stations."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from footwork.model.catalogue.entry import CatalogueEntry, Sourced
from footwork.model.catalogue.general import GENERAL
from footwork.model.catalogue.metalwork import METALWORK
from footwork.model.catalogue.vehicle import VEHICLE
from footwork.model.catalogue.woodwork import WOODWORK
from footwork.model.errors import UsageError
from footwork.model.names import hint

__all__ = ["CATALOGUE", "CatalogueEntry", "Sourced", "entry"]

CATALOGUE: Mapping[str, CatalogueEntry] = MappingProxyType(
    {e.name: e for e in (*GENERAL, *METALWORK, *WOODWORK, *VEHICLE)}
)
"""Every entry by name, those of every trade first."""


def entry(name: str) -> CatalogueEntry:
    """The entry of that name.  UsageError, naming the nearest one, where there is none."""
    if name in CATALOGUE:
        return CATALOGUE[name]
    raise UsageError(f"'{name}' is not in the catalogue; {hint(name, CATALOGUE, 'it has')}")
