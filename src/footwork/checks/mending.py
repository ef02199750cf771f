"""Short straight moves that mend what a check found, tried out before anyone is told to make them.

A move goes along the compass, as one pushes a machine, by whole centimetres or quarter inches.  The thing
must be able to stand where it ends.  Of all such moves the shortest is told that brings no must-check down
which held before; where each does, the shortest.  Metres, in the room's frame.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from footwork.checks.ground import Clash, Ground, Placed
from footwork.floor.headroom import share_floor
from footwork.floor.overlap import clear_after, depth
from footwork.floor.shapes import Pieces
from footwork.floor.walls import outside_by
from footwork.model.scenario import TOLERANCE, Point, Station

COMPASS: Mapping[str, Point] = {
    "east": (1.0, 0.0),
    "north": (0.0, 1.0),
    "west": (-1.0, 0.0),
    "south": (0.0, -1.0),
}
FAR = 3.0
"""Metres: no message tells anyone to move a thing further than this."""
NEVER = -1.0
"""No move of that thing in that direction does."""

Move = tuple[str, str, float]
"""What moves, where to, by how many metres."""
Failed = frozenset[tuple[str, str, str]]
"""Must-checks that are failed: (check, subject, what is in the way)."""
Musts = Callable[[Ground, Placed, tuple[Placed, ...]], Failed]
"""Those that one thing fails among others where it stands."""


@dataclass(frozen=True, eq=False)
class Mover:
    """Tries moves of the things of one layout; a ``silent`` one finds none, for nobody will read of it."""

    ground: Ground
    placed: tuple[Placed, ...]
    musts: Musts
    silent: bool = False
    _before: dict[str, Failed] = field(default_factory=dict, repr=False)

    def apart(self, clashes: Iterable[Clash]) -> Move | None:
        """The move that brings one of the clashes apart."""
        if self.silent:
            return None
        found = []
        for clash in clashes:
            for word, direction in COMPASS.items():
                metres = self.ceiling(clear_after(clash.moving, clash.standing, direction))
                if depth(shifted(clash.moving, direction, metres), clash.standing) <= TOLERANCE:
                    found.append((clash.mover, word, metres))
        return self._best(found)

    def until(
        self,
        names: Iterable[str],
        missing: Callable[[Placed], float],
        proved: Callable[[Move], bool] | None = None,
    ) -> Move | None:
        """The move of one of the things after which nothing is missing.

        ``missing`` changes by no more than the way that the thing goes, so that as much as is missing can be
        gone before looking again.  ``proved`` has the last word on a move that is about to be told.
        """
        if self.silent:
            return None
        by_name = {p.name: p for p in self.placed}
        found = []
        for name in names:
            if name not in by_name:
                continue
            for word, direction in COMPASS.items():
                metres = self._enough(by_name[name], direction, missing)
                if metres > 0:
                    found.append((name, word, metres))
        return self._best(found, proved)

    def _enough(self, placed: Placed, direction: Point, missing: Callable[[Placed], float]) -> float:
        gone = 0.0
        while gone <= FAR:
            short = missing(moved(placed, direction, gone))
            if short <= TOLERANCE / 2:
                return gone
            if math.isinf(short):
                return NEVER
            gone += self.ceiling(short)
        return NEVER

    def ceiling(self, metres: float) -> float:
        """Rounded up to a length that can be measured out: whole centimetres, or quarter inches."""
        step = 0.00635 if self.ground.scenario.units in ("ft", "in") else 0.01
        return math.ceil((metres - 1e-9) / step) * step

    def _best(self, moves: Iterable[Move], proved: Callable[[Move], bool] | None = None) -> Move | None:
        fixed = {p.name for p in self.placed if isinstance(p.thing, Station) and p.thing.fixed is not None}
        good = sorted((m for m in moves if m[0] not in fixed and 0 < m[2] < FAR), key=lambda m: m[2])
        possible = []
        for move in good:
            place = self.after(move)
            if self.can_stand(place) and (proved is None or proved(move)):
                if not self._musts(place) - self._musts_before(place.name):
                    return move
                possible.append(move)
        return possible[0] if possible else None

    def after(self, move: Move) -> Placed:
        """The thing where a move takes it."""
        placed = next(p for p in self.placed if p.name == move[0])
        return moved(placed, COMPASS[move[1]], move[2])

    def others(self, name: str) -> tuple[Placed, ...]:
        return tuple(p for p in self.placed if p.name != name)

    def _musts(self, place: Placed) -> Failed:
        return self.musts(self.ground, place, self.others(place.name))

    def _musts_before(self, name: str) -> Failed:
        if name not in self._before:
            self._before[name] = self._musts(next(p for p in self.placed if p.name == name))
        return self._before[name]

    def can_stand(self, place: Placed) -> bool:
        """Whether a thing is in the room, and clear of fixtures and of all other footprints."""
        indoors = isinstance(place.thing, Station) and not place.thing.outdoors
        if outside_by(place.body.pieces, self.ground.room, indoors) > TOLERANCE:
            return False
        walls = () if indoors else self.ground.segments
        others = (p.body for p in self.others(place.name) if not share_floor(p.thing, place.thing))
        return not any(place.body.meets(body) for body in (*others, *self.ground.fixtures, *walls))


def moved(placed: Placed, direction: Point, metres: float) -> Placed:
    """A thing pushed ``metres`` along a unit vector."""
    at = placed.placement
    return Placed(placed.thing, replace(at, x=at.x + metres * direction[0], y=at.y + metres * direction[1]))


def shifted(pieces: Pieces, direction: Point, metres: float) -> Pieces:
    """``pieces`` moved by ``metres`` along a unit vector."""
    return tuple(piece + metres * np.array(direction) for piece in pieces)
