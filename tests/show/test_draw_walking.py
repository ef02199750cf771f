"""The density of walking, against sums done by hand and against a count of its own."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely

from footwork.floor.plan import Plan
from footwork.floor.routes import Walks
from footwork.model.read import loads
from footwork.model.scenario import Scenario
from footwork.scoring import score
from footwork.show import ink
from footwork.show.draw import compose
from footwork.show.walking import Tread, density, field, limits, samples
from show.sheds import crowded

CORRIDOR = """
name = "Corridor"
[room]
size = [8, 3]
doors = [{ name = "gate", wall = "south", from = 5.0, width = 2.5, vehicle = true }]
[stations.shelf]
size = [0.6, 0.6]
[stations.table]
size = [0.6, 0.6]
[stations.bin]
size = [0.6, 0.6]
[vehicles.cart]
size = [1.0, 1.6]
door = "gate"
inside = 0.25
[jobs.there_and_back]
times = "100 per year"
route = ["shelf", "table", "shelf"]
[jobs.once]
times = "30 per year"
route = ["shelf", "bin"]
[layouts.today]
shelf = { at = [0.3, 1.5], facing = "east" }
table = { at = [4.7, 1.5], facing = "west" }
bin = { at = [2.5, 2.7], facing = "south" }
cart = { at = [6.2, 0.9], facing = "south" }
"""


def corridor() -> Scenario:
    """A straight walk of 3.2 m between shelf and table, 200 times a year, and one to the bin, 30 times."""
    return loads(CORRIDOR)


def at(treads: list[Tread], x: float, y: float) -> float:
    """The sampled times at a point."""
    xs, ys, times = field(treads, 0.6)
    return float(times[int(np.argmin(abs(ys - y))), int(np.argmin(abs(xs - x)))])


def test_bands_add_up_where_they_lie_on_each_other() -> None:
    east = Tread(((0.0, 0.0), (4.0, 0.0)), 100.0)
    north = Tread(((2.0, -2.0), (2.0, 2.0)), 7.0)
    both = [east, north]
    assert at(both, 1.0, 0.0) == 100
    assert at(both, 1.0, 0.28) == 100
    assert at(both, 1.0, 0.35) == 0
    assert at(both, 2.0, 0.0) == 107
    assert at(both, 2.0, 1.5) == 7
    assert at(both, 4.25, 0.0) == 100  # the walker's own half beyond the end


def test_the_floor_of_a_band_is_its_length_times_its_width_and_a_disc() -> None:
    bend = Tread(((0.0, 0.0), (3.0, 0.0), (3.0, 2.0)), 1.0)
    xs, ys, times = field([bend], 0.6)
    area = times.sum() * (xs[1] - xs[0]) * (ys[1] - ys[0])
    true = shapely.LineString(bend.points).buffer(0.3, quad_segs=64).area
    assert area == pytest.approx(true, rel=0.01)


def test_the_corridor_by_hand() -> None:
    scenario = corridor()
    found = density(scenario, scenario.layouts[0])
    # 200 between shelf and table, 30 more at the shelf, where the way to the bin starts
    assert found.most == 230
    assert found.most_at is not None
    assert math.dist(found.most_at, (0.9, 1.5)) < 0.45
    over = [band for band in found.bands if band.area.covers(shapely.Point(3.8, 1.5))]
    assert [(b.low, b.high) for b in over] == [(100.0, math.inf)]
    seldom = [band for band in found.bands if band.area.covers(shapely.Point(2.45, 2.1))]
    assert [(b.low, b.high) for b in seldom] == [(20.0, 50.0)]
    walked = shapely.union_all([band.area for band in found.bands])
    assert not walked.intersects(shapely.box(5.0, 0.0, 8.0, 3.0))


def test_every_state_of_the_vehicles_counts_by_its_share() -> None:
    """Times of all ways together are the legs of all jobs in all states, by share."""
    scenario = crowded()
    layout = scenario.layouts[0]
    walks = Walks(Plan(scenario, layout))
    legs = sum(
        job.times_per_year * state.share * len(state.legs)
        for job in scenario.jobs
        for state in walks.job(job).states
    )
    found = density(scenario, layout)
    assert sum(tread.times for tread in found.treads) == pytest.approx(legs)
    metres = sum(t.times * shapely.LineString(t.points).length for t in found.treads)
    assert metres == pytest.approx(score(scenario, layout).metres_per_year, rel=0.005)  # arcs drawn outside


def test_classes_do_not_overlap_and_no_way_has_a_rim_of_another() -> None:
    scenario = corridor()
    bands = density(scenario, scenario.layouts[0]).bands
    for a, b in itertools.pairwise(bands):
        assert a.high <= b.low
        assert a.area.intersection(b.area).area < 1e-3
    # along the middle of the straight way, from wall to wall: nothing, one class, nothing
    across = shapely.LineString([(3.8, 0.0), (3.8, 3.0)])
    assert [band.area.intersection(across).length > 0.02 for band in bands].count(True) == 1


def test_limits_are_round_and_below_the_most() -> None:
    assert limits(6428.0) == [200.0, 500.0, 1000.0, 2000.0, 5000.0]
    assert limits(230.0) == [5.0, 10.0, 20.0, 50.0, 100.0]
    assert limits(0.05) == []
    assert all(len(limits(v)) < len(ink.WALKING) for v in (0.3, 7.0, 1e6))


def test_the_legend_names_the_classes_that_there_are() -> None:
    scenario = corridor()
    found = density(scenario, scenario.layouts[0])
    words = [sample.words for sample in samples(found)]
    assert len(words) == len(found.bands)
    assert words[0].startswith("walked over up to")
    assert words[-1] == "100 and more"
    texts = [t.get_text() for t in compose(scenario, "today", walking=True).board.figure.axes[0].texts]
    assert set(words) <= set(texts)
    assert "walked over most: 230 times a year" in texts


def test_no_job_and_no_way_are_said() -> None:
    idle = corridor().with_(jobs=())
    drawing = compose(idle, "today", walking=True)
    assert "No job is walked: add one under [jobs.NAME]" in [
        t.get_text() for t in drawing.board.figure.axes[0].texts
    ]
    scenario = corridor()
    layout = scenario.layouts[0]
    shut = layout.moved({"bin": layout.placements["table"]})
    shut = shut.moved({"table": type(layout.placements["bin"])(1.0, 1.5, 270.0)})
    found = density(scenario, shut)
    assert found.blocked
    texts = [t.get_text() for t in compose(scenario, shut, walking=True).board.figure.axes[0].texts]
    assert any("squeezed through gaps" in text for text in texts)
