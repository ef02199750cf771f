"""What a layout costs beyond what tables and judge count: checks that hang on all that stands there."""

from __future__ import annotations

import math

from footwork.arrange.core.arrays import Ints
from footwork.arrange.pair_table.prices import Prices, beside
from footwork.model.scenario import Layout, Scenario
from footwork.scoring import price_at_least, price_if_sound


def beyond(
    scenario: Scenario, layout: Layout, prices: Prices, choice: Ints, strict: bool, limit: float
) -> float:
    """Metres a year of failed should-checks that ``prices`` lack; infinite where a must-check fails.

    Some of them where these are no less than ``limit``, from which on the layout is of no use.
    """
    if math.isfinite(limit):
        least = price_at_least(scenario, layout, limit, prices.apart(choice), strict)
        if least >= limit:
            return least
    return beside(price_if_sound(scenario, layout, strict), prices.of(choice))
