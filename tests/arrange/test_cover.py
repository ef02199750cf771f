"""The points that rents are paid for: never shared without an overlap, and met by every overlap of boxes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely

from footwork.arrange.spots.enumerate import find_spots
from footwork.arrange.spots.packing_points import ALIKE, MARGIN, floor_cover
from footwork.floor import shapes
from footwork.model.read import load

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def _drawn(name: str, pitch: float):
    lists = find_spots(load(SCENARIOS / f"{name}.toml"), pitch, 4, None)
    rings = [shapes.pieces(of.thing, p) for of in lists for p in of.placements]
    floor = np.array([shapely.union_all([shapely.Polygon(r) for r in ring]) for ring in rings])
    owner = np.repeat(np.arange(len(lists)), [len(of.placements) for of in lists])
    cover = floor_cover(lists)
    points = [set(cover.points[a:b].tolist()) for a, b in zip(cover.start, cover.start[1:], strict=False)]
    rng = np.random.default_rng(7)
    pairs = rng.integers(len(owner), size=(40_000, 2))
    return floor, points, pairs[owner[pairs[:, 0]] != owner[pairs[:, 1]]]


@pytest.mark.parametrize("name", ["cabinet-garage", "gate-shed", "frame-nook"])
def test_spots_that_share_a_point_overlap_by_more_than_the_margin_each_way(name: str) -> None:
    floor, points, pairs = _drawn(name, 0.5)
    sharing = [(a, b) for a, b in pairs if points[a] & points[b]]
    assert len(sharing) > 100
    for a, b in sharing:
        low_x, low_y, high_x, high_y = floor[a].intersection(floor[b]).bounds
        assert min(high_x - low_x, high_y - low_y) > 2 * MARGIN - 1e-9


def test_boxes_that_overlap_share_a_point() -> None:
    """All footprints of the gate shed are boxes; slivers narrower than joined lines may be missed."""
    floor, points, pairs = _drawn("gate-shed", 0.25)
    broad = 0
    for a, b in pairs:
        common = floor[a].intersection(floor[b])
        if common.area > 0.0:
            low_x, low_y, high_x, high_y = common.bounds
            if min(high_x - low_x, high_y - low_y) > ALIKE + 4 * MARGIN:
                broad += 1
                assert points[a] & points[b]
    assert broad > 100


def test_every_point_is_shared() -> None:
    """One that a single spot covers conflicts with nothing, and no rent is ever paid for it."""
    cover = floor_cover(find_spots(load(SCENARIOS / "frame-nook.toml"), 0.25, 4, None))
    assert np.bincount(cover.points, minlength=len(cover.capacity)).min() > 1
