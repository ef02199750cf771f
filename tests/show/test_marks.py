"""The triangles of failed checks: each stands on its thing, or a line leads from it there."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely

from footwork.model.read import load
from footwork.model.scenario import Scenario
from footwork.scoring import score
from footwork.show import marks
from footwork.show.draw import compose
from footwork.show.labels import Ground
from footwork.show.report import picture
from footwork.show.report.picture import Subject
from show.sheds import crowded

MAKERSPACE = Path(__file__).parents[2] / "scenarios" / "makerspace.toml"
SHEDS = {"crowded": crowded(), "makerspace": load(MAKERSPACE)}


def at_its_thing(mark: marks.Mark) -> bool:
    """Whether the triangle meets its thing, or its line ends in it."""
    assert mark.at is not None
    assert mark.home is not None
    if mark.leader is not None:
        return bool(mark.home.buffer(0.01).covers(shapely.Point(mark.leader[-1])))
    return bool(shapely.box(*(mark.at - 2.3), *(mark.at + 2.3)).intersects(mark.home))


@pytest.mark.parametrize("scenario", SHEDS.values(), ids=SHEDS)
def test_a_triangle_stands_at_its_thing_on_paper(scenario: Scenario) -> None:
    found = [mark for mark in compose(scenario, scenario.layouts[0].name).marks if mark.at is not None]
    assert found
    assert all(at_its_thing(mark) for mark in found)


@pytest.mark.parametrize("scenario", SHEDS.values(), ids=SHEDS)
def test_a_triangle_stands_at_its_thing_on_the_page(
    scenario: Scenario, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn: list[marks.Mark] = []
    monkeypatch.setattr(marks, "draw_marks", lambda board, found: drawn.extend(found))
    layout = scenario.layouts[0]
    subject = Subject(scenario, layout, score(scenario, layout))
    shown = picture.plan(subject, picture.frame_of([subject]))
    placed = [mark for mark in drawn if mark.at is not None]
    assert {mark.number for mark in placed} == shown.marked
    assert placed
    assert all(at_its_thing(mark) for mark in placed)


def test_corner_then_rim_then_beside_with_a_line() -> None:
    """A home of 20 x 10 mm has room in a corner, one of 4 x 4 on its rim, one shut in all round neither."""
    paper = shapely.box(0, 0, 100, 100)

    def placed(home: shapely.Geometry, *solids: shapely.Geometry) -> marks.Mark:
        ground = Ground(paper, [home, *solids])
        return marks.place_marks([marks.Mark(1, "a", (), home)], ground)[0]

    wide = placed(shapely.box(40, 40, 60, 50))
    assert wide.leader is None
    assert wide.at is not None
    assert shapely.box(40, 40, 60, 50).contains(shapely.Point(wide.at))
    small = placed(shapely.box(40, 40, 44, 44))
    assert small.leader is None
    assert small.at is not None
    assert tuple(small.at) == (44.0, 44.0)
    ring = shapely.box(38, 38, 46, 46).difference(shapely.box(39.9, 39.9, 44.1, 44.1))
    shut = placed(shapely.box(40, 40, 44, 44), ring)
    assert shut.leader is not None
    assert at_its_thing(shut)
