"""The path engine on random scenes, beside two programs that share nothing with it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from engine import same, scene, scene_of
from judge.known import box
from judge.scenes import Drawn, draw, rotated


@pytest.mark.parametrize("seed", range(60))
def test_engine_agrees_with_the_judge(seed: int) -> None:
    """Odd seeds: things turned any way; even ones: square on, on a grid, with many exact gaps."""
    drawn = draw(seed, things=4 + seed % 12, points=5, square_on=seed % 2 == 0)
    radius = (0.3, 0.4575, 0.15)[seed % 3]
    free = [p for p in drawn.points if math.isfinite(scene(drawn).length(p, p, radius))]
    if len(free) < 2:
        pytest.skip("the walker fits nowhere else in this scene")
    judged, found = drawn.roads(radius).table(free, free), scene(drawn).lengths(free, free, radius)
    for j, e in zip(judged.flat, found.flat, strict=True):
        assert same(float(e), float(j), below=2e-5, above=5e-4)


def _environment(drawn: Drawn) -> object:
    finder = pytest.importorskip("extremitypathfinder", reason="extremitypathfinder is not installed")
    environment = finder.PolygonEnvironment()
    holes = [np.array(ring)[::-1] for ring in drawn.rings]
    environment.store(np.array(drawn.room), holes, validate=False)
    return environment


@pytest.mark.parametrize("seed", range(40))
def test_a_point_walker_agrees_with_extremitypathfinder(seed: int) -> None:
    drawn = draw(1000 + seed, things=2 + seed % 9, points=6, radius=0.01, apart=0.02)
    environment = _environment(drawn)
    found = scene(drawn, tolerance=0.0).lengths(drawn.points, drawn.points, 0.0)
    for a, start in enumerate(drawn.points):
        for b, end in enumerate(drawn.points[:a]):
            _, length = environment.find_shortest_path(start, end)
            assert found[a, b] == pytest.approx(length, abs=1e-9)


@pytest.mark.parametrize("seed", range(5))
def test_a_point_walker_agrees_with_the_judge(seed: int) -> None:
    drawn = draw(2000 + seed, things=8, points=5, radius=0.01, apart=0.02)
    found = scene(drawn, tolerance=0.0).lengths(drawn.points, drawn.points, 0.0)
    assert found == pytest.approx(drawn.roads(0.0).table(drawn.points, drawn.points), abs=1e-9)


@pytest.mark.parametrize("facing", [0.0, 17.0, 90.0, 133.0])
@pytest.mark.parametrize(
    ("lacking", "is_open"),
    [(-1e-3, True), (0.0, True), (0.99e-4, True), (2.01e-4, False), (1e-3, False)],
)
def test_a_gap_as_wide_as_the_walker_is_open(facing: float, lacking: float, is_open: bool) -> None:
    """A straight walk between two things: open from 0.1 mm too narrow, shut from 0.2 mm."""
    gap = 0.6 - lacking
    outlines = [box(-5, -4, 5, 4), box(-5, -0.5, -gap / 2, 0.5), box(gap / 2, -0.5, 5, 0.5)]
    room, *rings = [rotated(ring, (0.0, 0.0), facing) for ring in outlines]
    start, end = rotated([(0, -2), (0, 2)], (0.0, 0.0), facing)
    length = scene_of(room, rings).length(start, end, 0.3)
    assert length == (pytest.approx(4.0, abs=1e-6) if is_open else math.inf)


@pytest.mark.parametrize(
    ("lacking", "is_open"), [(-1e-3, True), (0.0, True), (0.99e-4, True), (2.01e-4, False), (1e-3, False)]
)
def test_a_gap_met_at_an_angle_is_open_too(lacking: float, is_open: bool) -> None:
    """From the side, the walker turns round one corner to enter the gap and another to leave it."""
    gap = 0.6 - lacking
    rings = [box(-5, -0.5, 0, 0.5), box(gap, -0.5, 5, 0.5)]
    made = scene_of(box(-5, -4, 5, 4), rings)
    length = made.length((-2.0, -2.0), (2.0, 2.0), 0.3)
    assert math.isfinite(length) is is_open
    if is_open:
        drawn = Drawn(box(-5, -4, 5, 4), tuple(rings), ())
        judged, _ = drawn.roads(0.3, supporting=False).shortest((-2.0, -2.0), (2.0, 2.0))
        assert same(length, judged)


def test_things_that_touch_leave_no_way_between() -> None:
    made = scene_of(box(0, 0, 6, 4), [box(0, 1.5, 3, 2.5), box(3, 1.5, 6, 2.5)])
    assert made.length((1, 0.7), (1, 3.3), 0.3) == math.inf


def test_things_that_share_a_corner_are_passed_round() -> None:
    """Two squares that touch at (2, 2) and another below: the way goes over the shared corner."""
    drawn = Drawn(box(-3, -3, 7, 7), (box(1, 1, 2, 2), box(2, 0, 3, 2), box(0.5, 0, 2, 1)), ())
    start, end = (1.2, 2.4), (3.5, 0.5)
    judged, _ = drawn.roads(0.3).shortest(start, end)
    assert same(scene(drawn).length(start, end, 0.3), judged, below=1e-5, above=5e-4)


def test_a_wall_in_line_with_the_way_is_not_walked_into() -> None:
    """The end of a turned wall of no thickness: a centre in line with it is a radius away, not inside.

    The way leads under a notch; from the first corner of it the centre is in line with the notch's side.
    """
    room = rotated([(0, 0), (7, 0), (7, 5), (4.2, 5), (4.2, 2), (3.6, 2), (3.6, 5), (0, 5)], (2.5, -1.5), 0)
    start, end = (2.0 + 2.5, 1.708 - 1.5), (4.1 + 2.5, 1.7 - 1.5)
    straight = scene_of(room, []).length(start, end, 0.3)
    for degrees in np.linspace(0.0, 360.0, 200):
        turned = scene_of(rotated(room, (0, 0), degrees), [])
        p, q = (tuple(x) for x in rotated([start, end], (0, 0), degrees))
        assert turned.length(p, q, 0.3) == pytest.approx(straight, abs=1e-9)
