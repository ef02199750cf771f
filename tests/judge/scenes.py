"""Random scenes to try a path engine on: a room, things that stand in it, points to walk between."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon

from judge.paths import Roads

Pair = tuple[float, float]
Ring = tuple[Pair, ...]


@dataclass(frozen=True)
class Drawn:
    """A random scene: the room's outline, the outlines of things, and points of the free floor."""

    room: Ring
    rings: tuple[Ring, ...]
    points: tuple[Pair, ...]

    @property
    def walls(self) -> list[tuple[Pair, Pair]]:
        return list(pairwise([*self.room, self.room[0]]))

    def roads(self, radius: float, **options: Any) -> Roads:
        """The judge's visibility graph of this scene."""
        return Roads(Polygon(self.room), self.rings, self.walls, radius=radius, **options)


def as_ring(points: Any) -> Ring:
    return tuple((float(x), float(y)) for x, y in points)


def rotated(ring: Any, centre: Pair, degrees: float) -> np.ndarray:
    """A ring about its own centre, turned counter-clockwise and moved to ``centre``."""
    a = math.radians(degrees)
    turn = np.array([[math.cos(a), math.sin(a)], [-math.sin(a), math.cos(a)]])
    return np.asarray(ring, dtype=float) @ turn + np.asarray(centre)


def thing(rng: np.random.Generator, kind: str) -> np.ndarray:
    """The outline of a bench, an L-shaped bench or a bench with a notch, about its own centre."""
    w, d = rng.uniform(0.4, 2.0), rng.uniform(0.3, 1.0)
    x, y = w / 2, d / 2
    if kind == "ell":
        return np.array([(-x, -y), (x, -y), (x, 0), (0, 0), (0, y), (-x, y)])
    if kind == "notch":
        n = w / 6
        return np.array([(-x, -y), (-n, -y), (-n, 0), (n, 0), (n, -y), (x, -y), (x, y), (-x, y)])
    return np.array([(-x, -y), (x, -y), (x, y), (-x, y)])


def room(rng: np.random.Generator, width: float, depth: float, shape: str) -> Ring:
    """A rectangular, L-shaped or notched room."""
    if shape == "ell":
        x, y = width * rng.uniform(0.4, 0.7), depth * rng.uniform(0.4, 0.7)
        return as_ring([(0, 0), (width, 0), (width, y), (x, y), (x, depth), (0, depth)])
    if shape == "notch":
        a, b, y = width * rng.uniform(0.2, 0.4), width * rng.uniform(0.6, 0.8), depth * rng.uniform(0.4, 0.8)
        return as_ring(
            [(0, 0), (width, 0), (width, depth), (b, depth), (b, y), (a, y), (a, depth), (0, depth)]
        )
    return as_ring([(0, 0), (width, 0), (width, depth), (0, depth)])


def draw(
    seed: int,
    *,
    things: int = 8,
    points: int = 4,
    radius: float = 0.3,
    width: float = 8.0,
    depth: float = 6.0,
    apart: float | None = None,
    square_on: bool = False,
    convex: bool = False,
) -> Drawn:
    """A random scene.

    Things may overlap and touch unless ``apart`` (metres) keeps them away from each other and from the
    walls. ``square_on`` places them on a 0.1 m grid facing four ways, which makes exact and nearly exact
    gaps common. Points are at least ``radius`` from everything.
    """
    rng = np.random.default_rng(seed)
    outline = room(rng, width, depth, "box" if convex else str(rng.choice(["box", "ell", "notch"])))
    floor = Polygon(outline)
    rings: list[Ring] = []
    taken: list[Any] = []
    for _ in range(things * 20):
        if len(rings) == things:
            break
        kind = "box" if convex else str(rng.choice(["box", "box", "ell", "notch"]))
        shape = thing(rng, kind)
        at, facing = (rng.uniform(0, width), rng.uniform(0, depth)), rng.uniform(0, 360)
        if square_on:
            shape, at, facing = shape.round(1), np.round(at, 1), 90.0 * int(rng.integers(4))
        placed = np.round(rotated(shape, at, facing), 9)
        made = Polygon(placed)
        if not made.is_valid or made.area < 0.01 or not floor.contains(made):
            continue
        if apart is not None and (
            floor.exterior.distance(made) < apart or any(made.distance(other) < apart for other in taken)
        ):
            continue
        rings.append(as_ring(placed))
        taken.append(made)
    solid = shapely.union_all([floor.exterior, *taken])
    found: list[Pair] = []
    for _ in range(2000):
        if len(found) == points:
            break
        p = (float(rng.uniform(0, width)), float(rng.uniform(0, depth)))
        if floor.contains(shapely.Point(p)) and solid.distance(shapely.Point(p)) > radius + 1e-3:
            found.append(p)
    return Drawn(outline, tuple(rings), tuple(found))
