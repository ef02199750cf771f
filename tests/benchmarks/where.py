"""How long the answer to "where would it go?" takes, for every thing of a scenario.

    python tests/benchmarks/where.py [--pitch 0.25] [SCENARIO ...]

For each thing that can be moved: squares of floor, those with a spot, and the time until the first squares
are told and until all are, by the clock and by this process's processor time.  Everything is asked once
before, so that no compiling is counted.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

from footwork.elsewhere.where import PITCH, filling_in
from footwork.model.read import load
from footwork.model.scenario import Scenario, Station

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def measure(scenario: Scenario, name: str, pitch: float) -> tuple[int, int, float, float, float]:
    """Squares, those with a spot; seconds to the first answer, to the last, and of processor time."""
    start, spent = time.perf_counter(), time.process_time()
    stages = filling_in(scenario, scenario.layouts[0], name, pitch)
    found = next(stages)
    first = time.perf_counter() - start
    for stage in stages:
        found = stage
    whole = time.perf_counter() - start
    return len(found.squares), len(found.spots), first, whole, time.process_time() - spent


def main() -> None:
    parser = argparse.ArgumentParser(description="How long it takes to look everywhere for one thing.")
    parser.add_argument("scenarios", nargs="*", default=["gate-shed"])
    parser.add_argument("--pitch", type=float, default=PITCH)
    given = parser.parse_args()
    heads = f"{'squares':>8}{'spots':>7}{'first s':>9}{'all s':>8}{'processor s':>13}"
    print(f"{'scenario':12} {'thing':14}{heads}")
    for name in given.scenarios:
        scenario = load(SCENARIOS / f"{name}.toml")
        things = [t for t in scenario.things if not (isinstance(t, Station) and t.fixed is not None)]
        for thing in things:
            measure(scenario, thing.name, given.pitch)
        for thing in things:
            squares, spots, first, whole, spent = measure(scenario, thing.name, given.pitch)
            print(
                f"{name:12} {thing.name:14}{squares:8}{spots:7}{first:9.2f}{whole:8.2f}{spent:13.2f}",
                flush=True,
            )


if __name__ == "__main__":
    main()
