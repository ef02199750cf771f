"""Before and after in one picture: what moved, from where, to where."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely

from footwork.floor.shapes import footprint
from footwork.model.errors import UsageError
from footwork.model.scenario import Layout, Placement
from footwork.scoring import score
from footwork.show.compare_plan import RADIUS, change_words
from footwork.show.draw import compose
from footwork.show.plan import Drawing
from footwork.show.walked import Walked
from show.sheds import busy, crowded
from show.test_plans import handed_on


def moved(**changes: Placement) -> tuple[Layout, Layout]:
    today = crowded().layouts[0]
    return today, today.moved(changes, "after")


def compared(before: Layout, after: Layout) -> Drawing:
    return compose(crowded(), after, before=before)


def texts(drawing: Drawing) -> list[str]:
    return [t.get_text() for t in drawing.board.figure.axes[0].texts]


def test_only_what_moved_is_shown_with_how_far() -> None:
    before, after = moved(bench=Placement(1.2, 4.6, 180.0), post_drill=Placement(5.7, 2.2, 180.0))
    drawing = compared(before, after)
    assert [(s.number, s.name, s.turned) for s in drawing.shifts] == [
        (1, "bench", False),
        (2, "post_drill", True),
    ]
    assert [s.metres for s in drawing.shifts] == pytest.approx([1.0, 0.0])
    shown = texts(drawing)
    assert "1.00 m" in shown
    assert "post drill, now facing south" in shown
    assert "turned in place" in shown
    assert "From layout today to layout after" in shown
    names = {label.text for label in drawing.labels}
    assert {"1 bench", "2 post drill", "corner table"} <= names


def test_a_line_leads_from_the_old_place_to_the_new_one() -> None:
    scenario = busy()
    before = handed_on(scenario)
    drawing = compose(scenario, "today", before=before)
    sheet, after = drawing.sheet, scenario.layouts[0]
    assert len(drawing.shifts) == len(scenario.stations)
    for shift in drawing.shifts:
        thing = scenario.thing(shift.name)
        old = sheet.polygon(footprint(thing, before.placements[shift.name]))
        new = sheet.polygon(footprint(thing, after.placements[shift.name]))
        assert old.distance(shapely.Point(shift.at)) < 3 * RADIUS  # a small place, or crowded out by others
        if len(shift.line):
            assert np.hypot(*(shift.line[0] - shift.at)) == pytest.approx(RADIUS, rel=0.01)
            assert new.distance(shapely.Point(shift.line[-1])) < 1e-6
        else:
            assert new.distance(shapely.Point(shift.at)) < 2 * RADIUS + 1.0
    discs = [s.at for s in drawing.shifts]
    assert all(np.hypot(*(a - b)) > 2 * RADIUS for a, b in itertools.combinations(discs, 2))


def test_a_number_keeps_off_what_stands_there_now() -> None:
    """Else the number of one thing would be read as that of another."""
    before, after = moved(bench=Placement(1.4, 4.6, 180.0))
    (shift,) = compared(before, after).shifts
    assert shift.new.distance(shapely.Point(shift.at)) > RADIUS


def test_nothing_moved_says_so() -> None:
    today = crowded().layouts[0]
    drawing = compared(today, today.moved({}, "again"))
    assert drawing.shifts == ()
    assert "Nothing: the two are the same" in texts(drawing)


def test_a_hair_within_the_tolerance_is_no_move() -> None:
    bench = crowded().layouts[0].placements["bench"]
    before, after = moved(bench=Placement(bench.x + 0.00005, bench.y, bench.facing + 360.0))
    assert compared(before, after).shifts == ()


def test_the_change_in_words() -> None:
    scenario = crowded()
    after, before = moved(bench=Placement(2.6, 4.6, 180.0))  # the other way round: it gets shorter
    old, new = score(scenario, before), score(scenario, after)
    share = 100 * (1 - new.metres_per_year / old.metres_per_year)
    words = f"{old.metres_per_year:,.0f} m walked a year before, {new.metres_per_year:,.0f} m after"
    assert change_words(old, new, Walked()) == f"{words}: {share:.1f} % less"
    assert change_words(new, old, Walked()).endswith("% more")
    assert change_words(old, old, Walked()).endswith(": the same")
    shown = texts(compared(before, after))
    for job in new.jobs:
        assert f"{old.job(job.name).metres_per_year:,.0f} to {job.metres_per_year:,.0f}" in shown


def test_a_comparison_stands_alone() -> None:
    with pytest.raises(UsageError, match="stands alone"):
        compose(crowded(), "today", before="today", job="sort")
    with pytest.raises(UsageError, match="there is no layout 'yesterday'"):
        compose(crowded(), "today", before="yesterday")


def test_lines_on_one_line_are_told_apart() -> None:
    """Two things that pass each other along a wall: else their lines would look like one."""
    scenario = busy()
    today = scenario.layouts[0]
    names = ("parcel shelf", "hand tools", "filament", "fume filter")
    before = today.moved(
        {a: today.placements[b] for a, b in zip(names, reversed(names), strict=True)}, "before"
    )
    found = [s for s in compose(scenario, "today", before=before).shifts if len(s.line)]
    assert len(found) == 4
    for a, b in itertools.combinations(found, 2):
        near = shapely.LineString(a.line).buffer(0.4, cap_style="flat")
        assert near.intersection(shapely.LineString(b.line)).length < 0.5 * shapely.LineString(b.line).length
