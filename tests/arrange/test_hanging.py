"""Hanging things in the search: tables and cells agree with the checks, costs with the walks, proofs hold.

One workshop has a case of every rule that heights decide: wall cabinets over a bench, a shelf between, a
rack that people walk under and a lamp of no known height, long stock, swinging doors of two heights, a
panel, and a low car.
"""

from __future__ import annotations

import itertools
import math
from functools import lru_cache

import numpy as np
import pytest

from arrange.test_small_problems import apart, least_cost, numbers, pair_table, true_cost
from arrange.test_tables_against_checks import _free_choice, _least_walk
from footwork import checks
from footwork.arrange.branch_and_bound.tree import Extras, Tree
from footwork.arrange.core.pairwise import Tables
from footwork.arrange.every_position.cell_conflicts import possible
from footwork.arrange.every_position.cell_packing import cell_cover
from footwork.arrange.every_position.cell_table import CellTable, CellVisits
from footwork.arrange.every_position.cells import Cells, make_cells
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.pair_table.visit_walks import VisitWalks
from footwork.arrange.spots.alone import UnaryConsistency
from footwork.arrange.spots.enumerate import SpotList, find_spots
from footwork.arrange.spots.packing_points import floor_cover, may_share
from footwork.arrange.suggest import suggest
from footwork.arrange.tightening.collect import make_tightening
from footwork.arrange.true_cost.judge import Judge
from footwork.checks.ground import Ground, Placed
from footwork.floor.headroom import overhead, share_floor
from footwork.floor.plan import Plan
from footwork.model.read import loads
from footwork.model.scenario import Layout, Placement, Scenario, Spot
from footwork.scoring import score

WORKSHOP = """
[walker]
profile = "{profile}"
[room]
size = [8.0, 6.0]
doors = [
    {{ name = "gate", wall = "south", from = 0.5, width = 2.6, vehicle = true, height = 2.2, leaf = 2.0 }},
    {{ name = "side", wall = "east", from = 0.5, width = 0.9, swing = "in", height = 2.3 }},
    {{ name = "back", wall = "north", from = 6.5, width = 0.9, swing = "in" }},
]
keep_clear = [
    {{ name = "panel", at = [7.95, 3.5], size = [0.5, 0.1], facing = "west", kind = "electrical panel" }},
    {{ name = "way", at = [4.0, 3.0], size = [0.8, 0.8] }},
]
fixtures = [{{ name = "post", at = [5.5, 3.2], size = [0.2, 0.2] }}]
[stations]
bench = {{ size = [1.6, 0.7], placing = "wall", strip = 0.8, height = 0.9 }}
locker = {{ size = [0.8, 0.5], height = 1.9, service = {{ left = 0.3 }} }}
crate = {{ size = [0.7, 0.6] }}
saw = {{ size = [0.6, 0.6], stock = {{ left = 1.5, width = 0.3 }}, work_height = 0.95, height = 0.95 }}
cabinet = {{ size = [1.0, 0.3], placing = "wall", from_floor = 1.4, height = 2.0, reach = 0.4 }}
shelf = {{ size = [0.8, 0.25], from_floor = 0.97, height = 1.35, reach = 0.3, stand = ["front", "left"] }}
rack = {{ size = [1.2, 0.6], from_floor = 2.1, height = 2.4 }}
lamp = {{ size = [0.5, 0.5], from_floor = 2.0, stand = [] }}
loft = {{ size = [1.0, 0.6], from_floor = 2.45, reach = 0.2, strip = 0.6 }}
[vehicles]
car = {{ size = [1.6, 3.2], height = 1.3, inside = 0.3, around = {{ left = 0.6, front = 0.6 }} }}
[jobs]
make = {{ times = "3 per week", route = ["bench", "cabinet", "saw", "shelf", "bench", "rack", "crate"] }}
fix = {{ times = "1 per week", route = ["car", "bench", "locker", "loft"] }}
"""
PITCH = 0.6
CASES = ["standing", "wheelchair"]


@lru_cache
def problem(profile: str) -> tuple[Scenario, tuple[SpotList, ...], PairTable, Tables]:
    scenario = loads(WORKSHOP.format(profile=profile))
    lists = find_spots(scenario, PITCH, 4, None)
    table = pair_table(scenario, lists)
    return scenario, lists, table, table.build(1)


@pytest.mark.parametrize("profile", CASES)
@pytest.mark.parametrize("strict", [False, True])
def test_positions_are_refused_exactly_where_a_check_fails(profile: str, strict: bool) -> None:
    """Anywhere in the room and a little beyond, in any of the four facings."""
    scenario = loads(WORKSHOP.format(profile=profile))
    ground, alone = Ground(scenario), UnaryConsistency(scenario, strict)
    rng = np.random.default_rng(1)
    for thing in scenario.stations:
        for facing in (0.0, 90.0, 180.0, 270.0):
            at = rng.uniform((-0.2, -0.2), (8.2, 6.2), (120, 2))
            at[::3] = at[::3].round(1)
            # Backs flush with a wall, too: nothing else lets a wall station stand.
            at[::4, 0] = thing.size[1] / 2 if facing == 90.0 else 8.0 - thing.size[1] / 2
            at[1::4, 1] = thing.size[1] / 2 if facing == 0.0 else 6.0 - thing.size[1] / 2
            for (x, y), refusal in zip(at.tolist(), alone.refusals(thing, facing, at), strict=True):
                placed = Placed(thing, Placement(x, y, facing))
                fault = next(checks.faults_alone(ground, placed, strict), None)
                assert bool(refusal) == (fault is not None), (placed, refusal, fault)


@pytest.mark.parametrize("profile", CASES)
def test_pairs_clash_exactly_where_a_check_fails(profile: str) -> None:
    scenario, lists, table, tables = problem(profile)
    ground = Ground(scenario)
    rng = np.random.default_rng(2)
    at = table.stamps.at
    failed: set[str] = set()
    overlapping = 0
    for _ in range(4000):
        i, j = rng.choice(len(lists), 2, replace=False)
        a = int(rng.integers(tables.first[i], tables.first[i + 1]))
        span = np.arange(tables.first[j], tables.first[j + 1])
        b = int(rng.choice(span[np.argsort(np.hypot(*(at[span] - at[a]).T))[:25]]))
        one, two = (
            Placed(lists[k].thing, lists[k].placements[s - tables.first[k]]) for k, s in ((i, a), (j, b))
        )
        faults = {check for check, _ in checks.faults_pair(ground, one, two)}
        failed |= faults
        clash = bool(tables.pair[a, b] >= tables.clash)
        if faults:
            assert clash, (one, two, faults)
        elif clash:
            assert not np.isfinite(_least_walk(table, i, j, a, b)), (one, two)
        else:
            overlapping += one.body.meets(two.body)
    expected = {"no-overlap", "strips-clear", "service-clear", "stock-clear", "drive-in", "vehicle-around"}
    assert expected <= failed
    assert overlapping > 20


@pytest.mark.parametrize("profile", CASES)
def test_the_table_is_never_above_a_layout_and_the_judge_is_exact(profile: str) -> None:
    """What people walk under is in nobody's way, in the compiled scenes as on the plan."""
    scenario, lists, table, tables = problem(profile)
    judge = Judge(table)
    rng = np.random.default_rng(3)
    walked = 0
    for _ in range(40):
        choice = _free_choice(rng, tables)
        placements = {
            of.thing.name: of.placements[c - f] for of, c, f in zip(lists, choice, tables.first, strict=False)
        }
        cost = true_cost(scenario, Layout("random", placements))
        assert judge(choice) - table.prices.of(choice) == pytest.approx(cost, rel=1e-9)
        walked += math.isfinite(cost)
    assert walked


def test_a_hanging_thing_takes_no_floor_in_the_sums_of_floor() -> None:
    """Of the things that are counted no two may stand on the same floor; the others cover no point."""
    scenario, lists, _, tables = problem("standing")
    shared = may_share(scenario.things)
    assert shared == {"cabinet", "shelf", "rack", "lamp", "loft"}
    rest = [thing for thing in scenario.things if thing.name not in shared]
    assert not any(share_floor(a, b) for a, b in itertools.combinations(rest, 2))
    cover = floor_cover(lists)
    for i, of in enumerate(lists):
        points = cover.start[tables.first[i + 1]] - cover.start[tables.first[i]]
        assert (points == 0) == (of.thing.name in shared)


# A small room in which the wall cabinet has nowhere to hang but over the bench, or in the way of it.
SMALL = """
[room]
size = [{wide}, {deep}]
doors = [{{ name = "side", wall = "east", from = 0.3, width = 0.8, swing = "in" }}]
[stations]
bench = {{ size = [1.4, 0.6], placing = "wall", height = 0.9, strip = 0.6 }}
cabinet = {{ size = [{cabinet}, 0.3], placing = "wall", from_floor = {low}, height = {top}, {cab} }}
saw = {{ size = [0.7, 0.6], height = {saw}, strip = 0.6 }}
rack = {{ size = [1.0, 0.6], from_floor = {rack}, height = 2.5, strip = 0.5 }}
[jobs]
make = {{ times = "5 per week", route = ["bench", "cabinet", "saw", "rack", "bench"] }}
fetch = {{ times = "1 per day", route = ["door:side", "cabinet", "door:side"] }}
"""


@lru_cache
def small(seed: int) -> tuple[Scenario, tuple[SpotList, ...], float]:
    """A random room with a few of its spots for each thing, so that every layout can be tried, and the least
    cost of all of them."""
    rng = np.random.default_rng([9, seed])
    for _ in range(100):
        scenario = loads(
            SMALL.format(
                wide=round(float(rng.uniform(3.2, 4.2)), 2),
                deep=round(float(rng.uniform(2.8, 3.6)), 2),
                cabinet=round(float(rng.uniform(0.7, 1.4)), 2),
                low=float(rng.choice([0.9, 1.0, 1.4])),
                top=float(rng.choice([1.8, 2.1])),
                cab=str(rng.choice(["reach = 0.3, strip = 0.6", "strip = 0.6", "reach = 0.45, strip = 0.5"])),
                saw=float(rng.choice([0.9, 1.2, 2.0])),
                rack=float(rng.choice([1.9, 2.03, 2.2])),
            )
        )
        lists = find_spots(scenario, 0.4, 4, None)
        drawn = [rng.permutation(len(of.placements))[:7] for of in lists]
        if not all(len(own) for own in drawn):
            continue
        spots = [
            Spot(f"{of.thing.name} {k}", of.placements[k], (of.thing.name,))
            for of, own in zip(lists, drawn, strict=True)
            for k in own
        ]
        scenario = scenario.with_(spots=tuple(spots))
        lists = find_spots(scenario, 0.4, 4, None)
        ground = Ground(scenario)
        sharing = (layout for layout in apart(scenario, lists) if _overlaps(ground, scenario, layout))
        if len(list(itertools.islice(sharing, 3))) < 3:
            continue
        best = least_cost(scenario, lists)
        if math.isfinite(best):
            return scenario, lists, best
    raise AssertionError


def _overlaps(ground: Ground, scenario: Scenario, layout: Layout) -> bool:
    """Whether some footprints of a layout share the floor."""
    placed = [Placed(t, layout.placements[t.name]) for t in scenario.things]
    return any(a.body.meets(b.body) for a, b in itertools.combinations(placed, 2))


@pytest.mark.parametrize("seed", range(8))
def test_a_proof_with_hanging_things_is_the_least_of_all_layouts(seed: int) -> None:
    scenario, _, best = small(seed)
    result = suggest(scenario, iterations=1600, processes=1)
    assert result.best.ok
    assert best * (1 - 1e-9) <= result.best.cost <= best * 1.001
    assert result.bound == pytest.approx(best, rel=1e-6)
    assert result.bound <= best * (1 + 1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_stopped_at_any_node_the_bound_is_valid(seed: int) -> None:
    """With packing multipliers and walks round compulsory parts, which what hangs may have no share in."""
    scenario, lists, _ = small(seed)
    table = pair_table(scenario, lists)
    standing = VisitWalks(table)
    tables = table.build(1)
    visits, judge = standing.visits(tables, 10**6), Judge(table)
    costs = [judge(numbers(table, layout)) for layout in apart(scenario, lists)]
    best, worst = min(costs), max(cost for cost in costs if math.isfinite(cost))
    for upper in (best, worst + 1.0):
        extras = Extras(visits, lambda scaled: make_tightening(standing, visits, scaled), None)
        tree = Tree(tables, upper, judge, table.stamps.at, floor_cover(lists), extras=extras)
        while not tree.done:
            tree.run(lambda: False, nodes=tree.nodes + 1)
            assert tree.bound <= best * (1 + 1e-9)
        assert tree.incumbent == pytest.approx(best, rel=1e-9)


def test_some_best_layout_has_things_below_what_hangs() -> None:
    """So that the tests above are about what they say."""
    found = 0
    for seed in range(8):
        scenario, _, _ = small(seed)
        result = suggest(scenario, iterations=400, processes=1)
        found += _overlaps(Ground(scenario), scenario, Layout("best", dict(result.best.placements)))
    assert found >= 3


# -- cells


def _cells(scenario: Scenario, pitch: float) -> tuple[Cells, ...]:
    ground = Ground(scenario)
    return tuple(
        make_cells(ground, spots, pitch, 4, False, False) for spots in find_spots(scenario, 0.6, 4, None)
    )


def _drawn(rng: np.random.Generator, cells: Cells) -> Placement:
    k = int(rng.integers(len(cells)))
    a, b, turn = rng.uniform(-1, 1, 3)
    x, y = cells.at[k] + a * cells.half[k, 0] + b * cells.half[k, 1]
    return Placement(float(x), float(y), float((cells.facing[k] + math.degrees(turn * cells.turn[k])) % 360))


def _anywhere(seed: int) -> Scenario:
    scenario, _, _ = small(seed)
    return scenario.with_(spots=())


@lru_cache
def _sampled(seed: int) -> tuple[tuple[float, Layout], ...]:
    """(cost, layout) of layouts off any grid that pass every must-check; a few have things below others."""
    scenario = _anywhere(seed)
    ground, rng = Ground(scenario), np.random.default_rng(seed)
    cells = _cells(scenario, 0.5)
    cells = tuple(own.only(possible(ground, own, False)) for own in cells)
    found: list[tuple[float, Layout]] = []
    for _ in range(1500):
        placed: list[Placed] = []
        for own in cells:
            for _ in range(40):
                new = Placed(own.thing, _drawn(rng, own))
                if next(checks.faults_alone(ground, new), None) is None and all(
                    next(checks.faults_pair(ground, new, other), None) is None for other in placed
                ):
                    placed.append(new)
                    break
        if len(placed) == len(cells):
            layout = Layout("random", {p.name: p.placement for p in placed})
            result = score(scenario, layout)
            if result.ok:
                found.append((result.cost, layout))
        if len(found) == 30:
            break
    return tuple(found)


@pytest.mark.parametrize("seed", range(3))
def test_cells_hold_every_layout_that_the_checks_accept_and_cost_no_more(seed: int) -> None:
    scenario = _anywhere(seed)
    ground = Ground(scenario)
    found = _sampled(seed)
    assert len(found) >= 10
    assert any(_overlaps(ground, scenario, layout) for _, layout in found)
    for pitch, square in ((1.0, 0.05), (0.3, 0.03)):
        cells = tuple(own.only(possible(ground, own, False)) for own in _cells(scenario, pitch))
        any_layout = Layout("any", {c.thing.name: Placement(0, 0, 0) for c in cells})
        table = CellTable(scenario, cells, False, Plan(scenario, any_layout).building, square)
        tables = table.cell_costs(CellVisits(table, 100_000).chosen.replaced())
        cover = cell_cover(table)
        for cost, layout in found:
            held = [c.holds(layout.placements[c.thing.name]) for c in cells]
            assert all(mine.any() for mine in held)
            choice = table.first[:-1] + np.array([int(np.argmax(mine)) for mine in held], np.int32)
            assert tables.cost(choice) <= cost * (1 + 1e-9)
            covered = [q for s in choice for q in cover.points[cover.start[s] : cover.start[s + 1]]]
            assert len(covered) == len(set(covered))


def test_overhead_is_from_two_metres_and_three_centimetres() -> None:
    """6 ft 8 in is 2.032 m; 29 CFR 1910.36(g)(1)."""
    scenario, _, _, _ = problem("standing")
    assert {s.name for s in scenario.stations if overhead(s)} == {"rack", "loft"}
