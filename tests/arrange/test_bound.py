"""The bound against trying everything, on small random problems."""

from __future__ import annotations

import numpy as np
import pytest

from arrange.random_tables import every_cost, optimum, random_tables
from footwork.arrange.branch_and_bound import tree as tree_module
from footwork.arrange.branch_and_bound.tree import HUB, Tree
from footwork.arrange.core.arrays import Ints
from footwork.arrange.core.packing import Packing
from footwork.arrange.core.pairwise import Restriction, Tables


def start(tables: Tables, best: float) -> float:
    return best * 1.1 + 1 if np.isfinite(best) else tables.clash / 8


def finish(tree: Tree, best: float) -> None:
    """Work node by node: the bound never exceeds the optimum, the end is the optimum."""
    while not tree.done:
        tree.run(lambda: False, nodes=tree.nodes + 1)
        assert tree.bound <= best * (1 + 1e-12)
    if np.isfinite(best):
        assert tree.incumbent == pytest.approx(best, rel=1e-12)
        assert tree.bound == tree.incumbent


@pytest.mark.parametrize("seed", range(60))
def test_proof_is_the_optimum_and_every_bound_on_the_way_is_valid(seed: int) -> None:
    rng = np.random.default_rng(seed)
    tables, places = random_tables(rng, int(rng.integers(3, 6)), 6)
    best = optimum(tables)
    finish(Tree(tables, start(tables, best), tables.cost, places), best)


@pytest.mark.parametrize("seed", range(24))
def test_spots_of_which_most_clash_with_the_best_ones(seed: int) -> None:
    """More than are tried one by one before all are looked through."""
    rng = np.random.default_rng(seed)
    tables, places = random_tables(rng, 4, 30, clash=(0.7, 0.9)[seed % 2], flow=0.3)
    best = float(every_cost(tables).min())
    finish(Tree(tables, start(tables, best), tables.cost, places), best)


@pytest.mark.parametrize("seed", range(30))
def test_closes_on_true_costs_above_the_table(seed: int) -> None:
    rng = np.random.default_rng(seed)
    tables, places = random_tables(rng, 4, 5, clash=0.05)
    extra = rng.random(tables.size) * 0.2

    def true(choice: Ints) -> float:
        return tables.cost(choice) * (1 + extra[choice].sum())

    best = optimum(tables, true)
    finish(Tree(tables, start(tables, best), true, places), best)


@pytest.mark.parametrize("hub", [HUB, 2.0], ids=["hub", "flat"])
@pytest.mark.parametrize("seed", range(30))
def test_packing_multipliers_stay_valid(seed: int, hub: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Spots that share a point clash; telling the tree so must not change the answer."""
    monkeypatch.setattr(tree_module, "HUB", hub)
    rng = np.random.default_rng(seed)
    tables, places = random_tables(rng, 5, 5, clash=0.0)
    cell = (places // 4).astype(int) @ np.array([3, 1])
    owner = tables.owner()
    shared = (cell[:, None] == cell[None]) & (owner[:, None] != owner[None])
    tables.pair[shared] = tables.clash
    begin = np.arange(tables.size + 1, dtype=np.int32)
    cover = Packing(begin, cell.astype(np.int32), np.ones(9, np.int64))
    best = optimum(tables)
    finish(Tree(tables, start(tables, best), tables.cost, places, cover), best)


@pytest.mark.parametrize("hub", [HUB, 2.0], ids=["hub", "flat"])
@pytest.mark.parametrize("moves", [0, 1, 2, 3])
@pytest.mark.parametrize("seed", range(6))
def test_bound_knows_how_many_may_move(
    seed: int, moves: int, hub: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tree_module, "HUB", hub)
    rng = np.random.default_rng(seed)
    tables, places = random_tables(rng, 4, 5, clash=0.05)
    base = tables.first[:-1].copy()
    best = optimum(tables, allowed=lambda c: int((c != base).sum()) <= moves)
    restriction = Restriction(base, moves)
    tree = Tree(tables, start(tables, best), tables.cost, places, restriction=restriction)
    finish(tree, best)


def test_two_workers_prove_the_same() -> None:
    tables, places = random_tables(np.random.default_rng(5), 6, 7, clash=0.1)
    best = optimum(tables)
    tree = Tree(tables, start(tables, best), tables.cost, places)
    tree.run(lambda: False, workers=2)
    assert tree.done
    assert tree.incumbent == pytest.approx(best, rel=1e-12)
