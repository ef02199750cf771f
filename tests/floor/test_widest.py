"""The widest disc: the gap that decides, and a slow search beside it."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely.geometry import Point, Polygon

from footwork.floor import passing
from footwork.floor.scene import Obstacle, Scene
from footwork.floor.widest import (
    door_ends,
    free_on_edge,
    gap_widths,
    inside_ring,
    what_holds,
    widest,
    widest_from,
)
from footwork.model.scenario import TOLERANCE, Door

ROOM = [(0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (0.0, 4.0)]


def box(name: str, x0: float, y0: float, x1: float, y1: float) -> Obstacle:
    return Obstacle.from_ring(name, [(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def walled(*things: Obstacle) -> Scene:
    return Scene((Obstacle.from_walls("walls", list(zip(ROOM, ROOM[1:] + ROOM[:1], strict=True))), *things))


def names(scene: Scene) -> list[str]:
    return [o.name for o in scene.obstacles for _ in o.pieces]


# Two boxes across the middle of the room leave 0.5 m between them and 0.3 m to the north wall.
SPLIT = walled(box("low", 2.5, 0.0, 3.5, 2.0), box("high", 2.5, 2.5, 3.5, 3.7))


def test_the_widest_way_is_the_wider_of_two_gaps() -> None:
    assert widest(SPLIT, (1.0, 2.0), (5.0, 2.0), 2.0) == pytest.approx(0.5, abs=1e-9)


def test_a_gap_of_the_walkers_width_is_open_and_less_is_shut() -> None:
    assert SPLIT.path((1.0, 2.0), (5.0, 2.0), 0.25).found
    assert not SPLIT.path((1.0, 2.0), (5.0, 2.0), 0.2501).found


def test_what_holds_names_the_gap_and_its_width() -> None:
    hold = what_holds(SPLIT, names(SPLIT), (1.0, 2.0), (5.0, 2.0), 0.6)
    assert hold is not None
    assert set(hold.between) == {"low", "high"}
    assert hold.width == pytest.approx(0.5, abs=1e-6)


def test_nothing_holds_where_no_gap_is_there() -> None:
    shut = walled(box("low", 2.5, 0.0, 3.5, 4.0))
    assert what_holds(shut, names(shut), (1.0, 2.0), (5.0, 2.0), 0.6) is None
    assert widest(shut, (1.0, 2.0), (5.0, 2.0), 2.0) < 1e-3


def test_the_end_itself_can_be_what_limits() -> None:
    # The start is 0.2 m from the west wall: no disc wider than 0.4 m has its centre there.
    assert widest(walled(), (0.2, 2.0), (5.0, 2.0), 2.0) == pytest.approx(0.4, abs=2e-4)


def test_from_a_region_the_best_start_counts() -> None:
    # A strip along a box: its far edge has 1.0 m to the south wall, so a disc of 1.0 m fits at y = 0.5.
    scene = walled(box("bench", 2.0, 1.0, 4.0, 4.0))
    strip = [(2.0, 0.25), (4.0, 0.25), (4.0, 1.0), (2.0, 1.0)]
    found = widest_from(scene, strip, lambda width: [(0.6, 0.6)], 1.2)
    assert found == pytest.approx(1.0, abs=2e-4)


def test_a_point_in_a_ring_either_way_round() -> None:
    ring = np.array([(0.0, 0.0), (0.5, 0.0), (0.5, 0.4), (0.0, 0.4)])
    for way in (ring, ring[::-1]):
        assert inside_ring(way, (0.2, 0.2))
        assert inside_ring(way, (0.5, 0.2))  # on an edge, and on a corner
        assert inside_ring(way, (0.0, 0.4))
        assert not any(inside_ring(way, p) for p in ((0.51, 0.2), (-0.01, 0.2), (0.2, 0.41), (0.2, -0.01)))


def test_free_stretches_of_an_edge_have_a_point_each() -> None:
    # Along y = 2 the box takes x from 2.5 - r to 3.5 + r; the ring's long edges run beside and across it.
    scene = walled(box("post", 2.8, 1.8, 3.2, 2.2))
    points = free_on_edge(scene, np.array([(1.0, 2.0), (5.0, 2.0), (5.0, 3.5), (1.0, 3.5)]), 0.3)
    on_low_edge = sorted(x for x, y in points if y == 2.0)
    assert len(on_low_edge) == 2
    assert on_low_edge[0] < 2.5 < 3.5 < on_low_edge[1]


def slow_widest(scene: Scene, p: tuple[float, float], q: tuple[float, float], limit: float) -> float:
    """Bisection on the width alone."""
    low, high = 0.0, limit
    while high - low > 1e-6:
        middle = (low + high) / 2
        if math.isfinite(scene.length(p, q, middle / 2)):
            low = middle
        else:
            high = middle
    return low


def random_room(seed: int) -> Scene:
    rng = np.random.default_rng(seed)
    things = []
    for k in range(7):
        (x, y), (w, d), turn = (
            rng.uniform([1, 0.5], [5, 3.5]),
            rng.uniform(0.2, 1.2, 2),
            rng.uniform(0, math.pi),
        )
        c, s = math.cos(turn), math.sin(turn)
        corners = [(-w / 2, -d / 2), (w / 2, -d / 2), (w / 2, d / 2), (-w / 2, d / 2)]
        things.append(
            Obstacle.from_ring(f"t{k}", [(x + c * a - s * b, y + s * a + c * b) for a, b in corners])
        )
    return walled(*things)


@pytest.mark.parametrize("seed", range(25))
def test_as_a_slow_bisection_finds_it(seed: int) -> None:
    scene = random_room(seed)
    p, q = (0.4, 2.0), (5.6, 2.0)
    assert widest(scene, p, q, 1.0) == pytest.approx(slow_widest(scene, p, q, 1.0), abs=3e-4)


def test_many_pairs_at_once_are_each_as_alone() -> None:
    """Also where the widths that are remembered run out."""
    ask = passing.Wanted(0.6, 1.0, 0.1, TOLERANCE)
    for seed in range(12):
        scene = random_room(200 + seed)
        points = np.random.default_rng(seed).uniform([0.1, 0.1], [5.9, 3.9], (7, 2))
        places = np.hstack([points, np.zeros((7, 2))])
        pairs = np.array([(a, b) for a in range(7) for b in range(7)])
        known = passing.Labels(np.empty(5 * seed + 1), np.full((5 * seed + 1, 7), -1), np.zeros(1, np.int64))
        found = passing.widest_ways(scene.arrays, places, pairs, gap_widths(scene, 1.0), ask, known)
        for (a, b), (width, length) in zip(pairs.tolist(), found.tolist(), strict=True):
            start, end = map(tuple, points[[a, b]].tolist())
            alone = widest(scene, start, end, 1.0)
            if math.isfinite(scene.length(start, end, 0.05)):
                assert (width, length) == (alone, scene.length(start, end, alone / 2))
            else:
                assert (width, length) == (0.0, math.inf)


def by_free_floor(scene: Scene, strip: Polygon, end: tuple[float, float], limit: float) -> float:
    """Bisection on the width: does the piece of free floor that holds the end reach the strip (shapely)?"""
    solid = shapely.union_all([Polygon(piece) for o in scene.obstacles[1:] for piece in o.pieces])

    def passes(width: float) -> bool:
        free = Polygon(ROOM).buffer(-width / 2).difference(solid.buffer(width / 2, quad_segs=256))
        return any(part.covers(Point(end)) and part.intersects(strip) for part in shapely.get_parts(free))

    low, high = 0.0, limit
    while high - low > 1e-5:
        middle = (low + high) / 2
        low, high = (middle, high) if passes(middle) else (low, middle)
    return low


@pytest.mark.parametrize("seed", range(25))
def test_from_a_strip_as_the_free_floor_shows_it(seed: int) -> None:
    scene, end = random_room(100 + seed), (5.6, 2.0)
    x, y = np.random.default_rng(seed).uniform([0.2, 0.2], [3.0, 3.0])
    strip = [(x, y), (x + 1.4, y), (x + 1.4, y + 0.75), (x, y + 0.75)]
    found = widest_from(scene, strip, lambda width: [end], 1.0)
    assert found == pytest.approx(by_free_floor(scene, Polygon(strip), end, 1.0), abs=5e-4)


@pytest.mark.parametrize("seed", range(25))
def test_a_width_next_to_that_of_a_gap_is_that_of_the_gap(seed: int) -> None:
    """As a tape shows it: nothing of the tolerance is in it, from whichever strip the way begins."""
    scene = random_room(200 + seed)
    gaps = gap_widths(scene, 1.0)
    rng = np.random.default_rng(seed)
    for x, y in rng.uniform([0.2, 0.2], [3.0, 3.0], (5, 2)):
        strip = [(x, y), (x + 1.4, y), (x + 1.4, y + 0.75), (x, y + 0.75)]
        found = widest_from(scene, strip, lambda width: [(5.6, 2.0)], 1.0, gaps)
        near = np.abs(gaps - found) <= 2.5e-4
        assert not near.any() or (gaps == found).any()


DOOR = Door("side", "south", (1.0, 0.0), (1.9, 0.0), (0.0, 1.0))


def test_a_door_is_left_by_as_much_of_it_as_is_free() -> None:
    """A box reaches 0.2 m into a door of 0.9 m: 0.7 m between it and the jamb, wherever one begins."""
    scene = walled(box("box", 0.3, 0.0, 1.2, 1.0))
    for x in (2.5, 3.5, 4.5):
        strip = [(x, 2.0), (x + 1.0, 2.0), (x + 1.0, 2.75), (x, 2.75)]
        found = widest_from(scene, strip, lambda width: door_ends(scene, DOOR, width), 0.9)
        assert found == pytest.approx(0.7, abs=1.2e-4)
    (end,) = door_ends(scene, DOOR, 0.6)
    assert end == pytest.approx((1.55, 0.3), abs=1e-3)  # x from 1.2 + 0.3 to 1.9 - 0.3
    assert door_ends(walled(), DOOR, 0.9) == [pytest.approx((1.45, 0.45))]
    assert door_ends(walled(), DOOR, 0.95) == []


def test_an_end_in_the_region_has_the_width_that_is_there() -> None:
    """The door's place lies in the strip, off its middle: nothing but the door is narrow."""
    scene = walled(box("post", 2.0, 0.2, 2.2, 0.4))
    strip = [(0.9, 0.0), (3.4, 0.0), (3.4, 0.75), (0.9, 0.75)]
    assert widest_from(scene, strip, lambda width: door_ends(scene, DOOR, width), 0.9) == 0.9
