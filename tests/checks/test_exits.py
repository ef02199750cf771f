"""The way out: to an exit that the file names, and with vehicles in only where somebody may be there then.

The side door is in the west wall, y 1..1.9; here it slides, and in most of these sheds it is the only door.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from footwork.model.scenario import Door, Placement, Scenario
from shed import BENCH, DRILL, ROLLER, SHED, SIDE, job, one, results, station, van, with_room

EXIT = replace(SIDE, swing="none", exit=True)


def shed(*doors: Door, **changes: Any) -> Scenario:
    return with_room(doors=doors or (EXIT,)).with_(**changes)


def narrowed(gap: float) -> tuple[Scenario, dict[str, Placement]]:
    """A shelf at x 1.9..2.1 from the north wall to ``gap`` metres from the south wall: the only way west."""
    shelf = station("shelf", 0.2, 4.0 - gap, stand=())
    scenario = shed(stations=(replace(BENCH, placing="any"), DRILL, shelf))
    return scenario, {"shelf": Placement(2.0, (4.0 + gap) / 2, 180.0), "bench": Placement(4.0, 3.6, 180.0)}


def test_the_way_to_an_exit_is_28_inches_wide() -> None:
    scenario, places = narrowed(0.72)
    found = one(scenario, "exit-way", "bench", **places)
    assert (found.ok, found.severity, found.required) == (True, "must", 0.7112)
    assert found.message == "the way from bench to the exit side is 0.72 m wide"
    scenario, places = narrowed(0.70)
    found = one(scenario, "exit-way", "bench", **places)
    assert not found.ok
    assert found.actual == pytest.approx(0.70)
    assert found.message.startswith(
        "the way from bench to the exit side is 0.70 m wide; 0.711 m is the least for a way out, 0.011 m "
        "more: the gap between shelf and south wall is 0.70 m, 0.011 m too narrow"
    )
    assert "1910.37(a)(3)" in found.source


def test_without_an_exit_in_the_file_it_is_a_should_to_any_door() -> None:
    scenario, places = narrowed(0.70)
    plain = scenario.with_(room=with_room(doors=(replace(EXIT, exit=False),)).room)
    assert not [r for r in results(plain, **places) if r.id == "exit-way"]
    assert (
        one(plain, "way-out", "bench", **places).ok,
        one(plain, "way-out", "bench", **places).severity,
    ) == (
        False,
        "should",
    )


def test_another_door_is_no_exit() -> None:
    """The way to the roller door is wide; the exit counts, and what holds that way back is told."""
    scenario, places = narrowed(0.5)
    gate = replace(ROLLER, start=(3.0, 0.0), end=(5.6, 0.0), yard=None)
    both = scenario.with_(room=with_room(doors=(EXIT, gate), yards=()).room)
    places["drill"] = Placement(5.7, 2.0, 270.0)
    assert one(both, "way-out", "bench", **places).ok
    found = one(both, "exit-way", "bench", **places)
    assert not found.ok
    assert "the gap between shelf and south wall is 0.50 m" in found.message


def test_one_of_two_exits_is_enough() -> None:
    scenario, places = narrowed(0.5)
    back = Door("back", "east", (6.0, 2.0), (6.0, 2.9), (-1.0, 0.0), exit=True)
    two = scenario.with_(room=with_room(doors=(EXIT, back)).room)
    found = one(two, "exit-way", "bench", **places)
    assert found.ok
    assert found.message.startswith("the way from bench to the exit side or the exit back is 0.9")


def test_an_exit_that_is_too_narrow_itself() -> None:
    slit = replace(EXIT, end=(0.0, 1.65))
    found = one(shed(slit), "exit-way", "bench")
    assert found.message == (
        "the way from bench to the exit side is 0.65 m wide; 0.711 m is the least for a way out, 0.061 m "
        "more: no door is so wide"
    )


# The van, nose north at (2.3, 1.9): x 1.5..3.1, y 0.4..3.4.  It leaves 0.6 m at the north wall, and at
# its tail, through the roller door, 0.4 m south and 0.5 m west from its corner to the jamb (1, 0): 0.640 m.
PAST = {"van": Placement(2.3, 1.9, 0.0), "bench": Placement(5.2, 3.6, 180.0)}
MAKE, FIX = job("make", "bench", "drill"), job("fix", "van", "bench")


def with_van(*jobs: Any, **changes: Any) -> Scenario:
    return shed(EXIT, ROLLER, vehicles=(van(**changes),), jobs=jobs or (MAKE,))


def outcome(scenario: Scenario, check: str = "exit-way") -> dict[str, bool]:
    return {r.subject: r.ok for r in results(scenario, **PAST) if r.id == check}


def test_a_way_that_only_a_vehicle_narrows_says_so() -> None:
    found = one(with_van(inside=0.3), "exit-way", "bench", **PAST)
    assert not found.ok
    assert found.actual == pytest.approx((0.4**2 + 0.5**2) ** 0.5)
    assert found.message.startswith("while van is in, the way from bench to the exit side is 0.64 m wide; ")
    assert found.message.count("while van is in") == 1
    out = one(with_van(inside=0.3), "way-out", "bench", **PAST)
    assert out.ok or out.message.startswith("while van is in, ")


def test_it_is_asked_only_where_a_job_may_have_the_vehicle_in() -> None:
    assert outcome(with_van()) == {"bench": True, "drill": True}  # never in
    assert outcome(with_van(inside=0.3)) == {"bench": False, "drill": False}
    # while brackets are made the van is out; at the bench one also mends it
    make = replace(MAKE, outside=("van",))
    assert outcome(with_van(make, inside=0.3)) == {"bench": True, "drill": True}
    assert outcome(with_van(make, FIX)) == {"bench": False, "drill": True}
    # at a drill that no job uses somebody may be at any time
    assert outcome(with_van(FIX)) == {"bench": False, "drill": False}


def test_a_way_that_is_too_narrow_anyway_is_not_the_vehicle_s() -> None:
    scenario, places = narrowed(0.5)
    in_it = scenario.with_(room=with_room(doors=(EXIT, ROLLER)).room, vehicles=(van(inside=0.3),))
    places |= {"van": Placement(2.9, 1.7, 0.0), "bench": Placement(5.0, 3.6, 180.0)}
    shut = replace(ROLLER, yard=None)
    in_it = in_it.with_(room=with_room(doors=(EXIT, shut), yards=()).room)
    found = one(in_it, "exit-way", "bench", **places)
    assert not found.ok
    assert "while van is in" not in found.message


def test_two_vehicles_that_are_never_in_at_once() -> None:
    """Each leaves a way past it; both together would leave none."""
    car = replace(van(), name="car")
    # x 1.5..3.1 and x 3.2..4.8; the van has 0.8 m at its nose, the car 0.8 m at its tail
    places = {
        "van": Placement(2.3, 1.7, 0.0),
        "car": Placement(4.0, 2.5, 0.0),
        "bench": Placement(5.4, 3.6, 180.0),
    }
    apart = (replace(FIX, outside=("car",)), job("wash", "car", "bench", outside=("van",)))
    shut = replace(ROLLER, yard=None)
    room = with_room(doors=(EXIT, shut), yards=()).room
    either = SHED.with_(room=room, vehicles=(van(), car), jobs=apart)
    assert one(either, "exit-way", "bench", **places).ok
    both = either.with_(vehicles=(van(inside=0.1), replace(car, inside=0.1)), jobs=(MAKE,))
    found = one(both, "exit-way", "bench", **places)
    assert found.message.startswith("while van and car are in, the way from bench to the exit side is ")


def test_a_job_that_is_blocked_either_way_does_not_blame_the_vehicle() -> None:
    # a shelf from wall to wall shuts the drill off whether or not the van is in
    wall = station("shelf", 6.0, 0.2, stand=())
    scenario = SHED.with_(stations=(BENCH, DRILL, wall), vehicles=(van(inside=0.3),))
    places = {"shelf": Placement(3.0, 2.4, 180.0), "van": Placement(2.3, -2.0, 0.0)}
    found = one(scenario, "reachable", "make", **places)
    assert not found.ok
    assert "while van is in" not in found.message
