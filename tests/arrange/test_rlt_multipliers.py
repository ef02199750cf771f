"""RLT-1 multipliers: floor about a spot is paid for once by the stations walked to from there."""

from __future__ import annotations

import numpy as np
import pytest

from arrange.random_tables import every_cost
from footwork.arrange.branch_and_bound import tree as tree_module
from footwork.arrange.branch_and_bound.tree import Extras, Tree
from footwork.arrange.core.arrays import Floats
from footwork.arrange.core.packing import Packing
from footwork.arrange.core.pairwise import Tables, assemble, floor_single
from footwork.arrange.core.visit_variables import NO_VISITS
from footwork.arrange.relaxation.build import make_problem
from footwork.arrange.relaxation.model import CLASH, PAIR

SIDE = 4
"""Cells each way of the floor; every station has a spot on each cell."""


def on_one_floor(weights: Floats) -> tuple[Tables, Floats, Packing]:
    """Stations that each cover one cell of a square floor, with these weights of the walks between them."""
    things, cells = len(weights), SIDE * SIDE
    places = np.array([(x, y) for x in range(SIDE) for y in range(SIDE)], np.float64)
    metres = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    metres[np.eye(cells, dtype=bool)] = np.inf
    pair = np.zeros((things * cells, things * cells))
    for i in range(things):
        for j in range(things):
            if i != j:
                block = np.where(np.isinf(metres), np.inf, weights[i, j] * np.nan_to_num(metres, posinf=0.0))
                pair[i * cells : (i + 1) * cells, j * cells : (j + 1) * cells] = block
    first = np.arange(0, things * cells + 1, cells, dtype=np.int32)
    names = tuple(f"s{i}" for i in range(things))
    tables = assemble(names, first, np.zeros(things * cells), floor_single(pair), 0.0)
    start = np.arange(things * cells + 1, dtype=np.int32)
    points = np.tile(np.arange(cells, dtype=np.int32), things)
    return tables, np.tile(places, (things, 1)), Packing(start, points, np.ones(cells, np.int64))


def random_weights(seed: int) -> Floats:
    """Of the walks between four stations."""
    upper = np.triu(np.random.default_rng(seed).integers(5, 10, (4, 4)), 1)
    return (upper + upper.T).astype(np.float64)


def tree_of(tables: Tables, places: Floats, cover: Packing, upper: float) -> Tree:
    return Tree(tables, upper, tables.cost, places, cover, extras=Extras(staged=False))


@pytest.mark.parametrize("seed", range(12))
def test_bound_with_them_is_valid_on_the_way_and_the_optimum_at_the_end(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tree_module, "HUB", 2.0)  # each of four has half of the flow
    tables, places, cover = on_one_floor(random_weights(seed))
    optimum = float(every_cost(tables).min())
    tree = tree_of(tables, places, cover, 1.1 * optimum)
    for nodes in (1, 2, 3, 5, 8, 13, 10**9):
        tree.run(lambda: False, nodes=nodes)
        assert tree.bound <= optimum * (1 + 1e-9)
    assert tree.done
    assert tree.incumbent == pytest.approx(optimum, rel=1e-6)


def root_bound(problem: tuple[Tables, Floats, Packing], upper: float) -> float:
    tree = tree_of(*problem, upper)
    tree.run(lambda: False, nodes=1)
    return tree.bound


def test_they_know_that_neighbours_cannot_share_a_cell(monkeypatch: pytest.MonkeyPatch) -> None:
    """Six stations, all walked between: pair by pair each may stand a cell from each other, 15 cells in all.
    But of a cell's five nearest the fifth is across a corner: 3 * (4 + sqrt 2) = 16.2.  Two rows of three
    cost 21.1."""
    problem, rows = on_one_floor(np.ones((6, 6)) - np.eye(6)), 11.0 + 4.0 * 2**0.5 + 2.0 * 5**0.5
    with_them = root_bound(problem, rows)
    monkeypatch.setattr(tree_module, "RLT_STEP", 0.0)
    assert root_bound(problem, rows) <= 15.0 < 3.0 * (4.0 + 2**0.5) < with_them <= rows


def test_products_are_carried_by_one_edge_to_each_station_walked_to() -> None:
    pair = np.zeros((6, 6), np.int32)
    pair[0:2, 2:4] = pair[2:4, 0:2] = [[1, 2], [2, 1]]
    pair[2:4, 4:6] = pair[4:6, 2:4] = CLASH
    things = np.arange(3, dtype=np.int32)
    made = make_problem(pair, np.zeros(6, np.int64), np.array([0, 2, 4, 6], np.int32), things, NO_VISITS, 1.0)
    edges, products = made.edges, made.products
    assert products.begin.tolist() == [0, 1, 2, 2]
    assert edges.kind[products.edge].tolist() == [PAIR, PAIR]
    assert products.other.tolist() == [1, 0]
    assert products.first.tolist() == [True, True]
    assert made.variables.station[edges.ends[products.edge, products.side]].tolist() == [0, 1]
