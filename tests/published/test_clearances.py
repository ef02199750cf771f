"""Figures of the checks against where they were published.

How sure each is: P read in the primary text, S in a secondary text, C computed from a closed form here,
M from memory.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from footwork.checks import RULES, rules
from footwork.checks.doors import PANEL_WIDTH
from footwork.checks.fittings import KINDS
from footwork.checks.hazards import BARRIER
from footwork.checks.notes import LIGHT
from footwork.checks.walking import WARN_BY
from footwork.checks.wheelchair import FLOOR, ROUTE, TURNING
from footwork.floor.plan import Plan
from footwork.floor.shapes import PART
from footwork.model.catalogue import CATALOGUE
from footwork.model.rules import RULE_IDS
from footwork.model.scenario import CheckSetting, Layout, Placement, Room, Scenario, Vehicle, Walker, Wall
from footwork.show.mats import HOURS_A_DAY, STRETCH_MINUTES
from shed import SHED, job, one, rectangle, station

INCH, FOOT = 0.0254, 0.3048
FIGURE = {rule.id: rule.figure for rule in RULES}
SOURCE = {rule.id: rule.source for rule in RULES}


def test_oxygen_stands_20_feet_from_fuel_gas_or_behind_a_barrier_of_5_feet() -> None:
    # 29 CFR 1910.253(b)(4)(iii) (S)
    assert FIGURE["oxygen-fuel"] == pytest.approx(20 * FOOT)
    assert pytest.approx(5 * FOOT) == BARRIER


def test_sparks_stand_20_feet_from_spraying() -> None:
    # 29 CFR 1910.107(c)(2) (M)
    assert FIGURE["spray-sparks"] == pytest.approx(20 * FOOT)
    assert "from memory" in SOURCE["spray-sparks"]


def test_ignition_is_18_inches_above_a_garage_floor() -> None:
    # IRC M1307.3 (S)
    assert FIGURE["ignition-height"] == pytest.approx(18 * INCH, abs=5e-4)


def test_the_way_to_an_extinguisher() -> None:
    # 29 CFR 1910.157(d): class A 75 ft, class B 50 ft (S)
    assert FIGURE["extinguisher"] == pytest.approx(75 * FOOT)
    assert FIGURE["extinguisher-flammables"] == pytest.approx(50 * FOOT)


def test_an_extinguisher_is_readily_accessible() -> None:
    # 29 CFR 1910.157(c)(1): nothing over or before it, and a way to it (S); how deep is common practice
    assert "29 CFR 1910.157(c)(1)" in SOURCE["extinguisher-clear"]
    assert "common practice" in SOURCE["extinguisher-clear"]
    assert FIGURE["extinguisher-clear"] == 0.90


def test_an_exit_s_way_is_unobstructed_and_28_inches_wide() -> None:
    # 29 CFR 1910.37(a)(3): free and unobstructed (S); 1910.36(g)(2): 28 in (P)
    assert "29 CFR 1910.37(a)(3)" in SOURCE["exit-way"]
    assert "1910.36(g)(2)" in SOURCE["exit-way"]
    assert FIGURE["exit-way"] == pytest.approx(28 * INCH)
    assert FIGURE["exit-way"] == FIGURE["way-out"]


def test_what_burns_is_18_inches_from_a_heater_and_36_from_a_stove() -> None:
    # International Fire Code 603.5.3, as adopted in a state code (S)
    assert "International Fire Code 603.5.3" in SOURCE["heater-clear"]
    figure = FIGURE["heater-clear"]
    assert figure == pytest.approx(18 * INCH, abs=5e-4)
    assert {kind: times * figure for kind, times in KINDS.items()} == {  # type: ignore[operator]
        "heater": pytest.approx(18 * INCH, abs=5e-4),
        "stove": pytest.approx(36 * INCH, abs=1e-3),
    }


def test_beside_a_parked_car() -> None:
    # parking designers' rule of thumb: 20 to 24 in to open a door (S); a hand's breadth round it (M)
    assert 20 * INCH < (FIGURE["driver-door"] or 0.0) <= 24 * INCH
    assert FIGURE["vehicle-margin"] == 0.15
    assert {SOURCE["driver-door"], SOURCE["vehicle-margin"]} == {"common practice"}


def test_light_on_the_work() -> None:
    # EN 12464-1: rough 200 lx, ordinary 300 to 500 lx, fine 750 lx (S)
    assert dict(LIGHT) == {"rough": "200 lx", "ordinary": "300 to 500 lx", "fine": "750 lx"}


def test_standing_is_prolonged_over_an_hour_or_four_hours_a_day() -> None:
    # occupational-health guidance (P)
    assert (STRETCH_MINUTES, HOURS_A_DAY) == (60.0, 4.0)


def test_the_default_speed_is_below_a_comfortable_walk() -> None:
    # Bohannon 1997, Age and Ageing 26:15-19: 1.272 to 1.462 m/s at 20 to 79 years (P); Bohannon and Andrews
    # 2011, Physiotherapy 97:182-189: 1.31 to 1.43 m/s at 20 to 59 years (S)
    assert Walker().speed < 1.272 < 1.31


def test_the_default_walker_is_the_least_walkway_to_machinery() -> None:
    # EN ISO 14122-2: least 0.60 m, usual 0.80 m (S); two who pass take twice the least
    assert Walker().width == 0.60
    assert 2 * 0.60 == 1.2


def test_no_aisle_width_is_claimed_of_clauses_that_give_none() -> None:
    # 29 CFR 1910.22 and 1910.176 give no aisle width (P)
    told = [rule.source for rule in RULES]
    told += [value.source for entry in CATALOGUE.values() for value in entry.values.values()]
    assert not [source for source in told if "1910.22(" in source or "1910.176" in source]


def test_three_feet_at_the_free_sides_of_a_woodworking_machine() -> None:
    # HSE, Health and Safety at Work booklet 41, 1970 (S)
    found = [v.value for e in CATALOGUE.values() for v in e.values.values() if "booklet 41" in v.source]
    assert found
    assert found == [pytest.approx(3 * FOOT, abs=5e-4)] * len(found)


def test_a_full_sheet_at_a_table_saw() -> None:
    # trade magazine figure, common practice (S): 8 ft before and behind, 6 ft beside
    stock = CATALOGUE["table saw"].values["stock"].value
    assert (stock["front"], stock["back"]) == pytest.approx((8 * FOOT, 8 * FOOT), abs=5e-3)
    assert max(stock.get("left", 0), stock.get("right", 0)) == pytest.approx(6 * FOOT, abs=5e-3)


def test_a_bench_is_about_five_by_three_feet() -> None:
    # common practice: about 1.5 x 1 m (5 x 3 ft)
    wide, deep = CATALOGUE["island bench"].values["size"].value
    assert (wide, deep) == pytest.approx((5 * FOOT, 3 * FOOT), abs=0.05)


def test_hot_work_is_35_feet_from_what_burns() -> None:
    # 29 CFR 1910.252(a)(2)(vii), NFPA 51B (S)
    assert FIGURE["sparks-flammables"] == pytest.approx(35 * FOOT)
    assert FIGURE["vehicle-sparks"] == pytest.approx(35 * FOOT)


def test_the_least_way_out() -> None:
    # 29 CFR 1910.36(g)(2): 28 in (P); a shortfall of up to 10 mm is a warning only
    assert FIGURE["way-out"] == pytest.approx(28 * INCH)
    assert WARN_BY == 0.010


@pytest.mark.parametrize(("gap", "ok"), [(0.712, True), (0.705, True), (0.70, False)])
def test_a_way_out_a_little_too_narrow_is_pointed_out_and_passes(gap: float, ok: bool) -> None:
    # a shelf from the east wall, y 1.8..2, leaves a gap at the west wall; the one door is in the south
    shelf = station("shelf", 6.0 - gap, 0.2, stand=())
    room = replace(SHED.room, doors=SHED.room.doors[1:])
    scenario = SHED.with_(room=room, stations=(*SHED.stations, shelf))
    found = one(scenario, "way-out", "bench", shelf=Placement(6.0 - (6.0 - gap) / 2, 1.9, 180.0))
    assert found.ok is ok
    assert found.actual == pytest.approx(gap, abs=1e-4)
    assert ("is the least for a way out" in found.message) is (gap < 28 * INCH)


def test_space_before_an_electrical_panel() -> None:
    # NEC 110.26(A): 3 ft deep, 30 in wide or the equipment's width, not necessarily centred (S)
    assert FIGURE["panel-space"] == pytest.approx(3 * FOOT, abs=5e-4)
    assert pytest.approx(30 * INCH) == PANEL_WIDTH


def test_wheelchair_figures() -> None:
    # ADA Standards 2010: 403.5.1 route 36 in, 304.3.1 turning space 60 in, 305.3 floor 30 x 48 in (S)
    assert pytest.approx(36 * INCH, abs=1e-3) == ROUTE
    assert pytest.approx(60 * INCH, abs=2e-3) == TURNING
    assert pytest.approx((30 * INCH, 48 * INCH), abs=3e-3) == FLOOR


def test_the_default_walker_is_a_broad_man_s_shoulders() -> None:
    # ANSUR II, 95th percentile of men: shoulders 0.567 m, across the forearms 0.667 m (C)
    assert 0.567 < Walker().width < 0.667
    assert Walker().width == PART


def test_a_medium_car_in_a_single_garage_leaves_no_way_round_until_it_shifts() -> None:
    # AS/NZS 2890.1 B85 vehicle, 4.91 x 1.87 m (S), in 3.0 x 6.0 m: (3.0 - 1.87) / 2 = 0.565 m each side (C)
    outline = ((0.0, 0.0), (3.0, 0.0), (3.0, 6.0), (0.0, 6.0))
    ends = zip(outline, (*outline[1:], outline[0]), strict=True)
    walls = tuple(Wall(str(k), a, b, (0.0, 1.0)) for k, (a, b) in enumerate(ends))
    car = Vehicle("car", (1.87, 4.91), rectangle(1.87, 4.91), "door")
    garage = Scenario("garage", Room(outline, walls), (), vehicles=(car,))

    def way(x: float) -> float:
        plan = Plan(garage, Layout("today", {"car": Placement(x, 3.0, 0.0)}))
        return plan.scene(frozenset({"car"})).length((2.7, 0.3), (2.7, 5.7), Walker().radius)

    assert way(1.5) == float("inf")
    assert way(1.5 - 0.034) == float("inf")
    assert way(1.5 - 0.035) == pytest.approx(5.4)  # 0.035 m is what is missing of 0.60 m


def test_every_rule_is_known_to_the_reader_and_says_its_source() -> None:
    assert {rule.id for rule in RULES} == set(RULE_IDS)
    for rule in RULES:
        assert rule.source.startswith(("published: ", "common practice", "your file"))
        assert rule.what


def test_the_file_changes_a_rule() -> None:
    changed = {r.id: r for r in rules({"gives-minds": CheckSetting(figure=3.0)})}
    assert (changed["gives-minds"].figure, changed["gives-minds"].source) == (3.0, "your file")
    assert (changed["gives-minds"].severity, changed["in-room"].figure) == ("should", None)


def test_published_sources_reach_the_results() -> None:
    sparks = SHED.with_(
        stations=(
            station("grinder", 0.6, 0.6, gives=("sparks",)),
            station("paint", 0.6, 0.6, minds=("flammable",)),
        ),
        jobs=(job("make", "grinder", "paint"),),
    )
    found = one(
        sparks,
        "sparks-flammables",
        "paint",
        grinder=Placement(1.5, 2.0, 180.0),
        paint=Placement(4.0, 2.0, 180.0),
    )
    assert "1910.252(a)(2)(vii)" in found.source
    assert found.actual == pytest.approx(1.9)
