"""Where nobody says how far spots lie apart, a room too large for the usual pitch gets a greater one."""

from __future__ import annotations

import pytest

from footwork.arrange import instance
from footwork.arrange.spots.enumerate import find_spots
from footwork.arrange.suggest import suggest
from footwork.model.errors import UsageError
from footwork.model.read import loads

HALL = """
[room]
size = [6.0, 5.0]
doors = [{ name = "door", wall = "south", from = 1.0, width = 0.9 }]
[stations.bench]
size = [1.2, 0.7]
[stations.saw]
size = [0.6, 0.6]
[jobs.cut]
times = "1 per day"
route = ["door:door", "saw", "bench"]
"""


def test_the_usual_pitch_grows_until_the_spots_fit_and_is_noted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    scenario = loads(HALL)
    usual = sum(len(of.placements) for of in find_spots(scenario, 0.25, 4, None))
    monkeypatch.setattr(instance, "MEMORY_LIMIT_SPOTS", usual // 3)
    found = suggest(scenario, iterations=16, processes=1)
    assert usual // 6 < found.spots <= usual // 3
    (note,) = found.notes
    assert note.startswith("spots lie 0.")
    assert "at 0.25 m" in note
    pitch = float(note.split()[2])
    assert found.spots == sum(len(of.placements) for of in find_spots(scenario, pitch, 4, None))
    with pytest.raises(UsageError, match=rf"a pitch of {pitch:g} m gives {found.spots};"):
        suggest(scenario, iterations=16, pitch=0.25, processes=1)


def test_a_room_of_the_usual_size_keeps_the_usual_pitch() -> None:
    scenario = loads(HALL)
    found = suggest(scenario, iterations=16, processes=1)
    assert found.notes == ()
    assert found.spots == sum(len(of.placements) for of in find_spots(scenario, 0.25, 4, None))


def test_where_no_pitch_helps_the_line_says_what_would(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(instance, "MEMORY_LIMIT_SPOTS", 3)
    with pytest.raises(UsageError, match=r"^pitch 0.25 m gives \d+ spots, .*: keep some stations, or name"):
        suggest(loads(HALL), iterations=16, processes=1)
