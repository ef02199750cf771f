"""The starters: each reads, keeps to its room, says what it left out, and can be arranged."""

from __future__ import annotations

import re

import pytest

import footwork
from footwork.model.errors import UsageError
from footwork.model.read import loads
from footwork.model.starter import starter, usual_pitch
from footwork.model.starter_kinds import KINDS

SMALL = [(3.0, 2.4), (4.0, 3.0), (3.0, 4.0), (5.2, 3.6), (4.3, 7.0)]
LARGE = [(7.0, 5.0), (9.0, 6.5), (15.0, 10.0), (40.0, 20.0)]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("room", [None, *SMALL, *LARGE], ids=str)
def test_each_reads_and_uses_all_it_has(kind: str, room: tuple[float, float] | None) -> None:
    text = starter(kind, room)
    scenario = loads(text)
    assert scenario.room.size == (room or KINDS[kind].room)
    assert len(scenario.jobs) == 3
    assert len(scenario.stations) >= 3
    assert scenario.layouts == ()
    visited = {name for job in scenario.jobs for visit in job.route for name in visit.members}
    assert {v.name for v in scenario.vehicles} <= visited
    assert max(map(len, text.splitlines())) <= 110
    assert text.endswith("\n")
    assert "\n\n\n" not in text


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_left_out_is_named(kind: str) -> None:
    """Catalogue names in the file and in the comment add up to what the kind holds."""
    text = starter(kind, (4.0, 3.0))
    left_out = re.search(r"# Left out, because the floor is taken: (.*?)\.\n", text, re.DOTALL)
    assert left_out is not None
    names = [name.strip() for name in left_out[1].replace("\n#", "").split(",")]
    assert len(loads(text).stations) + len(names) == len(KINDS[kind].stations)
    assert "Left out" not in starter(kind, (15.0, 10.0))


def test_a_car_comes_in_where_it_fits() -> None:
    assert [v.name for v in loads(starter("vehicle")).vehicles] == ["car"]
    small = starter("vehicle", (5.0, 4.0))
    assert loads(small).vehicles == ()
    assert "# Left out: the car" in small


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("room", [(4.0, 3.0), (6.5, 5.5)], ids=str)
def test_each_can_be_arranged(kind: str, room: tuple[float, float]) -> None:
    scenario = loads(starter(kind, room))
    found = footwork.suggest(scenario, iterations=200, pitch=0.5 if room[0] > 4 else 0.25, processes=1)
    assert found.layouts[0].ok


@pytest.mark.parametrize(
    ("kind", "room", "pitch"),
    [
        *((kind, room, 0.25) for kind in KINDS for room in (None, (4.0, 3.0), (6.0, 5.0))),
        ("metalwork", (9.0, 6.5), 0.5),
        ("vehicle", (15.0, 10.0), 0.5),
        ("woodwork", (15.0, 10.0), 1.0),
    ],
)
def test_the_pitch_for_an_answer_in_seconds(
    kind: str, room: tuple[float, float] | None, pitch: float
) -> None:
    """Coarser where the room is large and much stands free; the file says so where it is not the usual."""
    assert usual_pitch(kind, room) == pitch
    assert (f"add --pitch {pitch:g} " in starter(kind, room)) == (pitch != 0.25)


def test_a_large_room_is_arranged_with_its_pitch() -> None:
    scenario = loads(starter("vehicle", (15.0, 10.0)))
    found = footwork.suggest(scenario, iterations=50, pitch=usual_pitch("vehicle", (15.0, 10.0)))
    assert found.layouts[0].ok


def test_a_short_room_takes_smaller_machines_and_shorter_stock() -> None:
    large, small = starter("metalwork"), starter("metalwork", (4.0, 3.0))
    assert 'like = "pillar drill"' in large
    assert 'like = "bench drill"' in small
    assert re.search(r"stock = \{ left = [\d.]+, right = [\d.]+, width = 0.25 \}   # less than usual", small)


@pytest.mark.parametrize(
    ("kind", "room", "line"),
    [
        ("metal", None, "no starter of kind 'metal'; did you mean 'metalwork'?"),
        ("boats", None, "no starter of kind 'boats'; kinds: metalwork, woodwork, vehicle, mixed"),
        ("mixed", (2.0, 2.0), "a room of 2 x 2 m is too small to work in; give 3 x 2.4 m or more"),
        ("mixed", (500.0, 2.5), "a room of 500 x 2.5 m is no workshop; give at most 100 m a side"),
    ],
)
def test_what_it_refuses(kind: str, room: tuple[float, float] | None, line: str) -> None:
    with pytest.raises(UsageError) as told:
        starter(kind, room)
    assert told.value.lines == (line,)
