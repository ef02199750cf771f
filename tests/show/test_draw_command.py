"""`footwork draw`: what it writes, and how it refuses: exit 2, one line, no half-written file."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from box import write_box
from cli.run import footwork


def test_every_kind_and_every_way_writes_its_file(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    ways = {
        "a.svg": ["--walking"],
        "b.pdf": ["--compare", "today", "closer", "--scale", "1:50"],
        "c.dxf": ["--job", "hang", "--standing"],
        "d.PNG": ["--paper", "a4"],
    }
    for name, words in ways.items():
        out = tmp_path / name
        assert footwork("draw", path, "--out", out, *words) == (0, f"wrote {out}\n", "")
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted([path.name, *ways])


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--out", "plan.jpg"], "plan.jpg: a plan is drawn as .svg, .png, .pdf or .dxf; give"),
        (["--out", "plan"], "plan: a plan is drawn as .svg, .png, .pdf or .dxf"),
        (["--out", ".svg"], ".svg: a plan is drawn as"),
        (["--out", "no/plan.svg"], "no/plan.svg: there is no folder no; make it, or choose another"),
        (["--out", "box.toml/plan.svg"], "box.toml/plan.svg: there is no folder box.toml"),
        (["--out", "p.svg", "--job", "hnag"], "no job 'hnag'; did you mean 'hang'?"),
        (["--out", "p.svg", "--layout", "tody"], "Box: there is no layout 'tody'; did you mean 'today'?"),
        (["--out", "p.svg", "--compare", "today", "closr"], "Box: there is no layout 'closr'; did you mean"),
        (["--out", "p.svg", "--compare", "tody", "closer"], "Box: there is no layout 'tody'; did you mean"),
        (["--out", "p.svg", "--compare", "today"], "option '--compare' requires 2 arguments"),
        (["--out", "p.svg", "--compare", "today", "closer", "--job", "hang"],
         "--compare names both layouts and stands alone: leave out --layout, --job, --walking, --standing"),
        (["--out", "p.svg", "--scale", "25"], "--scale 25: not a scale; write it as 1:25, or as"),
        (["--out", "p.svg", "--paper", "foolscap"], "--paper foolscap: no such paper; papers: A4, A3,"),
        (["--out", "p.svg", "--scale", "1:10", "--paper", "A4"], "--scale 1:10 --paper A4: the plan takes"),
    ],
)  # fmt: skip
def test_wrong_usage_is_one_line_and_no_file(
    words: list[str], says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_box(tmp_path)
    monkeypatch.chdir(tmp_path)
    done = footwork("draw", path.name, *words)
    assert (done.status, done.out) == (2, "")
    assert done.err.count("\n") == 1
    assert done.err.startswith(f"footwork: {says}")
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def test_a_folder_that_cannot_be_written_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = write_box(tmp_path)
    shut = tmp_path / "shut"
    shut.mkdir()
    usual = os.access
    # a test may run as root, whom no folder refuses
    monkeypatch.setattr(os, "access", lambda p, mode, **k: False if Path(p) == shut else usual(p, mode, **k))
    done = footwork("draw", path, "--out", shut / "plan.svg")
    assert (done.status, done.out) == (2, "")
    assert done.err == f"footwork: {shut}/plan.svg: the folder {shut} cannot be written to; choose another\n"
    assert list(shut.iterdir()) == []


@pytest.mark.parametrize("kind", ["svg", "png", "pdf", "dxf"])
def test_a_full_disk_leaves_the_old_file_whole(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from footwork.show import draw

    path, out = write_box(tmp_path), tmp_path / f"plan.{kind}"
    out.write_text("old")

    def full(drawing: object, file: object, kind: str) -> None:
        file.write(b"half a pl")  # type: ignore[attr-defined]
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(draw, "_write", full)
    done = footwork("draw", path, "--out", out)
    assert (done.status, done.out) == (2, "")
    assert done.err == f"footwork: {out}: cannot be written: No space left on device\n"
    assert out.read_text() == "old"
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted([path.name, out.name])


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    path, goal, link = write_box(tmp_path), tmp_path / "goal.svg", tmp_path / "link.svg"
    goal.write_text("old")
    link.symlink_to(goal)
    assert footwork("draw", path, "--out", link).status == 0
    assert link.is_symlink()
    assert goal.read_text(encoding="utf-8").startswith("<?xml")


def test_names_with_signs_of_markup_stay_text(tmp_path: Path) -> None:
    from box import BOX

    odd = BOX.replace('name = "Box"', "name = 'A <b>&amp; $x^2$ 100 % שדה'")
    path = write_box(tmp_path, odd)
    for kind in ("svg", "pdf", "dxf"):
        assert footwork("draw", path, "--out", tmp_path / f"plan.{kind}").status == 0
    assert "A &lt;b&gt;&amp;amp; $x^2$ 100 % שדה" in (tmp_path / "plan.svg").read_text(encoding="utf-8")
