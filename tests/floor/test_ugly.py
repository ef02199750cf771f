"""Geometry as people draw it: flush, overlapping, doubled, back to front, tiny and huge.

A room of 6 x 4 m unless said otherwise; the walker's radius is 0.3 m.
"""

from __future__ import annotations

import math
from itertools import permutations

import numpy as np
import pytest

from engine import same, scene_of
from footwork.floor.scene import Obstacle
from footwork.model.errors import GeometryError
from judge.known import box
from judge.scenes import Drawn

ROOM = box(0, 0, 6, 4)
START, END = (0.5, 0.5), (5.5, 3.5)
BENCH = box(2, 1, 4, 3)


def length(rings: list, start: tuple = START, end: tuple = END, room: tuple = ROOM) -> float:
    return scene_of(room, rings).length(start, end, 0.3)


def judged(rings: list, start: tuple = START, end: tuple = END) -> float:
    return Drawn(ROOM, tuple(rings), ()).roads(0.3).shortest(start, end)[0]


@pytest.mark.parametrize(
    "ring",
    [
        BENCH[::-1],
        (*BENCH, BENCH[0]),
        (BENCH[0], BENCH[0], *BENCH[1:]),
        (BENCH[0], (2.5, 1), (3, 1), (3.999, 1), *BENCH[1:], (2, 2)),
        ((2, 1), (3, 1), (3, 1), (4, 1), (4, 3), (2, 3), (2, 3), (2, 1)),
    ],
    ids=["clockwise", "closed", "a point twice", "points in line", "twice and in line"],
)
def test_the_same_outline_drawn_otherwise(ring: tuple) -> None:
    assert length([ring]) == pytest.approx(length([BENCH]), abs=1e-12)
    assert same(length([ring]), judged([BENCH]))


def test_a_room_drawn_either_way_or_with_points_in_line() -> None:
    wanted = length([BENCH])
    for room in (ROOM[::-1], ((0, 0), (3, 0), *ROOM[1:]), (ROOM[0], ROOM[0], *ROOM[1:])):
        assert length([BENCH], room=room) == pytest.approx(wanted, abs=1e-12)


FLUSH = {
    "to a wall": [box(2, 0, 4, 3)],
    "in a corner": [box(4, 0, 6, 1), box(0, 3, 2, 4)],
    "to each other": [box(2, 1, 3, 2), box(3, 1, 4, 2), box(2, 2, 3, 3), box(3, 2, 4, 3)],
    "to each other, one longer": [box(1, 1, 3, 2), box(3, 1, 4, 3)],
    "in a row along a wall": [box(1, 3, 2, 4), box(2, 3, 3, 4), box(3, 3.4, 4, 4)],
    "over each other": [box(2, 1, 3.5, 2.5), box(2.5, 1.5, 4, 3), box(2.2, 1.2, 3, 2)],
    "the same twice": [BENCH, BENCH],
    "one within another": [BENCH, box(2.5, 1.5, 3, 2)],
    "half in a wall": [box(2, -0.5, 4, 3)],
    "corner to corner": [box(1, 1, 2.5, 2), box(2.5, 2, 4, 3)],
}


@pytest.mark.parametrize("rings", FLUSH.values(), ids=FLUSH.keys())
def test_things_flush_with_walls_and_with_each_other(rings: list) -> None:
    wanted = judged([r for r in rings if r != box(2, -0.5, 4, 3)] or [box(2, 0, 4, 3)])
    for order in permutations(rings[:3]):
        assert same(length([*order, *rings[3:]]), wanted, below=1e-5, above=5e-4)
    assert length(rings, END, START) == pytest.approx(length(rings), abs=1e-9)


def test_a_thing_flush_is_as_one_piece_with_its_neighbour() -> None:
    parts = FLUSH["to each other"]
    assert length(parts) == pytest.approx(length([BENCH]), abs=1e-9)


@pytest.mark.parametrize("scale", [1e-3, 1.0, 1e3, 1e6])
def test_the_same_floor_at_any_scale(scale: float) -> None:
    """Lengths grow with the floor; at 1e-3 a room is 6 mm wide, and its tolerance that much less."""
    rings = [box(2, 1, 3, 2), box(3.2, 1.5, 4, 3)]
    wanted = scene_of(ROOM, rings, 1e-6).length(START, END, 0.3)
    room, *scaled = ([(x * scale, y * scale) for x, y in ring] for ring in (ROOM, *rings))
    made = scene_of(room, scaled, 1e-6 * scale)
    found = made.length(*((x * scale, y * scale) for x, y in (START, END)), 0.3 * scale)
    assert found == pytest.approx(wanted * scale, rel=1e-6)


@pytest.mark.parametrize("far", [1e3, 1e6])
def test_the_same_floor_far_from_the_origin(far: float) -> None:
    rings = [box(2, 1, 3, 2), box(3.2, 1.5, 4, 3)]
    room, *moved = ([(x + far, y - far) for x, y in ring] for ring in (ROOM, *rings))
    start, end = ((x + far, y - far) for x, y in (START, END))
    assert length(moved, start, end, room) == pytest.approx(length(rings), abs=1e-6)


@pytest.mark.parametrize(
    "ring",
    [[(0, 0), (1, 1), (2, 2)], [(0, 0), (1, 0)], [(1, 1)] * 4, [(0, 0), (math.nan, 1), (1, 1)],
     [(0, 0), (math.inf, 0), (1, 1)]],
    ids=["in line", "two points", "one point", "not a number", "endless"],
)  # fmt: skip
def test_an_outline_without_area_is_refused_by_name(ring: list) -> None:
    with pytest.raises(GeometryError, match=r"^bench: "):
        Obstacle.from_ring("bench", ring)


def test_a_scene_of_odd_things_is_symmetric() -> None:
    rng = np.random.default_rng(4)
    rings = [r for rings in FLUSH.values() for r in rings]
    made = scene_of(ROOM, [rings[k] for k in rng.permutation(len(rings))[:9]])
    points = [(0.4, 0.4), (5.6, 0.4), (0.4, 2.4), (5.6, 3.6)]
    found = made.lengths(points, points, 0.3)
    open_ = np.isfinite(found)
    assert (open_ == open_.T).all()
    assert found[open_] == pytest.approx(found.T[open_], abs=1e-9)
    assert open_.sum() > 4
