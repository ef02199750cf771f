"""Driving in, and room to work round a vehicle.  The van is 1.6 x 3.0 m, the roller door x 1..3.6."""

from __future__ import annotations

from dataclasses import replace

import pytest

from footwork.model.scenario import Placement
from shed import BENCH, DRILL, SHED, failed, fixture, job, one, van, with_room

IN = Placement(2.3, 1.5, 0.0)  # x 1.5..3.1, y 0..3; the way in is x 1.2..3.4
CLEAR = {"van": IN, "bench": Placement(5.2, 3.6, 180.0)}
SHED_VAN = SHED.with_(vehicles=(van(inside=0.5),))


def test_nose_first_and_tail_first() -> None:
    assert one(SHED_VAN, "drive-in", "van", **CLEAR).ok
    assert one(SHED_VAN, "drive-in", "van", **{**CLEAR, "van": Placement(2.3, 1.5, 180.0)}).ok


def test_a_vehicle_outside_needs_no_way_in() -> None:
    found = one(SHED_VAN, "drive-in", "van")
    assert found.ok
    assert found.message == "van stands outside"


def test_a_vehicle_that_does_not_stand_square() -> None:
    found = one(SHED_VAN, "drive-in", "van", **{**CLEAR, "van": Placement(2.5, 1.9, 20.0)})
    assert not found.ok
    assert "square" in found.message


def test_a_vehicle_out_of_line_with_its_door() -> None:
    # its left side at x 0.9, 0.1 m past the opening's edge
    found = one(SHED_VAN, "drive-in", "van", **{**CLEAR, "van": Placement(1.7, 1.5, 0.0)})
    assert not found.ok
    assert found.actual == pytest.approx(0.1)


def test_a_station_in_the_way() -> None:
    # the drill's west side at x 3.3, 0.1 m into the margin of 0.3 m
    places = {**CLEAR, "drill": Placement(3.6, 1.0, 90.0)}
    found = one(SHED_VAN, "drive-in", "van", **places)
    assert found.actual == pytest.approx(0.1)
    assert found.message == (
        "drill stands 0.10 m in the way in of van (0.30 m wider than it on each side): move drill 0.10 m east"
    )
    assert ("no-overlap", "van") not in failed(SHED_VAN, **places)


def test_a_station_on_castors_is_rolled_away_but_never_stands_under_the_vehicle() -> None:
    rolling = SHED_VAN.with_(stations=(BENCH, replace(DRILL, castors=True)))
    found = one(rolling, "drive-in", "van", **CLEAR, drill=Placement(3.6, 1.0, 90.0))
    assert found.ok
    assert found.message == "van can drive straight in, once drill is rolled away"
    assert ("no-overlap", "drill") in failed(rolling, **CLEAR, drill=Placement(3.3, 1.0, 90.0))


def test_walls_and_fixtures_in_the_way() -> None:
    post = with_room(fixtures=(fixture("post", 3.35, 1.0, 0.2, 0.2),)).with_(vehicles=SHED_VAN.vehicles)
    assert one(post, "drive-in", "van", **CLEAR).actual == pytest.approx(0.15)


def test_room_to_work_round_a_vehicle_that_a_job_visits() -> None:
    around = van(around=(("right", 0.9), ("left", 0.9)))
    visited = SHED.with_(vehicles=(around,), jobs=(job("fix", "van", "bench"),))
    # nose north: the right of the person before it, looking south, is west; x 0.6..1.5 is free
    assert one(visited, "vehicle-around", "van", **CLEAR).ok
    found = one(visited, "vehicle-around", "van", **CLEAR, drill=Placement(3.9, 2.0, 90.0))
    assert found.actual == pytest.approx(0.5)  # from x 3.1 to 3.6
    assert "left" in found.message
    rolling = visited.with_(stations=(BENCH, replace(DRILL, castors=True)))
    assert (
        "roll drill away first"
        in one(rolling, "vehicle-around", "van", **CLEAR, drill=Placement(3.9, 2.0, 90.0)).message
    )
    unvisited = visited.with_(jobs=(job("make", "bench", "drill"),))
    assert ("vehicle-around", "van") not in failed(unvisited, **CLEAR, drill=Placement(3.9, 2.0, 90.0))


def test_working_space_in_the_yard() -> None:
    around = van(around=(("left", 0.9),))
    visited = SHED.with_(vehicles=(around,), jobs=(job("fix", "van", "bench"),))
    assert one(visited, "vehicle-around", "van").ok  # x 3.1..4.0 in the yard
    assert not one(visited, "vehicle-around", "van", van=Placement(5.0, -2.0, 0.0)).ok  # past its east edge
