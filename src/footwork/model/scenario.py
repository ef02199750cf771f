"""The objects of a scenario: room, walker, stations, vehicles, jobs, layouts.

All are frozen.  Lengths are metres, bearings are degrees clockwise from north, x runs east and
y north; the reader has already turned the file's units into these.  ``at`` is the centre of a
footprint.  A station's own frame has its front at the bottom: it is the station as drawn when it
faces south, u to the right (the person at the front looks at it and has u on the right hand),
v from front to back.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal

from footwork.model.showing import Shown

Point = tuple[float, float]
Ring = tuple[Point, ...]
Side = Literal["front", "back", "left", "right"]
SIDES: tuple[Side, ...] = ("front", "back", "left", "right")
Placing = Literal["wall", "island", "any"]
Severity = Literal["must", "should"]
Work = Literal["rough", "ordinary", "fine"]
FixtureKind = Literal["extinguisher", "heater", "stove", "panel", "socket", "tap"]

TOLERANCE = 1e-4
"""Metres.  The one tolerance of the program: things may sink this far into each other and still
count as touching, a gap this much narrower than the walker still lets it through."""


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a station or vehicle stands: the centre of its footprint and where its front looks."""

    x: float
    y: float
    facing: float

    @property
    def at(self) -> Point:
        return (self.x, self.y)


@dataclass(frozen=True, slots=True)
class Walker:
    """The person: a disc of diameter ``width``; ``speed`` in m/s, ``step`` in metres.

    ``setting_off`` is how many metres each leg longer than a step counts more than it measures.
    """

    profile: Literal["standing", "wheelchair"] = "standing"
    width: float = 0.60
    speed: float = 1.2
    step: float = 0.75
    setting_off: float = 0.0

    @property
    def radius(self) -> float:
        return self.width / 2


@dataclass(frozen=True, slots=True)
class Wall:
    """One straight wall.  ``start`` is the end that ``from`` counts from; ``inward`` the unit
    normal that points into the room."""

    name: str
    start: Point
    end: Point
    inward: Point


@dataclass(frozen=True, slots=True)
class Door:
    """An opening from ``start`` to ``end`` (in the wall's direction).  ``inward`` is the wall's
    inward unit normal; ``yard`` names the yard it opens to, if any.

    ``height`` is the clear height of the opening; ``leaf`` how far its open leaf reaches into the room
    overhead, at that height (0: none does).  ``used`` is False for one that nobody opens; an ``exit`` is a
    way out that must stay open.
    """

    name: str
    wall: str
    start: Point
    end: Point
    inward: Point
    vehicle: bool = False
    swing: Literal["in", "out", "none"] = "none"
    hinge: Literal["start", "end"] = "start"
    yard: str | None = None
    height: float | None = None
    leaf: float = 0.0
    used: bool = True
    exit: bool = False

    @property
    def width(self) -> float:
        return math.dist(self.start, self.end)

    @property
    def middle(self) -> Point:
        return ((self.start[0] + self.end[0]) / 2, (self.start[1] + self.end[1]) / 2)


@dataclass(frozen=True, slots=True)
class Window:
    """A window in a wall: an interval of the wall, as for a door; ``sill`` is the height it begins at."""

    name: str
    wall: str
    start: Point
    end: Point
    inward: Point
    sill: float | None = None


@dataclass(frozen=True, slots=True)
class Fixture:
    """A part of the building that cannot move; ``outline`` is its footprint in the room's frame.

    ``ignition_height`` is the height of what may light a vapour: a burner, a pilot light, a motor.  A
    ``shield`` is a screen or wall that does not burn.  ``kind`` says what is asked of the floor round it.
    """

    name: str
    at: Point
    size: tuple[float, float]
    facing: float
    outline: Ring
    ignition_height: float | None = None
    shield: bool = False
    kind: FixtureKind | None = None

    @property
    def takes_floor(self) -> bool:
        """Whether it is more than a point on a wall."""
        return max(self.size) > TOLERANCE


@dataclass(frozen=True, slots=True)
class KeepClear:
    """Floor that must stay free of footprints."""

    name: str
    outline: Ring
    at: Point
    size: tuple[float, float]
    facing: float
    kind: Literal["electrical panel", "door", "other"] = "other"


@dataclass(frozen=True, slots=True)
class Yard:
    """Usable ground outside; walkable through the doors that touch its outline."""

    name: str
    outline: Ring


@dataclass(frozen=True, slots=True)
class Room:
    """The building.  ``outline`` runs counter-clockwise; ``walls`` keep the names of the file
    (south, east, north, west, or 1, 2, 3 ... along the outline)."""

    outline: Ring
    walls: tuple[Wall, ...]
    doors: tuple[Door, ...] = ()
    windows: tuple[Window, ...] = ()
    fixtures: tuple[Fixture, ...] = ()
    keep_clear: tuple[KeepClear, ...] = ()
    yards: tuple[Yard, ...] = ()
    size: tuple[float, float] | None = None

    def door(self, name: str) -> Door:
        return next(d for d in self.doors if d.name == name)


@dataclass(frozen=True, slots=True)
class Stock:
    """Room for long material: how far it reaches out from each side, and how wide it is.

    ``width`` None means the length of the side it leaves from.
    """

    front: float = 0.0
    back: float = 0.0
    left: float = 0.0
    right: float = 0.0
    width: float | None = None

    def length(self, side: Side) -> float:
        return float(getattr(self, side))


@dataclass(frozen=True, slots=True)
class Station:
    """A thing work is done at or fetched from.

    ``outline`` is the footprint in the station's own frame about its centre, counter-clockwise;
    ``size`` is (along the front, front to back), the box around the outline.  ``group`` is the
    name used in the file: it differs from ``name`` only where ``count`` is above one.
    ``ignition_height`` is the height of what may light a vapour, ``holds`` what gas it stores, ``work`` how
    fine the work at it is.  ``from_floor`` is the underside of a thing that hangs, ``reach`` how far one
    reaches over what stands below it.  A ``shield`` is a screen that does not burn.  ``needs`` are what a
    lead or hose of ``lead`` metres brings.  ``parked`` is where it stands while no job uses it.  ``use`` says
    how a group is shared: the nearest, all ``evenly``, or so many as people work there at once.
    ``given`` are the keys that the file itself writes for it.
    """

    name: str
    group: str
    size: tuple[float, float]
    outline: Ring
    placing: Placing = "any"
    stand: tuple[Side, ...] = ("front",)
    strip: float = 0.75
    along: bool = False
    service: tuple[tuple[Side, float], ...] = ()
    stock: Stock | None = None
    height: float | None = None
    work_height: float | None = None
    castors: bool = False
    weight: float | None = None
    gives: tuple[str, ...] = ()
    minds: tuple[str, ...] = ()
    outdoors: bool = False
    within: tuple[tuple[str, float], ...] = ()
    fixed: Placement | None = None
    like: str | None = None
    ignition_height: float | None = None
    holds: tuple[str, ...] = ()
    work: Work | None = None
    from_floor: float = 0.0
    reach: float = 0.0
    shield: bool = False
    needs: tuple[str, ...] = ()
    lead: float = 3.0
    parked: Placement | None = None
    use: Literal["nearest", "evenly"] | int = "nearest"
    given: frozenset[str] = field(default=frozenset(), compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Vehicle:
    """Comes and goes through ``door``.  ``facing`` of its placement is where the nose looks.

    ``around`` is the working space by side when a job visits it, and names the sides it is worked
    from; ``inside`` the share of the time it is in when no job says, over the whole year, and ``inside_by``
    that share in each season, where it is not the same in all.  ``driver`` is the side where one gets out.
    """

    name: str
    size: tuple[float, float]
    outline: Ring
    door: str
    around: tuple[tuple[Side, float], ...] = ()
    along: bool = False
    inside: float = 0.0
    height: float | None = None
    spots: tuple[Placement, ...] = ()
    driver: Literal["left", "right"] | None = None
    inside_by: tuple[tuple[str, float], ...] = ()

    def inside_in(self, season: str) -> float:
        """The share of the time it is in when no job says, while a season lasts."""
        return dict(self.inside_by).get(season, self.inside)

    @property
    def stand(self) -> tuple[Side, ...]:
        return tuple(side for side, _ in self.around) or SIDES


@dataclass(frozen=True, slots=True)
class Visit:
    """One stop of a route.

    ``name`` is the word in the route.  ``members`` are the things that can serve it: one station, every
    station of a group of alike ones, one vehicle, one door, or the place where a station is parked.
    """

    name: str
    kind: Literal["station", "vehicle", "door", "parked"]
    members: tuple[str, ...]
    side: Side | None = None


@dataclass(frozen=True, slots=True)
class Carry:
    """Legs from one named thing to another that need ``width`` metres of clear way, with ``weight`` kg.

    ``starts`` and ``ends`` are the things that the names mean: of a group of alike stations all.
    """

    start: str
    end: str
    width: float
    weight: float = 0.0
    starts: tuple[str, ...] = ()
    ends: tuple[str, ...] = ()

    def covers(self, start: Visit, end: Visit) -> bool:
        """Whether it is carried on a leg, whoever serves the two visits."""
        return _all_of(start, self.start, self.starts) and _all_of(end, self.end, self.ends)


def _all_of(visit: Visit, word: str, names: tuple[str, ...]) -> bool:
    return visit.name == word or set(visit.members) <= {word, *names}


@dataclass(frozen=True, slots=True)
class Job:
    """A recipe: the unrolled route and how often it is done, in so many ``weeks`` of the year or all.

    ``seasons`` are those that it is done in, none for all of them.  It is done as often as ``times`` says in
    the ``part`` of the year, 0 to 1, that these or its weeks are.
    """

    name: str
    times_per_year: float
    route: tuple[Visit, ...]
    times: str = ""
    minutes: tuple[tuple[str, float], ...] = ()
    carry: tuple[Carry, ...] = ()
    outside: tuple[str, ...] = ()
    times_range: tuple[float, float] | None = None
    weeks: float | None = None
    seasons: tuple[str, ...] = ()
    part: float = 1.0

    def width_between(self, start: Visit, end: Visit, walker_width: float) -> float:
        """Clear width, in metres, that the leg from ``start`` to ``end`` needs."""
        return max([walker_width, *(c.width for c in self.carry if c.covers(start, end))])


@dataclass(frozen=True, slots=True)
class Season:
    """A part of the year: ``share`` of it, above 0 to 1."""

    name: str
    share: float


@dataclass(frozen=True, slots=True)
class Spot:
    """A spot of the user's own, for the stations it takes."""

    name: str
    placement: Placement
    takes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Prefer:
    """A soft wish, in metres of walking a year for each metre of distance."""

    station: str
    weight: float
    near: str | None = None
    apart_from: str | None = None
    by: float = 0.0


@dataclass(frozen=True, slots=True)
class CheckSetting:
    """A check's figure, severity or price as the file changes it; ``accepted`` is why nothing is asked."""

    figure: float | None = None
    severity: Severity | None = None
    price: float | None = None
    accepted: str = ""


@dataclass(frozen=True)
class Layout:
    """A placement for every station and vehicle."""

    name: str
    placements: Mapping[str, Placement]

    def moved(self, changes: Mapping[str, Placement], name: str | None = None) -> Layout:
        """A new layout with ``changes`` applied."""
        return Layout(name or self.name, {**self.placements, **changes})


@dataclass(frozen=True)
class Scenario(Shown):
    """One scenario file, read and checked."""

    name: str
    room: Room
    stations: tuple[Station, ...]
    walker: Walker = Walker()
    vehicles: tuple[Vehicle, ...] = ()
    jobs: tuple[Job, ...] = ()
    spots: tuple[Spot, ...] = ()
    prefer: tuple[Prefer, ...] = ()
    checks: Mapping[str, CheckSetting] = field(default_factory=dict)
    layouts: tuple[Layout, ...] = ()
    units: str = "m"
    path: Path | None = None
    text: str = field(default="", compare=False, repr=False)
    """The file as it was read: what has changed since is told by comparing with it."""
    seasons: tuple[Season, ...] = ()
    """In the order of the year; their shares make it up."""

    def station(self, name: str) -> Station:
        return next(s for s in self.stations if s.name == name)

    def vehicle(self, name: str) -> Vehicle:
        return next(v for v in self.vehicles if v.name == name)

    def thing(self, name: str) -> Station | Vehicle:
        """The station or vehicle of that name."""
        return next(t for t in self.things if t.name == name)

    @property
    def things(self) -> tuple[Station | Vehicle, ...]:
        return (*self.stations, *self.vehicles)

    def seasons_of(self, job: Job) -> tuple[tuple[str, float], ...]:
        """The seasons in which a job is done, and the part of its times in each; ``""`` stands for the year
        of a scenario without seasons."""
        held = [season for season in self.seasons if not job.seasons or season.name in job.seasons]
        whole = math.fsum(season.share for season in held)
        return tuple((season.name, season.share / whole) for season in held) or (("", 1.0),)

    def group(self, name: str) -> tuple[str, ...]:
        """Names of the stations that a word of the file means: one, or all of a counted group."""
        return tuple(s.name for s in self.stations if name in (s.name, s.group))

    def with_(self, **changes: object) -> Scenario:
        """A copy with fields replaced (``dataclasses.replace``)."""
        return replace(self, **changes)  # type: ignore[arg-type]
