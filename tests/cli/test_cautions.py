"""Wherever what a rule says is reported, it is said who decides."""

from __future__ import annotations

from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

import pytest

from box import BOX, write_box
from cli.run import footwork
from footwork.model.read import load
from footwork.show.draw import compose
from footwork.show.text import CAUTION

SEARCH = ("--pitch", "1", "--iterations", "2", "--processes", "1", "--quiet")
SHED = BOX.replace("vehicle = true }", "vehicle = true, exit = true }")
FAILS = BOX.replace("rack = { at = [5.0, 0.3]", "rack = { at = [0.6, 2.2]")
"""The rack stands before the gate."""


def _drawn(path: Path) -> str:
    return "\n".join(compose(load(path), "today").title.figures)


def _reported(path: Path) -> str:
    out = path.with_suffix(".html")
    assert footwork("report", path, "--out", out).status == 0
    return out.read_text(encoding="utf-8")


def _page(path: Path) -> str:
    return files("footwork.page").joinpath("files", "page.html").read_text(encoding="utf-8")


def _said(*words: str) -> Callable[[Path], str]:
    def run(path: Path) -> str:
        done = footwork(words[0], path, *words[1:])
        assert done.status in (0, 1), done.err
        return done.out

    return run


PLACES: dict[str, Callable[[Path], str]] = {
    "score": _said("score"),
    "the list of rules": _said("check", "--rules"),
    "what moves turn": _said("whatif", "move rack to 0.35,2.2 facing east", "move drill to 0.35,3.3"),
    "suggest": _said("suggest", *SEARCH),
    "where": _said("where", "drill", "--pitch", "2"),
    "fit": _said("fit", "stool", "--size", "0.4x0.4", "--pitch", "2"),
    "fit, nowhere": _said("fit", "table", "--size", "7x5"),
    "sizes": _said("sizes", "--width", "8", *SEARCH),
    "weekend": _said("weekend", "--most", "1", *SEARCH),
    "robust": _said("robust"),
    "the report": _reported,
    "the page": _page,
}


@pytest.mark.parametrize("place", PLACES)
def test_the_caution_is_said(place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    assert CAUTION in PLACES[place](write_box(tmp_path, SHED))


def test_a_plan_says_it_where_a_check_is_marked_on_it(tmp_path: Path) -> None:
    assert CAUTION not in _drawn(write_box(tmp_path, BOX))
    assert CAUTION in _drawn(write_box(tmp_path, FAILS))
