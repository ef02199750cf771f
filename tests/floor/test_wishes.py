"""Distances of wishes to parts of the building, with a pencil."""

from __future__ import annotations

import pytest

from footwork.floor.wishes import to_building, wish_metres
from footwork.model.read import loads
from judge import figures

GATES = """
[room]
size = [6.0, 4.0]
doors = [
    { name = "gate-1", wall = "south", from = 0.0, width = 1.0 },
    { name = "gate-2", wall = "north", from = 4.0, width = 1.0 },
]
[stations.rack]
size = [1.0, 0.4]
[[prefer]]
station = "rack"
near = "gate"
weight = 100
[layouts.today]
rack = { at = [4.5, 3.0], facing = "south" }
"""


def test_a_name_without_its_number_means_every_door_of_it() -> None:
    scenario = loads(GATES)
    layout = scenario.layouts[0]
    assert to_building(scenario.room, (0.5, 0.5), "gate") == pytest.approx(0.5)
    assert to_building(scenario.room, (0.5, 0.5), "gate-1") == pytest.approx(0.5)
    assert to_building(scenario.room, (0.5, 0.0), "gate-2") == pytest.approx((3.5**2 + 4.0**2) ** 0.5)
    assert wish_metres(scenario, layout.placements) == pytest.approx(100.0)
    assert figures.wishes(scenario, layout) == pytest.approx(100.0)


def test_no_other_door_is_meant() -> None:
    assert to_building(loads(GATES).room, (1.0, 1.0), "gat") is None
