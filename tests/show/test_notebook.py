"""Results show themselves in a notebook and turn into objects of other libraries."""

from __future__ import annotations

import math
import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path

import pytest

import footwork
from box import BOX, write_box

VOID = {"br", "hr", "img", "meta"}


class _Checker(HTMLParser):
    """Text of a page; every element that is opened is closed."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[str] = []
        self.words = ""

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.seen.append(tag)
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words += f" {data}"


def page(result: object) -> _Checker:
    text = result._repr_html_()  # type: ignore[attr-defined]
    assert isinstance(text, str)
    checker = _Checker()
    checker.feed(text)
    checker.close()
    assert checker.open == []
    return checker


@pytest.fixture
def scenario(tmp_path: Path) -> footwork.Scenario:
    return footwork.load(write_box(tmp_path))


def test_each_result_shows_its_figures(scenario: footwork.Scenario) -> None:
    score = footwork.score(scenario)
    session = footwork.Session(scenario)
    change = session.do("move drill by -1,0")
    found = footwork.suggest(scenario, "today", iterations=50, pitch=1.0, processes=1)
    for result, wanted in (
        (scenario, ["Box", "8.00 m by 6.00 m", "bench, drill, bench"]),
        (score, ["1,186 m walked a year", "hang", "874"]),
        (change, ["move drill by -1,0", "in all", "1,186"]),
        (session, ["move drill by -1,0", "m walked a year"]),
        (found, ["than today", "Searched"]),
        (footwork.mark_out(scenario), ["marking out", "Along the north wall", "1.200"]),
    ):
        shown = page(result)
        assert "table" in shown.seen
        assert [words for words in wanted if words not in shown.words] == [], type(result).__name__


def test_names_stay_text(tmp_path: Path) -> None:
    name = "<script>alert(1)</script> & 'x'"
    text = BOX.replace("hang = {", f'"{name}" = {{').replace('name = "Box"', f'name = "{name}"')
    scenario = footwork.load(write_box(tmp_path, text))
    for result in (scenario, footwork.score(scenario), footwork.mark_out(scenario)):
        shown = page(result)
        assert "script" not in shown.seen
        assert name in shown.words


def test_without_the_package_s_own_names_a_result_is_shown_as_it_is() -> None:
    """Rooms below `show` know nothing of it."""
    code = (
        "import sys\n"
        "from footwork.model.read import load\n"
        "scenario = load('scenarios/gate-shed.toml')\n"
        "assert scenario._repr_html_() is None\n"
        "assert not [m for m in sys.modules if m.startswith('footwork.show')]\n"
        "import footwork\n"
        "footwork.load\n"
        "assert '<table' in scenario._repr_html_()\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=Path(__file__).parents[2])


def test_look_is_a_plan_and_the_same_each_time(scenario: footwork.Scenario) -> None:
    picture = footwork.look(scenario, "closer", job="hang")
    assert picture._repr_svg_().count("<svg") == 1
    assert picture == footwork.look(scenario, "closer", job="hang")
    assert re.fullmatch(r"Picture\([\d,]+ characters of svg\)", repr(picture))
    with pytest.raises(footwork.FootworkError, match="no job 'hing'; did you mean 'hang'"):
        footwork.look(scenario, job="hing")


def test_pandas_tables_hold_the_figures(scenario: footwork.Scenario) -> None:
    pytest.importorskip("pandas")
    score = footwork.score(scenario)
    jobs = footwork.to_pandas(score)
    assert jobs.loc["hang", "metres_each"] == pytest.approx(6.0)
    assert jobs["metres_per_year"].sum() == pytest.approx(312.0 + 873.6)
    legs = footwork.to_pandas(score, "legs")
    assert legs.loc[("fetch", 1), "metres"] == pytest.approx(4.2)
    assert footwork.to_pandas(score, "from_to")["metres_per_year"].sum() == pytest.approx(312.0 + 873.6)
    assert tuple(footwork.to_pandas(score, "placements").loc["drill"]) == (5.0, 5.7, 180.0)
    assert len(footwork.to_pandas(score, "checks")) == len(score.checks)
    assert len(footwork.to_pandas(score, "standing")) == 0


def test_an_unknown_table_and_a_missing_pandas_are_one_line(
    scenario: footwork.Scenario, monkeypatch: pytest.MonkeyPatch
) -> None:
    score = footwork.score(scenario)
    with pytest.raises(footwork.FootworkError, match="there is no table 'job'; did you mean 'jobs'"):
        footwork.to_pandas(score, "job")
    monkeypatch.setitem(sys.modules, "pandas", None)
    with pytest.raises(
        footwork.FootworkError, match=r"^pandas is not there; install it with: pip install pandas$"
    ):
        footwork.to_pandas(score)


def test_shapes_are_the_footprints(scenario: footwork.Scenario) -> None:
    shapes = footwork.to_shapely(scenario)
    assert set(shapes) == {"room", "bench", "drill", "rack", "sink", "van"}
    assert shapes["room"].area == pytest.approx(48.0)
    assert shapes["bench"].bounds == pytest.approx((1.2, 5.4, 2.8, 6.0))
    assert shapes["van"].area == pytest.approx(1.6 * 3.0)


def test_the_graph_is_the_from_to_chart(scenario: footwork.Scenario) -> None:
    score = footwork.score(scenario)
    graph = footwork.to_networkx(score)
    assert graph.edges["bench", "drill"]["metres_per_year"] == pytest.approx(52 * 3.0)
    assert graph.nodes["drill"] == {"at": (5.0, 5.7), "facing": 180.0}
    assert "sink" in graph
    total = math.fsum(metres for *_, metres in graph.edges(data="metres_per_year"))
    assert total == pytest.approx(score.metres_per_year)
