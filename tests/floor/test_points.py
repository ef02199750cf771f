"""A fixture without a size is a point on a wall: it takes no floor, wherever it is."""

from __future__ import annotations

import pytest

from footwork.floor.plan import Plan
from footwork.floor.routes import Walks
from footwork.model.read import loads
from footwork.scoring import score
from judge.routes import Walks as Judge

YARD = """
[room]
size = [6.0, 4.0]
doors = [{ name = "gate", wall = "south", from = 1.0, width = 1.0 }]
yards = [{ name = "drive", outline = [[0, 0], [6, 0], [6, -3], [0, -3]] }]
fixtures = [{ name = "lamp", at = [1.5, 0.0]%s }]
[stations.bench]
size = [1.5, 0.7]
[stations.rack]
size = [1.0, 0.4]
outdoors = true
[jobs.fetch]
times = "1 per week"
route = ["bench", "rack"]
[layouts.today]
bench = { at = [4.0, 3.0], facing = "south" }
rack = { at = [4.0, -1.5], facing = "north" }
"""


def test_a_point_over_the_middle_of_a_door_bars_no_way() -> None:
    scenario = loads(YARD % "")
    layout = scenario.layouts[0]
    found = Walks(Plan(scenario, layout)).job(scenario.jobs[0])
    assert not found.blocked
    assert found.metres == pytest.approx(Judge(scenario, layout).metres(scenario.jobs[0]), rel=0.005)
    assert score(scenario, layout).ok


def test_a_post_there_does() -> None:
    scenario = loads(YARD % ", size = [0.1, 0.1]")
    assert Walks(Plan(scenario, scenario.layouts[0])).job(scenario.jobs[0]).blocked
