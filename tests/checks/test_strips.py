"""Standing, service and stock strips on the shed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from footwork.model.scenario import Placement, Stock
from shed import BENCH, DRILL, ROOM, SHED, failed, fixture, one, station, van, with_room


def test_a_station_in_the_strip_of_another() -> None:
    # bench's face is y 3.2; the drill's back at y 2.6 leaves 0.6 of 0.75 m
    found = failed(SHED, drill=Placement(3.0, 2.3, 0.0))
    strip = found["strips-clear", "bench"]
    assert strip.required == 0.75
    # the drill looks north: its front is y 2.6, and the bench stands 0.6 m into the drill's strip too
    assert strip.actual == pytest.approx(0.6)
    assert strip.message == (
        "bench has 0.60 m free to work at its front up to drill; 0.75 m is needed: move drill 0.15 m south"
    )
    assert found["strips-clear", "drill"].actual == pytest.approx(0.6)


def test_strips_may_overlap_strips() -> None:
    # 0.8 m between the fronts of two that face each other: both strips of 0.75 m are free
    assert ("strips-clear", "drill") not in failed(SHED, drill=Placement(3.0, 2.1, 0.0))


def test_a_wall_and_a_fixture_in_a_strip() -> None:
    found = one(SHED, "strips-clear", "drill", drill=Placement(5.2, 2.0, 90.0))  # front at x 5.5, wall at 6
    assert found.actual == pytest.approx(0.5)
    assert "east wall" in found.message
    post = with_room(fixtures=(fixture("post", 5.0, 1.0, 0.1, 0.1),))
    assert one(post, "strips-clear", "drill").actual == pytest.approx(0.35)  # post from y 0.95, face y 0.6


def test_a_strip_may_reach_through_an_open_door_to_a_yard() -> None:
    # front at y 0.3, looking south: the strip of 0.75 m goes out through the roller door, x 1..3.6
    assert one(SHED, "strips-clear", "drill", drill=Placement(2.3, 0.6, 180.0)).ok
    assert not one(SHED, "strips-clear", "drill", drill=Placement(3.4, 0.6, 180.0)).ok  # over the jamb


def test_the_swing_of_a_door_in_a_strip() -> None:
    # the side door sweeps x 0..0.9 at y 1; a drill looking west with its face at x 1.5 needs x 0.75..1.5
    found = one(SHED, "strips-clear", "drill", drill=Placement(1.8, 1.3, 270.0))
    assert not found.ok
    assert "the swing of side" in found.message


def test_vehicles_do_not_count_in_strips() -> None:
    scenario = SHED.with_(vehicles=(van(inside=0.5),))
    found = failed(scenario, van=Placement(2.3, 1.7, 0.0), bench=Placement(2.3, 3.6, 180.0))
    assert ("strips-clear", "bench") not in found  # the van's nose is at y 3.2, right at the bench


def test_service_behind_a_machine() -> None:
    served = SHED.with_(stations=(BENCH, replace(DRILL, service=(("back", 0.3),))))
    found = one(served, "service-clear", "drill")
    assert not found.ok  # its back is on the wall
    assert found.actual == pytest.approx(0.0)
    assert one(served, "service-clear", "drill", drill=Placement(5.0, 0.6, 0.0)).ok  # exactly 0.3 m


SAW = station("saw", 0.6, 0.6, stock=Stock(right=1.5, width=0.2), work_height=0.9)


def test_stock_is_stopped_by_what_is_as_high_as_the_work() -> None:
    # the saw looks south at (2, 1.5): its right is east; stock from x 2.3 to 3.8, y 1.4..1.6
    places = {"saw": Placement(2.0, 1.5, 180.0), "drill": Placement(3.5, 1.6, 0.0)}
    tall = SHED.with_(stations=(SAW, DRILL), jobs=())
    found = one(tall, "stock-clear", "saw", **places)
    assert found.actual == pytest.approx(0.9)  # the drill begins at x 3.2
    assert found.required == 1.5
    as_high = SHED.with_(stations=(SAW, replace(DRILL, height=0.9)), jobs=())
    assert not one(as_high, "stock-clear", "saw", **places).ok
    lower = SHED.with_(stations=(SAW, replace(DRILL, height=0.89)), jobs=())
    assert one(lower, "stock-clear", "saw", **places).ok


def test_stock_without_a_working_height_passes_above_nothing() -> None:
    scenario = SHED.with_(stations=(replace(SAW, work_height=None), replace(DRILL, height=0.1)), jobs=())
    assert not one(
        scenario, "stock-clear", "saw", saw=Placement(2.0, 1.5, 180.0), drill=Placement(3.5, 1.6, 0.0)
    ).ok


def test_stock_passes_a_window_or_door_that_holds_its_width() -> None:
    # the saw looks east: its right is north; 0.2 m wide, through the window x 2..4 in the north wall
    scenario = SHED.with_(stations=(SAW,), jobs=())
    assert one(scenario, "stock-clear", "saw", saw=Placement(2.3, 3.0, 90.0)).ok
    assert one(scenario, "stock-clear", "saw", saw=Placement(2.1, 3.0, 90.0)).ok  # x 2.0..2.2: just in
    past = one(scenario, "stock-clear", "saw", saw=Placement(2.05, 3.0, 90.0))
    assert not past.ok
    assert past.actual == pytest.approx(0.7)  # from y 3.3 to the wall
    assert not one(scenario, "stock-clear", "saw", saw=Placement(5.0, 3.0, 90.0)).ok


def test_what_lies_beyond_the_opening_does_not_count() -> None:
    # looking west, its right is south: out through the roller door into the yard, past a post
    room = replace(ROOM, fixtures=(fixture("post", 2.3, -0.5, 0.2, 0.2),))
    scenario = SHED.with_(room=room, stations=(SAW,), jobs=())
    assert one(scenario, "stock-clear", "saw", saw=Placement(2.3, 1.0, 270.0)).ok


def test_stock_does_not_mind_the_swing_of_the_door_it_passes() -> None:
    # looking south at y 1.45: left is west, through the side door y 1..1.9
    left = replace(SAW, stock=Stock(left=1.5, width=0.2))
    scenario = SHED.with_(stations=(left,), jobs=())
    assert one(scenario, "stock-clear", "saw", saw=Placement(1.6, 1.45, 0.0)).ok is True
    # shorter stock that ends inside the room, in the swing
    short = SHED.with_(stations=(replace(left, stock=Stock(left=0.6, width=0.2)),), jobs=())
    assert not one(short, "stock-clear", "saw", saw=Placement(1.6, 1.45, 180.0)).ok


def test_stock_through_an_opening_right_at_the_saw() -> None:
    # the saw's right side is flush with the north wall: through the window, or into the wall
    scenario = SHED.with_(stations=(SAW,), jobs=())
    assert one(scenario, "stock-clear", "saw", saw=Placement(2.3, 3.7, 90.0)).ok
    assert not one(scenario, "stock-clear", "saw", saw=Placement(5.0, 3.7, 90.0)).ok
    # flush with the south wall, beyond which lies the yard
    assert not one(scenario, "stock-clear", "saw", saw=Placement(5.0, 0.3, 270.0)).ok
