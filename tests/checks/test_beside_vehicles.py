"""A hand's breadth round a vehicle that is in, and where its driver gets out.

The van is 1.6 x 3.0 m, its door the roller door x 1..3.6 in the south wall.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from footwork.model.scenario import CheckSetting, Placement, Scenario, Station
from shed import BENCH, DRILL, ROLLER, SHED, SIDE, fixture, job, one, results, station, van, with_room

IN = Placement(2.3, 1.7, 0.0)  # nose north: x 1.5..3.1, y 0.2..3.2
AWAY = {"van": IN, "bench": Placement(5.2, 3.6, 180.0)}
SHELF = station("shelf", 0.4, 0.4, stand=())
FAR = Placement(5.7, 2.0, 180.0)
"""Where a shelf stands out of the way."""
ALONE = {"drive-in": CheckSetting(figure=0.0), "way-out": CheckSetting(figure=0.3)}
"""Other checks that ask for floor beside the van ask for less, so that a told move is about these alone."""


def kept(shelf: Station = SHELF, **changes: Any) -> Scenario:
    known = {"stations": (BENCH, DRILL, shelf), "vehicles": (van(inside=0.5),), "checks": ALONE}
    return with_room(doors=(replace(SIDE, swing="none"), ROLLER)).with_(**{**known, **changes})


def test_a_hand_s_breadth_at_the_flank() -> None:
    # the flank at x 3.1, the shelf's west side at x 3.24, then at 3.25
    near = one(kept(), "vehicle-margin", "van", **AWAY, shelf=Placement(3.44, 3.0, 180.0))
    assert (near.ok, near.severity, near.required, near.source) == (False, "must", 0.15, "common practice")
    assert near.actual == pytest.approx(0.14)
    assert near.message == (
        "while van is in, shelf is 0.14 m from it; 0.15 m, a hand's breadth, is the least: "
        "move shelf 0.01 m east"
    )
    assert one(kept(), "vehicle-margin", "van", **AWAY, shelf=Placement(3.45, 3.0, 180.0)).ok


def test_at_the_nose() -> None:
    # the nose at y 3.2
    assert one(kept(), "vehicle-margin", "van", **AWAY, shelf=Placement(2.3, 3.55, 180.0)).ok
    near = one(kept(), "vehicle-margin", "van", **AWAY, shelf=Placement(2.3, 3.50, 180.0))
    assert near.actual == pytest.approx(0.10)


def test_at_the_shut_door() -> None:
    # 0.10 m between the tail and the door's line at y 0
    near = one(kept(), "vehicle-margin", "van", **{**AWAY, "van": Placement(2.3, 1.6, 0.0)}, shelf=FAR)
    assert near.message == (
        "while van is in, roller is 0.10 m from it; 0.15 m, a hand's breadth, is the least: "
        "move van 0.05 m north"
    )
    assert one(kept(), "vehicle-margin", "van", **{**AWAY, "van": Placement(2.3, 1.65, 0.0)}, shelf=FAR).ok
    # one that stands across it fails `door-shut` and is not told off twice
    across = {**AWAY, "van": Placement(2.3, 1.1, 0.0)}
    assert one(kept(), "vehicle-margin", "van", **across, shelf=FAR).ok
    assert not one(kept(), "door-shut", "van", **across, shelf=FAR).ok


def test_at_a_wall_and_at_a_fixture() -> None:
    west = {**AWAY, "van": Placement(0.9, 1.7, 0.0)}  # its flank at x 0.1
    found = one(kept(), "vehicle-margin", "van", **west, shelf=FAR)
    assert found.message.startswith("while van is in, west wall is 0.10 m from it; ")
    # as far as it has to go to be in line with its door, x 1..3.6, which is told as well
    assert found.message.endswith("move van 0.90 m east")
    post = with_room(fixtures=(fixture("post", 3.3, 2.8, 0.2, 0.2),)).with_(vehicles=(van(inside=0.5),))
    assert one(post, "vehicle-margin", "van", **AWAY).actual == pytest.approx(0.10)  # x 3.1 to 3.2


def test_what_rolls_away_or_hangs_above_keeps_no_margin() -> None:
    at = {**AWAY, "shelf": Placement(3.35, 3.0, 180.0)}  # 0.05 m from the flank
    assert not one(kept(), "vehicle-margin", "van", **at).ok
    assert one(kept(replace(SHELF, castors=True)), "vehicle-margin", "van", **at).ok
    hung = replace(SHELF, from_floor=2.1, height=2.4)
    low = kept(hung, vehicles=(van(inside=0.5, height=2.0),))
    assert one(low, "vehicle-margin", "van", **at).ok
    assert not one(kept(hung, vehicles=(van(inside=0.5, height=2.2),)), "vehicle-margin", "van", **at).ok


def test_two_vehicles_keep_it_from_each_other_when_both_can_be_in() -> None:
    car = replace(van(inside=0.2), name="car")
    at = {**AWAY, "car": Placement(3.95, 1.7, 0.0)}  # its flank at x 3.15, 0.05 m from the van's
    both = SHED.with_(vehicles=(van(inside=0.5), car))
    assert one(both, "vehicle-margin", "van", **at).actual == pytest.approx(0.05)
    # a van that is only ever worked on with the car out is never in with it
    apart = both.with_(vehicles=(van(), car), jobs=(job("fix", "van", "bench", outside=("car",)),))
    assert one(apart, "vehicle-margin", "van", **at).ok


def test_a_vehicle_that_is_never_in_asks_for_nothing() -> None:
    asked = ("vehicle-margin", "driver-door")
    near = {**AWAY, "shelf": Placement(3.35, 2.2, 180.0)}
    never = kept(vehicles=(van(driver="right"),))
    assert not [r for r in results(never, **near) if r.id in asked]
    visited = never.with_(jobs=(job("fix", "van", "bench"),))
    assert {r.id for r in results(visited, **near) if r.id in asked and not r.ok} == set(asked)
    across = {**near, "van": Placement(2.3, 1.0, 0.0)}  # 0.5 m out of the roller door
    assert not [r for r in results(never, **across) if r.id in (*asked, "door-shut")]
    assert not one(visited, "door-shut", "van", **across).ok
    in_the_yard = {**near, "van": Placement(2.3, -2.0, 0.0)}
    assert not [r for r in results(visited, **in_the_yard) if r.id in asked]


def test_the_file_sets_the_hand_s_breadth() -> None:
    wider = kept(checks={**ALONE, "vehicle-margin": CheckSetting(figure=0.5)})
    found = one(wider, "vehicle-margin", "van", **AWAY, shelf=Placement(3.6, 3.0, 180.0))
    assert (found.ok, found.required, found.source) == (False, 0.5, "your file")


# --- driver-door: from 0.6 to 1.8 m behind the nose (0.2 and 0.6 of 3 m), 0.6 m deep.  Nose north that is
# y 1.4..2.6; the driver's left, looking ahead, is west.


def driven(side: str, shelf: Station = SHELF, **changes: Any) -> Scenario:
    return kept(shelf, **{"vehicles": (van(inside=0.5, driver=side),), **changes})


def test_the_driver_gets_out_at_the_left() -> None:
    # the flank at x 1.5; the shelf's east side at x 0.95, then at 0.9
    near = one(driven("left"), "driver-door", "van", **AWAY, shelf=Placement(0.75, 2.2, 180.0))
    assert (near.ok, near.severity, near.required, near.source) == (False, "must", 0.6, "common practice")
    assert near.actual == pytest.approx(0.55)
    assert near.message == (
        "while van is in, shelf is 0.55 m from its left side, where the driver gets out; 0.60 m is needed "
        "there: move shelf 0.05 m west, or drive in the other way round"
    )
    assert one(driven("left"), "driver-door", "van", **AWAY, shelf=Placement(0.70, 2.2, 180.0)).ok


def test_only_beside_that_door() -> None:
    # from y 2.6 on, before it, and at the right flank a shelf may stand near
    for x, y in ((1.15, 2.8), (1.15, 1.2), (3.45, 2.2)):
        assert one(driven("left"), "driver-door", "van", **AWAY, shelf=Placement(x, y, 180.0)).ok
    assert not one(driven("left"), "driver-door", "van", **AWAY, shelf=Placement(1.15, 2.75, 180.0)).ok
    assert not one(driven("right"), "driver-door", "van", **AWAY, shelf=Placement(3.45, 2.2, 180.0)).ok


def test_tail_first_the_driver_s_side_is_the_other_one() -> None:
    # nose south: the left is east, and the door lies y 0.8..2.0
    turned = {**AWAY, "van": Placement(2.3, 1.7, 180.0)}
    assert one(driven("left"), "driver-door", "van", **turned, shelf=Placement(0.75, 1.6, 180.0)).ok
    assert not one(driven("left"), "driver-door", "van", **turned, shelf=Placement(3.45, 1.6, 180.0)).ok


def test_a_driver_s_side_that_a_wall_blocks() -> None:
    """Wishes that contradict each other: the wall and the side are both named."""
    west = {**AWAY, "van": Placement(1.3, 1.7, 0.0)}  # its flank at x 0.5
    assert one(driven("left"), "driver-door", "van", **west, shelf=FAR).message == (
        "while van is in, west wall is 0.50 m from its left side, where the driver gets out; 0.60 m is "
        "needed there: move van 0.50 m east, or drive in the other way round"
    )  # into line with its door, which mends both


def test_castors_and_what_hangs_overhead_let_the_driver_out() -> None:
    at = {**AWAY, "shelf": Placement(1.15, 2.2, 180.0)}
    assert one(driven("left", replace(SHELF, castors=True)), "driver-door", "van", **at).ok
    assert one(driven("left", replace(SHELF, from_floor=2.04, height=2.3)), "driver-door", "van", **at).ok
    assert not one(driven("left", replace(SHELF, from_floor=1.8, height=2.3)), "driver-door", "van", **at).ok


def test_without_a_side_nothing_is_asked_and_the_file_sets_how_deep() -> None:
    at = {**AWAY, "shelf": Placement(0.70, 2.2, 180.0)}  # 0.6 m from the flank
    assert not [r for r in results(kept(), **at) if r.id == "driver-door"]
    more = driven("left", checks={**ALONE, "driver-door": CheckSetting(figure=0.9)})
    found = one(more, "driver-door", "van", **at)
    assert (found.ok, found.required, found.source) == (False, 0.9, "your file")
