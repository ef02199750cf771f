"""``assign``: things to places at the least sum of flow times distance, and how good the answer is.

The quadratic assignment problem: T. Koopmans and M. Beckmann, "Assignment problems and the location of
economic activities", Econometrica 25 (1957), 53-76.  The search is ``assignment/memetic.py``; the bound is
that of ``suggest``, with a place as the one point of floor that its spots share, on prices that
``assignment/hahn_grant.py`` has raised.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterator, Mapping
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from footwork.arrange.assignment.gilmore_lawler import gilmore_lawler
from footwork.arrange.assignment.hahn_grant import raised_tables
from footwork.arrange.assignment.memetic import WAVE, Population
from footwork.arrange.assignment.problem import Assignment, Problem, problem_of, some_assignment
from footwork.arrange.branch_and_bound.tree import Tree
from footwork.arrange.core.arrays import Floats, Ints
from footwork.arrange.core.packing import Packing
from footwork.arrange.core.progress import Observer, Report
from footwork.arrange.core.slack import NEXT_GRAIN, UNDER_GRAIN
from footwork.arrange.core.stop import After, Any, Stop, Switch, Telling

TREE_SPOTS = 5000
"""Things x places beyond which the tree is left out: its matrices would take more than 300 MB."""
SEARCH_TURN, BOUND_TURN = 0.4, 0.2
"""Parts of the time left that search and bound get in turn."""
RAISED_SPOTS = 2500
"""Things x places up to which the tree's prices are raised first, which takes 8 bytes a pair of spots."""
SMALL, SMALL_TURN = 200, 2.0
"""Spots up to which the bound may well finish at once, and gets a turn of so many seconds after one wave."""
NODE_WORK = 40_000_000
"""Pairs of spots by nodes of the tree when iterations, not seconds, limit the work."""


def assign(
    flow: npt.ArrayLike,
    distance: npt.ArrayLike,
    linear: npt.ArrayLike | None = None,
    *,
    fixed: Mapping[int, int] | None = None,
    forbidden: npt.ArrayLike | None = None,
    seconds: float = 10.0,
    iterations: int | None = None,
    target: float | None = None,
    seed: int = 1,
    processes: int | None = None,
    progress: Observer | None = None,
) -> Assignment:
    """Assign n things to m >= n places, one a place, at the least cost, with a bound on what any could cost.

    flow        (n, n): ``flow[i, j]`` goes from thing i to thing j; on the diagonal, to itself
    distance    (m, m): ``distance[a, b]`` from place a to place b; neither matrix need be symmetric
    linear      (n, m): what thing i costs at place a besides; nothing by default
    fixed       thing -> place for things that have their place, both counted from 0
    forbidden   (n, m) of bool: places that a thing may not take
    seconds     time for all of it, compiling on first use left out; ``iterations`` (exchanges of two things
                made by the search) instead makes the answer depend on ``seed`` alone
    target      stop as soon as an assignment costs no more than this
    processes   threads, by default one a core
    progress    called with a ``Progress`` now and then; only watches

    The cost is the sum of ``flow[i, j] * distance[p[i], p[j]]`` over all i and j, both directions counted,
    and of ``linear[i, p[i]]``; all figures are 0 or more, in whatever units make that sum one.  The bound
    holds whenever the work is stopped.  Ctrl-C (KeyboardInterrupt) ends it with the best so far.

    Raises UsageError, a line for each thing wrong, for matrices of the wrong shape or with entries that are
    negative or not finite, for more things than places, for seconds, iterations, seed or processes out of
    range; NoLayoutError, naming things, when fixed and forbidden leave too few places.
    """
    cores = (os.cpu_count() or 1) if processes is None else processes
    wrong = _wrong(seconds, iterations, target, seed, cores)
    problem = problem_of(flow, distance, linear, fixed, forbidden, wrong)
    start = some_assignment(problem.allowed)
    make_ready()
    run = _Run(problem, start, seconds, target, seed, cores, progress)
    try:
        run.work(iterations)
    except KeyboardInterrupt:
        run.switch.throw()
    run.tell("done")
    return run.result()


def _wrong(
    seconds: float, iterations: int | None, target: float | None, seed: int, processes: int
) -> list[str]:
    """What is wrong with the arguments that are no matrices."""
    wrong = []
    if not (seconds > 0 and math.isfinite(seconds)):
        wrong.append(f"seconds must be greater than 0, not {seconds:g}")
    if iterations is not None and iterations < 1:
        wrong.append(f"iterations must be at least 1, not {iterations}")
    if target is not None and math.isnan(target):
        wrong.append("target must be a number, not nan")
    if seed < 0:
        wrong.append(f"seed must be 0 or more, not {seed}")
    if processes < 1:
        wrong.append(f"processes must be at least 1, not {processes}")
    return wrong


@lru_cache(maxsize=1)
def make_ready() -> None:
    """Everything compiled, on small problems, before the clock starts."""
    for run in _practice():
        run.work(4)
    practise_tree()


def practise_tree() -> None:
    """The tree compiled, even where it would not be needed."""
    for run in _practice():
        if run._grow(run.switch):
            run._prove(run.switch, 1, 100)


def _practice() -> Iterator[_Run]:
    """Small problems with and without symmetry."""
    rng = np.random.default_rng(1)
    for symmetric in (True, False):
        flow, distance = rng.random((2, 4, 4))
        if symmetric:
            flow, distance = flow + flow.T, distance + distance.T
        problem = problem_of(flow, distance, None, None, None, [])
        yield _Run(problem, np.arange(4, dtype=np.int32), 1.0, None, 1, 1, None)


class _Run:
    """One call of ``assign``: what it works on, step by step."""

    def __init__(
        self,
        problem: Problem,
        start: Ints,
        seconds: float,
        target: float | None,
        seed: int,
        processes: int,
        progress: Observer | None,
    ) -> None:
        self.problem, self.seconds, self.seed, self.processes = problem, seconds, seed, processes
        self.target = -math.inf if target is None else target
        self.report = Report(progress)
        self.switch = Switch()
        self.population = Population(problem, start, seed, processes)
        self.least = 0.0
        self.tree: Tree | None = None
        # Where every cost is a multiple of the grain, one that is less is less by a grain.
        self.slack = UNDER_GRAIN * problem.grain
        self.place_of_spot = problem.place_of_spot()

    def work(self, iterations: int | None) -> None:
        if iterations is None:
            self._by_seconds()
        else:
            self._by_iterations(iterations)

    def _by_iterations(self, iterations: int) -> None:
        left = iterations
        while left > 0 and not self._enough():
            left -= self.population.wave(math.ceil(left / WAVE))
            self.tell("search")
        self.least = gilmore_lawler(self.problem)
        if not self._proven() and self._grow(self.switch):
            spots = len(self.place_of_spot)
            nodes = max(20, min(10_000, NODE_WORK // max(1, spots) ** 2))
            self._prove(self._enough, 1, nodes)

    def _by_seconds(self) -> None:
        whole = Any(After(self.seconds), self._enough)
        self.population.wave()
        self.least = gilmore_lawler(self.problem)
        turn: Stop = Any(After(SMALL_TURN), whole)
        if not self._proven() and len(self.place_of_spot) <= SMALL and self._grow(turn):
            self._prove(turn, self.processes, None)
        while not (whole() or self._proven()):
            turn = Any(After(max(0.1, self.left * SEARCH_TURN)), whole)
            self.population.run(Telling(turn, lambda: self.tell("search")))
            self.tell("search")
            turn = Any(After(max(0.1, self.left * BOUND_TURN)), whole)
            if not (whole() or self._proven()) and self._grow(turn):
                self._prove(Telling(turn, lambda: self.tell("bound")), self.processes, None)
                self.tell("bound")

    def _enough(self) -> bool:
        return self.switch() or self.population.best <= self.target

    def _proven(self) -> bool:
        return self.bound >= self.population.best

    def _grow(self, stop: Stop) -> bool:
        """Plant the tree, if it is not yet there; whether there is one that can go on.

        ``stop`` ends the rounds that raise the tree's prices.
        """
        if len(self.place_of_spot) > TREE_SPOTS:
            return False
        if self.tree is None:
            if self.problem.things > 1 and len(self.place_of_spot) <= RAISED_SPOTS:
                tables = raised_tables(self.problem, self.population.best, stop)
            else:
                tables = self.problem.tables()
            spots = np.arange(tables.size + 1, dtype=np.int32)
            cover = Packing(spots, self.place_of_spot, np.ones(self.problem.places, np.int64))
            where = _drawn(self.problem.distance)[self.place_of_spot]
            upper = self.population.best - self.slack
            self.tree = Tree(tables, upper, self._leaf, where, cover)
        return not self.tree.full

    def _leaf(self, spots: Ints) -> float:
        """Cost of a choice of the tree, which works with costs less by the slack."""
        return self.problem.cost(self.place_of_spot[spots]) - self.slack

    def _prove(self, stop: Stop, workers: int, nodes: int | None) -> None:
        """Work the tree, its root at least, and pass on what it finds."""
        tree = self.tree
        assert tree is not None
        tree.improve(self.population.best - self.slack)
        tree.run(lambda: tree.nodes > 0 and stop(), workers, nodes)
        if tree.best is not None:
            self.population.take(self.place_of_spot[tree.best])

    @property
    def left(self) -> float:
        return max(0.0, self.seconds - self.report.elapsed)

    @property
    def bound(self) -> float:
        """What no assignment costs less than, rounded up to the next cost that there can be."""
        best, grain = self.population.best, self.problem.grain
        least = self.least
        if self.tree is not None:
            # A tree that is done says that nothing costs less than its upper bound, the best less the slack.
            least = max(least, self.tree.bound)
        if grain > 0:
            least = grain * math.ceil(least / grain - NEXT_GRAIN)
        return max(0.0, min(least, best))

    def tell(self, phase: str) -> None:
        self.report.tell(phase, self.population.best, self.bound)

    def result(self) -> Assignment:
        places = tuple(int(place) for place in self.population.choice)
        return Assignment(places, self.population.best, self.bound, self.report.elapsed, self.seed)


def _drawn(distance: Floats) -> Floats:
    """Places as points of a plane whose distances are about these, shape (places, 2), by classical scaling.

    The tree splits places that are near one another off together.  W. Torgerson, "Multidimensional scaling",
    Psychometrika 17 (1952), 401-419.
    """
    square = ((distance + distance.T) / 2) ** 2
    inner = -0.5 * (square - square.mean(0) - square.mean(1)[:, None] + square.mean())
    values, vectors = np.linalg.eigh(inner)
    plane = np.zeros((len(distance), 2))
    for k in range(min(2, len(distance))):
        plane[:, k] = vectors[:, -1 - k] * math.sqrt(max(0.0, float(values[-1 - k])))
    return np.asarray(plane.round(9))
