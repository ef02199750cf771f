"""The pair table without a search for ways round: straight lines between nearest places, below the walks."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product

import numpy as np

from arrange.random_shops import Asked, random_shop
from footwork.arrange.core.stop import NEVER
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.spots.enumerate import find_spots
from footwork.floor.plan import Plan
from footwork.floor.shapes import standing_places, stepped_out
from footwork.model.scenario import Layout, Placement, Scenario, Side


def stand(scenario: Scenario, name: str, side: Side | None, at: Placement, width: float) -> list[np.ndarray]:
    """Where a leg of that width begins at a thing."""
    thing, walker = scenario.thing(name), scenario.walker.width
    found = standing_places(thing, at, walker, thing.stand if side is None else (side,))
    return [np.array(stepped_out(place, walker, width)) for place in found]


def test_straight_lines_where_no_way_round_is_searched() -> None:
    rng, seen, shorter = np.random.default_rng(12), 0, 0
    for _ in range(8):
        scenario = random_shop(rng, Asked(4, 5, along=True, vehicle=True, carry=True))
        lists = find_spots(scenario, 0.5, 4, None)
        if not all(of.placements for of in lists):
            continue
        some = Layout("some", {of.thing.name: of.placements[0] for of in lists})
        building = Plan(scenario, some).building
        searched, straight = (PairTable(scenario, lists, False, building) for _ in range(2))
        tables = searched.build(1), straight.build(1, 0)
        clash = tables[0].pair >= tables[0].clash
        assert (tables[1].pair[~clash] <= tables[0].pair[~clash]).all()
        assert (tables[1].pair < tables[1].clash)[~clash].all()
        for leg, metres in straight.walks.items():
            i, j = (straight.number[end[0]] for end in (leg.start, leg.end))
            assert (metres <= searched.walks[leg]).all()
            shorter += int((metres < searched.walks[leg] - 1e-6).sum())
            known = metres if i < j else metres.T
            for (a, p), (b, q) in product(enumerate(lists[i].placements), enumerate(lists[j].placements)):
                if np.isfinite(known[a, b]):
                    ends = product(
                        stand(scenario, *leg.start, p, leg.width), stand(scenario, *leg.end, q, leg.width)
                    )
                    line = min(np.hypot(*(u - v)) for u, v in ends) + leg.width - scenario.walker.width
                    assert line * (1 - 3e-7) <= known[a, b] <= line * (1 + 1e-12)
                    seen += 1
    assert seen > 300
    assert shorter > 30


def test_once_it_is_late_no_more_ways_round_are_searched() -> None:
    """Late from the start it is the table of straight lines; late midway each entry is one or the other."""
    scenario = random_shop(np.random.default_rng(9), Asked(4, 8, along=True, vehicle=True, carry=True))
    lists = find_spots(scenario, 0.5, 4, None)
    some = Layout("some", {of.thing.name: of.placements[0] for of in lists})
    building = Plan(scenario, some).building

    def table(late: Callable[[], bool], detours: int) -> np.ndarray:
        return PairTable(scenario, lists, False, building).build(1, detours, late).pair

    looks = iter([False, True] * 1000)
    searched, straight = table(NEVER, 10**9), table(NEVER, 0)
    some_of_it = table(lambda: next(looks), 10**9)
    assert (table(lambda: True, 10**9) == straight).all()
    assert ((some_of_it >= straight) & (some_of_it <= searched)).all()
    assert (some_of_it != straight).any()
    assert (some_of_it != searched).any()
