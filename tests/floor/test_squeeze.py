"""A leg without a way is measured by the widest way there is, figures by pencil.

On the shed of ``shed.py``: one stands at the bench at (3, 2.9) and at the drill at (5, 0.9).
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from arrange.test_tables_of_every_rule import NEAR, WORKSHOP
from checks.test_told_moves import random_layout
from footwork.floor.plan import Plan
from footwork.floor.routes import LegWalk, Walks, walk
from footwork.floor.squeeze import Squeeze
from footwork.model.read import loads
from footwork.model.scenario import Carry, CheckSetting, Job, Layout, Placement, Scenario, Visit
from footwork.scoring import cost_if_sound, failures, score
from shed import BENCH, DRILL, PLACES, SHED, job, station

WAY = job("make", "bench", "drill")


def with_things(*things: tuple[str, float, float, Placement], scenario: Scenario = SHED) -> Plan:
    """The shed with things that nobody works at: name, width, depth, where."""
    more = tuple(station(name, wide, deep, stand=()) for name, wide, deep, _ in things)
    places = {**PLACES, **{name: at for name, _, _, at in things}}
    return Plan(scenario.with_(stations=(BENCH, DRILL, *more)), Layout("today", places))


def leg(plan: Plan) -> LegWalk:
    (found,) = Walks(plan, squeeze=True).job(plan.scenario.jobs[0]).main.legs
    assert found.blocked == (found.squeezed is not None)
    return found


def squeezed(plan: Plan) -> tuple[LegWalk, Squeeze]:
    found = leg(plan)
    assert found.squeezed is not None
    # nobody who does not ask for it is told of a way
    assert math.isinf(Walks(plan).job(plan.scenario.jobs[0]).metres)
    return found, found.squeezed


def round_corner(at: tuple[float, float], corner: tuple[float, float], radius: float) -> float:
    """From a point west of a corner to due east of it, keeping ``radius`` off: a tangent and an arc."""
    far = math.dist(at, corner)
    seen = math.atan2(abs(at[1] - corner[1]), at[0] - corner[0]) - math.acos(radius / far)
    return math.sqrt(far**2 - radius**2) + radius * seen


SHELF = ("shelf", 5.45, 0.4, Placement(2.725, 1.8, 180.0))
"""From x 0 to 5.45, y 1.6 to 2: 0.55 m from the east wall."""


def test_squeezed_through_a_gap() -> None:
    plan = with_things(SHELF)
    found, how = squeezed(plan)
    assert how.width == pytest.approx(0.55, abs=1e-9)
    assert how.over == 0.0
    # 0.275 m off the corners (5.45, 2) and (5.45, 1.6)
    above = round_corner((3.0, 2.9), (5.45, 2.0), 0.275)
    below = round_corner((5.0, 0.9), (5.45, 1.6), 0.275)
    assert found.metres == pytest.approx(above + 0.4 + below, abs=1e-6)
    assert how.points[0] == pytest.approx((3.0, 2.9))
    assert how.points[-1] == pytest.approx((5.0, 0.9))
    assert all(math.dist(a, b) > 1e-6 for a, b in pairwise(how.points))


def test_as_wide_as_needed_is_no_squeeze() -> None:
    plan = with_things(("shelf", 5.4, 0.4, Placement(2.7, 1.8, 180.0)))
    assert not leg(plan).blocked


def test_a_load_is_squeezed_to_what_there_is() -> None:
    carrying = SHED.with_(jobs=(job("make", "bench", "drill", carry=(Carry("bench", "drill", 1.2),)),))
    plan = with_things(("shelf", 5.0, 0.4, Placement(2.5, 1.8, 180.0)), scenario=carrying)
    _, how = squeezed(plan)
    assert how.width == pytest.approx(1.0, abs=1e-9)
    assert how.over == 0.0


def test_pressed_to_a_bench_with_something_before_it() -> None:
    """A bin 0.25 m before the bench: one stands in the gap, 0.125 m from the bench."""
    plan = with_things(("bin", 4.0, 0.4, Placement(3.0, 2.75, 180.0)))
    found, how = squeezed(plan)
    assert how.width == pytest.approx(0.25, abs=1e-9)
    assert how.over == 0.0
    assert how.way.points[0] == pytest.approx((3.0, 3.075))
    # 0.175 m from the place to the face, 2 m east to the bin's end at x 5, round it, to the drill
    east = round_corner((5.0, 0.9), (5.0, 2.55), 0.125)
    assert found.metres == pytest.approx(0.175 + 2.0 + 0.125 * math.pi / 2 + 0.4 + east, abs=1e-6)


def test_a_place_that_is_covered_is_reached_over_from_the_nearest_floor() -> None:
    """A chest 1 m deep right before the bench: from its far side, 1 m from where one would stand."""
    plan = with_things(("chest", 1.5, 1.0, Placement(3.0, 2.7, 180.0)))
    found, how = squeezed(plan)
    assert how.over == pytest.approx(1.0, abs=1e-3)
    assert how.width == pytest.approx(0.6)
    # from (3, 1.9), 0.3 m off the chest, straight to (5, 0.9)
    assert found.metres == pytest.approx(1.0 + math.hypot(2.0, 1.0), abs=1e-3)


def test_less_than_a_hands_breadth_is_no_way() -> None:
    """A bin 0.09 m before the bench: nobody gets between; from beyond it, 0.36 + 0.3 m from the place."""
    plan = with_things(("bin", 4.0, 0.4, Placement(3.0, 2.91, 180.0)))
    found, how = squeezed(plan)
    assert how.over == pytest.approx(2.9 - (2.71 - 0.3), abs=1e-3)
    assert found.metres == pytest.approx(how.over + math.hypot(2.0, 2.41 - 0.9), abs=1e-3)


def test_straight_over_what_closes_the_room() -> None:
    plan = with_things(("wall", 6.0, 0.4, Placement(3.0, 1.8, 180.0)))
    found, how = squeezed(plan)
    assert how.width == 0.0
    assert how.over == found.metres == pytest.approx(math.hypot(2.0, 2.0))
    assert [*map(pytest.approx, how.points)] == [(3.0, 2.9), (5.0, 0.9)]


def test_of_two_alike_the_one_that_is_less_shut() -> None:
    """Two drills: the near one behind 0.5 m, the far one behind 0.55 m."""
    twins = [station(f"drill-{k}", 0.6, 0.6, stand=("front",)) for k in (1, 2)]
    visits = (WAY.route[0], Visit("drill", "station", ("drill-1", "drill-2")))
    walls = [
        ("middle", 0.1, 2.0, Placement(3.0, 1.0, 0.0)),
        ("west", 2.35, 0.1, Placement(1.725, 2.0, 180.0)),
        ("east", 2.35, 0.1, Placement(4.225, 2.0, 180.0)),
    ]
    more = tuple(station(name, wide, deep, stand=()) for name, wide, deep, _ in walls)
    scenario = SHED.with_(stations=(BENCH, *twins, *more), jobs=(Job("make", 52.0, visits),))
    places = {
        "bench": PLACES["bench"],
        "drill-1": Placement(1.5, 0.3, 0.0),
        "drill-2": Placement(5.0, 0.3, 0.0),
        **{name: at for name, _, _, at in walls},
    }
    # west of the western shelf 0.55 m, east of the eastern one 0.6 m: that one is no squeeze
    found = leg(Plan(scenario, Layout("today", places)))
    assert (found.end.owner, found.blocked) == ("drill-2", False)
    places["east"] = Placement(4.325, 2.0, 180.0)  # 0.5 m left
    found = leg(Plan(scenario, Layout("today", places)))
    assert (found.end.owner, found.blocked) == ("drill-1", True)


def test_a_layout_that_cannot_be_walked_has_a_total_and_is_not_sound() -> None:
    plan = with_things(SHELF)
    found = score(plan.scenario, plan.layout)
    each = leg(plan).metres
    assert found.metres_per_year == pytest.approx(52 * each)
    assert found.squeezed_per_year == pytest.approx(52 * each)
    assert found.squeezed == found.from_to
    assert not found.ok
    assert [c.ok for c in found.checks if c.id == "reachable"] == [False]
    (told,) = found.jobs[0].legs
    assert told.squeezed == pytest.approx(0.55, abs=1e-9)
    assert told.narrowest is not None
    assert set(told.narrowest.between) == {"shelf", "east wall"}
    # the search is told the truth
    assert math.isinf(cost_if_sound(plan.scenario, plan.layout))
    musts = sum(not c.ok and c.severity == "must" for c in found.checks)
    assert failures(plan.scenario, plan.layout)[0] == musts + 1  # the job itself counts as one


def test_what_is_no_must_keeps_a_layout_from_being_sound() -> None:
    """A file that makes ``reachable`` a should does not make a way."""
    plan = with_things(SHELF)
    lax = plan.scenario.with_(checks={"reachable": CheckSetting(severity="should")})
    assert not score(lax, plan.layout).ok


@pytest.mark.parametrize("seed", range(6))
def test_there_is_always_a_total(seed: int) -> None:
    """Whatever stands wherever, in and out of the room and in each other."""
    scenario = loads(WORKSHOP.format(profile="standing", checks=NEAR))
    layout = random_layout(scenario, np.random.default_rng(seed))
    plan = Plan(scenario, layout)
    for walked, plain in zip(map(Walks(plan, squeeze=True).job, scenario.jobs), walk(plan), strict=True):
        assert math.isfinite(walked.metres)
        for state, before in zip(walked.states, plain.states, strict=True):
            assert state.blocked == before.blocked
            if not before.blocked:
                assert state == before
