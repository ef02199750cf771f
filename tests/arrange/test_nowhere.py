"""No layout: the line names the thing without a spot, the check that refuses most and what is in the way."""

from __future__ import annotations

import re

import pytest

from footwork.arrange.suggest import suggest
from footwork.model.errors import NoLayoutError, UsageError
from footwork.model.read import loads
from footwork.scoring import score

WALLS = """
[room]
size = [3.0, 3.0]
doors = [{ name = "door", wall = "south", from = 0.6, width = 1.8, swing = "in" }]
[stations]
rack = { size = [2.4, 0.5], placing = "wall", count = 2 }
[jobs.work]
times = "1 per week"
route = ["door:door", "rack-1", "rack-2"]
"""
SWING = """
[room]
size = [2.4, 2.4]
doors = [{ name = "door", wall = "south", from = 0.2, width = 2.0, swing = "in" }]
[stations.bench]
size = [1.6, 0.7]
[jobs.work]
times = "1 per week"
route = ["door:door", "bench"]
"""
CUT_OFF = """
[room]
size = [2.2, 2.2]
doors = [{ name = "door", wall = "south", from = 0.1, width = 0.8, swing = "out" }]
keep_clear = [
    { name = "panel", kind = "electrical panel", at = [1.1, 2.15], size = [2.1, 0.1], facing = "south" },
]
[checks]
opening-clear = 0
[stations.bench]
size = [1.8, 0.9]
strip = 0.9
[jobs.work]
times = "1 per week"
route = ["door:door", "bench"]
"""
CUT_OFF_LOAD = f'{CUT_OFF}carry = [{{ from = "door:door", to = "bench", width = 1.2 }}]\n'
PANEL = """
[room]
size = [3.0, 1.7]
doors = [{ name = "door", wall = "south", from = 0.1, width = 0.8, swing = "out" }]
keep_clear = [
    { name = "panel", kind = "electrical panel", at = [1.5, 1.65], size = [2.9, 0.1], facing = "south" },
]
[stations.bench]
size = [1.4, 0.8]
[jobs.work]
times = "1 per week"
route = ["door:door", "bench"]
"""
CROWD = """
[room]
size = [4.0, 3.0]
doors = [{ name = "door", wall = "south", from = 0.2, width = 0.8 }]
[stations]
bench = { size = [2.0, 0.8], count = 3 }
saw = { size = [1.2, 0.9] }
chest = { size = [1.0, 0.6] }
[jobs.work]
times = "1 per week"
route = ["door:door", "bench-1", "bench-2", "bench-3", "saw", "chest"]
"""
VEHICLE = """
[room]
size = [3.4, 6.0]
doors = [
    { name = "gate", wall = "south", from = 0.5, width = 2.4, vehicle = true },
    { name = "side", wall = "east", from = 5.0, width = 0.8 },
]
[stations]
bench = { size = [1.8, 0.8], placing = "island" }
[vehicles.car]
size = [1.9, 4.8]
door = "gate"
[jobs.work]
times = "1 per week"
route = ["door:side", "bench"]
"""
# Wishes that contradict each other: where the car may stand nobody gets out; an exit behind a bench.
DRIVER = """
[room]
size = [6, 5]
doors = [{ name = "gate", wall = "south", from = 0.2, width = 2.4, vehicle = true }]
[stations]
bench = { size = [1.5, 0.7] }
[vehicles.car]
size = [1.8, 4.2]
driver = "left"
inside = 0.3
spots = [{ at = [1.2, 2.4], facing = "north" }]
[jobs.work]
times = "1 per week"
route = ["bench", "door:gate"]
"""
EXIT = """
[room]
size = [6, 5]
doors = [{ name = "back", wall = "north", from = 2, width = 0.9, exit = true }]
[stations]
bench = { size = [1.5, 0.7], fixed = { at = [2.5, 4.65], facing = "south" } }
[jobs.work]
times = "1 per week"
route = ["bench", "door:back"]
"""


def said(text: str) -> str:
    with pytest.raises(NoLayoutError) as told:
        suggest(loads(text), iterations=16, pitch=0.5, processes=1)
    (line,) = told.value.lines
    return line


@pytest.mark.parametrize(
    ("text", "pattern"),
    [
        (WALLS, r"^rack-1 finds no spot: of \d+ positions tried, \d+ fail (strips-clear|door-swing)"),
        (SWING, r"^bench finds no spot: of \d+ positions tried, \d+ fail door-swing"),
        (PANEL, r"^bench finds no spot: of \d+ positions tried, \d+ fail .*panel-space"),
        (CROWD, r"finds no spot beside the \d others that stand; of its \d+ spots, \d+ fail .*no-overlap"),
        (VEHICLE, r"(bench|car) .*(placing|no-overlap|drive-in)"),
        (CUT_OFF, r"leave no way 0.60 m wide to bench for a job that needs one"),
        (CUT_OFF_LOAD, r"leave no way 1.20 m wide to bench for a job that needs one"),
        (DRIVER, r"^car finds no spot: of 1 positions tried, 1 fail driver-door \(west wall\)$"),
        (EXIT, r"^bench cannot stay where it is: it fails opening-clear \(back\)$"),
    ],
    ids=[
        *("no wall free", "door swing", "panel space", "crowded", "drive-in", "cut off"),
        "cut off for a load",
        *("driver's side", "exit behind a bench"),
    ],
)
def test_each_cause_is_told_in_one_line(text: str, pattern: str) -> None:
    line = said(text)
    assert re.search(pattern, line), line


def test_with_too_many_spots_a_pitch_that_works_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    from footwork.arrange import levels as module

    monkeypatch.setattr(module, "MEMORY_LIMIT_SPOTS", 500)
    scenario = loads(CROWD.replace("[4.0, 3.0]", "[6.0, 5.0]"))
    with pytest.raises(UsageError) as told:
        suggest(scenario, iterations=16, pitch=0.5, processes=1)
    (line,) = told.value.lines
    said = r"^pitch 0.50 m gives some \d+ spots or more, .*: a pitch of (\S+) m gives (\d+);"
    found = re.search(said, line)
    assert found, line
    assert int(found[2]) <= 500
    assert suggest(scenario, iterations=16, pitch=float(found[1]), processes=1).spots == int(found[2])


BOILER = """
[room]
size = [5.0, 4.0]
doors = [{ name = "door", wall = "south", from = 1.0, width = 0.9, swing = "out" }]
fixtures = [{ name = "boiler", at = [1.45, 0.6], size = [0.5, 0.5] }]
[stations.bench]
size = [1.2, 0.7]
[jobs.cut]
times = "1 per day"
route = ["door:door", "bench"]
[layouts.today]
bench = { at = [3.0, 3.0], facing = "south" }
"""


def test_what_the_building_gets_wrong_is_said_at_once_and_names_both() -> None:
    with pytest.raises(NoLayoutError, match=r"can pass opening-clear: boiler is in the way of door"):
        suggest(loads(BOILER), seconds=60.0)
    out = loads(BOILER.replace("[1.45, 0.6]", "[1.45, 1.2]"))
    assert suggest(out, iterations=20, processes=1).best.ok
    shut = BOILER.replace('swing = "out"', 'swing = "out", used = false')
    unused = loads(shut.replace('"door:door", ', ""))
    assert suggest(unused, iterations=20, processes=1).best.ok


def test_score_blames_the_fixture_before_a_door_not_the_bench() -> None:
    scenario = loads(BOILER)
    failed = [c for c in score(scenario, scenario.layouts[0]).checks if c.id == "opening-clear"]
    assert [c.subject for c in failed] == ["door"]
    assert failed[0].message.startswith("boiler, a fixture, is 0.35 m before door; 0.90 m must stay free")
    assert "bench" not in failed[0].message
