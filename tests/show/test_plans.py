"""Plans: names keep off each other, files are whole and the same every time, faults are one line."""

from __future__ import annotations

import itertools
import os
from pathlib import Path

import numpy as np
import pytest
import shapely

from footwork.model.errors import UsageError
from footwork.model.read import load
from footwork.model.scenario import Scenario
from footwork.scoring import score
from footwork.show import ink
from footwork.show.board import Board, text_width
from footwork.show.draw import compose, draw
from footwork.show.labels import Ground, Wanted, lead_out, place_inside, wraps
from footwork.show.plan import Drawing
from footwork.show.routes import route, shifted
from footwork.show.sheet import fit
from show.sheds import crowded

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))


def sheds() -> list[tuple[str, Scenario]]:
    return [("crowded", crowded()), *((path.stem, load(path)) for path in SCENARIOS)]


def drawings(scenario: Scenario) -> list[Drawing]:
    """Every layout plain, and one each with the first job and with the standing hours."""
    found = []
    for layout in scenario.layouts:
        figures = score(scenario, layout)
        found.append(compose(scenario, layout, score=figures))
        if layout is scenario.layouts[0] and scenario.jobs:
            found += [compose(scenario, layout, job=job.name, score=figures) for job in scenario.jobs]
            found.append(compose(scenario, layout, standing=True, score=figures))
    return found


@pytest.mark.parametrize(
    ("name", "scenario"), sheds(), ids=lambda value: value if isinstance(value, str) else ""
)
def test_names_are_legible(name: str, scenario: Scenario) -> None:
    for drawing in drawings(scenario):
        assert drawing.unplaced == ()
        boxes = [shapely.Polygon(label.box) for label in drawing.labels]
        for a, b in itertools.combinations(boxes, 2):
            assert a.intersection(b).area < 1e-9
        for label, box in zip(drawing.labels, boxes, strict=True):
            assert label.size >= 5.5
            if label.inside:
                assert label.wanted.home.buffer(1e-6).covers(box)
            assert shapely.box(*drawing.sheet.plan).covers(box)
        named = {label.text for label in drawing.labels}
        assert {t.name.replace("_", " ") for t in scenario.things} <= {
            n.removesuffix(" (out)") for n in named
        }


@pytest.mark.parametrize(
    ("name", "scenario"), sheds(), ids=lambda value: value if isinstance(value, str) else ""
)
def test_a_led_name_stands_on_no_footprint(name: str, scenario: Scenario) -> None:
    for drawing in drawings(scenario):
        homes = [n.wanted.home for n in drawing.labels if n.wanted.lead and n.wanted.color == ink.INK]
        for label in drawing.labels:
            if not label.inside:
                box = shapely.Polygon(label.box)
                assert all(box.intersection(home).area < 1e-9 for home in homes)


def test_texts_lie_in_the_boxes_that_were_kept_for_them() -> None:
    """The drawn text, as matplotlib's own renderer measures it, against the box of its label."""
    drawing = compose(crowded(), "today")
    figure = drawing.board.figure
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    figure.set_dpi(300)
    renderer = FigureCanvasAgg(figure).get_renderer()
    extents = [(t.get_text(), t.get_window_extent(renderer)) for t in figure.axes[0].texts]
    for label in drawing.labels:
        if label.angle % 90:
            continue
        box = shapely.Polygon(label.box).buffer(0.35)
        for line in label.lines:
            found = [np.array(e.extents) / 300 * 25.4 for text, e in extents if text == line]
            assert any(box.covers(shapely.box(*mm)) for mm in found), line


@pytest.mark.parametrize("kind", ["svg", "png", "pdf"])
def test_the_same_plan_is_the_same_file(kind: str, tmp_path: Path) -> None:
    scenario = crowded()
    for name in ("a", "b"):
        draw(scenario, "today", tmp_path / f"{name}.{kind}", job="sort")
    first = (tmp_path / f"a.{kind}").read_bytes()
    assert first == (tmp_path / f"b.{kind}").read_bytes()
    assert first.startswith({"svg": b"<?xml", "png": b"\x89PNG", "pdf": b"%PDF"}[kind])
    assert sorted(path.name for path in tmp_path.iterdir()) == [f"a.{kind}", f"b.{kind}"]


def test_a_users_own_matplotlib_settings_change_nothing(tmp_path: Path) -> None:
    import matplotlib

    draw(crowded(), "today", tmp_path / "a.svg")
    with matplotlib.rc_context(
        {"lines.linewidth": 9, "font.size": 30, "svg.hashsalt": "x", "savefig.bbox": "tight"}
    ):
        draw(crowded(), "today", tmp_path / "b.svg")
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()


@pytest.mark.parametrize(
    ("out", "job", "says"),
    [
        ("plan.jpg", None, "drawn as .svg, .png, .pdf or .dxf"),
        ("plan", None, "drawn as .svg, .png, .pdf or .dxf"),
        ("no/plan.svg", None, "there is no folder"),
        ("plan.svg", "srot", "no job 'srot'; did you mean 'sort'?"),
    ],
)
def test_wrong_usage_is_one_line_and_no_file(out: str, job: str | None, says: str, tmp_path: Path) -> None:
    with pytest.raises(UsageError) as fault:
        draw(crowded(), "today", tmp_path / out, job=job)
    assert len(fault.value.lines) == 1
    assert says in fault.value.lines[0]
    assert list(tmp_path.iterdir()) == []


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    (tmp_path / "x.svg").mkdir()
    with pytest.raises(UsageError, match="is a folder"):
        draw(crowded(), "today", tmp_path / "x.svg")


def test_a_failed_save_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = tmp_path / "plan.svg"
    out.write_text("old")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(UsageError, match="cannot be written: No space left on device"):
        draw(crowded(), "today", out)
    assert out.read_text() == "old"
    assert list(tmp_path.iterdir()) == [out]


def test_failed_checks_are_marked_and_numbered() -> None:
    scenario = crowded()
    layout = scenario.layouts[0]
    on_top = layout.moved({"post_drill": layout.placements["bench"]})
    figures = score(scenario, on_top)
    assert not figures.ok
    texts = [t.get_text() for t in compose(scenario, on_top, score=figures).board.figure.axes[0].texts]
    assert "Failed checks" in texts
    assert "fails a must-check" in texts
    assert any(text.startswith("must, no-overlap:") for text in texts)


def test_a_job_that_cannot_be_walked_is_drawn_and_says_so() -> None:
    scenario = crowded()
    layout = scenario.layouts[0]
    shut = layout.moved(
        {"corner_table": layout.placements["post_drill"], "post_drill": layout.placements["corner_table"]}
    )
    boxed_in = shut.moved({"another_small_thing": layout.placements["bench"]})
    drawing = compose(scenario, boxed_in, job="sort")
    assert drawing.labels


def test_scale_is_customary_and_true() -> None:
    sheet = fit((0, 0, 10, 7), (10, 10, 10, 10), "m", False, 8.0)
    assert (sheet.paper, sheet.scale_words) == ("A3", "1:40")
    assert np.allclose(sheet.mm((1.0, 0.0)) - sheet.mm((0.0, 0.0)), (25.0, 0))
    feet = fit((0, 0, 6.1, 6.1), (10, 10, 10, 10), "ft", False, 8.0)
    assert (feet.paper, feet.scale_words) == ("tabloid", "3/8\" = 1'")


@pytest.mark.parametrize("side", [0.5, 3.0, 40.0, 900.0])
def test_any_room_fits_some_scale(side: float) -> None:
    sheet = fit((0, 0, side, side / 2), (12, 12, 12, 12), "m", True, 8.0)
    low, high = sheet.mm((0, 0)), sheet.mm((side, side / 2))
    assert (low >= sheet.plan[:2]).all()
    assert (high <= sheet.plan[2:]).all()


def test_a_name_without_room_inside_is_led_out() -> None:
    home = shapely.box(50, 50, 54, 53)
    ground = Ground(shapely.box(0, 0, 100, 100), solids=[home])
    inside, rest = place_inside([Wanted("a name much too long", home)], ground)
    assert inside == ()
    (label,), left = lead_out(rest, ground)
    assert left == ()
    assert label.leader is not None
    assert home.covers(shapely.Point(label.leader[-1]))


def test_a_tall_home_takes_a_rotated_name() -> None:
    home = shapely.box(0, 0, 5, 40)
    ground = Ground(shapely.box(0, 0, 100, 100), solids=[home])
    ((label,), _) = place_inside([Wanted("compressor", home)], ground)
    assert label.angle == 90.0


def test_wraps_are_even() -> None:
    assert wraps("pillar drill") == [("pillar drill",), ("pillar", "drill")]
    assert wraps("bench-1") == [("bench-1",), ("bench-", "1")]
    assert wraps("saw") == [("saw",)]


def test_text_width_grows_with_size() -> None:
    assert text_width("bench", 10.0) == pytest.approx(2 * text_width("bench", 5.0), rel=0.02)
    assert text_width("", 10.0) == 0.0


def test_tracks_keep_to_the_right() -> None:
    there = np.array([[0.0, 0.0], [10.0, 0.0]])
    assert np.allclose(shifted(there, 1.0), [[0, -1], [10, -1]])
    assert np.allclose(shifted(there[::-1], 1.0), [[10, 1], [0, 1]])
    corner = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0]])
    assert np.allclose(shifted(corner, 1.0), [[0, -1], [11, -1], [11, 10]])


def test_a_leg_walked_again_is_drawn_once() -> None:
    scenario = crowded()
    figures = score(scenario, "today")
    drawing = compose(scenario, "today", job="sort", score=figures)
    found = route(drawing.sheet, figures.job("sort"))
    legs = [leg for leg in figures.job("sort").legs if leg.start != leg.end]
    assert sum(track.times for track in found.tracks) == len(legs)
    assert len({(t.start.number, t.end.number) for t in found.tracks}) == len(found.tracks)
    discs = [h.drawn for h in found.halts]
    assert all(np.hypot(*(a - b)) > 4.0 for a, b in itertools.combinations(discs, 2))


def test_hatch_stays_in_its_area() -> None:
    board = Board(100, 100)
    area = shapely.box(10, 10, 30, 20).union(shapely.box(20, 10, 40, 40))
    board.hatch(area, 2.0, 45.0, color="#000000", weight=0.3, z=1)
    (lines,) = board.figure.axes[0].collections
    for segment in lines.get_segments():
        assert area.buffer(1e-6).covers(shapely.LineString(segment))
