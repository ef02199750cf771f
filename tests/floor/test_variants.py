"""Groups shared evenly, and things that are parked."""

from __future__ import annotations

import pytest

import footwork
from footwork.model.errors import ScenarioError
from footwork.model.read import loads
from footwork.model.scenario import Scenario

WHEELS = """
[room]
size = [12.0, 4.0]
[stations.clay]
size = [0.4, 0.4]
[stations.wheel]
size = [0.4, 0.4]
count = 3
{use}
[jobs.throw]
times = "1 per year"
route = ["clay", "wheel"]
[layouts.today]
clay = {{ at = [1.0, 3.8], facing = "south" }}
wheel-1 = {{ at = [3.0, 3.8], facing = "south" }}
wheel-2 = {{ at = [6.0, 3.8], facing = "south" }}
wheel-3 = {{ at = [11.0, 3.8], facing = "south" }}
"""
"""Three wheels 2, 5 and 10 m from the clay."""


def wheels(use: str) -> footwork.Score:
    return footwork.score(loads(WHEELS.format(use=use)))


@pytest.mark.parametrize(
    ("use", "metres"),
    [("", 2.0), ('use = "nearest"', 2.0), ('use = "evenly"', 17.0 / 3), ("use = 2", 3.5), ("use = 1", 2.0)],
)
def test_who_of_a_group_serves(use: str, metres: float) -> None:
    assert wheels(use).metres_per_year == pytest.approx(metres)


def test_shares_of_an_even_use_add_up_and_the_chart_has_them_all() -> None:
    score = wheels('use = "evenly"')
    assert [state.share for state in score.jobs[0].states] == pytest.approx([1 / 3] * 3)
    assert score.from_to == pytest.approx(
        {("clay", "wheel-3"): 10 / 3, ("clay", "wheel-2"): 5 / 3, ("clay", "wheel-1"): 2 / 3}
    )


def test_a_member_that_is_never_used_is_named_and_evenly_used_ones_are_not() -> None:
    assert any("wheel-2 and wheel-3 are never used" in note for note in wheels("").notes)
    assert not any("never used" in note for note in wheels('use = "evenly"').notes)


@pytest.mark.parametrize("use", ['use = "by turns"', "use = 0", "use = 4", "use = true"])
def test_what_is_no_way_to_share_is_told(use: str) -> None:
    with pytest.raises(ScenarioError) as told:
        wheels(use)
    (problem,) = told.value.problems
    assert problem.where == "stations.wheel.use"


SHED = """
[room]
size = [10.0, 6.0]
doors = [{ name = "gate", wall = "south", from = 5.0, width = 2.4, vehicle = true }]
[stations.rack]
size = [0.4, 0.4]
[stations.bench]
size = [0.4, 0.4]
[stations.saw]
size = [1.0, 1.0]
castors = true
parked = { at = [9.4, 5.5], facing = "west" }
[vehicles.car]
size = [1.8, 4.0]
inside = 0.5
[jobs.cut]
times = "1 per year"
outside = ["car"]
route = ["rack", "saw", "saw", "bench"]
[jobs.fit]
times = "1 per year"
outside = ["car"]
route = ["rack", "bench"]
[layouts.today]
rack = { at = [1.0, 5.8], facing = "south" }
bench = { at = [4.0, 5.8], facing = "south" }
saw = { at = [2.5, 5.2], facing = "south" }
car = { at = [6.2, 2.5], facing = "south" }
"""
"""The saw is used between rack and bench, right in the way of the job that does not use it."""


def shed(old: str = "", new: str = "") -> Scenario:
    assert old in SHED
    return loads(SHED.replace(old, new))


def test_a_parked_thing_is_out_of_the_way_of_jobs_that_do_not_use_it() -> None:
    """3 m straight on for the job without the saw; with a saw that stays there it leads round."""
    assert footwork.score(shed()).job("fit").metres_each == pytest.approx(3.0)
    stays = shed('parked = { at = [9.4, 5.5], facing = "west" }\n')
    assert footwork.score(stays).job("fit").metres_each > 3.2


def test_it_is_rolled_out_and_back() -> None:
    """From the rack to where it is parked, with it to where it is used, back again, and on to the bench."""
    job = footwork.score(shed()).job("cut")
    ends = [(leg.start.name, leg.end.name, leg.width) for leg in job.legs]
    assert ends == [
        ("rack", "saw, parked", 0.6),
        ("saw, parked", "saw", 1.0),
        ("saw", "saw, parked", 1.0),
        ("saw, parked", "bench", 0.6),
    ]
    assert job.metres_each > 2 * 6.0


def test_where_it_is_used_a_vehicle_may_stand_at_other_times() -> None:
    """The saw is used where the car stands, and never while it is in."""
    there = shed("saw = { at = [2.5, 5.2]", "saw = { at = [6.2, 2.5]")
    failed = [c.id for c in footwork.score(there).checks if not c.ok and c.severity == "must"]
    assert failed == []
    together = loads(
        there.text.replace('outside = ["car"]\nroute = ["rack", "saw"', 'route = ["rack", "saw"')
    )
    failed = [c.id for c in footwork.score(together).checks if not c.ok and c.severity == "must"]
    assert "no-overlap" in failed


def test_nothing_else_stands_where_it_is_parked() -> None:
    score = footwork.score(shed("rack = { at = [1.0, 5.8]", "rack = { at = [9.4, 5.8]"))
    (failed,) = [c for c in score.checks if c.id == "parked"]
    assert not failed.ok
    assert "rack" in failed.message


def test_parked_across_a_wall_no_layout_helps() -> None:
    score = footwork.score(shed("parked = { at = [9.4, 5.5]", "parked = { at = [9.8, 5.5]"))
    (failed,) = [c for c in score.checks if c.id == "parked"]
    assert not failed.ok
    assert "park saw elsewhere" in failed.message


@pytest.mark.parametrize(
    ("key", "thing", "free"),
    [
        ("fixtures", '{ name = "it", at = [10.0, 5.5], kind = "extinguisher" }', False),
        ("fixtures", '{ name = "it", at = [10.0, 4.4], kind = "extinguisher" }', True),
        (
            "fixtures",
            '{ name = "it", at = [9.96, 5.5], size = [0.4, 0.08], facing = "west", kind = "panel" }',
            False,
        ),
        ("keep_clear", '{ name = "it", at = [9.0, 5.0], size = [0.3, 0.3] }', False),
    ],
)
def test_parked_before_what_has_to_stay_clear_no_layout_helps(key: str, thing: str, free: bool) -> None:
    """Parked at x 8.9 to 9.9, y 5 to 6; an extinguisher at y 4.4 is grabbed from 4.1 to 4.7."""
    size = "size = [10.0, 6.0]\n"
    score = footwork.score(shed(size, f"{size}{key} = [{thing}]\n"))
    found = [c for c in score.checks if c.id == "parked"]
    assert [c.ok for c in found] == [free]
    if not free:
        assert found[0].message == "saw is parked where it has to stay clear: park it elsewhere"


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        ("castors = true\n", "", "castors"),
        ("size = [1.0, 1.0]\n", "size = [1.0, 1.0]\ncount = 2\n", "cannot be parked at one place"),
        ("size = [1.0, 1.0]\n", 'size = [1.0, 1.0]\nfixed = { at = [3, 3], facing = "south" }\n', "fixed"),
    ],
)
def test_what_cannot_be_parked_is_told(old: str, new: str, what: str) -> None:
    with pytest.raises(ScenarioError) as told:
        shed(old, new)
    assert any(what in str(problem) for problem in told.value.problems)
