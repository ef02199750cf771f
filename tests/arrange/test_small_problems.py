"""Search and bound on small problems, where every layout can be tried: random tables, random workshops."""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import pytest

from arrange.random_shops import Asked, random_shop
from arrange.random_tables import TableJudge, TableSearch, every_cost, random_tables
from footwork.arrange.branch_and_bound import tree as tree_module
from footwork.arrange.branch_and_bound.tree import Extras, Tree
from footwork.arrange.core.arrays import Floats, Ints
from footwork.arrange.core.pairwise import Restriction, Tables
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.pair_table.visit_walks import VisitWalks
from footwork.arrange.search.multistart import Pool
from footwork.arrange.spots.enumerate import SpotList, find_spots
from footwork.arrange.spots.packing_points import floor_cover
from footwork.arrange.suggest import suggest
from footwork.arrange.tightening.collect import make_tightening
from footwork.arrange.true_cost.judge import Judge
from footwork.checks import faults_pair
from footwork.checks.ground import Ground, Placed
from footwork.floor.plan import Plan
from footwork.floor.routes import walk
from footwork.floor.wishes import wish_metres
from footwork.model.scenario import Layout, Scenario
from footwork.scoring import score

PROBLEMS = range(200)
FEW = range(0, 200, 10)
WHOLE = 1 + 1e-12
"""A bound may exceed the optimum by the rounding of doubles and no more."""


@dataclass(frozen=True)
class Small:
    """A random problem of 4 to 6 things with up to 15 spots each.

    ``true`` costs more than the table by up to a third (nothing in every other problem), and ``best``
    is the least true cost of all, infinite when every choice has a clash.
    """

    tables: Tables
    places: Floats
    true: Callable[[Ints], float]
    best: float

    @property
    def above(self) -> float:
        """A cost to start the tree from, not the optimum."""
        return self.best * 1.1 + 1 if math.isfinite(self.best) else self.tables.clash / 8


@functools.lru_cache(maxsize=8)
def small(seed: int) -> Small:
    rng = np.random.default_rng([7, seed])
    clash, flow = (float(rng.choice(values)) for values in ((0.05, 0.2, 0.5), (0.3, 0.6, 1.0)))
    tables, places = random_tables(rng, int(rng.integers(4, 7)), 15, clash, flow)
    extra = rng.random(tables.size) * (0.0 if seed % 2 else 0.06)

    def true(choice: Ints) -> float:
        return tables.cost(choice) * (1 + float(extra[choice].sum()))

    grid = every_cost(tables)
    more = np.ones(grid.shape)
    for i in range(tables.things):
        own = extra[tables.first[i] : tables.first[i + 1]]
        more += own.reshape([-1 if k == i else 1 for k in range(tables.things)])
    least = np.unravel_index(np.argmin(grid * more), grid.shape)
    return Small(tables, places, true, true(tables.first[:-1] + np.array(least, np.int32)))


def tree_of(problem: Small, true: Callable[[Ints], float] | None = None) -> Tree:
    return Tree(problem.tables, problem.above, true or problem.true, problem.places)


def finish(tree: Tree, problem: Small) -> None:
    """Node by node to the end: bounds on the way are valid and never fall, the last one is the optimum."""
    known = 0.0
    while not tree.done:
        tree.run(lambda: False, nodes=tree.nodes + 1)
        assert known <= tree.bound <= problem.best * WHOLE
        known = tree.bound
    if math.isfinite(problem.best):
        assert tree.incumbent == pytest.approx(problem.best, rel=1e-12)
        assert tree.bound == tree.incumbent
        assert tree.best is not None
        assert problem.true(tree.best) == tree.incumbent
    else:
        assert tree.best is None


@pytest.mark.parametrize("seed", PROBLEMS)
def test_stopped_at_any_node_the_bound_is_valid_and_the_end_is_the_optimum(seed: int) -> None:
    problem = small(seed)
    finish(tree_of(problem), problem)


@pytest.mark.parametrize("passes", [1, 2, 3, 5, 8, 12])
def test_stopped_after_any_pass_the_bound_is_valid(passes: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tree_module, "ROOT_PASSES", passes)
    monkeypatch.setattr(tree_module, "NODE_PASSES", passes)
    monkeypatch.setattr(tree_module, "RLT_PASSES", passes)
    for seed in FEW:
        finish(tree_of(small(seed)), small(seed))


@pytest.mark.parametrize("seed", [10, 20, 30])
def test_interrupted_while_a_layout_is_measured_the_bound_stays_valid(seed: int) -> None:
    """Ctrl-C at the first, second, ... true cost; then on to the end, where nothing may be missing."""
    problem = small(seed)
    tree, calls, left = None, itertools.count(1), [1, 2, 3, 5, 9]

    def true(choice: Ints) -> float:
        if left and next(calls) >= left[0]:
            left.pop(0)
            raise KeyboardInterrupt
        return problem.true(choice)

    tree = tree_of(problem, true)
    while True:
        try:
            tree.run(lambda: False)
            break
        except KeyboardInterrupt:
            assert tree.bound <= problem.best * WHOLE
    finish(tree, problem)


@pytest.mark.parametrize("seed", FEW)
def test_two_workers_prove_the_same(seed: int) -> None:
    problem = small(seed)
    tree = tree_of(problem)
    tree.run(lambda: False, workers=2)
    finish(tree, problem)


@pytest.mark.parametrize("seed", FEW)
def test_told_the_optimum_the_tree_proves_it(seed: int) -> None:
    """Nothing better exists, so the tree closes on what it was told."""
    problem = small(seed)
    if math.isinf(problem.best):
        return
    tree = Tree(problem.tables, problem.best, problem.true, problem.places)
    tree.run(lambda: False)
    assert tree.done
    assert tree.bound == problem.best


@pytest.mark.parametrize("seed", PROBLEMS)
def test_search_finds_the_optimum(seed: int) -> None:
    problem = small(seed)
    tables = problem.tables
    best = float(every_cost(tables).min())
    pool = Pool(lambda choice, limit: 0.0)
    free = Restriction(np.full(tables.things, -1, np.int32), tables.things)
    search = TableSearch(tables, problem.places, TableJudge(tables), free, pool, 1, 1)  # type: ignore[arg-type]
    search.wave(400, lambda: False)
    if math.isinf(best):
        assert pool.choice is None
    else:
        assert pool.best == pytest.approx(best, rel=1e-9)


# -- whole workshops, at true costs


LEAST_LAYOUTS = 12
SHOPS = (
    Asked(),
    Asked(along=True),
    Asked(alike=True),
    Asked(carry=True, wishes=True),
    Asked(vehicle=True, spots=6),
    Asked(stations=5, spots=3, along=True, wishes=True),
    Asked(stations=3, alike=True, along=True, carry=True),
    Asked(stations=3, spots=6, vehicle=True, along=True, wishes=True),
    Asked(stations=3, spots=5, vehicle=True, alike=True, carry=True),
    Asked(stations=4, spots=5, shoulds=True),
    Asked(stations=3, spots=5, vehicle=True, alike=True, shoulds=True),
    Asked(carry=True, along=True, effort=True),
    Asked(stations=3, spots=5, alike=True, evenly=True, effort=True, carry=True),
    Asked(stations=4, spots=5, parked=True, along=True),
    Asked(stations=3, spots=5, alike=True, evenly=True, parked=True, vehicle=True),
)
KINDS = list(itertools.product(range(len(SHOPS)), range(3)))


def shop(kind: int, seed: int) -> tuple[Scenario, tuple[SpotList, ...]]:
    """A random workshop in which every thing finds a spot and some layouts do not overlap, and its spots."""
    for again in itertools.count():
        scenario = random_shop(np.random.default_rng([kind, seed, again]), SHOPS[kind])
        lists = find_spots(scenario, 0.25, 4, None)
        if len(list(itertools.islice(apart(scenario, lists), LEAST_LAYOUTS))) == LEAST_LAYOUTS:
            return scenario, lists
    raise AssertionError


def apart(scenario: Scenario, lists: tuple[SpotList, ...]) -> Iterator[Layout]:
    """Layouts in which no two things by themselves fail a must-check: any other fails it as a whole too."""
    ground = Ground(scenario)

    @functools.cache
    def fault(i: int, a: int, j: int, b: int) -> bool:
        one, two = (Placed(lists[k].thing, lists[k].placements[s]) for k, s in ((i, a), (j, b)))
        return next(faults_pair(ground, one, two, False), None) is not None

    def grow(chosen: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        k = len(chosen)
        if k == len(lists):
            yield chosen
            return
        for s in range(len(lists[k].placements)):
            if not any(fault(i, a, k, s) for i, a in enumerate(chosen)):
                yield from grow((*chosen, s))

    for chosen in grow(()):
        placements = {of.thing.name: of.placements[s] for of, s in zip(lists, chosen, strict=True)}
        yield Layout("any", placements)


def true_cost(scenario: Scenario, layout: Layout) -> float:
    """The cost that ``score`` gives, without its checks."""
    plan = Plan(scenario, layout)
    metres = sum(w.job.times_per_year * w.effort for w in walk(plan))
    return metres + wish_metres(scenario, plan.placements)


def least_cost(scenario: Scenario, lists: tuple[SpotList, ...]) -> float:
    """Cost of the best layout that passes its must-checks, as ``score`` has it; infinite without one."""
    best = math.inf
    for layout in apart(scenario, lists):
        cost = true_cost(scenario, layout)
        if cost < best:
            found = score(scenario, layout)
            assert found.cost - found.check_metres == pytest.approx(cost, rel=1e-12)
            if found.ok:
                best = min(best, found.cost)
    return best


@pytest.mark.parametrize(("kind", "seed"), KINDS)
def test_suggestion_is_the_best_of_all_layouts_and_proven(kind: int, seed: int) -> None:
    scenario, lists = shop(kind, seed)
    best = least_cost(scenario, lists)
    assert math.isfinite(best)
    result = suggest(scenario, iterations=1600, processes=1)
    assert result.best.ok
    assert (
        best * (1 - 1e-9) <= result.best.cost <= best * 1.001
    )  # of layouts so much alike the tidier is shown
    assert result.bound == pytest.approx(best, rel=1e-6)
    assert result.bound <= best * (1 + 1e-9)
    assert result.status == "proven" or result.best.cost > best * (1 + 1e-9)


@pytest.mark.parametrize("kind", range(len(SHOPS)))
def test_same_seed_and_iterations_give_the_same_layout_with_one_and_two_processes(kind: int) -> None:
    scenario, _ = shop(kind, 1)
    one, two = (suggest(scenario, seed=5, iterations=80, processes=n) for n in (1, 2))
    assert one.best.placements == two.best.placements
    assert one.best.cost == two.best.cost


def numbers(table: PairTable, layout: Layout) -> Ints:
    """The choice of spots that a layout is."""
    spots = [of.placements.index(layout.placements[of.thing.name]) for of in table.lists]
    return np.array(spots, np.int32) + table.first[:-1].astype(np.int32)


def pair_table(scenario: Scenario, lists: tuple[SpotList, ...]) -> PairTable:
    some = Layout("some", {of.thing.name: of.placements[0] for of in lists})
    return PairTable(scenario, lists, False, Plan(scenario, some).building)


@pytest.mark.parametrize(("kind", "seed"), KINDS)
def test_pair_table_is_never_above_a_layout_nor_straight_lines_above_the_table(kind: int, seed: int) -> None:
    """Alike stations, standing places along a side, vehicles with shares, carry widths, wishes."""
    scenario, lists = shop(kind, seed)
    table = pair_table(scenario, lists)
    tables, judge, straight = table.build(1), Judge(table), pair_table(scenario, lists).build(1, 0)
    assert (straight.pair[tables.pair < tables.clash] <= tables.pair[tables.pair < tables.clash]).all()
    walked = 0
    for layout in itertools.islice(apart(scenario, lists), 60):
        choice = numbers(table, layout)
        counted, charged = table.prices.of(choice), score(scenario, layout).check_metres
        assert counted <= charged + 1e-6
        cost = true_cost(scenario, layout) + counted
        assert tables.cost(choice) <= cost * (1 + 1e-9)
        assert judge(choice) == pytest.approx(cost, rel=1e-9)
        walked += math.isfinite(cost)
    assert walked


def every_bound_is_valid(
    kind: int, seed: int, group: Callable[[Tables], Ints | None] = lambda tables: None
) -> None:
    """Of trees as ``suggest`` plants them, told of the best and of the worst layout, worked node by node."""
    scenario, lists = shop(kind, seed)
    table = pair_table(scenario, lists)
    standing = VisitWalks(table)
    tables = table.build(1)
    visits, judge = standing.visits(tables, 10**6), Judge(table)
    costs = [judge(numbers(table, layout)) for layout in apart(scenario, lists)]
    best, worst = min(costs), max(cost for cost in costs if math.isfinite(cost))
    places, cover = table.stamps.at, floor_cover(lists)
    tightening = functools.partial(make_tightening, standing, visits)
    for upper in (best, worst + 1.0):
        extras = Extras(visits, tightening, group(tables))
        tree = Tree(tables, upper, judge, places, cover, extras=extras)
        while not tree.done:
            tree.run(lambda: False, nodes=tree.nodes + 1)
            assert tree.bound <= best * (1 + 1e-9)
        assert tree.incumbent == pytest.approx(best, rel=1e-9)


@pytest.mark.parametrize("hub", [tree_module.HUB, 2.0], ids=["hub", "flat"])
@pytest.mark.parametrize(("kind", "seed"), KINDS)
def test_stopped_at_any_node_the_bound_of_a_workshop_is_valid(
    kind: int, seed: int, hub: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As ``suggest`` plants the tree: with packing multipliers, visits as variables where they matter,
    tightening; as if the flow had no hub as well, so that there are RLT-1 multipliers."""
    monkeypatch.setattr(tree_module, "HUB", hub)
    every_bound_is_valid(kind, seed)


@pytest.mark.parametrize(("kind", "seed"), KINDS[::2])
def test_what_the_bound_counts_for_a_layout_is_its_cost_or_less(kind: int, seed: int) -> None:
    """Never more than the true cost, and no less than the pair table makes of it."""
    scenario, lists = shop(kind, seed)
    table = pair_table(scenario, lists)
    standing = VisitWalks(table)
    tables = table.build(1)
    visits, judge = standing.visits(tables, 10**6), Judge(table)
    choices = [numbers(table, layout) for layout in apart(scenario, lists)][:40]
    costs = {tuple(choice): judge(choice) for choice in choices if not tables.clashes(choice)}
    finite = {choice: cost for choice, cost in costs.items() if math.isfinite(cost)}
    upper = max(finite.values()) + 1.0
    tree = Tree(tables, upper, judge, table.stamps.at, floor_cover(lists), extras=Extras(visits))
    assert finite
    for choice, cost in finite.items():
        counted = tree.relaxed_cost(np.array(choice, np.int32))
        assert counted <= cost * (1 + 1e-9)
        assert counted >= tables.cost(choice) - 2e-5 * upper
