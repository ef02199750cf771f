"""Random small pair-table problems, and their optimum by trying everything."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints, Longs, Seeds
from footwork.arrange.core.pairwise import Tables, assemble, floor_single
from footwork.arrange.search.anneal_table import anneal
from footwork.arrange.search.multistart import Search
from footwork.arrange.search.neighbourhoods import KINDS, Cooling, Freedom, PairCosts


def random_tables(
    rng: np.random.Generator, things: int, most: int, clash: float = 0.2, flow: float = 0.5
) -> tuple[Tables, Floats]:
    """A problem with up to ``most`` spots a thing in a 10 x 10 m square, and where the spots are."""
    sizes = rng.integers(1, most + 1, things)
    first = np.concatenate(([0], np.cumsum(sizes))).astype(np.int32)
    places = rng.random((first[-1], 2)) * 10
    pair = np.zeros((first[-1], first[-1]))
    for i, j in itertools.combinations(range(things), 2):
        a, b = slice(first[i], first[i + 1]), slice(first[j], first[j + 1])
        weight = rng.integers(1, 100) if rng.random() < flow else 0
        block = weight * np.hypot(*(places[a][:, None] - places[b][None]).transpose(2, 0, 1))
        block[rng.random(block.shape) < clash] = np.inf
        pair[a, b], pair[b, a] = block, block.T
    names = tuple(f"s{i}" for i in range(things))
    return assemble(names, first, rng.random(first[-1]) * 50, floor_single(pair), 3.0), places


def choices(tables: Tables) -> itertools.product[tuple[int, ...]]:
    return itertools.product(*(range(*tables.first[i : i + 2]) for i in range(tables.things)))


def every_cost(tables: Tables) -> Floats:
    """Price of every choice, infinite with a clash: an array with one axis a thing."""
    things = tables.things
    spans = [slice(*tables.first[i : i + 2]) for i in range(things)]
    total = np.full([int(tables.first[i + 1] - tables.first[i]) for i in range(things)], tables.constant)
    for i in range(things):
        own = tables.unary[spans[i]]
        total += np.where(own < tables.clash, own, np.inf).reshape(
            [-1 if k == i else 1 for k in range(things)]
        )
        for j in range(i + 1, things):
            block = tables.pair[spans[i], spans[j]].astype(np.float64)
            shape = [block.shape[0] if k == i else block.shape[1] if k == j else 1 for k in range(things)]
            total += np.where(block < tables.clash, block, np.inf).reshape(shape)
    return total


def optimum(
    tables: Tables,
    true: Callable[[Ints], float] | None = None,
    allowed: Callable[[Ints], bool] = lambda choice: True,
) -> float:
    """Least cost over all choices that are allowed; infinite when every one has a clash."""
    cost = true or tables.cost
    return min((cost(c) for c in map(np.array, choices(tables)) if allowed(c)), default=np.inf)


class TableJudge:
    """Stands in for the judge of a workshop: the true cost is the table's."""

    def __init__(self, tables: Tables) -> None:
        self._tables = tables

    def __call__(self, choice: Ints, limit: float = math.inf) -> float:
        return self._tables.cost(choice)

    def shut(self) -> int:
        return 0

    def cut_off(self) -> Longs:
        """A table has no walks that could be cut off."""
        return np.zeros(self._tables.things, np.int64)

    def twin(self) -> TableJudge:
        return self


class TableAnnealer:
    """Stands in for what anneals on true costs, where these are the table's."""

    def __init__(self, judge: TableJudge) -> None:
        self.judge = judge
        self.tally: Longs = np.zeros((KINDS, 2), np.int64)

    def __call__(
        self, costs: PairCosts, freedom: Freedom, state: Ints, cooling: Cooling, seed: Seeds, best: Ints
    ) -> float:
        anneal(costs, freedom, state, cooling, seed, best)
        return self.judge(best)


class TableSearch(Search):
    """The search where true costs are the table's."""

    def annealer_of(self, judge: TableJudge) -> TableAnnealer:  # type: ignore[override]
        return TableAnnealer(judge)
