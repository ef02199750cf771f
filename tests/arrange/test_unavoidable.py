"""What a room makes impossible is told, and only that; prices that no bound counts are named."""

from __future__ import annotations

import json

import pytest

from footwork.arrange.core.results import Suggestion, Unavoidable
from footwork.arrange.suggest import suggest
from footwork.model.read import loads
from footwork.show.unavoidable import unavoidable_words, uncounted_words

# Sparks and flammables want 10.668 m between them, in a straight line.
HOT = """
[room]
size = [{east}, 4]
doors = [{{ name = "door", wall = "south", from = 1, width = 1.0 }}]
[stations]
grinder = {{ size = [0.5, 0.5], gives = ["sparks"] }}
paint = {{ size = [0.5, 0.5], minds = ["flammable"] }}
[jobs.mend]
times = "1 per week"
route = ["grinder", "paint"]
"""


def found(text: str, **options: object) -> Suggestion:
    return suggest(loads(text), iterations=32, pitch=0.5, processes=1, **options)  # type: ignore[arg-type]


def test_no_two_spots_are_far_enough_apart() -> None:
    # the diagonal of what two of half a metre can leave between them: 5 m and 3 m, 5.83 m
    result = found(HOT.format(east=6))
    assert result.unavoidable == (
        Unavoidable("sparks-flammables", "paint", ("grinder",), 10.668, count(result)),
    )
    (said,) = result.unavoidable
    assert unavoidable_words(said, "m") == "no two spots of grinder and paint are 10.668 m apart"
    assert unavoidable_words(said, "ft") == "no two spots of grinder and paint are 35' 0\" apart"
    assert json.loads(json.dumps(result.to_dict()))["unavoidable"] == [said.to_dict()]


def count(result: Suggestion) -> int:
    return result.unavoidable[0].spots


def test_what_a_choice_of_spots_could_hold_is_not_called_impossible() -> None:
    # 11 m and more are free here; a price of 1 m a year is not worth the walk, so it fails all the same
    text = HOT.format(east=13) + "[checks]\nsparks-flammables = { price = 1 }\n"
    result = found(text)
    assert [c.id for c in result.best.checks if c.id == "sparks-flammables" and not c.ok]
    assert result.unavoidable == ()


@pytest.mark.parametrize(
    "checks",
    ['accepted = { sparks-flammables = "watched" }', 'sparks-flammables = { figure = 5, severity = "must" }'],
)
def test_nothing_is_told_of_what_is_accepted_or_a_must(checks: str) -> None:
    assert found(HOT.format(east=6) + f"[checks]\n{checks}\n").unavoidable == ()


BOTH = """
[room]
size = [13, 4]
doors = [{ name = "door", wall = "south", from = 1, width = 1.0 }]
[stations]
weld = { size = [0.5, 0.5], gives = ["sparks"], fixed = { at = [0.5, 3], facing = "south" } }
grinder = { size = [0.5, 0.5], gives = ["sparks"], fixed = { at = [12.5, 3], facing = "south" } }
paint = { size = [0.5, 0.5], minds = ["flammable"] }
[jobs.mend]
times = "1 per week"
route = ["grinder", "paint", "weld"]
"""


def test_one_thing_that_is_too_near_to_the_one_or_to_the_other() -> None:
    """The welder is fixed in the west, the grinder in the east, 11.5 m apart: nothing is far from both."""
    (said,) = found(BOTH).unavoidable
    assert set(said.others) == {"grinder", "weld"}
    assert unavoidable_words(said, "m").startswith("no spot of paint is 10.668 m from some spot of each of ")


NEEDY = """
[room]
size = [6, 4]
doors = [{ name = "door", wall = "south", from = 1, width = 1.0 }]
fixtures = [{ name = "plug", at = [0, 2], kind = "socket" }]
[stations]
bench = { size = [1.2, 0.6] }
drill = { size = [0.5, 0.5], needs = ["socket"], lead = 1.0, fixed = { at = [5, 2], facing = "west" } }
[jobs.mend]
times = "1 per week"
route = ["bench", "drill"]
"""


def test_a_check_of_one_thing_that_fails_on_each_of_its_spots() -> None:
    (said,) = found(NEEDY).unavoidable
    assert (said.check, said.subject, said.spots) == ("lead-reach", "drill", 1)
    assert unavoidable_words(said, "m") == "drill fails it on its only spot"
    free = NEEDY.replace(', fixed = { at = [5, 2], facing = "west" }', "").replace("lead = 1.0", "lead = 9.0")
    assert found(free).unavoidable == ()


def test_prices_that_hang_on_the_whole_layout_are_not_in_the_bound() -> None:
    # a slit of 0.65 m is the only door: every way out is too narrow, wherever things stand
    result = found(NEEDY.replace("width = 1.0", "width = 0.65"))
    assert result.uncounted == ("way-out",)
    assert uncounted_words(result) == (
        "What way-out costs is left out of the bound: it hangs on the whole layout."
    )
    assert found(NEEDY).uncounted == ()
    assert uncounted_words(found(NEEDY)) == ""
