"""Depth, gap and nearest points, beside shapely, which shares no code with them."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from footwork.floor.overlap import blocked_shifts, clear_after, depth, distance, nearest, overlaps
from footwork.floor.shapes import Pieces, convex_pieces
from footwork.model.scenario import TOLERANCE

SQUARE = convex_pieces(((0, 0), (1, 0), (1, 1), (0, 1)))


def moved(pieces: Pieces, x: float, y: float) -> Pieces:
    return tuple(p + np.array([x, y]) for p in pieces)


def segment(*ends: tuple[float, float]) -> Pieces:
    return (np.array(ends, dtype=float),)


@pytest.mark.parametrize(
    ("x", "y", "expected"),
    [(0.9, 0.0, 0.1), (0.9, 0.95, 0.05), (1.0, 0.3, 0.0), (0.0, 0.0, 1.0), (0.2, 0.1, 0.8)],
)
def test_depth_of_two_squares(x: float, y: float, expected: float) -> None:
    assert depth(SQUARE, moved(SQUARE, x, y)) == pytest.approx(expected)


def test_apart_touching_and_within_the_tolerance() -> None:
    assert depth(SQUARE, moved(SQUARE, 1.5, 0)) < 0
    assert not overlaps(SQUARE, moved(SQUARE, 1.0, 0.5))
    assert not overlaps(SQUARE, moved(SQUARE, 1.0 - 0.9 * TOLERANCE, 0.5))
    assert overlaps(SQUARE, moved(SQUARE, 1.0 - 1.1 * TOLERANCE, 0.5))


def test_a_wall_through_beside_and_along_a_square() -> None:
    assert depth(SQUARE, segment((0.3, -1), (0.3, 2))) == pytest.approx(0.3)
    assert depth(SQUARE, segment((0.5, -1), (0.5, 0.25))) == pytest.approx(0.25)
    assert depth(SQUARE, segment((0.0, -1), (0.0, 2))) == pytest.approx(0.0)
    assert depth(SQUARE, segment((2.0, -1), (2.0, 2))) < 0
    assert distance(SQUARE, segment((2.0, -1), (2.0, 2))) == pytest.approx(1.0)


def test_walls_against_walls() -> None:
    assert distance(segment((0, 0), (2, 2)), segment((0, 2), (2, 0))) == 0.0
    assert distance(segment((0, 0), (1, 0)), segment((3, 0), (4, 0))) == pytest.approx(2.0)
    assert not overlaps(segment((0, 0), (1, 0)), segment((3, 0), (4, 0)))


def test_nearest_points() -> None:
    p, q = nearest(SQUARE, moved(SQUARE, 4.0, 5.0))
    assert (p, q) == ((1.0, 1.0), (4.0, 5.0))
    with pytest.raises(ValueError, match="empty"):
        nearest(SQUARE, ())


def test_nothing_is_far_from_everything() -> None:
    assert depth(SQUARE, ()) == -math.inf
    assert distance(SQUARE, ()) == math.inf


def test_how_far_to_move_until_clear() -> None:
    assert clear_after(SQUARE, moved(SQUARE, 0.6, 0.0), (-1.0, 0.0)) == pytest.approx(0.4, abs=2 * TOLERANCE)
    assert clear_after(SQUARE, moved(SQUARE, 0.6, 0.0), (1.0, 0.0)) == pytest.approx(1.6, abs=2 * TOLERANCE)
    assert clear_after(SQUARE, moved(SQUARE, 3.0, 0.0), (1.0, 0.0)) == 0.0
    # past one square and, without a gap to stand in, past the next
    two = (*moved(SQUARE, 0.6, 0.0), *moved(SQUARE, 1.9, 0.0))
    assert clear_after(SQUARE, two, (1.0, 0.0)) == pytest.approx(2.9, abs=2 * TOLERANCE)
    assert len(blocked_shifts(SQUARE, two, (1.0, 0.0))) == 2


coordinate = st.floats(-3, 3).map(lambda v: round(v, 3))


@st.composite
def shapes(draw: st.DrawFn) -> Pieces:
    """A convex ring, a wall, or an L."""
    x, y, turn = draw(coordinate), draw(coordinate), draw(st.floats(0, 6.28))
    wide, deep = draw(st.floats(0.1, 2)), draw(st.floats(0.1, 2))
    kind = draw(st.sampled_from(["box", "wall", "el", "tri"]))
    rings: dict[str, tuple[tuple[float, float], ...]] = {
        "box": ((0, 0), (wide, 0), (wide, deep), (0, deep)),
        "tri": ((0, 0), (wide, 0), (0, deep)),
        "el": ((0, 0), (2 * wide, 0), (2 * wide, deep), (wide, deep), (wide, 2 * deep), (0, 2 * deep)),
    }
    parts = segment((0, 0), (wide, 0)) if kind == "wall" else convex_pieces(rings[kind])
    c, s = math.cos(turn), math.sin(turn)
    return tuple(p @ np.array([[c, s], [-s, c]]) + np.array([x, y]) for p in parts)


def in_shapely(pieces: Pieces) -> shapely.Geometry:
    return shapely.union_all([shapely.LineString(p) if len(p) == 2 else shapely.Polygon(p) for p in pieces])


@settings(max_examples=200, deadline=None)
@given(shapes(), shapes())
def test_gap_and_nearest_points_agree_with_shapely(a: Pieces, b: Pieces) -> None:
    gap = in_shapely(a).distance(in_shapely(b))
    assert distance(a, b) == pytest.approx(gap, abs=1e-9)
    assert distance(b, a) == pytest.approx(distance(a, b), abs=1e-12)
    if gap > 1e-6:
        p, q = nearest(a, b)
        assert math.dist(p, q) == pytest.approx(gap, abs=1e-9)
        assert in_shapely(a).distance(shapely.Point(p)) < 1e-9
        assert in_shapely(b).distance(shapely.Point(q)) < 1e-9
        assert depth(a, b) <= 1e-12


@settings(max_examples=200, deadline=None)
@given(shapes(), shapes())
def test_depth_is_how_far_one_must_move(a: Pieces, b: Pieces) -> None:
    deep = depth(a, b)
    assert deep == pytest.approx(depth(b, a), abs=1e-12)
    common = in_shapely(a).intersection(in_shapely(b))
    assume(abs(deep) > 1e-6)
    if len(a) == len(b) == 1 and all(len(piece) > 2 for piece in (*a, *b)):
        assert (deep > 0) == (common.area > 0)
    if deep > 0 and len(a) == len(b) == 1:
        # no move shorter than the depth parts two convex shapes; one of that length does
        turns = np.linspace(0, 2 * math.pi, 73)
        gone = [clear_after(a, b, (math.cos(t), math.sin(t))) for t in turns]
        assert min(gone) >= deep - TOLERANCE - 1e-9


@settings(max_examples=100, deadline=None)
@given(shapes(), shapes(), st.sampled_from([(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.6, -0.8)]))
def test_a_shape_is_clear_where_it_says(a: Pieces, b: Pieces, way: tuple[float, float]) -> None:
    far = clear_after(a, b, way)
    assert not overlaps(moved(a, far * way[0], far * way[1]), b, TOLERANCE + 1e-9)
    if far > 1e-3:
        short = far - 5e-4
        assert overlaps(moved(a, short * way[0], short * way[1]), b, 1e-9)
