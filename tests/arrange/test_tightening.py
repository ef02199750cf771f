"""Tightening: a node knows at once what settled stations shut off from the door."""

from __future__ import annotations

import functools

import numpy as np
import pytest

from arrange.test_small_problems import pair_table
from footwork.arrange.branch_and_bound import tree as tree_module
from footwork.arrange.branch_and_bound.tree import Extras, Tree
from footwork.arrange.pair_table.visit_walks import VisitWalks
from footwork.arrange.spots.enumerate import find_spots, side_by_side
from footwork.arrange.spots.packing_points import floor_cover
from footwork.arrange.tightening.collect import make_tightening
from footwork.model.read import loads

PITCH = 0.25
TWO_CABINETS = """
[room]
size = [6.0, 3.0]
doors = [{ name = "door", wall = "west", from = 1.0, width = 1.0, swing = "out" }]
[stations.south]
size = [0.6, 1.25]
fixed = { at = [3.0, 0.625], facing = "north" }
strip = 0.4
[stations.north]
size = [0.6, 1.25]
fixed = { at = [3.0, 2.375], facing = "south" }
strip = 0.4
[stations.shelf]
size = [0.5, 0.3]
placing = "wall"
[jobs.work]
times = "1 per day"
route = ["door:door", "shelf"]
"""
"""The two leave 0.5 m between them: less than a walker is wide, and neither alone is in the way."""


def easternmost(tight: bool) -> float:
    """The greatest x at which the shelf may still stand after one node, walks to doors tightened or not."""
    scenario = loads(TWO_CABINETS)
    lists = find_spots(scenario, PITCH, 4, None)
    table = pair_table(scenario, lists)
    standing = VisitWalks(table)
    tables = table.build(1)
    visits = standing.visits(tables, 10**6)
    tightening = functools.partial(make_tightening, standing, visits) if tight else None
    tree = Tree(
        tables, 5e3, lambda _: np.inf, table.stamps.at, floor_cover(lists),
        extras=Extras(visits, tightening, side_by_side(lists, PITCH)),
    )  # fmt: skip
    tree.run(lambda: False, nodes=1)
    aggregation = tree._scaled.aggregation
    nodes = [node.parent.spots[node.pick] for node in tree._open]
    spots = np.concatenate([aggregation.taken_apart(of, aggregation.sizes[of])[0] for of in nodes])
    shelf = [k for k in tree._scaled.order[spots] if k >= tables.first[2]]
    return float(table.stamps.at[shelf, 0].max())


@pytest.mark.parametrize("fine", [0, 600])
def test_what_is_shut_off_is_fixed_out_in_the_first_node(fine: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tree_module, "FINE_SPOTS", fine)
    monkeypatch.setattr(tree_module, "FEW_AGGREGATES", 1)
    monkeypatch.setattr(tree_module, "TIGHTENED_PAIRS", -1)
    assert easternmost(tight=False) > 5.0
    assert easternmost(tight=True) < 3.0
