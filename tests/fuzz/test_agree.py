"""A sample of ``agree.py``: figures against the judge, the bound against every layout and at every stop."""

from __future__ import annotations

import pytest

from . import agree


@pytest.mark.parametrize("seed", range(10_000, 10_010))
def test_figures_are_those_of_the_judge(seed: int) -> None:
    assert agree.scored(seed) == []


@pytest.mark.parametrize("seed", [10_001, 10_003, 10_004])
def test_the_bound_holds_for_every_layout(seed: int) -> None:
    assert agree.bounded(seed) == []


@pytest.mark.parametrize("seed", range(10_000, 10_020))
def test_a_bound_that_is_stopped_over_and_over_holds(seed: int) -> None:
    assert agree.stopped(seed) == []


def test_every_feature_is_drawn() -> None:
    """Nothing that the words name is left out, so that what agrees does so with everything in it."""
    rng = agree.np.random.default_rng(1)
    made: set[str] = set()
    for _ in range(60):
        file, features = agree.workshops.workshop_file(rng, (3, 7), 4)
        made |= features | agree.workshops.varied(rng, file)[1]
    assert made == {*agree.workshops.DRAWN, *agree.workshops.CHANGES}
