"""What a start of the search begins with, and how warm."""

from __future__ import annotations

import math

import numpy as np

from arrange.random_tables import TableAnnealer, TableJudge, random_tables
from footwork.arrange.core.arrays import Ints, Seeds
from footwork.arrange.core.pairwise import Restriction, Tables
from footwork.arrange.search.multistart import COOLER, WAVE, Pool, Search
from footwork.arrange.search.neighbourhoods import Cooling, Freedom, PairCosts


class Narrow(TableJudge):
    """Nobody can walk any layout but one; takes note of where the starts begin, and how warm."""

    def __init__(self, tables: Tables, walked: Ints) -> None:
        super().__init__(tables)
        self.walked = walked
        self.begun: list[tuple[Ints, float]] = []

    def __call__(self, choice: Ints, limit: float = math.inf) -> float:
        return super().__call__(choice) if np.array_equal(choice, self.walked) else math.inf


class NarrowAnnealer(TableAnnealer):
    """Takes note of where it begins and how warm, and stays there."""

    judge: Narrow

    def __call__(
        self, costs: PairCosts, freedom: Freedom, state: Ints, cooling: Cooling, seed: Seeds, best: Ints
    ) -> float:
        self.judge.begun.append((state.copy(), cooling.hot))
        best[:] = state
        return self.judge(best)


class NarrowSearch(Search):
    def annealer_of(self, judge: Narrow) -> NarrowAnnealer:  # type: ignore[override]
        return NarrowAnnealer(judge)


def narrow() -> tuple[Search, Narrow]:
    """A search of one layout that can be walked, which it has met."""
    tables, places = random_tables(np.random.default_rng(3), 8, 30, clash=0.05)
    walked = (tables.first[1:] - 1).astype(np.int32)
    while tables.clashes(walked):
        j = tables.clashes(walked)[0][1]
        walked[j] -= 1
    judge, pool = Narrow(tables, walked), Pool(lambda choice, limit: 0.0)
    pool.add(judge(walked), walked)
    everything = Restriction(np.full(tables.things, -1, np.int32), tables.things)
    return NarrowSearch(tables, places, judge, everything, pool, 1, 1), judge  # type: ignore[arg-type]


def test_where_nobody_can_walk_what_the_table_finds_a_start_begins_from_a_known_layout() -> None:
    search, judge = narrow()
    search.wave(100, lambda: False)
    assert len(judge.begun) == WAVE
    assert all(np.array_equal(state, judge.walked) for state, _ in judge.begun)
    assert len({warm for _, warm in judge.begun}) == 1


def test_with_none_known_such_a_start_gives_up() -> None:
    search, judge = narrow()
    search.pool = Pool(lambda choice, limit: 0.0)
    search.wave(100, lambda: False)
    assert not judge.begun


def test_starts_from_a_known_layout_are_cooler_than_new_ones_each_by_as_much_as_it_draws() -> None:
    search, judge = narrow()
    search.wave(100, lambda: False)
    new = judge.begun[0][1]
    for _ in range(20):
        search.wave(100, lambda: False, [judge.walked] * WAVE)
    given = np.array([warm for _, warm in judge.begun[WAVE:]]) / new
    assert given.max() <= 1 / 3
    assert given.min() >= 1 / 3 / COOLER
    assert given.max() / given.min() > COOLER / 2
