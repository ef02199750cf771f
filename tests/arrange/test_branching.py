"""Stations tried before a node is split: the answers stay, the trees shrink."""

from __future__ import annotations

import math

import pytest

from arrange.test_small_problems import FEW, KINDS, PROBLEMS, every_bound_is_valid, finish, small, tree_of
from footwork.arrange import bound


def grown(worth: float, monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Nodes of the trees of some small problems when stations are tried with so much left to the limit."""
    monkeypatch.setattr(bound, "WORTH", worth)
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
    monkeypatch.setattr(bound, "WORTH", 0.0)
    every_bound_is_valid(kind, seed)


@pytest.mark.parametrize("seed", FEW)
def test_two_workers_prove_the_same(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bound, "WORTH", 0.0)
    tree = tree_of(small(seed))
    tree.run(lambda: False, workers=2)
    assert tree.done
    finish(tree, small(seed))
