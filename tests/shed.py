"""A small shed that every check is tried on, all figures by hand.

Room 6 x 4 m, south-west corner at the origin.

    y=4  +-------[ light 2..4 ]--------------+
         |      bench (3, 3.6) 1.5 x 0.8     |     bench looks south: x 2.25..3.75, y 3.2..4.0
         |      strip to y 2.45              |
         | side door, west wall y 1..1.9     |     opens inward, hinged at y 1: sweeps x 0..0.9
         |                                   |
         |                 drill (5, 0.3)    |     drill looks north: x 4.7..5.3, y 0..0.6, strip to 1.35
    y=0  +----[ roller 1..3.6 ]--------------+     the roller door opens to the yard, y -5..0, x 0..6
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from footwork.checks import run
from footwork.checks.result import CheckResult
from footwork.floor.plan import Plan
from footwork.floor.routes import walk
from footwork.model.scenario import (
    Door,
    Fixture,
    Job,
    KeepClear,
    Layout,
    Placement,
    Ring,
    Room,
    Scenario,
    Station,
    Vehicle,
    Visit,
    Wall,
    Window,
    Yard,
)

WALLS = (
    Wall("south", (0.0, 0.0), (6.0, 0.0), (0.0, 1.0)),
    Wall("east", (6.0, 0.0), (6.0, 4.0), (-1.0, 0.0)),
    Wall("north", (0.0, 4.0), (6.0, 4.0), (0.0, -1.0)),
    Wall("west", (0.0, 0.0), (0.0, 4.0), (1.0, 0.0)),
)
SIDE = Door("side", "west", (0.0, 1.0), (0.0, 1.9), (1.0, 0.0), swing="in", hinge="start")
ROLLER = Door("roller", "south", (1.0, 0.0), (3.6, 0.0), (0.0, 1.0), vehicle=True, yard="apron")
LIGHT = Window("light", "north", (2.0, 4.0), (4.0, 4.0), (0.0, -1.0))
ROOM = Room(
    outline=((0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (0.0, 4.0)),
    walls=WALLS,
    doors=(SIDE, ROLLER),
    windows=(LIGHT,),
    yards=(Yard("apron", ((0.0, -5.0), (6.0, -5.0), (6.0, 0.0), (0.0, 0.0))),),
    size=(6.0, 4.0),
)


def rectangle(width: float, depth: float) -> Ring:
    return (
        (-width / 2, -depth / 2),
        (width / 2, -depth / 2),
        (width / 2, depth / 2),
        (-width / 2, depth / 2),
    )


def box_at(x: float, y: float, width: float, depth: float) -> Ring:
    return tuple((x + u, y + v) for u, v in rectangle(width, depth))


def station(name: str, width: float, depth: float, **changes: Any) -> Station:
    return Station(name, name, (width, depth), rectangle(width, depth), **changes)


def van(**changes: Any) -> Vehicle:
    return Vehicle("van", (1.6, 3.0), rectangle(1.6, 3.0), "roller", **changes)


def fixture(name: str, x: float, y: float, width: float, depth: float) -> Fixture:
    return Fixture(name, (x, y), (width, depth), 180.0, box_at(x, y, width, depth))


def panel(x: float, y: float, wide: float, deep: float, facing: float = 180.0) -> KeepClear:
    turned = facing % 180 == 90
    outline = box_at(x, y, deep if turned else wide, wide if turned else deep)
    return KeepClear("panel", outline, (x, y), (wide, deep), facing, "electrical panel")


def job(name: str, *stops: str, kind: str = "station", **changes: Any) -> Job:
    known = {"van": "vehicle", "side": "door", "roller": "door"}
    visits = tuple(Visit(s, known.get(s, kind), (s,)) for s in stops)  # type: ignore[arg-type]
    return Job(name, 52.0, visits, **changes)


BENCH = station("bench", 1.5, 0.8, placing="wall")
DRILL = station("drill", 0.6, 0.6)
PLACES: Mapping[str, Placement] = {
    "bench": Placement(3.0, 3.6, 180.0),
    "drill": Placement(5.0, 0.3, 0.0),
    "van": Placement(2.3, -2.0, 0.0),
}
SHED = Scenario("shed", ROOM, (BENCH, DRILL), jobs=(job("make", "bench", "drill"),))


def with_room(**changes: Any) -> Scenario:
    return SHED.with_(room=replace(ROOM, **changes))


def results(scenario: Scenario, **places: Placement) -> tuple[CheckResult, ...]:
    """All checks on the shed's places with some changed."""
    layout = Layout("today", {**PLACES, **places})
    plan = Plan(scenario, layout)
    return run(plan, walk(plan))


def failed(scenario: Scenario, **places: Placement) -> dict[tuple[str, str], CheckResult]:
    """The failed checks by id and subject."""
    return {(r.id, r.subject): r for r in results(scenario, **places) if not r.ok}


def one(scenario: Scenario, check: str, subject: str, **places: Placement) -> CheckResult:
    found = [r for r in results(scenario, **places) if (r.id, r.subject) == (check, subject)]
    assert len(found) == 1, found
    return found[0]
