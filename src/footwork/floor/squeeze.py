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
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product

import numpy as np
import shapely
from numpy.typing import NDArray

from footwork.floor.plan import Plan
from footwork.floor.scene import Path, Scene
from footwork.floor.shapes import StandingPlace, stepped_out
from footwork.floor.widest import crowding, gap_widths, greatest_width
from footwork.model.scenario import TOLERANCE, Point, Room

SHUT = 0.10
"""Metres, a hand's breadth: what is narrower is no way, nobody gets through."""
NEAREST = 4
"""Separate pieces of free floor that are tried for where one stands instead, the nearest first."""

_ROUND = 64
"""Straight parts of a quarter of a circle in the shape of the free floor: 0.02 mm off the circle."""


@dataclass(frozen=True, slots=True)
class Squeeze:
    """How a leg without a way is measured.

    ``width`` is that of the widest way, 0 where the leg goes straight over everything; ``over`` are those of
    its ``metres`` that lead straight over what stands there.  ``way`` is its part on the floor.
    """

    metres: float
    width: float
    over: float
    points: tuple[Point, ...]
    way: Path


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
    def over(self) -> float:
        return 0.0 if self.floor is None else math.dist(self.place.at, self.floor)

    def apart(self, width: float) -> float:
        """Metres from the place to where the way begins."""
        return math.dist(self.place.at, self.at(width))


@dataclass(frozen=True, eq=False)
class Squeezer:
    """Measures legs without a way on the floor of one layout with some vehicles in."""

    scene: Scene
    room: Room
    names: tuple[str, ...]
    walker: float
    _kept: dict[float, NDArray[np.float64]] = field(default_factory=dict, repr=False)

    @staticmethod
    def of(plan: Plan, vehicles_in: frozenset[str]) -> Squeezer:
        scene = plan.scene(vehicles_in)
        return Squeezer(scene, plan.room, plan.piece_names(scene), plan.scenario.walker.width)

    def squeeze(self, start: StandingPlace, end: StandingPlace, width: float) -> Squeeze:
        """The leg from one place to another that has no way of ``width``."""
        gaps = self._gaps(width)
        for a, b in self._ends(start, end, width):

            def can(w: float, a: _End = a, b: _End = b) -> bool:
                return w > 0.0 and math.isfinite(self.scene.length(a.at(w), b.at(w), w / 2))

            if can(SHUT):
                return self._measured(a, b, greatest_width(can, gaps, width))
        metres = math.dist(start.at, end.at)
        return Squeeze(metres, 0.0, metres, (start.at, end.at), Path(math.inf))

    def _measured(self, a: _End, b: _End, width: float) -> Squeeze:
        way = self.scene.path(a.at(width), b.at(width), width / 2)
        over = a.over + b.over
        metres = way.length + a.apart(width) + b.apart(width)
        points = [*way.points]
        if math.dist(a.place.at, points[0]) > TOLERANCE:
            points.insert(0, a.place.at)
        if math.dist(b.place.at, points[-1]) > TOLERANCE:
            points.append(b.place.at)
        return Squeeze(metres, width, over, tuple(points), way)

    def _ends(self, start: StandingPlace, end: StandingPlace, width: float) -> Iterator[tuple[_End, _End]]:
        """The two places; then floor near those at which nobody can stand, the nearest first."""
        a, b = (self._pressed(place, width) for place in (start, end))
        yield a, b
        covered = [not self._fits(e, SHUT) for e in (a, b)]
        if any(covered):
            ways = [self._beside(e.place) if shut else [e] for e, shut in zip((a, b), covered, strict=True)]
            yield from sorted(product(ways[0], ways[1]), key=lambda pair: pair[0].over + pair[1].over)

    def _pressed(self, place: StandingPlace, width: float) -> _End:
        """A place, pressed to its face if there is no room before it."""
        stepped = _End(place, self.walker, stepped=width)
        return stepped if self._fits(stepped, width) else _End(place, self.walker)

    def _fits(self, end: _End, width: float) -> bool:
        return crowding(self.scene, self.names, end.at(width))[1] >= width / 2 - TOLERANCE

    def _beside(self, place: StandingPlace) -> list[_End]:
        """The nearest point of each piece of floor on which a person can stand."""
        here = shapely.Point(place.at)
        found = sorted(self._floors, key=lambda piece: float(piece.distance(here)))[:NEAREST]
        lines = [shapely.shortest_line(here, piece) for piece in found]
        ends = [shapely.get_coordinates(line)[-1] for line in lines]
        return [_End(place, self.walker, floor=(float(x), float(y))) for x, y in ends]

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

    def _gaps(self, width: float) -> NDArray[np.float64]:
        """Widths at which a way may open, up to ``width``."""
        if width not in self._kept:
            self._kept[width] = gap_widths(self.scene, width)
        return self._kept[width]
