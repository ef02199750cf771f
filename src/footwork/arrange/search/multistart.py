"""The search: annealing on the pair table, then on the true cost, from several starts.

Starts come in waves of a fixed number.  What a start does depends on the seed, its number and the
waves before its own, never on how many threads work: the same seed gives the same layouts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from queue import SimpleQueue
from threading import RLock

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints, Longs, Seeds
from footwork.arrange.core.pairwise import Restriction, Tables
from footwork.arrange.core.random import seeded
from footwork.arrange.core.stop import Any, Stop, Switch
from footwork.arrange.search.anneal_table import anneal
from footwork.arrange.search.anneal_true import TrueAnnealer
from footwork.arrange.search.construct import Failures, Starter
from footwork.arrange.search.neighbourhoods import Cooling
from footwork.arrange.true_cost.judge import Judge

WAVE = 4
"""Starts in a wave."""
TABLE_STEPS = 40_000
"""Moves on the pair table before a start goes over to the true cost, in a room of the usual size."""
USUAL = 15
"""Things in a room of the usual size; larger ones get more moves in proportion."""
COOLER = 10.0
"""How much cooler than a new start, at most, one from a known choice is; drawn evenly in the logarithm, for
only the cool ones keep what is good, and only the warm ones leave it."""
PART = 5_000
"""Moves on the pair table, at most, between two looks at the stop rule."""
CHUNK = 400
"""Moves on the true cost between two looks at the stop rule."""
MENDS = 40
"""Tries to complete or open up what the table's moves have left with a clash, or that nobody could walk."""
WATCH = 0.1
"""Seconds between two looks of the caller at what the threads have found."""


@dataclass
class Pool:
    """The best choices met, cheapest first.

    ``uncounted`` tells the metres a year that a choice costs beside what the search counts, infinite where it
    fails a must-check; where they are no less than a limit, it may tell some of them.
    """

    uncounted: Callable[[Ints, float], float]
    most: int = 400
    found: dict[bytes, tuple[float, Ints]] = field(default_factory=dict)
    best: float = np.inf
    choice: Ints | None = None
    refused: set[bytes] = field(default_factory=set)
    lock: RLock = field(default_factory=RLock)

    def add(self, cost: float, choice: Ints) -> float:
        """Take note of a choice; what may be a new best is checked as a whole first.  Safe from any thread.

        Gives the cost, with what was not counted where that was looked at; infinite where it is refused.
        """
        key = choice.tobytes()
        with self.lock:
            if not np.isfinite(cost) or key in self.refused:
                return np.inf
            if key in self.found:
                return self.found[key][0]
            if cost < self.best:
                cost += self.uncounted(choice, self.best - cost)
                if not np.isfinite(cost):
                    self.refused.add(key)
                    return np.inf
                if cost < self.best:
                    self.best, self.choice = cost, choice.copy()
            self.found[key] = (cost, choice.copy())
            if len(self.found) > 2 * self.most:
                self.found = dict(sorted(self.found.items(), key=lambda kv: kv[1][0])[: self.most])
            return cost

    def ranked(self) -> list[tuple[float, Ints]]:
        with self.lock:
            return sorted(self.found.values(), key=lambda cv: cv[0])


Found = list[tuple[float, Ints]]


class Search:
    """Runs waves of starts on one problem.

    ``watch``, when given, is called now and then while a wave runs, in the caller's thread, and what a start
    finds counts at once: then the time that others take decides what a start knows, and the same seed may
    give other layouts.
    """

    def __init__(
        self,
        tables: Tables,
        places: Floats,
        judge: Judge,
        restriction: Restriction,
        pool: Pool,
        seed: int,
        processes: int,
        watch: Callable[[], None] | None = None,
    ) -> None:
        self.tables, self.places, self.pool, self.seed = tables, places, pool, seed
        self.restriction, self.watch = restriction, watch
        self.processes = processes
        self._all = [self.annealer_of(judge.twin()) for _ in range(processes)]
        self._idle: SimpleQueue[TrueAnnealer] = SimpleQueue()
        for one in self._all:
            self._idle.put(one)
        self.starts = 0
        self.starter = Starter(tables, places, restriction)
        self.failures = Failures.none(tables.things)
        """What kept layouts from being whole."""

    def annealer_of(self, judge: Judge) -> TrueAnnealer:
        """What anneals on the true costs that a judge tells."""
        return TrueAnnealer(judge)

    def size(self) -> float:
        """How many times the usual moves this room gets."""
        return max(1.0, self.tables.things / USUAL)

    def tally(self) -> Longs:
        """Moves on the true cost that were costed and accepted, by kind (``KINDS``): (kinds, 2)."""
        total = np.zeros_like(self._all[0].tally)
        for one in self._all:
            total += one.tally
        return total

    def first(self, stop: Stop, tries: int) -> None:
        """Sound layouts, one a start, with ``tries`` at most; with ``watch`` the first one found ends it."""

        def found_one() -> bool:
            return self.watch is not None and np.isfinite(self.pool.best)

        rule = Any(stop, found_one)

        def start(rng: np.random.Generator, annealer: TrueAnnealer, halt: Stop, given: Ints | None) -> Found:
            return self._sound(rng, annealer.judge, halt, tries, given)

        self._run(start, rule, ())

    def wave(self, steps: int, stop: Stop, seeds: Iterable[Ints] = (), share: float = 1.0) -> None:
        """One wave: ``steps`` true-cost moves a start, ``share`` of the usual moves on the table before.

        ``seeds`` are choices to start from, first come.
        """
        known = [choice for _, choice in self.pool.ranked()[:WAVE]]

        def start(rng: np.random.Generator, annealer: TrueAnnealer, halt: Stop, given: Ints | None) -> Found:
            return self._climb(rng, annealer, steps, halt, given, known, share)

        self._run(start, stop, seeds)

    def _run(
        self,
        start: Callable[[np.random.Generator, TrueAnnealer, Stop, Ints | None], Found],
        stop: Stop,
        seeds: Iterable[Ints],
    ) -> None:
        """Run ``WAVE`` starts on the threads and take what they find into the pool, in their order."""
        given = list(seeds)[:WAVE]
        numbers = range(self.starts, self.starts + WAVE)
        self.starts += WAVE
        halt = Switch()
        rule = Any(stop, halt)

        def one(number: int) -> Found:
            rng = np.random.default_rng([self.seed, number])
            annealer = self._idle.get()
            try:
                k = number - numbers[0]
                return start(rng, annealer, rule, given[k] if k < len(given) else None)
            finally:
                self._idle.put(annealer)

        with ThreadPoolExecutor(self.processes) as threads:
            jobs = [threads.submit(one, number) for number in numbers]
            try:
                while wait(jobs, WATCH).not_done:
                    if self.watch is not None:
                        self.watch()
            except KeyboardInterrupt:
                halt.throw()
                raise
            finally:
                for job in jobs:
                    for cost, choice in job.result():
                        self.pool.add(cost, choice)

    def _tell(self, found: Found) -> Found:
        """Let others know at once, where that is wanted."""
        if self.watch is not None:
            for cost, choice in found:
                self.pool.add(cost, choice)
        return found

    def _sound(
        self, rng: np.random.Generator, judge: Judge, stop: Stop, tries: int, state: Ints | None
    ) -> Found:
        """A layout that everybody can walk, near ``state`` where that can be mended."""
        failures = Failures.none(self.tables.things)
        found = self.starter.sound(judge, rng, stop, tries, failures, state)
        with self.pool.lock:
            self.failures.add(failures)
        return [] if found is None else self._tell([found])

    def _climb(
        self,
        rng: np.random.Generator,
        annealer: TrueAnnealer,
        steps: int,
        stop: Stop,
        given: Ints | None,
        known: Sequence[Ints],
        share: float,
    ) -> Found:
        """Anneal from ``given``, or from what the table finds; where nobody could walk that and it can't be
        mended, from one of the ``known``."""
        seed = seeded(rng)
        hot = self._temperature()
        if given is None:
            best = self._on_table(self.random_state(rng), hot, seed, stop, share)
        else:
            best, hot = given.copy(), hot / COOLER ** rng.random()
        warm = hot / 3
        found: Found = []
        if self.tables.clashes(best) or not np.isfinite(annealer.judge(best)):
            found = self._sound(rng, annealer.judge, stop, MENDS, best)
            if not found and not known:
                return []
            best = (found[0][1] if found else known[int(rng.integers(len(known)))]).copy()
            if given is None:
                warm = hot  # little is left of what the table found
        state, total = best.copy(), max(steps, 1)
        for done in range(0, total, CHUNK):
            if stop():
                break
            high, low = (warm * 0.01 ** (k / total) for k in (done, min(done + CHUNK, total)))
            costs, freedom = self.starter.costs, self.starter.freedom
            cost = annealer(costs, freedom, state, Cooling(CHUNK, high, low), seed, best)
            found += self._tell([(cost, best.copy())])
        return found

    def _on_table(self, state: Ints, hot: float, seed: Seeds, stop: Stop, share: float) -> Ints:
        best = state.copy()
        steps = int(TABLE_STEPS * share * self.size())
        parts = max(8, steps // PART)
        for part in range(parts):
            if stop() and part:
                break
            high, low = (hot * 0.003 ** (k / parts) for k in (part, part + 1))
            start = best if part else state
            cooling = Cooling(steps // parts, high, low)
            anneal(self.starter.costs, self.starter.freedom, start.copy(), cooling, seed, best)
        return best

    def random_state(self, rng: np.random.Generator) -> Ints:
        """Random spots, or the base where only some stations may leave it."""
        first, base = self.tables.first, self.restriction.base
        drawn = np.array([rng.integers(first[i], first[i + 1]) for i in range(self.tables.things)], np.int32)
        if self.restriction.moves >= self.tables.things:
            return drawn
        return np.where(base >= 0, base, drawn).astype(np.int32)

    def _temperature(self) -> float:
        """Metres a year that a station's share of the cost is worth, to start annealing at."""
        known = self.pool.best if np.isfinite(self.pool.best) else self.tables.clash / 64
        return max(known / max(self.tables.things, 1), 1e-3)
