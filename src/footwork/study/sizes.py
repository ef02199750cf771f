"""Which room: the best layout for each of many sizes of it, and where more floor stops paying."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product
from typing import Any

from footwork.arrange.core.results import Bounded
from footwork.floor import shapes
from footwork.model.errors import FootworkError, UsageError
from footwork.model.scenario import TOLERANCE, Layout, Placement, Scenario, Station, Vehicle
from footwork.model.showing import Shown
from footwork.model.units import format_length
from footwork.resizing import Size, resized, shifted_layout
from footwork.scoring import cost_if_sound, find_layout, placements_dict, score
from footwork.study.case import Case
from footwork.study.cases import Engine, run_cases
from footwork.study.effort import Effort, layout_of

AT_WALL = 0.10
"""Metres.  What is no farther than this from a wall goes with it when the wall does."""
MOST_SIZES = 400
"""Sizes of one study: at ten seconds each, an hour on one core."""
BETTER = 1e-6
"""Relative difference by which a smaller room's layout has to be better to be taken over."""


@dataclass(frozen=True)
class Sized(Bounded):
    """The room at one ``size`` (east to west, south to north, metres) and the best layout found in it.

    ``cost`` and ``bound`` are metres a year, infinite and 0 where there is no layout: ``why`` says why not.
    ``from_size`` is the smaller room whose layout this one started from, where that was better than its own.
    ``within`` is the least cost of any room of the study that is no larger either way.
    """

    size: Size
    cost: float = math.inf
    bound: float = 0.0
    metres: float = math.inf
    hours: float = math.inf
    layout: Layout | None = None
    from_size: Size | None = None
    within: float = math.inf
    why: str = ""

    @property
    def area(self) -> float:
        """Square metres."""
        return self.size[0] * self.size[1]

    def to_dict(self) -> dict[str, Any]:
        there = self.layout is not None
        return {
            "size": list(self.size),
            "area": self.area,
            "cost": self.cost if there else None,
            "bound": self.bound if there else None,
            "gap": self.gap if there else None,
            "metres_per_year": self.metres if there else None,
            "hours_per_year": self.hours if there else None,
            "within": self.within if math.isfinite(self.within) else None,
            "from_size": None if self.from_size is None else list(self.from_size),
            "why": self.why,
            "placements": None if self.layout is None else placements_dict(self.layout.placements),
        }


@dataclass(frozen=True)
class Sizes(Shown):
    """Rooms of all sizes asked for, by area.  ``left`` counts those that were not reckoned for Ctrl-C."""

    scenario: Scenario
    base: str
    rooms: tuple[Sized, ...]
    left: int = 0

    @property
    def now(self) -> Size | None:
        """The size that the file has."""
        return self.scenario.room.size

    @cached_property
    def frontier(self) -> tuple[Sized, ...]:
        """The rooms that cost less than every other with no more floor, by area."""
        found: list[Sized] = []
        for room in sorted(self.rooms, key=lambda room: (room.area, room.cost)):
            if room.layout is not None and (not found or room.cost < found[-1].cost * (1 - BETTER)):
                found.append(room)
        return tuple(found)

    @cached_property
    def knee(self) -> Sized | None:
        """Where more floor stops paying: of the frontier, the room that lies farthest under the straight line
        from its least to its largest, both axes taken from 0 to 1.  None for fewer than three."""
        rooms = self.frontier
        if len(rooms) < 3:
            return None
        first, last = rooms[0], rooms[-1]

        def under(room: Sized) -> float:
            along = (room.area - first.area) / (last.area - first.area)
            return (first.cost - room.cost) / (first.cost - last.cost) - along

        best = max(rooms, key=under)
        return best if under(best) > BETTER else None

    def room(self, size: Size) -> Sized:
        """The room of a size."""
        return next(room for room in self.rooms if math.dist(room.size, size) < TOLERANCE)

    def to_dict(self) -> dict[str, Any]:
        """The JSON of the command ``sizes``; metres."""
        return {
            "study": "sizes",
            "scenario": self.scenario.name,
            "base": self.base,
            "now": None if self.now is None else list(self.now),
            "knee": None if self.knee is None else list(self.knee.size),
            "left": self.left,
            "rooms": [room.to_dict() for room in self.rooms],
        }


def sizes(
    scenario: Scenario,
    wanted: Iterable[Size],
    base: Layout | str | None = None,
    *,
    effort: Effort | None = None,
    engine: Engine | None = None,
) -> Sizes:
    """The best layout for each size of a room that is given by its size.

    wanted   sizes in metres, east to west by south to north; see ``grid``
    base     the layout each search starts from: a layout, a name, or None for the file's first
    effort   how long each size is searched; ``engine`` on how many cores, and where finished ones are kept

    Doors and windows keep their distance from the west or south end of their wall and go with it; yards go
    with the wall they lie against, fixtures stay (``resizing.py``).  Each best layout is also tried in the
    next larger rooms, as it stands and with what stands at the east and north walls moved along with them;
    where it is better there than what was found, the larger room is searched again from it.  So no room is
    dearer than the next smaller one's layout in it.  It may still be dearer than the smaller room, where its
    doors lie farther apart, or the walls that stations need behind them: ``within``, the least cost of a room
    up to that size, never rises.

    Sizes that a door or a station does not fit into are in the result with the reason.  Raises UsageError
    for a room given by its outline, no size at all, too many, or one that is no size.
    """
    todo = _checked(scenario, wanted)
    effort, engine = effort or Effort(), (engine or Engine()).begun()
    rooms = _Rooms(scenario, find_layout(scenario, base))
    cases = [Case(rooms.name(size), best_at, (scenario, rooms.base, size, effort)) for size in todo]
    for size, gave in zip(todo, run_cases(cases, engine), strict=True):
        if gave is not None:
            rooms.found[size] = _sized(size, gave)
    taken = [] if engine.over.is_set() else rooms.inherit()
    cases = [
        Case(f"{rooms.name(size)} again", best_from, (rooms.at(size), rooms.found[size].layout, effort))
        for size in taken
    ]
    for size, gave in zip(taken, run_cases(cases, engine, at_hand=True) if cases else (), strict=True):
        better = _sized(size, gave) if gave is not None else rooms.found[size]
        if better.cost <= rooms.found[size].cost:
            rooms.found[size] = replace(better, from_size=rooms.found[size].from_size)
    rooms.inherit()  # what these searches found may be better in larger rooms too
    by_area = sorted(rooms.found.values(), key=lambda room: (room.area, room.size))
    return Sizes(scenario, rooms.base.name, tuple(_within(by_area)), len(todo) - len(by_area))


def grid(widths: Sequence[float], depths: Sequence[float]) -> list[Size]:
    """Every width with every depth, metres."""
    return list(product(widths, depths))


def best_at(scenario: Scenario, base: Layout, size: Size, effort: Effort) -> dict[str, Any]:
    """A case: the best layout of the room at ``size``, or why there is none."""
    try:
        changed, start = resized(scenario, base, size)
    except UsageError as fault:
        return {"why": fault.lines[0].partition(": ")[2] or fault.lines[0]}
    return effort.found(changed, start)


def best_from(changed: Scenario, layout: Layout, effort: Effort) -> dict[str, Any]:
    """A case: the best layout of a room that starts from a layout of it."""
    return effort.found(changed, layout)


def _checked(scenario: Scenario, wanted: Iterable[Size]) -> list[Size]:
    if scenario.room.size is None:
        raise UsageError("this room is given by its outline; only a room given by size has other sizes")
    todo = list(dict.fromkeys((float(width), float(depth)) for width, depth in wanted))
    if not todo:
        raise UsageError("no size to look at; give at least one")
    if len(todo) > MOST_SIZES:
        raise UsageError(f"{len(todo)} sizes are more than the {MOST_SIZES} of one study; take larger steps")
    for size in todo:
        if not all(math.isfinite(side) and side > 0 for side in size):
            raise UsageError(f"{size[0]:g} x {size[1]:g} is no size of a room; both sides must be above 0")
    return todo


def _sized(size: Size, gave: dict[str, Any]) -> Sized:
    if "why" in gave:
        return Sized(size, why=gave["why"])
    layout = layout_of(gave["placements"], _label(size))
    return Sized(size, gave["cost"], gave["bound"], gave["metres"], gave["hours"], layout)


def _label(size: Size) -> str:
    return f"best at {size[0]:g} x {size[1]:g} m"


class _Rooms:
    """The rooms of a study while it goes on: ``found`` is the best of each size so far."""

    def __init__(self, scenario: Scenario, base: Layout) -> None:
        self.scenario, self.base = scenario, base
        self.found: dict[Size, Sized] = {}
        self._at: dict[Size, Scenario] = {}

    def name(self, size: Size) -> str:
        return " x ".join(format_length(side, self.scenario.units) for side in size)

    def at(self, size: Size) -> Scenario:
        """The scenario with the room at a size into which everything fits."""
        if size not in self._at:
            self._at[size] = resized(self.scenario, self.base, size)[0]
        return self._at[size]

    def inherit(self) -> list[Size]:
        """Give each room the layout of the next smaller ones where that is better there than its own.

        Smaller rooms come first, so that a layout goes through many.  Returns the sizes that were given one.
        """
        taken = []
        for size in sorted(self.found, key=lambda size: (size[0] * size[1], size)):
            given = [
                (cost, layout, smaller)
                for smaller in self._next_smaller(size)
                for layout in self._carried(smaller, size)
                if (cost := self._cost(size, layout)) < self.found[size].cost * (1 - BETTER)
            ]
            if given:
                _, layout, smaller = min(given, key=lambda each: each[0])
                self.found[size] = self._with(size, layout, smaller)
                taken.append(size)
        return taken

    def _next_smaller(self, size: Size) -> list[Size]:
        """Sizes with a layout that are no larger either way, but for those smaller than another of them."""
        found = [s for s, room in self.found.items() if s != size and _inside(s, size) and room.layout]
        return [s for s in found if not any(s != other and _inside(s, other) for other in found)]

    def _cost(self, size: Size, layout: Layout) -> float:
        try:
            return cost_if_sound(self.at(size), layout)
        except FootworkError:
            return math.inf

    def _with(self, size: Size, layout: Layout, smaller: Size) -> Sized:
        """A room with a layout that a smaller one gave."""
        figures = score(self.at(size), layout)
        return replace(
            self.found[size],
            cost=figures.cost,
            bound=min(self.found[size].bound, figures.cost),
            metres=figures.metres_per_year,
            hours=figures.hours_per_year,
            layout=Layout(_label(size), layout.placements),
            from_size=smaller,
            why="",
        )

    def _carried(self, smaller: Size, size: Size) -> Iterable[Layout]:
        """The layout of a smaller room in a larger one: along each axis all as it stands, or what stands at
        the far wall moved along with it, or all moved along.  What is fixed is where the file has it."""
        layout = self.found[smaller].layout
        if layout is None or not self._fits(size):
            return
        plain = shifted_layout(layout, smaller, size)
        fixed = {s.name: s.fixed for s in self.at(size).stations if s.fixed is not None}
        far = {thing.name: _reach(thing, layout.placements[thing.name]) for thing in self.scenario.things}
        by = (size[0] - smaller[0], size[1] - smaller[1])
        seen: list[dict[str, Placement]] = []
        for follow in product((-math.inf, AT_WALL, math.inf), repeat=2):
            places = {}
            for name, place in plain.placements.items():
                # beyond a wall it went with that already
                still = place == layout.placements[name]
                dx, dy = (by[k] if still and smaller[k] - far[name][k] <= follow[k] else 0.0 for k in (0, 1))
                places[name] = fixed.get(name) or replace(place, x=place.x + dx, y=place.y + dy)
            if places not in seen:
                seen.append(places)
                yield Layout(layout.name, places)

    def _fits(self, size: Size) -> bool:
        try:
            self.at(size)
        except FootworkError:
            return False
        return True


def _inside(size: Size, other: Size) -> bool:
    return all(a <= b + TOLERANCE for a, b in zip(size, other, strict=True))


def _reach(thing: Station | Vehicle, place: Placement) -> tuple[float, float]:
    """How far east and how far north a footprint reaches."""
    x, y = shapes.footprint(thing, place).max(axis=0).tolist()
    return x, y


def _within(rooms: Sequence[Sized]) -> Iterable[Sized]:
    for room in rooms:
        yield replace(room, within=min(other.cost for other in rooms if _inside(other.size, room.size)))
