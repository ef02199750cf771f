"""Usual slips get a line that shows the right way to write it, and what is shown can be read."""

from __future__ import annotations

import re

import pytest

from footwork.model.errors import ScenarioError
from footwork.model.read import loads
from footwork.model.units import parse_length, parse_times

SHED = """[room]
size = [7, 5]
[stations.bench]
size = [1.5, 0.7]
[stations.saw]
size = [0.7, 0.7]
[jobs.cut]
times = 3
route = ["bench", "saw"]
"""
SIZE, SAW, TIMES, ROUTE = "size = [7, 5]", "size = [0.7, 0.7]", "times = 3", 'route = ["bench", "saw"]'
IN_QUOTES = "a length with its unit goes in quotes"
POINT = "decimals go after a point"
BRACKETS = "two figures go in brackets, with a comma between"


def told(old: str, new: str) -> str:
    assert old in SHED
    with pytest.raises(ScenarioError) as caught:
        loads(SHED.replace(old, new))
    return str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        (SIZE, "size = [20 ft, 24]", f'line 2: column 12: {IN_QUOTES}; write size = ["20 ft", 24]'),
        (SIZE, "size = [20', 24']", f'line 2: column 11: {IN_QUOTES}; write size = ["20 ft", "24 ft"]'),
        (SIZE, "size = [7000mm, 5 m] # in all", f'{IN_QUOTES}; write size = ["7000 mm", "5 m"]'),
        (SIZE, "size = [22' 6\", 18' 0\"]", f'{IN_QUOTES}; write size = ["22 ft 6 in", "18 ft 0 in"]'),
        (SAW, "size = [0.7, 0.7]\nheight = 3'-6 1/2\"", f'{IN_QUOTES}; write height = "3 ft 6 1/2 in"'),
        (SAW, "size = [0.7, 0.7]\nheight = 0,9", f"{POINT}; write height = 0.9"),
        (SAW, f"{SAW}\nstock = {{ left = 2,4, right = 1,2 }}", "stock = { left = 2.4, right = 1.2 }"),
        (SIZE, "size = [7,05, 5,0]", f"{POINT}; write size = [7.05, 5.0]"),
        (SIZE, "size = 7.5\t5.25", f"{BRACKETS}; write size = [7.5, 5.25]"),
        (SIZE, "size = [7,5\t5,2]", f"{BRACKETS}; write size = [7.5, 5.2]"),
        (SIZE, "size = 7 x 5", f"{BRACKETS}; write size = [7, 5]"),
        (SIZE, "size = 20 x 24 ft", f'{BRACKETS}; write size = ["20 ft", "24 ft"]'),
        (SIZE, "size = (7, 5)", "a list goes in square brackets; write size = [7, 5]"),
        (TIMES, "times = weekly", 'text goes in quotes; write times = "1 per week"'),
        (TIMES, "times = 3 per week", 'text goes in quotes; write times = "3 per week"'),
        (ROUTE, "route = [bench, saw]", 'text goes in quotes; write route = ["bench", "saw"]'),
        (SIZE, "outline =\n0\t0\n7\t0\n7\t5", "go in brackets; write outline = [[0, 0], [7, 0], ...]"),
        (SIZE, "outline = [\n0,0\t0\n7,5\t0\n]", "go in brackets; write outline = [[0.0, 0], [7.5, 0]]"),
        (ROUTE, f"{ROUTE}\n[layouts.now]\nsaw\t2,5\t3\tEast", 'saw = { at = [2.5, 3], facing = "east" }'),
        (SAW, f"{SAW}\ndrill press\t0.5\t0.7", '[stations."drill press"] and below it size = [0.5, 0.7]'),
    ],
)  # fmt: skip
def test_a_line_that_is_no_toml(old: str, new: str, line: str) -> None:
    said = told(old, new)
    assert said.endswith(line)
    assert said.count("\n") == 0


def test_other_faults_of_toml_keep_their_words() -> None:
    assert told(SIZE, "size = [7, 5").startswith("line 3: column 1: unclosed array")
    assert "did you mean" not in told(SIZE, "size = ???")


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        (SIZE, "size = [7,5, 5,2]", "a list of 4 is not two lengths; decimals go after a point: [7.5, 5.2]"),
        (SIZE, "size = [7,5, 5]", "write [east, north]; decimals go after a point: [7.5, 5] or [7, 5.5]"),
        (SIZE, 'size = "7.5 x 5"', "'7.5 x 5' is not two lengths; write [7.5, 5]"),
        (SIZE, 'size = ["20 ft x 24 ft"]', 'a list of 1 is not two lengths; write ["20 ft", "24 ft"]'),
        (SIZE, "outline = [0, 0, 7, 0, 7, 5]", "its point 1 is not [x, y]; write [[0, 0], [7, 0], ...]"),
        (SIZE, 'outline = """\n0\t0\n7\t0\n7\t5"""', "is not an outline; write [[0, 0], [7, 0], ...]"),
        (TIMES, 'times = "weekly"', "jobs.cut.times: 'weekly' is not a frequency; write \"1 per week\""),
    ],
)  # fmt: skip
def test_a_value_that_is_not_what_the_key_takes(old: str, new: str, line: str) -> None:
    assert told(old, new).endswith(line)


@pytest.mark.parametrize(
    ("said", "way"),
    [
        ("weekly", '"1 per week"'),
        ("daily", '"1 per day"'),
        ("monthly", '"1 per month"'),
        ("yearly", '"1 per year"'),
        ("Twice Weekly", '"2 per week"'),
        ("3 times a week", '"3 per week"'),
        ("3x/week", '"3 per week"'),
        ("every day", '"1 per day"'),
        ("every 2 weeks", '"26 per year"'),
        ("every other week", '"26 per year"'),
        ("once every 3 months", '"4 per year"'),
        ("4 per fortnight", '"2 per week"'),
        ("quarterly", '"4 per year"'),
        ("biweekly", '"2 per week" or "26 per year"'),
        ("weekdays", '"5 per week"'),
        ("2,5 per week", '"2.5 per week"'),
        (
            "2-4 per week",
            '"3 per week", with times_range = ["2 per week", "4 per week"] for how sure that is',
        ),
    ],
)
def test_how_often_in_other_words(said: str, way: str) -> None:
    with pytest.raises(ValueError, match="is not a frequency") as caught:
        parse_times(said)
    assert str(caught.value) == f"'{said}' is not a frequency; write {way}"
    for text in re.findall(r'"([^"]*)"', way):
        assert parse_times(text) > 0


@pytest.mark.parametrize(
    ("said", "way"),
    [
        ("3,5", "3.5"),
        ("2,4 m", '"2.4 m"'),
        ("7,25 ft", '"7.25 ft"'),
        ("2,400 mm", '"2400 mm"'),
        ("2,400", "2.400, or 2400 where it parts thousands"),
    ],
)
def test_a_comma_in_a_length(said: str, way: str) -> None:
    with pytest.raises(ValueError, match="is not a length") as caught:
        parse_length(said)
    assert str(caught.value) == f"'{said}' is not a length; write the decimals after a point: {way}"
