"""Door swings, floor to keep clear, electrical panels."""

from __future__ import annotations

from dataclasses import replace

import pytest

from footwork.model.scenario import KeepClear, Placement
from shed import BENCH, ROOM, SHED, box_at, failed, fixture, one, panel, results, station, van, with_room


def test_a_station_in_a_door_s_swing() -> None:
    # the door sweeps the quarter disc of 0.9 m about (0, 1), so x up to 0.9 at y 1 and y up to 1.9 at x 0
    assert one(SHED, "door-swing", "side", drill=Placement(1.2, 1.3, 0.0)).ok  # touches at (0.9, 1)
    found = one(SHED, "door-swing", "side", drill=Placement(1.1, 1.3, 0.0))
    assert not found.ok
    assert found.actual == pytest.approx(0.1, abs=1e-3)
    assert found.message == "drill stands 0.10 m in the swing of side: move drill 0.10 m east"


def test_the_corner_beyond_the_arc_is_free() -> None:
    # a corner at (0.7, 1.7) is sqrt(0.98) = 0.99 m from the hinge
    assert one(SHED, "door-swing", "side", drill=Placement(1.0, 2.0, 0.0)).ok


def test_a_door_that_opens_outward_sweeps_outside() -> None:
    outward = with_room(doors=(replace(ROOM.doors[0], swing="out"), ROOM.doors[1]))
    assert one(outward, "door-swing", "side", drill=Placement(0.3, 1.3, 90.0)).ok


def test_a_vehicle_and_a_fixture_in_the_swing() -> None:
    scenario = SHED.with_(vehicles=(van(inside=0.5),))
    assert ("door-swing", "side") in failed(scenario, van=Placement(1.6, 1.7, 0.0))  # x from 0.8
    post = with_room(fixtures=(fixture("post", 0.5, 1.2, 0.1, 0.1),))
    assert "cannot move" in one(post, "door-swing", "side").message


def test_floor_that_is_kept_clear() -> None:
    area = KeepClear("stair foot", box_at(5.0, 2.0, 1.0, 1.0), (5.0, 2.0), (1.0, 1.0), 180.0)
    scenario = with_room(keep_clear=(area,))
    assert one(scenario, "keep-clear", "stair foot").ok  # the drill's strip may lie in it
    found = one(scenario, "keep-clear", "stair foot", drill=Placement(5.0, 1.3, 0.0))
    assert found.actual == pytest.approx(0.1)
    assert found.message == "drill covers 0.10 m of stair foot: move drill 0.10 m south"


def test_other_floor_to_keep_clear_is_no_panel() -> None:
    area = KeepClear("stair foot", box_at(5.0, 2.0, 1.0, 1.0), (5.0, 2.0), (1.0, 1.0), 180.0)
    assert area.kind == "other"
    assert not [r for r in results(with_room(keep_clear=(area,))) if r.id == "panel-space"]


PANEL = panel(5.95, 2.5, 0.4, 0.1, facing=270.0)  # on the east wall, looks west; its face is x 5.9


def test_space_before_a_panel_drawn_as_the_panel() -> None:
    scenario = with_room(keep_clear=(PANEL,))
    # 0.762 wide somewhere over y 2.3..2.7, 0.914 deep: x from 4.986
    found = one(scenario, "panel-space", "panel", drill=Placement(5.2, 2.5, 90.0))
    assert not found.ok
    assert found.required == 0.914
    assert found.actual == pytest.approx(0.4)  # the drill's near side is x 5.5
    assert found.message == (
        "drill is 0.40 m from panel; 0.914 m must stay free in front of it: move drill 0.50 m south"
    )
    assert found.source.startswith("published: NEC 110.26(A)")


def test_the_space_before_a_panel_need_not_be_centred() -> None:
    scenario = with_room(keep_clear=(PANEL,))
    # the drill's north edge at y 2.3 leaves y 2.3..3.062 free, panel and all
    assert one(scenario, "panel-space", "panel", drill=Placement(5.2, 2.0, 90.0)).ok
    assert not one(scenario, "panel-space", "panel", drill=Placement(5.2, 2.02, 90.0)).ok


def test_two_stations_that_close_a_panel_in_together() -> None:
    scenario = with_room(keep_clear=(PANEL,)).with_(
        stations=(BENCH, station("a", 0.6, 0.6, stand=()), station("b", 0.6, 0.6, stand=())), jobs=()
    )
    # 2.2 to 2.9: only 0.7 m between them, though either alone leaves 0.762 m
    places = {"a": Placement(5.5, 1.9, 180.0), "b": Placement(5.5, 3.2, 180.0)}
    assert not one(scenario, "panel-space", "panel", **places).ok
    assert one(scenario, "panel-space", "panel", **{**places, "b": Placement(5.5, 3.27, 180.0)}).ok


def test_space_drawn_as_floor_is_taken_as_it_is() -> None:
    floor = panel(5.54, 2.5, 0.8, 0.92, facing=270.0)  # x 5.08..6.0, y 2.1..2.9
    scenario = with_room(keep_clear=(floor,))
    assert one(scenario, "panel-space", "panel", drill=Placement(4.78, 2.5, 90.0)).ok
    assert not one(scenario, "panel-space", "panel", drill=Placement(4.8, 2.5, 90.0)).ok
    assert not one(scenario, "panel-space", "panel", drill=Placement(5.3, 1.85, 90.0)).ok


def test_the_panel_may_be_a_fixture_too() -> None:
    scenario = with_room(keep_clear=(PANEL,), fixtures=(fixture("panel", 5.95, 2.5, 0.1, 0.4),))
    assert one(scenario, "panel-space", "panel").ok


def test_a_door_that_nobody_can_get_through_any_more() -> None:
    # without its swing: the side door is y 1..1.9 in the west wall, a square of 0.6 m is free along it
    plain = with_room(doors=(replace(ROOM.doors[0], swing="none"), ROOM.doors[1]))
    assert one(plain, "door-way", "side").ok
    # the drill's south side at y 1.6 leaves just 0.6 m of the opening; at y 1.55 it does not
    assert one(plain, "door-way", "side", drill=Placement(0.3, 1.9, 90.0)).ok
    shut = one(plain, "door-way", "side", drill=Placement(0.3, 1.85, 90.0))
    assert (shut.ok, shut.severity) == (False, "should")
    assert shut.message == (
        "drill stands before the door side, and leaves no way 0.60 m wide through it: move drill 0.05 m north"
    )
    # 0.6 m further in it stands clear
    assert one(plain, "door-way", "side", drill=Placement(0.9, 1.45, 90.0)).ok


def test_two_that_close_a_door_together() -> None:
    plain = with_room(doors=(replace(ROOM.doors[0], swing="none"), ROOM.doors[1]))
    post = station("post", 0.3, 0.3, stand=())
    both = plain.with_(stations=(BENCH, station("drill", 0.6, 0.6), post))
    # the drill leaves y 1..1.6 and the post y 1.3..1.9, together 0.3 m
    places = {"drill": Placement(0.3, 1.9, 90.0), "post": Placement(0.2, 1.15, 90.0)}
    found = one(both, "door-way", "side", **places)
    assert not found.ok
    assert "post too" in found.message
    assert one(both, "door-way", "side", **{**places, "post": Placement(2.0, 2.0, 90.0)}).ok
