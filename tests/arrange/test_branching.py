"""Stations tried before a node is split (strong branching): the answers stay, the trees shrink."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from arrange.random_tables import random_tables
from arrange.test_small_problems import FEW, KINDS, PROBLEMS, every_bound_is_valid, finish, small, tree_of
from footwork.arrange.branch_and_bound import tree as tree_module
from footwork.arrange.branch_and_bound.strong_branching import HEAVIEST


def grown(worth: float, monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Nodes of the trees of some small problems when stations are tried with so much left to the cutoff."""
    monkeypatch.setattr(tree_module, "TRIED_FROM", worth)
    nodes = []
    for seed in PROBLEMS[::4]:
        tree = tree_of(small(seed))
        finish(tree, small(seed))
        nodes.append(tree.nodes)
    return nodes


def test_trees_are_smaller_where_stations_are_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every bound on the way is valid, tried in every node or in none (``finish`` looks at all of them)."""
    assert sum(grown(0.0, monkeypatch)) < sum(grown(math.inf, monkeypatch))


@pytest.mark.parametrize(("kind", "seed"), KINDS[::3])
def test_so_it_is_for_a_workshop(kind: int, seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tree_module, "TRIED_FROM", 0.0)
    every_bound_is_valid(kind, seed)


@pytest.mark.parametrize("seed", FEW)
def test_two_workers_prove_the_same(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tree_module, "TRIED_FROM", 0.0)
    tree = tree_of(small(seed))
    tree.run(lambda: False, workers=2)
    assert tree.done
    finish(tree, small(seed))


@pytest.mark.parametrize("worth", [0.0, math.inf])
@pytest.mark.parametrize("seed", range(3))
def test_one_of_the_heaviest_open_stations_is_split_on(
    seed: int, worth: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The tree's stations go by weight, so those are the last of several spots."""
    split, taken = tree_module.split, []

    def watched(ended: Any, *arguments: Any) -> Any:
        found, first = split(ended, *arguments), ended.relaxation.sub.first
        begin = found.begin
        children = [set(found.pick[begin[k] : begin[k + 1]].tolist()) for k in range(len(found.bound))]
        # Children differ in the spots of one station, unless a trial refuted all of those.
        for place in sorted(set.union(*children) - set.intersection(*children))[:1]:
            several = np.flatnonzero(np.diff(first) > 1)
            station = np.searchsorted(first, place, side="right") - 1
            taken.append((len(several), len(several) - np.searchsorted(several, station)))
        return found

    monkeypatch.setattr(tree_module, "split", watched)
    monkeypatch.setattr(tree_module, "TRIED_FROM", worth)
    tables, places = random_tables(np.random.default_rng([17, seed]), 12, 15, 0.2, 0.8)
    tree = tree_module.Tree(tables, 1e5, tables.cost, places)
    tree.run(lambda: False, nodes=100)
    assert max(of for of, _ in taken) > HEAVIEST
    assert max(rank for _, rank in taken) <= HEAVIEST
