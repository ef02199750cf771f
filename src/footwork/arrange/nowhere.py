"""Why there is no layout, in one line that names the station and the check."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from footwork import checks
from footwork.arrange.spots import SpotList
from footwork.arrange.tables import Longs
from footwork.checks.ground import Ground, Placed
from footwork.model.errors import NoLayoutError
from footwork.model.scenario import Scenario

SAMPLE = 400
"""Pairs of spots that are looked at to say which check keeps two things apart."""


def why_none(scenario: Scenario, lists: Sequence[SpotList], left: Longs, strict: bool) -> str:
    """One line on a search that found nothing.

    ``left[i, j]`` says how often things i and j (i < j) could not be brought apart.
    """
    if not left.any():
        return (
            "no layout that passes every must-check was found: stations find spots, but some job cannot be "
            "walked, or a check of the whole layout fails; allow more time, or leave something out"
        )
    i, j = np.unravel_index(int(np.argmax(left)), left.shape)
    narrow = min((lists[int(i)], lists[int(j)]), key=lambda spots: len(spots.placements))
    # The two that were last in each other's way may only have been pushed together: the thing that leaves
    # it the fewest spots is the one to name.
    ground = Ground(scenario)
    sampled = [
        (spots, _sampled_faults(ground, narrow, spots, strict)) for spots in lists if spots is not narrow
    ]
    other, faults = max(sampled, key=lambda pair: pair[1].total())
    check, count = faults.most_common(1)[0] if faults else ("reachable", SAMPLE)
    return (
        f"no layout that passes every must-check was found: {narrow.thing.name} "
        f"({len(narrow.placements)} spots) finds none beside {other.thing.name} and the others; "
        f"of {SAMPLE} ways to place these two, {count} fail {check}"
    )


def _sampled_faults(ground: Ground, one: SpotList, two: SpotList, strict: bool) -> Counter[str]:
    """How often each check is the first to refuse two things, over a fixed sample of their spots."""
    rng = np.random.default_rng(0)
    found: Counter[str] = Counter()
    for _ in range(SAMPLE):
        a, b = (Placed(s.thing, s.placements[int(rng.integers(len(s.placements)))]) for s in (one, two))
        fault = next(checks.faults_pair(ground, a, b, strict), None)
        if fault:
            found[fault[0]] += 1
    return found


def every_station_has_one(lists: Sequence[SpotList]) -> None:
    """Raises NoLayoutError, with the check that refuses most, when a station has no spot at all."""
    for spots in lists:
        if not spots.placements:
            raise NoLayoutError(f"{spots.thing.name} finds no spot: {spots.why()}")


def kept_stand_together(scenario: Scenario, lists: Sequence[SpotList], strict: bool) -> None:
    """Raises NoLayoutError naming kept or fixed stations that clash where they are, and the check."""
    ground = Ground(scenario)
    held = [Placed(s.thing, s.placements[0]) for s in lists if len(s.placements) == 1 and s.tried == 1]
    for k, one in enumerate(held):
        fault = next(checks.faults_alone(ground, one, strict), None)
        if fault:
            raise NoLayoutError(f"{one.name} cannot stay where it is: it fails {fault[0]} ({fault[1].other})")
        for other in held[:k]:
            fault = next(checks.faults_pair(ground, one, other, strict), None)
            if fault:
                raise NoLayoutError(
                    f"{other.name} and {one.name} cannot both stay where they are: they fail {fault[0]}"
                )
