"""What the report says, and the file that it is: no browser needed."""

from __future__ import annotations

import hashlib
import math
import os
import re
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

import footwork
from box import BOX
from footwork.arrange.core.results import Anywhere, Saving
from footwork.model.read import loads
from footwork.model.scenario import Layout, Placement, Scenario
from footwork.scoring import score
from footwork.show.report import chart
from footwork.show.report.facts import Page, day_words, lead
from footwork.show.report.moving import steps
from footwork.show.report.proof import proof
from footwork.show.report.routes_words import folded
from footwork.show.report.svg_board import SvgBoard
from footwork.show.report.table import Table
from footwork.show.report.write import as_html, facts, report
from footwork.show.walked import Walked
from show.report_pages import found, gate_shed, hostile, write_pages
from show.test_walk_words import SHUT

TESTS = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def box() -> Scenario:
    return loads(BOX)


@pytest.fixture(scope="module")
def page(box: Scenario) -> Page:
    return facts(box, "closer", "today")


def column(table: Table, k: int) -> list[str]:
    return [row.cells[k].words for row in table.rows]


# Sentences


def test_the_job_in_a_sentence(box: Scenario) -> None:
    """hang 312.0 to 208.0 m a year, fetch 873.6 to 2 x 104 x sqrt(1.0² + 4.2²) = 898.0; at 1.2 m/s."""
    today, closer = score(box, "today"), score(box, "closer")
    assert lead(box, [today, closer], False) == (
        "Rearranged, the 2 jobs of Box take 80 m less walking a year: "
        "1.1 km instead of 1.2 km, 6.7 % and 1 minute less."
    )
    assert " 80 m more walking a year: 1.2 km instead of 1.1 km, 7.2 % and 1 minute more." in lead(
        box, [closer, today], False
    )
    assert lead(box, [today], False) == (
        "As in layout today, the 2 jobs of Box take 1.2 km, 16 minutes of walking, a year."
    )
    assert lead(box, [today, today], True) == (
        "No shorter layout was found: the 2 jobs of Box take 1.2 km, 16 minutes of walking, a year, "
        "as in layout today."
    )
    nothing = lead(box, [replace(today, jobs=())], False)
    assert nothing == "Box has no jobs yet, so there is no walking to count."


def test_what_is_squeezed_in_a_layout_is_said(box: Scenario) -> None:
    blocked = score(loads(SHUT), "today")
    squeezed = "of which 215 m squeezed through gaps too narrow (cut)"
    assert lead(box, [blocked], False) == (
        f"As in layout today, the 1 job of Shut takes 317 m, 4 minutes of walking, a year, {squeezed}."
    )
    today = score(box, "today")
    assert lead(box, [blocked, today], False).startswith(
        f"Layout today takes 317 m a year, {squeezed}; rearranged, the 2 jobs of Box take 1.2 km"
    )


def test_the_proof_in_words(box: Scenario) -> None:
    bounded = proof(found(box, "move drill by -1,0", bound=0.9), Walked())
    assert bounded.lead == ("No layout on these spots can save more than another 10 %, 111 m a year.",)
    assert [(name, value) for name, value, _ in bounded.rows] == [
        ("Cost", "1,106 m a year"),
        ("Bound, on spots", "995 m a year"),
        ("Gap, on spots", "10 %"),
    ]
    proven = proof(found(box, "move drill by -1,0", bound=1.0), Walked())
    assert proven.lead == ("Proven: no layout on these spots costs less.",)
    assert [value for _, value, _ in proven.rows] == ["1,106 m a year", "1,106 m a year", "0 %"]
    unknown = proof(found(box, "move drill by -1,0", bound=0.0), Walked())
    assert "not known" in unknown.lead[0]
    assert [name for name, _, _ in unknown.rows] == ["Cost"]
    assert "3.2" not in bounded.searched  # how long it took is different each time


def test_the_proof_off_the_spots(box: Scenario) -> None:
    """The layout shown costs 1,106; the best on spots cost 1,200, of which the bound is 1,080."""
    result = replace(found(box, "move drill by -1,0"), bound=1080.0)
    anywhere = Anywhere(on_spots=1200.0, cost=1106.0, bound=553.0, cells=9)
    told = proof(replace(result, anywhere=anywhere), Walked())
    assert told.lead == (
        "No layout on these spots can save more than another 10 %, 120 m a year.",
        "Off the spots it costs another 7.8 % less, 94 m a year; that is the layout shown.",
        "For every position, not only these spots: no layout can save more than another 50 %, 553 m a year.",
    )
    assert [(name, value) for name, value, _ in told.rows] == [
        ("Cost", "1,106 m a year"),
        ("On spots", "1,200 m a year"),
        ("Bound, on spots", "1,080 m a year"),
        ("Gap, on spots", "10 %"),
        ("Bound, anywhere", "553 m a year"),
        ("Gap, anywhere", "50 %"),
    ]


def test_what_to_do_first(box: Scenario) -> None:
    """Moves in order and failed checks, `must` first, at most five of each; the rest is counted."""
    layout = box.layouts[0]
    worse = layout.moved({"drill": layout.placements["bench"], "rack": Placement(1.0, 0.3, 0.0)}, "worse")
    page = facts(box.with_(layouts=(*box.layouts, worse)), "worse", "today")
    assert [said.split(":")[0] for said in page.first.moves] == ["rack", "drill"]  # as one marks out
    assert "drill: middle to 2.00 m east, 5.70 m north, facing south" in page.first.moves
    assert page.first.moves_left == 0
    assert page.first.failing[0].must
    assert page.first.failing[0].words.startswith("no-overlap: ")
    count = sum(not check.ok for check in score(box, worse).checks)
    assert len(page.first.failing) + page.first.failing_left == count
    text = as_html(page)
    assert text.index('id="first-head"') < text.index('id="plan-head"') < text.index('id="figures-head"')


def test_a_day_of_walking(box: Scenario) -> None:
    """fetch: 8.4 m, at 0.75 m a step and 1.2 m/s; 8.635 m with the drill a metre further west."""
    today, closer = score(box, "today"), score(box, "closer")
    assert day_words(box, [today]) == "On a day with fetch: 11 steps, 7 seconds of walking."
    told = "On a day with fetch: 12 steps, 7 seconds of walking, instead of 11 steps and 7 seconds."
    assert day_words(box, [today, closer]) == told


def test_a_job_that_is_done_often_a_day(box: Scenario) -> None:
    """Three times a day in half of the weeks: 25.2 m on a day with it."""
    half = {"times_per_year": 3 * 365 / 2, "weeks": 26.0, "part": 0.5}
    jobs = tuple(replace(j, **half) if j.name == "fetch" else j for j in box.jobs)
    often = box.with_(jobs=jobs)
    assert day_words(often, [score(often, "today")]) == (
        "On a day with fetch 3 times: 34 steps, 21 seconds of walking."
    )


def test_repeated_stops_are_said_once() -> None:
    assert folded(["rack", "saw", "drill", "bench", "drill", "bench", "bench"]) == [
        "rack",
        "saw",
        "2 times (drill, bench)",
        "bench",
    ]
    assert folded(["a", "a", "a"]) == ["3 times a"]
    assert folded([]) == []


# Tables


def test_the_jobs_have_their_figures_before_and_after(page: Page) -> None:
    assert page.jobs is not None
    assert [row.job for row in page.jobs.rows] == [0, 1]
    assert [cell.words for cell in page.jobs.rows[0].cells] == [
        "hang", "312", "208", "\u2212104", "\u221233.3 %", "6.0", "4.0", "52",
    ]  # fmt: skip
    assert [cell.words for cell in page.jobs.rows[1].cells] == [
        "fetch", "874", "898", "+24", "+2.8 %", "8.4", "8.6", "104",
    ]  # fmt: skip
    assert page.jobs.total is not None
    assert [cell.words for cell in page.jobs.total.cells][:4] == ["in all", "1,186", "1,106", "\u221280"]


def test_the_chart_adds_up_to_all_walking(page: Page) -> None:
    for view, wanted in zip(page.views, (312.0 + 873.6, 208.0 + 898.0), strict=True):
        chart = view.chart
        assert chart is not None
        assert chart.total is not None
        names = column(chart, 0)
        assert [head.words for head in chart.heads] == ["from", *names, "in all"]
        inner = [cell.sort or 0.0 for row in chart.rows for cell in row.cells[1:-1]]
        assert math.fsum(inner) == pytest.approx(wanted, abs=0.1)
        assert chart.total.cells[-1].sort == pytest.approx(wanted, abs=0.1)
        # the colour says nothing that the number does not
        assert all(bool(cell.words) == bool(cell.tone) for row in chart.rows for cell in row.cells[1:-1])


def test_a_chart_has_an_end(box: Scenario, monkeypatch: pytest.MonkeyPatch) -> None:
    """With room for two names: drill is busiest (all walks), and bench and rack are the others."""
    monkeypatch.setattr(chart, "MOST", 2)
    today = score(box, "today")
    names = chart.order([today])
    assert names == ("drill", "all others")
    found = chart.table(today, names, "after", Walked())
    assert found is not None
    assert [[cell.words for cell in row.cells] for row in found.rows] == [
        ["drill", "", "593", "593"],
        ["all others", "593", "", "593"],
    ]


def test_checks_that_fail_come_first_with_source_and_what_to_do() -> None:
    text = BOX.replace("rack = { at = [5.0, 0.3]", "rack = { at = [5.0, 5.0]", 1)
    broken = loads(text)  # today's rack stands in the drill's standing strip; the other layout mends it
    page = facts(broken, "closer", "today")
    first, *rest = page.checks.rows
    outcomes = [cell.words for cell in first.cells[2:4]]
    assert outcomes == ["fails (must)", "holds"]
    assert first.cells[4].words.startswith("Mended. Before: ")
    assert first.cells[5].words in ("your file", "common practice") or "published" in first.cells[5].words
    tones = [row.cells[3].tone for row in page.checks.rows]
    assert tones == sorted(tones, key=lambda tone: ["fails", "warns", "holds"].index(tone))
    assert page.views[0].plan.marks[0].startswith("1 ")
    assert first.cells[0].words in page.views[0].plan.marks[0]
    assert any(re.fullmatch(r"\d+ of \d+ hold", row.cells[3].words) for row in rest)
    assert page.more[0].startswith("Layout today fails ")
    turned = facts(broken, "today", "closer")
    assert [cell.words for cell in turned.checks.rows[0].cells[2:4]] == ["holds", "fails (must)"]
    assert not any("{figure}" in cell.words + cell.small for row in page.checks.rows for cell in row.cells)


def test_one_layout_has_no_before(box: Scenario) -> None:
    page = facts(box, None)
    assert [view.title for view in page.views] == ["Layout today"]
    assert page.moving is None
    assert page.jobs is not None
    assert [head.words for head in page.jobs.heads] == ["job", "m a year", "m each time", "times a year"]
    assert "No search was made for this page" in as_html(page)


def test_the_same_layout_twice_moves_nothing(box: Scenario) -> None:
    assert "Nothing: both layouts are the same." in as_html(facts(box, "today", "today"))


# What to move, in which order


def moved(scenario: Scenario, **places: tuple[float, float, float]) -> Layout:
    today = scenario.layouts[0]
    return today.moved({name: Placement(*place) for name, place in places.items()}, "then")


def test_a_thing_waits_until_its_place_is_free(box: Scenario) -> None:
    """The bench goes to where the drill is, so the drill goes first whatever the order of marking out."""
    then = moved(box, bench=(5.0, 5.7, 180.0), drill=(5.0, 3.0, 180.0))
    order = steps(box, box.layouts[0], then)
    assert [(step.name, step.aside) for step in order] == [("drill", ()), ("bench", ())]
    assert order[1].metres == pytest.approx(3.0)


def test_in_a_ring_what_is_small_or_rolls_is_set_aside(box: Scenario) -> None:
    """Bench (1.6 x 0.6) and drill (0.6 x 0.6) change places; a bench on castors is less trouble yet."""
    then = moved(box, bench=(5.0, 5.7, 180.0), drill=(2.0, 5.7, 180.0))
    order = steps(box, box.layouts[0], then)
    assert [(step.name, step.aside) for step in order] == [("bench", ("drill",)), ("drill", ())]
    rolling = loads(BOX.replace("bench = { size = [1.6, 0.6]", "bench = { castors = true, size = [1.6, 0.6]"))
    order = steps(rolling, rolling.layouts[0], then)
    assert [(step.name, step.aside) for step in order] == [("drill", ("bench",)), ("bench", ())]


def test_the_order_of_savings_is_kept_where_it_is_known(box: Scenario) -> None:
    then = moved(box, bench=(5.0, 5.7, 180.0), drill=(5.0, 3.0, 90.0), van=(1.6, 2.0, 90.0))
    order = steps(box, box.layouts[0], then, ["bench", "drill"])
    assert [(step.name, step.aside) for step in order] == [
        ("bench", ("drill",)),
        ("drill", ()),
        ("van", ()),  # a vehicle comes last, and is never in the way
    ]
    assert [step.turned for step in order] == [False, True, False]


def test_saved_metres_stand_beside_the_moves(box: Scenario) -> None:
    result = found(box, "move drill by -1,0")
    limited = replace(result, moved=(Saving("drill", 79.6),))
    page = facts(box, limited)
    assert page.moving is not None
    assert [head.words for head in page.moving.table.heads][-1] == "saves m a year"
    assert [cell.words for cell in page.moving.table.rows[0].cells] == [
        "1 drill", "5.00 m east, 5.70 m north", "4.00 m east, 5.70 m north", "south", "1.00 m", "80",
    ]  # fmt: skip
    assert page.moving.order[0].startswith("In the order of what each move saves")


# The file


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.named: list[str] = []
        self.outside: list[str] = []
        self.pictures: list[dict[str, str | None]] = []
        self.tags: Counter[str] = Counter()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        self.tags[tag] += 1
        self.ids += [found["id"] or ""] if "id" in found else []
        for key in ("aria-labelledby", "for"):
            self.named += (found.get(key) or "").split()
        for key in ("src", "href", "xlink:href", "srcset", "action", "data"):
            if key == "href" and (found.get(key) or "").startswith("#"):
                self.named.append((found[key] or "")[1:])  # a place further down the page
            elif key in found and found[key] != "data:,":
                self.outside.append(f"{tag} {key}={found[key]}")
        if tag == "svg":
            self.pictures.append(found)


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return write_pages(tmp_path_factory.mktemp("files"))


@pytest.mark.parametrize("name", ["shed", "alone", "hostile"])
def test_a_page_holds_all_it_needs(files: dict[str, Path], name: str) -> None:
    text = files[name].read_text(encoding="utf-8")
    reader = _Reader()
    reader.feed(text)
    assert reader.outside == []
    assert "url(" not in text
    assert "@import" not in text
    assert not re.search(r"https?://", text)
    assert reader.tags["script"] == reader.tags["style"] == reader.tags["main"] == 1
    assert [k for k, n in Counter(reader.ids).items() if n > 1] == []
    assert set(reader.named) <= set(reader.ids)
    for picture in reader.pictures:
        assert picture.get("role") == "img" or picture.get("aria-hidden") == "true"
        assert picture.get("role") != "img" or picture.get("aria-labelledby")
    assert reader.tags["desc"] == sum(picture.get("role") == "img" for picture in reader.pictures)
    assert len(text) < 500_000


def test_motion_is_asked_for_nowhere_but_in_scrolling(files: dict[str, Path]) -> None:
    text = files["alone"].read_text(encoding="utf-8")
    assert not re.search(r"\b(transition|animation)\b", text)
    assert "prefers-reduced-motion" in text


def test_another_process_writes_the_same_bytes(files: dict[str, Path], tmp_path: Path) -> None:
    """Later, in another time zone, and with sets in another order."""
    order = "7" if os.environ.get("PYTHONHASHSEED") != "7" else "1"
    code = "import sys, pathlib, show.report_pages as p; p.write_pages(pathlib.Path(sys.argv[1]))"
    paths = os.pathsep.join([str(TESTS), *(p for p in sys.path if p)])
    settings = {**os.environ, "PYTHONHASHSEED": order, "PYTHONPATH": paths, "TZ": "XYZ-9"}
    subprocess.run([sys.executable, "-c", code, str(tmp_path)], env=settings, check=True)
    for name, path in files.items():
        there = (tmp_path / f"{name}.html").read_bytes()
        assert hashlib.sha256(there).hexdigest() == hashlib.sha256(path.read_bytes()).hexdigest(), name


def test_no_page_holds_a_path_of_the_machine(files: dict[str, Path]) -> None:
    for path in files.values():
        text = path.read_text(encoding="utf-8")
        assert str(path.parent) not in text
        assert str(TESTS.parent) not in text


def test_what_cannot_be_written_leaves_nothing_behind(box: Scenario, tmp_path: Path) -> None:
    kept = tmp_path / "kept.html"
    kept.write_text("as it was", encoding="utf-8")
    for out, said in (
        (tmp_path / "page.txt", r"page\.txt: a report is written as \.html"),
        (tmp_path / "no" / "page.html", "there is no folder"),
        (tmp_path, "a report is written as"),
    ):
        with pytest.raises(footwork.FootworkError, match=said):
            report(box, "today", out)
    with pytest.raises(footwork.FootworkError, match="there is no layout 'tody'; did you mean 'today'"):
        report(box, "tody", kept)
    with pytest.raises(footwork.FootworkError, match="there is no layout 'then'"):
        report(box, "today", kept, before="then")
    with pytest.raises(footwork.FootworkError, match="the search found no layout"):
        report(box, replace(found(box, "move drill by -1,0"), layouts=()), kept)
    assert kept.read_text(encoding="utf-8") == "as it was"
    assert [path.name for path in tmp_path.iterdir()] == ["kept.html"]


# Pictures


def test_walks_keep_off_what_stands_on_the_floor() -> None:
    """Tracks drawn aside of the true way must not seem to cross a bench."""
    import shapely

    from footwork.show.report import picture
    from footwork.show.report.walks import small_route

    scenario = gate_shed()
    subject = picture.Subject(scenario, scenario.layouts[0], score(scenario))
    sheet = picture.sheet_of(subject.request, picture.frame_of([subject]))
    for job in subject.score.jobs:
        from footwork.show.furniture import furniture

        out = replace(subject.request, job=job).out
        solids = [
            shape
            for name, shape in furniture(sheet, scenario, subject.layout).footprints.items()
            if name not in out
        ]
        inner = shapely.union_all([solid.buffer(-0.35) for solid in solids])
        for track in small_route(sheet, job, solids).tracks:
            line = shapely.LineString(track.points)
            assert line.intersection(inner).length < 1.5, (job.name, track.start.number, track.end.number)


def test_text_on_a_plan_is_escaped() -> None:
    board = SvgBoard(10.0, 10.0)
    board.text((1.0, 1.0), "<script>&\"'", 8.0)
    with board.group(1.0, data_vehicle="\"><script>'"):
        board.circle((1.0, 1.0), 1.0, z=1.0)
    assert "<script" not in board.markup()
    assert "&lt;script&gt;&amp;" in board.markup()


def test_hostile_names_are_in_the_page_as_text() -> None:
    scenario = hostile()
    text = as_html(facts(scenario, "today"))
    assert text.count("<script") == 1
    assert "<img" not in text
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in text
