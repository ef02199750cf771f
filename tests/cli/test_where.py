"""``footwork where``: what it prints and draws, and how it leaves, on the box shed (tests/box.py)."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from box import BOX, write_box
from cli.run import footwork
from footwork.model.read import load
from footwork.model.scenario import Placement
from footwork.scoring import score


def test_the_table_tells_spots_and_what_is_in_the_way(tmp_path: Path) -> None:
    done = footwork("where", write_box(tmp_path), "drill", "--top", 2)
    assert (done.status, done.err) == (0, "")
    lines = done.out.splitlines()
    assert lines[0] == "Box, layout today: where else drill could stand"
    assert lines[1] == "now 5.00 m east, 5.70 m north, facing south; the layout costs 1,186 m a year"
    assert re.fullmatch(r"1 +\d\.\d\d m east, \d\.\d\d m north +\w+ +[\d,]+ +-[\d,]+", lines[4]), lines[4]
    assert re.search(r"^ +\d+  bench +\w+ .*bench", done.out, re.MULTILINE)
    assert "of which the best 2 are told" in done.out


def test_json_has_the_costs_of_score(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    told = json.loads(footwork("where", path, "bench", "--layout", "closer", "--top", 3, "--json").out)
    scenario = load(path)
    assert (told["layout"], told["station"], told["cost"]) == (
        "closer",
        "bench",
        score(scenario, "closer").cost,
    )
    assert len(told["spots"]) == 3
    for spot in told["spots"]:
        moved = scenario.layouts[1].moved({"bench": Placement(*spot["at"], spot["facing"])})
        assert spot["cost"] == score(scenario, moved).cost
    assert told["squares"]["possible"] >= 3
    assert {"check", "in_the_way", "squares", "at", "facing", "messages"} == set(told["not_possible"][0])


@pytest.mark.parametrize("kind", ["svg", "png", "pdf", "dxf"])
def test_a_picture_beside_the_table(tmp_path: Path, kind: str) -> None:
    path, picture = write_box(tmp_path), tmp_path / f"spots.{kind}"
    done = footwork("where", path, "drill", "--pitch", "0.5 m", "-o", picture)
    assert done.out.endswith(f"\nwrote {picture}\n")
    first = picture.read_bytes()
    assert len(first) > 1000
    assert footwork("where", path, "drill", "--pitch", "50 cm", "-o", picture).status == 0
    assert picture.read_bytes() == first


def test_without_a_spot_it_leaves_with_1(tmp_path: Path) -> None:
    """A rack that is longer than the room."""
    done = footwork(
        "where", write_box(tmp_path, BOX.replace("size = [1.2, 0.6]", "size = [8.4, 0.6]")), "rack"
    )
    assert done.status == 1
    assert "There is no spot for rack on this floor while all else stays." in done.out
    assert re.search(r"^ +\d+  placing +rack ", done.out, re.MULTILINE)


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("benhc",), "there is no station or vehicle 'benhc'; did you mean 'bench'?"),
        (("sink",), "sink does not move: the file says that it is fixed"),
        (("drill", "--layout", "tody"), "Box: there is no layout 'tody'; did you mean 'today'?"),
        (("drill", "--pitch", "0.001"), "--pitch: 0.001 is 0.001 m; give one between 0.02 m and 10 m"),
    ],
)
def test_what_cannot_be_asked(tmp_path: Path, words: tuple[str, ...], line: str) -> None:
    done = footwork("where", write_box(tmp_path), *words)
    assert done == (2, "", f"footwork: {line}\n")


def test_a_picture_that_cannot_be_written_is_told_first(tmp_path: Path) -> None:
    done = footwork("where", write_box(tmp_path), "drill", "-o", tmp_path / "nowhere" / "spots.svg")
    assert done.status == 2
    assert done.out == ""
    assert "nowhere" in done.err
