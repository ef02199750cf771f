"""How far spots lie apart: as the room, the memory and the time allow, where nobody says."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from footwork.arrange import levels, practice
from footwork.arrange.core.options import Options, checked
from footwork.arrange.core.pairwise import (
    MEMORY,
    MEMORY_LIMIT_SPOTS,
    bytes_of_open_nodes,
    bytes_with_tables,
)
from footwork.arrange.core.progress import Progress
from footwork.arrange.levels import COARSE_PART, Levels
from footwork.arrange.run import KEPT
from footwork.arrange.spots.enumerate import find_spots, tried_spots, with_spots_of
from footwork.arrange.suggest import suggest
from footwork.model.errors import UsageError
from footwork.model.read import load, loads
from footwork.model.scenario import Layout, Placement
from footwork.study.random_shed import random_shed

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


@pytest.fixture(autouse=True)
def idle(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever else the machine does, it counts as idle."""
    monkeypatch.setattr(levels, "SLOW", math.inf)


def test_a_busy_machine_gets_fewer_spots(monkeypatch: pytest.MonkeyPatch) -> None:
    scenario = load(Path(__file__).parents[2] / "scenarios" / "gate-shed.toml")
    options = checked(
        scenario, Options(10.0, None, 0.25, 4, 1, (), None, 0, False, processes=2, coarsen=True)
    )
    idle = Levels(scenario, None, options).last
    monkeypatch.setattr(levels, "SLOW", 0.0)
    monkeypatch.setattr(levels, "LISTED", levels.LISTED / 100.0)
    busy = Levels(scenario, None, options).last
    assert idle.options.pitch == 0.25
    assert busy.options.pitch > 0.25
    assert busy.size < idle.size


def shed(name: str, seconds: float | None) -> Levels:
    scenario = load(Path(__file__).parents[2] / "scenarios" / f"{name}.toml")
    iterations = 100 if seconds is None else None
    options = Options(seconds or 1.0, iterations, 0.25, 4, 1, (), None, 0, False, 2, coarsen=True)
    return Levels(scenario, None, checked(scenario, options))


def test_a_coarse_level_comes_first_where_tables_take_long(monkeypatch: pytest.MonkeyPatch) -> None:
    """Not by iterations, in a short time, in a small room, or where all that it has takes long."""
    levels_of = shed("gate-shed", 60.0)
    sketch, fine = levels_of.first, levels_of.last
    assert not sketch.last
    assert fine.last
    assert sketch.options.seconds == pytest.approx(COARSE_PART * 60.0)
    assert (fine.options.seconds, fine.options.pitch) == (60.0, 0.25)
    assert 2 * sketch.size < fine.size
    for name, seconds in (("gate-shed", None), ("gate-shed", 20.0), ("frame-nook", 60.0)):
        assert shed(name, seconds).first.last
    monkeypatch.setattr(levels, "LONG", 0.0)
    assert not shed("gate-shed", 20.0).first.last
    assert shed("makerspace", 5.0).first.last


def test_the_usual_pitch_grows_until_the_spots_fit_and_is_noted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    scenario = loads(HALL)
    usual = sum(len(of.placements) for of in find_spots(scenario, 0.25, 4, None))
    monkeypatch.setattr(levels, "MEMORY_LIMIT_SPOTS", usual // 3)
    found = suggest(scenario, iterations=16, processes=1)
    assert usual // 6 < found.spots <= usual // 3
    (note,) = found.notes
    assert note.startswith("spots lie 0.")
    assert "at 0.25 m" in note
    pitch = float(note.split()[2])
    assert found.spots == sum(len(of.placements) for of in find_spots(scenario, pitch, 4, None))
    with pytest.raises(UsageError, match=rf"a pitch of {pitch:.2f} m gives {found.spots};"):
        suggest(scenario, iterations=16, pitch=0.25, processes=1)


def test_a_pitch_that_just_does_not_fit_gives_way_to_a_greater_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """A tenth more spots than fit by the clock are taken, but not than fit in memory."""
    usual = of(HALL, 600.0).last
    monkeypatch.setattr(levels, "MEMORY_LIMIT_SPOTS", usual.size - 1)
    level = of(HALL, 600.0).last
    assert level.size < usual.size
    assert level.options.pitch > usual.options.pitch == 0.25


def test_a_hall_of_many_stations_is_not_counted_out_for_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """250 stations made a search of 5 s list eight million positions before it began."""
    scenario, listed, tried = random_shed(60), list[str](), tried_spots

    def counted(*words: Any) -> Any:
        listed.append(words[1].name)
        return tried(*words)

    monkeypatch.setattr(levels, "tried_spots", counted)
    options = checked(scenario, Options(1.0, None, 0.25, 4, 1, (), None, 0, False, processes=1, coarsen=True))
    assert Levels(scenario, scenario.layouts[0], options)._finest().options.pitch > 0.25
    assert len(listed) < 10 * len(scenario.things)


def test_a_hall_too_large_for_the_greatest_pitch_is_refused_before_its_spots_are_listed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    practice.practise()
    monkeypatch.setattr(levels, "spots_by_thing", lambda *_: pytest.fail("lists spots"))
    monkeypatch.setattr("footwork.arrange.suggest.score", lambda *_: pytest.fail("scores the base"))
    with pytest.raises(UsageError, match=r"pitch 2\.00 m gives some \d+ spots or more"):
        suggest(random_shed(250), seconds=5.0)


def test_the_memory_is_told_before_the_tables_are_built() -> None:
    told: list[Progress] = []
    found = suggest(loads(HALL), iterations=16, processes=1, progress=told.append)
    (tables,) = [state for state in told if state.memory is not None]
    assert tables.phase == "pair table"
    assert all(state.phase != "search" for state in told[: told.index(tables)])
    assert tables.memory == (bytes_with_tables(found.spots), MEMORY)
    for spots in (1, MEMORY_LIMIT_SPOTS):
        assert 0 < bytes_of_open_nodes(spots) == MEMORY - bytes_with_tables(spots)


def test_a_room_of_the_usual_size_keeps_the_usual_pitch() -> None:
    scenario = loads(HALL)
    found = suggest(scenario, iterations=16, processes=1)
    assert found.notes == ()
    assert found.spots == sum(len(of.placements) for of in find_spots(scenario, 0.25, 4, None))


def test_where_no_pitch_helps_the_line_says_what_would(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(levels, "MEMORY_LIMIT_SPOTS", 3)
    line = r"^pitch 2\.00 m gives some \d+ spots or more, .*: keep some stations, or name"
    with pytest.raises(UsageError, match=line):
        assert of(HALL, 5.0).first is None


def of(scenario: str, seconds: float, pitch: float | None = None) -> Levels:
    """The levels of a search of so many seconds on one core."""
    usual = 0.25 if pitch is None else pitch
    options = Options(seconds, None, usual, 4, 1, (), None, 0, False, 1, coarsen=pitch is None)
    room = loads(scenario)
    return Levels(room, None, checked(room, options))


def test_a_short_time_gets_fewer_spots_and_a_long_one_the_usual_pitch() -> None:
    short, long = of(HALL, 0.5).first, of(HALL, 60.0).first
    assert short.last
    assert long.last
    assert short.options.pitch > long.options.pitch == 0.25
    assert short.size < 0.5 * long.size
    assert all(spots.placements for spots in of(HALL, 1e-9).first.lists)


def test_a_small_room_is_looked_at_more_finely() -> None:
    hut = HALL.replace("[6.0, 5.0]", "[2.4, 2.0]")
    assert of(hut, 10.0).first.options.pitch < 0.25
    assert of(hut, 10.0).first.size <= levels.FEW
    assert suggest(loads(hut), iterations=16, processes=1).notes == ()


def test_own_spots_are_no_finer_for_a_finer_pitch() -> None:
    own = HALL + "".join(
        f'[[spots]]\nat = [{x}, 2.0]\nfacing = "north"\ntakes = ["saw", "bench"]\n' for x in (1.0, 3.0, 5.0)
    )
    assert of(own, 10.0).first.options.pitch == 0.25


def test_time_that_has_gone_already_is_planned_no_more() -> None:
    """As for a search that has 4 s in all."""
    late, short = of(HALL, 10.0), of(HALL, 4.0)
    late.gone = 6.0
    assert late._most(levels.TABLE) == short._most(levels.TABLE) < of(HALL, 10.0)._most(levels.TABLE)


def test_a_pitch_too_fine_for_the_time_begins_coarsely_and_keeps_what_is_found() -> None:
    """The pitch itself is kept; what is found on the coarse level are spots of the fine one."""
    room = of(HALL, 0.5, 0.15)
    coarse = room.first
    assert not coarse.last
    assert coarse.options.pitch > 0.15
    assert coarse.options.seconds < 0.5
    found = Layout("found", {"bench": Placement(3.3333, 2.2222, 90.0), "saw": Placement(1.0, 1.0, 0.0)})
    fine = room.last
    assert fine.last
    assert fine.options.pitch == 0.15
    for spots in with_spots_of(loads(HALL), [found], fine.lists):
        assert spots.placements.count(found.placements[spots.thing.name]) == 1
    assert of(HALL, 600.0, 0.25).first.last
    best = suggest(loads(HALL), seconds=0.5, pitch=0.15, processes=1)
    alone = sum(len(spots.placements) for spots in find_spots(loads(HALL), 0.15, 4, None))
    assert alone <= best.spots <= alone + 2 * KEPT
