"""Label aggregation: spots taken as one at first change no answer and keep every bound on the way valid."""

from __future__ import annotations

import functools
from pathlib import Path

import numpy as np
import pytest

from arrange.random_tables import optimum, random_tables
from arrange.test_bound import finish, start
from arrange.test_small_problems import KINDS, every_bound_is_valid
from arrange.test_visits import random_visits, walked
from footwork import load
from footwork.arrange.branch_and_bound import tree as tree_module
from footwork.arrange.branch_and_bound.tree import Extras, Tree
from footwork.arrange.core.arrays import Ints
from footwork.arrange.core.packing import Packing
from footwork.arrange.core.pairwise import Tables
from footwork.arrange.relaxation.aggregation import Aggregation, where_many
from footwork.arrange.spots.enumerate import SpotList, find_spots, side_by_side

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture(autouse=True, params=[1, 2])
def aggregates_stay_long(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """However few spots a node has, a station keeps its aggregates until so many are left."""
    monkeypatch.setattr(tree_module, "FINE_SPOTS", 0)
    monkeypatch.setattr(tree_module, "FEW_AGGREGATES", request.param)


def some_groups(rng: np.random.Generator, tables: Tables) -> Ints:
    """Any two or three spots of a thing together."""
    return (tables.owner() * 3 + rng.integers(0, 3, tables.size)).astype(np.int32)


@pytest.mark.parametrize("seed", range(30))
def test_on_random_tables(seed: int) -> None:
    rng = np.random.default_rng([1, seed])
    tables, places = random_tables(rng, int(rng.integers(3, 6)), 8)
    best = optimum(tables)
    finish(
        Tree(tables, start(tables, best), tables.cost, places, extras=Extras(group=some_groups(rng, tables))),
        best,
    )


@pytest.mark.parametrize("seed", range(30))
def test_with_visits(seed: int) -> None:
    rng = np.random.default_rng([2, seed])
    tables, places = random_tables(rng, 4, 5, clash=0.1)
    visits = random_visits(rng, tables)
    true = functools.partial(walked, tables, visits)
    best = optimum(tables, true)
    group = some_groups(rng, tables)
    extras = Extras(visits=visits, group=group)
    finish(Tree(tables, start(tables, best), true, places, extras=extras), best)


@pytest.mark.parametrize("seed", range(15))
def test_with_packing_multipliers(seed: int) -> None:
    """An aggregate covers what all of its spots cover."""
    rng = np.random.default_rng([3, seed])
    tables, places = random_tables(rng, 5, 5, clash=0.0)
    cell = (places // 4).astype(int) @ np.array([3, 1])
    owner = tables.owner()
    shared = (cell[:, None] == cell[None]) & (owner[:, None] != owner[None])
    tables.pair[shared] = tables.clash
    cover = Packing(np.arange(tables.size + 1, dtype=np.int32), cell.astype(np.int32), np.ones(9, np.int64))
    best = optimum(tables)
    group = (owner * 9 + np.where(rng.random(tables.size) < 0.7, cell, 0)).astype(np.int32)
    tree = Tree(tables, start(tables, best), tables.cost, places, cover, extras=Extras(group=group))
    finish(tree, best)


@pytest.mark.parametrize(("kind", "seed"), KINDS)
def test_in_a_workshop(kind: int, seed: int) -> None:
    """With all that ``suggest`` plants a tree with: walks to doors are tightened for aggregates too."""
    rng = np.random.default_rng([4, kind, seed])
    every_bound_is_valid(kind, seed, functools.partial(some_groups, rng))


def check(lists: tuple[SpotList, ...], group: Ints, pitch: float) -> int:
    """Each aggregate is of one thing, one facing and small; returns how many spots the largest has."""
    placements = [(k, p) for k, of in enumerate(lists) for p in of.placements]
    largest = 0
    for number in np.unique(group):
        here = [placements[k] for k in np.flatnonzero(group == number)]
        assert len({(k, round(p.facing, 6)) for k, p in here}) == 1
        at = np.array([p.at for _, p in here])
        assert (np.ptp(at, axis=0) < 2 * pitch).all()
        largest = max(largest, len(here))
    return largest


@pytest.mark.parametrize("pitch", [0.3, 0.5])
def test_aggregates_of_a_workshop_are_neighbours(pitch: float) -> None:
    lists = find_spots(load(SCENARIOS / "cabinet-garage.toml"), pitch, 4, None)
    assert check(lists, side_by_side(lists, pitch), pitch) >= 4


def test_things_of_few_aggregates_have_none() -> None:
    """Three spots in two aggregates, and three in one."""
    group = np.array([4, 4, 5, 7, 7, 7], np.int32)
    first = np.array([0, 3, 6], np.int32)
    assert where_many(group, first, 0).tolist() == group.tolist()
    found = where_many(group, first, 1)
    assert found[:3].tolist() == [4, 4, 5]
    assert len(set(found.tolist())) == 5


def test_numbering() -> None:
    """Two stations: spots 0 to 2 and 3, 4; the first has an aggregate of 0 and 2."""
    found = Aggregation.make(np.array([0, 3, 5], np.int32), np.array([7, 8, 7, 1, 2], np.int32))
    assert found.first.tolist() == [0, 4, 6]
    assert found.spots.tolist() == [0, 1, 2, 4, 5]
    assert found.coarsest.tolist() == [1, 3, 4, 5]
    assert found.sizes[found.coarsest].tolist() == [1, 2, 1, 1]
    numbers, places = found.taken_apart(found.coarsest, np.array([1, 2, 1, 1]))
    assert numbers.tolist() == [0, 1, 2, 4, 5]
    assert places.tolist() == [1, 0, 1, 2, 3]
    pair = np.arange(25, dtype=np.int32).reshape(5, 5)
    wide = found.pairs(lambda spots: pair[spots])
    assert wide[np.ix_(found.spots, found.spots)].tolist() == pair.tolist()
    assert wide[3].tolist() == [0, 1, 2, 0, 3, 4]
    assert not found.none
    assert Aggregation.make(np.array([0, 2], np.int32), np.array([3, 4], np.int32)).none
