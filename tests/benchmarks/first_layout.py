"""How soon there is a first sound layout: three ways to complete one, each on a thread of its own.

    python tests/benchmarks/first_layout.py [ROOM:PITCH ...] [--seeds 6] [--seconds 10]

Rooms are the examples, those of ``rooms.py`` and the starters of ``footwork new`` as ``KIND-WxD``; layouts
that the files hold are left out.  A layout is sound when nothing clashes and every job can be walked.

eject    what ``suggest`` does: ``guided_ejection.complete``, opened up where nobody could walk
anneal   40,000 moves a start on the pair table, clashes priced, until a start is sound
cp-sat   OR-Tools: a boolean a spot, one spot a thing, one footprint over a point, no clash; a layout that
         nobody can walk is forbidden and the model solved again

Printed: how many of the seeds found one, median and most processor milliseconds from the pair table in
hand (CP-SAT's model included), what the median layout costs, and layouts completed a seed.
"""

from __future__ import annotations

import argparse
import math
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from statistics import median

import numpy as np

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS), str(TESTS / "benchmarks")]

import rooms  # noqa: E402
import suggest as beside  # noqa: E402

from footwork.arrange.core.arrays import Ints  # noqa: E402
from footwork.arrange.core.pairwise import Restriction  # noqa: E402
from footwork.arrange.pair_table.table import PairTable  # noqa: E402
from footwork.arrange.search.construct import Failures  # noqa: E402
from footwork.arrange.search.multistart import Pool, Search  # noqa: E402
from footwork.arrange.spots.enumerate import find_spots  # noqa: E402
from footwork.arrange.spots.packing_points import floor_cover  # noqa: E402
from footwork.arrange.true_cost.judge import Judge  # noqa: E402
from footwork.floor.plan import Plan  # noqa: E402
from footwork.model.read import load, loads  # noqa: E402
from footwork.model.scenario import Layout, Scenario  # noqa: E402
from footwork.model.starter import starter  # noqa: E402

EXAMPLES = ("frame-nook", "cabinet-garage", "gate-shed", "makerspace")
USUAL = (
    "frame-nook:0.5", "cabinet-garage:0.5", "gate-shed:0.5", "hub-few:0.5", "hub-tight:0.5", "flat-tight:0.5",
    "hub-ell:0.5", "hub-van:0.5", "hub-30:0.5", "flat-30:0.5", "grow-60:0.75", "metalwork-4x3:0.25",
    "woodwork-4x3:0.25", "vehicle-5x3.5:0.25", "mixed-5x3.5:0.25", "metalwork-5x3.5:0.25",
)  # fmt: skip

OTHERS = 4.0
"""CP-SAT's limit is the clock's: so much more for what else runs on the machine."""

Found = tuple[float, int]
"""Cost, infinite when none was found, and layouts completed."""


def scenario_of(name: str) -> Scenario:
    if name in EXAMPLES:
        return load(TESTS.parent / "scenarios" / f"{name}.toml").with_(layouts=())
    if name in rooms.ROOMS:
        return rooms.room(name)
    kind, size = name.split("-")
    width, depth = (float(side) for side in size.split("x"))
    return loads(starter(kind, (width, depth)))


class Problem:
    """Pair table and judge of a room, and a search on them."""

    def __init__(self, name: str, pitch: float) -> None:
        scenario = scenario_of(name)
        self.lists = find_spots(scenario, pitch, 4, None)
        some = Layout("some", {of.thing.name: of.placements[0] for of in self.lists})
        self.table = PairTable(scenario, self.lists, False, Plan(scenario, some).building)
        self.tables = self.table.build(1, 1_000_000)
        self.judge = Judge(self.table)

    def search(self, seed: int, kind: type[Search] = Search) -> Search:
        free = Restriction(np.full(self.tables.things, -1, np.int32), self.tables.things)
        pool = Pool(lambda choice, limit: 0.0)
        return kind(self.tables, self.table.stamps.at, self.judge, free, pool, seed, 1)


def by_eject(problem: Problem, seed: int, seconds: float) -> Found:
    search, over = problem.search(seed), clock(seconds)
    failures = Failures.none(problem.tables.things)
    rng = np.random.default_rng(seed)
    found = search.starter.sound(problem.judge, rng, over, 10**9, failures)
    return (math.inf if found is None else found[0]), failures.tried


def by_anneal(problem: Problem, seed: int, seconds: float) -> Found:
    search, over, tried = problem.search(seed), clock(seconds), 0
    rng = np.random.default_rng(seed)
    while not over():
        tried += 1
        generator = np.array([rng.integers(0, 2**63)], np.uint64)
        temperature = problem.tables.clash / 64 / problem.tables.things
        state = search._on_table(search.random_state(rng), temperature, generator, over, 1.0)
        if not problem.tables.clashes(state) and math.isfinite(cost := problem.judge(state)):
            return cost, tried
    return math.inf, tried


def by_cp_sat(problem: Problem, seed: int, seconds: float) -> Found:
    from ortools.sat.python import cp_model

    tables, over = problem.tables, clock(seconds)
    model = cp_model.CpModel()
    spots = [model.new_bool_var("") for _ in range(tables.size)]
    for i in range(tables.things):
        model.add_exactly_one(spots[tables.first[i] : tables.first[i + 1]])
    cells = beside.share_the_floor(model, spots, floor_cover(problem.lists))
    for i, j, block in beside.blocks(tables):
        a, b = slice(*tables.first[i : i + 2]), slice(*tables.first[j : j + 2])
        beside.exclude(model, spots[a], spots[b], block, cells[a], cells[b])
    solver, tried = cp_model.CpSolver(), 0
    solver.parameters.num_workers = 1
    while not over():
        tried += 1
        solver.parameters.random_seed = 1000 * seed + tried
        solver.parameters.max_time_in_seconds = OTHERS * seconds
        if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            break
        state: Ints = np.array([k for k, spot in enumerate(spots) if solver.boolean_value(spot)], np.int32)
        if math.isfinite(cost := problem.judge(state)):
            return cost, tried
        model.add_bool_or([spots[k].negated() for k in state])
    return math.inf, tried


def clock(seconds: float) -> Callable[[], bool]:
    end = time.process_time() + seconds
    return lambda: time.process_time() > end


METHODS = {"eject": by_eject, "anneal": by_anneal, "cp-sat": by_cp_sat}


def row(name: str, pitch: str, problem: Problem, method: str, seeds: Sequence[int], seconds: float) -> str:
    spent, costs, tries = [], [], []
    for seed in seeds:
        began = time.process_time()
        cost, tried = METHODS[method](problem, seed, seconds)
        spent.append(1000 * (time.process_time() - began))
        tries.append(tried)
        costs += [cost] if math.isfinite(cost) else []
    cost = f"{median(costs):,.0f}" if costs else "-"
    return (
        f"{name:<18}{pitch:>6}{problem.tables.things:>8}{problem.tables.size:>7}{method:>8}"
        f"{f'{len(costs)}/{len(seeds)}':>7}{median(spent):>11,.1f}{max(spent):>11,.1f}{cost:>11}"
        f"{median(tries):>8,.0f}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("rooms", nargs="*", default=list(USUAL), metavar="ROOM:PITCH")
    parser.add_argument("--seeds", type=int, default=6)
    parser.add_argument("--seconds", type=float, default=10.0, help="processor seconds a run, at most")
    options = parser.parse_args()
    warm = Problem("frame-nook", 0.5)
    for method in METHODS:
        METHODS[method](warm, 1, 10.0)
    print(
        f"{'room':<18}{'pitch':>6}{'things':>8}{'spots':>7}{'method':>8}{'found':>7}{'median ms':>11}"
        f"{'most ms':>11}{'cost':>11}{'tries':>8}"
    )
    for word in options.rooms:
        name, pitch = word.split(":")
        problem = Problem(name, float(pitch))
        for method in METHODS:
            print(row(name, pitch, problem, method, range(1, options.seeds + 1), options.seconds), flush=True)


if __name__ == "__main__":
    main()
