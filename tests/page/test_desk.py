"""The desk: what each move does, and that all of them can be taken back."""

from __future__ import annotations

from pathlib import Path

import pytest

from footwork.model.errors import UsageError
from footwork.model.read import load
from footwork.model.scenario import Layout, Placement
from footwork.page.desk import INCH, Desk, facing_words
from footwork.page.editing.edits import edit
from shed import BENCH, DRILL, PLACES, SHED, job, van

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def desk(**changes: object) -> Desk:
    return Desk(SHED.with_(**changes), Layout("today", PLACES))


def at(found: Desk, name: str) -> tuple[float, float, float]:
    place = found.layout.placements[name]
    return (place.x, place.y, place.facing)


def test_a_drag_is_from_where_it_was_taken_up() -> None:
    found = desk()
    found.drag(["drill"], (-0.5, 0.5), free=True)
    found.drag(["drill"], (-1.0, 1.0), free=True)
    assert at(found, "drill") == (4.0, 1.3, 0.0)
    assert found.past == []
    found.drop()
    assert [step.words for step in found.past] == ["move drill"]
    found.undo()
    assert at(found, "drill") == (5.0, 0.3, 0.0)
    found.redo()
    assert at(found, "drill") == (4.0, 1.3, 0.0)


def test_a_drag_comes_flush_unless_it_is_held_off() -> None:
    found = desk()
    found.drag(["bench"], (0.5, -0.06), free=False)
    assert at(found, "bench") == (3.5, 3.6, 180.0)
    found.drag(["bench"], (0.5, -0.06), free=True)
    assert at(found, "bench") == (3.5, 3.54, 180.0)


def test_given_up_it_is_back() -> None:
    found = desk()
    found.drag(["bench", "drill"], (0.3, -0.4), free=True)
    found.give_up()
    assert (found.layout.placements, found.past) == (PLACES, [])


def test_put_down_where_it_was_is_no_move() -> None:
    found = desk()
    found.drag(["drill"], (0.5, 0.5), free=True)
    found.drag(["drill"], (0.0, 0.0), free=True)
    found.drop()
    assert (found.past, found.unsaved) == ([], False)


def test_nudges_are_centimetres_or_inches() -> None:
    metric, feet = desk(), desk(units="ft")
    metric.nudge(["drill"], "west", far=False)
    metric.nudge(["drill"], "north", far=True)
    assert at(metric, "drill") == pytest.approx((4.95, 0.55, 0.0))
    feet.nudge(["drill"], "east", far=False)
    feet.nudge(["drill"], "north", far=True)
    assert at(feet, "drill") == pytest.approx((5.0 + INCH, 0.3 + 6 * INCH, 0.0), abs=1e-4)


def test_turns_are_about_the_middle() -> None:
    found = desk()
    found.nudge(["drill"], "north", far=True)
    found.nudge(["drill"], "north", far=True)
    found.turn(["drill"], 90.0)
    assert at(found, "drill") == (5.0, 0.8, 90.0)
    found.turn_towards("drill", 178.2, free=False)
    found.turn_towards("drill", 203.44, free=True)
    found.drop()
    assert at(found, "drill") == (5.0, 0.8, 203.4)
    assert [step.words for step in found.past][-2:] == ["turn drill", "turn drill"]


@pytest.mark.parametrize(
    ("units", "text", "metres"),
    [
        ("m", "1.20", 1.2),
        ("m", "120 cm", 1.2),
        ("ft", "3 ft 11 in", 1.1938),
        ("ft", "4", 1.2192),
        ("in", "40", 1.016),
    ],
)
def test_a_distance_is_typed_in_the_files_units(units: str, text: str, metres: float) -> None:
    found = desk(units=units)
    found.choose(["bench"])
    found.measure("bench", "left", text)
    assert found.clear["left"].metres == pytest.approx(metres, abs=1e-4)
    assert found.past[-1].words == f"move bench: left {text}"


@pytest.mark.parametrize("text", ["", "wide", "1,20", "9 m", "-1", "1e99", "nan"])
def test_a_distance_that_cannot_be_changes_nothing(text: str) -> None:
    found = desk()
    with pytest.raises(UsageError) as fault:
        found.measure("bench", "left", text)
    assert len(fault.value.lines) == 1
    assert (found.layout.placements, found.past, found.unsaved) == (PLACES, [], False)


def test_what_is_fixed_stays() -> None:
    fixed = Placement(3.0, 3.6, 180.0)
    bolted = BENCH.__class__(**{s: getattr(BENCH, s) for s in BENCH.__slots__} | {"fixed": fixed})
    found = desk(stations=(bolted, DRILL))
    for move in (
        lambda: found.drag(["bench", "drill"], (0.1, 0.1), free=True),
        lambda: found.turn(["bench"], 90.0),
        lambda: found.nudge(["bench"], "west", far=True),
        lambda: found.measure("bench", "left", "1"),
    ):
        with pytest.raises(UsageError, match="the file says that it is fixed"):
            move()
    assert found.layout.placements == PLACES


def test_a_new_move_forgets_what_was_undone() -> None:
    found = desk()
    for _ in range(2):
        found.nudge(["drill"], "north", far=False)
    found.undo()
    found.nudge(["drill"], "west", far=False)
    assert (len(found.past), found.future) == (2, [])
    for _ in range(5):
        found.undo()
    assert found.layout.placements == PLACES


def test_vehicles_are_shown_as_the_job_is_walked() -> None:
    """A job that visits the van has it in, others have it out; the switch is the person's."""
    jobs = (job("load", "bench", "van"), job("make", "bench", "drill"))
    found = desk(vehicles=(van(),), jobs=jobs)
    assert found.out == frozenset()
    found.show_job("make")
    assert found.out == {"van"}
    found.show_job("load")
    assert found.out == frozenset()
    found.take_out("van", True)
    assert (found.out, found.past) == ({"van"}, [])
    with pytest.raises(UsageError):
        found.take_out("bench", True)


def test_places_are_as_the_file_can_hold_them() -> None:
    """To 0.1 mm, so that the figures shown are of what is saved."""
    found = Desk(load(SCENARIOS / "cabinet-garage.toml"), load(SCENARIOS / "cabinet-garage.toml").layouts[0])
    found.drag(["planer"], (0.123456789, -0.0987654321), free=True)
    place = found.layout.placements["planer"]
    assert round(place.x / 0.3048, 4) * 0.3048 == pytest.approx(place.x, abs=1e-12)


def test_facings_in_words() -> None:
    assert [facing_words(degrees) for degrees in (180.0, 30.0)] == ["south", "30° from north"]


def test_what_is_made_is_one_move_among_the_others() -> None:
    """With its job and what was chosen, where these are there still."""
    found = Desk(load(SCENARIOS / "gate-shed.toml"), load(SCENARIOS / "gate-shed.toml").layouts[0])
    before = (found.scenario, found.layout)
    found.nudge(["saw"], "south", far=False)
    found.choose(["saw", "drill"])
    found.show_job("sweep_up")
    for message in ({"edit": "delete job", "name": "sweep_up"}, {"edit": "delete thing", "name": "saw"}):
        done = edit(found.scenario, found.layout, message)
        found.change(done.words, done.scenario, done.layout)
    assert [step.words for step in found.past] == ["move saw south", "delete job sweep_up", "delete saw"]
    assert (found.job, found.chosen, found.unsaved) == (None, ("drill",), True)
    after = (found.scenario, found.layout)
    for _ in range(3):
        found.undo()
    assert (found.scenario, found.layout) == before
    assert not found.unsaved
    for _ in range(3):
        found.redo()
    assert (found.scenario, found.layout) == after
