"""All of it in one table, from what ``known.py`` and ``suggest.py`` keep of their runs.

    python tests/benchmarks/summary.py --known FILE --suggest FILE [--pitch 0.25]

A line a room: how soon a layout better than the file's own stood, what the best costs after 10 s (median over
seeds) and after 20 s (worst seed) in percent above the best known, the gap after 60 s, and the gap aimed at.
A figure that misses its aim has a mark.  The rooms drawn by number are two lines: medians, and the worst.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE)]

import known  # noqa: E402
import rooms  # noqa: E402

SOON, WORST, OPEN = 0.02, 0.05, 0.05
"""Aims: above the best known after 10 s, of the worst seed after 20 s, and the gap after 60 s."""
CROWDED = {"makerspace": 0.15, "hub-alike": 0.08, "flat-many": 0.10, "flat-ell": 0.06}
"""Gaps aimed at in rooms that are harder to bound."""
MARK = 60.0


@dataclass(frozen=True)
class Line:
    """A room, None for what was not run; ``soon`` and ``worst`` are parts of the best known above it."""

    stations: int
    seeds: int
    first: float | None
    soon: float | None
    worst: float | None
    gap: float | None
    aim: float


def line_of(name: str, runs: Sequence[known.Run], traces: Sequence[known.Run], best: known.Known) -> Line:
    """``runs`` as ``known.py`` keeps them, ``traces`` the results of ``suggest.py``, of one room."""
    scenario = known.scenario_of(name)
    least, found = known.known_cost(scenario, best), [run for run in runs if "cost" in run]
    firsts = [run["first"] for run in found if run["first"] is not None]
    gaps = [0.0 if run["proven"] else 1.0 - max(t[2] for t in run["trace"]) / min(t[1] for t in run["trace"])
            for run in traces]  # fmt: skip
    return Line(
        stations=len(scenario.stations),
        seeds=len(found),
        first=median(firsts) if firsts else None,
        soon=max(0.0, median(run["soon"] for run in found) / least - 1.0) if found else None,
        worst=max(0.0, max(run["cost"] for run in found) / least - 1.0) if found else None,
        gap=median(gaps) if gaps else None,
        aim=CROWDED.get(name, OPEN),
    )


def shown(line: Line) -> str:
    def percent(value: float | None, aim: float) -> str:
        if value is None or value == float("inf"):
            return f"{'-':>10}"
        return f"{value:>8.1%}" + (" <" if value > aim else "  ")

    first = "-" if line.first is None else f"{line.first:.1f}"
    figures = percent(line.soon, SOON) + percent(line.worst, WORST) + percent(line.gap, line.aim)
    return f"{line.stations:>9}{line.seeds:>6}{first:>9}{figures}{line.aim:>7.0%}"


def drawn(lines: Sequence[Line], of: Callable[[Sequence[float]], float]) -> Line:
    """The rooms drawn by number as one."""

    def one(values: Sequence[float | None]) -> float | None:
        some = [value for value in values if value is not None]
        return of(some) if some else None

    return Line(
        stations=round(median(line.stations for line in lines)),
        seeds=min(line.seeds for line in lines),
        first=one([line.first for line in lines]),
        soon=one([line.soon for line in lines]),
        worst=one([line.worst for line in lines]),
        gap=one([line.gap for line in lines]),
        aim=OPEN,
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--known", type=Path, required=True, metavar="FILE")
    parser.add_argument("--suggest", type=Path, required=True, metavar="FILE")
    parser.add_argument("--pitch", type=float, default=0.25)
    options = parser.parse_args()
    best: known.Known = json.loads(known.KNOWN.read_text(encoding="utf-8"))
    runs, kept = known.loaded(options.known), known.loaded(options.suggest)
    traces = [(run["job"], run["result"]) for run in kept]
    wanted = {"solver": "footwork", "pitch": options.pitch, "seconds": MARK}
    lines = {}
    for name in known.USUAL:
        mine = [run for run in runs if run["room"] == name]
        theirs = [r for job, r in traces if job["room"] == name and wanted.items() <= job.items()]
        theirs = [run for run in theirs if run.get("trace")]
        if mine or theirs:
            lines[name] = line_of(name, mine, theirs, best)
    figures = f"{'10 s':>8}  {'20 s':>8}  {'gap 60 s':>8}  {'aim':>7}"
    print(f"{'room':16}{'stations':>9}{'seeds':>6}{'first s':>9}{figures}")
    unseen = {spec.name for spec in rooms.UNSEEN}
    for name, line in lines.items():
        if name not in unseen:
            print(f"{name:16}{shown(line)}")
    rest = [line for name, line in lines.items() if name in unseen]
    for word, of in (("median", median), ("worst", max)) if rest else ():
        print(f"{f'{len(rest)} drawn, {word}':16}{shown(drawn(rest, of))}")


if __name__ == "__main__":
    main()
