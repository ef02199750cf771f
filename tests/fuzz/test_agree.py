"""A sample of ``agree.py``: figures against the judge, the bound against every layout."""

from __future__ import annotations

import pytest

from . import agree


@pytest.mark.parametrize("seed", range(10_000, 10_012))
def test_figures_are_those_of_the_judge(seed: int) -> None:
    assert agree.scored(seed) == []


@pytest.mark.parametrize("seed", range(10_000, 10_004))
def test_the_bound_holds_for_every_layout(seed: int) -> None:
    assert agree.bounded(seed) == []
