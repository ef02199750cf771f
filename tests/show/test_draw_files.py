"""The same drawing is the same file, whenever, wherever and in whatever process it is drawn."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]

DRAW_ALL = """
import hashlib, sys
from pathlib import Path
from footwork.show.draw import draw
from show.sheds import crowded
from show.test_plans import handed_on
folder = Path(sys.argv[1])
scenario = crowded()
before = handed_on(scenario)
ways = {
    "all.svg": {"job": "haul", "walking": True, "standing": True},
    "all.dxf": {"job": "sort", "walking": True, "standing": True},
    "moves.pdf": {"before": before},
    "walking.png": {"walking": True, "paper": "A4"},
}
for name, way in ways.items():
    draw(scenario, "today", folder / name, **way)
    print(name, hashlib.sha256((folder / name).read_bytes()).hexdigest())
"""


def drawn(folder: Path, hash_seed: str, zone: str) -> str:
    """Draw everything in a process of its own, in another time zone, and say what each file holds."""
    folder.mkdir()
    paths = os.pathsep.join([str(TESTS), *(p for p in sys.path if p)])
    settings = {**os.environ, "PYTHONHASHSEED": hash_seed, "PYTHONPATH": paths, "TZ": zone}
    done = subprocess.run(
        [sys.executable, "-c", DRAW_ALL, str(folder)],
        env=settings, capture_output=True, text=True, check=True,
    )  # fmt: skip
    return done.stdout


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str, str]:
    base = tmp_path_factory.mktemp("files")
    return base, drawn(base / "one", "1", "UTC0"), drawn(base / "two", "2", "XYZ-9")


def test_two_processes_draw_the_same_bytes(folders: tuple[Path, str, str]) -> None:
    _, one, two = folders
    assert len(one.splitlines()) == 4
    assert one == two


def test_each_kind_is_what_its_suffix_says(folders: tuple[Path, str, str]) -> None:
    starts = {".svg": b"<?xml", ".png": b"\x89PNG", ".pdf": b"%PDF", ".dxf": b"  0\nSECTION"}
    for path in (folders[0] / "one").iterdir():
        assert path.read_bytes().startswith(starts[path.suffix])


def test_no_file_holds_a_date_or_a_path(folders: tuple[Path, str, str]) -> None:
    for path in (folders[0] / "one").iterdir():
        raw = path.read_bytes()
        assert str(path.parent).encode() not in raw
        if path.suffix == ".svg":
            assert b"<dc:date" not in raw
        if path.suffix == ".pdf":
            assert not re.search(rb"/(CreationDate|ModDate|ID)\b", raw)


def test_a_picture_is_small_enough_to_be_kept(folders: tuple[Path, str, str]) -> None:
    for path in (folders[0] / "one").iterdir():
        assert path.stat().st_size < 400_000, path.name
