"""The true cost that follows a layout's moves, against the same cost with nothing remembered, and against
``floor.routes``, which measures every distance."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np

import footwork
from arrange.moving import Moving
from footwork.arrange.core.pairwise import Restriction
from footwork.arrange.search.anneal_true import TrueAnnealer
from footwork.arrange.search.neighbourhoods import Cooling, freedom, pair_costs
from footwork.model.scenario import Fixture, Scenario
from judge.known import box

SCENARIOS = Path(__file__).parents[2] / "scenarios"
GATE_SHED = SCENARIOS / "gate-shed.toml"  # a van with three states of jobs, loads wider than the walker


def same(found: float, wanted: float) -> bool:
    return found == wanted or math.isclose(found, wanted, rel_tol=1e-9)


def follow(moving: Moving, moves: int, every: int, by_routes: int) -> Counter[str]:
    """Make random moves, near and far, of one thing and of more; accept some, refuse and undo the others.

    Half have a limit, as in the search: what costs more comes out infinite and is undone.  Every so many
    moves the figures are compared with those of a judge that remembers nothing.
    """
    seen: Counter[str] = Counter()
    rng = moving.rng
    for k in range(moves):
        after, out = moving.move(small=k % 2 == 0, most=1 if k % 3 else 4)
        count = 4 if k % 3 == 0 else 1
        limit = moving.now * (0.98 + 0.1 * rng.random()) if rng.random() < 0.5 else math.inf
        found = moving.try_move(after, out, count, limit)
        if k % every == 0:
            wanted = moving.anew(after)
            assert same(found, wanted if wanted <= limit else math.inf), k
        if k % by_routes == 0 and limit == math.inf:
            assert same(found, moving.by_routes(after)), k
        # A layout that cannot be walked is left again soon, by a move back into one that can.
        accepted = found <= limit and (
            math.isfinite(found) or (math.isfinite(moving.now) and rng.random() < 0.05)
        )
        accepted = accepted and (found < 1.3 * moving.first or math.isinf(found)) and rng.random() < 0.5
        seen["accepted" if accepted else "refused"] += 1
        seen["no way"] += math.isinf(found) and limit == math.inf
        seen["above the limit"] += math.isinf(found) and limit < math.inf
        if accepted:
            moving.state, moving.now = after, found
        else:
            moving.take_back(out, count)
            if k % every == 0:
                assert same(moving.stand_still(), moving.now), k
    assert same(moving.stand_still(), moving.anew(moving.state))
    assert same(moving.now, moving.by_routes(moving.state))
    return seen


def test_ten_thousand_moves_and_undos_give_the_cost_computed_anew() -> None:
    seen = follow(Moving.of(GATE_SHED), 10_000, every=8, by_routes=250)
    assert seen["accepted"] > 1000
    assert seen["refused"] > 1000
    assert seen["no way"] > 100
    assert seen["above the limit"] > 1000


def test_another_example() -> None:
    follow(Moving.of(SCENARIOS / "cabinet-garage.toml"), 600, every=3, by_routes=50)


def crowded(scenario: Scenario) -> Scenario:
    """With so many posts along the far edge of the yard that obstacles share bits in a set of them."""
    posts = tuple(
        Fixture(f"post-{k}", (x, -3.9), (0.04, 0.04), 180.0, box(x - 0.02, -3.92, x + 0.02, -3.88))
        for k, x in enumerate(np.linspace(0.2, 6.8, 64))
    )
    return replace(scenario, room=replace(scenario.room, fixtures=(*scenario.room.fixtures, *posts)))


def test_more_obstacles_than_bits() -> None:
    moving = Moving(crowded(footwork.load(GATE_SHED)))
    assert len(moving.judge.evaluation.floor.joined) > 64
    seen = follow(moving, 600, every=2, by_routes=60)
    assert seen["accepted"] > 50


def test_a_search_follows_as_it_computes_anew() -> None:
    """The annealing on the true cost: what it says its best state costs is what that state costs."""
    moving = Moving.of(GATE_SHED)
    state, best = moving.state.copy(), moving.state.copy()
    restriction = Restriction(moving.state.copy(), len(state))
    costs = pair_costs(moving.tables, moving.table.stamps.at)
    cost = TrueAnnealer(moving.judge)(
        costs, freedom(moving.tables, restriction), state, Cooling(2000, 200.0, 5.0),
        np.array([7], np.uint64), best,
    )  # fmt: skip
    assert cost < 0.95 * moving.now
    assert same(cost, moving.anew(best))
    assert same(cost, moving.by_routes(best))
