"""The same drawing is the same file, whenever, wherever and in whatever process it is drawn."""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from footwork.show.draw import draw
from show.sheds import crowded
from show.test_plans import handed_on

TESTS = Path(__file__).parents[1]


def draw_all(folder: Path) -> dict[str, str]:
    """Draw each kind with much on it; what each file holds, as its hash."""
    folder.mkdir()
    scenario = crowded()
    ways: dict[str, dict[str, Any]] = {
        "all.svg": {"job": "haul", "walking": True, "standing": True},
        "all.dxf": {"job": "sort", "walking": True, "standing": True},
        "moves.pdf": {"before": handed_on(scenario)},
        "walking.png": {"walking": True, "paper": "A4"},
    }
    for name, way in ways.items():
        draw(scenario, "today", folder / name, **way)
    return {name: hashlib.sha256((folder / name).read_bytes()).hexdigest() for name in ways}


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str]]:
    folder = tmp_path_factory.mktemp("files") / "here"
    return folder, draw_all(folder)


# two orders of sets: with one alone a difference may hide
@pytest.mark.parametrize("order", ["1", "7"])
def test_another_process_draws_the_same_bytes(
    order: str, files: tuple[Path, dict[str, str]], tmp_path: Path
) -> None:
    """Later, in another time zone, and with sets in another order."""
    code = "import sys, pathlib, show.test_draw_files as t; print(t.draw_all(pathlib.Path(sys.argv[1])))"
    paths = os.pathsep.join([str(TESTS), *(p for p in sys.path if p)])
    settings = {**os.environ, "PYTHONHASHSEED": order, "PYTHONPATH": paths, "TZ": "XYZ-9"}
    command = [sys.executable, "-c", code, str(tmp_path / "there")]
    done = subprocess.run(command, env=settings, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == str(files[1])


def test_each_kind_is_what_its_suffix_says(files: tuple[Path, dict[str, str]]) -> None:
    starts = {".svg": b"<?xml", ".png": b"\x89PNG", ".pdf": b"%PDF", ".dxf": b"  0\nSECTION"}
    for path in files[0].iterdir():
        assert path.read_bytes().startswith(starts[path.suffix])


def test_no_file_holds_a_date_or_a_path(files: tuple[Path, dict[str, str]]) -> None:
    for path in files[0].iterdir():
        raw = path.read_bytes()
        assert str(path.parent).encode() not in raw
        if path.suffix == ".svg":
            assert b"<dc:date" not in raw
        if path.suffix == ".pdf":
            assert not re.search(rb"/(CreationDate|ModDate|ID)\b", raw)


def test_a_picture_is_small_enough_to_be_kept(files: tuple[Path, dict[str, str]]) -> None:
    for path in files[0].iterdir():
        assert path.stat().st_size < 400_000, path.name


def test_a_picture_written_over_a_private_one_stays_private(tmp_path: Path) -> None:
    out = tmp_path / "plan.svg"
    out.write_text("mine", encoding="utf-8")
    out.chmod(0o600)
    draw(crowded(), "today", out)
    assert out.read_bytes() != b"mine"
    assert out.stat().st_mode & 0o777 == 0o600
