"""Plans: names keep off each other, files are whole and the same every time, faults are one line."""

from __future__ import annotations

import functools
import itertools
import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from footwork.model.errors import UsageError
from footwork.model.read import load, loads
from footwork.model.scenario import Layout, Scenario
from footwork.scoring import score
from footwork.show import board, compare_plan
from footwork.show.board import Board, text_width
from footwork.show.draw import compose, draw
from footwork.show.labels import Ground, Wanted, lead_out, place_inside, wraps
from footwork.show.plan import Drawing
from footwork.show.routes import route, shifted
from show.sheds import CROWDED, busy, crowded

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))


@functools.cache
def drawings(name: str) -> tuple[Drawing, ...]:
    """An example drawn every way: plain, its longest job, standing, walking, before and after, all in one."""
    if name in ("crowded", "busy"):
        scenario = {"crowded": crowded, "busy": busy}[name]()
    else:
        scenario = next(load(path) for path in SCENARIOS if path.stem == name)
    layout = scenario.layouts[0]
    figures = score(scenario, layout)
    longest = max(scenario.jobs, key=lambda job: len(job.route)).name
    ways: list[dict[str, Any]] = [
        {},
        {"standing": True},
        {"walking": True},
        {"before": handed_on(scenario)},
        {"job": longest},
        {"job": longest, "standing": True, "walking": True, "paper": "A4"},
    ]
    return tuple(compose(scenario, layout, score=figures, **way) for way in ways)


def handed_on(scenario: Scenario) -> Layout:
    """A layout in which every station stands where the next one of the file stands: everything moves."""
    today = scenario.layouts[0]
    names = [station.name for station in scenario.stations]
    return today.moved({a: today.placements[b] for a, b in itertools.pairwise([*names, names[0]])}, "before")


NAMES = ("crowded", "busy", *(path.stem for path in SCENARIOS))


@pytest.mark.parametrize("name", NAMES)
def test_names_are_legible(name: str) -> None:
    """Every thing is named once; no name lies on another, or is smaller than can be read."""
    for drawing in drawings(name):
        assert drawing.unplaced == ()
        boxes = [shapely.Polygon(label.box) for label in drawing.labels]
        for a, b in itertools.combinations(boxes, 2):
            assert a.intersection(b).area < 1e-9
        for label, box in zip(drawing.labels, boxes, strict=True):
            assert label.size >= 5.5
            if label.inside:
                assert label.wanted.home.buffer(1e-6).covers(box)
            assert shapely.box(*drawing.sheet.plan).covers(box)
        numbers = {shift.name: f"{shift.number} " for shift in drawing.shifts}
        named = {label.text.removesuffix(" (out)") for label in drawing.labels}
        for thing in drawing.request.scenario.things:
            assert numbers.get(thing.name, "") + thing.name.replace("_", " ") in named


@pytest.mark.parametrize("name", NAMES)
def test_a_led_name_stands_on_no_footprint_and_points_at_its_own(name: str) -> None:
    for drawing in drawings(name):
        footprints = drawing.shapes.footprints
        inside = [f for key, f in footprints.items() if key not in drawing.request.out]
        for label in drawing.labels:
            if label.inside:
                continue
            box = shapely.Polygon(label.box)
            assert all(box.intersection(shape).area < 1e-9 for shape in inside)
            if label.leader is None:  # a door's name beside its door
                assert box.distance(label.wanted.home) < 2.7
            else:
                assert label.wanted.home.distance(shapely.Point(label.leader[-1])) < 1e-6
                assert box.distance(shapely.Point(label.leader[0])) < 1.0


@pytest.mark.parametrize("name", NAMES)
def test_no_name_lies_on_a_route_a_number_or_a_line_of_a_move(name: str) -> None:
    for drawing in drawings(name):
        over: list[shapely.Geometry] = [*drawing.route.circles, *drawing.route.lines] if drawing.route else []
        over += compare_plan.solids(drawing.shifts)
        over += [circle.shape for circle in drawing.circles]
        for label in drawing.labels:
            box = shapely.Polygon(label.box)
            assert not any(box.intersects(shape) for shape in over), label.text


@pytest.mark.parametrize("name", NAMES)
def test_leaders_do_not_cross(name: str) -> None:
    for drawing in drawings(name):
        lines = [shapely.LineString(label.leader) for label in drawing.labels if label.leader is not None]
        assert not any(a.crosses(b) for a, b in itertools.combinations(lines, 2))


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


def test_letters_that_no_font_has_are_boxes_and_the_sheet_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, recwarn: pytest.WarningsRecorder
) -> None:
    scenario = loads(CROWDED.replace("Crowded corner", "隅 \U00012000"))  # the second letter is cuneiform
    monkeypatch.setattr(board, "_font_with", lambda letters: None)
    drawing = compose(scenario, "today")
    told = "Some names hold letters that no font on this machine has; they show as boxes."
    assert told in [t.get_text() for t in drawing.board.figure.axes[0].texts]
    draw(scenario, "today", tmp_path / "plan.svg")
    assert [str(w.message) for w in recwarn if "missing from" in str(w.message)] == []
    assert board.missing_letters("bench é λ ж ש") == ""


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
    twice = corner[[0, 1, 1, 2]]
    assert np.allclose(shifted(twice, 1.0), shifted(corner, 1.0)[[0, 1, 1, 2]])
    assert np.allclose(shifted(corner[[0, 0]], 1.0), corner[[0, 0]])


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
