"""Random moves of a layout on its spots, as the search makes them; for what tests the true cost."""

from __future__ import annotations

from pathlib import Path

import numpy as np

import footwork
from footwork.arrange.core.arrays import Ints
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.spots.enumerate import find_spots
from footwork.arrange.true_cost.evaluate import afresh, take_back, try_move
from footwork.arrange.true_cost.judge import Judge
from footwork.floor.plan import Plan
from footwork.floor.routes import Walks
from footwork.floor.wishes import wish_metres
from footwork.model.scenario import Layout, Scenario

SMALL = 0.75
"""Metres: a small move goes no further."""


class Moving:
    """A layout that starts as the file's first, a judge that follows its moves and one that starts anew."""

    def __init__(self, scenario: Scenario, pitch: float = 0.5, seed: int = 1) -> None:
        self.scenario = scenario
        plan = Plan(scenario, scenario.layouts[0])
        base = Layout("today", plan.placements)
        self.lists = find_spots(scenario, pitch, 4, base, (), False)
        self.table = PairTable(scenario, self.lists, False, plan.building)
        self.tables = self.table.build(1, 0)  # for its clashes; the ways round are not needed
        self.judge = Judge(self.table)
        self.other = self.judge.twin()
        first = self.tables.first
        at = [s.placements.index(base.placements[s.thing.name]) for s in self.lists]
        self.state: Ints = (first[:-1] + np.array(at)).astype(np.int32)
        self.movable = np.flatnonzero(np.diff(first) > 1)
        self.rng = np.random.default_rng(seed)
        self.now = self.first = self.anew(self.state, self.judge)

    @classmethod
    def of(cls, path: Path, pitch: float = 0.5) -> Moving:
        return cls(footwork.load(path), pitch)

    def move(self, small: bool, most: int = 1) -> tuple[Ints, Ints]:
        """Spots after a move of one to ``most`` things that is free of clashes, and which things move."""
        first, places = self.tables.first, self.table.stamps.at
        for _ in range(100_000):
            out = self.rng.choice(self.movable, self.rng.integers(1, most + 1), replace=False)
            after = self.state.copy()
            for i in out:
                spots = np.arange(first[i], first[i + 1])
                if small:
                    away = np.hypot(*(places[spots] - places[self.state[i]]).T)
                    spots = spots[away < SMALL]
                after[i] = self.rng.choice(spots)
            if (after != self.state).any() and not self.tables.clashes(after):
                return after, np.append(out, [0] * (4 - len(out))).astype(np.int32)
        raise AssertionError("nothing can move on these spots")

    def try_move(self, after: Ints, out: Ints, count: int, limit: float = np.inf) -> float:
        """True cost of ``after``, from what is remembered of ``state``."""
        j = self.judge
        return float(try_move(j.evaluation, self.state, after, out, count, limit))

    def take_back(self, out: Ints, count: int) -> None:
        j = self.judge
        take_back(j.evaluation, self.state, out, count)

    def stand_still(self) -> float:
        """The cost of ``state`` from what is remembered, nothing moved."""
        return self.try_move(self.state, np.zeros(4, np.int32), 0)

    def anew(self, state: Ints, judge: Judge | None = None) -> float:
        """The compiled true cost of a state with nothing remembered."""
        j = judge or self.other
        return float(afresh(j.evaluation, state, np.inf))

    def layout(self, state: Ints) -> Layout:
        spots = zip(self.lists, state - self.tables.first[:-1], strict=True)
        return Layout("now", {s.thing.name: s.placements[int(k)] for s, k in spots})

    def by_routes(self, state: Ints) -> float:
        """The same as a score computes it: every distance between all standing places."""
        layout = self.layout(state)
        walks = Walks(Plan(self.scenario, layout))
        jobs = [job for job in self.scenario.jobs if job.times_per_year > 0]
        walked = sum(job.times_per_year * walks.job(job).effort for job in jobs)
        return float(walked + wish_metres(self.scenario, layout.placements) + self.table.prices.of(state))
