"""A job's distance: the package's dynamic programme against every combination of standing places.

One shed, 6 x 5 m, with a yard to the north through a wide door.  Rack, two benches alike (the longer way
to the first), a saw worked from two sides with places along them, and a van that stands in the doorway.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from engine import same
from footwork.floor.plan import Plan
from footwork.floor.routes import Walks
from footwork.model.scenario import (
    Carry,
    Door,
    Fixture,
    Job,
    Layout,
    Placement,
    Room,
    Scenario,
    Station,
    Vehicle,
    Visit,
    Walker,
    Wall,
    Yard,
)
from judge import geometry
from judge.known import box
from judge.routes import Walks as Judge
from shed import PLACES, SHED


def station(name: str, width: float, depth: float, **more: object) -> Station:
    outline = box(-width / 2, -depth / 2, width / 2, depth / 2)
    return Station(name, str(more.pop("group", name)), (width, depth), outline, **more)


def shed(inside: float = 0.3) -> Scenario:
    outline = box(0.0, 0.0, 6.0, 5.0)
    sides = (("south", (0, 1)), ("east", (-1, 0)), ("north", (0, -1)), ("west", (1, 0)))
    ends = zip(outline, (*outline[1:], outline[0]), sides, strict=True)
    walls = tuple(Wall(name, a, b, inward) for a, b, (name, inward) in ends)
    doors = (
        Door("gate", "north", (5.5, 5.0), (2.9, 5.0), (0, -1), vehicle=True, yard="yard"),
        Door("side", "west", (0.0, 2.0), (0.0, 3.0), (1, 0)),
    )
    room = Room(
        outline, walls, doors,
        fixtures=(Fixture("post", (3.0, 1.6), (0.3, 0.3), 180.0, box(2.85, 1.45, 3.15, 1.75)),),
        yards=(Yard("yard", box(1.0, 5.0, 6.0, 9.0)),),
    )  # fmt: skip
    stations = (
        station("rack", 1.8, 0.5),
        station("bench-1", 1.2, 0.7, group="bench"),
        station("bench-2", 1.2, 0.7, group="bench"),
        station("saw", 1.4, 0.8, stand=("front", "back"), along=True),
        station("forge", 0.8, 0.8, stand=("left",), outdoors=True),
    )
    van = Vehicle(
        "van", (1.6, 3.0), box(-0.8, -1.5, 0.8, 1.5), "gate",
        around=(("front", 0.6), ("left", 0.8), ("right", 0.8)), along=True, inside=inside,
    )  # fmt: skip
    placements = {
        "rack": Placement(1.1, 4.75, 180.0),
        "bench-1": Placement(5.5, 0.8, 270.0),
        "bench-2": Placement(1.0, 0.4, 20.0),
        "saw": Placement(3.3, 2.6, 150.0),
        "forge": Placement(2.0, 8.0, 90.0),
        "van": Placement(3.85, 5.5, 180.0),
    }
    layout = Layout("today", placements)
    return Scenario("shed", room, stations, vehicles=(van,), layouts=(layout,), walker=Walker())


def visit(word: str) -> Visit:
    if word.startswith("door:"):
        return Visit(word, "door", (word[5:],))
    name, _, side = word.partition(":")
    members = ("bench-1", "bench-2") if name == "bench" else (name,)
    return Visit(name, "vehicle" if name == "van" else "station", members, side or None)


def job(*words: str, **more: object) -> Job:
    return Job("job", 52.0, tuple(visit(word) for word in words), **more)


ROUTES = {
    "two stations": job("rack", "saw"),
    "a station twice running": job("rack", "saw", "saw", "rack"),
    "alike stations": job("rack", "bench", "saw", "bench"),
    "alike stations, twice running": job("bench", "bench", "rack", "bench", "bench"),
    "a member by name": job("rack", "bench-1", "saw", "bench"),
    "a side by name": job("saw:front", "rack", "saw:back", "bench"),
    "from one side to the other": job("saw:front", "saw:back"),
    "a repeat": job("rack", *("saw", "bench") * 4, "rack"),
    "to a door": job("door:side", "rack", "bench", "door:side"),
    "through the gate": job("bench", "forge", "rack"),
    "to the door of the yard": job("door:gate", "forge", "saw", "door:gate"),
    "the van, in": job("rack", "van", "saw", "van"),
    "the van, out": job("rack", "forge", "bench", outside=("van",)),
    "a wide load": job("rack", "saw", "bench", carry=(Carry("rack", "saw", 1.0),)),
    "a wide load to either bench": job("saw", "bench", "rack", carry=(Carry("saw", "bench", 0.8),)),
    "a wide load through the gate": job(
        "rack", "forge", outside=("van",), carry=(Carry("rack", "forge", 1.2),)
    ),
    "too wide a load": job("rack", "forge", outside=("van",), carry=(Carry("rack", "forge", 2.9),)),
}


@pytest.fixture(scope="module")
def both() -> tuple[Walks, Judge]:
    scenario = shed()
    return Walks(Plan(scenario, scenario.layouts[0])), Judge(scenario, scenario.layouts[0])


@pytest.mark.parametrize("recipe", ROUTES.values(), ids=ROUTES.keys())
def test_least_walk_is_that_of_every_combination(recipe: Job, both: tuple[Walks, Judge]) -> None:
    walks, judge = both
    found = walks.job(recipe)
    states = dict(geometry.states(judge.scenario, recipe))
    assert {frozenset(s.vehicles_in): s.share for s in found.states} == pytest.approx(states)
    for state in found.states:
        inside = frozenset(state.vehicles_in)
        steps = judge.by_steps(recipe, inside)
        choices = math.prod(len(judge.choices(v)) for v in recipe.route)
        if choices <= 50_000:
            assert judge.by_trying_all(recipe, inside).metres == pytest.approx(steps.metres)
        assert same(state.metres, steps.metres, below=1e-4, above=5e-4)
        if math.isfinite(state.metres):
            assert state.metres == pytest.approx(sum(leg.metres for leg in state.legs))
    if math.isfinite(found.metres):
        assert same(found.metres, judge.metres(recipe), below=1e-4, above=5e-4)


def test_a_station_twice_running_costs_nothing(both: tuple[Walks, Judge]) -> None:
    walks, _ = both
    once, twice = walks.job(job("rack", "bench", "saw")), walks.job(job("rack", "bench", "bench", "saw"))
    assert twice.metres == pytest.approx(once.metres)


def test_a_load_too_wide_for_the_gate_has_no_way(both: tuple[Walks, Judge]) -> None:
    walks, _ = both
    assert walks.job(ROUTES["too wide a load"]).metres == math.inf


def test_a_wide_load_costs_at_least_as_much(both: tuple[Walks, Judge]) -> None:
    walks, _ = both
    assert walks.job(ROUTES["a wide load"]).metres >= walks.job(job("rack", "saw", "bench")).metres


@pytest.mark.parametrize("inside", [0.0, 0.25, 1.0])
def test_a_jobs_distance_is_the_mean_over_the_vans_states(inside: float) -> None:
    scenario = shed(inside)
    walks = Walks(Plan(scenario, scenario.layouts[0]))
    recipe = job("rack", "forge", "saw")
    parts = {frozenset(s.vehicles_in): s.metres for s in walks.job(recipe).states}
    mean = sum((inside if state else 1 - inside) * metres for state, metres in parts.items())
    assert walks.job(recipe).metres == pytest.approx(mean)
    assert len(parts) == (2 if 0 < inside < 1 else 1)


def test_stations_flush_in_a_row_and_in_a_corner_walk_as_the_judge_has_it() -> None:
    """The rack in its corner, the benches in a row along the south wall, side to side."""
    scenario = shed()
    placements = {
        **scenario.layouts[0].placements,
        "rack": Placement(0.9, 4.75, 180.0),
        "bench-1": Placement(1.4, 0.35, 0.0),
        "bench-2": Placement(2.6, 0.35, 0.0),
    }
    layout = Layout("flush", placements)
    scenario = replace(scenario, layouts=(layout,))
    walks, judge = Walks(Plan(scenario, layout)), Judge(scenario, layout)
    for name in ("two stations", "alike stations", "a repeat", "a wide load", "through the gate"):
        for state in walks.job(ROUTES[name]).states:
            metres = judge.by_steps(ROUTES[name], frozenset(state.vehicles_in)).metres
            assert same(state.metres, metres, below=1e-4, above=5e-4), name


def test_after_a_move_everything_is_walked_as_if_anew() -> None:
    layout = Layout("today", PLACES)
    plan = Plan(SHED, layout)
    before = Walks(plan, squeeze=True)
    for job in SHED.jobs:
        before.job(job)
    for name, place in (
        ("drill", Placement(4.0, 1.8, 0.0)),
        ("bench", Placement(2.3, 3.6, 180.0)),
        ("drill", Placement(2.6, 2.9, 90.0)),
    ):
        layout = layout.moved({name: place})
        plan = plan.after(layout)
        before = Walks(plan, squeeze=True, before=before)
        fresh = Walks(Plan(SHED, layout), squeeze=True)
        for job in SHED.jobs:
            now, anew = before.job(job), fresh.job(job)
            assert now.metres == anew.metres
            assert [s.legs for s in now.states] == [s.legs for s in anew.states]
