"""The quick price of a layout never exceeds the full one, and is refused only where that is refused."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

import footwork
from footwork.arrange.core.progress import Progress
from footwork.checks.run import OF_A_WHOLE
from footwork.checks.walking import EXIT_WAY, WAY_OUT
from footwork.model.scenario import Layout, Placement, Scenario
from footwork.scoring import price_at_least, price_if_sound

SHEDS = Path(__file__).parents[1] / "sheds"
NAMES = ("two-bay-woodwork", "fabricator", "single-garage", "narrow-woodwork", "farm-repair")


def stirred(scenario: Scenario, rng: np.random.Generator) -> Layout:
    """A layout of the file with a few things shifted by up to a quarter metre, or turned."""
    known = scenario.layouts[int(rng.integers(len(scenario.layouts)))]
    places = dict(known.placements)
    for name in rng.choice(sorted(places), int(rng.integers(1, 4)), replace=False):
        at = places[name]
        x, y = rng.uniform(-0.25, 0.25, 2)
        places[name] = Placement(at.x + x, at.y + y, at.facing + 90.0 * int(rng.integers(0, 2)))
    return Layout("stirred", places)


def found(scenario: Scenario) -> Layout:
    """What the search has when the bound would begin."""

    def stop(state: Progress) -> None:
        if state.phase == "bound":
            raise KeyboardInterrupt

    return footwork.suggest(scenario, iterations=200, pitch=0.5, processes=1, progress=stop).best.as_layout()


@pytest.mark.parametrize("name", NAMES)
def test_it_is_never_more(name: str) -> None:
    scenario = footwork.load(SHEDS / f"{name}.toml")
    rng = np.random.default_rng(7)
    told = 0
    # The layout of today breaks musts; one that passes them makes the finite cases.
    sound = [] if any(station.shield for station in scenario.stations) else [found(scenario)]
    for layout in (scenario.layouts[0], *sound, *(stirred(scenario, rng) for _ in range(12))):
        for strict in (False, True):
            least = price_at_least(scenario, layout, math.inf, 0.0, strict)
            whole = price_if_sound(scenario, layout, strict)
            assert least <= whole + 1e-6
            told += least > 0.0
            some = price_at_least(scenario, layout, 100.0, 0.0, strict)
            assert min(least, 100.0) <= some + 1e-6 <= least + 2e-6
    assert told


QUICK = {rule.id for rule in (EXIT_WAY, WAY_OUT, *OF_A_WHOLE)}


@pytest.mark.parametrize("name", NAMES)
def test_what_is_told_quickly_counts(name: str) -> None:
    scenario = footwork.load(SHEDS / f"{name}.toml")
    rng = np.random.default_rng(3)
    for layout in (scenario.layouts[0], *(stirred(scenario, rng) for _ in range(4))):
        failed = [r for r in footwork.score(scenario, layout).checks if r.id in QUICK and not r.ok]
        least = price_at_least(scenario, layout, math.inf, 0.0)
        if any(r.severity == "must" for r in failed):
            assert math.isinf(least)
        assert least >= sum(r.price for r in failed if r.id not in ("exit-way", "way-out")) - 1e-6
        if failed:
            assert math.isinf(price_at_least(scenario, layout, math.inf, 0.0, strict=True))
