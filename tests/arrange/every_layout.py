"""Every sound layout of a small scenario, for suggestions to be measured by."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import numpy as np

from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.spots.enumerate import SpotList, find_spots
from footwork.arrange.true_cost.judge import Judge
from footwork.checks import faults_pair
from footwork.checks.ground import Ground, Placed
from footwork.floor.plan import Plan
from footwork.model.scenario import Layout, Scenario
from footwork.scoring import Score, score


def every_score(scenario: Scenario, pitch: float = 0.25, base: Layout | None = None) -> list[Score]:
    """Every layout on the spots that passes its must-checks, scored in full, cheapest first."""
    layouts = _together(scenario, find_spots(scenario, pitch, 4, base))
    scores = (score(scenario, layout) for layout in layouts)
    return sorted((s for s in scores if s.ok), key=lambda s: s.cost)


def least_cost(scenario: Scenario) -> float:
    """Cost of the first of ``every_score``, sooner: only the cheapest are scored in full."""
    lists = find_spots(scenario, 0.25, 4, None)
    layouts = list(_together(scenario, lists))
    table = PairTable(scenario, lists, False, Plan(scenario, layouts[0]).building)
    judge = Judge(table)

    def cost(layout: Layout) -> float:
        spots = [s.placements.index(layout.placements[s.thing.name]) for s in lists]
        return judge(np.array(spots, np.int32) + table.first[:-1])

    least = np.inf
    for counted, layout in sorted(((cost(layout), layout) for layout in layouts), key=lambda c: c[0]):
        if counted >= least:  # what the search does not count only adds to it
            break
        found = score(scenario, layout)
        least = min(least, found.cost if found.ok else np.inf)
    return float(least)


def _together(scenario: Scenario, lists: Sequence[SpotList]) -> Iterator[Layout]:
    """Every layout in which no two things fail a must-check beside each other."""
    ground = Ground(scenario)
    layouts: list[tuple[Placed, ...]] = [()]
    for spots in lists:
        placed = [Placed(spots.thing, placement) for placement in spots.placements]
        layouts = [
            (*some, one) for some, one in itertools.product(layouts, placed) if _fits(ground, some, one)
        ]
    for some in layouts:
        yield Layout("any", {p.name: p.placement for p in some})


def _fits(ground: Ground, some: Sequence[Placed], one: Placed) -> bool:
    return all(next(faults_pair(ground, other, one), None) is None for other in some)


def wishes_failed(found: Score) -> int:
    """How many should-checks a layout fails."""
    return sum(not check.ok and check.severity == "should" for check in found.checks)
