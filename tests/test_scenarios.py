"""The examples: each can be read, stands as it says, and leaves something to gain."""

from __future__ import annotations

from pathlib import Path

import pytest

import footwork

EXAMPLES = sorted((Path(__file__).parent.parent / "scenarios").glob("*.toml"))


@pytest.fixture(params=EXAMPLES, ids=lambda path: path.stem)
def path(request: pytest.FixtureRequest) -> Path:
    """Each example in turn."""
    return request.param


def test_there_are_examples_for_three_trades_and_for_all_under_one_roof() -> None:
    assert {"gate-shed", "cabinet-garage", "frame-nook", "makerspace"} <= {path.stem for path in EXAMPLES}


def test_the_makerspace_is_large() -> None:
    """An L-shaped room for a wheelchair with two doors, a yard, and more than the other examples together."""
    scenario = footwork.load(next(path for path in EXAMPLES if path.stem == "makerspace"))
    assert len(scenario.room.outline) == 6
    assert scenario.walker.profile == "wheelchair"
    assert len(scenario.room.doors) >= 2
    assert scenario.room.yards
    assert len(scenario.stations) >= 30
    assert len(scenario.jobs) >= 12


def test_today_passes_every_must_check(path: Path) -> None:
    score = footwork.score(footwork.load(path), "today")
    failed = [c.message for c in score.checks if c.severity == "must" and not c.ok]
    assert score.ok, failed
    assert not failed


def test_today_places_everything_and_is_the_first_layout(path: Path) -> None:
    scenario = footwork.load(path)
    today = scenario.layouts[0]
    assert today.name == "today"
    assert set(today.placements) >= {thing.name for thing in scenario.things}


def test_every_station_but_the_compressor_is_used_by_a_job(path: Path) -> None:
    """A station that no job visits tells the reader nothing; the compressor shows how a wish places one."""
    scenario = footwork.load(path)
    visited = {name for job in scenario.jobs for visit in job.route for name in visit.members}
    idle = {station.name for station in scenario.stations} - visited
    assert idle <= {"compressor"}


SMALL = [path for path in EXAMPLES if path.stem != "makerspace"]


@pytest.mark.parametrize("path", SMALL, ids=lambda path: path.stem)
def test_today_leaves_something_to_gain(path: Path) -> None:
    """A short search on coarse spots finds at least a tenth; it counts moves: slow machines find it too."""
    scenario = footwork.load(path)
    suggestion = footwork.suggest(scenario, "today", iterations=4000, pitch=0.5, seed=1)
    best = suggestion.layouts[0]
    today = footwork.score(scenario, "today")
    assert best.ok
    assert best.cost < 0.9 * today.cost


def test_the_makerspace_holds_a_layout_that_was_found() -> None:
    """The file has what a minute's search gained."""
    scenario = footwork.load(next(path for path in EXAMPLES if path.stem == "makerspace"))
    today, found = (footwork.score(scenario, name) for name in ("today", "found"))
    assert found.ok
    assert found.cost < 0.7 * today.cost
