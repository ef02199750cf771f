"""Layouts to begin with: completed without a clash whatever they begin from, and walked by everybody."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from arrange.random_tables import choices, random_tables
from footwork.arrange.core.arrays import Ints
from footwork.arrange.core.pairwise import Restriction, Tables
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.search.construct import Failures, Starter
from footwork.arrange.search.guided_ejection import crowding, guided_ejection
from footwork.arrange.search.multistart import Pool, Search
from footwork.arrange.search.neighbourhoods import (
    EJECTION,
    KINDS,
    NEIGHBOURS,
    RELOCATE,
    ROW,
    SWAP,
    TOGETHER,
    TURN,
    freedom,
    pair_costs,
)
from footwork.arrange.spots.enumerate import find_spots
from footwork.arrange.true_cost.judge import Judge
from footwork.floor.plan import Plan
from footwork.model.read import loads
from footwork.model.scenario import Layout
from footwork.scoring import score

ISLE = """
[room]
size = [5.0, 3.6]
doors = [{ name = "door", wall = "south", from = 0.4, width = 0.9, swing = "out" }]
[stations]
bench = { size = [1.6, 0.8], placing = "wall", count = 2 }
table = { size = [1.2, 0.8], stand = ["front", "back"] }
saw = { size = [0.8, 0.7] }
rack = { size = [1.8, 0.5], placing = "wall" }
[jobs.build]
times = "4 per week"
route = ["door:door", "rack", "saw", "bench-1", "table", "bench-2", "saw", "table"]
"""


def completed(tables: Tables, seed: int, state: Ints, moves: int, base: Ints) -> int:
    crowds = crowding(tables.pair, tables.clash, tables.first)
    weight = np.ones(tables.things)
    generator = np.array([seed], np.uint64)
    costs = pair_costs(tables, np.zeros((tables.size, 2)))
    free = freedom(tables, Restriction(base, moves))
    return int(guided_ejection(costs, crowds, free, state, weight, 5000, generator))


@pytest.mark.parametrize("seed", range(40))
def test_what_can_be_completed_is(seed: int) -> None:
    """Crowded tables, some of them too much: brute force says whether any choice is free of clashes."""
    rng = np.random.default_rng([3, seed])
    tables, _ = random_tables(rng, int(rng.integers(4, 7)), 6, (0.5, 0.65, 0.8)[seed % 3], 0.5)
    possible = any(math.isfinite(tables.cost(np.array(c))) for c in choices(tables))
    state, none = np.full(tables.things, -1, np.int32), np.full(tables.things, -1, np.int32)
    left = completed(tables, seed, state, tables.things, none)
    assert (left == 0) == possible
    placed = [i for i in range(tables.things) if state[i] >= 0]
    for i, j in itertools.combinations(placed, 2):
        assert tables.pair[state[i], state[j]] < tables.clash


def test_no_more_things_leave_the_base_than_may() -> None:
    """One beginning may get stuck where so little may move; of eight one finds it where there is any."""
    mended = 0
    for seed in range(12):
        tables, _ = random_tables(np.random.default_rng([4, seed]), 5, 6, (0.2, 0.4)[seed % 2], 0.5)
        base = (tables.first[1:] - 1).astype(np.int32)
        found = False
        for again in range(8):
            state = base.copy()
            for i, j in tables.clashes(base):
                state[i], state[j] = -1, -1
            if completed(tables, 100 * seed + again, state, 2, base) == 0:
                found = True
                assert (state != base).sum() <= 2
                assert not tables.clashes(state)
        few = (np.array(c) for c in choices(tables) if (np.array(c) != base).sum() <= 2)
        assert found == any(not tables.clashes(c) for c in few)
        mended += found and bool(tables.clashes(base))
    assert mended > 1


def problem() -> tuple[PairTable, Tables, Judge]:
    scenario = loads(ISLE)
    lists = find_spots(scenario, 0.5, 4, None)
    some = Layout("some", {s.thing.name: s.placements[0] for s in lists})
    table = PairTable(scenario, lists, False, Plan(scenario, some).building)
    return table, table.build(1), Judge(table)


def test_a_first_layout_passes_every_must_and_costs_what_it_is_said_to() -> None:
    table, tables, judge = problem()
    starter = Starter(
        tables, table.stamps.at, Restriction(np.full(tables.things, -1, np.int32), tables.things)
    )
    failures = Failures.none(tables.things)
    for seed in range(5):
        found = starter.sound(judge, np.random.default_rng(seed), lambda: False, 300, failures)
        assert found is not None
        cost, state = found
        spots = zip(table.lists, state - tables.first[:-1], strict=True)
        layout = Layout("first", {s.thing.name: s.placements[int(k)] for s, k in spots})
        result = score(table.scenario, layout)
        assert result.ok
        counted = table.prices.of(state)
        assert result.cost - result.check_metres + counted == pytest.approx(cost, rel=1e-9)
    assert failures.tried >= 5


def test_moves_of_every_kind_are_tried_and_taken() -> None:
    table, tables, judge = problem()
    everything = Restriction(np.full(tables.things, -1, np.int32), tables.things)
    search = Search(tables, table.stamps.at, judge, everything, Pool(lambda choice, limit: 0.0), 1, 1)
    search.wave(4000, lambda: False)
    tally = search.tally()
    assert tally.shape == (KINDS, 2)
    for kind in (RELOCATE, TURN, SWAP, NEIGHBOURS, ROW, EJECTION, TOGETHER):
        assert tally[kind, 0] > 0, kind
        assert tally[kind, 1] > 0, kind
