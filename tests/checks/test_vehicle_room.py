"""Vehicles and what is over and about them: leaves, doors that shut, stock, two at once, one that goes out.

The van is 1.6 x 3.0 m, the roller door x 1..3.6 in the south wall.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

import footwork
from footwork.checks import rules
from footwork.model.scenario import CheckSetting, Door, Layout, Placement, Scenario, Stock
from shed import BENCH, DRILL, ROLLER, SHED, SIDE, failed, job, one, results, station, van, with_room

IN = Placement(2.3, 1.5, 0.0)  # x 1.5..3.1, y 0..3
CLEAR = {"van": IN, "bench": Placement(5.2, 3.6, 180.0)}
OVERHEAD = replace(ROLLER, height=2.0, leaf=1.8)  # over x 1..3.6, y 0..1.8


def under(door: Door, **changes: object) -> Scenario:
    return with_room(doors=(SIDE, door)).with_(**changes)


def test_what_stands_under_an_open_leaf_is_lower() -> None:
    rack = station("rack", 0.6, 0.6, height=2.3)
    scenario = under(OVERHEAD, stations=(BENCH, DRILL, rack))
    found = one(scenario, "open-leaf", "rack", rack=Placement(3.4, 1.0, 90.0))
    assert (found.ok, found.severity, found.required, found.actual) == (False, "must", 2.0, 2.3)
    assert found.message == (
        "rack is 2.30 m high under the open leaf of roller, which hangs 2.00 m up: move rack 0.50 m east"
    )
    assert one(scenario, "in-room", "rack", rack=Placement(3.9, 1.0, 90.0)).ok  # where the message sends it
    assert ("open-leaf", "rack") not in failed(scenario, rack=Placement(3.9, 1.0, 90.0))
    low = scenario.with_(stations=(BENCH, DRILL, replace(rack, height=2.0)))
    assert one(low, "open-leaf", "rack", rack=Placement(3.4, 1.0, 90.0)).ok


def test_a_thing_without_a_height_is_taken_as_tall() -> None:
    found = one(under(OVERHEAD), "open-leaf", "drill", drill=Placement(3.4, 1.0, 90.0))
    assert not found.ok
    assert "give its height" in found.message


def test_a_vehicle_taller_than_the_leaf_or_the_opening() -> None:
    tall = under(OVERHEAD, vehicles=(van(inside=0.5, height=2.2),))
    assert not one(tall, "open-leaf", "van", **CLEAR).ok
    low = one(tall, "drive-in", "van", **CLEAR)
    assert (low.ok, low.required, low.actual) == (False, 2.0, 2.2)
    assert low.message == (
        "van is 2.20 m high and the opening of roller 2.00 m: work on it outside, or raise the door"
    )
    fits = under(OVERHEAD, vehicles=(van(inside=0.5, height=2.0),))
    assert one(fits, "open-leaf", "van", **CLEAR).ok
    assert one(fits, "drive-in", "van", **CLEAR).ok
    # without a height it has come in below the leaf
    assert one(under(OVERHEAD, vehicles=(van(inside=0.5),)), "open-leaf", "van", **CLEAR).ok


def test_a_vehicle_across_the_line_of_its_door() -> None:
    scenario = SHED.with_(vehicles=(van(inside=0.5),))
    found = one(scenario, "door-shut", "van", **{**CLEAR, "van": Placement(2.3, 1.1, 0.0)})
    assert (found.ok, found.severity) == (False, "should")
    assert found.actual == pytest.approx(0.4)
    # clear of the line by a hand's breadth: 0.40 m and 0.15 m
    assert found.message == (
        "van stands 0.40 m across the line of roller, which cannot shut: move van 0.55 m north"
    )
    assert one(scenario, "door-shut", "van", **CLEAR).ok
    assert one(scenario, "door-shut", "van").ok  # out in the yard


def test_a_vehicle_in_the_swing_of_a_turning_door() -> None:
    scenario = SHED.with_(vehicles=(van(inside=0.5),))
    # its left flank at x 0.8, 0.1 m inside the swing of the side door at y 1
    found = one(scenario, "door-swing", "side", **{**CLEAR, "van": Placement(1.6, 1.6, 0.0)})
    assert found.message == "van stands 0.10 m in the swing of side: move van 0.10 m east"
    assert one(scenario, "door-swing", "side", **{**CLEAR, "van": Placement(1.7, 1.6, 0.0)}).ok


SAW = station("saw", 0.6, 0.6, stock=Stock(right=2.4, width=0.3), work_height=0.95)


def test_a_vehicle_taller_than_the_stock_that_passes_it() -> None:
    # the saw looks south at (0.3.., ...): its right is east, so stock runs from x 0.9 to 3.3 at y 2.5
    places = {**CLEAR, "saw": Placement(0.6, 2.5, 180.0)}
    scenario = SHED.with_(
        stations=(BENCH, DRILL, SAW),
        vehicles=(van(inside=0.5, height=1.9),),
        jobs=(job("cut", "saw", "bench"),),
    )
    found = one(scenario, "stock-vehicle", "saw", **places)
    assert (found.ok, found.severity, found.required) == (False, "should", 2.4)
    assert found.actual == pytest.approx(0.6)
    assert found.message.startswith(
        "long stock at the right of saw has 0.60 m up to van, 1.80 m short of 2.40 m: "
        "take van out while saw is used"
    )
    low = scenario.with_(vehicles=(van(inside=0.5, height=0.9),))
    assert one(low, "stock-vehicle", "saw", **places).ok
    out = scenario.with_(jobs=(job("cut", "saw", "bench", outside=("van",)),))
    assert not [r for r in results(out, **places) if r.id == "stock-vehicle"]


def test_the_margin_of_the_way_in_is_the_file_s() -> None:
    # the drill's west side 0.3 m from the van: enough for 0.3 m, not for 0.5 m
    places = {**CLEAR, "drill": Placement(3.7, 1.0, 90.0)}
    scenario = SHED.with_(vehicles=(van(inside=0.5),))
    assert one(scenario, "drive-in", "van", **places).ok
    wider = scenario.with_(checks={"drive-in": CheckSetting(figure=0.5)})
    found = one(wider, "drive-in", "van", **places)
    assert found.source == "your file"
    assert found.message == (
        "drill stands 0.20 m in the way in of van (0.50 m wider than it on each side): move drill 0.20 m east"
    )
    assert "0.5 m more" in next(
        r.sentence(lambda m: f"{m:g} m") for r in rules(wider.checks) if r.id == "drive-in"
    )


def test_what_must_be_rolled_away_is_a_note_of_the_score() -> None:
    rolling = SHED.with_(stations=(BENCH, replace(DRILL, castors=True)), vehicles=(van(inside=0.5),))
    layout = Layout("today", {**CLEAR, "drill": Placement(3.6, 1.0, 90.0)})
    assert footwork.score(rolling, layout).notes == ("before van comes in, roll drill away first",)
    aside = layout.moved({"drill": Placement(5.0, 1.0, 90.0)})
    assert footwork.score(rolling, aside).notes == ()


def test_a_way_out_that_is_nearly_wide_enough_is_a_note() -> None:
    # 0.705 m between the shelf's end and the west wall: 6 mm short of 28 in, which passes
    shelf = station("shelf", 5.295, 0.2, stand=())
    scenario = with_room(doors=(ROLLER,)).with_(stations=(BENCH, DRILL, shelf))
    places = {"bench": Placement(3.0, 3.6, 180.0), "drill": Placement(5.0, 0.3, 0.0)}
    layout = Layout("today", {**places, "shelf": Placement(3.3525, 1.9, 180.0)})
    (said,) = footwork.score(scenario, layout).notes
    assert said.startswith("the way from bench to a door is 0.705 m wide; 0.711 m is the least")


TWO = """
[room]
size = [7, 6]
doors = [{ name = "gate", wall = "south", from = 0.5, width = 6, vehicle = true }]
yards = [{ name = "drive", outline = [[0, -6], [7, -6], [7, 0], [0, 0]] }]
[stations]
bench = { size = [1.5, 0.6], placing = "wall" }
[vehicles]
car = { size = [1.8, 4.2], inside = 0.6 }
van = { size = [1.9, 4.4], inside = 0.4 }
[jobs]
load = { times = "1 per week", route = ["bench", "car", "van"] }
[layouts.today]
bench = { at = [3.5, 5.7], facing = "south" }
car = { at = [1.7, 2.3], facing = "north" }
van = { at = [4.9, 2.4], facing = "north" }
"""


def two_vehicles(text: str = TWO) -> footwork.Scenario:
    from footwork.model.read import loads

    return loads(text)


def test_two_vehicles_side_by_side() -> None:
    scenario = two_vehicles()
    score = footwork.score(scenario)
    assert score.ok, [c.message for c in score.checks if not c.ok]
    found = footwork.suggest(scenario, iterations=400, pitch=0.5, seed=1, processes=1).layouts[0]
    assert found.ok
    assert found.cost <= score.cost


def test_two_vehicles_in_each_other_s_way() -> None:
    # one behind the other: the one inside cannot leave
    scenario = two_vehicles(TWO.replace("[4.9, 2.4]", "[1.7, 2.4]"))
    by_id = {(c.id, c.subject): c for c in footwork.score(scenario).checks if not c.ok}
    assert ("no-overlap", "car") in by_id
    # the car's flank at x 3.8, the van's at 3.95: 0.15 m of the 0.3 m is missing
    close = two_vehicles(TWO.replace("at = [1.7, 2.3]", "at = [2.9, 2.3]"))
    found = {(c.id, c.subject): c for c in footwork.score(close).checks if not c.ok}
    assert ("no-overlap", "car") not in found
    assert found["drive-in", "car"].actual == pytest.approx(0.15)
    assert found["drive-in", "car"].message == (
        "van stands 0.15 m in the way in of car (0.30 m wider than it on each side): move van 0.15 m east"
    )


# A garage no wider than its car leaves room to pass: the way to the saw in the drive is where the car stands.
TIGHT = """
[room]
size = [2.6, 6]
doors = [{ name = "gate", wall = "south", from = 0.2, width = 2.2, vehicle = true }]
yards = [{ name = "drive", outline = [[0, -6], [2.6, -6], [2.6, 0], [0, 0]] }]
[stations]
bench = { size = [1.5, 0.6], placing = "wall" }
saw = { size = [0.6, 0.6], outdoors = true }
[vehicles]
car = { size = [1.8, 4.2], inside = 0.6 }
[jobs]
cut = { times = "1 per week", route = ["bench", "saw"] }
[layouts.today]
bench = { at = [1.3, 5.7], facing = "south" }
saw = { at = [1.3, -5.0], facing = "north" }
car = { at = [1.3, 2.3], facing = "north" }
"""


def test_taking_the_vehicle_out_opens_the_ways_that_it_blocked() -> None:
    scenario = two_vehicles(TIGHT)
    blocked = [c for c in footwork.score(scenario).checks if c.id == "reachable" and not c.ok]
    assert len(blocked) == 1
    assert "while car is in" in blocked[0].message
    without, layout = footwork.apply(scenario, "today", "take car out")
    after = footwork.score(without, layout)
    assert after.ok, [c.message for c in after.checks if not c.ok]
    assert [c.ok for c in after.checks if c.id == "reachable"] == [True]
