"""Twenty sheds: what is suggested for them keeps what a person would ask for without saying it.

The rules stand beside the sheds, in words and measured by code of their own (``sheds/rules.py``).
``python tests/sheds/look.py FOLDER`` searches longer and draws each before and after.
"""

from __future__ import annotations

from pathlib import Path

import pytest

import footwork
from footwork.arrange.core.progress import Progress
from footwork.model.scenario import Scenario
from sheds.measures import Shed
from sheds.rules import OF_ONE, rules

SHEDS = sorted((Path(__file__).parent / "sheds").glob("*.toml"))
ITERATIONS = 8000
"""So many, not seconds: the same layouts on every machine.  A search of 20 s makes more."""


def pitch(scenario: Scenario) -> float:
    """Coarse in large sheds: the rules have to hold for a short search.  A hut is a matter of inches."""
    area = Shed(scenario, {}).room.area
    return 0.15 if area < 15.0 else 0.25 if area < 28.0 else 0.4 if area < 45.0 else 0.5


def suggested(scenario: Scenario) -> footwork.Score:
    """What the search has found when the bound would begin, which says nothing about the layout."""

    def stop(state: Progress) -> None:
        if state.phase == "bound":
            raise KeyboardInterrupt

    found = footwork.suggest(
        scenario, "today", iterations=ITERATIONS, pitch=pitch(scenario), processes=1, progress=stop
    )
    return found.best


def test_there_are_twenty_and_each_has_its_rules() -> None:
    assert len(SHEDS) == 20
    assert {path.stem for path in SHEDS} == set(OF_ONE)


@pytest.mark.parametrize("path", SHEDS, ids=lambda path: path.stem)
def test_each_can_be_read_and_today_places_everything(path: Path) -> None:
    scenario = footwork.load(path)
    assert 7 <= len(scenario.stations) <= 16
    assert scenario.layouts[0].placements.keys() == {thing.name for thing in scenario.things}


@pytest.mark.parametrize("path", SHEDS, ids=lambda path: path.stem)
def test_what_is_suggested_keeps_the_rules_of_the_shed(path: Path) -> None:
    scenario = footwork.load(path)
    assert scenario.layouts[0].name == "today"
    stated = rules(path.stem)
    assert len(stated) >= 5
    best = suggested(scenario)
    shed = Shed(scenario, best.placements)
    broken = {rule.words: wrong for rule in stated if (wrong := rule.broken(shed))}
    assert best.ok
    assert not broken


def test_the_sheds_of_today_break_some_rules() -> None:
    """Rules that nothing breaks would say nothing."""
    broken = 0
    for path in SHEDS:
        scenario = footwork.load(path)
        shed = Shed(scenario, scenario.layouts[0].placements)
        broken += any(rule.broken(shed) for rule in rules(path.stem))
    assert broken >= len(SHEDS) // 2
