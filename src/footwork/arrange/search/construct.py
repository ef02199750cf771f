"""Sound layouts to begin with: completed without a clash, opened up where nobody could walk.

Measured beside annealing away from clashes and beside one CP-SAT model a room, see
``tests/benchmarks/first_layout.py``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints, Longs, Seeds
from footwork.arrange.core.pairwise import Restriction, Tables
from footwork.arrange.core.random import seeded
from footwork.arrange.core.stop import Stop
from footwork.arrange.search.guided_ejection import WAITS, crowding, guided_ejection
from footwork.arrange.search.neighbourhoods import Freedom, PairCosts, freedom, pair_costs
from footwork.arrange.true_cost.judge import Judge

EJECTIONS = 20_000
"""Things put down, at most, to complete one layout."""
OPENINGS = (4, 0, 0, 12, 0, 0, 60, 0, 0, 200)
"""How often a layout that cannot be walked is opened up before another is begun, in turn: in most rooms a new
one is the quicker way, in some there is none without."""
PLAIN = 8
"""New beginnings from nothing, before some begin with things on spots drawn at random."""
NEIGHBOURS = 4
"""Things near one that nobody can walk to, of which some are taken out with it."""


@dataclass
class Failures:
    """What kept layouts from being whole: evidence for ``nowhere``.

    ``partial`` is the fullest layout met, spots by thing, ``WAITS`` for those without; ``waited`` and
    ``cut_off`` count how often each thing found no spot, or could not be walked to; ``tried`` is how many
    layouts were begun.
    """

    waited: Longs
    cut_off: Longs
    partial: Ints | None = None
    tried: int = 0

    @classmethod
    def none(cls, things: int) -> Failures:
        return cls(np.zeros(things, np.int64), np.zeros(things, np.int64))

    def add(self, other: Failures) -> None:
        """Take in what another thread has met."""
        self.waited += other.waited
        self.cut_off += other.cut_off
        self.tried += other.tried
        if other.partial is not None:
            self.keep(other.partial)

    def keep(self, state: Ints) -> None:
        """Keep a layout with things without spots if it is the fullest so far."""
        if self.partial is None or (state < 0).sum() < (self.partial < 0).sum():
            self.partial = state.copy()


@dataclass(frozen=True)
class Starter:
    """Completes layouts of one problem."""

    tables: Tables
    places: Floats
    restriction: Restriction
    crowds: Floats = field(init=False)
    costs: PairCosts = field(init=False)
    freedom: Freedom = field(init=False)

    def __post_init__(self) -> None:
        tables = self.tables
        object.__setattr__(self, "crowds", crowding(tables.pair, tables.clash, tables.first))
        object.__setattr__(self, "costs", pair_costs(tables, self.places))
        object.__setattr__(self, "freedom", freedom(tables, self.restriction))

    def empty(self) -> Ints:
        """No spots yet, or the base where only some things may leave it."""
        free = self.restriction.moves >= self.tables.things
        return np.where(free, WAITS, self.restriction.base).astype(np.int32)

    def sound(
        self,
        judge: Judge,
        rng: np.random.Generator,
        stop: Stop,
        tries: int,
        failures: Failures,
        state: Ints | None = None,
    ) -> tuple[float, Ints] | None:
        """A layout that everybody can walk, with its true cost; None after so many tries or when stopped.

        ``state``: spots to keep where that can be, ``WAITS`` for things without.
        """
        seed = seeded(rng)
        weight = np.ones(self.tables.things)
        state = self.empty() if state is None else state.copy()
        opened, begun = 0, 0
        kept: tuple[int, Longs, Ints] | None = None
        # The most open state since the last new beginning: tasks without a walk, whom they shut out, spots.
        for number in range(tries):
            if number and stop():
                break
            failures.tried += 1
            whole = self._complete(state, weight, seed, failures)
            if whole:
                cost = judge(state)
                if math.isfinite(cost):
                    return cost, state
                shut, cut = judge.shut(), judge.cut_off()
                failures.cut_off += cut > 0
                if kept is None or shut <= kept[0]:
                    kept = shut, cut, state.copy()
                if opened < OPENINGS[begun % len(OPENINGS)]:
                    opened += 1
                    state[:] = kept[2]
                    self._open_up(state, kept[1], weight, rng)
                    continue
            state, opened, begun, kept = self.empty(), 0, begun + 1, None
            weight[:] = 1.0
            if begun > PLAIN:
                self._begin_elsewhere(state, rng)
        return None

    def _begin_elsewhere(self, state: Ints, rng: np.random.Generator) -> None:
        """Put some things on any of their spots: completing from nothing comes to much the same each time."""
        free = np.flatnonzero(state < 0)
        some = rng.choice(free, int(rng.integers(1, len(free) + 1)), replace=False) if len(free) else free
        for i in some:
            state[i] = rng.integers(self.tables.first[i], self.tables.first[i + 1])

    def _complete(self, state: Ints, weight: Floats, seed: Seeds, failures: Failures) -> bool:
        tables = self.tables
        for i, j in tables.clashes(np.where(state < 0, 0, state)):
            if state[i] >= 0 and state[j] >= 0:
                state[j] = WAITS
        left = guided_ejection(self.costs, self.crowds, self.freedom, state, weight, EJECTIONS, seed)
        if left:
            failures.waited += state < 0
            failures.keep(state)
        return left == 0

    def _open_up(self, state: Ints, cut: Longs, weight: Floats, rng: np.random.Generator) -> None:
        """Take out a thing that cannot be walked to, and some of those nearest to it."""
        blamed = np.flatnonzero(cut)
        if len(blamed) == 0:
            state[int(rng.integers(len(state)))] = WAITS
            return
        i = int(rng.choice(blamed, p=cut[blamed] / cut.sum()))
        away = np.hypot(*(self.places[state] - self.places[state[i]]).T)
        near = np.argsort(away, kind="stable")[1 : 1 + NEIGHBOURS]
        weight[i] += 1.0
        state[i] = WAITS
        state[rng.choice(near, min(len(near), int(rng.integers(1, 4))), replace=False)] = WAITS
