"""In the room, clear of each other, placing, within: one feature changed at a time."""

from __future__ import annotations

from dataclasses import replace

import pytest

from footwork.model.scenario import Placement, Station
from shed import BENCH, DRILL, SHED, failed, fixture, job, one, results, station, van, with_room


def test_the_shed_passes_everything() -> None:
    assert failed(SHED) == {}
    assert {r.id for r in results(SHED)} == {
        "in-room", "no-overlap", "strips-clear", "reachable", "placing", "door-swing", "way-out", "door-way",
        "opening-clear", "vehicle-opening",
    }  # fmt: skip


def test_a_drill_through_the_south_wall() -> None:
    # its centre at y 0.25: 0.05 m of it is outside
    found = one(SHED, "in-room", "drill", drill=Placement(5.0, 0.25, 0.0))
    assert not found.ok
    assert found.actual == pytest.approx(0.05)
    assert found.message == "drill reaches 0.05 m out of the room: move drill 0.05 m north"


def test_a_drill_far_away_is_not_in_the_room() -> None:
    assert not one(SHED, "in-room", "drill", drill=Placement(100.0, 100.0, 0.0)).ok


def test_only_what_may_stand_outdoors_stands_in_the_yard() -> None:
    yard = Placement(5.0, -2.0, 180.0)
    assert not one(SHED, "in-room", "drill", drill=yard).ok
    outdoors = SHED.with_(stations=(BENCH, replace(DRILL, outdoors=True)))
    assert one(outdoors, "in-room", "drill", drill=yard).ok
    # half in the room and half in the yard, the south wall runs through it
    across = one(outdoors, "in-room", "drill", drill=Placement(5.0, 0.1, 0.0))
    assert not across.ok
    assert across.actual == pytest.approx(0.2)
    assert "south wall" in across.message


def test_touching_is_not_overlapping() -> None:
    # bench's east end is x 3.75; a drill 0.6 wide touches it at x 4.05
    assert one(SHED, "no-overlap", "drill", drill=Placement(4.05, 3.7, 180.0)).ok
    assert one(SHED, "no-overlap", "drill", drill=Placement(4.05 - 0.5e-4, 3.7, 180.0)).ok


def test_two_that_overlap_are_told_once_with_how_to_part() -> None:
    places = {"drill": Placement(4.0, 3.7, 180.0)}
    found = failed(SHED, **places)
    assert found["no-overlap", "bench"].actual == pytest.approx(0.05)
    assert found["no-overlap", "bench"].message == "bench overlaps drill by 0.05 m: move bench 0.05 m west"
    assert not [r for r in results(SHED, **places) if (r.id, r.subject) == ("no-overlap", "drill")]


def test_a_move_that_brings_another_must_down_is_not_told() -> None:
    # the shortest way to part, 0.05 m west, takes the bench into a shelf that stands against its west end
    shelf = station("shelf", 0.4, 0.4, stand=())
    crowded = SHED.with_(stations=(BENCH, DRILL, shelf))
    places = {"drill": Placement(4.0, 3.7, 180.0), "shelf": Placement(2.05, 3.8, 180.0)}
    assert one(crowded, "no-overlap", "bench", **places).message.endswith("move drill 0.05 m east")


def test_a_fixed_station_is_not_told_to_move() -> None:
    here = Placement(4.0, 3.7, 180.0)
    scenario = SHED.with_(stations=(BENCH, replace(DRILL, fixed=here)))
    assert one(scenario, "no-overlap", "bench", drill=here).message.endswith("move bench 0.05 m west")


def test_a_fixture_under_a_station() -> None:
    found = one(with_room(fixtures=(fixture("post", 5.25, 0.6, 0.2, 0.2),)), "no-overlap", "drill")
    assert found.actual == pytest.approx(0.1)  # the post is x 5.15..5.35, y 0.5..0.7: 0.1 m down


def test_two_vehicles_share_a_place_unless_both_can_be_in() -> None:
    second = replace(van(), name="car")
    both = SHED.with_(vehicles=(van(), second))
    places = {"van": Placement(2.3, 1.6, 0.0), "car": Placement(2.3, 1.6, 0.0)}
    assert ("no-overlap", "van") not in failed(both, **places)
    inside = SHED.with_(vehicles=(van(inside=0.5), replace(second, inside=0.2)))
    assert ("no-overlap", "van") in failed(inside, **places)
    visited = SHED.with_(vehicles=(van(), replace(second, inside=0.2)), jobs=(job("fix", "van", "bench"),))
    assert ("no-overlap", "van") in failed(visited, **places)


@pytest.mark.parametrize(
    ("y", "facing", "ok"),
    [
        (3.6, 180.0, True),
        (3.5, 180.0, True),  # exactly 0.10 m
        (3.49, 180.0, False),
        (3.55, 180.4, True),  # within half a degree of parallel
        (3.55, 180.6, False),
        (3.6, 0.0, False),  # its front is at the wall
    ],
)
def test_a_wall_station_has_its_back_to_a_wall(y: float, facing: float, ok: bool) -> None:
    assert one(SHED, "placing", "bench", bench=Placement(3.0, y, facing)).ok is ok


def test_a_back_that_stands_out_past_the_wall_s_end_is_not_against_it() -> None:
    assert not one(SHED, "placing", "bench", bench=Placement(5.5, 3.6, 180.0)).ok


def test_an_island_stands_a_walker_from_every_wall() -> None:
    island = SHED.with_(stations=(BENCH, replace(DRILL, placing="island")))
    # 0.6 m wide, its centre 0.9 m from the east wall: a gap of exactly 0.6 m
    assert one(island, "placing", "drill", drill=Placement(5.1, 1.5, 0.0)).ok
    near = one(island, "placing", "drill", drill=Placement(5.2, 1.5, 0.0))
    assert near.actual == pytest.approx(0.5)
    assert near.required == 0.6
    assert near.message == (
        "drill is 0.50 m from the east wall; an island needs 0.60 m all round: move drill 0.10 m west"
    )


def test_within_counts_a_straight_line_to_the_nearest_of_that_name() -> None:
    # drill's west side is x 4.7; socket-1 at x 3.65..3.75, y 0.25..0.35; socket-2 further off
    sockets = (fixture("socket-1", 3.7, 0.3, 0.1, 0.1), fixture("socket-2", 0.5, 3.9, 0.1, 0.1))
    room = with_room(fixtures=sockets).room
    wired = SHED.with_(room=room, stations=(BENCH, replace(DRILL, within=(("socket", 0.9),))))
    found = one(wired, "within", "drill")
    assert not found.ok
    assert found.actual == pytest.approx(0.95)
    assert found.message == "drill is 0.95 m from socket; 0.90 m at most: move drill 0.05 m west"
    longer = wired.with_(stations=(BENCH, replace(DRILL, within=(("socket", 0.95), ("light", 3.5)))))
    assert one(longer, "within", "drill").ok


def test_an_l_shaped_station_takes_another_into_its_corner() -> None:
    # an L of 1.2 x 1.2 m with a corner 0.7 x 0.7 m cut out at its right front
    ring = ((-0.6, -0.6), (-0.1, -0.6), (-0.1, 0.1), (0.6, 0.1), (0.6, 0.6), (-0.6, 0.6))
    bent = Station("bent", "bent", (1.2, 1.2), ring, stand=())
    scenario = SHED.with_(stations=(bent, station("drill", 0.6, 0.6, stand=())), jobs=())
    corner = {"bent": Placement(3.0, 2.0, 180.0), "drill": Placement(3.25, 1.75, 180.0)}
    assert one(scenario, "no-overlap", "drill", **corner).ok
    deeper = {**corner, "drill": Placement(3.15, 1.75, 180.0)}
    assert one(scenario, "no-overlap", "bent", **deeper).actual == pytest.approx(0.05)
