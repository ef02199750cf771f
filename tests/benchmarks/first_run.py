"""The first run on a machine: how long until it helps, and until all is compiled.

    python tests/benchmarks/first_run.py [EXAMPLE ...] [--seconds 10] [--runs 1]

Each run begins with an empty folder for compiled code.  Printed are seconds by the clock, and processor
seconds of all processes together (Linux only: they are read from /proc), until the first layout better than
the example's own is shown, until all that ``suggest`` needs is compiled, and in all; then the same in a
second run, which finds everything compiled.  The last row compiles everything in a single process.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

SCENARIOS = Path(__file__).parents[2] / "scenarios"

SUGGEST = """
import sys, footwork
scenario, shown, compiled = footwork.load(sys.argv[1]), False, False
base = float(sys.argv[3])

def see(progress):
    global shown, compiled
    if progress.best < base * (1 - 1e-9) and not shown:
        shown = True
        print("better", flush=True)
    if progress.phase == "bound" and not compiled:
        compiled = True
        print("compiled", flush=True)

found = footwork.suggest(scenario, seconds=float(sys.argv[2]), progress=see)
print("end", found.best.cost, flush=True)
"""
"""With the base's cost by argument: scoring it would compile something before the clock is looked at."""

PRACTISE = "from footwork.arrange.practice import practise; practise(); print('end', flush=True)"

Marks = dict[str, tuple[float, float]]
"""Seconds by the clock and processor seconds at each thing said."""


def processor_seconds(session: int) -> float:
    """Of all processes of a session, and of those of their children that have ended."""
    total, tick = 0, os.sysconf("SC_CLK_TCK")
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:  # it has just ended
            continue
        if int(fields[3]) == session:
            total += sum(map(int, fields[11:15]))
    return total / tick


def marks(program: str, arguments: Sequence[str], folder: str) -> Marks:
    """When a program, run in a session of its own, says what."""
    environment = {**os.environ, "NUMBA_CACHE_DIR": folder}
    command = [sys.executable, "-c", program, *arguments]
    began = time.monotonic()
    seen: Marks = {}
    with subprocess.Popen(
        command, env=environment, stdout=subprocess.PIPE, text=True, start_new_session=True
    ) as process:
        assert process.stdout is not None
        for line in process.stdout:
            seen[line.split()[0]] = time.monotonic() - began, processor_seconds(process.pid)
    return seen


def row(name: str, runs: Sequence[Marks]) -> str:
    cells = []
    for mark in ("better", "compiled", "end"):
        found = [run[mark] for run in runs if mark in run]
        figures = [statistics.median(of) for of in zip(*found, strict=True)] if found else []
        cells.append("  ".join(f"{x:9.1f}" for x in figures) if figures else f"{'-':>9}  {'-':>9}")
    return f"{name:28}{'  '.join(cells)}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("examples", nargs="*", default=["frame-nook", "gate-shed", "makerspace"])
    parser.add_argument("--seconds", default="10")
    parser.add_argument("--runs", type=int, default=1)
    asked = parser.parse_args()
    print(
        f"first run, {os.cpu_count()} cores, medians of {asked.runs}: seconds by the clock and of processors"
    )
    heads = ("better layout", "all compiled", "end")
    print(" " * 28 + "  ".join(f"{head:>20}" for head in heads))
    for name in asked.examples:
        path, first, second = SCENARIOS / f"{name}.toml", [], []
        base = _base_cost(path)
        for _ in range(asked.runs):
            with tempfile.TemporaryDirectory() as folder:
                first.append(marks(SUGGEST, [str(path), asked.seconds, base], folder))
                second.append(marks(SUGGEST, [str(path), asked.seconds, base], folder))
        print(row(name, first), flush=True)
        print(row(f"{name}, second run", second), flush=True)
    alone = []
    for _ in range(asked.runs):
        with tempfile.TemporaryDirectory() as folder:
            alone.append(marks(PRACTISE, [], folder))
    print(row("all in one process", alone))


def _base_cost(path: Path) -> str:
    import footwork

    return repr(footwork.score(footwork.load(path)).cost)


if __name__ == "__main__":
    main()
