"""How sure a count is: the exact interval of a Poisson count.

F. Garwood, "Fiducial limits for the Poisson distribution", Biometrika 28 (1936), 437-442: the least mean
under which so many or more are seen as often as ``(1 - level) / 2``, and the greatest under which so many or
fewer are.  In the usual notation half the quantiles of chi-square with 2 n and 2 n + 2 degrees of freedom.
"""

from __future__ import annotations

import math
from collections.abc import Callable

ALMOST = 1e-15
"""Relative size of a term that no longer counts."""
HALVINGS = 200
"""At most: each takes a bit, and a float has 64."""


def interval(count: int, level: float = 0.95) -> tuple[float, float]:
    """Least and greatest mean that a count is likely from, at a level between 0 and 1."""
    tail = (1.0 - level) / 2.0
    spread = 12.0 * math.sqrt(count + 1.0) + 60.0
    low = 0.0 if count == 0 else _where(lambda mean: at_least(count, mean) - tail, 0.0, float(count))
    return low, _where(lambda mean: tail - (1.0 - at_least(count + 1, mean)), float(count), count + spread)


def at_least(count: int, mean: float) -> float:
    """The chance of ``count`` or more, ``count`` above 0: the regularised incomplete gamma function P(n, m).

    A sum of terms of one sign, from the greatest of them on whichever side has fewer, so that it is exact to
    rounding.
    """
    if mean <= 0.0:
        return 0.0
    first = math.exp(count * math.log(mean) - mean - math.lgamma(count + 1.0))
    if mean <= count:
        return min(1.0, first * _upwards(count, mean))
    below = first * count / mean  # of count - 1
    return max(0.0, 1.0 - below * _downwards(count - 1, mean))


def _upwards(count: int, mean: float) -> float:
    """Chances of count, count + 1, ... as parts of the first."""
    total = term = 1.0
    k = count
    while term > ALMOST * total:
        k += 1
        term *= mean / k
        total += term
    return total


def _downwards(count: int, mean: float) -> float:
    """Chances of count, count - 1, ..., 0 as parts of the first."""
    total = term = 1.0
    for k in range(count, 0, -1):
        term *= k / mean
        total += term
        if term <= ALMOST * total:
            break
    return total


def _where(rising: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function passes 0."""
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        if middle in (low, high):
            break
        if rising(middle) < 0.0:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0
