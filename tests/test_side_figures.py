"""From-to chart, one-step share and standing hours: worked out by hand, and adding up on the examples."""

from __future__ import annotations

from pathlib import Path

import pytest

import footwork
from footwork.model.read import loads

EXAMPLES = sorted((Path(__file__).parent.parent / "scenarios").glob("*.toml"))

# Places at y = 0.6 + 0.3, x as the stations': far and near are 3 m apart, near and close 0.7 m.
ROW = """
name = "Row"
units = "m"

[room]
size = [6.0, 4.0]

[stations.far]
size = [0.6, 0.6]

[stations.near]
size = [0.6, 0.6]

[stations.close]
size = [0.6, 0.6]

[jobs.round]
times = "1 per week"
route = ["far", "near", "close", "near"]
minutes = { near = 30, far = 10 }

[layouts.today]
far = { at = [1.0, 0.3], facing = "north" }
near = { at = [4.0, 0.3], facing = "north" }
close = { at = [4.7, 0.3], facing = "north" }
"""


def test_a_row_of_three_by_hand() -> None:
    score = footwork.score(loads(ROW))
    assert score.from_to == pytest.approx(
        {("far", "near"): 52 * 3.0, ("near", "close"): 52 * 0.7, ("close", "near"): 52 * 0.7}
    )
    # Two of the three legs are at most one step of 0.75 m.
    assert score.jobs[0].one_step_share == pytest.approx(2 / 3)
    hours = {place.station: (place.hours_per_year, place.stretch_minutes) for place in score.standing}
    assert hours == {"near": pytest.approx((52 * 30 / 60, 15)), "far": pytest.approx((52 * 10 / 60, 10))}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_what_is_counted_by_pair_and_place_is_all_there_is(path: Path) -> None:
    scenario = footwork.load(path)
    score = footwork.score(scenario, "today")
    assert sum(score.from_to.values()) == pytest.approx(sum(job.metres_per_year for job in score.jobs))
    minutes = sum(job.times_per_year * sum(m for _, m in job.minutes) for job in scenario.jobs)
    assert sum(place.hours_per_year for place in score.standing) == pytest.approx(minutes / 60)
