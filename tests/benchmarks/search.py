"""How low ways to search come on the true cost in the same processor time, each on one thread.

    python tests/benchmarks/search.py [ROOM:PITCH ...] [--seeds 10] [--seconds 5]

Rooms are those of ``first_layout.py``; layouts that the files hold are left out, and nothing is told by the
bound.  Every way begins with no layout and is judged by the same walking.

anneal    what ``suggest`` does: waves of annealing on the pair table, then on the true cost, from new starts
          and by turns from the best two
descent   the same waves and moves at no temperature: nothing dearer is ever taken
cp-sat    a layout by guided ejection; then a station drawn at random and up to ``FREED - 1`` others that it
          is walked to most, or that stand nearest, are set anew by OR-Tools on the pair table, on the
          ``CHEAPEST`` spots of each, and the new layout is kept if it is truly cheaper or costs the same

Printed: median and most of the costs found at a third of the time and at its end, in percent of the least
that any way and seed found there.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Callable
from itertools import combinations
from statistics import median

import numpy as np
import suggest as beside
from first_layout import Problem, clock

from footwork.arrange.core.arrays import Ints
from footwork.arrange.core.pairwise import Tables
from footwork.arrange.run import FIRST_SHARE, MANY, WAVE_STEPS
from footwork.arrange.search.construct import Failures
from footwork.arrange.search.multistart import Search

USUAL = ("cabinet-garage:0.5", "gate-shed:0.5", "gate-shed:0.25", "makerspace:0.5", "flat-30:0.5")
FREED, CHEAPEST = 5, 40
SOLVING = 0.5
"""Seconds by the clock for one neighbourhood, at most."""

Tell = Callable[[float], None]
"""Takes note of the best cost so far."""


class Cold(Search):
    """The search at no temperature."""

    def _temperature(self) -> float:
        return 1e-6


def by_anneal(problem: Problem, seed: int, over: Callable[[], bool], tell: Tell) -> None:
    waves(problem.search(seed), over, tell)


def by_descent(problem: Problem, seed: int, over: Callable[[], bool], tell: Tell) -> None:
    waves(problem.search(seed, Cold), over, tell)


def waves(search: Search, over: Callable[[], bool], tell: Tell) -> None:
    """As ``arrange.run`` does by the clock: short waves first, every second one from the best two as well."""
    search.watch = lambda: tell(search.pool.best)
    search.first(over, MANY)
    number, share = 0, FIRST_SHARE
    while not over():
        best = search.pool.ranked()[:2] if number % 2 else []
        search.wave(int(share * WAVE_STEPS * search.size()), over, [choice for _, choice in best], share)
        number, share = number + 1, min(1.0, 2.0 * share)
        tell(search.pool.best)


def by_cp_sat(problem: Problem, seed: int, over: Callable[[], bool], tell: Tell) -> None:
    tables, rng = problem.tables, np.random.default_rng(seed)
    failures = Failures.none(tables.things)
    found = problem.search(seed).starter.sound(problem.judge, rng, over, MANY, failures)
    if found is None:
        return
    best, state = found
    flow = walked(tables)
    free = np.flatnonzero(np.diff(tables.first) > 1)
    while not over():
        tell(best)
        trial = set_anew(
            tables, state, neighbourhood(problem, state, flow, free, rng), int(rng.integers(2**31))
        )
        if trial is not None and (cost := problem.judge(trial)) <= best:
            best, state = cost, trial


def walked(tables: Tables) -> np.ndarray:
    """(things, things): how far prices of each two differ, which is how much is walked between them."""
    flow = np.zeros((tables.things, tables.things))
    for i in range(tables.things):
        for j in range(i):
            block = tables.pair[slice(*tables.first[i : i + 2]), slice(*tables.first[j : j + 2])]
            priced = block[block < tables.clash]
            flow[i, j] = flow[j, i] = float(np.ptp(priced)) if priced.size else 0.0
    return flow


def neighbourhood(
    problem: Problem, state: Ints, flow: np.ndarray, free: np.ndarray, rng: np.random.Generator
) -> np.ndarray:
    one = int(rng.choice(free))
    at = problem.table.stamps.at[state]
    away = np.hypot(*(at - at[one]).T)
    near = away[free] if rng.random() < 0.5 else -flow[one, free]
    others = [thing for thing in free[np.argsort(near + 1e-9 * rng.random(len(free)))] if thing != one]
    return np.sort([one, *others[: int(rng.integers(1, FREED))]])


def set_anew(tables: Tables, state: Ints, freed: np.ndarray, seed: int) -> Ints | None:
    """The cheapest spots for what is freed, all else where it is; None where nothing changes."""
    from ortools.sat.python import cp_model

    others = np.delete(state, freed)
    field = tables.unary + tables.pair[others].sum(axis=0, dtype=np.float64)
    lists = []
    for thing in freed:
        spots = np.arange(*tables.first[thing : thing + 2])
        spots = spots[field[spots] < tables.clash]
        lists.append(np.unique([state[thing], *spots[np.argsort(field[spots])][:CHEAPEST]]).astype(np.int64))
    model = cp_model.CpModel()
    chosen = [[model.new_bool_var("") for _ in spots] for spots in lists]
    terms = []
    for spots, mine in zip(lists, chosen, strict=True):
        model.add_exactly_one(mine)
        terms += [round(field[spot]) * one for spot, one in zip(spots, mine, strict=True)]
        for spot, one in zip(spots, mine, strict=True):
            model.add_hint(one, bool(spot in state))
    apart = [[frozenset[int]()] * len(spots) for spots in lists]
    for i, j in combinations(range(len(lists)), 2):
        block = tables.pair[np.ix_(lists[i], lists[j])].astype(np.float64)
        block = np.where(block < tables.clash, block.round(), -1).astype(np.int64)
        beside.exclude(model, chosen[i], chosen[j], block, apart[i], apart[j])
        if (block > 0).any():
            terms.append(beside.pair_rows(model, chosen[i], chosen[j], block))
    model.minimize(sum(terms))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.random_seed = 1, seed
    solver.parameters.max_time_in_seconds = SOLVING
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    trial = state.copy()
    for thing, spots, mine in zip(freed, lists, chosen, strict=True):
        trial[thing] = spots[next(k for k, one in enumerate(mine) if solver.boolean_value(one))]
    return None if (trial == state).all() else trial


METHODS = {"anneal": by_anneal, "descent": by_descent, "cp-sat": by_cp_sat}


def costs(problem: Problem, method: str, seed: int, seconds: float) -> tuple[float, float]:
    """What was found at a third of the time and at its end."""
    began = time.process_time()
    known = [math.inf, math.inf]

    def tell(best: float) -> None:
        if time.process_time() - began <= seconds / 3:
            known[0] = best
        known[1] = best

    METHODS[method](problem, seed, clock(seconds), tell)
    return known[0], known[1]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("rooms", nargs="*", default=list(USUAL), metavar="ROOM:PITCH")
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--seconds", type=float, default=5.0, help="processor seconds a run")
    options = parser.parse_args()
    warm = Problem("frame-nook", 0.5)
    for method in METHODS:
        costs(warm, method, 1, 0.5)
    titles = ("median 1/3", "most 1/3", "median", "most", "least m")
    print(f"{'room':<18}{'pitch':>6}{'things':>8}{'method':>9}" + "".join(f"{title:>12}" for title in titles))
    for word in options.rooms:
        name, pitch = word.split(":")
        problem = Problem(name, float(pitch))
        found = {
            method: [costs(problem, method, seed, options.seconds) for seed in range(1, options.seeds + 1)]
            for method in METHODS
        }
        least = min(late for runs in found.values() for _, late in runs)
        for method, runs in found.items():
            figures = [pick(run[k] for run in runs) / least for k in (0, 1) for pick in (median, max)]
            said = "".join(f"{f'{100 * f:.1f}%' if math.isfinite(f) else '-':>12}" for f in figures)
            print(f"{name:<18}{pitch:>6}{problem.tables.things:>8}{method:>9}{said}"
                  f"{min(late for _, late in runs):>12,.0f}", flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
