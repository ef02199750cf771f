"""The tables against the checks and the true cost, on random layouts from the spots of the examples."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from footwork.arrange.core.pairwise import Tables
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.spots.enumerate import SpotList, find_spots
from footwork.arrange.true_cost.judge import Judge
from footwork.checks import faults_alone, faults_pair
from footwork.checks.ground import Ground, Placed
from footwork.floor.plan import Plan
from footwork.floor.routes import walk
from footwork.floor.wishes import wish_metres
from footwork.model.read import load, loads
from footwork.model.scenario import Layout, Scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"
EXAMPLES = ("frame-nook", "cabinet-garage", "gate-shed")
PITCH = 0.8
REACH_ONLY = "no way between the two"


@lru_cache
def problem(name: str, strict: bool = False) -> tuple[Scenario, tuple[SpotList, ...], PairTable, Tables]:
    scenario = load(SCENARIOS / f"{name}.toml")
    lists = find_spots(scenario, PITCH, 4, None, strict=strict)
    some = Layout("some", {s.thing.name: s.placements[0] for s in lists})
    table = PairTable(scenario, lists, strict, Plan(scenario, some).building)
    return scenario, lists, table, table.build(1)


@pytest.mark.parametrize("strict", [False, True])
@pytest.mark.parametrize("name", EXAMPLES)
def test_every_spot_passes_the_checks_of_the_room(name: str, strict: bool) -> None:
    scenario, lists, _, _ = problem(name, strict)
    ground = Ground(scenario)
    rng = np.random.default_rng(3)
    for spots in lists:
        for k in rng.choice(len(spots.placements), min(40, len(spots.placements)), replace=False):
            fault = next(faults_alone(ground, Placed(spots.thing, spots.placements[k]), strict), None)
            assert fault is None


@pytest.mark.parametrize("strict", [False, True])
@pytest.mark.parametrize("name", EXAMPLES)
def test_pairs_clash_exactly_where_a_check_fails(name: str, strict: bool) -> None:
    """Spots near each other, where it matters.  A pair may also clash because no walk joins it."""
    scenario, lists, table, tables = problem(name, strict)
    ground = Ground(scenario)
    rng = np.random.default_rng(4)
    at = table.stamps.at
    for _ in range(1500):
        i, j = rng.choice(len(lists), 2, replace=False)
        a = int(rng.integers(tables.first[i], tables.first[i + 1]))
        span = np.arange(tables.first[j], tables.first[j + 1])
        b = int(rng.choice(span[np.argsort(np.hypot(*(at[span] - at[a]).T))[:12]]))
        one, two = (
            Placed(lists[k].thing, lists[k].placements[s - tables.first[k]]) for k, s in ((i, a), (j, b))
        )
        fault = next(faults_pair(ground, one, two, strict), None)
        clash = bool(tables.pair[a, b] >= tables.clash)
        if fault is not None:
            assert clash, (one, two, fault)
        elif clash:
            assert not np.isfinite(_least_walk(table, i, j, a, b)), (one, two)


def _least_walk(table: PairTable, i: int, j: int, a: int, b: int) -> float:
    """The walks of two things alone on the floor, by the engine itself; 0 without a leg between them."""
    things = (table.lists[i].thing, table.lists[j].thing)
    names = {t.name for t in things}
    placements = {
        t.name: table.lists[k].placements[s - table.first[k]]
        for t, k, s in zip(things, (i, j), (a, b), strict=True)
    }
    scenario = table.scenario.with_(
        stations=tuple(s for s in table.scenario.stations if s.name in names),
        vehicles=tuple(v for v in table.scenario.vehicles if v.name in names),
        jobs=(),
    )
    from footwork.arrange.spots.stamps import place_numbers, sides_of
    from footwork.floor.shapes import standing_places, stepped_out

    plan = Plan(scenario, Layout("two", placements))
    scene = plan.scene(frozenset(v.name for v in scenario.vehicles))
    walker = scenario.walker.width
    worst = 0.0
    for leg in table.legs:
        if {leg.start[0], leg.end[0]} != names:
            continue
        ends = []
        for name, side in (leg.start, leg.end):
            thing = scenario.thing(name)
            found = standing_places(thing, placements[name], walker, sides_of(table.scenario, thing))
            ends.append(
                [stepped_out(found[k], walker, leg.width) for k in place_numbers(table.scenario, thing, side)]
            )
        worst = max(worst, float(scene.lengths(*ends, leg.width / 2).min()))
    return worst


@pytest.mark.parametrize("name", EXAMPLES)
def test_table_never_exceeds_the_true_cost_and_the_judge_is_exact(name: str) -> None:
    scenario, lists, table, tables = problem(name)
    judge = Judge(table)
    rng = np.random.default_rng(5)
    for _ in range(12):
        choice = _free_choice(rng, tables)
        placements = {
            s.thing.name: s.placements[c - f] for s, c, f in zip(lists, choice, tables.first, strict=False)
        }
        plan = Plan(scenario, Layout("random", placements))
        true = sum(w.job.times_per_year * w.effort for w in walk(plan)) + table.prices.of(choice)
        true += wish_metres(scenario, plan.placements)
        assert judge(choice) == pytest.approx(true, rel=1e-9)
        if not tables.clashes(choice):
            assert tables.cost(choice) <= true * (1 + 1e-9)


def _free_choice(rng: np.random.Generator, tables: Tables) -> np.ndarray:
    """Random spots, each free of the ones before where it can be."""
    chosen: list[int] = []
    for i in range(tables.things):
        span = rng.permutation(np.arange(tables.first[i], tables.first[i + 1]))
        free = [s for s in span[:300] if not chosen or (tables.pair[s, chosen] < tables.clash).all()]
        chosen.append(int(free[0] if free else span[0]))
    return np.array(chosen, np.int32)


# A saw whose bars go out of the door to the east, and a bin that may stand in the yard, straight behind
# that door: what lies beyond the opening does not count, so the two may stand so.
BARS_OUT = """
[room]
size = [4, 3]
doors = [{ name = "side", wall = "east", from = 1.0, width = 1.0 }]
yards = [{ name = "yard", outline = [[4, 0], [8, 0], [8, 3], [4, 3]] }]
[stations.saw]
size = [0.6, 0.6]
stock = { left = 4.0, width = 0.3 }
[stations.bin]
size = [0.8, 0.8]
outdoors = true
[jobs.cut]
times = "1 per week"
route = ["saw", "bin"]
[[spots]]
name = "by the wall"
at = [2.0, 1.5]
facing = "north"
takes = ["saw"]
[[spots]]
name = "behind the door"
at = [6.5, 1.5]
facing = "south"
takes = ["bin"]
[[spots]]
name = "before the door"
at = [3.2, 1.5]
facing = "south"
takes = ["bin"]
"""


def test_stock_beyond_an_opening_is_no_clash() -> None:
    scenario = loads(BARS_OUT)
    ground = Ground(scenario)
    lists = find_spots(scenario, PITCH, 4, None)
    some = Layout("some", {s.thing.name: s.placements[0] for s in lists})
    tables = PairTable(scenario, lists, False, Plan(scenario, some).building).build(1)
    saw, bins = lists
    for k, placement in enumerate(bins.placements):
        fault = next(
            faults_pair(ground, Placed(saw.thing, saw.placements[0]), Placed(bins.thing, placement)), None
        )
        assert (fault is not None) == (placement.x < 4)
        assert bool(tables.clashes([0, int(tables.first[1]) + k])) == (fault is not None)
