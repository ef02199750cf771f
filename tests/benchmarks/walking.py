"""How fast walking is measured, beside other programs on the same scenes in the same run.

    python tests/benchmarks/walking.py [--quick]

Prints three tables: path queries on random rooms and on the examples (a point, against
extremitypathfinder; a disc, against the judge's visibility graph on networkx and shapely), memory a scene
takes, and the true cost of a layout after one move against computing it anew.  Times are medians; a ratio
is theirs over ours.  The first run compiles, which is not counted.
"""

from __future__ import annotations

import argparse
import math
import sys
import time
import tracemalloc
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import combinations, islice
from pathlib import Path
from statistics import median

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

TESTS = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(TESTS))

import footwork  # noqa: E402
from engine import scene  # noqa: E402
from footwork.floor.evaluator import Evaluator  # noqa: E402
from footwork.floor.plan import Plan  # noqa: E402
from footwork.floor.routes import Walks  # noqa: E402
from footwork.floor.wishes import wish_metres  # noqa: E402
from footwork.model.scenario import Layout, Placement, Scenario  # noqa: E402
from judge.scenes import Drawn, as_ring, draw  # noqa: E402

RADIUS = 0.3
POINT_TOLERANCE = 1e-12
MOST_FOR_EXTREMITYPATHFINDER = 100


@dataclass(frozen=True)
class Timed:
    """Seconds to set up, seconds a query (median), bytes kept, and the lengths found."""

    setup: float
    query: float
    memory: int
    lengths: list[float]


def measured(build: Callable[[], object], ask: Callable[[object, tuple, tuple], float], pairs: list) -> Timed:
    """Build, ask for every pair, then build and ask once more for what stays allocated."""
    start = time.perf_counter()
    kept = build()
    setup = time.perf_counter() - start
    times, lengths = [], []
    for p, q in pairs:
        start = time.perf_counter()
        lengths.append(ask(kept, p, q))
        times.append(time.perf_counter() - start)
    tracemalloc.start()
    kept = build()
    ask(kept, *pairs[0])
    memory = tracemalloc.get_traced_memory()[0]
    tracemalloc.stop()
    return Timed(setup, median(times), memory, lengths)


def by_engine(drawn: Drawn, pairs: list, radius: float) -> tuple[Timed, float]:
    """Our figures; and seconds a query when all are asked for at once."""
    tolerance = POINT_TOLERANCE if radius == 0 else 1e-4
    timed = measured(lambda: scene(drawn, tolerance), lambda s, p, q: s.length(p, q, radius), pairs)
    made, bulk = scene(drawn, tolerance), []
    for _ in range(5):
        start = time.perf_counter()
        made.lengths(drawn.points, drawn.points, radius)
        bulk.append((time.perf_counter() - start) / len(drawn.points) ** 2)
    return timed, median(bulk)


def by_extremitypathfinder(drawn: Drawn, pairs: list) -> Timed | None:
    """None where it is not installed, or where the room is so full that setting it up takes minutes."""
    if len(drawn.rings) > MOST_FOR_EXTREMITYPATHFINDER:
        return None
    try:
        from extremitypathfinder import PolygonEnvironment
    except ImportError:
        return None

    def build() -> object:
        environment = PolygonEnvironment()
        holes = [np.array(ring)[::-1] for ring in drawn.rings]
        environment.store(np.array(drawn.room), holes, validate=False)
        environment.prepare()
        return environment

    def ask(environment: object, p: tuple, q: tuple) -> float:
        length = environment.find_shortest_path(p, q)[1]
        return math.inf if length is None else length

    return measured(build, ask, pairs)


def by_judge(drawn: Drawn, pairs: list) -> Timed:
    return measured(lambda: drawn.roads(RADIUS), lambda r, p, q: r.shortest(p, q)[0], pairs)


def random_rooms(sizes: tuple[int, ...], points: int) -> Iterator[tuple[str, Drawn]]:
    for n in sizes:
        side = 2.2 * math.sqrt(n)
        drawn = draw(n, things=n, points=points, width=side * 1.2, depth=side, apart=0.02, convex=True)
        yield f"{n} things", drawn


def example_rooms(points: int) -> Iterator[tuple[str, Drawn]]:
    """The examples' rooms with what stands in them today, 5 mm in from every face so that nothing touches."""
    rng = np.random.default_rng(1)
    for path in sorted((TESTS.parent / "scenarios").glob("*.toml")):
        scenario = footwork.load(path)
        plan = Plan(scenario, scenario.layouts[0])
        outlines = [plan.footprint(s.name) for s in scenario.stations]
        outlines += [np.array(f.outline) for f in scenario.room.fixtures]
        inner = [orient(Polygon(o).buffer(-0.005, join_style="mitre")) for o in outlines]
        rings = [shape.exterior.coords[:-1] for shape in inner]
        room = as_ring(scenario.room.outline)
        free = (
            Polygon(room)
            .buffer(-RADIUS - 1e-3)
            .difference(shapely.union_all([Polygon(r).buffer(RADIUS + 1e-3) for r in rings]))
        )
        low_x, low_y, high_x, high_y = free.bounds
        drawn = ((rng.uniform(low_x, high_x), rng.uniform(low_y, high_y)) for _ in range(100_000))
        found = islice((p for p in drawn if free.contains(shapely.Point(p))), points)
        yield path.stem, Drawn(room, tuple(as_ring(r) for r in rings), tuple(found))


def difference(ours: list[float], theirs: list[float]) -> float:
    """The largest difference as a share; inf where only one of the two found a way."""
    return max((apart(a, b) for a, b in zip(ours, theirs, strict=True)), default=0.0)


def table(title: str, heads: list[str], rows: list[list[str]]) -> None:
    widths = [max(len(row[i]) for row in [heads, *rows]) for i in range(len(heads))]
    print(f"\n{title}")
    for first, *others in [heads, *rows]:
        cells = [cell.rjust(width) for cell, width in zip(others, widths[1:], strict=True)]
        print("  ".join([first.ljust(widths[0]), *cells]), flush=True)


def short(seconds: float) -> str:
    return f"{seconds * 1e6:.1f} us" if seconds < 1e-3 else f"{seconds * 1e3:.1f} ms"


def kilobytes(size: int) -> str:
    return f"{size / 1000:.0f} kB"


def paths(quick: bool) -> None:
    points, most = (8, 20) if quick else (14, 80)
    sizes = (10, 30) if quick else (10, 30, 100, 300)
    point_rows, disc_rows, memory_rows = [], [], []
    for name, drawn in [*random_rooms(sizes, points), *example_rooms(points)]:
        pairs = list(combinations(drawn.points, 2))[:most]
        ours, bulk = by_engine(drawn, pairs, 0.0)
        other = by_extremitypathfinder(drawn, pairs)
        if other is not None:
            point_rows.append([
                name, short(ours.setup), short(ours.query), short(bulk), short(other.setup),
                short(other.query),
                f"{other.query / ours.query:,.0f}", f"{other.query / bulk:,.0f}",
                f"{difference(ours.lengths, other.lengths):.0e}",
            ])  # fmt: skip
        wide, wide_bulk = by_engine(drawn, pairs, RADIUS)
        judged = by_judge(drawn, pairs)
        disc_rows.append([
            name, short(wide.setup), short(wide.query), short(wide_bulk), short(judged.setup),
            short(judged.query),
            f"{judged.query / wide.query:,.0f}", f"{judged.query / wide_bulk:,.0f}",
            f"{difference(wide.lengths, judged.lengths):.0e}",
        ])  # fmt: skip
        memory_rows.append([
            name, kilobytes(wide.memory), kilobytes(other.memory) if other else "-", kilobytes(judged.memory),
        ])  # fmt: skip
    heads = ["", "set up", "a query", "in bulk", "set up", "a query", "ratio", "in bulk", "difference"]
    if point_rows:
        table("A point's path: ours, then extremitypathfinder", heads, point_rows)
    table(f"A disc's path, radius {RADIUS} m: ours, then networkx and shapely", heads, disc_rows)
    table("Memory of one scene", ["", "ours", "extremitypathfinder", "networkx and shapely"], memory_rows)


def full_cost(scenario: Scenario, layout: Layout) -> float:
    """The cost as a score computes it, without checks and drawn paths."""
    walks = Walks(Plan(scenario, layout))
    walked = math.fsum(
        job.times_per_year * walks.job(job).metres for job in scenario.jobs if job.times_per_year
    )
    return walked + wish_metres(scenario, layout.placements)


def shifted(rng: np.random.Generator, at: Placement) -> Placement:
    """Somewhere near, now and then turned."""
    facing = at.facing + (90.0 if rng.random() < 0.1 else 0.0)
    return Placement(at.x + rng.normal(0, 0.3), at.y + rng.normal(0, 0.3), facing % 360)


@dataclass
class Trial:
    """Seconds of single moves and of computing anew, by whether every job can still be walked; and the
    largest difference met."""

    single: dict[bool, list[float]]
    anew: dict[bool, list[float]]
    worst: float = 0.0

    def row(self, open_: bool) -> list[str]:
        single, anew = self.single[open_], self.anew[open_]
        if not single or not anew:
            return ["-", "-", "-"]
        return [short(median(single)), short(median(anew)), f"{median(anew) / median(single):,.0f}"]


def try_moves(scenario: Scenario, layout: Layout, count: int, every: int) -> Trial:
    """Move stations about at random, take most moves back, and compare with computing anew now and then."""
    rng = np.random.default_rng(1)
    evaluator = Evaluator(scenario, layout)
    names = [s.name for s in scenario.stations if s.fixed is None]
    trial = Trial({True: [], False: []}, {True: [], False: []})
    start = evaluator.cost
    for k in range(count):
        name = names[int(rng.integers(len(names)))]
        before = evaluator.cost
        change = {name: shifted(rng, layout.placements[name])}
        began = time.perf_counter()
        cost = evaluator.move(change)
        trial.single[math.isfinite(cost)].append(time.perf_counter() - began)
        if k % every == 0:
            now = evaluator.layout("now")
            began = time.perf_counter()
            full = full_cost(scenario, now)
            trial.anew[math.isfinite(cost)].append(time.perf_counter() - began)
            trial.worst = max(trial.worst, apart(cost, full))
        if math.isinf(cost) or rng.random() < 0.7:
            evaluator.undo()
            trial.worst = max(trial.worst, apart(evaluator.cost, before))
    for name in names:
        evaluator.move({name: layout.placements[name]})
    trial.worst = max(trial.worst, apart(evaluator.cost, start))
    return trial


def moves(quick: bool) -> None:
    rows = []
    count, every = (1_000, 20) if quick else (10_000, 50)
    for path in sorted((TESTS.parent / "scenarios").glob("*.toml")):
        scenario = footwork.load(path)
        trial = try_moves(scenario, scenario.layouts[0], count, every)
        share = len(trial.single[True]) / count
        rows.append([
            path.stem, str(len(scenario.stations)), *trial.row(True), *trial.row(False),
            f"{share:.0%}", f"{count:,}", f"{trial.worst:.0e}",
        ])  # fmt: skip
    heads = ["", "stations", "one move", "anew", "ratio", "shut: one move", "anew", "ratio"]
    heads += ["walkable", "moves", "difference"]
    title = "True cost after one move, against computing it anew; shut: where a job can no longer be walked"
    table(title, heads, rows)


def apart(a: float, b: float) -> float:
    """Difference of two costs as a share; 0 where both have no way."""
    if math.isinf(a) or math.isinf(b):
        return 0.0 if a == b else math.inf
    return abs(a - b) / max(abs(b), 1.0)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="smaller rooms and fewer questions")
    quick = parser.parse_args().quick
    warm = draw(1, things=3, points=2)
    for radius in (0.0, RADIUS):
        scene(warm).lengths(warm.points, warm.points, radius)
    paths(quick)
    moves(quick)


if __name__ == "__main__":
    main()
