"""The longer run: ``python tests/fuzz/long.py --minutes 10``.

Prints how many of each kind were tried, accepted and refused, and for each promise that was not held the
file that made it.  Leaves with 1 where there is any.
"""

from __future__ import annotations

import argparse
import importlib
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
OFTEN = (*["frame-nook"] * 6, *["gate-shed", "cabinet-garage"] * 3, "makerspace")
"""The examples that are spoilt: a large one takes twenty times as long to score as a small one."""

FILES_TO_OTHERS = 4
"""Files are tried so many times as often as command lines and moves."""

KEPT = 40
"""Failures of which a file is kept."""


Hold = Callable[[Any], str]
"""Tries one case: accepted or refused; raises where a promise is not held."""


class Run:
    """The figures of a run, and where the files of its failures go."""

    def __init__(self, until: float, kept: Path) -> None:
        self.until = until
        self.kept = kept
        self.figures: dict[str, Counter[str]] = {}
        self.failures: list[str] = []

    def batch(self, kind: str, strategy: SearchStrategy[Any], hold: Hold, number: int) -> None:
        """Try a few of one kind; a failure is noted, and the run goes on."""

        @seed(number)
        @settings(max_examples=BATCH, database=None, deadline=None, phases=(Phase.generate,),
                  suppress_health_check=list(HealthCheck))  # fmt: skip
        @given(strategy)
        def some(case: Any) -> None:
            if time.monotonic() > self.until:
                return
            try:
                outcome = hold(case)
            except Exception as fault:
                outcome = "broken"
                self.fail(kind, case, fault)
            self.figures.setdefault(kind, Counter())[outcome] += 1

        some()

    def fail(self, kind: str, case: Any, fault: Exception) -> None:
        """Keep the case in a file, and say so at once."""
        path = self.kept / f"{kind.replace(' ', '-')}-{len(self.failures)}.txt"
        text = case if isinstance(case, str) else repr(case)
        if len(self.failures) < KEPT:
            path.write_bytes(text.encode("utf-8", "surrogatepass"))
        told = " ".join(f"{type(fault).__name__}: {fault}".split())
        self.failures.append(f"{path}: {told[:400]}")
        print(self.failures[-1], flush=True)


def main() -> int:
    """Run until the time is over; 1 where a promise was not held."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, default=Path("fuzz-failures"), help="for files of failures")
    asked = parser.parse_args()
    kept = asked.keep.resolve()
    kept.mkdir(parents=True, exist_ok=True)
    run = Run(time.monotonic() + 60 * asked.minutes, kept)
    examples = strategies.EXAMPLES
    nook = text_of(examples["frame-nook"])
    things = (*examples["frame-nook"]["stations"], *examples["frame-nook"]["jobs"], "nothing")
    kinds: tuple[tuple[str, SearchStrategy[Any], Hold], ...] = (
        ("random files", strategies.scenario_texts, promise.scenario_file),
        ("spoilt files", strategies.mutated_texts(OFTEN), promise.scenario_file),
        ("command lines", strategies.command_lines, lambda words: promise.command_line(words, nook)),
        ("rows of moves", strategies.rows_of_moves(things), lambda row: promise.moves(nook, row)),
    )
    number = asked.seed * 1_000_000
    with promise.folder():
        while time.monotonic() < run.until:
            for kind, strategy, hold in (*kinds[:2] * FILES_TO_OTHERS, *kinds[2:]):
                run.batch(kind, strategy, hold, number)
                number += 1
    for kind, figures in run.figures.items():
        told = ", ".join(f"{figures[o]:,} {o}" for o in ("accepted", "refused", "broken"))
        print(f"{kind}: {figures.total():,} tried, {told}")
    print(f"{len(run.failures)} promises not held")
    return 1 if run.failures else 0


if __name__ == "__main__":
    sys.exit(main())
