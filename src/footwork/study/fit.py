"""Which machine: where a new one can go, what each place costs, and what stands in the way of all."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from footwork.applying import apply_move
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.spots.enumerate import SpotList, find_spots
from footwork.floor.plan import Plan
from footwork.model.errors import NoLayoutError, UsageError
from footwork.model.moved import has_moved
from footwork.model.names import hint
from footwork.model.outlines import bounds
from footwork.model.scenario import Job, Layout, Placement, Placing, Scenario, Spot, Visit
from footwork.model.showing import Shown
from footwork.model.units import parse_times
from footwork.moves import Add
from footwork.scoring import Score, cost_if_sound, find_layout, placements_dict, score
from footwork.study.case import Case
from footwork.study.cases import Engine, run_cases
from footwork.study.effort import Effort, layout_of
from footwork.study.together import Core, clashing_core, fewest_moved
from footwork.whatif import Change

PITCH = 0.25
"""Metres between the places tried, where nobody says."""
NEAR = 0.6
"""Metres: places nearer to a better one that face the same way are told along with it."""
AREA = 1.5
"""Metres: where others may move, one search is for places about this near to each other."""
MOST_AREAS = 24
SHOWN = 8
"""Places that are looked at in full, where nobody says."""


@dataclass(frozen=True, slots=True)
class Machine:
    """The new machine: its own ``size`` in metres (along the front, front to back), or ``like`` one of the
    catalogue.

    ``route`` is a job that visits it, done so many ``times``; without one it takes floor and adds no walking
    of its own.
    """

    name: str
    size: tuple[float, float] | None = None
    like: str | None = None
    placing: Placing | None = None
    route: tuple[str, ...] = ()
    times: str = "1 per week"


@dataclass(frozen=True)
class Place:
    """One way for the machine to be there.

    ``change`` tells what it costs in metres a year and which checks it turns; ``others`` are the things
    that move for it, ``near`` how many more places lie beside it and cost no less.
    """

    at: Placement
    layout: Layout
    change: Change
    others: tuple[str, ...] = ()
    near: int = 0
    bound: float | None = None

    @property
    def cost(self) -> float:
        """Metres a year more than now, with wishes and checks."""
        return self.change.cost

    def to_dict(self) -> dict[str, Any]:
        told = self.change.to_dict()
        return {
            "at": [self.at.x, self.at.y],
            "facing": self.at.facing,
            "cost": told["cost"],
            "metres_per_year": told["metres_per_year"],
            "turned": told["turned"],
            "moved": list(self.others),
            "near": self.near,
            "placements": placements_dict(self.layout.placements),
        }


@dataclass(frozen=True)
class Fit(Shown):
    """Where a machine fits: ``places`` best first, of ``count`` in all, ``tried`` of them looked at.

    ``scenario`` has the machine in it; ``moves`` is how many others may move.  Where it fits nowhere,
    ``core`` are things that cannot all be there together, ``instead`` is a layout that moves the fewest
    others, where there is one, and ``why`` says it in words.
    """

    scenario: Scenario
    machine: Machine
    before: Score
    moves: int
    tried: int
    count: int
    places: tuple[Place, ...]
    core: Core | None = None
    instead: Place | None = None
    why: str = ""

    def to_dict(self) -> dict[str, Any]:
        """The JSON of the command ``fit``; metres and metres a year."""
        return {
            "study": "fit",
            "scenario": self.scenario.name,
            "base": self.before.layout,
            "machine": self.machine.name,
            "moves": self.moves,
            "tried": self.tried,
            "count": self.count,
            "places": [place.to_dict() for place in self.places],
            "core": None if self.core is None else self.core.to_dict(),
            "instead": None if self.instead is None else self.instead.to_dict(),
            "why": self.why,
        }


def fit(
    scenario: Scenario,
    machine: Machine,
    base: Layout | str | None = None,
    *,
    moves: int = 0,
    show: int = SHOWN,
    effort: Effort | None = None,
    engine: Engine | None = None,
) -> Fit:
    """Where a new machine can go in a layout, what each place costs a year, and which checks it turns.

    base    the layout as it is now: a layout, a name, or None for the file's first
    moves   how many other things may move for it; 0: none
    show    places that are told in full, those beside a better one left out

    With no moves every place is tried, ``effort.pitch`` apart.  With some, the room is searched area by area
    for the best layout in which the machine stands there, each search a case for ``engine``.  Where it fits
    nowhere, it is said whether it would if enough moved, and if not, which things cannot all be there.

    Raises UsageError for a machine larger than the room, a name that is taken, and a base that fails a
    must-check itself where nothing may move.
    """
    effort, engine = effort or Effort(), (engine or Engine()).begun()
    start = find_layout(scenario, base)
    now = score(scenario, start)
    if not 0 <= moves <= len(scenario.things):
        raise UsageError(f"moves must be from 0 to {len(scenario.things)}, not {moves}")
    grown, start = _with_machine(scenario, start, machine)
    if not moves and not now.ok:
        raise UsageError(
            f"layout {start.name!r} fails a must-check by itself: mend it (`footwork score` says which), "
            "or let others move"
        )
    pitch = PITCH if effort.pitch is None else effort.pitch
    lists = find_spots(grown, pitch, effort.facings, start, [t.name for t in scenario.things], effort.strict)
    spots = next(of for of in lists if of.thing.name == machine.name)
    found, count = _alone(grown, start, now, lists, spots, effort.strict, show)
    if moves:
        more = _with_others(grown, start, now, spots, moves, effort, engine)
        found = _apart([*found, *more])
        count += len(more)
    done = Fit(grown, machine, now, moves, spots.tried, count, tuple(found[:show]))
    return done if found else _nowhere(done, start, spots, effort)


def machine_job(scenario: Scenario, machine: Machine) -> Job:
    """The job that visits the machine.  Raises UsageError for a stop or a frequency that cannot be read."""
    try:
        per_year = parse_times(machine.times)
    except ValueError as fault:
        raise UsageError(f"times: {fault}") from None
    route = tuple(_visit(scenario, word) for word in machine.route)
    if not any(machine.name in visit.members for visit in route) or len(route) < 2:
        raise UsageError(f"the route has to lead to {machine.name!r} and to somewhere else")
    taken = {job.name for job in scenario.jobs}
    name = next(n for n in (machine.name, *(f"{machine.name} {k}" for k in range(2, 1000))) if n not in taken)
    return Job(name, per_year, route, machine.times)


def _visit(scenario: Scenario, word: str) -> Visit:
    doors = [door.name for door in scenario.room.doors]
    if word.removeprefix("door:") in doors:
        return Visit(f"door:{word.removeprefix('door:')}", "door", (word.removeprefix("door:"),))
    if members := scenario.group(word):
        return Visit(word, "station", members)
    vehicles = [vehicle.name for vehicle in scenario.vehicles]
    if word in vehicles:
        return Visit(word, "vehicle", (word,))
    known = [*dict.fromkeys(s.group for s in scenario.stations), *vehicles, *doors]
    raise UsageError(f"the route has no place {word!r}; {hint(word, known, 'places')}")


def _with_machine(scenario: Scenario, base: Layout, machine: Machine) -> tuple[Scenario, Layout]:
    """The scenario with the machine in it, for now where it cannot stay."""
    x0, y0, _, _ = bounds(scenario.room.outline)
    outside = (x0 - 500.0, y0 - 500.0)
    add = Add(machine.name, outside, machine.size, machine.like, machine.placing, 180.0)
    made = apply_move(add, scenario, base)
    grown = made.scenario
    if machine.route:
        grown = grown.with_(jobs=(*grown.jobs, machine_job(grown, machine)))
    return grown.with_(layouts=()), made.layout


def _alone(
    scenario: Scenario,
    start: Layout,
    now: Score,
    lists: Sequence[SpotList],
    spots: SpotList,
    strict: bool,
    show: int,
) -> tuple[list[Place], int]:
    """Every place with all others where they are: the best few in full, and how many there are."""
    if not spots.placements:
        return [], 0
    name = spots.thing.name
    table = PairTable(scenario, lists, strict, Plan(scenario, start).building)
    clashes = table.clashing([of.thing.name for of in lists].index(name))
    costs = []
    for at, clash in zip(spots.placements, clashes, strict=True):
        cost = math.inf if clash.any() else cost_if_sound(scenario, start.moved({name: at}), strict)
        if math.isfinite(cost):
            costs.append((cost, at))
    costs.sort(key=lambda each: (each[0], each[1].x, each[1].y, each[1].facing))
    heads: list[tuple[Placement, int]] = []
    for _, at in costs:
        k = next((k for k, (head, _) in enumerate(heads) if math.dist(head.at, at.at) < NEAR), None)
        if k is None:
            heads.append((at, 0))
        else:
            heads[k] = (heads[k][0], heads[k][1] + 1)
    found = [_place(scenario, start, now, start.moved({name: at}), name, near) for at, near in heads[:show]]
    return found, len(costs)


def _apart(places: Sequence[Place]) -> list[Place]:
    """Best first, and of those in nearly one place the best."""
    kept: list[Place] = []
    for place in sorted(places, key=lambda place: (place.cost, len(place.others), place.at.x, place.at.y)):
        if all(math.dist(place.at.at, other.at.at) >= NEAR for other in kept):
            kept.append(place)
    return kept


def _place(
    scenario: Scenario,
    start: Layout,
    now: Score,
    layout: Layout,
    name: str,
    near: int = 0,
    bound: float | None = None,
) -> Place:
    others = tuple(
        thing.name
        for thing in scenario.things
        # what the file fixes has no place in its layouts
        if thing.name != name
        and thing.name in start.placements
        and has_moved(start.placements[thing.name], layout.placements[thing.name])
    )
    change = Change(f"add {name}", now, score(scenario, Layout(start.name, layout.placements)))
    return Place(layout.placements[name], layout, change, others, near, bound)


def _with_others(
    scenario: Scenario,
    start: Layout,
    now: Score,
    spots: SpotList,
    moves: int,
    effort: Effort,
    engine: Engine,
) -> list[Place]:
    """The best layout with the machine in each area of the room and at most ``moves`` others moved."""
    name = spots.thing.name
    areas = _areas(spots.placements)
    cases = [
        Case(f"{name} in part {k}", in_area, (scenario, start, name, at, moves, effort))
        for k, at in enumerate(areas, start=1)
    ]
    found = []
    for gave in run_cases(cases, engine) if cases else ():
        if gave is not None and "why" not in gave:
            layout = layout_of(gave["placements"], start.name)
            found.append(_place(scenario, start, now, layout, name, bound=gave["bound"]))
    return found


def _areas(placements: Sequence[Placement]) -> list[tuple[Placement, ...]]:
    """The places of each part of the room, about ``AREA`` across, more where there would be many parts."""
    across = AREA
    while True:
        parts: dict[tuple[int, int], list[Placement]] = {}
        for place in placements:
            parts.setdefault((math.floor(place.x / across), math.floor(place.y / across)), []).append(place)
        if len(parts) <= MOST_AREAS:
            return [tuple(parts[key]) for key in sorted(parts)]
        across *= 1.25


def in_area(
    scenario: Scenario,
    start: Layout,
    name: str,
    places: tuple[Placement, ...],
    moves: int,
    effort: Effort,
) -> dict[str, Any]:
    """A case: the best layout with a machine in one of some places and at most so many others moved."""
    spots = tuple(Spot(f"place {k}", place, (name,)) for k, place in enumerate(places))
    # the machine comes from where it cannot stay, so it is one of those that move
    return effort.found(scenario.with_(spots=(*scenario.spots, *spots)), start, moves=moves + 1)


def _nowhere(done: Fit, start: Layout, spots: SpotList, effort: Effort) -> Fit:
    """Why it fits nowhere: what cannot all be there together, or how many have to move for it."""
    name = done.machine.name
    if not spots.placements:
        return replace(done, why=f"{name} finds no place even in the empty room: {spots.why()}")
    try:
        core = clashing_core(done.scenario, start, effort.pitch, effort.strict)
    except NoLayoutError as fault:
        return replace(done, why=fault.lines[0])
    if core is not None:
        return replace(done, core=core, why=f"{_listed(core.things)} don't fit together")
    layout = fewest_moved(done.scenario, start, effort.pitch, effort.strict)
    if layout is not None:
        instead = _place(done.scenario, start, done.before, layout, name)
        return replace(done, instead=instead, why=f"it fits where {_listed(instead.others)} move")
    gave = effort.found(done.scenario, start)
    if "why" in gave:
        return replace(done, why=gave["why"])
    layout = layout_of(gave["placements"], start.name)
    instead = _place(done.scenario, start, done.before, layout, name, bound=gave["bound"])
    return replace(done, instead=instead, why=f"it fits where {_listed(instead.others)} move, perhaps fewer")


def _listed(names: Sequence[str]) -> str:
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))
