"""footwork mark: table, CSV, PDF, JSON, and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from box import BOX, write_box
from cli.run import footwork


def test_the_table(tmp_path: Path) -> None:
    done = footwork("mark", write_box(tmp_path))
    assert (done.status, done.err) == (0, "")
    assert "Along the north wall\n" in done.out
    # bench at (2.0, 5.7), 1.6 x 0.6, facing south: its back touches the north wall,
    # its right end is 2.8 m from the west wall
    rows = [line.split() for line in done.out.splitlines()]
    first = next(k for k, row in enumerate(rows) if row[1:2] == ["bench"])
    assert rows[first][2:] == ["a", "front", "left", "north", "west", "1.200", "0.600"]
    assert rows[first + 2][-2:] == ["2.800", "0.000"]


def test_json(tmp_path: Path) -> None:
    done = footwork("mark", write_box(tmp_path), "--layout", "closer", "--json")
    found = json.loads(done.out)
    assert (found["scenario"], found["layout"]) == ("Box", "closer")
    assert {s["name"] for s in found["stations"]} == {"bench", "drill", "rack", "sink", "van"}
    assert found["stations"][0]["name"] == "sink"  # fixed: first


def test_a_layout_that_cannot_be_used_is_marked_out_with_a_warning(tmp_path: Path) -> None:
    path = write_box(tmp_path, BOX.replace("rack = { at = [5.0, 0.3]", "rack = { at = [5.0, 5.0]", 1))
    done = footwork("mark", path)
    assert done.status == 0
    assert done.err == (
        "note: layout 'today' fails a must-check; `footwork score` says which, before you mark it out\n"
    )
    assert footwork("mark", path, "--json").err == ""


@pytest.mark.parametrize("suffix", ["csv", "pdf"])
def test_files(tmp_path: Path, suffix: str) -> None:
    out = tmp_path / f"marks.{suffix}"
    done = footwork("mark", write_box(tmp_path), "--out", out)
    assert (done.status, done.out, done.err) == (0, f"wrote {out}\n", "")
    assert out.read_bytes().startswith(b"number,group," if suffix == "csv" else b"%PDF")
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(["box.toml", out.name])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--out", "marks.txt"], "marks.txt: a marking-out list is written as .csv or .pdf"),
        (["--out", "no/such/marks.csv"], "there is no folder no/such"),
        (["--out", "marks.csv", "--json"], "--out and --json exclude each other"),
        (["--layout", "tomorow"], "there is no layout 'tomorow'"),
    ],
)
def test_bad_usage_costs_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    write_box(tmp_path)
    done = footwork("mark", "box.toml", *words)
    assert (done.status, done.out) == (2, "")
    assert said in done.err
    assert done.err.count("\n") == 1
    assert [p.name for p in tmp_path.iterdir()] == ["box.toml"]
