"""Reachable, and the wheelchair profile."""

from __future__ import annotations

from footwork.checks import faults_alone
from footwork.checks.ground import Ground, Placed
from footwork.model.scenario import Carry, Placement, Walker
from shed import BENCH, DRILL, ROLLER, SHED, failed, job, one, results, station, van, with_room

NO_SIDE_DOOR = with_room(doors=(ROLLER,))


def test_a_job_with_a_leg_that_cannot_be_walked() -> None:
    # a shelf from x 0 to 5.45 leaves 0.55 m at the east wall
    shelf = station("shelf", 5.45, 0.4, stand=())
    scenario = NO_SIDE_DOOR.with_(stations=(BENCH, DRILL, shelf))
    found = one(scenario, "reachable", "make", shelf=Placement(2.725, 1.8, 180.0))
    assert not found.ok
    assert found.required == 0.6
    assert found.source != "your file"  # the width that a person has
    assert found.message == (
        "make: no way 0.60 m wide from the front of bench to the front of drill: "
        "the gap between shelf and east wall is 0.55 m, 0.05 m too narrow: no short straight move mends it: "
        "find another spot for shelf, or turn it"
    )
    # away from the west wall there is room to push it
    placed = {"shelf": Placement(2.775, 1.8, 180.0)}
    shorter = NO_SIDE_DOOR.with_(stations=(BENCH, DRILL, station("shelf", 5.35, 0.4, stand=())))
    assert one(shorter, "reachable", "make", **placed).message.endswith(
        "the gap between shelf and east wall is 0.55 m, 0.05 m too narrow: move shelf 0.05 m west"
    )
    narrower = scenario.with_(stations=(BENCH, DRILL, station("shelf", 5.4, 0.4, stand=())))
    assert one(narrower, "reachable", "make", shelf=Placement(2.7, 1.8, 180.0)).ok  # exactly 0.6 m


def test_a_load_wider_than_the_way() -> None:
    shelf = station("shelf", 5.0, 0.4, stand=())
    wide = SHED.with_(
        stations=(BENCH, DRILL, shelf),
        jobs=(job("make", "bench", "drill", carry=(Carry("bench", "drill", 1.2),)),),
    )
    found = one(wide, "reachable", "make", shelf=Placement(2.5, 1.8, 180.0))
    assert (found.required, found.source) == (1.2, "your file")


def test_a_vehicle_in_the_way_is_named() -> None:
    # nose at the bench: its strip is taken while the van is in
    scenario = SHED.with_(vehicles=(van(inside=0.5),))
    places = {"van": Placement(2.3, 1.6, 0.0), "bench": Placement(2.3, 3.6, 180.0)}
    assert "while van is in" in one(scenario, "reachable", "make", **places).message


CHAIR = SHED.with_(walker=Walker(profile="wheelchair", width=0.915))


def test_wheelchair_checks_appear_with_the_profile_alone() -> None:
    assert not [r for r in results(SHED) if r.id == "wheelchair"]
    subjects = {r.subject: r.ok for r in results(CHAIR) if r.id == "wheelchair"}
    assert subjects == {"route": True, "turning circle": True, "bench": True, "drill": True}


def test_a_station_that_the_building_alone_leaves_no_clear_floor() -> None:
    ground = Ground(CHAIR)
    ids = {
        facing: {name for name, _ in faults_alone(ground, Placed(DRILL, Placement(5.0, 0.5, facing)))}
        for facing in (0.0, 180.0)
    }
    assert "wheelchair" in ids[180.0] - ids[0.0]


def test_a_route_too_narrow_for_a_wheelchair() -> None:
    narrow = SHED.with_(walker=Walker(profile="wheelchair", width=0.8))
    assert not one(narrow, "wheelchair", "route").ok


def test_no_floor_to_turn_in() -> None:
    # a block that leaves aisles of 1.5 m at most: no circle of 1.525 m
    block = station("block", 3.2, 1.2, stand=())
    scenario = CHAIR.with_(stations=(block,), jobs=())
    assert one(scenario, "wheelchair", "turning circle", block=Placement(3.0, 2.0, 180.0)).ok is False


def test_no_clear_floor_at_a_station() -> None:
    # 0.7 m before the drill, walls and shelf either side: neither 0.76 m alongside nor 1.22 m head on
    shelf = station("shelf", 2.0, 0.3, stand=())
    scenario = CHAIR.with_(stations=(BENCH, DRILL, shelf), jobs=())
    assert not one(scenario, "wheelchair", "drill", shelf=Placement(5.0, 1.45, 180.0)).ok
    assert one(scenario, "wheelchair", "drill", shelf=Placement(4.5, 2.4, 180.0)).ok
    assert ("wheelchair", "bench") not in failed(scenario, shelf=Placement(4.5, 2.0, 180.0))
