"""What holds of shortest paths on any floor whatever.

Scenes are drawn on a 5 cm grid, so that things touch, share corners and leave gaps of exactly the
walker's width far more often than by chance; half of the things are turned by some multiple of 15 degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from engine import scene_of
from footwork.floor.scene import Scene
from footwork.model.scenario import TOLERANCE
from judge.scenes import rotated

LIGHT = settings(max_examples=400, deadline=None, derandomize=True)
GRID = 0.05
ROOMS = (
    ((0, 0), (6, 0), (6, 5), (0, 5)),
    ((0, 0), (7, 0), (7, 2.5), (3, 2.5), (3, 5), (0, 5)),
    ((0, 0), (7, 0), (7, 5), (4.2, 5), (4.2, 2), (3.6, 2), (3.6, 5), (0, 5)),
    ((0, 0), (6, -0.5), (7, 3), (3, 5.5), (-0.5, 4)),
)
SHAPES = (
    ((-1, -1), (1, -1), (1, 1), (-1, 1)),
    ((-1, -1), (1, -1), (1, 0), (0, 0), (0, 1), (-1, 1)),
    ((-1, -1), (-0.2, -1), (-0.2, 0), (0.2, 0), (0.2, -1), (1, -1), (1, 1), (-1, 1)),
    ((-1, -1), (1, -1), (0, 1)),
)


@dataclass(frozen=True)
class Floor:
    room: np.ndarray
    rings: tuple[np.ndarray, ...]
    radius: float
    points: tuple[tuple[float, float], ...]

    def scene(self, things: int | None = None) -> Scene:
        """The scene, with the first so many things only."""
        return scene_of(self.room, self.rings[:things])

    def solid(self) -> shapely.Geometry:
        walls = shapely.LinearRing(self.room)
        return shapely.union_all([walls, *(shapely.Polygon(ring) for ring in self.rings)])

    def seen_from(self, place: np.ndarray) -> Floor:
        """The same floor with every point (x, y) at ``place`` @ (x, y, 1)."""

        def moved(points: object) -> np.ndarray:
            return np.asarray(points, dtype=float) @ place[:, :2].T + place[:, 2]

        points = tuple((float(x), float(y)) for x, y in moved(self.points))
        return Floor(moved(self.room), tuple(moved(ring) for ring in self.rings), self.radius, points)


def spots(least: int, most: int) -> st.SearchStrategy[float]:
    return st.integers(round(least / GRID), round(most / GRID)).map(lambda k: round(k * GRID, 2))


@st.composite
def things(draw: st.DrawFn) -> np.ndarray:
    shape = np.array(draw(st.sampled_from(SHAPES)), dtype=float)
    half = (draw(st.integers(2, 20)) * GRID, draw(st.integers(2, 10)) * GRID)
    turn = draw(st.one_of(st.sampled_from([0, 90, 180, 270]), st.integers(0, 23).map(lambda k: 15 * k)))
    return rotated(shape * half, (draw(spots(0, 7)), draw(spots(0, 5))), turn)


@st.composite
def floors(draw: st.DrawFn, points: int = 2) -> Floor:
    room = np.array(draw(st.sampled_from(ROOMS)), dtype=float)
    rings = draw(st.lists(things(), min_size=0, max_size=7))
    radius = draw(st.sampled_from([0.3, 0.3, 0.25, 0.4575, 0.1]))
    made = Floor(room, tuple(rings), radius, ())
    free = shapely.Polygon(room).difference(made.solid().buffer(radius - TOLERANCE / 2))
    assume(not free.is_empty)
    low_x, low_y, high_x, high_y = free.bounds
    found = []
    for _ in range(points):
        x = low_x + (high_x - low_x) * draw(st.integers(0, 100)) / 100
        y = low_y + (high_y - low_y) * draw(st.integers(0, 100)) / 100
        near = shapely.get_coordinates(shapely.shortest_line(free, shapely.Point(x, y)))[0]
        found.append((float(near[0]), float(near[1])))
    return Floor(room, tuple(rings), radius, tuple(found))


@LIGHT
@given(floors())
def test_the_way_back_is_as_long(floor: Floor) -> None:
    made, (p, q) = floor.scene(), floor.points
    there, back = made.length(p, q, floor.radius), made.length(q, p, floor.radius)
    assert there == back or abs(there - back) < 1e-9
    assert there >= math.dist(p, q) - 1e-12


@LIGHT
@given(floors(points=3))
def test_a_detour_is_no_shorter(floor: Floor) -> None:
    lengths = floor.scene().lengths(floor.points, floor.points, floor.radius)
    for a, b, c in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        assert lengths[a, c] <= lengths[a, b] + lengths[b, c] + TOLERANCE


@LIGHT
@given(floors(), st.integers(0, 6))
def test_one_more_thing_never_shortens_a_way(floor: Floor, fewer: int) -> None:
    (p, q), r = floor.points, floor.radius
    assert floor.scene().length(p, q, r) >= floor.scene(fewer).length(p, q, r) - TOLERANCE


@LIGHT
@given(floors(), st.floats(0.0, 0.3))
def test_a_wider_walker_never_walks_less(floor: Floor, less: float) -> None:
    (p, q), made = floor.points, floor.scene()
    assert made.length(p, q, floor.radius) >= made.length(p, q, floor.radius * (1 - less)) - TOLERANCE


@LIGHT
@given(floors())
def test_a_path_keeps_its_distance(floor: Floor) -> None:
    p, q = floor.points
    path = floor.scene().path(p, q, floor.radius)
    assert path.found == bool(path.points)
    if path.found:
        drawn = sum(math.dist(a, b) for a, b in pairwise(path.points))
        assert path.length - 1e-9 <= drawn <= path.length * 1.005
        assert math.dist(path.points[0], p) < 1e-9
        assert math.dist(path.points[-1], q) < 1e-9
        assert shapely.LineString(path.points).distance(floor.solid()) >= floor.radius - TOLERANCE - 1e-9


@LIGHT
@given(floors(), st.floats(0.0, 360.0), st.booleans())
def test_nothing_changes_when_the_whole_floor_is_turned_or_mirrored(
    floor: Floor, degrees: float, mirrored: bool
) -> None:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    flip = -1.0 if mirrored else 1.0
    other = floor.seen_from(np.array([[c, -s * flip, 2.5], [s, c * flip, -1.5]]))
    here = floor.scene().length(*floor.points, floor.radius)
    there = other.scene().length(*other.points, other.radius)
    assert here == there or abs(here - there) < 1e-8
