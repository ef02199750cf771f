"""Where a thing on castors waits: clear of the building, of what stands there and of what else waits.

The bench is x 2.25..3.75, y 3.2..4; the cart is used at (4.5, 2.5), clear of all.
"""

from __future__ import annotations

import pytest

from footwork.checks.result import CheckResult
from footwork.model.scenario import Placement, Scenario, Station
from shed import BENCH, DRILL, SHED, fixture, one, panel, results, station, with_room

USED = Placement(4.5, 2.5, 180.0)


def cart(x: float, y: float, name: str = "cart") -> Station:
    return station(name, 0.6, 0.6, castors=True, parked=Placement(x, y, 180.0))


def parked(x: float, y: float, scenario: Scenario = SHED, **places: Placement) -> CheckResult:
    return one(scenario.with_(stations=(BENCH, DRILL, cart(x, y))), "parked", "cart", cart=USED, **places)


def test_a_free_corner() -> None:
    assert parked(5.7, 3.7).ok
    assert not [r for r in results(SHED) if r.id == "parked"]


def test_what_stands_where_it_is_parked_can_move() -> None:
    found = parked(4.0, 3.5)  # x from 3.7, 0.05 m under the bench's end
    assert (found.ok, found.severity, found.actual) == (False, "must", pytest.approx(0.05))
    assert found.message == "bench is 0.05 m in the place where cart is parked: move bench 0.05 m west"
    assert parked(4.05, 3.5).ok
    assert parked(4.0, 3.5, bench=Placement(2.9, 3.6, 180.0)).ok


@pytest.mark.parametrize(
    ("x", "y", "other"),
    [
        (5.8, 3.0, "east wall"),  # 0.1 m of it outside
        (0.6, 1.4, "side"),  # in the door's swing
    ],
)
def test_in_the_building_s_way(x: float, y: float, other: str) -> None:
    found = parked(x, y)
    assert not found.ok
    assert other in found.message
    assert "park cart elsewhere" in found.message


def test_on_a_fixture() -> None:
    assert not parked(5.7, 3.7, with_room(fixtures=(fixture("post", 5.5, 3.7, 0.1, 0.1),))).ok
    assert parked(5.7, 3.7, with_room(fixtures=(fixture("post", 5.3, 3.7, 0.1, 0.1),))).ok


def test_where_a_panel_has_to_stay_clear() -> None:
    scenario = with_room(keep_clear=(panel(5.95, 2.5, 0.4, 0.1, facing=270.0),))
    found = parked(5.3, 2.5, scenario, drill=Placement(5.0, 0.3, 0.0))
    assert found.message == "cart is parked where panel has to stay clear: park it elsewhere"


def test_two_that_wait_in_one_place() -> None:
    scenario = SHED.with_(stations=(BENCH, DRILL, cart(5.7, 3.7), cart(5.2, 3.7, "trolley")))
    places = {"cart": USED, "trolley": Placement(3.0, 1.5, 180.0)}
    failed = [r for r in results(scenario, **places) if r.id == "parked" and not r.ok]
    assert [r.subject for r in failed] == ["trolley"]
    assert "park trolley elsewhere" in failed[0].message
