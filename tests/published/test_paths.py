"""Shortest paths whose length follows from elementary geometry; each figure is computed here from its
closed form and beside it stands the number that it has been known by.

Sources.  A shortest path round convex obstacles is made of common tangents and of arcs of their outlines,
and the obstacles of a disc are the Minkowski sums with it: Lozano-Perez and Wesley, "An algorithm for
planning collision-free paths among polyhedral obstacles", Communications of the ACM 22 (1979), 560-570.
The lengths are trigonometry; nothing here comes from a table.
"""

from __future__ import annotations

import math

import pytest

from engine import scene_of
from judge.known import ELL, HALL, SPECK, SQUARE


def along(tangent_from: float, radius: float) -> float:
    """Length of the tangent to a circle of ``radius`` from a point at that distance of its centre."""
    return math.sqrt(tangent_from**2 - radius**2)


@pytest.mark.parametrize(
    ("radius", "known"),
    [
        (0.0, 3.2360679775),
        (0.1, 3.3377477484),
        (0.25, 3.5240299792),
        (0.3, 3.5952487625),
        (0.5, 3.9272952180),
    ],
)
def test_past_a_unit_square(radius: float, known: float) -> None:
    """From (-1, 1/2) to (2, 1/2): tangent and arc at two corners, a metre along the top between them."""
    distance = math.sqrt(5) / 2
    angle = math.atan(1 / 2) + math.asin(radius / distance)
    closed = 2 * (along(distance, radius) + radius * angle) + 1
    assert closed == pytest.approx(known, abs=1e-9)
    assert scene_of(HALL, [SQUARE]).length((-1, 0.5), (2, 0.5), radius) == pytest.approx(closed, abs=1e-6)


@pytest.mark.parametrize(("radius", "known"), [(0.0, math.sqrt(17)), (0.3, 4.4910912731)])
def test_past_the_inner_corner_of_an_l(radius: float, known: float) -> None:
    """From (1.5, 4) to (4, 1.5) past (2, 2), which is sqrt(17) / 2 from both."""
    distance = math.sqrt(17) / 2
    between = 2 * math.pi - math.acos(-2.0 / distance**2)
    closed = 2 * along(distance, radius) + radius * (between - 2 * math.acos(radius / distance))
    assert closed == pytest.approx(known, abs=1e-9)
    assert scene_of(ELL, []).length((1.5, 4), (4, 1.5), radius) == pytest.approx(closed, abs=1e-6)


def test_a_line_that_grazes_the_corner_is_walked_straight() -> None:
    assert 4 * math.sqrt(2) == pytest.approx(5.6568542495, abs=1e-9)
    path = scene_of(ELL, []).path((0, 4), (4, 0), 0.0)
    assert path.length == pytest.approx(4 * math.sqrt(2), abs=1e-9)
    assert len(path.points) == 2


def test_half_way_round_a_disc() -> None:
    """A post of radius 1, or a walker of radius 1 past a point: 2 sqrt(3) + pi / 3."""
    closed = 2 * math.sqrt(3) + math.pi / 3
    assert closed == pytest.approx(4.5112991663, abs=1e-9)
    path = scene_of(HALL, [SPECK]).path((-2, 0), (2, 0), 1.0)
    assert path.length == pytest.approx(closed, abs=1e-6)
    drawn = sum(math.dist(a, b) for a, b in zip(path.points, path.points[1:], strict=False))
    assert closed <= drawn + 1e-9 <= closed * 1.005
