"""The work of walking with a load, against the equation as published.

Pandolf, K. B., Givoni, B. and Goldman, R. F. (1977), "Predicting energy expenditure with loads while standing
or walking very slowly", Journal of Applied Physiology 43(4), 577-581: M = 1.5 W + 2.0 (W + L)(L / W)^2 +
eta (W + L)(1.5 V^2 + 0.35 V G), with eta 1 on a hard floor and G 0 on the level.  The values are worked out
here from that, by hand: the equation from memory.
"""

from __future__ import annotations

import pytest

from footwork.floor.effort import carrying, watts


@pytest.mark.parametrize(
    ("load", "speed", "power"),
    [(0.0, 1.4, 355.20), (20.0, 1.4, 426.50), (0.0, 0.0, 120.0), (40.0, 1.4, 532.80)],
)
def test_power_of_walking(load: float, speed: float, power: float) -> None:
    assert watts(load, speed) == pytest.approx(power, abs=0.005)


def test_a_metre_with_twenty_kilograms_counts_a_fifth_more() -> None:
    assert carrying(20.0, 1.4) == pytest.approx(426.50 / 355.20)
