"""What holds a walker back: the gap that is too narrow, by how much, and what to move.

Moves that are told have been tried: with them the way is there, and no must-check is the worse for them.
Where no single move opens a way, the smallest set of things that bar it is named.  Metres, in the room's
frame.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

import shapely

from footwork.checks.case import Case
from footwork.checks.ground import Placed
from footwork.checks.mending import TOGETHER, Moves
from footwork.checks.result import listed
from footwork.floor.barriers import MOST, Barriers
from footwork.floor.overlap import distance
from footwork.floor.scene import Obstacle, Scene
from footwork.floor.shapes import Pieces, StandingPlace, footprint, standing_places, stepped_out
from footwork.floor.variants import PARKED
from footwork.floor.widest import crowding, gap_widths, greatest_width, what_holds
from footwork.model.scenario import TOLERANCE, Point

BRANCHES = 3
"""Moves of one thing that are followed up with moves of the next, the shortest first."""
NOTHING: frozenset[str] = frozenset()

Missing = Callable[[Placed], float]
Names = frozenset[str]


@dataclass(frozen=True, slots=True)
class Hold:
    """What keeps a way from being walked: what to do, "" where nothing does, and the width there is.

    ``moves`` are those that the words tell.
    """

    words: str
    width: float
    moves: Moves = ()


@dataclass(frozen=True, slots=True)
class _Pinch:
    """Where a way is too narrow, in words; the things there, and what each of them is short of.

    ``place_of`` is whose place to stand that is, where it is one.
    """

    words: str
    names: tuple[str, ...]
    missing: Missing
    place_of: str = ""


def where(place: StandingPlace) -> str:
    """A standing place in words."""
    if place.owner.endswith(PARKED):
        return f"where {place.owner.removesuffix(PARKED)} is parked"
    if place.side is not None:
        return f"the {place.side} of {place.owner}"
    return f"the {place.owner}" if "door" in place.owner.lower() else f"the door {place.owner}"


def hold(case: Case, present: frozenset[str], start: StandingPlace, end: StandingPlace, width: float) -> Hold:
    """Name what holds a way of ``width`` back: an end that is blocked, or the gap that would have to open.

    ``present`` are those that come and go and are there.  The person steps straight out from a place until
    the load is clear of it, as on any leg.
    """
    return way(case, present, start, end, width).found


def way(case: Case, present: Names, start: StandingPlace, end: StandingPlace, width: float) -> Way:
    """The way of ``width`` between two places, either way round, kept with what is found out about it."""
    key = ("way", present, frozenset((start, end)), width)
    kept = case.layout.kept
    if key not in kept:
        kept[key] = Way(case, present, start, end, width)
    found: Way = kept[key]
    return found


@dataclass(frozen=True, eq=False)
class Way:
    """A way of some width from one place to another that is not there."""

    case: Case
    present: frozenset[str]
    start: StandingPlace
    end: StandingPlace
    width: float

    @cached_property
    def found(self) -> Hold:
        """What holds it back."""
        if self._open({}):
            return Hold("", self.width)
        pinch = self._pinch
        moves = self._known(pinch) or self._one_move(pinch)
        if moves:
            aside = "" if moves[0][0] in pinch.names else ", which opens another way"
            return Hold(f"{pinch.words}: {self.case.words_of(moves)}{aside}", self.wide, moves)
        if self.bars > 1:
            moves = self._several_moves()
            said = f"{pinch.words}; {listed(sorted(self._barring[0]))} hold it back together"
            told = self.case.words_of(moves) or "find other spots for them, or turn them"
            return Hold(f"{said}: {told}", self.wide, moves)
        return Hold(f"{pinch.words}: {self._no_move()}", self.wide)

    # -- whether there is a way

    @cached_property
    def scene(self) -> Scene:
        return self.case.layout.plan.scene(self.present)

    @cached_property
    def wide(self) -> float:
        """How wide the widest way is."""
        kept, key = self.case.layout.kept, ("gaps", self.present, self.width)
        if key not in kept:
            kept[key] = gap_widths(self.scene, self.width)
        p, q = self._ends({})
        return greatest_width(lambda w: math.isfinite(self.scene.length(p, q, w / 2)), kept[key], self.width)

    def _open(self, elsewhere: Mapping[str, Placed], gone: Names = NOTHING) -> bool:
        """Whether there is a way with some things elsewhere and some taken away."""
        obstacles = [o for o in self.scene.obstacles if o.name not in gone]
        for k, obstacle in enumerate(obstacles):
            if obstacle.name in elsewhere:
                placed = elsewhere[obstacle.name]
                ring, pieces = footprint(placed.thing, placed.placement), placed.body.pieces
                obstacles[k] = Obstacle.from_ring(obstacle.name, ring, pieces)
        scene = Scene(tuple(obstacles), self.scene.tolerance) if elsewhere or gone else self.scene
        p, q = self._ends(elsewhere)
        return math.isfinite(scene.length(p, q, self.width / 2))

    def _opened(self, moves: Moves) -> bool:
        """Whether moves open it."""
        return self._open(self._where(moves))

    def _where(self, moves: Moves) -> dict[str, Placed]:
        names = {move[0] for move in moves}
        return {p.name: p for p in self.case.layout.mover.after(moves) if p.name in names}

    def _ends(self, elsewhere: Mapping[str, Placed]) -> tuple[Point, Point]:
        """Where the way begins and ends, with the owners of its places elsewhere."""
        return self._end(self.start, elsewhere), self._end(self.end, elsewhere)

    def _end(self, place: StandingPlace, elsewhere: Mapping[str, Placed]) -> Point:
        plan = self.case.layout.plan
        walker = plan.scenario.walker.width
        if place.owner in elsewhere:
            here = plan.places(place.owner, place.side)
            thing = elsewhere[place.owner]
            sides = None if place.side is None else (place.side,)
            there = standing_places(thing.thing, thing.placement, walker, sides)
            place = there[here.index(place)] if place in here else place
        return stepped_out(place, walker, self.width)

    # -- where it is too narrow

    @cached_property
    def _pinch(self) -> _Pinch:
        """The place where the way is held: an end that is crowded, or a gap."""
        names = self.case.layout.plan.piece_names(self.scene)
        ends = self._ends({})
        for place, at in zip((self.start, self.end), ends, strict=True):
            what, far = crowding(self.scene, names, at)
            if far < self.width / 2 - TOLERANCE:
                return self._crowded(place, what, far)
        gap = what_holds(self.scene, names, ends[0], ends[1], self.width)
        if gap is None:
            return _Pinch("they are closed off from each other", (), lambda _: math.inf)
        a, b = gap.between
        pieces = _pieces(self.scene, names)

        def missing(placed: Placed) -> float:
            return self.width - distance(placed.body.pieces, pieces[b if placed.name == a else a])

        wide, lacks = self.case.say(gap.width), self.case.lacks(self.width, gap.width)
        words = f"the gap between {a} and {b} is {wide}, {lacks} too narrow"
        return _Pinch(words, (a, b), missing)

    def _crowded(self, place: StandingPlace, what: str, far: float) -> _Pinch:
        """A place to stand that something is too close to."""
        plan, say, width = self.case.layout.plan, self.case.say, self.width
        near = shapely.union_all([_shape(p) for p in _pieces(self.scene, plan.piece_names(self.scene))[what]])
        here = shapely.Point(self._end(place, {}))

        def missing(placed: Placed) -> float:
            if placed.name == place.owner:
                return width / 2 - float(
                    near.distance(shapely.Point(self._end(place, {place.owner: placed})))
                )
            shape = shapely.union_all([_shape(p) for p in placed.body.pieces])
            return width / 2 - float(shape.distance(here))

        names = tuple(name for name in (what, place.owner) if name in plan.things)
        words = f"the place to stand at {where(place)} is {say(far)} from {what}, and needs {say(width / 2)}"
        if far <= TOLERANCE:
            words = f"{what} stands where one would stand at {where(place)}"
        return _Pinch(words, names, missing, place.owner)

    # -- what to do about it

    def _known(self, pinch: _Pinch) -> Moves:
        """A move of one thing here that was told before, where it opens this way too."""
        here = {*pinch.names, *(name for names in self._barring for name in names)}
        for move in self.case.layout.mover.told:
            if move[0] in here and self._opened((move,)):
                return (move,)
        return ()

    def _one_move(self, pinch: _Pinch) -> Moves:
        """A move of one thing that opens the way: of what stands at the pinch, else of what bars it alone.

        What does not open it by going away altogether does not by a move, unless a place goes with it.
        """
        mover = self.case.layout.mover
        alone = set().union(*(names for names in self._barring if len(names) == 1))
        near = [name for name in pinch.names if name in alone | self._owners]
        moves = mover.until(near, pinch.missing, self._opened)
        if moves:
            return moves
        found = [m for name in sorted(alone) for m in mover.nearest(name, lambda p: self._open({p.name: p}))]
        return next(filter(mover.allowed, sorted(found, key=lambda moves: moves[0][2])), ())

    @property
    def _owners(self) -> frozenset[str]:
        return frozenset((self.start.owner, self.end.owner))

    def _several_moves(self) -> Moves:
        """Moves of the things that hold the way back together; first those told before, one of each."""
        mover, barring = self.case.layout.mover, self._barring[0]
        told = {move[0]: move for move in mover.told if move[0] in barring}
        known = tuple(told.values())
        if len(known) == self.bars and self._opened(known) and mover.allowed(known):
            return known
        tried: set[tuple[Names, float]] = self.case.layout.kept.setdefault(("tried", self.present), set())
        if len(barring) > TOGETHER or (barring, self.width) in tried:
            return ()
        tried.add((barring, self.width))
        return next(self._following((), tuple(sorted(barring))), ())

    def _following(self, done: Moves, left: tuple[str, ...]) -> Iterator[Moves]:
        """Moves of those ``left`` after those ``done``, each as far as opens the way without the rest."""
        mover, rest, there = self.case.layout.mover, frozenset(left[1:]), self._where(done)

        def good(placed: Placed) -> bool:
            return self._open({**there, placed.name: placed}, rest)

        for moves in mover.nearest(left[0], good, done, rest)[:BRANCHES]:
            if rest:
                yield from self._following(moves, left[1:])
            elif mover.allowed(moves):
                yield moves

    @property
    def bars(self) -> int:
        """How many things hold the way back together; 0 where no few of them do."""
        return len(self._barring[0]) if self._barring else 0

    @cached_property
    def _barring(self) -> tuple[frozenset[str], ...]:
        """The smallest sets of things without which there would be a way; () where nothing helps."""
        layout = self.case.layout
        key = ("barriers", self.present, self.width)
        if key not in layout.kept:
            layout.kept[key] = Barriers.of(self.scene, layout.plan.room, layout.mover.movable, self.width)
        barriers: Barriers = layout.kept[key]
        return barriers.smallest(*self._ends({}), self._owners)

    def _no_move(self) -> str:
        """What to do where no short straight move is allowed that would open the way."""
        alone = set[str]().union(*self._barring)
        if alone:
            # a thing at the pinch may give way too where the way ends at it: the same words for every way
            near = self._owners & set(self._pinch.names) & self.case.layout.mover.movable
            near -= {self._pinch.place_of}
            spot = f"find another spot for {listed(sorted(alone | near), ' or ')}, or turn it"
            out = sorted(alone & self.present & {v.name for v in self.case.ground.scenario.vehicles})
            away = f", or take {listed(out, ' or ')} out" if out else ""
            return f"no short straight move mends it: {spot}{away}"
        movable = self.case.layout.mover.movable
        if self._open({}, movable - self._owners):
            return f"more than {MOST} things hold it back together: clear a way between them"
        at_door = self._pinch.place_of in {door.name for door in self.case.ground.room.doors}
        fixed = sorted(s.name for s in self.case.ground.scenario.stations if s.fixed is not None)
        fixed = [name for name in fixed if name in self._pinch.names]
        if at_door and fixed:
            return f"take `fixed` out of {listed(fixed)}"
        owners = sorted(self._owners & movable)
        if owners:
            return f"find another spot for {listed(owners, ' or ')}, or turn it"
        return "nothing that could be moved opens it"


def _pieces(scene: Scene, names: tuple[str, ...]) -> dict[str, Pieces]:
    """The shape of everything on the floor by name; a wall is all its stretches."""
    found: dict[str, Pieces] = {}
    for name, piece in zip(names, (p for o in scene.obstacles for p in o.pieces), strict=True):
        found[name] = (*found.get(name, ()), piece)
    return found


def _shape(piece: object) -> shapely.Geometry:
    points = shapely.points(piece)
    return shapely.LineString(points) if len(points) == 2 else shapely.Polygon(points)
