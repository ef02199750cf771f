"""Clashes by Minkowski differences are those of the checks, for every pair of spots and at the tolerance."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest

from footwork.arrange.spots.conflicts import clash_block, spot_shapes
from footwork.arrange.spots.enumerate import SpotList, first_spots
from footwork.arrange.spots.layers import forbidden_layers
from footwork.checks import faults_pair
from footwork.checks.ground import Ground, Placed
from footwork.floor.overlap import depth
from footwork.floor.shapes import pieces
from footwork.model.read import loads
from footwork.model.scenario import TOLERANCE, Placement, Scenario

FLOOR = """
[room]
size = [12, 9]
windows = [{ name = "window", wall = "east", from = 1.0, width = 2.0 }]
[stations.bench]
size = [1.6, 0.7]
stand = ["front", "back"]
height = 0.9
[stations.corner]
outline = [[-0.8, -0.6], [0.8, -0.6], [0.8, 0.0], [0.1, 0.0], [0.1, 0.6], [-0.8, 0.6]]
service = { back = 0.4, left = 0.2 }
[stations.saw]
size = [0.6, 0.7]
stock = { left = 2.5, right = 1.0, width = 0.3 }
work_height = 0.95
[stations.post]
size = [0.3, 0.3]
stand = []
"""
FACINGS = (0.0, 90.0, 180.0, 270.0, 45.0, 17.0, 331.5)


def clashes(scenario: Scenario, lists: list[SpotList]) -> tuple[np.ndarray, np.ndarray]:
    """Which spots clash by the compiled block, and where each thing's spots begin."""
    ground = Ground(scenario)
    first = first_spots(lists)
    out = np.zeros((first[-1], first[-1]), np.float32)
    shapes = spot_shapes(scenario, lists, range(len(lists)), False)
    for i, j in combinations(range(len(lists)), 2):
        one, two = lists[i].thing, lists[j].thing
        asked = forbidden_layers(ground, one, two, False), forbidden_layers(ground, two, one, False)
        clash_block(shapes, i, j, *asked, out)
    return np.isinf(out), first


def fail(ground: Ground, one: SpotList, two: SpotList, p: Placement, q: Placement) -> bool:
    return next(faults_pair(ground, Placed(one.thing, p), Placed(two.thing, q)), None) is not None


def agree(scenario: Scenario, lists: list[SpotList]) -> int:
    """Hold every pair of spots against the checks; returns how many clash."""
    ground, (clash, first) = Ground(scenario), clashes(scenario, lists)
    assert (clash == clash.T).all()
    count = 0
    for (i, one), (j, two) in combinations(enumerate(lists), 2):
        for k, p in enumerate(one.placements):
            for m, q in enumerate(two.placements):
                found = bool(clash[first[i] + k, first[j] + m])
                assert found == fail(ground, one, two, p, q), (one.thing.name, p, two.thing.name, q)
                count += found
    return count


def test_spots_of_all_facings_in_any_order() -> None:
    """Templates alternate from spot to spot; stock that leaves by the window belongs to its spot alone."""
    scenario, rng = loads(FLOOR), np.random.default_rng(6)
    lists = []
    for station in scenario.stations:
        at = rng.uniform((6.0, 0.6), (11.6, 5.0), (35, 2))
        facing = rng.choice(FACINGS, 35)
        spots = (Placement(float(x), float(y), float(f)) for (x, y), f in zip(at, facing, strict=True))
        lists.append(SpotList(station, tuple(spots)))
    assert spot_shapes(scenario, lists, range(len(lists)), False).own_stock.any()
    assert 500 < agree(scenario, lists) < 6 * 35**2 - 500


@pytest.mark.parametrize("facing", FACINGS)
def test_at_the_tolerance(facing: float) -> None:
    """Footprints that sink into each other by the tolerance and hairs more or less, anywhere in the room."""
    scenario, rng = loads(FLOOR), np.random.default_rng(7)
    bench, post = (s for s in scenario.stations if s.name in ("bench", "post"))
    hairs = [sign * 10.0**-n for n in range(5, 17) for sign in (-1.0, 1.0)]
    shifts = [TOLERANCE + hair for hair in [0.0, *hairs]]
    turn = math.radians(facing)
    along = np.array((math.cos(turn), -math.sin(turn)))  # to the thing's left or right, whichever
    at = rng.uniform(3.0, 6.0, 2)
    there = [at + (0.8 + 0.15 - shift) * along for shift in shifts]
    posts = SpotList(post, tuple(Placement(float(x), float(y), facing) for x, y in there))
    benches = SpotList(bench, (Placement(float(at[0]), float(at[1]), facing),))
    clash, first = clashes(scenario, [benches, posts])
    deep = [depth(pieces(bench, benches.placements[0]), pieces(post, q)) for q in posts.placements]
    assert clash[0, first[1] :].tolist() == [d > TOLERANCE for d in deep]
    # Far enough from the tolerance for rounding not to matter the geometry says the same.
    for found, shift in zip(clash[0, first[1] :], shifts, strict=True):
        if abs(shift - TOLERANCE) > 1e-12:
            assert bool(found) == (shift > TOLERANCE)
