"""The report takes the results of studies as sections."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from cli.run import footwork
from footwork.show.report.write import report
from footwork.study.fit import Fit, Machine, fit
from footwork.study.robust import Robust
from footwork.study.seasons import Seasons
from footwork.study.sizes import Sizes
from footwork.study.weekend import Weekend
from study.rooms import NOOK, QUICK, nook


def headings(page: str) -> list[str]:
    return re.findall(r"<h2[^>]*>(.*?)</h2>", page)


def test_each_study_becomes_a_section(
    tmp_path: Path, some_sizes: Sizes, some_moves: Weekend, guesses: Robust, bins: Fit, turns: Seasons
) -> None:
    scenario = nook()
    crate = fit(scenario, Machine("crate", (2.0, 2.0)), effort=QUICK).to_dict()
    studies = [some_sizes, some_moves, guesses, bins, turns, crate]
    out = tmp_path / "page.html"
    report(scenario, "today", out, studies=studies)
    page = out.read_text(encoding="utf-8")
    titles = headings(page)
    wanted = {
        "Which room",
        "The few moves that pay most",
        "While frequencies are guesses",
        "With the seasons",
        "Where bin can go",
    }
    assert wanted <= set(titles)
    assert len(re.findall(r'id="study-\d-table"', page)) == len(studies)
    assert "crate fits nowhere as things stand" in page
    assert f"{studies[0].rooms[-1].cost:,.0f}" in page  # type: ignore[union-attr]
    plain = tmp_path / "plain.html"
    report(scenario, "today", plain)
    assert "Which room" not in headings(plain.read_text(encoding="utf-8"))


def test_the_command_reads_what_a_study_printed(tmp_path: Path) -> None:
    path, told = tmp_path / "nook.toml", tmp_path / "fit.json"
    path.write_text(NOOK)
    done = footwork("fit", path, "bin", "--size", "0.3x0.3", "--pitch", 0.5, "--json")
    told.write_text(done.out)
    made = footwork("report", path, "--out", tmp_path / "page.html", "--study", told)
    assert (made.status, made.err) == (0, "")
    assert "Where bin can go" in headings((tmp_path / "page.html").read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("not json", "it is not JSON"),
        (json.dumps({"layout": "today"}), "this is no result of a study"),
        (json.dumps([1, 2]), "this is no result of a study"),
        (json.dumps({"study": "sizes", "rooms": [{}]}), "this result of sizes is not whole"),
        (json.dumps({"study": "tally", "jobs": 3}), "this result of tally is not whole"),
    ],
)
def test_what_is_no_study_is_refused(tmp_path: Path, text: str, said: str) -> None:
    path, told = tmp_path / "nook.toml", tmp_path / "study.json"
    path.write_text(NOOK)
    told.write_text(text)
    done = footwork("report", path, "--out", tmp_path / "page.html", "--study", told)
    assert (done.status, done.out) == (2, "")
    assert said in done.err
    assert not (tmp_path / "page.html").exists()
