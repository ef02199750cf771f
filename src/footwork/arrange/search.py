"""The search: annealing on the pair table, then on the true cost, from several starts.

Starts come in waves of a fixed number.  What a start does depends on the seed, its number and the
waves before its own, never on how many threads work: the same seed gives the same layouts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from queue import SimpleQueue

import numpy as np

from footwork.arrange.stop import Any, Stop, Switch
from footwork.arrange.tables import Floats, Ints, Seeds, Tables
from footwork.arrange.truth import Judge

WAVE = 4
"""Starts in a wave."""
TABLE_STEPS = 40_000
"""Moves on the pair table before a start goes over to the true cost."""
CHUNK = 400
"""Moves on the true cost between two looks at the stop rule."""


@dataclass(frozen=True)
class Restriction:
    """What may move: ``base`` spots by thing (-1: none) and the most things that may leave theirs."""

    base: Ints
    moves: int


@dataclass
class Pool:
    """The best choices met, cheapest first; ``verify`` says whether a choice passes every must-check."""

    verify: Callable[[Ints], bool]
    most: int = 400
    found: dict[bytes, tuple[float, Ints]] = field(default_factory=dict)
    best: float = np.inf
    choice: Ints | None = None
    refused: set[bytes] = field(default_factory=set)

    def add(self, cost: float, choice: Ints) -> None:
        """Take note of a choice; a new best is verified first."""
        key = choice.tobytes()
        if not np.isfinite(cost) or key in self.found or key in self.refused:
            return
        if cost < self.best:
            if not self.verify(choice):
                self.refused.add(key)
                return
            self.best, self.choice = cost, choice.copy()
        self.found[key] = (cost, choice.copy())
        if len(self.found) > 2 * self.most:
            self.found = dict(sorted(self.found.items(), key=lambda kv: kv[1][0])[: self.most])

    def ranked(self) -> list[tuple[float, Ints]]:
        return sorted(self.found.values(), key=lambda cv: cv[0])


class Search:
    """Runs waves of starts on one problem."""

    def __init__(
        self,
        tables: Tables,
        places: Floats,
        judge: Judge,
        restriction: Restriction,
        pool: Pool,
        seed: int,
        processes: int,
    ) -> None:
        self.tables, self.places, self.pool, self.seed = tables, places, pool, seed
        self.restriction = restriction
        self.movable = np.array([i for i in range(tables.things) if np.diff(tables.first)[i] > 1], np.int32)
        self.processes = processes
        self._judges: SimpleQueue[Judge] = SimpleQueue()
        for _ in range(processes):
            self._judges.put(judge.twin())
        self.starts = 0
        self.left = np.zeros((tables.things, tables.things), np.int64)
        """How often two things were a clash that a start could not mend."""

    def wave(self, steps: int, stop: Stop, seeds: Iterable[Ints] = ()) -> None:
        """One wave: ``steps`` true-cost moves a start.  ``seeds`` are choices to start from, first come."""
        given = list(seeds)[:WAVE]
        numbers = range(self.starts, self.starts + WAVE)
        self.starts += WAVE
        halt = Switch()
        rule = Any(stop, halt)
        with ThreadPoolExecutor(self.processes) as threads:
            jobs = [
                threads.submit(
                    self._start,
                    k,
                    steps,
                    rule,
                    given[k - numbers[0]] if k - numbers[0] < len(given) else None,
                )
                for k in numbers
            ]
            try:
                for job in jobs:
                    job.result()
            except KeyboardInterrupt:
                halt.throw()
                raise
            finally:
                for job in jobs:
                    for cost, choice in job.result():
                        self.pool.add(cost, choice)

    def _start(self, number: int, steps: int, stop: Stop, given: Ints | None) -> list[tuple[float, Ints]]:
        rng = np.random.default_rng([self.seed, number])
        judge = self._judges.get()
        try:
            return self._climb(rng, judge, steps, stop, given)
        finally:
            self._judges.put(judge)

    def _climb(
        self, rng: np.random.Generator, judge: Judge, steps: int, stop: Stop, given: Ints | None
    ) -> list[tuple[float, Ints]]:
        tables = self.tables
        seed = np.array([rng.integers(0, 2**63)], np.uint64)
        if given is None:
            state = self.random_state(rng)
            hot = self._heat()
            best = self._on_table(state, hot, seed, stop)
        else:
            best, hot = given.copy(), self._heat() / 10
        clashing = tables.clashes(best)
        if clashing:
            for i, j in clashing:
                self.left[i, j] += 1
            return []
        found: list[tuple[float, Ints]] = []
        state, total, warm = best.copy(), max(steps, 1), hot / 3
        for done in range(0, total, CHUNK):
            if stop():
                break
            high, low = (warm * 0.01 ** (k / total) for k in (done, min(done + CHUNK, total)))
            cost = judge.polish(
                tables, self.places, self.movable, self.restriction, state, CHUNK, high, low, seed, best
            )
            found.append((cost, best.copy()))
        return found

    def _on_table(self, state: Ints, hot: float, seed: Seeds, stop: Stop) -> Ints:
        from footwork.arrange.anneal import anneal

        tables, best = self.tables, state.copy()
        parts = 8
        for part in range(parts):
            if stop() and part:
                break
            high, low = (hot * 0.003 ** (k / parts) for k in (part, part + 1))
            start = best if part else state
            anneal(
                tables.unary,
                tables.pair,
                tables.first,
                self.places,
                self.movable,
                self.restriction.base,
                self.restriction.moves,
                start.copy(),
                TABLE_STEPS // parts,
                high,
                low,
                seed,
                best,
            )
        return best

    def random_state(self, rng: np.random.Generator) -> Ints:
        """Random spots, or the base where only some stations may leave it."""
        first, base = self.tables.first, self.restriction.base
        drawn = np.array([rng.integers(first[i], first[i + 1]) for i in range(self.tables.things)], np.int32)
        if self.restriction.moves >= self.tables.things:
            return drawn
        return np.where(base >= 0, base, drawn).astype(np.int32)

    def _heat(self) -> float:
        """Metres a year that a station's share of the cost is worth, to start annealing at."""
        known = self.pool.best if np.isfinite(self.pool.best) else self.tables.clash / 64
        return max(known / max(self.tables.things, 1), 1e-3)
