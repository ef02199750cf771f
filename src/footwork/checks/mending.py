"""Short straight moves that mend what a check found, tried out before anyone is told to make them.

A move goes along the compass, as one pushes a machine, by whole centimetres or quarter inches.  The thing
must be able to stand where it ends, and no must-check of the whole layout may fail by it that held before,
nor fail by more; ``placing`` holds whatever its severity.  Of all such moves the shortest is told.  Where one
is not enough, moves of up to three things are tried together.  Metres, in the room's frame.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import chain, islice, product

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
APART = 0.1
"""Metres between places that are tried one after the other."""
FAR = 3.0
"""Metres: no message tells anyone to move a thing further than this."""
NEVER = -1.0
"""No move of that thing in that direction does."""
TOGETHER = 3
"""Things that a message tells to move together, at most."""
_COMBINED = 12
"""Moves of several things that are tried together, at most."""

Move = tuple[str, str, float]
"""What moves, where to, by how many metres."""
Moves = tuple[Move, ...]
"""Moves that are made together; none where nothing is known to help."""
Failed = frozenset[tuple[str, str, str]]
"""Must-checks that are failed: (check, subject, what is in the way)."""
Musts = Callable[[Ground, Placed, tuple[Placed, ...]], Failed]
"""Those that one thing fails among others where it stands."""
Whole = Callable[[tuple[Placed, ...]], Iterator[tuple[tuple[str, str], float]]]
"""Must-checks that a whole layout fails, (check, subject), and how much is missing each time."""


def no_other(_: tuple[Placed, ...]) -> Iterator[tuple[tuple[str, str], float]]:
    """Nothing is known of the whole layout."""
    return iter(())


@dataclass(frozen=True, eq=False)
class Mover:
    """Tries moves of the things of one layout; a ``silent`` one finds none, for nobody will read of it."""

    ground: Ground
    placed: tuple[Placed, ...]
    musts: Musts
    silent: bool = False
    whole: Whole = no_other
    told: list[Move] = field(default_factory=list, repr=False)
    """Moves that messages tell so far: one that mends something else too is told again."""
    _before: dict[str, Failed] = field(default_factory=dict, repr=False)
    _tried: dict[Moves, bool] = field(default_factory=dict, repr=False)

    # -- finding moves

    def apart(self, clashes: Sequence[Clash], also: Sequence[Sequence[Clash]] = ()) -> Moves:
        """The moves that bring a clash apart: one of its ``clashes`` is what a thing would have to clear.

        ``also`` are further clashes that should come apart with it.  Where they can't, the first one does.
        """
        if self.silent:
            return ()
        faults = (clashes, *also)
        known = (((move,)) for move in self.told if _clears(faults, move))
        for moves in (*known, *self._single(faults), *self._several(faults)):
            if self.allowed(moves):
                return moves
        return () if not also else self.apart(clashes)

    def until(
        self,
        names: Iterable[str],
        missing: Callable[[Placed], float],
        proved: Callable[[Moves], bool] | None = None,
    ) -> Moves:
        """The move of one of the things after which nothing is missing.

        ``missing`` changes by no more than the way that the thing goes, so that as much as is missing can be
        gone before looking again.  ``proved`` has the last word on a move that is about to be told.
        """
        names = tuple(names)
        at = {p.name: p for p in self.placed}
        known = [
            (move,)
            for move in self.told
            if move[0] in names and missing(moved(at[move[0]], COMPASS[move[1]], move[2])) <= TOLERANCE / 2
        ]
        for moves in chain(known, self.options(names, missing)):
            if (proved is None or proved(moves)) and self.allowed(moves):
                return moves
        return ()

    def options(
        self, names: Iterable[str], missing: Callable[[Placed], float], done: Moves = ()
    ) -> list[Moves]:
        """Single moves after which nothing is missing, each after those ``done``, the shortest first.

        Whether they are allowed is not asked.
        """
        if self.silent:
            return []
        at = {p.name: p for p in self.after(done)}
        found = []
        for name in dict.fromkeys(names):
            if name in self.movable and name not in {move[0] for move in done}:
                for word, direction in COMPASS.items():
                    metres = self._enough(at[name], direction, missing)
                    if 0 < metres < FAR:
                        found.append((name, word, metres))
        return [(*done, move) for move in sorted(found, key=lambda m: m[2])]

    def nearest(
        self, name: str, good: Callable[[Placed], bool], done: Moves = (), gone: frozenset[str] = frozenset()
    ) -> list[Moves]:
        """In each direction the nearest place of a thing that is ``good``, the nearest of these first.

        Moves ``done`` come before; what is ``gone`` is in nobody's way.  Places are looked for a hand's
        breadth apart.
        """
        if self.silent or name not in self.movable:
            return []
        after = self.after(done)
        among = tuple(p for p in after if p.name not in gone)
        placed = next(p for p in after if p.name == name)
        found = []
        for word, direction in COMPASS.items():

            def fits(metres: float, direction: Point = direction) -> bool:
                there = moved(placed, direction, metres)
                return self.can_stand(there, among) and good(there)

            steps = (self.ceiling(k * APART) for k in range(1, round(FAR / APART)))
            far = next(filter(fits, steps), None)
            if far is not None:
                found.append((name, word, self._shorter(far, fits)))
        return [(*done, move) for move in sorted(found, key=lambda move: move[2])]

    def _shorter(self, far: float, fits: Callable[[float], bool]) -> float:
        """The shortest way in the last step of ``far`` that fits."""
        near = max(0.0, far - APART)
        while self.ceiling((near + far) / 2) < far - TOLERANCE:
            middle = self.ceiling((near + far) / 2)
            near, far = (near, middle) if fits(middle) else (middle, far)
        return far

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

    def _single(self, faults: Sequence[Sequence[Clash]]) -> Iterator[Moves]:
        """Moves of one thing that bring all faults apart, the shortest first."""
        found = []
        for name in dict.fromkeys(clash.mover for clash in faults[0]):
            mine = [clash for fault in faults for clash in fault if clash.mover == name]
            if name in self.movable and len(mine) == len(faults):
                for word, direction in COMPASS.items():
                    metres = max(self._clear(clash, direction) for clash in mine)
                    if 0 < metres < FAR and all(_is_apart(clash, direction, metres) for clash in mine):
                        found.append((name, word, metres))
        return ((move,) for move in sorted(found, key=lambda m: m[2]))

    def _several(self, faults: Sequence[Sequence[Clash]]) -> Iterator[Moves]:
        """Moves of the things that stand in the way, one for each fault, the shortest first."""
        everywhere = frozenset[str].intersection(*(frozenset(c.mover for c in fault) for fault in faults))
        theirs = [[clash for clash in fault if clash.mover not in everywhere] for fault in faults]
        if len(faults) < 2 or not all(theirs):
            return iter(())
        each = [[moves[0] for moves in self._single((fault,))] for fault in theirs]
        joined = filter(None, map(_joined, islice(product(*each), 64)))
        return islice(sorted(joined, key=lambda moves: sum(move[2] for move in moves)), _COMBINED)

    def _clear(self, clash: Clash, direction: Point) -> float:
        return self.ceiling(clear_after(clash.moving, clash.standing, direction))

    def ceiling(self, metres: float) -> float:
        """Rounded up to a length that can be measured out: whole centimetres, or quarter inches."""
        step = 0.00635 if self.ground.scenario.units in ("ft", "in") else 0.01
        return math.ceil((metres - 1e-9) / step) * step

    # -- trying them

    @cached_property
    def movable(self) -> frozenset[str]:
        """What is not fixed."""
        return frozenset(
            p.name for p in self.placed if not isinstance(p.thing, Station) or p.thing.fixed is None
        )

    def after(self, moves: Moves) -> tuple[Placed, ...]:
        """Everything where moves take it."""
        at = {p.name: p for p in self.placed}
        for name, word, metres in moves:
            at[name] = moved(at[name], COMPASS[word], metres)
        return tuple(at.values())

    def allowed(self, moves: Moves) -> bool:
        """Whether things can stand where moves take them, and no must-check is the worse for it."""
        if moves not in self._tried:
            self._tried[moves] = self._allowed(moves)
        return self._tried[moves]

    def _allowed(self, moves: Moves) -> bool:
        after = self.after(moves)
        names = {move[0] for move in moves}
        if not all(self.can_stand(p, after) for p in after if p.name in names):
            return False
        before = frozenset[tuple[str, str, str]]().union(*(self._musts_before(name) for name in names))
        for p in after:
            if p.name in names and self.musts(self.ground, p, _others(p, after)) - before:
                return False
        known = self._failed
        return all(missing <= known.get(key, 0.0) + TOLERANCE for key, missing in self.whole(after))

    @cached_property
    def _failed(self) -> Mapping[tuple[str, str], float]:
        """Must-checks that the layout fails as it is, and what is missing."""
        return _most(self.whole(self.placed))

    def _musts_before(self, name: str) -> Failed:
        if name not in self._before:
            placed = next(p for p in self.placed if p.name == name)
            self._before[name] = self.musts(self.ground, placed, _others(placed, self.placed))
        return self._before[name]

    def can_stand(self, place: Placed, among: tuple[Placed, ...] = ()) -> bool:
        """Whether a thing is in the room, and clear of fixtures and of all other footprints."""
        indoors = isinstance(place.thing, Station) and not place.thing.outdoors
        if outside_by(place.body.pieces, self.ground.room, indoors) > TOLERANCE:
            return False
        walls = () if indoors else self.ground.segments
        there = _others(place, among or self.placed)
        others = (p.body for p in there if not share_floor(p.thing, place.thing))
        return not any(place.body.meets(body) for body in (*others, *self.ground.fixtures, *walls))


def _most(failed: Iterable[tuple[tuple[str, str], float]]) -> Mapping[tuple[str, str], float]:
    found: dict[tuple[str, str], float] = {}
    for key, missing in failed:
        found[key] = max(missing, found.get(key, 0.0))
    return found


def _others(place: Placed, among: tuple[Placed, ...]) -> tuple[Placed, ...]:
    return tuple(p for p in among if p.name != place.name)


def _joined(moves: Iterable[Move]) -> Moves:
    """One move for each thing, as far as the furthest of those told; () where they pull it apart."""
    found: dict[str, Move] = {}
    for name, word, metres in moves:
        known = found.get(name, (name, word, 0.0))
        if known[1] != word:
            return ()
        found[name] = (name, word, max(metres, known[2]))
    return tuple(found.values()) if len(found) <= TOGETHER else ()


def _clears(faults: Sequence[Sequence[Clash]], move: Move) -> bool:
    """Whether a move of one thing brings all faults apart."""
    name, word, metres = move
    mine = [clash for fault in faults for clash in fault if clash.mover == name]
    return len(mine) == len(faults) and all(_is_apart(clash, COMPASS[word], metres) for clash in mine)


def _is_apart(clash: Clash, direction: Point, metres: float) -> bool:
    return depth(shifted(clash.moving, direction, metres), clash.standing) <= TOLERANCE


def moved(placed: Placed, direction: Point, metres: float) -> Placed:
    """A thing pushed ``metres`` along a unit vector."""
    at = placed.placement
    return Placed(placed.thing, replace(at, x=at.x + metres * direction[0], y=at.y + metres * direction[1]))


def shifted(pieces: Pieces, direction: Point, metres: float) -> Pieces:
    """``pieces`` moved by ``metres`` along a unit vector."""
    return tuple(piece + metres * np.array(direction) for piece in pieces)
