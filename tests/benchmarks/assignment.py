"""``footwork.assign`` on QAPLIB, beside scipy's quadratic_assignment in the same run.

    python tests/benchmarks/assignment.py [--quick] [--instances nug30,sko42] [--smallest N] [--largest N]
                                          [--seconds S] [--seeds K] [--processes P] [--no-scipy] [--bounds]

Each run has 10 s up to 30 things and 60 s beyond, and stops early at the best known value.  Excess is the
cost over the best known one, in per cent, over the seeds; "s to best" is the median time of the runs that
reached it, "CPU s" the median processor time of all runs.  faq and 2opt are scipy's, the best of 10 random
starts or of those that the time of one run allows.  ``--bounds`` adds what is proven in the whole time.
tests/published/qaplib.py says how to get the files.  The first run compiles, which is not counted.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from statistics import fmean, median

import numpy as np
from scipy.optimize import quadratic_assignment

TESTS = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(TESTS))

import footwork  # noqa: E402
from published.qaplib import BEST, directory, read  # noqa: E402

SMALL = 30
RESTARTS = 10
QUICK = ("chr12a", "nug20", "nug30", "tai30a", "sko42")
BOUNDED = ("nug12", "chr12a", "scr12", "had12", "esc16a", "nug20", "nug30", "tai30a", "sko42", "tai100a")


@dataclass(frozen=True)
class Row:
    """What the runs of one instance gave: excess (a share) and seconds of each, and scipy's excess."""

    name: str
    things: int
    excess: list[float]
    seconds: list[float]
    processor: list[float]
    peers: dict[str, float | None]

    @property
    def reached(self) -> list[float]:
        """Seconds of the runs that reached the best known value."""
        return [s for e, s in zip(self.excess, self.seconds, strict=True) if e <= 0]

    def cells(self) -> list[str]:
        peers = (self.peers.get(method) for method in ("faq", "2opt"))
        return [
            self.name, str(self.things), f"{BEST[self.name]:,}", percent(median(self.excess)),
            percent(fmean(self.excess)), f"{len(self.reached)}/{len(self.excess)}",
            f"{median(self.reached):.2f}" if self.reached else "-", f"{median(self.processor):.2f}",
            *("-" if excess is None else percent(excess) for excess in peers),
        ]  # fmt: skip


def percent(share: float) -> str:
    return f"{100 * share:.3f}"


def by_scipy(name: str, method: str, seconds: float) -> float | None:
    """Excess of the best of several random starts, within the time of one run (one start at least)."""
    first, second = read(name)
    best, end = np.inf, time.monotonic() + seconds
    for start in range(RESTARTS):
        options: dict[str, object] = {"rng": np.random.default_rng(start)}
        if method == "faq":
            options["P0"] = "randomized"
        best = min(best, quadratic_assignment(first, second, method=method, options=options).fun)
        if time.monotonic() > end:
            break
    return best / BEST[name] - 1


def row(name: str, asked: argparse.Namespace) -> Row:
    first, second = read(name)
    seconds = limit(len(first), asked)
    excess, taken, processor = [], [], []
    for seed in range(1, asked.seeds + 1):
        before = time.process_time()
        found = footwork.assign(
            first, second, seconds=seconds, target=BEST[name], seed=seed, processes=asked.processes
        )
        processor.append(time.process_time() - before)
        taken.append(found.seconds)
        excess.append(found.cost / BEST[name] - 1)
    peers = {m: None if asked.no_scipy else by_scipy(name, m, seconds) for m in ("faq", "2opt")}
    return Row(name, len(first), excess, taken, processor, peers)


def limit(things: int, asked: argparse.Namespace) -> float:
    """Seconds of one run."""
    if asked.seconds is not None:
        return float(asked.seconds)
    return 10.0 if things <= SMALL else 60.0


HEADS = ("", "n", "best known", "median %", "mean %", "at best", "s to best", "CPU s", "faq %", "2opt %")
WIDTHS = (8, 4, 11, 9, 8, 8, 10, 8, 8, 8)


def line(cells: list[str] | tuple[str, ...], widths: tuple[int, ...]) -> None:
    first, *others = (cell.rjust(width) for cell, width in zip(cells, widths, strict=True))
    print("".join([first.strip().ljust(widths[0]), *others]), flush=True)


def summary(rows: list[Row]) -> None:
    """The two figures that count: runs at best known up to 30 things, mean excess beyond."""
    small = [e for r in rows if r.things <= SMALL for e in r.excess]
    large = [e for r in rows if r.things > SMALL for e in r.excess]
    if small:
        share = sum(e <= 0 for e in small) / len(small)
        print(f"\nup to {SMALL} things: best known on {100 * share:.1f} % of {len(small)} runs")
    if large:
        print(f"\nbeyond {SMALL} things: mean excess {percent(fmean(large))} % over {len(large)} runs")


def bounds(names: list[str], asked: argparse.Namespace) -> None:
    print("\nWhat is proven in the whole time")
    widths = (8, 4, 11, 13, 13, 8, 9, 8)
    line(("", "n", "best known", "cost", "bound", "gap %", "status", "s"), widths)
    for name in names:
        first, second = read(name)
        found = footwork.assign(first, second, seconds=limit(len(first), asked), processes=asked.processes)
        line(
            [
                name, str(len(first)), f"{BEST[name]:,}", f"{found.cost:,.0f}", f"{found.bound:,.0f}",
                f"{100 * found.gap:.1f}", found.status, f"{found.seconds:.1f}",
            ],
            widths,
        )  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="five instances, 2 seeds, 2 s each")
    parser.add_argument("--instances", help="names with commas between")
    parser.add_argument("--smallest", type=int, default=0, help="least number of things")
    parser.add_argument("--largest", type=int, default=1000, help="greatest number of things")
    parser.add_argument("--seconds", type=float, help="time of one run, whatever its size")
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    parser.add_argument("--no-scipy", action="store_true")
    parser.add_argument("--bounds", action="store_true", help="a second table, without stopping early")
    asked = parser.parse_args()
    if asked.quick:
        asked.seeds, asked.seconds = 2, 2.0
    if directory() is None:
        sys.exit("QAPLIB's files are not installed: tests/published/qaplib.py says how")
    named = asked.instances.split(",") if asked.instances else list(QUICK if asked.quick else BEST)
    if unknown := [name for name in named if name not in BEST]:
        sys.exit(f"no best known value of {', '.join(unknown)}")
    names = [n for n in named if asked.smallest <= len(read(n)[0]) <= asked.largest]
    footwork.assign([[0, 1], [1, 0]], [[0, 1], [1, 0]], iterations=1)  # compiles
    print(f"{asked.seeds} seeds, {asked.processes} processes")
    line(HEADS, WIDTHS)
    rows = []
    for name in names:
        rows.append(row(name, asked))
        line(rows[-1].cells(), WIDTHS)
    summary(rows)
    if asked.bounds:
        bounds([n for n in names if n in BOUNDED], asked)


if __name__ == "__main__":
    main()
