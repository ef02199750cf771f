"""Every sound layout of a small scenario, for suggestions to be measured by."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from footwork.arrange.spots import find_spots
from footwork.checks import faults_pair
from footwork.checks.ground import Ground, Placed
from footwork.model.scenario import Layout, Scenario
from footwork.scoring import Score, score


def every_score(scenario: Scenario, pitch: float = 0.25, base: Layout | None = None) -> list[Score]:
    """Every layout on the spots that passes its must-checks, scored in full, cheapest first."""
    ground = Ground(scenario)
    lists = find_spots(scenario, pitch, 4, base)
    layouts: list[tuple[Placed, ...]] = [()]
    for spots in lists:
        placed = [Placed(spots.thing, placement) for placement in spots.placements]
        layouts = [
            (*some, one) for some, one in itertools.product(layouts, placed) if _fits(ground, some, one)
        ]
    scores = (score(scenario, Layout("any", {p.name: p.placement for p in some})) for some in layouts)
    return sorted((s for s in scores if s.ok), key=lambda s: s.cost)


def _fits(ground: Ground, some: Sequence[Placed], one: Placed) -> bool:
    return all(next(faults_pair(ground, other, one), None) is None for other in some)


def wishes_failed(found: Score) -> int:
    """How many should-checks a layout fails."""
    return sum(not check.ok and check.severity == "should" for check in found.checks)
