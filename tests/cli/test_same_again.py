"""Same seed and iterations, same answer: to the last digit, again, and on two processes; what is saved scores
as it was told."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from cli.run import footwork

NOOK = Path(__file__).parents[2] / "scenarios" / "frame-nook.toml"
NOT_THE_SAME = ("seconds",)
"""What the clock says."""
WAYS = {
    "on spots": ("--pitch", "40 cm"),
    "off the spots": ("--pitch", "60 cm", "--anywhere"),
    "few moves": ("--pitch", "40 cm", "--moves", "2", "--alternatives", "1"),
}


def found(folder: Path, processes: int, way: str) -> tuple[Path, dict[str, Any]]:
    """The file with the layout that is found, and the JSON that tells of it."""
    folder.mkdir()
    path = folder / NOOK.name
    shutil.copy(NOOK, path)
    done = footwork(
        "suggest", path, "--iterations", "60", "--seed", "5", "--processes", processes, "--json",
        "--quiet", "--save", "found", *WAYS[way],
    )  # fmt: skip
    assert done.status == 0, done.err
    told = json.loads(done.out)
    return path, {key: value for key, value in told.items() if key not in NOT_THE_SAME}


@pytest.mark.parametrize("way", WAYS)
def test_the_same_answer_again_and_on_two_processes_and_read_back(way: str, tmp_path: Path) -> None:
    path, told = found(tmp_path / "one", 1, way)
    again, told_again = found(tmp_path / "again", 1, way)
    other, told_by_two = found(tmp_path / "two", 2, way)
    assert told == told_again == told_by_two
    assert path.read_bytes() == again.read_bytes() == other.read_bytes()
    read = json.loads(footwork("score", path, "--layout", "found", "--json").out)
    best = told["layouts"][0]
    assert [read[key] for key in ("cost", "ok", "walk")] == [best[key] for key in ("cost", "ok", "walk")]
