"""Figures against what is slow and obvious: ``python tests/fuzz/agree.py --scored 500 --bounded 200``.

Random workshops with any of the features that ``workshops`` knows.  Of the scored ones every job in every
state, the wishes and the year's sum of a random layout are compared with the judge's; of the bounded ones a
short search's best and bound, some interrupted at any of its reports, with the cheapest of all layouts; of
the stopped ones a tree's bound at every look at the clock with the optimum.  Prints the figures and how many
had which feature; leaves with 1 where two disagree.
"""

from __future__ import annotations

import argparse
import importlib
import math
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2] / "src")]
shops = importlib.import_module("arrange.random_shops")
tables = importlib.import_module("arrange.random_tables")
every = importlib.import_module("arrange.every_layout")
same = importlib.import_module("engine").same
judged = importlib.import_module("judge.figures")
JudgeWalks = importlib.import_module("judge.routes").Walks

workshops = importlib.import_module("fuzz.workshops")

PROVEN = 1e-9
"""Part of a cost by which two ways of adding it up may differ."""

LAYOUTS = 12
"""Random ones that are tried until one can be walked."""

seen: Counter[str] = Counter()
"""How many workshops had a feature."""


def scored(seed: int) -> list[str]:
    """What the package and the judge say otherwise of a random layout; the judge knows of no parking."""
    from footwork.floor.wishes import wish_metres
    from footwork.model.read import loads

    rng = np.random.default_rng([1, seed])
    file, features = workshops.workshop_file(rng, (3, 7), 4, without=("parked",))
    file, more = workshops.varied(rng, file)
    scenario = loads(file)
    seen.update(features | more)
    layout, walks = _walkable(rng, scenario)
    judge = JudgeWalks(scenario, layout)
    wrong, walked = [], 0
    for job in scenario.jobs:
        ours = sorted((sorted(s.vehicles_in), s.metres, s.share, s.effort) for s in walks.job(job).states)
        theirs = sorted((sorted(i), w.metres, share, w.effort) for i, share, w in judge.states(job))
        walked += all(math.isfinite(one[1]) for one in ours)
        for mine, other in zip(ours, theirs, strict=True):
            near = all(same(a, b, below=1e-3, above=5e-4) for a, b in zip(mine[1:], other[1:], strict=True))
            if mine[0] != other[0] or not near:
                wrong.append(f"scored {seed}: {job.name}: {mine} is {other} to the judge")
    seen["(jobs)"] += len(scenario.jobs)
    seen["(jobs that can be walked)"] += walked
    mine, other = wish_metres(scenario, layout.placements), judged.wishes(scenario, layout)
    if abs(mine - other) > 1e-6:
        wrong.append(f"scored {seed}: wishes are {mine}, {other} to the judge")
    wrong += _whole(seed, scenario, layout, judge)
    return wrong


def _walkable(rng: np.random.Generator, scenario: Any) -> tuple[Any, Any]:
    """Of some random layouts one in which most jobs can be walked, and its walks."""
    from footwork.floor.plan import Plan
    from footwork.floor.routes import Walks
    from footwork.model.scenario import Layout

    best, most = None, -1
    for _ in range(LAYOUTS):
        layout = Layout("random", _somewhere(rng, scenario))
        walks = Walks(Plan(scenario, layout))
        count = sum(all(math.isfinite(s.metres) for s in walks.job(job).states) for job in scenario.jobs)
        if count > most:
            best, most = (layout, walks), count
        if count == len(scenario.jobs):
            break
    assert best is not None
    return best


def _somewhere(rng: np.random.Generator, scenario: Any) -> dict[str, Any]:
    """A place for each thing out of those that its file names."""
    places = {}
    for thing in (*scenario.stations, *scenario.vehicles):
        mine = getattr(thing, "spots", ()) or [
            spot.placement for spot in scenario.spots if thing.name in spot.takes
        ]
        places[thing.name] = mine[int(rng.integers(len(mine)))]
    return places


def _whole(seed: int, scenario: Any, layout: Any, judge: Any) -> list[str]:
    """Where the year's sum of ``score`` is not the judge's."""
    from footwork.scoring import score

    ours, theirs = score(scenario, layout), judged.cost(scenario, layout, judge)
    if math.isinf(theirs):  # what cannot be walked is a failed check, and not counted
        return [f"scored {seed}: sound, though the judge finds no way"] if ours.ok else []
    if not same(ours.cost - ours.check_metres, theirs, below=1.0, above=5e-4):
        return [f"scored {seed}: the year is {ours.cost - ours.check_metres}, {theirs} to the judge"]
    return []


def bounded(seed: int) -> list[str]:
    """Where a search's bound is above the cheapest layout, or its best below it.

    One in two has a layout already, beside the spots of its file, which is a spot more for each thing.
    """
    from footwork.arrange.suggest import suggest
    from footwork.model.errors import NoLayoutError
    from footwork.model.read import loads

    rng = np.random.default_rng([2, seed])
    file, features = workshops.workshop_file(rng, (3, 5), 4)
    scenario, base = loads(file), None
    if rng.random() < 0.5:
        scenario, base = _with_layout(rng, scenario)
    seen.update(features | ({"a layout"} if base else set()))
    found = every.every_score(scenario, base=base)
    press = Press(int(rng.integers(1, 40)) if rng.random() < 0.5 else None)
    try:
        result = suggest(
            scenario, iterations=int(rng.integers(1, 200)), seed=seed, processes=1, progress=press
        )
    except NoLayoutError:
        return [f"bounded {seed}: none found of {len(found)} sound layouts"] if found else []
    except KeyboardInterrupt:
        seen["(interrupted before a layout)"] += 1
        return []
    if press.pressed:
        seen["(interrupted)"] += 1
    if not found:
        return [f"bounded {seed}: a layout was found where none is sound"]
    return [f"bounded {seed}: {word}" for word in _wrong(result, found[0].cost)]


def _wrong(result: Any, least: float) -> list[str]:
    """What a suggestion claims against the cheapest layout that there is."""
    wrong = []
    if result.bound > least * (1 + PROVEN):
        wrong.append(f"the bound {result.bound} is above {least}")
    if result.best.cost < least * (1 - PROVEN):
        wrong.append(f"the best {result.best.cost} is below {least}")
    if result.status == "proven" and result.best.cost > least * (1 + 2e-3):
        wrong.append(f"{result.best.cost} is called proven, {least} is there")
    return wrong


def _with_layout(rng: np.random.Generator, scenario: Any) -> tuple[Any, Any]:
    """The same with a layout: everything on a spot of its file, some of it moved off by a hand's breadth."""
    from footwork.arrange.spots.enumerate import find_spots
    from footwork.model.scenario import Layout

    at = {}
    for spots in find_spots(scenario, 0.5, 4, None):
        if not spots.placements:
            return scenario, None
        one = spots.placements[int(rng.integers(len(spots.placements)))]
        away = rng.uniform(-0.1, 0.1, 2).round(3) * (rng.random() < 0.5)
        at[spots.thing.name] = replace(one, x=one.x + away[0], y=one.y + away[1])
    base = Layout("today", at)
    return scenario.with_(layouts=(base,)), base


class Press:
    """Presses Ctrl-C at the so many-th report."""

    def __init__(self, at: int | None) -> None:
        self.at, self.told, self.pressed = at, 0, False

    def __call__(self, _: Any) -> None:
        self.told += 1
        if self.told == self.at:
            self.pressed = True
            raise KeyboardInterrupt


class Looks:
    """Stops a tree at the so many-th look at the clock, and notes its bound at each."""

    def __init__(self, tree: Any, left: int) -> None:
        self.tree, self.left = tree, left
        self.bounds: list[float] = []

    def __call__(self) -> bool:
        self.left -= 1
        self.bounds.append(self.tree.bound)
        return self.left <= 0


def stopped(seed: int) -> list[str]:
    """Where the bound of a tree that is stopped and gone on with, over and over, is above the optimum.

    It is asked for whenever somebody looks at the clock and at the moments of stopping, and never falls.
    """
    from footwork.arrange.branch_and_bound.tree import Tree

    rng = np.random.default_rng([3, seed])
    table, places = tables.random_tables(rng, int(rng.integers(4, 7)), 6, clash=float(rng.uniform(0, 0.3)))
    best = tables.optimum(table)
    tree = Tree(table, best * 1.1 + 1 if np.isfinite(best) else table.clash / 8, table.cost, places)
    last, wrong = 0.0, []
    while not tree.done and not wrong:
        clock = Looks(tree, int(rng.integers(1, 6)))
        tree.run(clock)
        looks = [*clock.bounds, tree.bound]
        seen["(stops of a tree)"] += 1
        if max(looks) > best * (1 + PROVEN):
            wrong.append(f"stopped {seed}: the bound is {max(looks)}, the optimum {best}")
        if min(looks) < last:
            wrong.append(f"stopped {seed}: the bound fell from {last} to {min(looks)}")
        last = looks[-1]
    if not wrong and np.isfinite(best) and abs(tree.bound - best) > best * PROVEN:
        wrong.append(f"stopped {seed}: it ends with {tree.bound}, the optimum is {best}")
    return wrong


def tried(name: str, hold: Callable[[int], list[str]], times: int) -> int:
    """How many were wrong of so many; each is told."""
    began, bad, done = time.monotonic(), 0, 0
    seen.clear()
    with suppress(KeyboardInterrupt):  # then with what there is
        for done in range(1, times + 1):
            for line in hold(done - 1):
                bad += 1
                print(line, flush=True)
    took = time.monotonic() - began
    print(f"{name}: {done} random workshops in {took:.0f} s, {bad} disagreements", flush=True)
    if seen:
        print("    " + ", ".join(f"{name} {count}" for name, count in sorted(seen.items())), flush=True)
    return bad


def main() -> int:
    """Run both, and say whether all agreed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--scored", type=int, default=500)
    parser.add_argument("--bounded", type=int, default=200)
    parser.add_argument("--stopped", type=int, default=200)
    asked = parser.parse_args()
    signal.signal(signal.SIGINT, signal.default_int_handler)  # which the background ignores
    kinds = (("scored", scored), ("bounded", bounded), ("stopped", stopped))
    bad = sum(tried(name, hold, getattr(asked, name)) for name, hold in kinds)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
