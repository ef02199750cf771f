"""A file in feet is told in feet, whatever the command; JSON alone is in metres."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from cli.run import footwork
from footwork.model.read import load
from footwork.show.board import Board

SHED = """\
name = "Feet"
units = "ft"

[room]
size = [20, 16]
doors = [
    { name = "gate", wall = "west", from = 3, width = 8, vehicle = true, height = 7 },
    { name = "side", wall = "east", from = 1, width = "2 ft 8 in", swing = "out" },
]
windows = [{ name = "window", wall = "north", from = 14, width = 4 }]

[stations.bench]
size = [5, 2]
placing = "wall"
strip = 2.5
height = 3
minds = ["dust"]

[stations.saw]
size = [3, 2.5]
stock = { left = 4, right = 4, width = 1 }
work_height = 3
gives = ["dust"]

[stations.rack]
size = [6, 1.5]
placing = "wall"

[vehicles.car]
size = [6, 14]
inside = 0.4

[jobs.cut]
times = "3 per week"
route = ["rack", "saw", "bench", "saw", "door:side"]
carry = [{ from = "rack", to = "saw", width = 3 }]

[[prefer]]
station = "bench"
near = "window"
weight = 10

[layouts.today]
bench = { at = [10, 15], facing = "south" }
saw = { at = [11, 12], facing = "south" }
rack = { at = [14, 0.75], facing = "north" }
car = { at = [7, 7], facing = "east" }

[layouts.other]
bench = { at = [10, 15], facing = "south" }
saw = { at = [16, 9], facing = "south" }
rack = { at = [12, 0.75], facing = "north" }
car = { at = [7, 7], facing = "east" }
"""
METRES = re.compile(r"\d\s?(?:m|mm|cm|km|metres?)\b(?! *\])", re.IGNORECASE)
COMMANDS = (
    "check FILE",
    "check --rules FILE",
    "score FILE",
    "score FILE --layout other",
    "walk FILE --job cut",
    "walk FILE --job cut --layout other",
    "compare FILE",
    "mark FILE",
    "suggest FILE --iterations 30 --pitch 2",
    "suggest FILE --iterations 30 --pitch 2 --base other --moves 2",
)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "feet.toml"
    path.write_text(SHED, encoding="utf-8")
    return path


def told(file: Path, line: str) -> str:
    done = footwork(*(str(file) if word == "FILE" else word for word in line.split()))
    assert done.status in (0, 1), done.err
    return done.out + done.err


@pytest.mark.parametrize("line", COMMANDS)
def test_what_a_command_prints(file: Path, line: str) -> None:
    said = told(file, line)
    assert not METRES.findall(said), said
    assert re.search(r"\d' |\d\"| ft\b", said)


def test_what_moves_do(file: Path) -> None:
    said = footwork("whatif", file, "move saw by 1,-2", "turn saw 90", "resize 22x16", "times cut 5 per week")
    assert not METRES.findall(said.out), said.out
    assert "ft a year before" in said.out


def test_what_is_saved(file: Path) -> None:
    """One foot east is one foot east in the file, to the last digit."""
    done = footwork("whatif", file, "move saw by 1,0", "--save", "moved")
    assert done.status in (0, 1), done.err
    saved = file.read_text(encoding="utf-8")
    assert saved.startswith(SHED.split("[layouts.today]")[0])
    assert re.search(r"(?s)\[layouts\.moved\].*saw\s*= \{ at = \[12\.0, 12\.0\], facing", saved)


@pytest.mark.parametrize("more", ["", "--job cut", "--walking", "--standing", "--compare other today"])
def test_what_a_plan_says(file: Path, tmp_path: Path, more: str) -> None:
    """Every text of the plan that the board is given."""
    said: list[str] = []
    with pytest.MonkeyPatch.context() as patch:
        write = Board.text

        def heard(self: Board, at: object, words: str, *rest: object, **style: object) -> object:
            said.append(words)
            return write(self, at, words, *rest, **style)  # type: ignore[arg-type]

        patch.setattr(Board, "text", heard)
        done = footwork("draw", file, "--out", tmp_path / "plan.png", *more.split())
    assert done.status == 0, done.err
    assert any("Feet" in words for words in said)
    assert not [words for words in said if METRES.search(words)]


def test_what_the_report_says(file: Path, tmp_path: Path) -> None:
    out = tmp_path / "page.html"
    done = footwork("report", file, "--before", "today", "--layout", "other", "--out", out)
    assert done.status == 0, done.err
    page = out.read_text(encoding="utf-8")
    words = re.sub(r"<(style|script)>.*?</\1>|<[^>]*>", " ", page, flags=re.DOTALL)
    assert not METRES.findall(words), METRES.findall(words)
    assert re.search(r"[\d,.]+ (feet|ft|miles)", words)


def test_the_figures_are_those_of_metres(file: Path) -> None:
    """0.3048 m to the foot."""
    feet = int(re.search(r"([\d,]+) ft walked a year", told(file, "score FILE"))[1].replace(",", ""))  # type: ignore[index]
    metres = json.loads(told(file, "score FILE --json"))["walk"]["metres_per_year"]
    assert feet == pytest.approx(metres / 0.3048, abs=0.51)


def test_a_price_is_feet_of_walking_too(file: Path) -> None:
    """1000 ft are 304.8 m; a failing check counts all of it at most."""
    file.write_text(SHED + "[checks]\ngives-minds = { price = 1000 }\n", encoding="utf-8")
    assert load(file).checks["gives-minds"].price == pytest.approx(304.8)
    assert re.search(r"gives-minds .* 1,000 ft", told(file, "check --rules FILE"))
