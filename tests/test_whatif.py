"""Sessions of moves and what they say of each, on the box shed (tests/box.py)."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from box import BOX
from footwork.checks.result import CheckResult
from footwork.model.errors import UsageError
from footwork.model.read import loads
from footwork.model.scenario import Placement
from footwork.scoring import JobScore, Score, score
from footwork.whatif import Change, Session, apply, difference

BOX_SHED = loads(BOX)


def test_a_move_says_what_it_does_to_each_job() -> None:
    session = Session(BOX_SHED)
    change = session.do("move drill by -1,0")
    hang, fetch = change.jobs
    assert (hang.name, hang.before, hang.after, hang.change) == (
        "hang",
        pytest.approx(312.0),
        pytest.approx(208.0),  # 52 x 2 x 2.0 m
        pytest.approx(-104.0),
    )
    # From (5.0, 0.9) to (4.0, 5.1), twice, 104 times a year.
    assert fetch.after == pytest.approx(104 * 2 * math.hypot(1.0, 4.2))
    assert change.metres_per_year == pytest.approx(hang.change + fetch.change)
    assert change.cost == pytest.approx(change.metres_per_year)
    assert change.turned == ()


def test_undo_and_redo() -> None:
    session = Session(BOX_SHED, "today")
    start = session.state
    session.do("move drill by -1,0")
    session.do("turn rack 180")
    moved = session.state
    assert session.moves == ("move drill by -1,0", "turn rack 180")
    assert session.undo().text == "undo: turn rack 180"
    assert session.undo().metres_per_year == pytest.approx(104.0 - 104 * 2 * (math.hypot(1.0, 4.2) - 4.2))
    assert session.state is start
    with pytest.raises(UsageError, match="nothing to undo"):
        session.undo()
    session.redo()
    assert session.redo().text == "redo: turn rack 180"
    assert session.state is moved
    with pytest.raises(UsageError, match="nothing to redo"):
        session.redo()


def test_a_new_move_forgets_what_was_undone() -> None:
    session = Session(BOX_SHED)
    session.do("move drill by -1,0")
    session.undo()
    session.do("move drill by 1,0")
    with pytest.raises(UsageError):
        session.redo()


def test_a_bad_move_changes_nothing() -> None:
    session = Session(BOX_SHED)
    session.do("move drill by -1,0")
    before = session.state
    for text in ("move drlil by 1,0", "room 1x1", "nonsense"):
        with pytest.raises(UsageError):
            session.do(text)
    assert session.state is before
    session.undo()


def test_apply_is_the_same_without_a_session() -> None:
    scenario, layout = apply(BOX_SHED, "today", "move drill by -1,0", "times hang 2 per week")
    assert layout.placements["drill"] == Placement(4.0, 5.7, 180.0)
    assert scenario.jobs[0].times_per_year == 104.0
    assert score(scenario, layout).job("hang").metres_per_year == pytest.approx(104 * 4.0)
    assert apply(BOX_SHED) == (BOX_SHED, BOX_SHED.layouts[0])
    with pytest.raises(UsageError, match="did you mean 'today'"):
        apply(BOX_SHED, "tody", "turn drill 90")


def test_a_removed_station_leaves_a_job_that_costs_nothing() -> None:
    change = Session(BOX_SHED).do("remove drill")
    assert [job.after for job in change.jobs] == [0.0, 0.0]
    assert change.notes[1] == "hang, fetch: no leg is left, so it costs nothing"


def test_a_walled_in_drill_turns_reachable_and_back() -> None:
    session = Session(BOX_SHED)
    change = session.do("move rack to 5.0,5.0")  # right in front of the drill
    assert not change.after.ok
    failed = {turned.result.id for turned in change.turned if not turned.ok}
    assert "strips-clear" in failed
    back = session.undo()
    assert {turned.result.id for turned in back.turned if turned.ok} == failed


def check(id: str, subject: str, ok: bool) -> CheckResult:
    return CheckResult(id, subject, "must", ok, None, None, "", "your file", "")


def made_up(*checks: CheckResult, metres: float = 1.0) -> Score:
    job = JobScore("hang", 1.0, metres, 0.0, (), ())
    return Score(
        scenario="Box",
        layout="today",
        placements={},
        cost=metres,
        prefer_metres=0.0,
        check_metres=0.0,
        jobs=(job,),
        standing=(),
        from_to={},
        checks=checks,
        speed=1.2,
        step=0.75,
    )


def test_turned_names_checks_that_turned_and_no_others() -> None:
    before = made_up(check("placing", "rack", False), check("in-room", "rack", True), check("a", "x", False))
    after = made_up(
        check("strips-clear", "drill", False),  # not there before: it held
        check("in-room", "rack", False),
        check("a", "x", False),
    )
    turned = [(t.result.id, t.result.subject, t.ok) for t in Change("", before, after).turned]
    assert turned == [
        ("strips-clear", "drill", False),
        ("in-room", "rack", False),
        ("placing", "rack", True),
    ]


def test_one_failure_among_several_results_of_a_check_counts() -> None:
    before = made_up(check("placing", "rack", True), check("placing", "rack", False))
    after = made_up(check("placing", "rack", True), check("placing", "rack", True))
    assert [t.ok for t in Change("", before, after).turned] == [True]
    assert Change("", before, before).turned == ()


def test_infinite_walks_differ_without_nan() -> None:
    assert difference(math.inf, math.inf) == 0.0
    assert difference(1.0, math.inf) == math.inf
    assert difference(math.inf, 1.0) == -math.inf
    walled = replace(made_up(metres=math.inf))
    change = Change("move", made_up(), walled).to_dict()
    assert change["cost"] == {"before": 1.0, "after": None, "change": None}
    assert change["jobs"] == [{"name": "hang", "before": 1.0, "after": None, "change": None}]


def test_a_job_of_which_every_stop_was_taken_away_costs_nothing() -> None:
    scenario, layout = apply(loads(BOX), "today", "remove rack", "remove drill", "remove bench")
    assert [len(job.route) for job in scenario.jobs] == [0, 0]
    assert score(scenario, layout).cost == 0.0
