"""How fast walking is measured, beside other programs on the same scenes in the same run.

    python tests/benchmarks/walking.py [--quick]

Prints path queries on random rooms and on the examples (a point, against extremitypathfinder; a disc,
against the judge's visibility graph on networkx and shapely) and the memory that a scene takes.  A query
is the median of single questions, "in bulk" the mean over all pairs asked for at once; a ratio is theirs
over ours, each program's query by the median.  The first run compiles, which is not counted.

Then the true cost after a single move on the gate shed (14 stations that can move, a van and a skip),
beside the same cost computed anew in three ways: as a score does it, every distance between all standing
places by the compiled search; compiled throughout, again every distance; and compiled with nothing
remembered, searching only the distances that a least walk needs, which a move does as well.  Processor
time, medians; moves to anywhere free of clashes and moves of at most 0.75 m, from layouts that cost no
more than 1.1 times the first.
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
from numba import njit
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

TESTS = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(TESTS))

import footwork  # noqa: E402
from arrange.moving import Moving  # noqa: E402
from engine import scene  # noqa: E402
from footwork.arrange.true_cost.evaluate import afresh, bring_in, find_out, take_back, try_move  # noqa: E402  # noqa: E402
from footwork.floor.plan import Plan  # noqa: E402
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
    longest = (0.0, "")
    for name, drawn in [*random_rooms(sizes, points), *example_rooms(points)]:
        pairs = list(combinations(drawn.points, 2))[:most]
        ours, bulk = by_engine(drawn, pairs, 0.0)
        other = by_extremitypathfinder(drawn, pairs)
        if other is None:
            unknown = ["not run", "not run", "-", "-", "-"]
            point_rows.append([name, short(ours.setup), short(ours.query), short(bulk), *unknown])
        else:
            longest = max(longest, (other.setup, name))
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
    table("A point's path: ours, then extremitypathfinder", heads, point_rows)
    if longest[0] > 0.0:
        print(
            f"not run: more than {MOST_FOR_EXTREMITYPATHFINDER} things.  Its set-up looks from every corner "
            f"at every other past every edge and grows with the cube: {longest[0]:.1f} s for {longest[1]}"
        )
    else:
        print("not run: extremitypathfinder is not installed")
    table(f"A disc's path, radius {RADIUS} m: ours, then networkx and shapely", heads, disc_rows)
    table("Memory of one scene", ["", "ours", "extremitypathfinder", "networkx and shapely"], memory_rows)


@njit
def _moves(n, ev, state, after, out):
    """Try a move n times over."""
    cost = 0.0
    for k in range(n):
        if k > 0:
            take_back(ev, state, out, 1)
        cost = try_move(ev, state, after, out, 1, math.inf)
    return cost


@njit
def _anew(n, every, ev, state):
    """The cost with nothing remembered, n times over; ``every``: each distance is searched."""
    floor, cache, cost = ev.floor, ev.cache, 0.0
    for _ in range(n):
        if every:
            for s in range(len(floor.routes.inside)):
                bring_in(floor, state, s)
                for e in range(len(cache.entries.fact)):
                    if floor.routes.blocks.state[floor.routes.entries.block[e]] == s:
                        find_out(floor, cache, e)
        cost = afresh(ev, state, math.inf)
    return cost


def cpu(times: int, ask: Callable[..., float], *more: object) -> tuple[float, float]:
    """Seconds of processor time that one of so many runs takes, and what they find."""
    start = time.process_time()
    found = ask(times, *more)
    return (time.process_time() - start) / times, found


def moves(quick: bool) -> None:
    rows = []
    moving = Moving.of(TESTS.parent / "scenarios" / "gate-shed.toml")
    j, o = moving.judge, moving.other
    mine, others = j.evaluation, o.evaluation
    for small in (False, True):
        times: list[tuple[float, ...]] = []
        worst = 0.0
        while len(times) < (40 if quick else 400):
            after, out = moving.move(small)
            _moves(1, mine, moving.state, after, out)
            moving.take_back(out, 1)
            one, cost = cpu(20, _moves, mine, moving.state, after, out)
            if math.isfinite(cost):
                lazy, again = cpu(5, _anew, False, others, after)
                both, again = cpu(5, _anew, True, others, after)
                routes, general = cpu(1, lambda _, spots: moving.by_routes(spots), after)
                times.append((one, routes, both - lazy, lazy))
                worst = max(worst, apart(cost, again), apart(cost, general))
            if cost < 1.1 * moving.first and moving.rng.random() < 0.3:
                moving.state, moving.now = after, cost
            else:
                moving.take_back(out, 1)
        one, *anew = (median(column) for column in zip(*times, strict=True))
        rows.append([
            "at most 0.75 m" if small else "anywhere", str(len(times)), short(one),
            *(cell for seconds in anew for cell in (short(seconds), f"{seconds / one:.0f}")), f"{worst:.0e}",
        ])  # fmt: skip
    heads = ["moves", "how many", "one move", "score's walks", "ratio", "every distance", "ratio"]
    heads += ["needed ones", "ratio", "difference"]
    table("True cost after one move, then computed anew, gate shed at pitch 0.5", heads, rows)


def apart(a: float, b: float) -> float:
    """Difference of two lengths as a share; 0 where both have no way."""
    if math.isinf(a) or math.isinf(b):
        return 0.0 if a == b else math.inf
    return abs(a - b) / max(abs(b), 1e-9)


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
