"""The public API: light to import, and everything it promises is there."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import footwork
from box import write_box


def test_every_name_of_the_api_is_there() -> None:
    for name in footwork.__all__:
        assert getattr(footwork, name).__doc__, f"{name} has no docstring"
    assert set(footwork.__all__) <= set(dir(footwork))


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="module 'footwork' has no attribute 'lode'"):
        footwork.lode  # type: ignore[attr-defined]  # noqa: B018


def test_importing_it_loads_no_part_of_the_house() -> None:
    code = "import sys, footwork; print(*[m for m in sys.modules if m.startswith('footwork.')])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""


def test_from_file_to_plan(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    scenario = footwork.load(path)
    before = footwork.score(scenario)
    tried, layout = footwork.apply(scenario, "today", "move drill by -1,0")
    after = footwork.score(tried, layout)
    assert after.job("hang").metres_each == pytest.approx(before.job("hang").metres_each - 2.0)
    footwork.save(tried, layout, "tried", path)
    again = footwork.load(path)
    assert [each.name for each in again.layouts] == ["today", "closer", "tried"]
    assert footwork.score(again, "tried").cost == pytest.approx(after.cost)
    assert "# the box shed" in path.read_text(encoding="utf-8")
    footwork.draw(scenario, layout, tmp_path / "plan.svg")
    assert (tmp_path / "plan.svg").read_text(encoding="utf-8").count("<svg") == 1
    footwork.report(tried, layout, tmp_path / "report.html", before="today")
    assert "m less walking a year" in (tmp_path / "report.html").read_text(encoding="utf-8")


def test_suggest_is_never_worse_than_its_base(tmp_path: Path) -> None:
    scenario = footwork.load(write_box(tmp_path))
    result = footwork.suggest(scenario, "today", iterations=200, pitch=1.0, processes=1)
    assert result.layouts[0].cost <= footwork.score(scenario, "today").cost
    assert result.bound <= result.layouts[0].cost + 1e-6


def test_errors_are_one_family() -> None:
    with pytest.raises(footwork.FootworkError) as caught:
        footwork.load("no-such-file.toml")
    assert isinstance(caught.value, footwork.ScenarioError)
    assert len(caught.value.lines) == 1
