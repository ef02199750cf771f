"""What the building and other things ask of a thing that stands somewhere: shapes and faults.

A ``Placed`` is one thing at one placement with all the floor it claims; a ``Ground`` is the building,
prepared once for a scenario.  Every check is made of two plain functions, ``..._alone(ground, placed)``
and ``..._pair(ground, a, b)``, that yield faults.  They run for a layout and for a table of spots alike, so
that a table and a check cannot disagree.  Metres, in the room's frame.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Any

import numpy as np

from footwork.checks.rule import Rule
from footwork.floor import shapes, walls
from footwork.floor.headroom import above_door, reach_over
from footwork.floor.overlap import Flat, depth, flatten, gap
from footwork.floor.plan import wall_words
from footwork.floor.shapes import FloatArray, Pieces, Strip, convex_pieces
from footwork.floor.solid import overlapping
from footwork.model.scenario import Job, Placement, Room, Scenario, Station, Vehicle, Wall

Thing = Station | Vehicle


@dataclass(frozen=True, eq=False)
class Body:
    """A shape with the name that a message calls it by."""

    name: str
    pieces: Pieces

    @cached_property
    def flat(self) -> Flat:
        return flatten(self.pieces)

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """Least x and y, greatest x and y; of nothing what meets nothing."""
        x, y = (numbers.tolist() for numbers in self.flat[:2])
        if not x:
            return (math.inf, math.inf, -math.inf, -math.inf)
        return (min(x), min(y), max(x), max(y))

    def meets(self, other: Body) -> bool:
        """Whether the two overlap by more than the tolerance."""
        west, south, east, north = self.box
        other_west, other_south, other_east, other_north = other.box
        if west >= other_east or other_west >= east or south >= other_north or other_south >= north:
            return False
        return bool(overlapping(*self.flat, *other.flat))

    def depth(self, other: Body) -> float:
        """How deep they sink into each other, in metres."""
        return depth(self.pieces, other.pieces)

    def distance(self, other: Body) -> float:
        """The straight-line gap in metres; 0 when they touch or overlap, infinity when one is empty."""
        return gap(self.flat, other.flat)


@lru_cache(maxsize=1024)
def wall_body(wall: Wall) -> Body:
    """A wall as a shape, its whole length."""
    return Body(wall.name, (np.array([wall.start, wall.end], dtype=np.float64),))


@dataclass(frozen=True, eq=False)
class Claim:
    """Floor that a thing claims beside it: a strip and its shape.

    ``rooted`` reaches a little under the thing as well, and over all that one reaches over to a hanging one:
    a wall right at the face cuts the strip off even where open ground lies behind the wall.
    """

    strip: Strip
    body: Body
    rooted: Body


@dataclass(frozen=True, eq=False)
class Placed:
    """A station or vehicle at a placement, its shapes computed when first asked for."""

    thing: Thing
    placement: Placement

    @property
    def name(self) -> str:
        return self.thing.name

    @cached_property
    def body(self) -> Body:
        return Body(self.name, shapes.pieces(self.thing, self.placement))

    @cached_property
    def strips(self) -> tuple[Claim, ...]:
        """Standing strips of a station; the working space round a vehicle."""
        if isinstance(self.thing, Vehicle):
            return claims(shapes.around(self.thing, self.placement), self.placement.facing)
        return claims(shapes.strips(self.thing, self.placement), self.placement.facing)

    @cached_property
    def reaches(self) -> tuple[Claim, ...]:
        """What one reaches over to work at a hanging station."""
        if not isinstance(self.thing, Station) or not reach_over(self.thing):
            return ()
        return claims(shapes.reach_strips(self.thing, self.placement), self.placement.facing)

    @cached_property
    def service(self) -> tuple[Claim, ...]:
        if not isinstance(self.thing, Station):
            return ()
        return claims(shapes.service_strips(self.thing, self.placement), self.placement.facing)

    @cached_property
    def stock(self) -> tuple[Claim, ...]:
        if not isinstance(self.thing, Station):
            return ()
        return claims(shapes.stock_strips(self.thing, self.placement), self.placement.facing)

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """The box around its footprint and all that it claims: least x, least y, greatest x, greatest y."""
        beside = (*self.strips, *self.reaches, *self.service, *self.stock)
        corners = np.concatenate([*self.body.pieces, *(claim.strip.polygon for claim in beside)])
        (x0, y0), (x1, y1) = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
        return x0, y0, x1, y1

    def may_touch(self, other: Placed) -> bool:
        """Whether its footprint or claims could meet those of another: their boxes do."""
        a, b = self.box, other.box
        return a[0] <= b[2] and b[0] <= a[2] and a[1] <= b[3] and b[1] <= a[3]


ROOT = 0.01
"""Metres that a claim is taken to reach under the thing it belongs to, where walls are concerned."""


def claims(strips: tuple[Strip, ...], facing: float) -> tuple[Claim, ...]:
    """Strips of a thing that looks along ``facing`` as claims."""
    return tuple(_claim(strip, np.array(shapes.outward(strip.side, facing))) for strip in strips)


def _claim(strip: Strip, out: FloatArray) -> Claim:
    name = f"the {strip.side} of {strip.owner}"
    along = strip.polygon @ out
    at_face = along < along.min() + strip.depth / 2
    rooted = strip.polygon - np.outer(at_face * (ROOT + strip.begin), out)
    return Claim(strip, Body(name, (strip.polygon,)), Body(name, (rooted,)))


@dataclass(frozen=True, slots=True)
class Clash:
    """What must come apart: ``moving`` belongs to the thing ``mover``, ``standing`` stays."""

    mover: str
    moving: Pieces
    standing: Pieces


@dataclass(frozen=True, slots=True)
class Fault:
    """One way in which a requirement is not met.

    ``subject`` has the requirement, ``other`` is what is in the way, in words.  ``required`` and
    ``actual`` are metres: of clear floor, of distance, or of overlap (required 0).  ``clashes`` are what
    a move could bring apart, ``also`` those of the subject's other faults.
    """

    subject: str
    other: str
    required: float
    actual: float
    clashes: tuple[Clash, ...] = ()
    side: str = ""
    note: str = ""
    also: tuple[tuple[Clash, ...], ...] = ()


@dataclass(frozen=True, eq=False)
class Ground:
    """The building of a scenario, ready to be asked; make one for a scenario and keep it."""

    scenario: Scenario
    kept: dict[Any, Any] = field(default_factory=dict, repr=False)
    """What the families of checks work out of the building once and keep here."""
    screens: tuple[Placed, ...] | None = None
    """The stations that are shields, where they stand in a layout; None where only two things are known: then
    a screen may stand wherever it is needed."""

    @property
    def room(self) -> Room:
        return self.scenario.room

    def under(self, rule: Rule) -> Rule:
        """``rule`` as the file sets it."""
        given, found = self._under.get(rule.id, (None, rule))
        if given is not rule:
            found = rule.under(self.scenario.checks)
            self._under[rule.id] = rule, found
        return found

    @cached_property
    def _under(self) -> dict[str, tuple[Rule, Rule]]:
        """Rules asked for, and as the file sets them: spots ask for each a hundred thousand times."""
        return {}

    @cached_property
    def fixtures(self) -> tuple[Body, ...]:
        """Those that take floor."""
        return tuple(Body(f.name, convex_pieces(f.outline)) for f in self.room.fixtures if f.takes_floor)

    @cached_property
    def swings(self) -> tuple[Body, ...]:
        """The floor that each swinging door sweeps, by the door's name."""
        found = ((door.name, shapes.swing(door)) for door in self.room.doors)
        return tuple(Body(name, convex_pieces(ring)) for name, ring in found if ring is not None)

    @cached_property
    def clear(self) -> tuple[Body, ...]:
        """Floor to keep clear, electrical panels left out."""
        areas = (k for k in self.room.keep_clear if k.kind != "electrical panel")
        return tuple(Body(k.name, convex_pieces(k.outline)) for k in areas)

    @cached_property
    def segments(self) -> tuple[Body, ...]:
        """Walls and yard edges, less the openings between room and yards."""
        return tuple(Body(wall_words(w.name), w.pieces) for w in walls.wall_segments(self.room))

    @cached_property
    def floor(self) -> Body:
        """The room's floor, yards left out."""
        return Body("the room", convex_pieces(self.room.outline))

    @cached_property
    def around_room(self) -> Body:
        """All that is not room."""
        return Body("the ground outside the room", walls.solid(self.room, True))

    @cached_property
    def around_all(self) -> Body:
        """All that is neither room nor yard."""
        return Body("the ground outside", walls.solid(self.room, False))

    def in_claim(self, claim: Claim) -> Iterator[Body]:
        """Walls, ground outside and fixtures that a claim reaches into."""
        yield from (wall for wall in self.segments if claim.rooted.meets(wall))
        yield from (body for body in (self.around_all, *self.fixtures) if claim.body.meets(body))

    def swings_against(self, thing: Thing) -> tuple[Body, ...]:
        """The swings that a thing would stand in, or hang too low over."""
        return tuple(body for body in self.swings if not above_door(thing, self.room.door(body.name)))

    def building(self) -> Iterator[Body]:
        """What floor kept clear may not reach into: walls, the ground outside, fixtures."""
        yield from self.segments
        yield self.around_all
        yield from self.fixtures

    @cached_property
    def hard(self) -> Body:
        """All of ``building`` as one shape."""
        return Body("the building", tuple(piece for body in self.building() for piece in body.pieces))

    @cached_property
    def visited(self) -> frozenset[str]:
        """Names of the vehicles that some job visits."""
        names = {v.name for v in self.scenario.vehicles}
        return frozenset(m for job in self.scenario.jobs for m in members(job) if m in names)

    def ever_in(self, vehicle: Vehicle) -> bool:
        """Whether a vehicle is in at any time: what is asked of one that is in is asked of no other."""
        return vehicle.inside > 0 or vehicle.name in self.visited

    def can_be_in(self, job: Job, vehicle: Vehicle) -> bool:
        """Whether a vehicle is in during some of a job's time."""
        return any(self._may_be_in(job, vehicle, season) for season, _ in self.scenario.seasons_of(job))

    def _may_be_in(self, job: Job, vehicle: Vehicle, season: str) -> bool:
        if vehicle.name in members(job):
            return True
        return vehicle.inside_in(season) > 0 and vehicle.name not in job.outside

    def together(self, a: Vehicle, b: Vehicle) -> bool:
        """Whether two vehicles are ever in at once."""
        names = [season.name for season in self.scenario.seasons] or [""]
        if any(a.inside_in(name) > 0 and b.inside_in(name) > 0 for name in names):
            return True
        return any(
            self._may_be_in(job, a, name) and self._may_be_in(job, b, name)
            for job in self.scenario.jobs
            for name, _ in self.scenario.seasons_of(job)
        )

    def never_meet(self, a: Thing, b: Thing) -> bool:
        """Whether two things are never on the floor at once: of two vehicles, or one that is parked else."""
        for one, other in ((a, b), (b, a)):
            if isinstance(one, Vehicle) and isinstance(other, Vehicle):
                return not self.together(one, other)
            if isinstance(one, Station) and one.parked is not None:
                if isinstance(other, Vehicle):
                    return not self.used_beside(one, other)
                if other.parked is not None:
                    names = {one.name, other.name}
                    return not any(names <= members(job) for job in self.scenario.jobs)
        return False

    def used_beside(self, station: Station, vehicle: Vehicle) -> bool:
        """Whether a station is used while a vehicle is in; one that no job names may always be."""
        jobs = [job for job in self.scenario.jobs if station.name in members(job)]
        if not jobs:
            return self.ever_in(vehicle)
        return any(self.can_be_in(job, vehicle) for job in jobs)


def is_shield(thing: Thing) -> bool:
    """Whether a thing is a screen that does not burn, which may be moved."""
    return isinstance(thing, Station) and thing.shield


def members(job: Job) -> frozenset[str]:
    """Names of all that a job may visit."""
    return frozenset(m for visit in job.route for m in visit.members)


def overlap_fault(subject: str, placed: Placed, body: Body, claimed: Body | None = None) -> Fault:
    """``placed`` stands in ``body``; ``claimed`` is what of it does, by default its footprint."""
    mine = placed.body if claimed is None else claimed
    clash = Clash(placed.name, mine.pieces, body.pieces)
    other = placed.name if subject != placed.name else body.name
    return Fault(subject, other, 0.0, mine.depth(body), (clash,))
