"""Heaters and what burns, sockets and taps, leads across the way; extinguishers are in ``test_fire.py``.

Bench x 2.25..3.75, y 3.2..4, its place (3, 2.9); drill x 4.7..5.3, y 0..0.6, its place (5, 0.9).
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from footwork.model.scenario import CheckSetting, Fixture, Placement, Scenario, Station
from shed import BENCH, DRILL, ROLLER, ROOM, SHED, SIDE, fixture, one, results, station, van

STORE = station("store", 0.4, 0.4, stand=(), minds=("flammable",))


def heated(kind: str, store: Station = STORE, **changes: object) -> Scenario:
    """A heater in the north-east corner: x 5.4..6, y 3.4..4."""
    heater = replace(fixture("heater", 5.7, 3.7, 0.6, 0.6), kind=kind)  # type: ignore[arg-type]
    room = replace(ROOM, fixtures=(heater,))
    return SHED.with_(room=room, stations=(BENCH, DRILL, store), **changes)


def beside(gap: float) -> dict[str, Placement]:
    """The store west of the heater's west side."""
    return {"store": Placement(5.4 - gap - 0.2, 3.7, 180.0)}


def test_what_burns_keeps_18_inches_from_a_heater() -> None:
    near = one(heated("heater"), "heater-clear", "store", **beside(0.45))
    assert (near.ok, near.severity, near.required) == (False, "must", 0.457)
    assert near.actual == pytest.approx(0.45)
    assert near.message == (
        "store holds what burns, 0.45 m from heater; 0.457 m is the least: move store 0.01 m west, or "
        "store it elsewhere"
    )
    assert "603.5.3" in near.source
    assert one(heated("heater"), "heater-clear", "store", **beside(0.46)).ok


def test_and_twice_as_far_from_a_stove() -> None:
    assert one(heated("stove"), "heater-clear", "store", **beside(0.92)).ok
    near = one(heated("stove"), "heater-clear", "store", **beside(0.90))
    assert (near.ok, near.required) == (False, 0.914)


def test_combustible_stock_counts_as_flammables_do_and_nothing_else() -> None:
    for minds, asked in ((("combustible",), True), (("dust", "sparks"), False)):
        scenario = heated("heater", replace(STORE, minds=minds))
        found = [r.ok for r in results(scenario, **beside(0.1)) if r.id == "heater-clear"]
        assert found == ([False] if asked else [])


def test_a_fixture_of_no_kind_heats_nothing_whatever_its_name() -> None:
    plain = heated("heater")
    heater = replace(plain.room.fixtures[0], kind=None)
    unknown = plain.with_(room=replace(ROOM, fixtures=(heater,)))
    assert not [r for r in results(unknown, **beside(0.1)) if r.id == "heater-clear"]


def test_the_maker_s_figure_goes_into_the_file() -> None:
    listed = heated("heater", checks={"heater-clear": CheckSetting(figure=1.0)})
    found = one(listed, "heater-clear", "store", **beside(0.9))
    assert (found.ok, found.required, found.source) == (False, 1.0, "your file")


# --- leads and hoses


def point(name: str, kind: str, x: float, y: float) -> Fixture:
    """A socket or tap on a wall, which takes no floor."""
    tiny = fixture(name, x, y, 1e-4, 1e-4)
    return replace(tiny, kind=kind)  # type: ignore[arg-type]


def fed(*points: Fixture, **drill: object) -> Scenario:
    """The shed with sockets and taps, and a drill that needs a socket."""
    needy = replace(DRILL, **{"needs": ("socket",), **drill})  # type: ignore[arg-type]
    return SHED.with_(room=replace(ROOM, fixtures=points), stations=(BENCH, needy))


def test_a_socket_within_the_lead() -> None:
    # from the drill's east side x 5.3 to the east wall 0.7 m; from its north side y 0.6 to y 3.7 on: 3.1 m
    assert one(fed(point("socket", "socket", 6.0, 0.3)), "lead-reach", "drill").ok
    far = one(fed(point("socket", "socket", 5.0, 3.7)), "lead-reach", "drill")
    assert (far.ok, far.severity, far.required) == (False, "should", 3.0)
    assert far.actual == pytest.approx(3.1, abs=1e-3)
    assert far.message == (
        "drill is 3.10 m from the nearest socket, and its lead is 3.00 m: move drill 0.10 m north, or have a "
        "socket put in, or a longer lead"
    )
    # half its 800 m for failing, and 0.1 of 3 m of the other half
    assert far.price == pytest.approx(400.0 + 400.0 * 0.1 / 3.0, abs=0.1)


def test_the_nearest_socket_counts_and_the_lead_of_the_file() -> None:
    two = (point("socket-1", "socket", 5.0, 3.7), point("socket-2", "socket", 6.0, 0.3))
    assert one(fed(*two), "lead-reach", "drill").ok
    assert one(fed(two[0], lead=3.2), "lead-reach", "drill").ok
    short = one(fed(two[1], lead=0.5, given=frozenset({"lead"})), "lead-reach", "drill")
    assert (short.ok, short.source) == (False, "your file")


def test_a_tap_is_no_socket() -> None:
    both = (point("tap", "tap", 0.0, 3.0), point("socket", "socket", 6.0, 0.3))
    sink = one(fed(*both, needs=("tap",)), "tap-reach", "drill")
    # from the drill's corner (4.7, 0.6) to (0, 3): 5.277 m
    assert sink.actual == pytest.approx(math.hypot(4.7, 2.4), abs=1e-3)
    assert (sink.ok, sink.severity, sink.required) == (False, "should", 3.0)
    assert "from the nearest tap, and its hose is 3.00 m: " in sink.message
    assert sink.message.endswith("have a tap put in, or a longer hose")
    # water is dearer to lay than a lead: half of 4000 m for failing, and what is missing of 3 m
    assert sink.price == pytest.approx(2000.0 + 2000.0 * (math.hypot(4.7, 2.4) - 3.0) / 3.0, abs=2.0)
    assert not [r for r in results(fed(*both, needs=("tap",))) if r.id == "lead-reach"]


def test_a_file_without_sockets_is_asked_for_none() -> None:
    asked = ("lead-reach", "tap-reach", "lead-across")
    assert not [r for r in results(fed()) if r.id in asked]
    assert not [r for r in results(fed(point("tap", "tap", 6.0, 0.3))) if r.id in asked]


PRESS = station("press", 0.4, 0.4, stand=(), needs=("socket",), lead=4.0)


def pressed(x: float, y: float, **places: Placement) -> tuple[bool, str]:
    """Whether the press, x 5.4..5.8, y 2.6..3, has its lead to a socket across no way; and what is said."""
    scenario = SHED.with_(
        room=replace(ROOM, fixtures=(point("socket", "socket", x, y),)), stations=(BENCH, DRILL, PRESS)
    )
    found = one(scenario, "lead-across", "press", **{"press": Placement(5.6, 2.8, 180.0), **places})
    return found.ok, found.message


def test_a_lead_across_the_way() -> None:
    # from bench to drill one walks along x + y = 5.9: a lead to (3.4, 0) crosses that, one to (6, 2) does not
    ok, message = pressed(3.4, 0.0)
    assert not ok
    assert message == (
        "the lead from press to its socket lies across the way from bench to drill (make): lead it overhead "
        "or under a cover, or stand press by a socket"
    )
    assert pressed(6.0, 2.0) == (True, "no way of a job crosses a lead of press")


def test_a_lead_that_does_not_reach_is_across_nothing() -> None:
    # 3.28 m to the socket: with a lead of 3 m `lead-reach` tells, and nothing lies on the floor
    scenario = SHED.with_(
        room=replace(ROOM, fixtures=(point("socket", "socket", 3.4, 0.0),)),
        stations=(BENCH, DRILL, replace(PRESS, lead=3.0)),
    )
    places = {"press": Placement(5.6, 2.8, 180.0)}
    assert not one(scenario, "lead-reach", "press", **places).ok
    assert not [r for r in results(scenario, **places) if r.id == "lead-across"]


def test_a_lead_across_a_way_round_a_vehicle_says_so() -> None:
    """The van stands between bench and drill: one walks round its nose, over the lead of the press."""
    # from (1.1, 2) to (5, 0.9) below the lead at y 2.8; past the van, x 2..3.6, y 0.2..3.2, above it
    stations = (replace(BENCH, placing="any"), DRILL, replace(PRESS, lead=6.0))
    plain = SHED.with_(
        room=replace(ROOM, doors=(SIDE,), yards=(), fixtures=(point("socket", "socket", 0.0, 2.8),)),
        stations=stations,
    )
    places = {
        "bench": Placement(0.4, 2.0, 90.0),
        "press": Placement(5.6, 2.8, 180.0),
        "van": Placement(2.8, 1.7, 0.0),
    }
    assert one(plain, "lead-across", "press", **places).ok
    room = replace(plain.room, doors=(SIDE, replace(ROLLER, yard=None)))
    parked = plain.with_(room=room, vehicles=(van(inside=0.9),))
    found = one(parked, "lead-across", "press", **places)
    assert found.message.startswith(
        "while van is in, the lead from press to its socket lies across the way from bench to drill (make): "
    )
