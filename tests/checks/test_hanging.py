"""What hangs, in the shed of ``tests/shed.py``: what may be below it, and what may not.

A cabinet over the bench: x 2.5..3.5, y 3.7..4.0, 1.4 m above the floor.  With a reach of 0.5 m its strip
begins at the bench's front, y 3.2.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from footwork.checks.ground import Ground, Placed
from footwork.checks.mending import Mover
from footwork.checks.run import musts
from footwork.floor.headroom import HEADROOM, fits_below, overhead, share_floor
from footwork.floor.plan import Plan
from footwork.floor.routes import walk
from footwork.model.scenario import KeepClear, Layout, Placement, Scenario, Station, Stock
from shed import (
    BENCH,
    DRILL,
    PLACES,
    ROLLER,
    SHED,
    SIDE,
    box_at,
    failed,
    fixture,
    job,
    one,
    panel,
    station,
    van,
    with_room,
)

OVER_BENCH = Placement(3.0, 3.85, 180.0)


def cabinet(**changes: Any) -> Station:
    usual: dict[str, Any] = {"placing": "wall", "from_floor": 1.4, "height": 2.0, "reach": 0.5}
    return station("cabinet", 1.0, 0.3, **{**usual, **changes})


def rack(from_floor: float, **changes: Any) -> Station:
    return station("rack", 1.0, 1.0, from_floor=from_floor, stand=(), **changes)


def hung(*more: Station, scenario: Scenario = SHED, bench: float | None = 0.9) -> Scenario:
    """The shed with more stations, and a bench of known height."""
    known = [replace(s, height=bench) if s.name == "bench" else s for s in scenario.stations]
    return scenario.with_(stations=(*known, *more))


@pytest.mark.parametrize(("top", "clear"), [(0.9, True), (1.4, True), (1.41, False), (None, False)])
def test_what_is_known_to_be_low_enough_stands_below(top: float | None, clear: bool) -> None:
    found = failed(hung(cabinet(), bench=top), cabinet=OVER_BENCH)
    assert (("no-overlap", "bench") in found) is not clear


def test_the_strip_begins_where_one_need_not_reach_any_more() -> None:
    scenario = hung(cabinet())
    plan = Plan(scenario, Layout("any", {**PLACES, "cabinet": OVER_BENCH}))
    (strip,) = plan.strips("cabinet")
    assert strip.polygon[:, 1].max() == pytest.approx(3.2)
    assert strip.polygon[:, 1].min() == pytest.approx(2.45)
    (place,) = plan.places("cabinet")
    assert place.at == pytest.approx((3.0, 2.9))  # half the walker's 0.6 m before that
    assert not failed(scenario, cabinet=OVER_BENCH)


def test_without_the_reach_the_bench_stands_where_one_would() -> None:
    found = one(hung(cabinet(reach=0.3)), "strips-clear", "cabinet", cabinet=OVER_BENCH)
    assert not found.ok
    assert "bench" in found.message
    assert found.actual == pytest.approx(0.0)


@pytest.mark.parametrize(("top", "ok"), [(0.9, True), (1.4, True), (1.6, False), (None, False)])
def test_what_stands_where_one_reaches_is_lower(top: float | None, ok: bool) -> None:
    """A thing 0.3 m deep right before the face, y 3.4..3.7: one reaches 0.5 m over it."""
    low = station("shelf", 1.0, 0.3, height=top, stand=())
    scenario = SHED.with_(stations=(DRILL, cabinet(), low), jobs=())
    places = {"cabinet": OVER_BENCH, "shelf": Placement(3.0, 3.55, 180.0)}
    found = one(scenario, "strips-clear", "cabinet", **places)
    assert found.ok is ok
    if not ok:
        assert "reached over 0.50 m" in found.message
        assert "1.40 m" in found.message


def test_a_fixture_is_as_tall_as_any() -> None:
    scenario = with_room(fixtures=(fixture("pipe", 3.0, 3.6, 0.1, 0.1),))
    scenario = scenario.with_(stations=(DRILL, cabinet()), jobs=())
    assert not one(scenario, "strips-clear", "cabinet", cabinet=OVER_BENCH).ok


@pytest.mark.parametrize(("underside", "straight"), [(HEADROOM, True), (2.032, True), (2.02, False)])
def test_people_walk_below_what_leaves_them_headroom(underside: float, straight: bool) -> None:
    """From before the bench (3, 2.9) to before the drill (5, 0.9), under a rack about (4, 1.9)."""
    scenario = hung(rack(underside))
    (walked,) = walk(Plan(scenario, Layout("any", {**PLACES, "rack": Placement(4.0, 1.9, 0.0)})))
    assert (walked.metres == pytest.approx(math.sqrt(8.0))) is straight
    assert walked.metres < 4.0
    assert overhead(rack(underside)) is straight


@pytest.mark.parametrize(("underside", "ok"), [(HEADROOM, True), (2.0, False)])
def test_strips_lie_below_what_people_walk_under(underside: float, ok: bool) -> None:
    scenario = hung(rack(underside, height=2.4))
    assert one(scenario, "strips-clear", "bench", rack=Placement(3.0, 2.6, 0.0)).ok is ok


@pytest.mark.parametrize(
    ("door", "underside", "ok"),
    [(None, HEADROOM, True), (None, 2.0, False), (2.2, 2.1, False), (2.2, 2.2, True), (1.9, 1.95, True)],
)
def test_a_door_opens_below_what_hangs_as_high_as_it(door: float | None, underside: float, ok: bool) -> None:
    scenario = hung(rack(underside), scenario=with_room(doors=(replace(SIDE, height=door), ROLLER)))
    assert one(scenario, "door-swing", "side", rack=Placement(0.5, 1.6, 0.0)).ok is ok


@pytest.mark.parametrize(("underside", "ok"), [(1.98, True), (1.97, False)])
def test_before_a_panel_two_metres_less_two_centimetres_are_free(underside: float, ok: bool) -> None:
    """NEC 110.26(A)(3): 6.5 ft, 1.98 m.  A panel at the north wall, x 4.9..5.4."""
    scenario = hung(rack(underside), scenario=with_room(keep_clear=(panel(5.15, 3.9, 0.5, 0.2),)))
    assert one(scenario, "panel-space", "panel", rack=Placement(5.2, 3.4, 0.0)).ok is ok


@pytest.mark.parametrize(("underside", "ok"), [(HEADROOM, True), (1.98, False)])
def test_floor_to_keep_clear_is_so_up_to_the_headroom(underside: float, ok: bool) -> None:
    area = KeepClear("way", box_at(1.5, 3.0, 1.0, 1.0), (1.5, 3.0), (1.0, 1.0), 180.0)
    scenario = hung(rack(underside), scenario=with_room(keep_clear=(area,)))
    assert one(scenario, "keep-clear", "way", rack=Placement(1.5, 3.0, 0.0)).ok is ok


@pytest.mark.parametrize(
    ("tall", "underside", "ok"), [(1.9, 1.9, True), (1.9, 1.8, False), (None, 2.4, False)]
)
def test_a_vehicle_of_known_height_drives_below(tall: float | None, underside: float, ok: bool) -> None:
    """The van in, nose north: x 1.5..3.1, y 0.2..3.2; the rack hangs in its way."""
    scenario = SHED.with_(stations=(rack(underside),), vehicles=(van(height=tall, inside=0.5),), jobs=())
    places = {"van": Placement(2.3, 1.7, 0.0), "rack": Placement(2.3, 0.8, 0.0)}
    found = failed(scenario, **places)
    for check in ("drive-in", "no-overlap", "vehicle-margin"):
        subjects = {subject for failing, subject in found if failing == check}
        assert bool(subjects & {"van", "rack"}) is not ok, check


@pytest.mark.parametrize(("underside", "ok"), [(HEADROOM, True), (1.95, False)])
def test_one_works_beside_a_vehicle_below_what_one_walks_under(underside: float, ok: bool) -> None:
    """The van looks south, x 1.5..3.1, and is worked at to its west: a rack hangs there, above the van.

    Whether people walk below it is another matter.
    """
    low = van(height=1.9, around=(("left", 0.6),))
    scenario = SHED.with_(stations=(rack(underside),), vehicles=(low,), jobs=(job("fix", "van"),))
    places = {"van": Placement(2.3, 1.7, 180.0), "rack": Placement(1.2, 2.0, 0.0)}
    assert one(scenario, "vehicle-around", "van", **places).ok is ok


@pytest.mark.parametrize(("underside", "ok"), [(0.95, True), (0.9, False), (0.5, False)])
def test_long_stock_passes_below_what_hangs_higher_than_it_lies(underside: float, ok: bool) -> None:
    """Stock at the drill's right hand, out to the west: x 3.7..4.7, 0.9 m up."""
    sawing = replace(DRILL, stock=Stock(right=1.0, width=0.3), work_height=0.9)
    hangs = rack(underside, height=2.0)
    scenario = SHED.with_(stations=(BENCH, sawing, hangs), jobs=())
    found = one(scenario, "stock-clear", "drill", rack=Placement(3.9, 0.6, 0.0))
    left = one(scenario, "stock-clear", "drill", rack=Placement(5.4, 2.4, 0.0))
    assert left.ok
    assert found.ok is ok


@pytest.mark.parametrize(("underside", "top", "ok"), [(2.1, 2.4, True), (1.8, 2.0, True), (1.8, 2.4, False)])
def test_what_hangs_above_or_ends_below_an_open_leaf(underside: float, top: float, ok: bool) -> None:
    roller = replace(ROLLER, height=2.1, leaf=2.0)
    scenario = hung(rack(underside, height=top), scenario=with_room(doors=(SIDE, roller)))
    found = {check for check, subject in failed(scenario, rack=Placement(2.3, 1.0, 0.0)) if subject == "rack"}
    assert ("open-leaf" not in found) is ok


def test_one_hangs_below_another() -> None:
    low, high = cabinet(height=1.6), station("upper", 1.0, 0.4, from_floor=1.6)
    assert fits_below(low, high)
    assert share_floor(high, low)
    assert not fits_below(cabinet(height=None), high)
    assert not share_floor(cabinet(height=1.7), high)


def test_a_told_move_may_end_below_what_hangs() -> None:
    scenario = hung(cabinet(), bench=None)
    mover = Mover(Ground(scenario), (Placed(cabinet(), OVER_BENCH),), musts)
    for top, ok in ((0.9, True), (1.5, False), (None, False)):
        low = station("bin", 0.6, 0.3, height=top, stand=())
        assert mover.can_stand(Placed(low, Placement(3.0, 3.85, 180.0))) is ok
