"""Alike things may change places: the bound looks at one order of theirs, and loses no layout by it."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from footwork.arrange.core.pairwise import Tables, assemble
from footwork.arrange.core.visit_variables import Visits
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.pair_table.visit_walks import VisitWalks
from footwork.arrange.spots.alike import alike
from footwork.arrange.spots.enumerate import SpotList, find_spots
from footwork.arrange.spots.symmetry_breaking import in_order, ordered
from footwork.arrange.suggest import suggest
from footwork.floor.plan import Plan
from footwork.model.read import loads
from footwork.model.scenario import Layout, Placement

ROOM = """
[room]
size = [4.0, 3.0]
[stations]
bench = { size = [1.0, 0.5], count = 3 }
rack = { size = [0.8, 0.4] }
[jobs.work]
times = "1 per week"
route = ["rack", "bench", "rack"]
"""
WISH = '[[prefer]]\nstation = "bench-1"\nnear = "rack"\nweight = 1\n'
SPOT = '[[spots]]\nat = [1, 1]\nfacing = "north"\ntakes = ["bench-3"]\n'


def test_of_a_group_nothing_tells_one_from_the_other() -> None:
    scenario = loads(ROOM)
    assert alike(scenario, scenario.things) == ((0, 1, 2),)


@pytest.mark.parametrize(
    ("change", "left"),
    [
        (("""route = ["rack", "bench",""", """route = ["rack", "bench-2","""), ((0, 2),)),
        (("count = 3", 'count = 3, use = "evenly"'), ()),
        (("count = 3", "count = 3, use = 2"), ()),
        (("[jobs.work]", f"{WISH}[jobs.work]"), ((1, 2),)),
        (("[jobs.work]", f"{SPOT}[jobs.work]"), ((0, 1),)),
    ],
)
def test_but_of_one_that_the_file_names(change: tuple[str, str], left: tuple[tuple[int, ...], ...]) -> None:
    scenario = loads(ROOM.replace(*change))
    assert alike(scenario, scenario.things) == left


def drawn(rng: np.random.Generator) -> tuple[Tables, list[SpotList]]:
    """Three alike things and another on some of few placements each, at costs that know no names."""
    scenario = loads(ROOM)
    places = [Placement(float(x), float(y), 90.0 * f) for x, y, f in product((0, 1), (0, 1), (0, 1))]
    lists, which = [], []
    for thing in scenario.things:
        some = np.sort(rng.choice(len(places), int(rng.integers(3, 6)), replace=False))
        lists.append(SpotList(thing, tuple(places[k] for k in rng.permutation(some))))
        which.append([places.index(at) for at in lists[-1].placements])
    alone, beside = rng.integers(0, 9, len(places)), rng.integers(0, 9, (len(places), len(places)))
    beside = np.where(rng.random(beside.shape) < 0.2, np.inf, (beside + beside.T).astype(float))
    beside = np.maximum(beside, beside.T)
    np.fill_diagonal(beside, np.inf)
    first = np.cumsum([0, *map(len, which)]).astype(np.int32)
    spots = [k for of in which for k in of]
    unary = np.array([alone[k] for k in spots], float)
    pair = np.array([[beside[a, b] for b in spots] for a in spots], np.float32)
    for i in range(4):
        pair[first[i] : first[i + 1], first[i] : first[i + 1]] = 0.0
    return assemble(tuple(t.name for t in scenario.things), first, unary, pair), lists


@pytest.mark.parametrize("seed", range(25))
def test_the_least_cost_stays_and_every_choice_has_one_in_order(seed: int) -> None:
    tables, lists = drawn(np.random.default_rng(seed))
    group = ((0, 1, 2),)
    after = in_order(tables, lists, group)
    spans = [range(*tables.first[i : i + 2].tolist()) for i in range(4)]
    costs, left = [], []
    for choice in product(*spans):
        cost = tables.cost(choice)
        same = ordered(np.array(choice, np.int32), tables, lists, group)
        assert tables.cost(same) == pytest.approx(cost)
        assert after.cost(same) == pytest.approx(cost)
        costs.append(cost)
        left.append(after.cost(choice))
    assert min(costs) == pytest.approx(min(left))
    assert np.isfinite(left).sum() <= np.isfinite(costs).sum()


def test_of_six_layouts_one_is_left() -> None:
    """Three benches on the same spots of each: one order of six."""
    scenario = loads(ROOM)
    of = find_spots(scenario, 1.0, 4, None)
    first = np.cumsum([0, *(len(spots.placements) for spots in of)]).astype(np.int32)
    pair = np.zeros((first[-1], first[-1]), np.float32)
    tables = assemble(tuple(spots.thing.name for spots in of), first, np.zeros(first[-1]), pair)
    after = in_order(tables, of, alike(scenario, scenario.things))
    three = [range(*first[i : i + 2].tolist()) for i in range(3)]
    apart = [c for c in product(*three) if len({int(k) - int(first[i]) for i, k in enumerate(c)}) == 3]
    rack = int(first[3])
    assert 6 * sum(not after.clashes([*c, rack]) for c in apart) == len(apart)


def test_where_one_has_a_spot_of_its_own_it_keeps_its_name() -> None:
    """Only what both could take is changed over."""
    scenario = loads(ROOM)
    at = {"bench-1": (3.13, 1.0), "bench-2": (1.0, 1.0), "bench-3": (1.0, 2.0), "rack": (2.0, 2.7)}
    base = Layout("base", {name: Placement(x, y, 0.0) for name, (x, y) in at.items()})
    one, *others = find_spots(scenario, 0.5, 4, base)
    left = tuple(p for p in one.placements if p != base.placements["bench-1"])
    lists = [one, *(replace(of, placements=left) for of in others[:2]), others[2]]
    sizes = [len(of.placements) for of in lists]
    first = np.cumsum([0, *sizes]).astype(np.int32)
    pair = np.zeros((first[-1], first[-1]), np.float32)
    tables = assemble(tuple(of.thing.name for of in lists), first, np.zeros(first[-1]), pair)
    own = lists[0].placements.index(base.placements["bench-1"])
    after = in_order(tables, lists, alike(scenario, scenario.things))
    assert (after.pair[own, first[1] : first[2]] < after.clash).all()
    assert (after.pair[: first[1], first[1] : first[2]] >= after.clash).any()
    assert replace(after, pair=tables.pair) == replace(tables)


SHARED = """
[walker]
setting_off = 1.0
[room]
size = [6.0, 4.5]
doors = [{ name = "door", wall = "south", from = 4.0, width = 1.0 }]
[stations]
paint = { size = [0.8, 0.5], placing = "wall", minds = ["sparks"] }
bench = { size = [1.0, 0.5], count = 3, gives = ["sparks"] }
rack = { size = [1.6, 0.4], placing = "wall" }
table = { size = [1.2, 0.8], count = 2, stand = ["front", "back"] }
[jobs]
make = { times = "5 per week", route = ["rack", "bench", "table", "bench", "paint"] }
mend = { times = "3 per week", route = ["door:door", "table", "bench", "door:door"] }
"""


def test_what_alike_things_share_is_what_each_would_have_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    """Spots, clashes, prices and the walks of visits, with a base where they stand on odd spots."""
    scenario = loads(SHARED)
    at = {f"bench-{k}": (0.9 + 1.27 * k, 2.03) for k in (1, 2, 3)} | {"table-1": (1.23, 3.1)}
    base = Layout("base", {name: Placement(x, y, 180.0) for name, (x, y) in at.items()})
    lists = find_spots(scenario, 0.5, 4, base)
    benches, tables = lists[1:4], lists[5:7]
    assert {of.placements for of in benches} == {benches[0].placements}
    assert {base.placements[f"bench-{k}"] for k in (1, 2, 3)} <= set(benches[0].placements)
    assert {of.placements for of in tables} == {tables[0].placements}

    def built() -> tuple[PairTable, Tables, Visits]:
        any_layout = Layout("any", {of.thing.name: of.placements[0] for of in lists})
        table = PairTable(scenario, lists, False, Plan(scenario, any_layout).building)
        made = table.build(1)
        return table, made, VisitWalks(table).visits(made, 10**9)

    shared, made, visits = built()
    assert shared.models == (0, 1, 1, 1, 4, 5, 5)
    monkeypatch.setattr("footwork.arrange.pair_table.table.models", lambda _, of: tuple(range(len(of))))
    alone, theirs, their_visits = built()
    assert (made.pair == theirs.pair).all()
    assert (made.unary == theirs.unary).all()
    assert shared.prices.pairs.keys() == alone.prices.pairs.keys()
    assert all((block == alone.prices.pairs[ij]).all() for ij, block in shared.prices.pairs.items())
    assert any(block.any() for block in alone.prices.pairs.values())
    assert len(visits.blocks) == len(their_visits.blocks) > 0
    assert all(map(np.array_equal, visits.blocks, their_visits.blocks))
    one, two = ([of.unary for of in found.variables] for found in (visits, their_visits))
    assert all(map(np.array_equal, one, two))
    assert any(own.any() for own in one)


FOUR = """
[room]
size = [9.0, 6.0]
doors = [{ name = "door", wall = "south", from = 4.0, width = 1.0 }]
[stations]
rack = { size = [2.0, 0.5], placing = "wall" }
bench = { size = [1.6, 0.8], count = 4 }
[jobs]
make = { times = "5 per week", route = ["rack", "bench", "rack", "bench", "rack"] }
"""


@pytest.mark.parametrize("seed", range(1, 4))
def test_an_empty_room_of_four_alike_benches_is_solved(seed: int) -> None:
    """Tables know nothing of a group's walks; a clash has to be dear all the same, or it is put up with.

    One bench faces the rack over a gangway of 1.0 m, 0.3 m aside; no two spots at this pitch are nearer.
    """
    scenario = loads(FOUR)
    found = suggest(scenario, iterations=800, pitch=0.5, seed=seed, processes=1)
    assert found.best.cost == pytest.approx(465.1, abs=0.1)
    assert found.bound == pytest.approx(found.best.cost, rel=1e-6)
