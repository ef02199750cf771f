"""A population of assignments that breed: tabu search from crossings of good ones.

A child keeps what its two parents agree on and takes the place of one or the other elsewhere, then
goes through tabu search (``assignment/tabu.py``) and joins the population when it is good enough: P. Merz and
B. Freisleben, "Fitness landscape analysis and memetic algorithms for the quadratic assignment
problem", IEEE Transactions on Evolutionary Computation 4 (2000), 337-352; U. Benlic and J.-K. Hao,
"Memetic search for the quadratic assignment problem", Expert Systems with Applications 42 (2015),
584-595.  When nothing better has come for a while, all but the best are shaken.

Children come in waves of a fixed number.  What a wave does depends on the seed and on the waves before
it, never on how many threads work: the same seed gives the same assignments.
"""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from footwork.arrange.assignment.problem import Problem
from footwork.arrange.assignment.tabu import Matrices, matrices_of, robust_tabu
from footwork.arrange.core.arrays import Ints
from footwork.arrange.core.random import seeded
from footwork.arrange.core.stop import Stop

WAVE = 4
"""Children in a wave."""
MOST = 10
"""Assignments in the population; 5 were worse on structured problems of 80 things and more."""
STEPS_A_THING = 60
"""Steps of tabu search for a child, by the number of places; 200 and 1000 were worse beyond 50 things."""
WORK = 200_000_000
"""Things x places x steps that one child may take: some tenths of a second."""
PATIENCE = 5
"""Children by the number of places, without a better one, after which the population is shaken."""


def prepared(problem: Problem) -> tuple[Matrices, float]:
    """The problem as ``robust_tabu`` takes it, and what a forbidden place costs: more than all the rest."""
    n = problem.things
    worst = float(problem.flow.sum()) * float(problem.distance.max(initial=0.0))
    worst += n * float(problem.linear.max(initial=0.0))
    penalty = float(2.0 ** np.ceil(np.log2(max(worst, 1.0)) + 1))
    linear = np.where(problem.allowed, problem.linear, penalty)
    flow, distance = problem.flow, problem.distance
    if not problem.two:  # One of them is symmetric, so the mean of the other's two directions will do.
        flow, distance = (flow + flow.T) / 2, (distance + distance.T) / 2
    return matrices_of(flow, distance, linear, problem.two), penalty


class Population:
    """The assignments at hand, cheapest first, and the search that breeds them."""

    def __init__(self, problem: Problem, start: Ints, seed: int, processes: int) -> None:
        """``start`` (things,) is an assignment on allowed places."""
        self._problem = problem
        self._matrices, _ = prepared(problem)
        self._seed, self._processes = seed, processes
        idle = np.setdiff1d(np.arange(problem.places, dtype=np.int32), start)
        self._first = np.concatenate((start, idle)).astype(np.int32)
        self.best = problem.cost(start)
        self.choice: Ints = start.copy()
        self._members: list[tuple[float, Ints]] = []
        self._shaken: list[Ints] = []
        self._children = 0
        self._fruitless = 0
        self._shakes = 0
        size = problem.things * problem.places
        self._whole = max(50, min(STEPS_A_THING * problem.places, WORK // size))

    def wave(self, steps: int | None = None) -> int:
        """Breed one wave, ``steps`` (at most the usual number) of tabu search each; returns steps made."""
        each = self._whole if steps is None else min(steps, self._whole)
        numbers = range(self._children, self._children + WAVE)
        starts = [self._start(k) for k in numbers]
        self._children += WAVE
        with ThreadPoolExecutor(self._processes) as threads:
            for found in list(threads.map(lambda k, s: self._climb(k, s, each), numbers, starts)):
                self._join(found)
        if self._fruitless > PATIENCE * self._problem.places:
            self._shake()
        return WAVE * each

    def run(self, stop: Stop) -> None:
        """Wave after wave until ``stop()``, one at least."""
        self.wave()
        while not stop():
            self.wave()

    def take(self, choice: Ints) -> None:
        """Let in an assignment found elsewhere."""
        idle = np.setdiff1d(np.arange(self._problem.places, dtype=np.int32), choice)
        self._join(np.concatenate((choice, idle)).astype(np.int32))

    def _start(self, number: int) -> Ints:
        """What child ``number`` starts from: the given one, random ones, shaken ones, then crossings."""
        rng = np.random.default_rng([self._seed, number])
        if number == 0:
            return self._first.copy()
        if self._shaken:
            return self._shaken.pop()
        if len(self._members) < MOST:
            return rng.permutation(self._problem.places).astype(np.int32)
        pairs = np.sort(rng.integers(len(self._members), size=(2, 2)), axis=1)
        one, other = int(pairs[0, 0]), int(pairs[1, 0])
        if one == other:
            other = (one + 1 + int(rng.integers(len(self._members) - 1))) % len(self._members)
        return self._cross(rng, self._members[one][1], self._members[other][1])

    @staticmethod
    def _cross(rng: np.random.Generator, one: Ints, other: Ints) -> Ints:
        """A child of two: what they agree on, one or the other elsewhere, what is left at random."""
        child = np.where(one == other, one, -1).astype(np.int32)
        free = np.ones(len(one), np.bool_)
        free[child[child >= 0]] = False
        for i in rng.permutation(np.flatnonzero(child < 0)).tolist():
            mine, yours = (one[i], other[i]) if rng.random() < 0.5 else (other[i], one[i])
            if free[mine] or free[yours]:
                child[i] = mine if free[mine] else yours
                free[child[i]] = False
        child[child < 0] = rng.permutation(np.flatnonzero(free))
        return child

    def _climb(self, number: int, state: Ints, steps: int) -> Ints:
        """The best that tabu search finds from ``state``; runs in any thread."""
        rng = np.random.default_rng([self._seed, number, 1])
        seed = seeded(rng)
        best = state.copy()
        robust_tabu(self._matrices, state, steps, seed, best)
        return best

    def _join(self, found: Ints) -> None:
        things = self._problem.things
        cost = self._problem.cost(found[:things])
        if cost < self.best:
            self.best, self.choice = cost, found[:things].copy()
            self._fruitless = 0
        else:
            self._fruitless += 1
        if math.isinf(cost) or any((m[:things] == found[:things]).all() for _, m in self._members):
            return
        self._members.append((cost, found))
        self._members.sort(key=lambda member: member[0])
        del self._members[MOST:]

    def _shake(self) -> None:
        """Keep the best and shuffle a part of each other, a greater part each time it is of no use."""
        self._fruitless = 0
        self._shakes += 1
        rng = np.random.default_rng([self._seed, self._children, 2])
        part = min(1.0, 0.2 + 0.1 * self._shakes)
        for _, member in self._members[1:]:
            picked = rng.permutation(len(member))[: max(2, round(part * len(member)))]
            shaken = member.copy()
            shaken[picked] = member[rng.permutation(picked)]
            self._shaken.append(shaken)
        del self._members[1:]
