"""Points of the floor that at most one footprint may cover: what the bound's rents are paid for."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from footwork.arrange.spots import SpotList
from footwork.arrange.tree import Cover
from footwork.floor import shapes
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import Placement, Vehicle

CELL = 0.25
"""Metres between points."""
MARGIN = 0.005
"""Metres that a point must lie inside a footprint: two that both cover it overlap by twice as much."""


def floor_cover(lists: Sequence[SpotList]) -> Cover:
    """Which grid points each spot's footprint covers.

    Vehicles are left out when there are several: two that are never in at once may share the floor.
    """
    several = sum(isinstance(s.thing, Vehicle) for s in lists) > 1
    found: list[list[tuple[int, int]]] = []
    for spots in lists:
        known: dict[float, list[FloatArray]] = {}
        for p in spots.placements:
            if several and isinstance(spots.thing, Vehicle):
                found.append([])
                continue
            if p.facing not in known:
                known[p.facing] = list(shapes.pieces(spots.thing, Placement(0.0, 0.0, p.facing)))
            shift = np.array(p.at)
            found.append([point for ring in known[p.facing] for point in _inside(ring + shift)])
    numbers = {point: k for k, point in enumerate(sorted({q for points in found for q in points}))}
    start = np.cumsum([0, *(len(points) for points in found)]).astype(np.int32)
    flat = np.array([numbers[q] for points in found for q in points], np.int32)
    return Cover(start, flat, np.ones(len(numbers), np.int64))


def _inside(ring: FloatArray) -> list[tuple[int, int]]:
    """Grid points inside a convex ring by ``MARGIN``, by their numbers east and north."""
    low, high = np.ceil(ring.min(axis=0) / CELL), np.floor(ring.max(axis=0) / CELL)
    east, north = np.meshgrid(np.arange(low[0], high[0] + 1), np.arange(low[1], high[1] + 1), indexing="ij")
    points = np.column_stack((east.ravel(), north.ravel()))
    edges = np.roll(ring, -1, axis=0) - ring
    normals = np.column_stack((-edges[:, 1], edges[:, 0])) / np.hypot(*edges.T)[:, None]
    depth = (points * CELL) @ normals.T - (ring * normals).sum(axis=1)
    return [(int(x), int(y)) for x, y in points[(depth >= MARGIN).all(axis=1)]]
