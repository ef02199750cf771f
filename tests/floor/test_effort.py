"""What a leg counts beside its metres: setting off, and a load."""

from __future__ import annotations

import math

import pytest

import footwork
from footwork.floor.effort import carrying, watts
from footwork.model.read import loads

HALL = """
[room]
size = [10.0, 4.0]
[walker]
{walker}
[stations.rack]
size = [1.0, 0.4]
[stations.bench]
size = [1.0, 0.4]
[jobs.fetch]
times = "10 per year"
route = ["rack", "bench", "rack"]
{carry}
[layouts.today]
rack = {{ at = [2.0, 3.8], facing = "south" }}
bench = {{ at = [6.0, 3.8], facing = "south" }}
"""
"""Rack and bench side by side: 4 m from one place to the other, and 4 m back."""


def cost(walker: str = "", carry: str = "") -> footwork.Score:
    return footwork.score(loads(HALL.format(walker=walker, carry=carry)))


def test_by_default_metres_count_as_they_are() -> None:
    score = cost()
    assert score.metres_per_year == pytest.approx(80.0)
    assert score.cost == score.metres_per_year
    assert score.effort_metres == 0.0


def test_setting_off_adds_to_each_leg_and_not_to_the_metres() -> None:
    score = cost("setting_off = 1.5")
    assert score.metres_per_year == pytest.approx(80.0)
    assert score.effort_metres == pytest.approx(10 * 2 * 1.5)
    assert score.cost == pytest.approx(110.0)
    assert score.to_dict()["effort_metres"] == pytest.approx(30.0)


@pytest.mark.parametrize(("step", "added"), [(4.0, 0.0), (3.99, 30.0)])
def test_one_step_is_no_setting_off(step: float, added: float) -> None:
    assert cost(f"setting_off = 1.5\nstep = {step}").effort_metres == pytest.approx(added)


def test_a_load_counts_on_its_own_leg() -> None:
    """20 kg at 1.2 m/s: 1.5 x 80 + 2 x 100 x (20 / 80)^2 + 1.5 x 100 x 1.44 = 348.5 W, without it 292.8 W."""
    score = cost(carry='carry = [{ from = "rack", to = "bench", weight = 20 }]')
    assert score.metres_per_year == pytest.approx(80.0)
    assert score.effort_metres == pytest.approx(10 * 4.0 * (348.5 / 292.8 - 1.0))


def test_setting_off_with_a_load_is_more_work_too() -> None:
    score = cost("setting_off = 2.0", 'carry = [{ from = "rack", to = "bench", weight = 20 }]')
    heavy = 348.5 / 292.8
    assert score.cost == pytest.approx(10 * (6.0 * heavy + 6.0))


def test_a_load_of_nothing_changes_nothing() -> None:
    assert carrying(0.0, 1.2) == 1.0
    assert math.isclose(watts(0.0, 1.2), 292.8)


def test_the_nearest_place_is_the_one_that_counts_least() -> None:
    """A bench within a step of one of two racks: without setting off the two ways are equal."""
    text = """
[room]
size = [10.0, 4.0]
[walker]
setting_off = {off}
[stations.rack]
size = [0.4, 0.4]
count = 2
[stations.bench]
size = [0.4, 0.4]
[stations.saw]
size = [0.4, 0.4]
[jobs.fetch]
times = "1 per year"
route = ["bench", "rack", "saw"]
[layouts.today]
bench = {{ at = [2.0, 3.8], facing = "south" }}
rack-1 = {{ at = [4.0, 3.8], facing = "south" }}
rack-2 = {{ at = [2.7, 3.8], facing = "south" }}
saw = {{ at = [6.0, 3.8], facing = "south" }}
"""
    plain, off = (footwork.score(loads(text.format(off=off))) for off in (0.0, 5.0))
    assert plain.cost == pytest.approx(4.0)
    assert off.jobs[0].legs[0].end.name == "rack-2"
    assert off.cost == pytest.approx(4.0 + 5.0)
