"""How good the suggestions and bounds are at 2, 10 and 60 s, beside CP-SAT and toulbar2, and how they grow.

    python tests/benchmarks/suggest.py [--rooms A,B] [--pitch 0.5,0.25] [--seconds 2,10,60] [--seeds 10]
                                       [--solvers footwork,tree,cp-sat,cp-rows,toulbar2] [--results FILE]
    python tests/benchmarks/suggest.py --growth [--seconds 60] [--seeds 3]
    python tests/benchmarks/suggest.py --quick

Each run is a process of its own; its result is a line of FILE, and what is in FILE already is not run
again: a long benchmark may be stopped and taken up, or done in parts.  ``--show`` prints the tables of
what is there.

Rooms are the examples in ``scenarios/`` and the family of ``rooms.py``.  Two tables, medians over seeds:

true cost   ``footwork.suggest`` as a person calls it, on every core.  Seconds count from the call, spots
            and pair table included, compiling left out.
pair table  the problem that all can be given: each station takes one spot, each pair of stations has a
            price or a clash.  Seconds count from the table in hand, each solver's own model included.
            ``tree``: our annealing for a start, then the branch and bound, costs being the table's.
            ``cp-sat``: one model of OR-Tools with the same cores.  A boolean a spot, exactly one a
            station; at most one spot over each point of the floor that footprints cover; a spot
            excludes what it clashes with otherwise, in one clique for each other station.  Walks:
            where there is room for them (``PAIRS``) a boolean a pair of spots, rows and columns of
            which sum to the spot's, which gives the better bounds.  Prices in tenths of a metre,
            rounded down.
            ``cp-rows``: the same, but for walks a variable a pair of stations, at least the price of
            the row of the spot that is chosen, which finds layouts sooner (and is what ``cp-sat``
            takes beyond ``PAIRS``).
            ``toulbar2``: the wheel pytoulbar2 with its defaults, one binary cost function a pair of
            stations, run anew for each limit.  It works on one core and counts processor time: so do
            its seconds here.

Bounds and costs of the pair table are in percent of the least cost that any solver found there.

``--growth``: sheds of 15, 30, 60 and 120 stations of ``rooms.py`` at one pitch: processor time for a move
of the search on the true cost, by moves whose cost was computed and by moves accepted; memory; bound.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Sequence
from itertools import product
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS), str(TESTS / "benchmarks")]

import rooms  # noqa: E402

import footwork  # noqa: E402
from footwork.arrange.core.packing import Packing  # noqa: E402
from footwork.arrange.core.pairwise import Restriction, Tables  # noqa: E402
from footwork.arrange.core.progress import Progress  # noqa: E402
from footwork.arrange.pair_table.table import PairTable  # noqa: E402
from footwork.arrange.search import anneal_true  # noqa: E402
from footwork.arrange.spots.enumerate import find_spots, side_by_side  # noqa: E402
from footwork.arrange.spots.packing_points import floor_cover  # noqa: E402
from footwork.floor.plan import Plan  # noqa: E402
from footwork.model.errors import FootworkError  # noqa: E402
from footwork.model.scenario import Layout, Scenario  # noqa: E402

EXAMPLES = ("frame-nook", "cabinet-garage", "gate-shed", "makerspace")
CORES = os.cpu_count() or 1
TENTHS = 10
PAIRS = 300_000
"""Pairs of spots up to which CP-SAT gets a boolean for each."""
TERMS = 30_000_000
"""Terms beyond which no model is written: it would take minutes and gigabytes before the first bound."""
GROWTH_PITCH = 0.75

Trace = list[tuple[float, float, float]]
"""(seconds, best cost, bound) whenever something was told; infinite and 0 before there is any."""
Job = dict[str, Any]
Result = dict[str, Any]


CHARTED = ("gate-shed", "cabinet-garage", "makerspace", "hub-alike", "flat-many", "hub-tight")
"""The six rooms of ``--chart``: two examples that are solved, a large one, and three that stay open."""


def scenario_of(name: str) -> Scenario:
    if name in EXAMPLES:
        return footwork.load(TESTS.parent / "scenarios" / f"{name}.toml")
    return rooms.room(name)


# -- the solvers, each in a process of its own


def run_footwork(job: Job) -> Result:
    """``suggest`` with its progress watched."""
    trace: Trace = []

    def watch(state: Progress) -> None:
        trace.append((state.seconds, state.best, state.bound or 0.0))

    found = footwork.suggest(
        scenario_of(job["room"]),
        seconds=job["seconds"],
        pitch=job["pitch"],
        seed=job["seed"],
        processes=CORES,
        progress=watch,
    )
    proven = found.status == "proven"
    trace.append((found.seconds, found.best.cost, found.best.cost if proven else found.bound))
    return {"trace": trace, "spots": found.spots, "proven": found.seconds if proven else None}


def pair_problem(job: Job) -> tuple[Tables, Packing, np.ndarray, np.ndarray]:
    """Pair table, what spots share, where they are, and which are neighbours."""
    scenario = scenario_of(job["room"])
    lists = find_spots(scenario, job["pitch"], 4, None)
    some = Layout("some", {of.thing.name: of.placements[0] for of in lists})
    table = PairTable(scenario, lists, False, Plan(scenario, some).building)
    return table.build(CORES), floor_cover(lists), table.stamps.at, side_by_side(lists, job["pitch"])


def run_tree(job: Job) -> Result:
    """Annealing for a start, then branch and bound, on the pair table alone."""
    prove({"room": "frame-nook", "pitch": 0.5, "seconds": 60.0, "seed": 1})  # compiles what is not on disk
    return prove(job)


def prove(job: Job) -> Result:
    from arrange.random_tables import TableJudge, TableSearch
    from footwork.arrange.branch_and_bound.tree import Extras, Tree
    from footwork.arrange.search.multistart import Pool

    tables, cover, places, group = pair_problem(job)
    began = time.perf_counter()
    trace: Trace = []

    def over() -> bool:
        return time.perf_counter() - began > job["seconds"]

    free = Restriction(np.full(tables.things, -1, np.int32), tables.things)
    pool = Pool(lambda choice, limit: 0.0)
    judge = TableJudge(tables)
    search = TableSearch(tables, places, judge, free, pool, job["seed"], CORES)  # type: ignore[arg-type]
    # On, until the best has stood for as long as it took to find.
    while not over() and (math.isinf(pool.best) or time.perf_counter() - began < 2.0 * trace[-1][0]):
        known = pool.best
        search.wave(4000, over)
        if pool.best < known:
            trace.append((time.perf_counter() - began, pool.best, 0.0))
    if math.isinf(pool.best):
        return {"trace": trace, "spots": tables.size, "proven": None}
    tree = Tree(tables, pool.best, tables.cost, places, cover, extras=Extras(group=group))

    def watched() -> bool:
        now = time.perf_counter() - began
        if now > trace[-1][0] + 0.05:
            trace.append((now, tree.incumbent, tree.bound))
        return over()

    tree.run(watched, CORES, seconds=job["seconds"] - (time.perf_counter() - began))
    seconds = time.perf_counter() - began
    trace.append((seconds, tree.incumbent, tree.bound))
    return {"trace": thinned(trace), "spots": tables.size, "proven": seconds if tree.done else None}


def thinned(trace: Trace) -> Trace:
    """Only what changed."""
    return [now for k, now in enumerate(trace) if k == 0 or now[1:] != trace[k - 1][1:]]


def blocks(tables: Tables) -> Iterable[tuple[int, int, np.ndarray]]:
    """Things i < j and their block of prices, tenths of a metre rounded down; -1 where they clash."""
    for i in range(tables.things):
        for j in range(i + 1, tables.things):
            a, b = slice(*tables.first[i : i + 2]), slice(*tables.first[j : j + 2])
            block = tables.pair[a, b].astype(np.float64)
            tenths = np.floor(np.where(block < tables.clash, block, 0.0) * TENTHS).astype(np.int64)
            yield i, j, np.where(block < tables.clash, tenths, -1)


def run_cp_sat(job: Job) -> Result:
    """One CP-SAT model; see the head of the file for what it looks like."""
    from ortools.sat.python import cp_model

    tables, cover, *_ = pair_problem(job)
    began = time.perf_counter()
    model = cp_model.CpModel()
    spots = [model.new_bool_var("") for _ in range(tables.size)]
    for i in range(tables.things):
        model.add_exactly_one(spots[tables.first[i] : tables.first[i + 1]])
    cells = share_the_floor(model, spots, cover)
    own = np.floor(tables.unary * TENTHS).astype(np.int64)
    for spot in np.flatnonzero(tables.unary >= tables.clash):
        model.add(spots[spot] == 0)
        own[spot] = 0
    terms: list[Any] = [cp_model.LinearExpr.weighted_sum(spots, own.tolist())]
    sizes = [block.size for _, _, block in blocks(tables) if (block > 0).any()]
    booleans = sum(sizes) <= PAIRS and job["solver"] == "cp-sat"
    if sum(sizes) > TERMS:
        return {"note": f"a model of {sum(sizes):,} terms was not written", "spots": tables.size}
    for i, j, block in blocks(tables):
        a, b = spots[tables.first[i] : tables.first[i + 1]], spots[tables.first[j] : tables.first[j + 1]]
        walked = bool((block > 0).any())
        if not (walked and booleans):
            exclude(model, a, b, block, cells[tables.first[i] :], cells[tables.first[j] :])
        if walked:
            add = pair_booleans if booleans else pair_rows
            terms.append(add(model, a, b, block))
    model.minimize(sum(terms))
    return solve_cp_sat(model, spots, tables, job, began)


def share_the_floor(model: Any, spots: Sequence[Any], cover: Packing) -> list[frozenset[int]]:
    """At most one spot over each point; the points of each spot."""
    over: list[list[Any]] = [[] for _ in cover.capacity]
    cells = []
    for spot, variable in enumerate(spots):
        points = cover.points[cover.start[spot] : cover.start[spot + 1]].tolist()
        cells.append(frozenset(points))
        for point in points:
            over[point].append(variable)
    for sharing in over:
        if len(sharing) > 1:
            model.add_at_most_one(sharing)
    return cells


def exclude(
    model: Any,
    a: Sequence[Any],
    b: Sequence[Any],
    block: np.ndarray,
    cells_a: Sequence[frozenset[int]],
    cells_b: Sequence[frozenset[int]],
) -> None:
    """Clashes that share no point: a spot of the shorter list with all that it excludes of the other."""
    if len(a) > len(b):
        a, b, block, cells_a, cells_b = b, a, block.T, cells_b, cells_a
    for k, spot in enumerate(a):
        others = [b[m] for m in np.flatnonzero(block[k] < 0) if not cells_a[k] & cells_b[m]]
        if others:
            model.add_at_most_one([spot, *others])


def pair_booleans(model: Any, a: Sequence[Any], b: Sequence[Any], block: np.ndarray) -> Any:
    """A boolean for each pair of spots without a clash; rows and columns sum to the spot's own."""
    both = {(k, m): model.new_bool_var("") for k, m in zip(*np.nonzero(block >= 0), strict=True)}
    rows: list[list[Any]] = [[] for _ in a]
    columns: list[list[Any]] = [[] for _ in b]
    for (k, m), variable in both.items():
        rows[k].append(variable)
        columns[m].append(variable)
    for spot, sharing in (*zip(a, rows, strict=True), *zip(b, columns, strict=True)):
        model.add(sum(sharing) == spot)
    return sum(int(block[pair]) * variable for pair, variable in both.items())


def pair_rows(model: Any, a: Sequence[Any], b: Sequence[Any], block: np.ndarray) -> Any:
    """A variable for the price, at least that of the chosen spot's row."""
    from ortools.sat.python import cp_model

    price = model.new_int_var(0, int(block.max()), "")
    if len(a) > len(b):
        a, b, block = b, a, block.T
    for spot, row in zip(a, np.maximum(block, 0), strict=True):
        model.add(cp_model.LinearExpr.weighted_sum(list(b), row.tolist()) <= price).only_enforce_if(spot)
    return price


def solve_cp_sat(model: Any, spots: Sequence[Any], tables: Tables, job: Job, began: float) -> Result:
    from ortools.sat.python import cp_model

    trace: Trace = []

    def metres(objective: float) -> float:
        return tables.constant + objective / TENTHS

    class Watch(cp_model.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            trace.append((time.perf_counter() - began, metres(self.objective_value), 0.0))

    def bound(value: float) -> None:
        trace.append((time.perf_counter() - began, math.inf, metres(value)))

    built = time.perf_counter() - began
    if built >= job["seconds"]:
        return {"note": f"the model alone took {built:.0f} s", "spots": tables.size}
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = job["seconds"] - built
    solver.parameters.num_workers = CORES
    solver.parameters.random_seed = job["seed"]
    solver.best_bound_callback = bound
    status = solver.solve(model, Watch())
    seconds = time.perf_counter() - began
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.UNKNOWN):
        return {"note": solver.status_name(status), "spots": tables.size}
    cost = math.inf
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        cost = tables.cost([k for k, spot in enumerate(spots) if solver.boolean_value(spot)])
        assert math.isfinite(cost), "the model allows a clash"
    trace.append((seconds, cost, metres(solver.best_objective_bound)))
    proven = seconds if status == cp_model.OPTIMAL else None
    return {"trace": running(trace), "spots": tables.size, "proven": proven, "built": built}


def running(trace: Trace) -> Trace:
    """Best and bound up to each time."""
    found, best, bound = [], math.inf, 0.0
    for seconds, cost, low in trace:
        best, bound = min(best, cost), max(bound, low)
        found.append((seconds, best, bound))
    return thinned(found)


def run_toulbar2(job: Job) -> Result:
    """pytoulbar2 with its defaults, for one limit."""
    try:
        import pytoulbar2
    except ImportError:
        return {"note": "pytoulbar2 is not installed", "spots": None}
    tables, *_ = pair_problem(job)
    began = time.process_time()
    problem = pytoulbar2.CFN(resolution=1)
    sizes = np.diff(tables.first)
    for name, size in zip(tables.names, sizes, strict=True):
        problem.AddVariable(name, range(size))
    # More than any choice costs: what a clash is priced at, and the start of the search.
    top = float(math.ceil(sum(block.max() for _, _, block in blocks(tables)) / TENTHS))
    top += float(np.ceil(tables.unary[tables.unary < tables.clash].max() * tables.things)) + 1.0
    for i in range(tables.things):
        own = tables.unary[tables.first[i] : tables.first[i + 1]]
        problem.AddFunction([i], np.where(own < tables.clash, np.floor(own * TENTHS) / TENTHS, top).tolist())
    for i, j, block in blocks(tables):
        if (block != 0).any():
            problem.AddFunction([i, j], np.where(block < 0, top, block / TENTHS).ravel().tolist())
    problem.UpdateUB(top)
    built = time.process_time() - began
    if built >= job["seconds"]:
        return {"note": f"the model alone took {built:.0f} s", "spots": tables.size}
    limit = max(1, round(job["seconds"] - built))
    found = problem.Solve(timeLimit=limit)
    seconds = time.process_time() - began
    # It says nowhere that the limit ended it.
    finished = seconds - built < 0.99 * limit
    cost, low = math.inf, problem.GetDDualBound() + tables.constant
    if found is not None:
        cost = tables.cost(tables.first[:-1] + np.array(found[0], np.int32))
        assert math.isfinite(cost), "the model allows a clash"
    trace = [(seconds, cost, cost if finished and math.isfinite(cost) else low)]
    return {
        "trace": trace,
        "spots": tables.size,
        "proven": seconds if finished else None,
        "built": built,
    }


def run_growth(job: Job) -> Result:
    """``suggest`` on a shed, with the moves of the search counted and timed."""

    costed, accepted, spent = [], [], []
    inner = anneal_true.anneal_true

    def counted(*arguments: Any) -> Any:
        start = time.thread_time()
        found = inner(*arguments)
        spent.append(time.thread_time() - start)
        costed.append(found.costed)
        accepted.append(found.accepted)
        return found

    footwork.suggest(scenario_of("frame-nook"), iterations=100)  # compiles what is not on disk
    anneal_true.anneal_true = counted
    found = run_footwork(job)
    found["costed"], found["accepted"] = (sum(n) / max(sum(spent), 1e-9) for n in (costed, accepted))
    return found


SOLVERS: dict[str, Callable[[Job], Result]] = {
    "footwork": run_footwork,
    "tree": run_tree,
    "cp-sat": run_cp_sat,
    "cp-rows": run_cp_sat,
    "toulbar2": run_toulbar2,
    "growth": run_growth,
}


def run_one(job: Job) -> Result:
    """The job's result with the most memory that its process took, in MB."""
    try:
        found = SOLVERS[job["solver"]](job)
    except FootworkError as fault:
        found = {"note": str(fault), "spots": None}
    found["memory"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return found


# -- jobs, one after the other, each kept


def key_of(job: Job) -> str:
    return json.dumps(job, sort_keys=True)


def load_results(path: Path) -> dict[str, Result]:
    if not path.exists():
        return {}
    lines = (json.loads(line) for line in path.read_text(encoding="utf-8").splitlines())
    return {key_of(line["job"]): line["result"] for line in lines}


def run_jobs(jobs: Sequence[Job], path: Path) -> None:
    """Run what is not yet in the file, a process each, and add it to the file."""
    done = load_results(path)
    left = [job for job in jobs if key_of(job) not in done]
    for number, job in enumerate(left, 1):
        print(f"{number}/{len(left)} {job}", file=sys.stderr, flush=True)
        command = [sys.executable, __file__, "--one", json.dumps(job)]
        ended = subprocess.run(command, stdout=subprocess.PIPE, text=True, check=False)
        last = (ended.stdout.strip().splitlines() or [""])[-1]
        if ended.returncode:
            result = {"note": f"ended with status {ended.returncode}", "spots": None}
        else:
            result = json.loads(last)
        with path.open("a", encoding="utf-8") as file:
            file.write(json.dumps({"job": job, "result": result}) + "\n")


def jobs_of(options: argparse.Namespace) -> list[Job]:
    found: list[Job] = []
    last = options.seconds[-1]
    if options.growth:
        names = [spec.name for spec in rooms.GROWTH if options.rooms is None or spec.name in options.rooms]
        return [
            {"solver": "growth", "room": name, "pitch": GROWTH_PITCH, "seconds": last, "seed": seed}
            for name, seed in product(names, range(1, options.seeds + 1))
        ]
    names = options.rooms or [*EXAMPLES, *(spec.name for spec in (*rooms.FAMILY, *rooms.LARGER))]
    for name, pitch, solver in product(names, options.pitch, options.solvers):
        # toulbar2 has no seeds that matter, and tells its bound only at the end.
        seeds = [1] if solver == "toulbar2" else range(1, options.seeds + 1)
        limits = options.seconds if solver == "toulbar2" else [last]
        for seed, seconds in product(seeds, limits):
            found.append({"solver": solver, "room": name, "pitch": pitch, "seconds": seconds, "seed": seed})
    return found


# -- tables


def at(trace: Trace, seconds: float) -> tuple[float, float]:
    """Best and bound known at a time."""
    best, bound = math.inf, 0.0
    for when, cost, low in trace:
        if when <= seconds * 1.02 + 0.1:
            best, bound = min(best, cost), max(bound, low)
    return best, bound


Figures = dict[float, tuple[float, float]]


class Group:
    """The runs of one solver on one room at one pitch, by seed."""

    def __init__(self, results: Sequence[tuple[Job, Result]], marks: Sequence[float]) -> None:
        self.notes = sorted({result["note"] for _, result in results if "note" in result})
        self.spots = next((r["spots"] for _, r in results if r.get("spots")), None)
        self.runs = len({job["seed"] for job, _ in results})
        seeds: dict[int, Trace] = {}
        for job, result in results:
            seeds.setdefault(job["seed"], []).extend(tuple(entry) for entry in result.get("trace", ()))
        self.figures: Figures = {}
        for mark in marks:
            found = [at(trace, mark) for trace in seeds.values() if trace]
            if found:
                self.figures[mark] = (median(b for b, _ in found), median(low for _, low in found))
        proofs = [result.get("proven") for _, result in results if result.get("trace")]
        finished = sorted(p for p in proofs if p is not None)
        self.proven = median(finished) if 2 * len(finished) > len(proofs) or self._any(results) else None
        self.least = min((best for best, _ in self.figures.values()), default=math.inf)

    @staticmethod
    def _any(results: Sequence[tuple[Job, Result]]) -> bool:
        """toulbar2 is run for each limit: one that finished counts."""
        return any(r.get("proven") is not None and job["solver"] == "toulbar2" for job, r in results)


def number(value: float | None, form: str = ",.0f") -> str:
    return "-" if value is None or not math.isfinite(value) else format(value, form)


def show_rooms(options: argparse.Namespace, results: dict[str, Result]) -> None:
    jobs = [job for job in jobs_of(options) if key_of(job) in results]
    groups: dict[tuple[str, float], dict[str, Group]] = {}
    for job in jobs:
        of = [j for j in jobs if all(j[k] == job[k] for k in ("room", "pitch", "solver"))]
        cases = groups.setdefault((job["room"], job["pitch"]), {})
        if job["solver"] not in cases:
            cases[job["solver"]] = Group([(j, results[key_of(j)]) for j in of], options.seconds)
    marks = options.seconds
    print(f"\ntrue cost: best in metres a year, gap; {options.seeds} seeds, {CORES} cores")
    print(
        head(
            "room", "pitch", "spots", *(f"{s:g} s" for s in marks), *(f"gap {s:g} s" for s in marks), "proven"
        )
    )
    for (name, pitch), cases in groups.items():
        if "footwork" in cases:
            print(true_row(name, pitch, cases["footwork"], marks))
    print("\npair table: cost and bound in percent of the least cost found by any")
    titles = [f"{word} {s:g} s" for word in ("cost", "bound") for s in marks]
    print(head("room", "pitch", "spots", "solver", *titles, "proven"))
    for (name, pitch), cases in groups.items():
        peers = {solver: group for solver, group in cases.items() if solver != "footwork"}
        least = min((group.least for group in peers.values()), default=math.inf)
        for solver, group in peers.items():
            print(peer_row(name, pitch, solver, group, least, marks))


def draw_gaps(path: Path, results: dict[str, Result], shown: Sequence[str], pitch: float) -> None:
    """A chart of the certified gap against time: a line a room, the median over its seeds."""
    from footwork.show.charts import check_chart, plain_axes, write_chart

    check_chart(path)
    pitched = [
        job for job in map(json.loads, results) if job["solver"] == "footwork" and job["pitch"] == pitch
    ]
    longest = max((job["seconds"] for job in pitched), default=60.0)
    times = np.geomspace(1.0, longest, 60)

    def lines(axes: Any) -> None:
        for room, style in zip(
            shown, ("-", "--", "-.", ":", (0, (1, 3)), (0, (6, 2, 1, 2, 1, 2))), strict=True
        ):
            group = Group([(job, results[key_of(job)]) for job in pitched if job["room"] == room], times)
            known = [(t, *group.figures[t]) for t in times if t in group.figures]
            gaps = [(t, 100.0 * (1.0 - low / best)) for t, best, low in known if math.isfinite(best)]
            if gaps:
                axes.plot(*zip(*gaps, strict=True), linestyle=style, color="black", label=room)
        axes.set(
            xscale="log", xlabel="seconds", ylabel="percent that no layout can save more than", ylim=(0, 100)
        )
        marks = [t for t in (1, 2, 5, 10, 20, 60, 120, 300) if t <= longest]
        axes.set_xticks(marks, [f"{t}" for t in marks])
        axes.set_xticks([], minor=True)
        plain_axes(axes)
        axes.legend(frameon=False, fontsize=8)

    write_chart(path, f"How open the answer is, spots every {pitch:g} m", lines)


def head(*titles: str) -> str:
    return f"{titles[0]:<15}" + "".join(f"{title:>11}" for title in titles[1:])


def true_row(name: str, pitch: float, group: Group, marks: Sequence[float]) -> str:
    costs, gaps = [], []
    for mark in marks:
        best, bound = group.figures.get(mark, (math.inf, 0.0))
        costs.append(number(best))
        gaps.append(number(max(0.0, best - bound) / best if math.isfinite(best) else None, ".1%"))
    row = head(name, f"{pitch:g}", number(group.spots), *costs, *gaps, number(group.proven, ".1f"))
    return "  ".join([row, *group.notes])


def peer_row(name: str, pitch: float, solver: str, group: Group, least: float, marks: Sequence[float]) -> str:
    costs, bounds = [], []
    for mark in marks:
        best, bound = group.figures.get(mark, (math.inf, -math.inf))
        costs.append(number(best / least, ".1%") if math.isfinite(best) else "-")
        bounds.append(number(bound / least, ".1%") if math.isfinite(least) else "-")
    row = head(name, f"{pitch:g}", number(group.spots), solver, *costs, *bounds, number(group.proven, ".1f"))
    return "  ".join([row, *group.notes])


def show_growth(options: argparse.Namespace, results: dict[str, Result]) -> None:
    jobs = [job for job in jobs_of(options) if key_of(job) in results]
    print(
        f"\ngrowth at pitch {GROWTH_PITCH:g}, {options.seconds[-1]:g} s, {options.seeds} seeds, {CORES} cores"
    )
    print(head("room", "stations", "spots", "us/costed", "us/taken", "memory MB", "best", "bound", "gap"))
    for name in dict.fromkeys(job["room"] for job in jobs):
        found = [results[key_of(job)] for job in jobs if job["room"] == name]
        notes = sorted({result["note"] for result in found if "note" in result})
        good = [result for result in found if "note" not in result]
        row = [name, str(rooms.ROOMS[name].stations)]
        if good:
            best, bound = (median(at(r["trace"], math.inf)[k] for r in good) for k in (0, 1))
            us = [median(1e6 / max(r[word], 1e-9) for r in good) for word in ("costed", "accepted")]
            memory = median(result["memory"] for result in good)
            row += [number(good[0]["spots"]), *(number(u, ",.1f") for u in us), number(memory)]
            row += [number(best), number(bound), number(max(0.0, best - bound) / best, ".1%")]
        print("  ".join([head(*row), *notes]))


def numbers(text: str) -> list[float]:
    return sorted(float(word) for word in text.split(","))


def parsed() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--rooms", type=lambda text: text.split(","), metavar="A,B")
    parser.add_argument("--pitch", type=numbers, default=[0.25, 0.5], metavar="P,Q")
    parser.add_argument("--seconds", type=numbers, default=[2.0, 10.0, 60.0], metavar="S,T")
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--solvers", "--peers", type=lambda text: text.split(","), default=list(SOLVERS)[:5])
    parser.add_argument("--growth", action="store_true")
    parser.add_argument(
        "--quick", action="store_true", help="two rooms, coarse and short, to see that it runs"
    )
    parser.add_argument("--show", action="store_true", help="only print what the file holds")
    parser.add_argument("--chart", type=Path, metavar="FILE", help="draw the gap against time of CHARTED")
    default = Path(tempfile.gettempdir()) / "footwork-suggest.jsonl"
    parser.add_argument("--results", type=Path, default=default, help=f"[default: {default}]")
    parser.add_argument("--one", type=json.loads, help=argparse.SUPPRESS)
    options = parser.parse_args()
    known = (*EXAMPLES, *rooms.ROOMS)
    unknown = [name for name in options.rooms or () if name not in known]
    if unknown:
        parser.error(f"no room {', '.join(unknown)}; there are {', '.join(known)}")
    if options.quick:
        options.seconds, options.seeds, options.pitch = [1.0, 3.0], 1, [0.5]
        options.rooms = ["grow-15", "grow-30"] if options.growth else ["frame-nook", "hub-tight"]
    return options


def main() -> None:
    options = parsed()
    if options.one is not None:
        print(json.dumps(run_one(options.one)))
        return
    if not options.show:
        run_jobs(jobs_of(options), options.results)
    results = load_results(options.results)
    if options.growth:
        show_growth(options, results)
    else:
        show_rooms(options, results)
    if options.chart:
        draw_gaps(options.chart, results, CHARTED, options.pitch[0])


if __name__ == "__main__":
    main()
