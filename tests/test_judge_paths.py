"""The judge against closed forms and against its own rules."""

from __future__ import annotations

import math

import networkx as nx
import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Polygon

from judge.known import DISC, ELL, GRAZE, HALL, KNOWN, SQUARE, Known, box
from judge.paths import Roads, grow, length_of
from judge.scenes import Drawn, draw, rotated


def roads(known: Known, **options: object) -> Roads:
    return Drawn(known.room, known.rings, ()).roads(known.radius, **options)


@pytest.mark.parametrize("known", KNOWN, ids=lambda k: k.name)
def test_judge_meets_closed_forms(known: Known) -> None:
    length, points = roads(known).shortest(known.start, known.end)
    assert known.length - 2e-5 <= length <= known.length * 1.0004
    assert length == pytest.approx(length_of(points), abs=1e-9)


@pytest.mark.parametrize("known", KNOWN, ids=lambda k: k.name)
def test_more_parts_close_on_the_closed_form(known: Known) -> None:
    length, _ = roads(known, parts=400, slack=1e-9).shortest(known.start, known.end)
    assert length == pytest.approx(known.length, abs=1e-5)


def test_a_line_that_grazes_a_corner_is_seen() -> None:
    length, points = roads(GRAZE).shortest(GRAZE.start, GRAZE.end)
    assert length == pytest.approx(GRAZE.length, abs=1e-9)
    assert points[0] == GRAZE.start
    assert points[-1] == GRAZE.end


def test_visibility_edges_of_a_square() -> None:
    """Four sides; two more from each of two points on either side."""
    square = Roads(Polygon(HALL), [SQUARE], radius=0)
    assert square.graph.number_of_edges() == 4
    square.add((-1.0, 0.5))
    square.add((2.0, 0.5))
    assert square.graph.number_of_edges() == 8
    assert isinstance(square.graph, nx.Graph)


def test_visibility_edges_of_two_squares_side_by_side() -> None:
    """Two unit squares a metre apart, in line: 4 sides each; between them the corners that face each
    other give 4; along the top, and again along the bottom, 3 more run past one corner or both."""
    hall, squares = Polygon(box(-9, -9, 9, 9)), [SQUARE, box(2, 0, 3, 1)]
    every = Roads(hall, squares, radius=0, supporting=False)
    assert every.graph.number_of_edges() == 8 + 4 + 6


@pytest.mark.parametrize("seed", range(6))
def test_supporting_edges_alone_give_the_same_lengths(seed: int) -> None:
    scene = draw(seed, things=8, points=5)
    full = scene.roads(0.0, supporting=False)
    lean = scene.roads(0.0)
    assert lean.graph.number_of_edges() < full.graph.number_of_edges()
    assert lean.table(scene.points, scene.points) == pytest.approx(
        full.table(scene.points, scene.points), abs=1e-9
    )


@pytest.mark.parametrize("ring", [SQUARE, ELL, ((0.0, 0.0), (2.0, 1.0))], ids=["square", "ell", "wall"])
@pytest.mark.parametrize("parts", [16, 24])
def test_grown_shapes_lie_outside_the_true_arc(ring: tuple, parts: int) -> None:
    """At most 0.13 % of r outside at 16 parts, 0.06 % at 24; shapely's own buffer lies inside instead."""
    r = 0.3
    grown, _ = grow(ring, r, parts)
    shape = Polygon(ring) if len(ring) > 2 else LineString(ring)
    dense = shape.buffer(r * (1 - 1e-6), quad_segs=720)
    assert grown.covers(dense)
    worst = max(shape.distance(p) for p in shapely.points(shapely.get_coordinates(grown.exterior)))
    assert r < worst < r * (1 + {16: 1.3e-3, 24: 6e-4}[parts])
    inside = shape.buffer(r, quad_segs=16)
    middles = [
        LineString(pair).centroid
        for pair in zip(inside.exterior.coords, inside.exterior.coords[1:], strict=False)
    ]
    assert min(shape.distance(m) for m in middles) == pytest.approx(r * math.cos(math.pi / 64), rel=1e-6)


@pytest.mark.parametrize("facing", [0.0, 17.0, 90.0])
@pytest.mark.parametrize(
    ("lacking", "is_open"), [(-1e-3, True), (0.0, True), (1e-4, True), (2e-4, False), (1e-3, False)]
)
def test_a_gap_as_wide_as_the_walker_is_open(facing: float, lacking: float, is_open: bool) -> None:
    gap = 0.6 - lacking
    a, b = box(-5, -0.5, -gap / 2, 0.5), box(gap / 2, -0.5, 5, 0.5)

    def turn(ring: tuple) -> np.ndarray:
        return rotated(ring, (0.0, 0.0), facing)

    across = Roads(Polygon(turn(box(-5, -4, 5, 4))), [turn(a), turn(b)], radius=0.3)
    s, t = turn([(0, -2), (0, 2), (1, 0)])[:2]
    length, _ = across.shortest(s, t)
    assert length == (pytest.approx(4.0, abs=1e-6) if is_open else math.inf)


def test_a_point_in_something_cannot_be_left() -> None:
    there = roads(DISC)
    assert there.shortest((0.5, 0.0), (2.0, 0.0))[0] == math.inf
    assert there.shortest((2.0, 0.0), (2.0, 0.0))[0] == 0.0
