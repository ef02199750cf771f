"""What is carried on a leg, by the words of the file: of alike stations one, or all."""

from __future__ import annotations

import pytest

from footwork.floor.effort import load_between
from footwork.model.errors import ScenarioError
from footwork.model.read import loads
from footwork.model.scenario import Job

FILE = """
[room]
size = [8.0, 6.0]
doors = [{{ name = "gate", wall = "south", from = 1.0, width = 1.0 }}]
[stations.bench]
size = [1.0, 0.6]
count = 3
{use}
[stations.rack]
size = [1.0, 0.4]
[jobs.job]
times = "1 per week"
route = [{route}]
carry = [{{ from = "{start}", to = "{end}", width = 1.2, weight = 20 }}]
"""


def job(route: str, start: str, end: str, use: str = "") -> Job:
    words = ", ".join(f'"{word}"' for word in route.split())
    return loads(FILE.format(route=words, start=start, end=end, use=use)).jobs[0]


def wide(found: Job) -> list[bool]:
    """Which legs of a job are walked with the load, by its width and by its weight."""
    legs = list(zip(found.route, found.route[1:], strict=False))
    by_width = [found.width_between(a, b, 0.6) == 1.2 for a, b in legs]
    assert by_width == [load_between(found, a, b) == 20 for a, b in legs]
    return by_width


def test_a_name_of_alike_stations_means_each_of_them() -> None:
    assert wide(job("rack bench-2 rack bench bench-3 rack", "bench", "rack")) == [
        *(False, True),
        *(False, False, True),
    ]


def test_one_of_them_means_itself_alone() -> None:
    assert wide(job("bench-1 rack bench-2 rack", "bench-1", "rack")) == [True, False, False]


def test_a_door_goes_by_the_word_of_the_route() -> None:
    assert wide(job("rack door:gate rack", "rack", "door:gate")) == [True, False]


@pytest.mark.parametrize(
    ("route", "start", "end", "told"),
    [
        (
            *("rack bench-1 rack bench", "rack", "bench-1"),
            "to: any of 3 alike stations may serve the stop 'bench'",
        ),
        (
            "bench-1 rack",
            "bench-2",
            "rack",
            "from: the route does not visit 'bench-2'; did you mean 'bench-1'?",
        ),
        (
            "rack bench-1",
            "bench",
            "rack",
            "the route has no leg from 'bench' to 'rack'; it goes the other way",
        ),
    ],
)
def test_a_load_that_nobody_could_place_is_told(route: str, start: str, end: str, told: str) -> None:
    with pytest.raises(ScenarioError) as found:
        job(route, start, end)
    (line,) = found.value.lines
    assert told in line


def test_where_turns_are_taken_a_load_may_be_of_one() -> None:
    assert wide(job("bench rack", "bench-1", "rack", 'use = "evenly"')) == [False]
