"""Of layouts that cost the same, the tidier: what a person would rather look at and sweep."""

from __future__ import annotations

from itertools import combinations

from footwork.floor import shapes
from footwork.floor.overlap import distance
from footwork.floor.walls import wall_segments
from footwork.model.scenario import Scenario, Station
from footwork.scoring import Score

ALIKE = 1e-3
"""Relative difference in cost within which the tidier layout is preferred."""
FLUSH, SLIVER = 0.005, 0.30
"""Metres: gaps up to the first count as flush; from there to the second they are slivers,
too narrow to use."""


def slivers(scenario: Scenario, score: Score) -> float:
    """Metres of gap too narrow to use, between footprints and to walls, each counted by its lost width."""
    things = [t for t in scenario.things if isinstance(t, Station)]
    bodies = [shapes.pieces(t, score.placements[t.name]) for t in things]
    walls = [w.pieces for w in wall_segments(scenario.room)]
    gaps = [distance(a, b) for a, b in combinations(bodies, 2)]
    gaps += [distance(a, wall) for a in bodies for wall in walls]
    return sum(1.0 + gap for gap in gaps if FLUSH < gap < SLIVER)


def shown_first(scenario: Scenario, scores: list[Score]) -> list[Score]:
    """Best first; within ``ALIKE`` of the least cost by failed should-checks, then slivers, then cost."""
    least = min(score.cost for score in scores)
    alike = [s for s in scores if s.cost <= least * (1.0 + ALIKE)]
    rest = [s for s in scores if s.cost > least * (1.0 + ALIKE)]

    def untidy(score: Score) -> tuple[float, float, float]:
        wishes = sum(not c.ok for c in score.checks)
        return wishes, slivers(scenario, score), score.cost

    return sorted(alike, key=untidy) + sorted(rest, key=lambda s: s.cost)
