"""Figures of the checks against where they were published.

How sure each is: P read in the primary text, S in a secondary text, C computed from a closed form here,
M from memory.
"""

from __future__ import annotations

import pytest

from footwork.checks import RULES, rules
from footwork.checks.doors import PANEL_WIDTH
from footwork.checks.wheelchair import FLOOR, ROUTE, TURNING
from footwork.floor.plan import Plan
from footwork.floor.shapes import PART
from footwork.model.rules import RULE_IDS
from footwork.model.scenario import CheckSetting, Layout, Placement, Room, Scenario, Vehicle, Walker, Wall
from shed import SHED, job, one, rectangle, station

INCH, FOOT = 0.0254, 0.3048
FIGURE = {rule.id: rule.figure for rule in RULES}


def test_hot_work_is_35_feet_from_what_burns() -> None:
    # 29 CFR 1910.252(a)(2)(vii), NFPA 51B (S)
    assert FIGURE["sparks-flammables"] == pytest.approx(35 * FOOT)
    assert FIGURE["vehicle-sparks"] == pytest.approx(35 * FOOT)


def test_the_least_way_out() -> None:
    # 29 CFR 1910.36(g)(2): 28 in (P)
    assert FIGURE["way-out"] == pytest.approx(28 * INCH)


def test_space_before_an_electrical_panel() -> None:
    # NEC 110.26(A): 3 ft deep, 30 in wide (S)
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
