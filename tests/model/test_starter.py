"""The starters: each reads, keeps to its room, says what it left out, and can be arranged."""

from __future__ import annotations

import re

import pytest

from footwork.model.errors import UsageError
from footwork.model.read import loads
from footwork.model.starter import left_out, starter
from footwork.model.starter_kinds import KINDS
from footwork.model.starter_text import NO_CAR

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
    found = re.search(r"# Left out, because the floor is taken: (.*?)\.\n", text, re.DOTALL)
    assert found is not None
    names = [name.strip() for name in found[1].replace("\n#", "").split(",")]
    assert names == [name for name in left_out(kind, (4.0, 3.0)) if "the car" not in name]
    assert len(loads(text).stations) + len(names) == len(KINDS[kind].stations)
    assert "Left out" not in starter(kind, (15.0, 10.0))
    assert left_out(kind, (15.0, 10.0)) == ()


def test_a_car_comes_in_where_it_fits() -> None:
    """In a room of 7 x 4.3 m, common practice, it does, whichever way round, with all else at the walls."""
    assert [v.name for v in loads(starter("vehicle")).vehicles] == ["car"]
    for room, wall in (((4.3, 7.0), "south"), ((7.0, 4.3), "west"), ((4.2, 7.0), None), ((5.6, 5.6), None)):
        text = starter("vehicle", room)
        scenario = loads(text)
        gates = [door.wall for door in scenario.room.doors if door.vehicle]
        assert gates == ([] if wall is None else [wall])
        assert len(scenario.vehicles) == len(gates)
        assert ("# Left out: the car" in text) == (not gates)
        assert (left_out("vehicle", room)[:1] == (NO_CAR,)) == (not gates)
        if gates:
            assert {station.placing for station in scenario.stations} <= {"wall", "any"}


def test_a_car_that_does_not_fit_is_worked_on_before_the_door() -> None:
    inside, outside = (
        next(job for job in loads(starter("vehicle", room)).jobs if job.name == "service").route
        for room in ((7.0, 4.3), (5.0, 4.0))
    )
    assert [v.members for v in inside if v.members == ("car",)]
    assert sum("door" in v.members for v in outside) == sum("car" in v.members for v in inside)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("size", [(13, 10), (23, 14), (30, 21), (49, 33)], ids=str)
def test_a_file_in_feet(kind: str, size: tuple[int, int]) -> None:
    """Numbers to the quarter of a foot, the same stations as in metres, and the sizes that it says."""
    room = (size[0] * 0.3048, size[1] * 0.3048)
    text = starter(kind, room, "ft")
    scenario, metric = loads(text), loads(starter(kind, room))
    assert scenario.units == "ft"
    assert f"size = [{size[0]}, {size[1]}] " in text
    assert scenario.room.size == pytest.approx(room)
    assert [s.like for s in scenario.stations] == [s.like for s in metric.stations]
    for mine, theirs in zip(scenario.stations, metric.stations, strict=True):
        if mine.stock is not None and theirs.stock is not None:
            assert mine.stock.left == pytest.approx(theirs.stock.left, abs=0.11)
    numbers = re.findall(r"(?m)^(?:from|width) = ([\d.]+)", text)
    assert numbers
    assert all(float(number) * 4 % 1 == 0 for number in numbers)


def test_a_short_room_takes_smaller_machines_and_shorter_stock() -> None:
    large, small = starter("metalwork"), starter("metalwork", (4.0, 3.0))
    assert 'like = "pillar drill"' in large
    assert 'like = "bench drill"' in small
    assert re.search(r"stock = \{ left = [\d.]+, right = [\d.]+, width = 0.25 \}  # less than usual", small)


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


def test_the_walker_is_asked_what_setting_off_counts() -> None:
    assert loads(starter("woodwork")).walker.setting_off == 1.0
    assert loads(starter("woodwork", (9.0, 6.0), "ft")).walker.setting_off == pytest.approx(3.25 * 0.3048)


def test_feet_are_told_in_feet() -> None:
    """1.8 m are 5.9 ft, 3 x 2.4 m 9.9 x 7.9 ft, 100 m 328."""
    with pytest.raises(
        UsageError, match=r"^a room of 6 x 6 ft is too small to work in; give 9.9 x 7.9 ft or more$"
    ):
        starter("mixed", (1.8288, 1.8288), "ft")
    with pytest.raises(
        UsageError, match=r"^a room of 400 x 20 ft is no workshop; give at most 328 ft a side$"
    ):
        starter("mixed", (121.92, 6.096), "ft")
