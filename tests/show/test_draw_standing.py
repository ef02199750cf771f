"""Standing hours: circles by side, areas by hours, mats where they pay."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely

from footwork.scoring import score
from footwork.show.draw import compose
from footwork.show.mats import by_side, mat_reason
from show.sheds import busy, crowded


@pytest.mark.parametrize("scenario", [crowded(), busy()], ids=["crowded", "busy"])
def test_one_circle_a_side_with_its_hours(scenario: object) -> None:
    figures = score(scenario)  # type: ignore[arg-type]
    drawing = compose(scenario, "today", standing=True, score=figures)  # type: ignore[arg-type]
    sides = by_side(figures.standing)
    assert [(c.standing.station, c.standing.side) for c in drawing.circles] == [
        (s.station, s.side) for s in sides
    ]
    most = drawing.circles[0]
    for circle in drawing.circles:
        share = circle.standing.hours_per_year / most.standing.hours_per_year
        assert circle.radius == pytest.approx(max(0.9, most.radius * share**0.5))
    for a, b in itertools.combinations(drawing.circles, 2):
        assert np.hypot(*(a.at - b.at)) > a.radius + b.radius
    texts = [t.get_text() for t in drawing.board.figure.axes[0].texts]
    for side in sides:
        assert f"{side.hours_per_year:,.0f} h" in texts


def test_a_mat_lies_before_its_station_where_one_pays() -> None:
    scenario = busy()
    drawing = compose(scenario, "today", standing=True)
    mats = {c.standing.station: c.mat for c in drawing.circles if c.mat is not None}
    assert set(mats) == {c.standing.station for c in drawing.circles if mat_reason(c.standing)}
    assert set(mats) == {"soldering bench"}
    bench = drawing.shapes.footprints["soldering bench"]
    mat = shapely.transform(mats["soldering bench"], drawing.sheet.metres)
    assert mat.bounds[3] - mat.bounds[1] == pytest.approx(0.6, abs=0.06)
    assert not mats["soldering bench"].intersects(bench)
    assert mats["soldering bench"].distance(bench) < 1.0
    texts = [t.get_text() for t in drawing.board.figure.axes[0].texts]
    assert "a mat pays" in texts


def test_no_mat_is_said_in_words() -> None:
    drawing = compose(crowded(), "today", standing=True)
    texts = " ".join(t.get_text() for t in drawing.board.figure.axes[0].texts)
    assert "No mat pays: nowhere is stood at for over 1 h at a stretch or 4 h a working day." in texts
    assert "a mat pays" not in texts.replace("No mat pays", "")


def test_a_circle_does_not_cover_its_station() -> None:
    drawing = compose(busy(), "today", standing=True)
    for circle in drawing.circles:
        home = drawing.shapes.footprints[circle.standing.station]
        assert circle.shape.intersection(home).area < 1e-6
