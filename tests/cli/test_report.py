"""footwork report: the page it writes, and what it refuses."""

from __future__ import annotations

from pathlib import Path

import pytest

from box import BOX, write_box
from cli.run import footwork


def test_the_first_layout_beside_the_last(tmp_path: Path) -> None:
    out = tmp_path / "page.html"
    done = footwork("report", write_box(tmp_path), "--out", out)
    assert (done.status, done.out, done.err) == (0, f"wrote {out}\n", "")
    text = out.read_text(encoding="utf-8")
    assert "take 80 m less walking a year" in text
    assert "Before: today" in text
    assert "After: closer" in text
    assert "footwork mark box.toml --layout closer" in text
    assert sorted(p.name for p in tmp_path.iterdir()) == ["box.toml", "page.html"]


def test_the_layouts_asked_for(tmp_path: Path) -> None:
    out = tmp_path / "page.html"
    done = footwork("report", write_box(tmp_path), "--out", out, "--before", "closer", "--layout", "today")
    assert done.status == 0
    assert "take 80 m more walking a year" in out.read_text(encoding="utf-8")


def test_one_layout_is_shown_alone(tmp_path: Path) -> None:
    out = tmp_path / "page.html"
    path = write_box(tmp_path, BOX[: BOX.index("[layouts.closer]")])
    assert footwork("report", path, "--out", out).status == 0
    text = out.read_text(encoding="utf-8")
    assert "As in layout today" in text
    assert 'class="switch"' not in text


def test_a_suggestion_is_searched_for_and_kept(tmp_path: Path) -> None:
    out, path = tmp_path / "page.html", write_box(tmp_path)
    words = ("--suggest", "--iterations", 60, "--pitch", 1, "--processes", 1, "--quiet", "--save", "found")
    done = footwork("report", path, "--out", out, *words)
    assert (done.status, done.out) == (0, f"wrote {out}\n")
    assert f"saved as layout 'found' in {path}" in done.err
    text = out.read_text(encoding="utf-8")
    assert "After: found" in text
    assert "footwork mark box.toml --layout found" in text
    assert "seed 1" in text
    assert "[layouts.found]" in path.read_text(encoding="utf-8")
    again = tmp_path / "again.html"
    assert footwork("report", write_box(tmp_path), "--out", again, *words).status == 0
    assert again.read_bytes() == out.read_bytes()  # the same input, the same page


def test_a_file_without_a_layout_asks_for_a_search(tmp_path: Path) -> None:
    path = write_box(tmp_path, BOX[: BOX.index("[layouts.today]")])
    done = footwork("report", path, "--out", tmp_path / "page.html")
    assert (done.status, done.out) == (2, "")
    assert done.err == "footwork: Box: the file has no layout; `footwork suggest` makes one\n"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--out", "page.txt"], "page.txt: a report is written as .html"),
        (["--out", "no/page.html"], "there is no folder no"),
        (["--out", "."], "a report is written as .html"),
        (["--out", "page.html", "--layout", "tday"], "there is no layout 'tday'; did you mean 'today'?"),
        (["--out", "page.html", "--before", "closr"], "there is no layout 'closr'; did you mean 'closer'?"),
        (["--out", "page.html", "--seconds", "3"], "--seconds goes with --suggest"),
        (["--out", "page.html", "--anywhere"], "--anywhere goes with --suggest"),
        (["--out", "page.html", "--save", "x"], "--save goes with --suggest"),
        (
            ["--out", "page.html", "--suggest", "--layout", "today"],
            "--suggest and --layout exclude each other",
        ),
        (["--out", "page.html", "--suggest", "--seconds", "3", "--iterations", "3"], "exclude each other"),
        (["--out", "page.html", "--suggest", "--keep", "bnch"], "no station 'bnch' to keep"),
        ([], "missing option '--out'"),
    ],
)
def test_bad_usage_costs_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    write_box(tmp_path)
    done = footwork("report", "box.toml", *words)
    assert (done.status, done.out) == (2, "")
    assert said in done.err
    assert done.err.count("\n") == 1
    assert [p.name for p in tmp_path.iterdir()] == ["box.toml"]


def test_a_folder_that_cannot_be_written_to(tmp_path: Path) -> None:
    done = footwork("report", write_box(tmp_path), "--out", "/proc/page.html")
    assert (done.status, done.out) == (2, "")
    assert "/proc/page.html: " in done.err
    assert "cannot be written" in done.err
    assert done.err.count("\n") == 1
