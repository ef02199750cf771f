"""Points of the floor that the footprint of a cell's thing covers wherever in the cell it stands.

Unlike those of spots (``spots/packing_points.py``) they lie on an even grid: cells are cut again and again,
and the compulsory part of one has its edges nowhere in particular.
"""

from __future__ import annotations

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats
from footwork.arrange.core.packing import Packing
from footwork.arrange.every_position.cell_conflicts import Kind, kinds
from footwork.arrange.every_position.cell_table import CellTable
from footwork.arrange.spots.packing_points import MARGIN, inward_normals, may_share

POINTS_APART = 0.125
"""Metres between the points."""


def cell_cover(table: CellTable) -> Packing:
    """Which points the footprint of each cell's thing covers wherever in the cell it stands."""
    shared = may_share([cells.thing for cells in table.cells])
    found: list[list[tuple[int, int]]] = [[] for _ in range(int(table.first[-1]))]
    for i, cells in enumerate(table.cells):
        if cells.thing.name in shared:
            continue
        for kind in kinds(table.ground, cells, table.strict):
            for number, at in zip(kind.cells.tolist(), kind.at, strict=True):
                found[int(table.first[i]) + number] = _covered(kind, at)
    numbers = {point: k for k, point in enumerate(sorted({q for points in found for q in points}))}
    start = np.cumsum([0, *map(len, found)]).astype(np.int32)
    flat = np.array([numbers[q] for points in found for q in points], np.int32)
    return Packing(start, flat, np.ones(len(numbers), np.int64))


def _covered(kind: Kind, at: Floats) -> list[tuple[int, int]]:
    found: dict[tuple[int, int], None] = {}
    for about in kind.rings.body:
        ring = about + at
        low, high = np.ceil(ring.min(axis=0) / POINTS_APART), np.floor(ring.max(axis=0) / POINTS_APART)
        east, north = np.meshgrid(
            np.arange(low[0], high[0] + 1), np.arange(low[1], high[1] + 1), indexing="ij"
        )
        points = np.column_stack((east.ravel(), north.ravel()))
        normals = inward_normals(ring)
        depth = (points * POINTS_APART) @ normals.T - (ring * normals).sum(axis=1)
        moved = np.abs(kind.half @ normals.T).sum(axis=0) + kind.swing(about) + MARGIN
        inside: Bools = (depth >= moved).all(axis=1)
        found |= {(int(x), int(y)): None for x, y in points[inside]}
    return list(found)
