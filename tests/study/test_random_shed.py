"""Workshops by chance: no fault in their files, and a sound layout in each."""

from __future__ import annotations

from pathlib import Path

import pytest

from cli.run import footwork
from footwork.model.errors import UsageError
from footwork.scoring import sound
from footwork.study.random_shed import random_shed


@pytest.mark.parametrize("flow", ["hub", "flat"])
@pytest.mark.parametrize(("stations", "islands"), [(2, 0.2), (5, 0.0), (9, 0.5), (14, 1.0), (40, 0.2)])
def test_its_layout_is_sound(stations: int, islands: float, flow: str) -> None:
    for seed in range(3):
        scenario = random_shed(stations, seed, islands=islands, flow=flow)  # type: ignore[arg-type]
        assert len(scenario.stations) == stations
        assert sound(scenario, scenario.layouts[0]), scenario.text


def test_the_same_seed_gives_the_same_and_another_another() -> None:
    assert random_shed(8, 3).text == random_shed(8, 3).text
    assert len({random_shed(8, seed).text for seed in range(5)}) == 5


def test_the_largest_there_may_be_passes_check(tmp_path: Path) -> None:
    path = tmp_path / "large.toml"
    path.write_text(random_shed(250, jobs=500).text)
    done = footwork("check", path)
    assert done.status == 0
    assert "250 stations" in done.out
    assert "500 jobs" in done.out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"stations": 1}, "from 2 to 250"),
        ({"stations": 251}, "from 2 to 250"),
        ({"stations": 5, "islands": 1.5}, "part from 0 to 1"),
        ({"stations": 5, "jobs": 0}, "from 1 to 500"),
    ],
)
def test_numbers_that_cannot_be_are_refused(arguments: dict[str, float], said: str) -> None:
    with pytest.raises(UsageError, match=said):
        random_shed(**arguments)  # type: ignore[arg-type]
