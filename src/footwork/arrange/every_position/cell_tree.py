"""The bound for every position: branch and bound on cells, which are cut smaller where they may matter.

A cell that no open node of the tree needs is in no layout that costs less than the best one known, and is
left out.  What is left is cut in half each way and given costs anew, which brings the bound nearer the truth.
Every stage's bound holds, and the best of them is kept.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from footwork.arrange.branch_and_bound.frontier import Node
from footwork.arrange.branch_and_bound.tree import Extras, Tree
from footwork.arrange.core.arrays import Bools, Ints
from footwork.arrange.core.pairwise import Restriction
from footwork.arrange.core.stop import Stop, Telling
from footwork.arrange.every_position.cell_packing import cell_cover
from footwork.arrange.every_position.cell_table import CellTable, CellVisits
from footwork.arrange.every_position.cells import Cells
from footwork.floor.scene import Obstacle
from footwork.floor.variants import variants
from footwork.model.scenario import Placement, Scenario

LEAST_CELL = 0.03
"""Metres: cells are not cut smaller."""


class CellTree(Tree):
    """A tree whose choices are cells: one cell a station is no layout, so nothing can be measured there.

    Such a node stays in the bound, with its own.
    """

    def __init__(
        self, table: CellTable, entries: int, upper: float, base: Ints | None, moves: int | None
    ) -> None:
        self.leaves: list[tuple[int, Ints]] = []
        visit_walks = CellVisits(table, entries)
        tables = table.cell_costs(visit_walks.chosen.replaced())
        visits = visit_walks.visits(tables, 0)
        places = np.concatenate([c.at for c in table.cells])
        restriction = None if base is None or moves is None else Restriction(base, moves)
        extras = Extras(visits=visits, staged=False)
        super().__init__(tables, upper, lambda _: math.inf, places, cell_cover(table), restriction, extras)

    @property
    def least(self) -> float:
        """Metres a year that no layout in these cells undercuts."""
        with self._lock:
            keys = [key for key, _ in self.leaves]
            return min(self._bound(), self._scaled.metres(min(keys)) if keys else math.inf)

    @property
    def settled(self) -> bool:
        """Whether more work cannot raise the bound: a node of one cell a station is the least of all."""
        with self._lock:
            return bool(self.leaves) and self._scaled.metres(min(k for k, _ in self.leaves)) <= self._bound()

    def _children(self, node: Node) -> list[Node]:
        if len(node.pick) == len(self._scaled.things):
            spots = node.parent.problem.origin[node.parent.spots[node.pick]]
            with self._lock:
                self.leaves.append((node.bound, self._scaled.order[spots]))
            return []
        return super()._children(node)

    def _leaf(self, spots: Ints) -> None:
        """Cells are no layout."""

    def living(self) -> Bools:
        """Which cells some open node still has: all others are in no layout below ``upper``."""
        found = np.zeros(self._tables.size, np.bool_)
        with self._lock:
            for node in self._open:
                found[self._scaled.order[node.parent.problem.origin[node.parent.spots[node.pick]]]] = True
            for _, spots in self.leaves:
                found[spots] = True
        return found


@dataclass
class Everywhere:
    """Works the bound for every position, stage by stage.

    ``cells`` by thing, ``building`` the obstacles of the building, ``base`` the placements of the base and
    ``moves`` how many things may leave theirs (None: all).  ``bound`` is valid at any time.
    """

    scenario: Scenario
    cells: tuple[Cells, ...]
    strict: bool
    building: tuple[Obstacle, ...]
    base: Mapping[str, Placement] | None
    moves: int | None
    budget: int
    entries: int
    bound: float = 0.0
    stages: int = 0
    count: int = 0

    def stage(
        self, upper: float, stop: Stop, workers: int, nodes: int | None, tell: Callable[[], None]
    ) -> bool:
        """Give the cells costs, work their tree, and keep those that may still matter; whether any are left.

        ``upper`` is what a known layout costs.
        """
        table = CellTable(self.scenario, self.cells, self.strict, self.building, self._square())
        tree = CellTree(table, self.entries, upper, self._base(table), self.moves)
        self.count = max(self.count, int(table.first[-1]))

        def take() -> None:
            self.bound = max(self.bound, min(tree.least, upper))

        def over() -> bool:
            take()
            return tree.nodes > 0 and (stop() or tree.settled)

        def told() -> None:
            take()
            tell()

        try:
            tree.run(Telling(over, told), workers, nodes)
        finally:
            take()
        self.stages += 1
        living = tree.living()
        self.cells = tuple(c.only(living[slice(*table.first[i : i + 2])]) for i, c in enumerate(self.cells))
        return bool(living.any())

    def cut(self) -> bool:
        """Cut the cells that are left smaller, within twice the budget; False when none can be."""
        before = sum(map(len, self.cells))
        self.cells = covering(self.scenario, self.cells, 2 * self.budget, None)
        return sum(map(len, self.cells)) > before

    def _square(self) -> float:
        """Side of the squares of ``every_position/difference_grid.py``: finer where the cells are."""
        longest = [2.0 * np.hypot(*c.half.reshape(-1, 2).T).max() for c in self.cells if c.half.any()]
        return float(np.clip(0.15 * np.median(longest), 0.02, 0.05)) if longest else 0.05

    def _base(self, table: CellTable) -> Ints | None:
        """The cell of each thing that is its placement in the base alone, -1 without one."""
        if self.base is None or self.moves is None:
            return None
        found = np.full(len(self.cells), -1, np.int32)
        for i, cells in enumerate(self.cells):
            here = self.base[cells.thing.name]
            still = cells.holds(here) & (np.abs(cells.half).sum(axis=(1, 2)) == 0.0) & (cells.turn == 0.0)
            if still.any():
                found[i] = table.first[i] + int(np.argmax(still))
        return found


def covering(
    scenario: Scenario, cells: Sequence[Cells], budget: int, keep: Callable[[Cells], Bools] | None
) -> tuple[Cells, ...]:
    """The same positions in smaller cells, at most ``budget`` of them.

    Halved again and again: the thing whose cells' size, times how often it is walked to, weighs most for the
    cells that halving them adds.  ``keep`` says which cells are possible at all.
    """
    visits = _visits(scenario)
    now = [c if keep is None else c.only(keep(c)) for c in cells]
    longest = [_longest(c) for c in now]
    halves: list[Cells | None] = [None] * len(now)
    while True:
        total, best, which = sum(map(len, now)), 0.0, -1
        for i, own in enumerate(now):
            if longest[i] < 2 * LEAST_CELL:
                continue
            half = halves[i]
            if half is None:
                half = own.split(longest[i] / 2)
                halves[i] = half = half if keep is None else half.only(keep(half))
            more = len(half) - len(own)
            worth = (1.0 + visits[own.thing.name]) * longest[i] / max(more, 1)
            if total + more <= budget and worth > best:
                best, which = worth, i
        chosen = halves[which] if which >= 0 else None
        if chosen is None:
            return tuple(now)
        now[which], halves[which] = chosen, None
        longest[which] = _longest(chosen)


def _longest(cells: Cells) -> float:
    """The longest side of any of the cells, metres."""
    return 2.0 * float(np.hypot(*cells.half.reshape(-1, 2).T).max(initial=0.0))


def _visits(scenario: Scenario) -> dict[str, float]:
    """Legs a year that begin or end at each thing; those of alike stations shared among them."""
    found: dict[str, float] = defaultdict(float)
    for job in scenario.jobs:
        for variant in variants(scenario, job):
            for leg in pairwise(variant.route):
                for visit in leg:
                    for name in visit.members:
                        found[name] += variant.share * job.times_per_year / len(visit.members)
    return found
