"""Frames, strips, standing places, swings, the way in, convex pieces: figures by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from footwork.floor import shapes
from footwork.model.scenario import Door, Placement, Station, Stock, Vehicle

RECT = ((-0.75, -0.4), (0.75, -0.4), (0.75, 0.4), (-0.75, 0.4))
BENCH = Station("bench", "bench", (1.5, 0.8), RECT, stand=("front", "left"), strip=0.75)


def corners(ring: np.ndarray) -> set[tuple[float, float]]:
    return {(round(x, 9) + 0.0, round(y, 9) + 0.0) for x, y in ring.tolist()}


@pytest.mark.parametrize(
    ("facing", "u", "v"),
    [
        (180.0, (1.0, 0.0), (0.0, 1.0)),  # looks south: right is east, back is north
        (0.0, (-1.0, 0.0), (0.0, -1.0)),
        (90.0, (0.0, 1.0), (-1.0, 0.0)),  # looks east: the person before it looks west, right is north
        (270.0, (0.0, -1.0), (1.0, 0.0)),
        (540.0, (1.0, 0.0), (0.0, 1.0)),
    ],
)
def test_quarter_turns_are_exact(facing: float, u: tuple[float, float], v: tuple[float, float]) -> None:
    assert shapes.front_axes(facing) == (u, v)


@given(st.floats(-720, 720))
def test_the_frame_is_right_handed_and_its_front_looks_along_the_bearing(facing: float) -> None:
    (ux, uy), (vx, vy) = shapes.front_axes(facing)
    assert ux * vy - uy * vx == pytest.approx(1.0)
    assert (-vx, -vy) == pytest.approx(
        (math.sin(math.radians(facing)), math.cos(math.radians(facing))), abs=1e-12
    )


def test_strips_of_a_bench_that_looks_south() -> None:
    front, left = shapes.strips(BENCH, Placement(3.0, 3.6, 180.0))
    assert corners(front.polygon) == {(2.25, 2.45), (3.75, 2.45), (3.75, 3.2), (2.25, 3.2)}
    assert corners(left.polygon) == {(1.5, 3.2), (2.25, 3.2), (2.25, 4.0), (1.5, 4.0)}  # left is west
    assert shapes.signed_area(front.polygon) == pytest.approx(1.5 * 0.75)


def test_stock_leaves_the_middle_of_its_side_or_takes_it_whole() -> None:
    narrow = Station("saw", "saw", (1.5, 0.8), RECT, stock=Stock(right=2.0, width=0.3))
    (strip,) = shapes.stock_strips(narrow, Placement(0.0, 0.0, 180.0))
    assert corners(strip.polygon) == {(0.75, -0.15), (2.75, -0.15), (2.75, 0.15), (0.75, 0.15)}
    whole = Station("saw", "saw", (1.5, 0.8), RECT, stock=Stock(right=2.0))
    (strip,) = shapes.stock_strips(whole, Placement(0.0, 0.0, 180.0))
    assert corners(strip.polygon) == {(0.75, -0.4), (2.75, -0.4), (2.75, 0.4), (0.75, 0.4)}


def test_a_rectangle_before_a_side_is_centred_on_it_wherever_the_middle_of_the_thing_is() -> None:
    lopsided = ((-0.2, -0.1), (1.0, -0.1), (1.0, 0.7), (-0.2, 0.7))
    saw = Station("saw", "saw", (1.2, 0.8), lopsided)
    here = Placement(0.0, 0.0, 180.0)
    front = shapes.side_rectangle(saw, here, "front", 0.5, 0.4)
    assert corners(front) == {(0.2, -0.6), (0.6, -0.6), (0.6, -0.1), (0.2, -0.1)}
    right = shapes.side_rectangle(saw, here, "right", 0.5, 0.4, begin=0.1)
    assert corners(right) == {(1.1, 0.1), (1.6, 0.1), (1.6, 0.5), (1.1, 0.5)}


def test_a_standing_place_is_half_a_walker_from_the_middle_of_its_side() -> None:
    front, left = shapes.standing_places(BENCH, Placement(3.0, 3.6, 180.0), 0.6)
    assert front.at == pytest.approx((3.0, 2.9))
    assert front.outward == (0.0, -1.0)
    assert left.at == pytest.approx((1.95, 3.6))


@pytest.mark.parametrize(
    ("length", "parts"), [(0.5, 1), (0.6, 1), (0.61, 2), (1.2, 2), (1.2 + 5e-5, 2), (1.21, 3), (0.6 * 7, 7)]
)
def test_along_cuts_a_side_into_the_fewest_equal_parts(length: float, parts: int) -> None:
    ring = ((-length / 2, -0.3), (length / 2, -0.3), (length / 2, 0.3), (-length / 2, 0.3))
    rack = Station("rack", "rack", (length, 0.6), ring, along=True)
    places = shapes.standing_places(rack, Placement(0.0, 0.0, 180.0), 0.6)
    assert len(places) == parts
    xs = [p.at[0] for p in places]
    assert xs[0] == pytest.approx(-length / 2 + length / parts / 2)
    assert np.diff(xs) == pytest.approx([length / parts] * (parts - 1))


def test_an_outline_is_worked_from_the_sides_of_the_box_around_it() -> None:
    ring = ((-0.6, -0.6), (0.6, -0.6), (0.6, 0.6), (0.1, 0.6), (0.1, 0.0), (-0.6, 0.0))
    bent = Station("bent", "bent", (1.2, 1.2), ring, stand=("back",))
    (place,) = shapes.standing_places(bent, Placement(2.0, 2.0, 180.0), 0.6)
    assert place.at == pytest.approx((2.0, 2.9))


def test_a_place_at_a_door() -> None:
    door = Door("side", "west", (0.0, 1.0), (0.0, 1.9), (1.0, 0.0))
    place = shapes.door_place(door, 0.6)
    assert place.at == pytest.approx((0.3, 1.45))
    assert place.outward == (1.0, 0.0)


@pytest.mark.parametrize("hinge", ["start", "end"])
@pytest.mark.parametrize("way", ["in", "out"])
def test_a_door_sweeps_a_quarter_disc(hinge: str, way: str) -> None:
    door = Door("side", "west", (0.0, 1.0), (0.0, 1.9), (1.0, 0.0), swing=way, hinge=hinge)  # type: ignore[arg-type]
    ring = shapes.swing(door)
    assert ring is not None
    area = math.pi * 0.9**2 / 4
    assert area <= shapes.signed_area(ring) <= area * 1.001
    low, high = ring.min(axis=0), ring.max(axis=0)
    assert (low[1], high[1]) == pytest.approx((1.0, 1.9))
    assert (low[0], high[0]) == pytest.approx((0.0, 0.9) if way == "in" else (-0.9, 0.0))
    far_corner = shapely.Point(0.9 if way == "in" else -0.9, 1.9 if hinge == "start" else 1.0)
    assert not shapely.Polygon(ring).intersects(far_corner.buffer(0.3))
    assert shapes.swing(Door("x", "west", (0.0, 1.0), (0.0, 1.9), (1.0, 0.0))) is None


VAN = Vehicle("van", (1.6, 3.0), ((-0.8, -1.5), (0.8, -1.5), (0.8, 1.5), (-0.8, 1.5)), "roller")
ROLLER = Door("roller", "south", (1.0, 0.0), (3.6, 0.0), (0.0, 1.0), vehicle=True)


def test_the_way_in_is_wider_than_the_body_by_its_margin_from_door_to_far_end() -> None:
    for facing in (0.0, 180.0):
        way = shapes.drive_in(VAN, Placement(2.3, 2.0, facing), ROLLER)
        assert (way.square, way.short) == (True, 0.0)
        assert way.corridor is not None
        assert corners(way.corridor) == {(1.2, 0.0), (3.4, 0.0), (3.4, 3.5), (1.2, 3.5)}


def test_a_vehicle_askew_aside_or_outside() -> None:
    assert not shapes.drive_in(VAN, Placement(2.3, 2.0, 90.0), ROLLER).square
    assert shapes.drive_in(VAN, Placement(3.0, 2.0, 0.0), ROLLER).short == pytest.approx(0.2)
    assert shapes.drive_in(VAN, Placement(2.3, -3.0, 0.0), ROLLER).corridor is None


def test_a_convex_ring_is_its_own_piece_less_points_in_line() -> None:
    (piece,) = shapes.convex_pieces(((0, 0), (0.5, 0), (1, 0), (1, 1), (0, 1)))
    assert corners(piece) == {(0, 0), (1, 0), (1, 1), (0, 1)}
    (piece,) = shapes.convex_pieces(((0, 1), (1, 1), (1, 0), (0, 0)))  # clockwise
    assert shapes.signed_area(piece) == pytest.approx(1.0)


def test_an_l_is_two_pieces_and_a_u_three() -> None:
    el = ((0, 0), (4, 0), (4, 2), (2, 2), (2, 4), (0, 4))
    assert len(shapes.convex_pieces(el)) == 2
    u = ((0, 0), (3, 0), (3, 3), (2, 3), (2, 1), (1, 1), (1, 3), (0, 3))
    assert len(shapes.convex_pieces(u)) == 3


@st.composite
def stars(draw: st.DrawFn) -> tuple[tuple[float, float], ...]:
    """A simple polygon about the origin, mostly not convex."""
    count = draw(st.integers(4, 10))
    radii = draw(st.lists(st.floats(0.3, 2.0), min_size=count, max_size=count))
    return tuple(
        (r * math.cos(2 * math.pi * k / count), r * math.sin(2 * math.pi * k / count))
        for k, r in enumerate(radii)
    )


@settings(max_examples=60, deadline=None)
@given(stars())
def test_pieces_are_convex_and_cover_the_ring_once(ring: tuple[tuple[float, float], ...]) -> None:
    whole = shapely.Polygon(ring)
    pieces = shapes.convex_pieces(ring)
    assert sum(shapes.signed_area(p) for p in pieces) == pytest.approx(whole.area)
    union = shapely.union_all([shapely.Polygon(p) for p in pieces])
    assert union.symmetric_difference(whole).area < 1e-7
    for piece in pieces:
        assert shapely.Polygon(piece).convex_hull.area == pytest.approx(shapes.signed_area(piece), abs=1e-8)
