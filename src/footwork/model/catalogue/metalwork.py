"""Stations of metalwork."""

from __future__ import annotations

from footwork.model.catalogue.entry import CatalogueEntry, station

METALWORK: tuple[CatalogueEntry, ...] = (
    station(
        "metalwork",
        "pillar drill",
        "drill press standing on the floor",
        size=[0.5, 0.7],
        placing="wall",
        stand=["front"],
        stock={"left": 1.5, "right": 1.5, "width": 0.3},
        height=1.7,
        work_height=1.0,
    ),
)
