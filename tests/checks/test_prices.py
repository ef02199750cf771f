"""What failed should-checks count, in metres of walking a year, and what a file accepts."""

from __future__ import annotations

from dataclasses import replace

import pytest

import footwork
from footwork.checks import RULES, rules
from footwork.checks.rule import COMMON_PRACTICE, Rule
from footwork.model.read import loads
from footwork.model.rules import RULE_IDS, RULES_WITH_FIGURE, SEVERE
from footwork.model.scenario import CheckSetting, Layout, Placement, Scenario
from shed import BENCH, DRILL, PLACES, SHED, failed, one, results, station

PRICED = Rule("some", "something is {figure} away", "should", COMMON_PRACTICE, 2.0, price=1000.0)


def test_half_a_price_for_failing_and_half_for_what_is_missing() -> None:
    assert PRICED.cost(2.0, 2.0) == 500.0
    assert PRICED.cost(2.0, 1.5) == 500.0 + 500.0 * 0.25
    assert PRICED.cost(2.0, 0.0) == 1000.0
    assert PRICED.cost(2.0, 9.0) == 1000.0  # no more than all of it is missing, either way
    assert PRICED.cost(1.0, 1.2) == pytest.approx(600.0)  # too tall by a fifth


def test_where_nothing_says_how_much_is_missing_it_is_all() -> None:
    assert PRICED.cost(None, None) == PRICED.cost(0.0, 0.4) == PRICED.cost(2.0, float("inf")) == 1000.0


def test_a_must_has_no_price_and_what_is_accepted_costs_nothing() -> None:
    assert replace(PRICED, severity="must").cost(2.0, 0.0) == 0.0
    assert replace(PRICED, accepted="watched").cost(2.0, 0.0) == 0.0


def test_the_file_sets_a_price() -> None:
    settings = {"gives-minds": CheckSetting(price=40.0), "way-out": CheckSetting(severity="must")}
    found = {rule.id: rule for rule in rules(settings)}
    assert (found["gives-minds"].price, found["gives-minds"].figure) == (40.0, 2.0)
    assert found["gives-minds"].source == COMMON_PRACTICE  # the figure is still the trade's
    assert found["way-out"].cost(0.7112, 0.5) == 0.0
    assert found["way-out"].to_dict()["price"] is None


def test_every_should_has_a_price_and_no_must_has_one() -> None:
    assert {rule.id for rule in RULES if rule.severity == "should" and not rule.price} == set()
    assert {rule.id for rule in RULES if rule.severity == "must" and rule.price} == set()


def test_the_lists_of_ids_are_those_of_the_rules() -> None:
    assert [rule.id for rule in RULES if rule.id not in RULE_IDS] == []
    assert len(RULES) == len(RULE_IDS) == len(set(RULE_IDS))
    assert {rule.id for rule in RULES if rule.severity == "must"} == SEVERE
    assert {rule.id for rule in RULES if rule.figure is not None} == RULES_WITH_FIGURE


def dusty(price: float | None = None, accepted: str = "") -> Scenario:
    """Bench x 2.25..3.75, y 3.2..4 minds dust; the drill's west side at x 4.25 is 0.5 m from it."""
    setting = CheckSetting(price=price, accepted=accepted)
    return SHED.with_(
        stations=(replace(BENCH, minds=("dust",)), replace(DRILL, gives=("dust",))),
        checks={"gives-minds": setting},
    )


NEAR = {"drill": Placement(4.55, 3.7, 180.0)}


def test_a_failed_check_has_its_price() -> None:
    # 1.5 m of 2 m are missing: half of 1500 m, and three quarters of the other half
    found = one(dusty(), "gives-minds", "bench", **NEAR)
    assert found.actual == pytest.approx(0.5)
    assert found.price == pytest.approx(750.0 + 750.0 * 0.75)
    assert one(dusty(price=200.0), "gives-minds", "bench", **NEAR).price == pytest.approx(175.0)
    assert one(dusty(price=0.0), "gives-minds", "bench", **NEAR).price == 0.0


def test_every_fault_of_a_subject_is_paid_for() -> None:
    # a second source of dust 1 m from the bench's west end: half of 2 m is missing
    sander = station("sander", 0.4, 0.4, gives=("dust",), stand=())
    two = dusty().with_(stations=(*dusty().stations, sander))
    found = one(two, "gives-minds", "bench", **NEAR, sander=Placement(1.05, 3.8, 180.0))
    assert found.price == pytest.approx(1312.5 + 750.0 + 750.0 * 0.5)
    assert "sander" in found.message


def test_what_is_accepted_is_listed_with_its_words_and_costs_nothing() -> None:
    found = one(dusty(accepted="the lathe is only used outdoors"), "gives-minds", "bench", **NEAR)
    assert (found.ok, found.price, found.accepted) == (True, 0.0, "the lathe is only used outdoors")
    assert found.message.startswith("drill gives dust 0.50 m from bench")
    assert found.message.endswith("(accepted: the lathe is only used outdoors)")
    assert ("gives-minds", "bench") not in failed(dusty(accepted="outdoors"), **NEAR)
    # where it holds there is nothing to accept
    assert one(dusty(accepted="outdoors"), "gives-minds", "bench").accepted == ""


def test_the_cost_of_a_layout_is_walking_and_prices() -> None:
    layout = Layout("today", {**PLACES, **NEAR})
    score = footwork.score(dusty(), layout)
    assert score.check_metres == pytest.approx(sum(r.price for r in results(dusty(), **NEAR)))
    assert score.check_metres >= 1312.5
    assert score.cost == pytest.approx(score.metres_per_year + score.check_metres)
    free = footwork.score(dusty(accepted="outdoors"), layout)
    assert free.check_metres == pytest.approx(score.check_metres - 1312.5)
    assert free.metres_per_year == score.metres_per_year


FILE = """
[room]
size = [6, 4]
[stations]
bench = { size = [1.5, 0.8], minds = ["flammable"] }
grinder = { size = [0.5, 0.5], gives = ["sparks"] }
[jobs]
make = { times = "1 per week", route = ["bench", "grinder"] }
[checks]
gives-minds = { price = 500 }
accepted = { sparks-flammables = "a fire watch is kept for an hour" }
"""


def test_both_are_read_from_the_file() -> None:
    checks = loads(FILE).checks
    assert checks["gives-minds"].price == 500.0
    assert checks["sparks-flammables"].accepted == "a fire watch is kept for an hour"
