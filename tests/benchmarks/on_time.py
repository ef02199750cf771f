"""Whether ``suggest`` keeps its time, alone and beside busy processes, and how soon it helps.

    python tests/benchmarks/on_time.py [ROOM ...] [--seconds 2,10,20] [--busy 0,2] [--seeds 3]

Rooms are the examples, without a name, or any of ``rooms.py``.  Seconds count from the call of ``suggest``
once compiled code is at hand (a first run in the same process fetches it).  Printed are medians over
seeds: when the first layout better than the file's own stood, when it ended, and of how many seeds the end
came later than a second after the time given; ``-`` where no seed found a better layout in time.
"""

from __future__ import annotations

import argparse
import math
import multiprocessing
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from statistics import median

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE)]

EXAMPLES = ("frame-nook", "gate-shed", "cabinet-garage", "makerspace")

PROGRAM = """
import sys, time
sys.path[:0] = [sys.argv[1]]
import footwork, rooms
from pathlib import Path

room, seconds, seed = sys.argv[2], float(sys.argv[3]), int(sys.argv[4])
scenarios = Path(sys.argv[1]).parents[1] / "scenarios"
scenario = rooms.room(room) if room in rooms.ROOMS else footwork.load(scenarios / f"{room}.toml")
footwork.suggest(footwork.load(scenarios / "frame-nook.toml"), iterations=20)
base = footwork.score(scenario).cost if scenario.layouts else float("inf")
better = None

def see(progress):
    global better
    if better is None and progress.best < base * (1 - 1e-9):
        better = time.perf_counter() - began

began = time.perf_counter()
try:
    footwork.suggest(scenario, seconds=seconds, seed=seed, progress=see)
except footwork.FootworkError as error:
    print(error, file=sys.stderr)
print(better, time.perf_counter() - began)
"""


def idle() -> None:
    """Takes a core for itself."""
    while True:
        pass


@contextmanager
def busy(count: int) -> Iterator[None]:
    """So many processes that do nothing else, for as long as it lasts."""
    processes = [multiprocessing.Process(target=idle, daemon=True) for _ in range(count)]
    for process in processes:
        process.start()
    try:
        yield
    finally:
        for process in processes:
            process.kill()


def run(room: str, seconds: float, seed: int) -> tuple[float, float]:
    """(seconds until a better layout, infinite without; seconds until the end) of one run."""
    command = [sys.executable, "-c", PROGRAM, str(HERE), room, str(seconds), str(seed)]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    better, end = done.stdout.split()
    return math.inf if better == "None" else float(better), float(end)


def row(room: str, seconds: float, count: int, found: Sequence[tuple[float, float]]) -> str:
    better, end = (median(of) for of in zip(*found, strict=True))
    late = sum(ended > seconds + 1.0 for _, ended in found)
    first = f"{better:.1f}" if math.isfinite(better) else "-"
    latest = max(ended for _, ended in found)
    return f"{room:16}{seconds:9g}{count:6}{first:>14}{end:8.1f}{latest:9.1f}{late:6}/{len(found)}"


def numbers(text: str) -> list[float]:
    return [float(part) for part in text.split(",")]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("rooms", nargs="*", default=EXAMPLES)
    parser.add_argument("--seconds", type=numbers, default=[2.0, 10.0, 20.0])
    parser.add_argument("--busy", type=numbers, default=[0.0, 2.0])
    parser.add_argument("--seeds", type=int, default=3)
    options = parser.parse_args()
    print(f"{'room':16}{'seconds':>9}{'busy':>6}{'first better':>14}{'end':>8}{'latest':>9}{'late':>8}")
    for room in options.rooms:
        for seconds in options.seconds:
            for count in map(int, options.busy):
                with busy(count):
                    found = [run(room, seconds, seed) for seed in range(1, options.seeds + 1)]
                print(row(room, seconds, count, found), flush=True)


if __name__ == "__main__":
    main()
