"""Scenes whose shortest path has a closed form, worked out here from elementary trigonometry.

A path of a disc's centre round a corner is a tangent, an arc of radius r about the corner, and a tangent:
from a point at distance d the tangent is sqrt(d^2 - r^2) long and leaves the line to the corner by asin(r /
d).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

Pair = tuple[float, float]
Ring = tuple[Pair, ...]


@dataclass(frozen=True)
class Known:
    """A room, what stands in it, a walk for a disc of ``radius``, and its length in metres."""

    name: str
    room: Ring
    rings: tuple[Ring, ...]
    radius: float
    start: Pair
    end: Pair
    length: float


def box(x0: float, y0: float, x1: float, y1: float) -> Ring:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def round_corner(corner: Pair, start: Pair, end: Pair, angle: float, radius: float) -> float:
    """Tangent, arc, tangent: ``angle`` is that between the two lines to the corner, on the side the path
    goes."""
    d1, d2 = math.dist(corner, start), math.dist(corner, end)
    arc = angle - math.acos(radius / d1) - math.acos(radius / d2)
    return math.sqrt(d1**2 - radius**2) + math.sqrt(d2**2 - radius**2) + radius * arc


def round_square(radius: float) -> float:
    """From (-1, 1/2) to (2, 1/2) past the unit square: round two corners a metre apart."""
    d = math.hypot(1.0, 0.5)
    climb = math.atan2(0.5, 1.0) + math.asin(radius / d)
    return 2 * (math.sqrt(d**2 - radius**2) + radius * climb) + 1.0


def round_inner_corner(radius: float) -> float:
    """From (1.5, 4) to (4, 1.5) past the inner corner (2, 2) of an L-shaped room."""
    between = math.acos((-0.5 * 2.0 + 2.0 * -0.5) / 4.25)
    return round_corner((2.0, 2.0), (1.5, 4.0), (4.0, 1.5), 2 * math.pi - between, radius)


HALL = box(-5.0, -5.0, 6.0, 6.0)
SQUARE = box(0.0, 0.0, 1.0, 1.0)
ELL: Ring = ((-1.0, -1.0), (6.0, -1.0), (6.0, 2.0), (2.0, 2.0), (2.0, 6.0), (-1.0, 6.0))
SPECK = box(-1e-8, -1e-8, 1e-8, 1e-8)
"""A thing without size to speak of: a disc of radius 1 meets it as a point meets a disc of radius 1."""

SQUARES = tuple(
    Known(f"unit square, r {r}", HALL, (SQUARE,), r, (-1.0, 0.5), (2.0, 0.5), round_square(r))
    for r in (0.0, 0.1, 0.25, 0.3, 0.5)
)
ELLS = tuple(
    Known(f"L-shaped room, r {r}", ELL, (), r, (1.5, 4.0), (4.0, 1.5), round_inner_corner(r))
    for r in (0.0, 0.3)
)
GRAZE = Known("L-shaped room, grazing the corner", ELL, (), 0.0, (0.0, 4.0), (4.0, 0.0), 4 * math.sqrt(2))
DISC = Known("disc of radius 1", HALL, (SPECK,), 1.0, (-2.0, 0.0), (2.0, 0.0), 2 * math.sqrt(3) + math.pi / 3)
FREE = Known("nothing in the way", HALL, (), 0.3, (-1.0, 0.5), (2.0, 4.5), 5.0)
KNOWN = (*SQUARES, *ELLS, GRAZE, DISC, FREE)
