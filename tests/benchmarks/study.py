"""Studies: how ``sizes`` grows with processes, and how long a sheet of 100,000 visits takes.

    python tests/benchmarks/study.py [--stations N ...] [--sizes N] [--iterations N]

Each row is a workshop by chance (``footwork.random_shed``) whose room is searched at so many widths, with one
process and with two, in fresh interpreters that load compiled code from the disk.  Told are the seconds by
the clock, those of all processors, and the ratio by the clock; the figures found are compared.  On a machine
that others use, only the processors' seconds mean anything.
"""

from __future__ import annotations

import argparse
import random
import resource
import tempfile
import time
from datetime import datetime, timedelta
from pathlib import Path

import footwork
from footwork.study.cases import Engine
from footwork.study.effort import Effort
from footwork.study.random_shed import random_shed
from footwork.study.sizes import Sizes, grid, sizes
from footwork.study.tally import tally


def processors() -> float:
    """Seconds that this process and those it has waited for have used."""
    return sum(
        use.ru_utime + use.ru_stime
        for use in (resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN))
    )


def timed(
    scenario: footwork.Scenario, count: int, effort: Effort, processes: int
) -> tuple[Sizes, float, float]:
    wide, deep = scenario.room.size or (0.0, 0.0)
    wanted = grid([wide + 0.5 * k for k in range(count)], [deep])
    begun, used = time.monotonic(), processors()
    found = sizes(scenario, wanted, effort=effort, engine=Engine(processes))
    return found, time.monotonic() - begun, processors() - used


def growth(stations: list[int], count: int, effort: Effort) -> None:
    print(f"sizes, {count} widths, {effort.iterations} iterations each")
    print("stations   one process: clock  processors   two: clock  processors   ratio  same figures")
    for number in stations:
        scenario = random_shed(number, seed=1)
        timed(scenario, 1, effort, 1)  # what is compiled on first use
        one, clock_1, used_1 = timed(scenario, count, effort, 1)
        two, clock_2, used_2 = timed(scenario, count, effort, 2)
        same = [room.cost for room in one.rooms] == [room.cost for room in two.rooms]
        print(
            f"{number:8}   {clock_1:18.1f}  {used_1:10.1f}   {clock_2:10.1f}  {used_2:10.1f}   "
            f"{clock_1 / clock_2:5.2f}  {'yes' if same else 'no'}",
            flush=True,
        )


def sheet(rows: int) -> None:
    scenario, rng = random_shed(12, seed=1), random.Random(1)
    names = [station.name for station in scenario.stations]
    when = datetime(2026, 1, 5, 8)
    lines = ["time,place,job"]
    while len(lines) <= rows:
        job = rng.choice((*scenario.jobs, None))
        route = [visit.name for visit in job.route] if job else [rng.choice(names)]
        for place in route:
            when += timedelta(minutes=rng.randint(1, 4))
            lines.append(f"{when:%Y-%m-%d %H:%M},{place},{job.name if job else ''}")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "visits.csv"
        path.write_text("\n".join(lines))
        used = time.process_time()
        found = tally(scenario, path)
        print(f"tally: {found.rows:,} rows in {time.process_time() - used:.2f} s of one processor")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--stations", type=int, nargs="+", default=[5, 10])
    parser.add_argument("--sizes", type=int, default=6)
    parser.add_argument("--iterations", type=int, default=2000)
    asked = parser.parse_args()
    sheet(100_000)
    growth(asked.stations, asked.sizes, Effort(iterations=asked.iterations, pitch=0.5))


if __name__ == "__main__":
    main()
