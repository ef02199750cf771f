"""Seasons of the year: how they are read, how often jobs are done in them, and who is in then."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from footwork.checks.ground import Ground
from footwork.checks.states import states_ever
from footwork.floor.plan import Plan
from footwork.floor.routes import vehicle_states
from footwork.model.errors import ScenarioError
from footwork.model.read import loads
from footwork.model.scenario import Scenario
from footwork.model.write import rewritten
from footwork.scoring import score

YEAR = '[seasons]\nwinter = "5 months"\nsummer = "7 months"\n'
FILE = """\
[seasons]
winter = "5 months"
summer = "7 months"

[room]
size = [5, 4]
doors = [
  { name = "gate", wall = "south", from = 0.4, width = 2.6, vehicle = true, swing = "out" },
  { name = "side", wall = "east", from = 2.6, width = 0.9, swing = "out" },
]

[stations]
bench = { size = [1.2, 0.6] }
logs = { size = [1.0, 0.5] }
feed = { size = [1.0, 0.5] }

[vehicles.quad]
size = [1.2, 1.9]
inside = { winter = 0.9 }

[jobs.split]
times = "3 per week"
season = "winter"
route = ["door:side", "logs", "bench", "door:side"]

[jobs.feeding]
times = "2 per day"
season = ["summer"]
route = ["door:gate", "feed", "door:gate"]

[jobs.mend]
times = "2 per week"
route = ["bench", "feed", "bench"]

[layouts.today]
bench = { at = [4.3, 1.0], facing = "west" }
logs = { at = [3.3, 3.7], facing = "south" }
feed = { at = [1.0, 3.7], facing = "south" }
quad = { at = [1.6, 1.2], facing = "north" }
"""


def read(*changes: tuple[str, str]) -> Scenario:
    text = FILE
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return loads(text)


def failed(scenario: Scenario) -> set[str]:
    return {check.id for check in score(scenario, "today").checks if not check.ok}


def faults(*changes: tuple[str, str]) -> list[str]:
    with pytest.raises(ScenarioError) as caught:
        read(*changes)
    return list(caught.value.lines)


def test_a_job_is_done_as_often_as_it_says_while_its_season_lasts() -> None:
    split, feeding, mend = read().jobs
    assert split.times_per_year == pytest.approx(3 * 52 * 5 / 12)
    assert feeding.times_per_year == pytest.approx(2 * 365 * 7 / 12)
    assert mend.times_per_year == 104
    both = read(('season = "winter"', 'season = ["summer", "winter"]\ntimes_range = ["1 per week", 208]'))
    assert both.jobs[0].times_per_year == 156
    assert both.jobs[0].times_range == (52, 208)
    some = read(('season = "winter"', 'season = "winter"\nweeks = 10'))
    assert some.jobs[0].times_per_year == pytest.approx(30)


def test_shares_are_told_as_numbers_or_lengths_and_make_up_the_year() -> None:
    thirds = read(
        ('winter = "5 months"\nsummer = "7 months"', "winter = 0.333\nspring = 0.333\nsummer = 0.333")
    )
    assert [season.share for season in thirds.seasons] == pytest.approx([1 / 3] * 3, rel=1e-12)
    assert read(('"5 months"', '"13 weeks"'), ('"7 months"', "0.75")).seasons[0].share == 0.25


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ((('"5 months"', "0.3"),), "together they are 0.8833 of the year, not all of it; let them"),
        ((('"5 months"', "0"),), "seasons.winter: 0 is no part of the year"),
        ((('"5 months"', "-1"),), "seasons.winter: -1 is no part of the year"),
        ((('"5 months"', "nan"),), "seasons.winter: nan is not a number"),
        ((('"5 months"', "true"),), "seasons.winter: true is no part of the year; write 0.4"),
        ((('"5 months"', '"5 moons"'),), "seasons.winter: '5 moons' is no part of the year; write 0.4"),
        ((('"5 months"', '"60 weeks"'),), "seasons.winter: '60 weeks' is more than the year"),
        ((('season = "winter"', 'season = "wint"'),), "jobs.split.season: there is no season 'wint'; did"),
        ((('season = "winter"', "season = []"),), "jobs.split.season: it names no season"),
        ((('season = "winter"', 'season = "winter"\nweeks = 30'),), "give 21.6 at most, or leave out weeks"),
        ((("{ winter = 0.9 }", "{ wnter = 0.9 }"),), "inside.wnter: there is no season 'wnter'"),
        ((("{ winter = 0.9 }", "{ winter = 1.9 }"),), "vehicles.quad.inside: 1.9 is out of range"),
        (((YEAR, ""),), "the file has no seasons; write"),
        ((('winter = "5 months"', '"win:ter" = "5 months"'),), "seasons.win:ter: a name cannot hold"),
        (((YEAR, "seasons = 3\n"),), "seasons: 3 is not a table"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_mend(changes: tuple[tuple[str, str], ...], said: str) -> None:
    assert any(said in line for line in faults(*changes)), faults(*changes)


def test_a_vehicle_is_in_for_its_share_of_the_seasons_in_which_a_job_is_done() -> None:
    scenario = read()
    quad, none = frozenset({"quad"}), frozenset[str]()
    split, feeding, mend = (dict(vehicle_states(scenario, job)) for job in scenario.jobs)
    assert split == {quad: pytest.approx(0.9), none: pytest.approx(0.1)}
    assert feeding == {none: 1.0}
    assert mend == {quad: pytest.approx(0.9 * 5 / 12), none: pytest.approx(1 - 0.9 * 5 / 12)}
    assert scenario.vehicles[0].inside == pytest.approx(0.375)


def test_vehicles_of_different_seasons_never_meet() -> None:
    more = "[vehicles.boat]\nsize = [1.2, 1.9]\ninside = { summer = 1 }\n[jobs.split]"
    scenario = read(
        ("[jobs.split]", more), ("quad = {", 'boat = { at = [1.6, 1.2], facing = "north" }\nquad = {')
    )
    ground = Ground(scenario)
    quad, boat = scenario.vehicles
    assert not ground.together(quad, boat)
    assert set(states_ever(ground)) == {frozenset({"quad"}), frozenset({"boat"})}
    assert "no-overlap" not in failed(scenario)
    both = scenario.with_(vehicles=(quad, replace(boat, inside=1.0, inside_by=())))
    assert Ground(both).together(*both.vehicles)
    assert "no-overlap" in failed(both)


def test_the_seasons_of_a_score_make_up_the_year() -> None:
    result = score(read(), "today")
    assert set(result.metres_by_season) == {"winter", "summer"}
    assert sum(result.metres_by_season.values()) == pytest.approx(result.metres_per_year, rel=1e-12)
    told = {job.name: job.by_season for job in result.jobs}
    assert told["split"] == (pytest.approx(result.job("split").metres_per_year), 0.0)
    assert told["feeding"][0] == 0.0
    empty, full = (state.metres_each for state in result.job("mend").states)
    assert told["mend"][1] == pytest.approx(104 * 7 / 12 * empty)
    assert told["mend"][0] == pytest.approx(104 * 5 / 12 * (0.9 * full + 0.1 * empty))


def test_one_season_over_the_whole_year_is_none() -> None:
    plain = read(
        (YEAR, ""), ('season = "winter"\n', ""), ('season = ["summer"]\n', ""), ("{ winter = 0.9 }", "0.3")
    )
    one = read((YEAR, "[seasons]\nyear = 1\n"), ('"winter"', '"year"'), ('["summer"]', '["year"]'),
               ("{ winter = 0.9 }", "{ year = 0.3 }"))  # fmt: skip
    assert score(one, "today").cost == score(plain, "today").cost
    assert score(one, "today").metres_by_season == {
        "year": pytest.approx(score(plain, "today").metres_per_year)
    }


def test_a_file_with_seasons_is_written_as_it_says() -> None:
    """Saving keeps them, and a frequency is told as of the season."""
    scenario = read()
    often = replace(scenario.jobs[0], times="6 per week", times_per_year=2 * scenario.jobs[0].times_per_year)
    quad = replace(scenario.vehicles[0], inside=1.0, inside_by=())
    text = rewritten(scenario.with_(jobs=(often, *scenario.jobs[1:]), vehicles=(quad,)), Path("shed.toml"))
    assert 'times = "6 per week"' in text
    assert 'winter = "5 months"' in text
    assert "inside = 1" in text
    assert Plan(loads(text), loads(text).layouts[0])
