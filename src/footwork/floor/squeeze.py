"""A leg without a way, measured all the same: squeezed through the widest way there is.

A real room breaks rules, and people get through it nonetheless: sideways, with the load turned, leaning over
what stands before a bench.  Such a leg goes by the widest way there is, by the shortest that is so wide.
Where something is too close to a place, the walker presses up to the face, as far as the width is less than
what the leg needs.  Where nobody can stand at a place even so, the leg ends on the nearest floor on which a
person can and from which a way leads on, and counts the rest straight over what stands there; where there is
no such way either, it goes straight over from place to place.  So there is always a length.  Metres, in the
room's frame.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product

import numpy as np
import shapely

from footwork.floor import passing
from footwork.floor.plan import Plan
from footwork.floor.scene import Path, Scene
from footwork.floor.shapes import StandingPlace, stepped_out
from footwork.floor.widest import gap_widths
from footwork.model.scenario import TOLERANCE, Point, Room

SHUT = 0.10
"""Metres, a hand's breadth: what is narrower is no way, nobody gets through."""
NEAREST = 4
"""Separate pieces of free floor that are tried for where one stands instead, the nearest first."""

_ROUND = 64
"""Straight parts of a quarter of a circle in the shape of the free floor: 0.02 mm off the circle."""


@dataclass(frozen=True)
class Squeeze:
    """How a leg without a way is measured.

    ``width`` is that of the widest way, 0 where the leg goes straight over everything; ``over`` are those of
    its ``metres`` that lead straight over what stands there.  ``ends`` are its two places, ``floor`` the ends
    of its part on the floor of ``scene``, which is None where it has none.
    """

    metres: float
    width: float
    over: float
    ends: tuple[Point, Point]
    floor: tuple[Point, Point] | None = None
    scene: Scene | None = field(default=None, repr=False, compare=False)

    @cached_property
    def way(self) -> Path:
        """Its part on the floor."""
        if self.scene is None or self.floor is None:
            return Path(math.inf)
        return self.scene.path(*self.floor, self.width / 2)

    @cached_property
    def points(self) -> tuple[Point, ...]:
        """All of it, from place to place."""
        if not self.way.points:
            return self.ends
        points = [*self.way.points]
        if math.dist(self.ends[0], points[0]) > TOLERANCE:
            points.insert(0, self.ends[0])
        if math.dist(self.ends[1], points[-1]) > TOLERANCE:
            points.append(self.ends[1])
        return tuple(points)


@dataclass(frozen=True, slots=True)
class _End:
    """Where a leg may begin: a width's step out of a place, pressed to its face, or on ``floor`` near it."""

    place: StandingPlace
    walker: float
    stepped: float | None = None
    floor: Point | None = None

    def at(self, width: float) -> Point:
        if self.floor is not None:
            return self.floor
        return stepped_out(self.place, self.walker, width if self.stepped is None else self.stepped)

    @property
    def row(self) -> tuple[float, float, float, float]:
        """Where it is for a walker, and where a step further out of a metre leads: as ``passing`` has it."""
        if self.floor is None and self.stepped is None:
            return (*self.place.at, *self.place.outward)
        return (*self.at(0.0), 0.0, 0.0)

    @property
    def over(self) -> float:
        return 0.0 if self.floor is None else math.dist(self.place.at, self.floor)

    def apart(self, width: float) -> float:
        """Metres from the place to where the way begins."""
        return math.dist(self.place.at, self.at(width))


class _Ends:
    """The ends of ways for one width, and what hangs together between them, as far as it was looked at."""

    def __init__(self, scene: Scene, ask: passing.Wanted) -> None:
        self._scene, self._ask = scene, ask
        self._gaps = gap_widths(scene, ask.limit)
        self._number: dict[_End, int] = {}
        self._places = np.empty((_PLACES, 4))
        self._known = _labels(_PLACES)

    def number(self, end: _End) -> int:
        """The number of an end among all of them."""
        known = self._number.setdefault(end, len(self._number))
        if known == len(self._places):
            self._places = np.concatenate([self._places, np.empty_like(self._places)])
            self._known = _labels(len(self._places))
        self._places[known] = end.row
        return known

    def ways(self, pairs: Sequence[tuple[_End, _End]]) -> list[tuple[float, float]]:
        """The width of the widest way of each pair, and the length of the shortest that is so wide; 0 and inf
        where there is none."""
        numbers = np.array([[self.number(end) for end in pair] for pair in pairs], np.int64).reshape(-1, 2)
        found = passing.widest_ways(
            self._scene.arrays, self._places, numbers, self._gaps, self._ask, self._known
        )
        return [(width, length) for width, length in found.tolist()]


_PLACES, _WIDTHS = 64, 256
"""Ends that there is room for at first, and widths of discs that are remembered."""


def _labels(places: int) -> passing.Labels:
    return passing.Labels(np.empty(_WIDTHS), np.full((_WIDTHS, places), -1), np.zeros(1, np.int64))


def _straight(ends: tuple[_End, _End]) -> Squeeze:
    """Straight over everything."""
    straight = (ends[0].place.at, ends[1].place.at)
    metres = math.dist(*straight)
    return Squeeze(metres, 0.0, metres, straight)


@dataclass(frozen=True, eq=False)
class Squeezer:
    """Measures legs without a way on the floor of one layout with some vehicles in."""

    scene: Scene
    room: Room
    walker: float
    _ends: dict[float, _Ends] = field(default_factory=dict, repr=False)
    _pressed: dict[tuple[StandingPlace, float], _End] = field(default_factory=dict, repr=False)
    _room: dict[tuple[_End, float], bool] = field(default_factory=dict, repr=False)
    _floor_near: dict[StandingPlace, list[_End]] = field(default_factory=dict, repr=False)

    @staticmethod
    def of(plan: Plan, vehicles_in: frozenset[str]) -> Squeezer:
        return Squeezer(plan.scene(vehicles_in), plan.room, plan.scenario.walker.width)

    def squeeze(self, legs: Sequence[tuple[StandingPlace, StandingPlace]], width: float) -> list[Squeeze]:
        """Legs from one place to another that have no way of ``width``."""
        pairs = [(self._end(start, width), self._end(end, width)) for start, end in legs]
        found: dict[int, Squeeze] = {}
        tries = {k: [pair] for k, pair in enumerate(pairs)}
        while tries:
            first = {k: left[0] for k, left in tries.items()}
            for (k, pair), way in zip(first.items(), self._ways([*first.values()], width), strict=True):
                if way[0] > 0.0:
                    found[k] = self._measured(pair, *way)
            left = {
                k: left[1:] if left[0] != pairs[k] else self._beside(left[0])
                for k, left in tries.items()
                if k not in found
            }
            tries = {k: more for k, more in left.items() if more}
        return [found[k] if k in found else _straight(pair) for k, pair in enumerate(pairs)]

    def _ways(self, pairs: Sequence[tuple[_End, _End]], width: float) -> list[tuple[float, float]]:
        if width not in self._ends:
            ask = passing.Wanted(self.walker, width, SHUT, self.scene.tolerance)
            self._ends[width] = _Ends(self.scene, ask)
        return self._ends[width].ways(pairs)

    def _measured(self, ends: tuple[_End, _End], width: float, length: float) -> Squeeze:
        a, b = ends
        metres = length + a.apart(width) + b.apart(width)
        floor = (a.at(width), b.at(width))
        return Squeeze(metres, width, a.over + b.over, (a.place.at, b.place.at), floor, self.scene)

    def _beside(self, ends: tuple[_End, _End]) -> list[tuple[_End, _End]]:
        """Floor near those of two places at which nobody can stand, the nearest first; none where one can."""
        covered = [not self._fits(end, SHUT) for end in ends]
        if not any(covered):
            return []
        a, b = (self._near(end.place) if shut else [end] for end, shut in zip(ends, covered, strict=True))
        return sorted(product(a, b), key=lambda pair: pair[0].over + pair[1].over)

    def _end(self, place: StandingPlace, width: float) -> _End:
        """A place, pressed to its face if there is no room before it."""
        if (place, width) not in self._pressed:
            stepped = _End(place, self.walker, stepped=width)
            fits = self._fits(stepped, width)
            self._pressed[place, width] = stepped if fits else _End(place, self.walker)
        return self._pressed[place, width]

    def _fits(self, end: _End, width: float) -> bool:
        if (end, width) not in self._room:
            near = passing.distances_to(self.scene.arrays, *map(float, end.at(width)))
            self._room[end, width] = bool(near.min() >= width / 2 - TOLERANCE)
        return self._room[end, width]

    def _near(self, place: StandingPlace) -> list[_End]:
        """The nearest point of each piece of floor on which a person can stand."""
        if place not in self._floor_near:
            here = shapely.Point(place.at)
            found = sorted(self._floors, key=lambda piece: float(piece.distance(here)))[:NEAREST]
            lines = [shapely.shortest_line(here, piece) for piece in found]
            ends = [shapely.get_coordinates(line)[-1] for line in lines]
            self._floor_near[place] = [_End(place, self.walker, floor=(float(x), float(y))) for x, y in ends]
        return self._floor_near[place]

    @cached_property
    def _floors(self) -> tuple[shapely.Geometry, ...]:
        """The floor on which the walker's centre can be, in pieces that do not hang together."""
        ground = shapely.union_all(
            [shapely.Polygon(self.room.outline), *(shapely.Polygon(y.outline) for y in self.room.yards)]
        )
        rings = [p for o in self.scene.obstacles for p in o.pieces]
        shapes = [shapely.LineString(r) if len(r) == 2 else shapely.Polygon(r) for r in rings]
        taken = shapely.union_all(shapely.buffer(shapes, self.walker / 2, quad_segs=_ROUND))
        return tuple(p for p in shapely.get_parts(ground.difference(taken)) if p.area > 0.0)
