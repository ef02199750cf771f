"""Gas, spray, sources of ignition and fire extinguishers on the shed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from footwork.checks import notes, rules
from footwork.checks.ground import Ground
from footwork.checks.run import faults_building
from footwork.model.scenario import CheckSetting, Fixture, Placement, Scenario
from shed import BENCH, DRILL, ROOM, SHED, failed, fixture, job, one, rectangle, results, station, van

# bench x 2.25..3.75, y 3.2..4; drill x 4.7..5.3, y 0..0.6: apart by (0.95, 2.6)
APART = (0.95**2 + 2.6**2) ** 0.5
GREAT = {"gives-minds": CheckSetting(figure=3.0)}


def held(check: str, **changes: object) -> list[bool]:
    """Outcomes of one check with the bench's and the drill's keys changed: bench=..., drill=..."""
    stations = (replace(BENCH, **changes.get("bench", {})), replace(DRILL, **changes.get("drill", {})))  # type: ignore[arg-type]
    return [r.ok for r in results(SHED.with_(stations=stations)) if r.id == check]


def test_oxygen_and_fuel_gas_in_store() -> None:
    stores = SHED.with_(stations=(replace(BENCH, holds=("oxygen",)), replace(DRILL, holds=("fuel gas",))))
    found = one(stores, "oxygen-fuel", "bench")
    assert (found.ok, found.severity, found.required) == (False, "should", 6.096)
    assert found.actual == pytest.approx(APART)
    assert found.message.startswith("oxygen at bench is 2.768 m from drill, 3.328 m short of 6.096 m: ")
    assert "a wall 1.524 m high that does not burn" in found.message
    assert "1910.253(b)(4)(iii)" in found.source


def test_oxygen_minds_oil_and_paint_too_and_a_trolley_in_use_is_no_store() -> None:
    assert held("oxygen-fuel", bench={"holds": ("oxygen",)}, drill={"minds": ("flammable",)}) == [False]
    both = ("oxygen", "fuel gas")
    assert held("oxygen-fuel", bench={"holds": both}, drill={"holds": ("fuel gas",)}) == []
    assert held("oxygen-fuel", bench={"holds": ("oxygen",)}, drill={"holds": both}) == []


def test_sparks_and_heat_near_spraying() -> None:
    booth = SHED.with_(stations=(replace(BENCH, gives=("spray",)), replace(DRILL, gives=("sparks", "heat"))))
    found = one(booth, "spray-sparks", "bench")
    assert not found.ok
    assert found.message == (
        "drill gives sparks and heat 2.768 m from the spraying at bench, 3.328 m short of 6.096 m: "
        "put a partition between, or never spray while drill is used or still hot"
    )
    assert "from memory" in found.source
    assert held("spray-sparks", bench={"gives": ("spray",)}, drill={"gives": ("dust",)}) == []


def test_a_shield_that_cuts_off_every_line_will_do() -> None:
    # a screen lies between drill and bench at y 2, x 2..5.5
    screen = replace(fixture("screen", 3.75, 2.0, 3.5, 0.05), shield=True)
    gives = ("sparks", "dust", "noise")
    stations = (replace(BENCH, minds=("flammable", "dust", "noise")), replace(DRILL, gives=gives))
    shut = SHED.with_(room=replace(ROOM, fixtures=(screen,)), stations=stations, checks=GREAT)
    assert one(shut, "sparks-flammables", "bench").ok
    assert "gives noise 2.768 m" in one(shut, "gives-minds", "bench").message  # that comes round a screen
    # up to x 4.2 alone, a line from the drill's east end to the bench's passes it
    short = replace(fixture("screen", 3.1, 2.0, 2.2, 0.05), shield=True)
    part = shut.with_(room=replace(ROOM, fixtures=(short,)))
    assert not one(part, "sparks-flammables", "bench").ok
    plain = shut.with_(room=replace(ROOM, fixtures=(replace(screen, shield=False),)))
    assert not one(plain, "sparks-flammables", "bench").ok


def test_a_wall_of_the_room_is_a_shield_and_a_yard_s_edge_is_none() -> None:
    store = replace(BENCH, minds=("flammable",), outdoors=True)
    outside = SHED.with_(stations=(store, replace(DRILL, gives=("sparks",), outdoors=True)))
    # the drill stands by the south wall, the store behind that wall; then sparks fly out of the roller door
    assert one(outside, "sparks-flammables", "bench", bench=Placement(5.0, -1.0, 0.0)).ok
    through = {"bench": Placement(2.3, -3.0, 0.0), "drill": Placement(2.3, 1.0, 0.0)}
    assert not one(outside, "sparks-flammables", "bench", **through).ok
    yard = {"bench": Placement(1.0, -3.0, 0.0), "drill": Placement(4.0, -3.0, 0.0)}
    assert not one(outside, "sparks-flammables", "bench", **yard).ok


def test_dust_near_finishing_is_for_gives_minds() -> None:
    wet = {"gives": ("spray",), "minds": ("dust",)}
    near = SHED.with_(stations=(replace(BENCH, **wet), replace(DRILL, gives=("dust",))))  # type: ignore[arg-type]
    found = one(near, "gives-minds", "bench", drill=Placement(4.5, 2.0, 0.0))
    assert not found.ok
    assert "screen one off" in found.message


def garage(height: float | None, inside: float = 0.2, **changes: object) -> Scenario:
    return SHED.with_(
        stations=(BENCH, replace(DRILL, ignition_height=height)), vehicles=(van(inside=inside),), **changes
    )


def test_ignition_above_a_garage_floor() -> None:
    assert one(garage(0.457), "ignition-height", "drill").ok
    found = one(garage(0.30), "ignition-height", "drill")
    assert (found.ok, found.required, found.actual) == (False, 0.457, 0.30)
    assert found.message == (
        "drill may light a vapour 0.30 m above the floor, where a vehicle is in; 0.457 m is the least: "
        "raise it by 0.157 m"
    )


def test_ignition_counts_only_where_a_vehicle_is_kept_and_only_in_the_room() -> None:
    assert not [r for r in results(garage(0.1, inside=0.0)) if r.id == "ignition-height"]
    visited = garage(0.1, inside=0.0, jobs=(job("fix", "van", "bench"),))
    assert ("ignition-height", "drill") in failed(visited)
    out = garage(0.1).with_(stations=(BENCH, replace(DRILL, ignition_height=0.1, outdoors=True)))
    assert not [r for r in results(out, drill=Placement(5.0, -3.0, 0.0)) if r.id == "ignition-height"]


def test_a_water_heater_too_low_is_a_fault_of_the_building() -> None:
    heater = Fixture("heater", (5.7, 3.7), (0.6, 0.6), 180.0, fixture("h", 5.7, 3.7, 0.6, 0.6).outline, 0.2)
    scenario = garage(None, room=replace(ROOM, fixtures=(heater,)))
    assert "raise it by 0.257 m" in one(scenario, "ignition-height", "heater").message
    must = scenario.with_(checks={"ignition-height": CheckSetting(severity="must")})
    assert [check for check, _ in faults_building(Ground(must))] == ["ignition-height"]
    assert not list(faults_building(Ground(scenario)))


def hung(x: float, y: float) -> Scenario:
    """The shed with an extinguisher on a wall."""
    point = Fixture("extinguisher", (x, y), (1e-4, 1e-4), 180.0, rectangle(1e-4, 1e-4), kind="extinguisher")
    point = replace(point, outline=tuple((x + u, y + v) for u, v in point.outline))
    return SHED.with_(room=replace(ROOM, fixtures=(point,)))


def test_the_way_to_an_extinguisher_is_along_the_floor() -> None:
    # from the drill's place (5, 0.9) to (5.7, 0.9) before the east wall: 0.7 m
    found = one(hung(6.0, 0.9), "extinguisher", "drill")
    assert (found.ok, found.required) == (True, 22.86)
    assert found.actual == pytest.approx(0.7, abs=1e-3)
    assert found.message == "drill is 0.70 m from extinguisher, along the floor"
    # with a figure of 1 m the bench, whose place is (3, 2.9), is too far: to (5.7, 0.9), straight
    near = hung(6.0, 0.9).with_(checks={"extinguisher": CheckSetting(figure=1.0)})
    far = one(near, "extinguisher", "bench")
    assert not far.ok
    assert far.actual == pytest.approx((2.7**2 + 2.0**2) ** 0.5, abs=1e-3)
    assert "hang another extinguisher nearer to bench" in far.message
    assert far.source == "your file"


def test_the_way_leads_round_what_stands_in_between() -> None:
    # a shelf from the south wall to y 2 between bench and extinguisher: round its end, not through it
    shelf = station("shelf", 0.4, 2.0, stand=())
    scenario = hung(6.0, 0.9).with_(stations=(BENCH, DRILL, shelf))
    straight = one(scenario, "extinguisher", "bench", shelf=Placement(0.3, 1.0, 180.0)).actual or 0.0
    round_it = one(scenario, "extinguisher", "bench", shelf=Placement(4.2, 1.0, 180.0)).actual or 0.0
    assert straight == pytest.approx((2.7**2 + 2.0**2) ** 0.5, abs=1e-3)
    assert round_it > straight + 0.05


def test_what_stands_before_an_extinguisher() -> None:
    # on the east wall at y 2.5: x 5.1..6, y 2.2..2.8 stays free; a shelf 0.4 m square ends at x 5.15 or 5.1
    shelf = station("shelf", 0.4, 0.4, stand=())
    scenario = hung(6.0, 2.5).with_(stations=(BENCH, DRILL, shelf))
    near = one(scenario, "extinguisher-clear", "extinguisher", shelf=Placement(4.95, 2.5, 180.0))
    assert (near.ok, near.severity, near.required) == (False, "must", 0.9)
    assert near.actual == pytest.approx(0.85, abs=1e-3)
    assert near.message == (
        "shelf is 0.85 m from extinguisher, in front of it; 0.90 m must stay free there: "
        "move shelf 0.05 m west"
    )
    assert "1910.157(c)(1)" in near.source
    assert one(scenario, "extinguisher-clear", "extinguisher", shelf=Placement(4.9, 2.5, 180.0)).ok
    # beside that floor, from y 2.8 on, the wall is as good as any
    assert one(scenario, "extinguisher-clear", "extinguisher", shelf=Placement(5.8, 3.0, 270.0)).ok
    assert not one(scenario, "extinguisher-clear", "extinguisher", shelf=Placement(5.8, 2.95, 270.0)).ok


def test_what_hangs_before_an_extinguisher() -> None:
    """From 2.03 m on people walk below it; from lower down it is in the way, however far above the bottle."""
    shelf = station("shelf", 0.4, 0.4, stand=(), height=2.4, from_floor=1.8)
    low = hung(6.0, 2.5).with_(stations=(BENCH, DRILL, shelf))
    assert not one(low, "extinguisher-clear", "extinguisher", shelf=Placement(5.8, 2.5, 270.0)).ok
    high = low.with_(stations=(BENCH, DRILL, replace(shelf, from_floor=2.04)))
    assert one(high, "extinguisher-clear", "extinguisher", shelf=Placement(5.8, 2.5, 270.0)).ok


def test_a_wall_of_shelving_shuts_off_an_extinguisher() -> None:
    wall = hung(6.0, 0.9).with_(stations=(BENCH, DRILL, station("shelf", 6.0, 0.3, stand=())))
    shut = one(wall, "extinguisher-clear", "bench", shelf=Placement(3.0, 1.8, 180.0))
    assert (shut.ok, shut.severity) == (False, "must")
    assert shut.message == "there is no way from bench to extinguisher: open one, 0.60 m wide"
    # how far it is, where there is no way, is nothing to ask
    far = [r.subject for r in results(wall, shelf=Placement(3.0, 1.8, 180.0)) if r.id == "extinguisher"]
    assert far == ["drill"]


# The van is 1.6 x 3.0 m: here x 1.5..3.1, y 0.2..3.2.
PARKED = {"van": Placement(2.3, 1.7, 0.0), "bench": Placement(5.2, 3.6, 180.0)}


def test_a_vehicle_before_an_extinguisher_counts_while_it_is_in() -> None:
    # on the west wall at y 2.5 a person stands at x 0.3; a van from x 0.5 on leaves 0.2 m of the 0.3 m
    near = {**PARKED, "van": Placement(1.3, 1.7, 0.0)}
    scenario = hung(0.0, 2.5).with_(vehicles=(van(inside=0.5),))
    found = one(scenario, "extinguisher-clear", "extinguisher", **near)
    assert found.message == (
        "while van is in, nobody can stand before extinguisher: clear van from before it"
    )
    assert one(scenario, "extinguisher-clear", "extinguisher", **PARKED).ok
    never = hung(0.0, 2.5).with_(vehicles=(van(),))
    assert one(never, "extinguisher-clear", "extinguisher", **near).ok  # no job has it in
    visited = never.with_(jobs=(job("fix", "van", "bench"),))
    assert not one(visited, "extinguisher-clear", "extinguisher", **near).ok


def test_a_way_to_an_extinguisher_that_a_vehicle_bars_says_so() -> None:
    """Asked at a station only in the states in which its jobs are done."""
    # the shelf x 3.1..6, y 2.2..2.6 beside the van, the bench x 1.55..3.05, y 3.2..4 before its nose
    shelf = station("shelf", 2.9, 0.4, stand=())
    stations = (BENCH, DRILL, shelf)
    scenario = hung(0.0, 3.5).with_(stations=stations, vehicles=(van(inside=0.5),))
    places = {**PARKED, "shelf": Placement(4.55, 2.4, 180.0), "bench": Placement(2.3, 3.6, 180.0)}
    found = one(scenario, "extinguisher-clear", "drill", **places)
    assert found.message.startswith("while van is in, there is no way from drill to extinguisher: ")
    out = scenario.with_(jobs=(job("make", "bench", "drill", outside=("van",)),))
    assert not [r for r in results(out, **places) if (r.id, r.subject) == ("extinguisher-clear", "drill")]


def test_flammables_and_vehicles_are_nearer_to_one() -> None:
    scenario = hung(6.0, 0.9).with_(
        stations=(replace(BENCH, minds=("flammable",)), DRILL), vehicles=(van(inside=0.5),)
    )
    found = {r.subject: r.required for r in results(scenario) if r.id == "extinguisher-flammables"}
    assert found == {"bench": 15.24, "van": 15.24}
    assert not [r for r in results(hung(6.0, 0.9)) if r.id == "extinguisher-flammables"]


def test_without_an_extinguisher_a_note_says_so_where_flammables_are_kept() -> None:
    store = SHED.with_(stations=(replace(BENCH, minds=("flammable",)), DRILL))
    assert not [r for r in results(store) if r.id.startswith("extinguisher")]
    assert [n for n in notes(store) if "names no fire extinguisher" in n]
    assert not notes(SHED)
    assert not notes(hung(6.0, 0.9).with_(stations=store.stations))
    # by its kind, and not by a name that may be another's: a cupboard, or a point on the wall without a kind
    named = Fixture("extinguisher", (6.0, 0.9), (1e-4, 1e-4), 180.0, rectangle(1e-4, 1e-4))
    cabinet = store.with_(stations=(*store.stations, station("fire-extinguisher", 0.2, 0.2)))
    assert notes(cabinet.with_(room=replace(ROOM, fixtures=(named,))))


def test_a_note_asks_for_the_height_of_sparks_where_a_vehicle_is_kept() -> None:
    hot = SHED.with_(stations=(BENCH, replace(DRILL, gives=("sparks",))), vehicles=(van(inside=0.5),))
    assert [n for n in notes(hot) if n.startswith("drill gives sparks or heat in a room with van in")]
    known = hot.with_(stations=(BENCH, replace(DRILL, gives=("sparks",), ignition_height=1.0)))
    assert not notes(known)


def test_light_by_kind_of_work() -> None:
    # EN 12464-1: rough 200, ordinary 300 to 500, fine 750 lx (S)
    work = SHED.with_(
        stations=(replace(BENCH, work="fine"), DRILL, station("anvil", 0.4, 0.4, work="rough")),
        jobs=(job("make", "bench", "drill", minutes=(("drill", 5.0),)),),
    )
    (said,) = notes(work)
    assert said == (
        "light on the work, by EN 12464-1 (from a secondary text): 750 lx for fine work at bench; 300 to 500 "
        "lx for ordinary work at drill; 200 lx for rough work at anvil; `work` says what is rough or fine"
    )


def test_the_file_changes_the_figures_of_these_rules() -> None:
    changed = rules({name: CheckSetting(figure=1.25) for name in ("oxygen-fuel", "spray-sparks", "placing")})
    said = {r.id: (r.figure, r.source) for r in changed}
    assert {said[name] for name in ("oxygen-fuel", "spray-sparks", "placing")} == {(1.25, "your file")}
