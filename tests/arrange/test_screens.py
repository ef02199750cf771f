"""Screens that may be moved: what they cut off, what tables know of it, and that the search puts them up."""

from __future__ import annotations

import math

import pytest

from arrange.test_small_problems import apart, pair_table
from footwork import checks
from footwork.arrange.spots.enumerate import find_spots
from footwork.arrange.suggest import suggest
from footwork.checks.ground import Ground, Placed
from footwork.checks.hazards import least_apart, may_be_shielded, shielded
from footwork.model.errors import ScenarioError
from footwork.model.read import loads
from footwork.model.scenario import Placement, Scenario, Spot
from footwork.scoring import score

# Welding at the west wall and paint at the east wall of a room of 4 x 3 m; screens of 1.8 m between.
ROOM = """
[room]
size = [4.0, 3.0]
[stations.weld]
size = [0.8, 0.6]
gives = ["sparks", "noise"]
[stations.paint]
size = [0.8, 0.4]
minds = ["flammable", "noise"]
[stations.screen]
size = [1.8, 0.05]
stand = []
shield = true
{more}
[jobs.make]
times = "5 per week"
route = ["weld", "paint", "weld"]
[checks]
sparks-flammables = {{ severity = "{severity}" }}
gives-minds = {{ severity = "should", figure = 0.1 }}
"""
WELD = Placement(0.3, 1.5, 90.0)
PAINT = Placement(3.8, 1.5, 270.0)
BETWEEN = Placement(2.0, 1.5, 90.0)
ASIDE = Placement(2.0, 2.9, 0.0)


def room(severity: str = "must", more: str = "") -> Scenario:
    return loads(ROOM.format(severity=severity, more=more))


def placed(scenario: Scenario, **places: Placement) -> dict[str, Placed]:
    return {name: Placed(scenario.thing(name), at) for name, at in places.items()}


def test_a_screen_shields_where_it_stands_between() -> None:
    """Turned aside it cuts no line."""
    scenario = room()
    for screen, cut in ((BETWEEN, True), (ASIDE, False)):
        things = placed(scenario, weld=WELD, paint=PAINT, screen=screen)
        ground = Ground(scenario, screens=(things["screen"],))
        assert shielded(ground, things["weld"], things["paint"]) is cut


def test_a_screen_too_far_aside_leaves_a_line() -> None:
    """Lines run from y 1.1..1.9 to y 1.1..1.9; the screen reaches 0.9 m either way from its middle."""
    scenario = room()
    for y, cut in ((0.99, False), (1.01, True), (1.99, True), (2.01, False)):
        things = placed(scenario, weld=WELD, paint=PAINT, screen=Placement(2.0, y, 90.0))
        ground = Ground(scenario, screens=(things["screen"],))
        assert shielded(ground, things["weld"], things["paint"]) is cut


def test_a_screen_does_not_shield_itself() -> None:
    """One that burns at its back, say: what it stands before is as near to it as it is."""
    scenario = room(more='gives = ["sparks"]')
    things = placed(scenario, weld=WELD, paint=PAINT, screen=BETWEEN)
    ground = Ground(scenario, screens=(things["screen"],))
    assert not shielded(ground, things["screen"], things["paint"])
    assert not may_be_shielded(ground, things["screen"].thing, things["paint"].thing)
    assert may_be_shielded(ground, things["weld"].thing, things["paint"].thing)


def test_of_two_things_alone_nobody_knows_where_a_screen_stands() -> None:
    """So that no table forbids what the check of the whole layout accepts."""
    scenario = room()
    things = placed(scenario, weld=WELD, paint=PAINT)
    pair = (things["weld"], things["paint"])
    assert list(checks.faults_pair(Ground(scenario), *pair)) == []
    assert [check for check, _ in checks.faults_pair(Ground(scenario, screens=()), *pair)] == [
        "sparks-flammables"
    ]
    assert least_apart(Ground(scenario), scenario.thing("weld"), scenario.thing("paint")) == 0.0


def test_noise_comes_round_a_screen() -> None:
    scenario = room().with_(checks={})
    things = placed(
        scenario, weld=Placement(1.6, 1.5, 90.0), paint=Placement(2.4, 1.5, 270.0), screen=BETWEEN
    )
    ground = Ground(scenario, screens=(things["screen"],))
    faults = list(checks.faults_pair(ground, things["weld"], things["paint"], strict=True))
    said = {check: fault.note for check, fault in faults}
    assert said["gives-minds"] == "noise"
    assert "sparks-flammables" not in said


@pytest.mark.parametrize("severity", ["must", "should"])
def test_the_search_puts_a_screen_up(severity: str) -> None:
    scenario = room(severity)
    result = suggest(scenario, iterations=200, processes=1, pitch=0.7)
    assert result.best.ok
    assert all(check.ok for check in result.best.checks if check.id == "sparks-flammables")


def test_the_suggestion_is_the_best_of_all_layouts_with_a_screen() -> None:
    """Every layout of some spots, as ``score`` has it: the sparks are a must that only the screen mends."""
    scenario = room("must")
    few = {"weld": slice(0, None, 9), "paint": slice(0, None, 7), "screen": slice(0, None, 3)}
    lists = find_spots(scenario, 0.6, 4, None)
    spots = tuple(
        Spot(f"{of.thing.name} {k}", at, (of.thing.name,))
        for of in lists
        for k, at in enumerate(of.placements[few[of.thing.name]])
    )
    scenario = scenario.with_(spots=spots)
    lists = find_spots(scenario, 0.6, 4, None)
    scores = [score(scenario, layout) for layout in apart(scenario, lists)]
    best = min((found.cost for found in scores if found.ok), default=math.inf)
    assert math.isfinite(best)
    assert any(not found.ok for found in scores)
    result = suggest(scenario, iterations=1600, processes=1)
    assert result.best.ok
    assert best * (1 - 1e-9) <= result.best.cost <= best * 1.001
    assert result.bound <= best * (1 + 1e-9)
    tables = pair_table(scenario, lists).build(1)
    assert tables.size == len(spots)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("from_floor = 0.2", "it hangs, and sparks fly below it"),
        ("height = 1.2", "it is 1.20 m high, and a shield 1.52 m or more"),
    ],
)
def test_a_screen_that_would_let_sparks_by_is_told(line: str, said: str) -> None:
    with pytest.raises(ScenarioError) as told:
        room(more=line)
    assert said in str(told.value)
