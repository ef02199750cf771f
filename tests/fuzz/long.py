"""The longer run: ``python tests/fuzz/long.py --minutes 10``.

Prints how many of each kind were tried, accepted and refused, and for each promise that was not held the
file that made it.  Leaves with 1 where there is any.  One process a core; what ends a process, or keeps it
busy when the time is long over, is a promise not held, too.
"""

from __future__ import annotations

import argparse
import importlib
import multiprocessing
import os
import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis.strategies import SearchStrategy

sys.path.insert(0, str(Path(__file__).parents[1]))
promise = importlib.import_module("fuzz.promise")
strategies = importlib.import_module("fuzz.strategies")
text_of = importlib.import_module("fuzz.toml").text_of

BATCH = 50
OFTEN = (*["frame-nook"] * 12, *["gate-shed", "cabinet-garage"] * 2)
"""The examples that are spoilt: a larger one takes several times as long to score."""
LARGE = ("makerspace",)

FILES_TO_OTHERS = 4
"""Batches of files for each of the other kinds; files are quick, and most of what comes in."""
PATIENCE = 90.0
"""Seconds after the end for a process to come to it."""

KEPT = 40
"""Failures of which a file is kept, of each process."""


Hold = Callable[[Any], str]
"""Tries one case: accepted or refused; raises where a promise is not held."""


class Run:
    """The figures of one process, and where the files of its failures go."""

    def __init__(self, until: float, kept: Path, number: int) -> None:
        self.until = until
        self.kept = kept
        self.number = number
        self.figures: dict[str, Counter[str]] = {}
        self.failures: list[str] = []
        self.took: Counter[str] = Counter()

    def batch(self, kind: str, strategy: SearchStrategy[Any], hold: Hold, number: int, size: int) -> None:
        """Try a few of one kind; a failure is noted, and the run goes on."""

        @seed(number)
        @settings(max_examples=size, database=None, deadline=None, phases=(Phase.generate,),
                  suppress_health_check=list(HealthCheck))  # fmt: skip
        @given(strategy)
        def some(case: Any) -> None:
            if time.time() > self.until:
                return
            self.write(self.current, case)
            began = time.process_time()
            try:
                outcome = hold(case)
            except Exception as fault:
                outcome = "broken"
                self.fail(kind, case, fault)
            self.took[kind] += time.process_time() - began
            self.figures.setdefault(kind, Counter())[outcome] += 1

        some()

    @property
    def current(self) -> Path:
        """What is being tried: it is there when the process is not."""
        return self.kept / f"current-{self.number}.txt"

    def write(self, path: Path, case: Any) -> None:
        path.write_bytes((case if isinstance(case, str) else repr(case)).encode("utf-8", "surrogatepass"))

    def fail(self, kind: str, case: Any, fault: Exception) -> None:
        """Keep the case in a file, and say so at once."""
        path = self.kept / f"{kind.replace(' ', '-')}-{self.number}-{len(self.failures)}.txt"
        if len(self.failures) < KEPT:
            self.write(path, case)
        told = " ".join(f"{type(fault).__name__}: {fault}".split())
        self.failures.append(f"{path}: {told[:400]}")
        print(ascii(self.failures[-1]), flush=True)


def work(number: int, first: int, until: float, kept: Path, tell: Any) -> None:
    """One process: batches of every kind in turn, until the time is over."""
    run = Run(until, kept, number)
    examples = strategies.EXAMPLES
    nook = text_of(examples["frame-nook"])
    things = (*examples["frame-nook"]["stations"], *examples["frame-nook"]["jobs"], "nothing")
    files = (
        ("random files", strategies.scenario_texts, promise.scenario_file, BATCH),
        ("spoilt files", strategies.mutated_texts(OFTEN), promise.scenario_file, BATCH),
    )
    others = (
        ("command lines", strategies.command_lines, lambda words: promise.command_line(words, nook), 12),
        ("rows of moves", strategies.rows_of_moves(things), lambda row: promise.moves(nook, row), 12),
        ("spoilt files", strategies.mutated_texts(LARGE), promise.scenario_file, 5),
        ("lines at the prompt", strategies.rows_of_lines(things), lambda row: promise.prompt(nook, row), 8),
        ("messages of a page", strategies.rows_of_messages(things), lambda row: promise.page(nook, row), 12),
        ("sheets of visits", strategies.sheets(things), lambda rows: promise.sheet(nook, rows), 25),
    )
    turn = 0
    with promise.folder():
        while time.time() < until:
            for kind, strategy, hold, size in (*files * FILES_TO_OTHERS, others[turn % len(others)]):
                run.batch(kind, strategy, hold, first + turn, size)
                first += 1
            turn += 1
    run.current.unlink(missing_ok=True)
    tell.send((run.figures, run.failures, run.took))


def main() -> int:
    """Run until the time is over; 1 where a promise was not held."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--keep", type=Path, default=Path("fuzz-failures"), help="for files of failures")
    asked = parser.parse_args()
    kept = asked.keep.resolve()
    kept.mkdir(parents=True, exist_ok=True)
    until = time.time() + 60 * asked.minutes
    figures: dict[str, Counter[str]] = {}
    took: Counter[str] = Counter()
    failures: list[str] = []
    begun = []
    for k in range(asked.processes):
        heard, tell = multiprocessing.get_context("spawn").Pipe(duplex=False)
        first = asked.seed * 1_000_000_000 + k * 1_000_000
        words = (k, first, until, kept, tell)
        process = multiprocessing.get_context("spawn").Process(target=work, args=words)
        process.start()
        tell.close()
        begun.append((process, heard))
    for k, (process, heard) in enumerate(begun):
        try:
            told = heard.recv() if heard.poll(max(0.0, until + PATIENCE - time.time())) else None
        except EOFError:
            told = None
        if told is None:
            how = "goes on" if process.is_alive() else f"ended with {process.exitcode}"
            failures.append(f"{kept}/current-{k}.txt: the process that tried it {how}")
            process.kill()
            continue
        for kind, found in told[0].items():
            figures.setdefault(kind, Counter()).update(found)
        failures += told[1]
        took.update(told[2])
    for kind, found in figures.items():
        told = ", ".join(f"{found[o]:,} {o}" for o in ("accepted", "refused", "broken"))
        each = 1000 * took[kind] / max(1, found.total())
        print(f"{kind}: {found.total():,} tried, {told}; {each:.0f} ms of processor time each")
    total = sum(found.total() for found in figures.values())
    files = sum(figures.get(kind, Counter()).total() for kind in ("random files", "spoilt files"))
    print(f"{total:,} inputs, {files:,} of them files, in {asked.minutes:g} minutes")
    print("\n".join([*failures, f"{len(failures)} promises not held"]))
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
