"""What the owner of a crowded shed is told: one line for each thing in the way, and moves that work."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest

import footwork
from checks.crowded_sheds import BRICK, GARAGE, GARDEN
from checks.test_told_moves import TOLD
from footwork.checks.mending import COMPASS
from footwork.checks.result import CheckResult, Held, held_words, merged
from footwork.model.read import loads
from footwork.model.scenario import Layout, Placement, Scenario
from footwork.scoring import Score
from shed import SHED, one, rectangle, van

BRICK_SHORT, BRICK_LONG = (loads(BRICK.replace("LENGTH", length)) for length in ("1.9", "2.2"))


def failed(score: Score, check: str) -> list[CheckResult]:
    """What is printed of one check: failed results, those of one pinch joined."""
    return [c for c in merged(score.checks) if c.id == check and not c.ok]


def moved(layout: Layout, message: str) -> Layout:
    """The layout after all moves that a message tells."""
    places = {}
    for name, metres, word in moves(message):
        at = layout.placements[name]
        way = COMPASS[word]
        places[name] = replace(at, x=at.x + metres * way[0], y=at.y + metres * way[1])
    return layout.moved(places)


def moves(message: str) -> Iterator[tuple[str, float, str]]:
    for told in re.findall(r"move ((?:[\w-]+ \d+\.\d+ m \w+(?:, | and )?)+)", message):
        for name, metres, word in re.findall(r"([\w-]+) (\d+\.\d+) m (\w+)", told):
            yield name, float(metres), word


def test_a_mower_before_the_bench() -> None:
    scenario = loads(GARDEN)
    score = footwork.score(scenario, "today")
    (strip,), (way,) = failed(score, "strips-clear"), failed(score, "reachable")
    assert strip.message == (
        "bench has 0.05 m free to work at its front up to mower; 0.70 m is needed: move mower 0.65 m south"
    )
    # the same move mends both, though 0.3 m clear of where one stands would do for the way
    assert way.message == (
        "sharpen and pot_up: no way 0.60 m wide from the door to the front of bench, from the front of bench "
        "to the front of pegs, nor from the front of pots to the front of bench: mower stands where one "
        "would stand at the front of bench: move mower 0.65 m south"
    )
    after = footwork.score(scenario, moved(scenario.layouts[0], way.message))
    assert after.ok
    assert not after.squeezed


def test_too_narrow_a_gap_with_all_the_work_behind_it() -> None:
    scenario = loads(GARAGE)
    score = footwork.score(scenario, "today")
    # JSON keeps one result a job and a station; what is printed is one line for each width
    held = [c for c in score.checks if not c.ok]
    assert [c.subject for c in held if c.id == "reachable"] == ["frame", "sharpen"]
    assert [c.subject for c in held if c.id == "way-out"] == ["saw", "bench", "drill", "grinder", "rack"]
    (way,), (out,) = failed(score, "reachable"), failed(score, "way-out")
    assert way.message == (
        "frame and sharpen: no way 0.60 m wide from the house door to the front of rack, nor from the house "
        "door to the front of grinder: the gap between saw and freezer is 0.48 m, 0.12 m too narrow: "
        "move saw 0.12 m south"
    )
    assert way.actual == pytest.approx(0.48)
    # 0.24 m south is more than the saw can go: the bin is 0.22 m behind it
    assert out.message.startswith(
        "saw, bench, drill, grinder and rack: the way to a door is 0.48 m wide; 0.711 m is the least for a "
        "way out, 0.231 m more: the gap between saw and freezer is 0.48 m, 0.231 m too narrow: move bin "
    )
    assert out.message.endswith(", which opens another way")
    assert footwork.score(scenario, moved(scenario.layouts[0], way.message)).ok
    after = footwork.score(scenario, moved(scenario.layouts[0], out.message))
    assert after.ok
    assert not failed(after, "way-out")


def test_two_that_bar_the_way_together_are_moved_together() -> None:
    """0.4 m beside the motorbike, 0.35 m beside the boards: 0.6 m when both have gone over to one wall."""
    score = footwork.score(BRICK_SHORT, "today")
    (way,) = failed(score, "reachable")
    assert way.message == (
        "turn and mend: no way 0.60 m wide from the door to the front of lathe, nor from the door to the "
        "front of bench: the gap between boards and south wall is 0.35 m, 0.25 m too narrow; boards and "
        "motorbike hold it back together: move boards 0.25 m north and motorbike 0.20 m north"
    )
    today = BRICK_SHORT.layouts[0]
    assert footwork.score(BRICK_SHORT, moved(today, way.message)).ok
    # neither is enough alone
    for name, metres, word in moves(way.message):
        alone = moved(today, f"move {name} {metres:.2f} m {word}")
        assert failed(footwork.score(BRICK_SHORT, alone), "reachable")


def test_a_told_move_can_be_typed_as_it_is_told() -> None:
    today = BRICK_SHORT.layouts[0]
    typed = ("move boards 0.25 m north", "move motorbike 0.20 m north")
    _, there = footwork.apply(BRICK_SHORT, today, *typed)
    assert there.placements["boards"].at == pytest.approx((3.2, 1.55))
    assert footwork.score(BRICK_SHORT, there).ok
    feet = loads(GARDEN.replace("[room]", 'units = "ft"\n[room]').replace("3.6, 2.4", "12, 8"))
    _, there = footwork.apply(feet, None, "move mower 1' 6\" south")
    assert there.placements["mower"].y == pytest.approx(feet.layouts[0].placements["mower"].y - 0.4572)


def test_what_ifs_between_layouts_that_cannot_be_walked_have_a_difference() -> None:
    session = footwork.Session(BRICK_SHORT, "today")
    first = session.do("move boards 0.25 m north")
    second = session.do("move motorbike 0.20 m north")
    assert first.before.squeezed_per_year > 0.0
    assert first.after.squeezed_per_year > 0.0
    assert second.after.squeezed_per_year == 0.0
    for change in (first, second):
        assert change.metres_per_year == change.after.metres_per_year - change.before.metres_per_year
        told = change.to_dict()["squeezed_metres_per_year"]
        assert told["change"] == pytest.approx(told["after"] - told["before"])
    assert {(t.result.id, t.ok) for t in second.turned} == {("reachable", True)}


def test_two_that_no_straight_move_brings_out_of_the_way_are_named() -> None:
    """The motorbike is 2.2 m long in a shed of 2.6 m: 0.6 m cannot be free beside it."""
    score = footwork.score(BRICK_LONG, "today")
    (way,), (out,) = failed(score, "reachable"), failed(score, "way-out")
    for said in (way.message, out.message):
        assert said.endswith(
            "; boards and motorbike hold it back together: find other spots for them, or turn them"
        )
    assert not list(moves(way.message))


@pytest.mark.parametrize("scenario", [loads(GARDEN), loads(GARAGE), BRICK_SHORT], ids=lambda s: s.name)
def test_the_total_of_a_crowded_shed_is_finite_and_what_is_squeezed_is_told(scenario: Scenario) -> None:
    score = footwork.score(scenario, "today")
    assert 0 < score.squeezed_per_year < score.metres_per_year
    assert not score.ok
    told = score.to_dict()
    assert told["ok"] is False
    assert told["walk"]["squeezed_metres_per_year"] == score.squeezed_per_year  # type: ignore[index]
    legs = [leg for job in told["jobs"] for leg in job["legs"]]  # type: ignore[attr-defined]
    assert {leg["squeezed"] is None for leg in legs} == {True, False}


def narrow(subject: str, *by: str, actual: float = 0.4) -> CheckResult:
    held = tuple(Held("no way", f"from door to {subject}", each) for each in by)
    message = held_words(subject, held)
    return CheckResult("reachable", subject, "must", False, 0.6, actual, "m", "you", message, held=held)


def test_results_of_one_pinch_are_joined_and_others_left() -> None:
    a, b, c = narrow("a", "x"), narrow("b", "x", actual=0.3), narrow("c", "y")
    fine = replace(c, subject="d", ok=True, held=())
    joined, alone, held = merged([a, b, c, fine])
    assert joined.message == "a and b: no way from door to a, nor from door to b: x"
    assert (joined.subject, joined.actual) == ("a and b", 0.3)
    assert (alone, held) == (c, fine)
    # the same words about another check, or one that is no must, are another matter
    other = replace(b, id="way-out")
    assert merged([a, other]) == (a, other)


def test_a_result_with_a_pinch_of_its_own_beside_a_shared_one() -> None:
    both, b = narrow("a", "x", "y"), narrow("b", "x")
    assert both.message == "a: no way from door to a: x; nor from door to a: y"
    assert merged([both]) == (both,)
    assert [c.message for c in merged([both, b])] == [
        "a and b: no way from door to a, nor from door to b: x",
        "a: no way from door to a: y",
    ]


def test_told_moves_are_found_in_messages() -> None:
    assert TOLD.search("move saw 0.12 m south")
    assert list(moves("x: move saw 0.12 m south and bin 0.30 m west")) == [
        ("saw", 0.12, "south"),
        ("bin", 0.3, "west"),
    ]


def test_a_vehicle_that_no_move_of_three_metres_gets_out_of_the_way_may_be_out() -> None:
    """A trailer of 5.6 x 3 m takes the floor before the bench: 0.2 m beside it, 3 m back to the yard."""
    trailer = replace(van(inside=0.5), size=(5.6, 3.0), outline=rectangle(5.6, 3.0))
    found = one(SHED.with_(vehicles=(trailer,)), "reachable", "make", van=Placement(3.0, 1.7, 0.0))
    assert " while van is in: van stands where one would stand at the front of " in found.message
    assert found.message.endswith(
        "no short straight move mends it: find another spot for van, or turn it, or take van out"
    )
