"""Figures against what is slow and obvious: ``python tests/fuzz/agree.py --scored 500 --bounded 200``.

Random workshops with any of the features that ``random_shop`` knows.  Of the scored ones every job in every
state and the wishes of a random layout are compared with the judge's; of the bounded ones a short search's
best and bound with the cheapest of all layouts.  Prints the figures; leaves with 1 where two disagree.
"""

from __future__ import annotations

import argparse
import importlib
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2] / "src")]
shops = importlib.import_module("arrange.random_shops")
every = importlib.import_module("arrange.every_layout")
same = importlib.import_module("engine").same
judged = importlib.import_module("judge.figures")
JudgeWalks = importlib.import_module("judge.routes").Walks

FEATURES = ("along", "alike", "vehicle", "carry", "wishes", "shoulds", "effort", "evenly", "parked")
PROVEN = 1e-9
"""Part of a cost by which two ways of adding it up may differ."""


def workshop(
    rng: np.random.Generator, stations: tuple[int, int], spots: int, without: tuple[str, ...] = ()
) -> Any:
    """A random workshop with each feature in one of three, but for some."""
    chosen = {feature: bool(rng.random() < 1 / 3) and feature not in without for feature in FEATURES}
    chosen["evenly"] &= chosen["alike"]
    return shops.random_shop(rng, shops.Asked(int(rng.integers(*stations)), spots, **chosen))


def scored(seed: int) -> list[str]:
    """What the package and the judge say otherwise of a random layout; the judge knows of no parking."""
    from footwork.arrange.spots.enumerate import find_spots
    from footwork.floor.plan import Plan
    from footwork.floor.routes import Walks
    from footwork.floor.wishes import wish_metres
    from footwork.model.scenario import Layout

    rng = np.random.default_rng([1, seed])
    scenario = workshop(rng, (3, 7), 4, without=("parked",))
    lists = find_spots(scenario, 0.5, 4, None)
    if not all(spots.placements for spots in lists):
        return []
    at = {s.thing.name: s.placements[int(rng.integers(len(s.placements)))] for s in lists}
    layout = Layout("random", at)
    walks, judge = Walks(Plan(scenario, layout)), JudgeWalks(scenario, layout)
    wrong = []
    for job in scenario.jobs:
        ours = sorted((sorted(s.vehicles_in), s.metres, s.share, s.effort) for s in walks.job(job).states)
        theirs = sorted((sorted(i), w.metres, share, w.effort) for i, share, w in judge.states(job))
        for mine, other in zip(ours, theirs, strict=True):
            near = all(same(a, b, below=1e-3, above=5e-4) for a, b in zip(mine[1:], other[1:], strict=True))
            if mine[0] != other[0] or not near:
                wrong.append(f"scored {seed}: {job.name}: {mine} is {other} to the judge")
    mine, other = wish_metres(scenario, at), judged.wishes(scenario, layout)
    if abs(mine - other) > 1e-6:
        wrong.append(f"scored {seed}: wishes are {mine}, {other} to the judge")
    return wrong


def bounded(seed: int) -> list[str]:
    """Where a search's bound is above the cheapest layout, or its best below it."""
    from footwork.arrange.suggest import suggest
    from footwork.model.errors import NoLayoutError

    rng = np.random.default_rng([2, seed])
    scenario = workshop(rng, (3, 5), 4)
    found = every.every_score(scenario)
    try:
        result = suggest(scenario, iterations=int(rng.integers(1, 200)), seed=seed, processes=1)
    except NoLayoutError:
        return [f"bounded {seed}: none found of {len(found)} sound layouts"] if found else []
    if not found:
        return [f"bounded {seed}: a layout was found where none is sound"]
    least = found[0].cost
    wrong = []
    if result.bound > least * (1 + PROVEN):
        wrong.append(f"bounded {seed}: the bound {result.bound} is above {least}")
    if result.best.cost < least * (1 - PROVEN):
        wrong.append(f"bounded {seed}: the best {result.best.cost} is below {least}")
    if result.status == "proven" and result.best.cost > least * (1 + 2e-3):
        wrong.append(f"bounded {seed}: {result.best.cost} is called proven, {least} is there")
    return wrong


def tried(name: str, hold: Callable[[int], list[str]], times: int) -> int:
    """How many were wrong of so many; each is told."""
    began, bad = time.monotonic(), 0
    for seed in range(times):
        for line in hold(seed):
            bad += 1
            print(line, flush=True)
    took = time.monotonic() - began
    print(f"{name}: {times} random workshops in {took:.0f} s, {bad} disagreements", flush=True)
    return bad


def main() -> int:
    """Run both, and say whether all agreed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--scored", type=int, default=500)
    parser.add_argument("--bounded", type=int, default=200)
    asked = parser.parse_args()
    bad = tried("scored", scored, asked.scored) + tried("bounded", bounded, asked.bounded)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
