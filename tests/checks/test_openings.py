"""What stands before doors and windows, on the shed.

The side door is in the west wall, y 1..1.9; the roller door in the south wall, x 1..3.6, opens to the yard;
the window is in the north wall, x 2..4.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from footwork.checks.result import CheckResult
from footwork.model.scenario import CheckSetting, Door, Placement, Scenario, Station
from shed import BENCH, DRILL, LIGHT, ROLLER, ROOM, SHED, SIDE, failed, job, one, results, station, van

SHELF = station("shelf", 0.4, 0.4, stand=())


def with_shelf(shelf: Station = SHELF, *doors: Door, **changes: object) -> Scenario:
    room = replace(ROOM, doors=doors or ROOM.doors)
    return SHED.with_(room=room, stations=(BENCH, DRILL, shelf), **changes)


def test_the_floor_before_a_door_is_free() -> None:
    # x 0..0.9, y 1..1.9; the shelf's west side at x 0.85, then at 0.9
    near = one(with_shelf(), "opening-clear", "side", shelf=Placement(1.05, 1.45, 180.0))
    assert (near.ok, near.severity, near.required, near.source) == (False, "must", 0.9, "common practice")
    assert near.actual == pytest.approx(0.85)
    assert near.message == (
        "shelf stands 0.85 m before the door side; 0.90 m must stay free there: move shelf 0.05 m east, "
        "stand it elsewhere, or give the door used = false if nobody opens it"
    )
    assert one(with_shelf(), "opening-clear", "side", shelf=Placement(1.10, 1.45, 180.0)).ok


def test_beside_a_door_the_wall_is_as_good_as_any() -> None:
    # the opening ends at y 1.9
    assert one(with_shelf(), "opening-clear", "side", shelf=Placement(0.2, 2.1, 90.0)).ok
    beside = one(with_shelf(), "opening-clear", "side", shelf=Placement(0.2, 2.05, 90.0))
    assert "move shelf 0.05 m north" in beside.message


def test_a_door_that_nobody_uses_is_wall() -> None:
    shut = replace(SIDE, used=False, swing="none")
    at_the_door = {"bench": Placement(0.4, 1.45, 90.0)}
    scenario = with_shelf(SHELF, shut, ROLLER).with_(stations=(BENCH, DRILL))
    assert not [
        r for r in results(scenario, **at_the_door) if r.id in ("opening-clear", "door-way") if not r.ok
    ]
    assert one(scenario, "placing", "bench", **at_the_door).ok
    used = with_shelf(SHELF, replace(shut, used=True), ROLLER).with_(stations=(BENCH, DRILL))
    assert ("opening-clear", "side") in failed(used, **at_the_door)


def test_a_back_to_a_door_is_against_no_wall() -> None:
    # 1.5 m along the west wall: from y 1.85 on it still stands before the door, from 1.9 on beside it
    found = one(SHED, "placing", "bench", bench=Placement(0.4, 2.6, 90.0))
    assert not found.ok
    assert found.message == (
        "bench stands with its back to the door side, and a door in use is no wall: move bench 0.05 m north"
    )
    assert one(SHED, "placing", "bench", bench=Placement(0.4, 2.65, 90.0)).ok
    # a window is as good as wall
    assert one(SHED, "placing", "bench", bench=Placement(3.0, 3.6, 180.0)).ok


def test_a_door_that_is_asked_for_is_not_given_up() -> None:
    """Nobody is told that a door could be unused which a job goes through, a vehicle, or people in a fire."""
    near = {"shelf": Placement(1.05, 1.45, 180.0)}
    visited = with_shelf(jobs=(job("make", "bench", "side"),))
    assert one(visited, "opening-clear", "side", **near).message.endswith(
        "move shelf 0.05 m east, or stand it elsewhere"
    )
    leads_out = with_shelf(SHELF, replace(SIDE, exit=True), ROLLER)
    assert one(leads_out, "opening-clear", "side", **near).message == (
        "shelf stands 0.85 m before the exit side; 0.90 m must stay free there: move shelf 0.05 m east, "
        "stand it elsewhere, or make another door the exit"
    )


def test_a_bench_that_is_fixed_before_an_exit() -> None:
    """Two wishes that contradict each other: both are named, and nobody is told to move what is fixed."""
    here = Placement(0.4, 1.45, 90.0)
    scenario = SHED.with_(
        room=replace(ROOM, doors=(replace(SIDE, exit=True), ROLLER)),
        stations=(replace(BENCH, fixed=here), DRILL),
    )
    assert one(scenario, "opening-clear", "side", bench=here).message == (
        "bench is fixed 0.00 m before the exit side; 0.90 m must stay free there: take `fixed` out of bench, "
        "or make another door the exit"
    )


def test_people_walk_below_what_hangs_high() -> None:
    over = {"shelf": Placement(0.2, 1.45, 90.0)}
    high, low = (replace(SHELF, from_floor=up, height=up + 0.3) for up in (2.04, 1.9))
    assert one(with_shelf(high), "opening-clear", "side", **over).ok
    assert not one(with_shelf(low), "opening-clear", "side", **over).ok


def test_inside_a_vehicle_s_door_the_floor_is_free_whether_or_not_one_is_in() -> None:
    # x 1..3.6, 1.2 m deep: the drill's back at y 1.15, then at 1.2
    near = one(SHED, "vehicle-opening", "roller", drill=Placement(3.0, 1.45, 0.0))
    assert (near.ok, near.severity, near.required) == (False, "must", 1.2)
    assert near.message.startswith(
        "drill stands 1.15 m before the door roller; 1.20 m must stay free there: move drill 0.05 m north, "
    )
    assert one(SHED, "vehicle-opening", "roller", drill=Placement(3.0, 1.50, 0.0)).ok
    rolls = SHED.with_(stations=(BENCH, replace(DRILL, castors=True)))
    assert one(rolls, "vehicle-opening", "roller", drill=Placement(3.0, 0.5, 0.0)).ok


def test_castors_do_not_clear_the_way_of_people() -> None:
    rolls = with_shelf(replace(SHELF, castors=True))
    assert not one(rolls, "opening-clear", "side", shelf=Placement(0.5, 1.45, 180.0)).ok


def test_before_a_door_to_a_yard_the_floor_is_free_outside_too() -> None:
    scenario = with_shelf(replace(SHELF, outdoors=True))
    near = one(scenario, "vehicle-opening", "roller", shelf=Placement(2.3, -1.35, 0.0))
    assert near.actual == pytest.approx(1.15)
    assert one(scenario, "vehicle-opening", "roller", shelf=Placement(2.3, -1.40, 0.0)).ok


def test_a_vehicle_may_stand_before_its_door_and_any_other() -> None:
    scenario = SHED.with_(vehicles=(van(inside=0.5),))
    found = failed(scenario, van=Placement(2.3, 1.7, 0.0), bench=Placement(5.2, 3.6, 180.0))
    assert not [key for key in found if key[0] in ("opening-clear", "vehicle-opening")]


def test_the_file_sets_how_deep() -> None:
    at = {"shelf": Placement(1.10, 1.45, 180.0)}  # 0.9 m before the door
    deeper = with_shelf(checks={"opening-clear": CheckSetting(figure=1.2)})
    found = one(deeper, "opening-clear", "side", **at)
    assert (found.ok, found.required, found.source) == (False, 1.2, "your file")
    none = with_shelf(checks={"opening-clear": CheckSetting(figure=0.0)})
    assert not [r for r in results(none, **at) if r.id == "opening-clear"]


# --- window-sill


def lit(height: float | None, sill: float | None = 1.0, **changes: object) -> Scenario:
    """The bench, so high, stands before the window whose sill is so high."""
    room = replace(ROOM, windows=(replace(LIGHT, sill=sill),))
    return SHED.with_(room=room, stations=(replace(BENCH, height=height), DRILL), **changes)


def test_what_stands_before_a_window_is_no_taller_than_its_sill() -> None:
    assert one(lit(1.0), "window-sill", "bench").ok
    found = one(lit(1.1), "window-sill", "bench")
    assert (found.ok, found.severity, found.required, found.actual) == (False, "should", 1.0, 1.1)
    assert found.message == (
        "bench is 1.10 m high before light, whose sill is 1.00 m up: move bench 1.75 m east, or stand "
        "something lower there"
    )
    # half its 2000 m for failing, and a tenth of the other half: 0.1 m of 1 m
    assert found.price == pytest.approx(1000.0 + 100.0)


def test_a_thing_of_unknown_height_is_taken_as_tall() -> None:
    found = one(lit(None), "window-sill", "bench")
    assert "has no height in the file, so it is taken as tall: give its height, or " in found.message
    assert found.price == 2000.0


CABINET = station("cabinet", 0.8, 0.3, placing="wall", stand=(), from_floor=1.4, height=2.0)


def hung(x: float, sill: float | None = 1.0, **changes: object) -> CheckResult:
    """Whether a cabinet, x 0.4 m either way, hangs on a wall: the window is x 2 to 4."""
    room = replace(ROOM, windows=(replace(LIGHT, sill=sill),))
    cabinet = replace(CABINET, **changes)  # type: ignore[arg-type]
    scenario = SHED.with_(room=room, stations=(BENCH, DRILL, cabinet))
    return one(scenario, "placing", "cabinet", cabinet=Placement(x, 3.85, 180.0))


def test_nothing_hangs_on_glass() -> None:
    found = hung(2.1)
    assert (found.ok, found.severity) == (False, "must")
    assert found.message == (
        "cabinet hangs on the window light, and glass is no wall: move cabinet 0.50 m west"
    )
    assert hung(1.6).ok  # x 1.2 to 2: beside the window
    assert hung(2.1, sill=2.0).ok  # below it
    assert hung(2.1, sill=None).ok
    assert not hung(2.1, height=None).ok
    assert hung(2.1, from_floor=0.0, height=2.0).ok  # it stands there, which `window-sill` is about


def test_half_a_metre_from_a_window_a_thing_may_be_tall() -> None:
    far = {"bench": Placement(3.0, 3.1, 180.0)}  # its back at y 3.5
    assert not [r for r in results(lit(2.0), **far) if r.id == "window-sill"]
    near = {"bench": Placement(3.0, 3.15, 180.0)}
    assert not one(lit(2.0), "window-sill", "bench", **near).ok


def test_a_window_whose_sill_is_unknown_asks_nothing() -> None:
    assert not [r for r in results(lit(2.0, sill=None)) if r.id == "window-sill"]
