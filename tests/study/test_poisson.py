"""Exact intervals of counts, against the published ones and against scipy."""

from __future__ import annotations

import pytest
from scipy.stats import chi2

from footwork.study.poisson import at_least, interval

GARWOOD = {
    # 95 % limits as printed in tables of Poisson means after Garwood, Biometrika 28 (1936), to their three
    # decimals; written here from memory and agreeing with scipy below.
    0: (0.0, 3.689),
    1: (0.025, 5.572),
    2: (0.242, 7.225),
    5: (1.623, 11.668),
    10: (4.795, 18.390),
    20: (12.217, 30.888),
    50: (37.111, 65.919),
}


@pytest.mark.parametrize("count", GARWOOD)
def test_as_published(count: int) -> None:
    assert interval(count) == pytest.approx(GARWOOD[count], abs=6e-4)


@pytest.mark.parametrize("level", [0.8, 0.95, 0.999])
@pytest.mark.parametrize("count", [0, 1, 3, 17, 400, 12_345, 100_000])
def test_as_the_quantiles_of_chi_square(count: int, level: float) -> None:
    tail = (1 - level) / 2
    low = chi2.ppf(tail, 2 * count) / 2 if count else 0.0
    high = chi2.ppf(1 - tail, 2 * count + 2) / 2
    assert interval(count, level) == pytest.approx((low, high), rel=1e-9, abs=1e-12)


def test_chances_of_so_many_or_more() -> None:
    # with a mean of 2: 1 - e^-2 of one or more, 1 - 3 e^-2 of two or more
    assert at_least(1, 2.0) == pytest.approx(0.8646647167633873, rel=1e-14)
    assert at_least(2, 2.0) == pytest.approx(0.5939941502901616, rel=1e-14)
    assert at_least(3, 0.0) == 0.0
