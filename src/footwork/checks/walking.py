"""What the walker needs: a way to every place, and a way out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import product

import numpy as np
from numpy.typing import NDArray

from footwork.checks.case import Case
from footwork.checks.holding import hold, way, where
from footwork.checks.mending import Move
from footwork.checks.result import CheckResult, Held, held_words
from footwork.checks.rule import COMMON_PRACTICE, YOUR_FILE, Rule, published
from footwork.checks.states import State, states_at, vehicles_in, while_in, without_vehicles
from footwork.checks.wheelchair import ROUTE
from footwork.floor.plan import Plan
from footwork.floor.routes import JobWalk, LegWalk
from footwork.floor.scene import Scene
from footwork.floor.shapes import StandingPlace, door_place, stepped_out
from footwork.floor.widest import Open, door_ends, gap_widths, inside_ring, widest_from
from footwork.model.scenario import TOLERANCE, Door, Point, Walker

# --- reachable: every place that a job uses, from every other it needs, in the state it needs.

REACHABLE = Rule(
    "reachable",
    "every place that a job uses can be walked to, at the walker's width or that of what is carried",
    "must",
    COMMON_PRACTICE,
)


def reachable(case: Case) -> Iterator[CheckResult]:
    for walk in case.layout.walks:
        blocked = _blocked(walk)
        if not blocked:
            yield case.result(walk.job.name, True, None, None, f"every leg of {walk.job.name} can be walked")
        elif case.layout.silent:
            yield case.result(walk.job.name, False, None, None, "")
        else:
            yield _held(case, walk.job.name, list(blocked))


def _blocked(walk: JobWalk) -> dict[tuple[tuple[str, ...], frozenset[str], LegWalk], None]:
    """The legs of a job without a way, each with the vehicles that are in and all that is there.

    One that has none with fewer vehicles in is blocked by something else, and told of that state alone.
    """
    found = [
        (state.vehicles_in, state.present, leg) for state in walk.states for leg in state.legs if leg.blocked
    ]
    ends = [(set(vehicles), (leg.start, leg.end, leg.width)) for vehicles, _, leg in found]
    return dict.fromkeys(
        each
        for each, (mine, leg) in zip(found, ends, strict=True)
        if not any(same == leg and fewer < mine for fewer, same in ends)
    )


def _held(
    case: Case, job: str, blocked: Sequence[tuple[tuple[str, ...], frozenset[str], LegWalk]]
) -> CheckResult:
    """What holds a job back: each pinch once, with the legs that it holds, each there and back once."""
    by: dict[tuple[float, str], dict[frozenset[StandingPlace], str]] = {}
    narrow: list[tuple[float, float]] = []
    told: dict[str, Move] = {}
    # What one thing bars comes first: where several bar a way together, their moves may be told by then.
    ways = [(way(case, present, x.start, x.end, x.width), vehicles, x) for vehicles, present, x in blocked]
    for each, vehicles, leg in sorted(ways, key=lambda found: found[0].bars):
        found = each.found
        narrow.append((found.width, leg.width))
        if len(found.moves) > 1 and all(told.get(move[0]) == move for move in found.moves):
            continue
        told |= {move[0]: move for move in found.moves}
        inside = f" {while_in(vehicles)}" if vehicles else ""
        what = f"from {where(leg.start)} to {where(leg.end)}{inside}"
        legs = by.setdefault((leg.width, found.words), {})
        legs.setdefault(frozenset((leg.start, leg.end)), what)
    held = tuple(
        Held(f"no way {case.say(width)} wide", what, words)
        for (width, words), legs in by.items()
        for what in legs.values()
    )
    wide, width = min(narrow)
    source = _width_source(case, width)
    return case.result(job, False, width, wide, held_words(job, held), source, held=held)


def _width_source(case: Case, width: float) -> str:
    """Where the width of a leg is from: a load's and a walker's of one's own are the file's."""
    usual = {"standing": Walker().width, "wheelchair": ROUTE}[case.ground.scenario.walker.profile]
    return case.rule.source if abs(width - usual) <= TOLERANCE else YOUR_FILE


# --- way-out: the widest disc that can leave each standing strip for a door.

WAY_OUT = Rule(
    "way-out",
    "the way from each station to a door is at least {figure} wide, all the way",
    "should",
    published("29 CFR 1910.36(g)(2), least width of exit access"),
    0.7112,
    price=3000.0,
)
WARN_BY = 0.010
"""Metres below the figure that are pointed out but do not fail."""


def way_out(case: Case) -> Iterator[CheckResult]:
    """With every vehicle in that may be while somebody is there: one may have to leave just then."""
    yield from _ways_to(case, [door for door in case.layout.plan.room.doors if door.used], "a door")


# --- exit-way: the way to an exit stays open.

EXIT_WAY = Rule(
    "exit-way",
    "the way from each station to an exit is at least {figure} wide, all the way",
    "must",
    published("29 CFR 1910.37(a)(3), unobstructed exit routes, and 1910.36(g)(2), their least width"),
    0.7112,
)


def exit_way(case: Case) -> Iterator[CheckResult]:
    """As for the way out, to the doors that the file calls exits."""
    doors = [door for door in case.layout.plan.room.doors if door.exit]
    yield from _ways_to(case, doors, " or ".join(f"the exit {door.name}" for door in doors))


def too_narrow(case: Case) -> Iterator[str]:
    """Names of stations without a way out, or to an exit, as wide as ``WAY_OUT`` or ``EXIT_WAY`` wants."""
    exits = case.rule.id == EXIT_WAY.id
    doors = [door for door in case.layout.plan.room.doors if (door.exit if exits else door.used)]
    if not doors:
        return
    needed = max(0.0, (case.rule.figure or 0.0) - WARN_BY - 2 * TOLERANCE)
    ways = _Ways(case.layout.plan, doors, needed)
    for placed, station in case.stations:
        states = states_at(case.ground, placed.name) if station.stand else ()
        if not all(ways.pass_at(placed.name, state, needed) for state in states):
            yield placed.name


def _ways_to(case: Case, doors: Sequence[Door], goal: str) -> Iterator[CheckResult]:
    """How wide the widest way is from each station to one of some doors, in the state that leaves least."""
    if not doors:
        return
    say, needed = case.say, case.rule.figure or 0.0
    ways = _ways_of(case, doors, max(needed, max(door.width for door in doors)))
    told: list[float] = []
    for placed, station in case.stations:
        if not station.stand:
            continue
        states = states_at(case.ground, placed.name)
        if case.layout.silent and all(ways.pass_at(placed.name, s, needed) for s in states):
            yield case.result(placed.name, True, needed, needed, "")
            continue
        wide, state = min(((ways.wide(placed.name, s), s) for s in states), key=lambda found: found[0])
        # One pinch has one width, from whichever side it is come at.
        wide = next((other for other in told if abs(other - wide) <= 2 * TOLERANCE), wide)
        told.append(wide)
        ok = wide >= needed - WARN_BY
        figures = f"to {goal} is {say(wide)} wide"
        if wide < needed - TOLERANCE:
            figures += f"; {say(needed)} is the least for a way out, {case.lacks(needed, wide)} more"
        message = f"the way from {placed.name} {figures}"
        held: tuple[Held, ...] = ()
        if not ok and not case.layout.silent:
            by, inside = _pinch(case, doors, state, placed.name), _only_with(case, ways, placed.name, state)
            held = (Held(f"{inside}the way {figures}", "", by),) if by else ()
            message = ": ".join(filter(None, (inside + message, by)))
        yield case.result(placed.name, ok, needed, wide, message, held=held)


def _ways_of(case: Case, doors: Sequence[Door], limit: float) -> _Ways:
    """The ways to some doors; kept with the layout."""
    key, kept = ("ways to doors", tuple(door.name for door in doors), limit), case.layout.kept
    if key not in kept:
        kept[key] = _Ways(case.layout.plan, doors, limit)
    known: _Ways = kept[key]
    return known


@dataclass(frozen=True, eq=False)
class _Ways:
    """How wide the ways to some doors are, up to ``limit``, in any state."""

    plan: Plan
    doors: Sequence[Door]
    limit: float
    gaps: dict[State, NDArray[np.float64]] = field(default_factory=dict)
    open: dict[State, dict[float, Open]] = field(default_factory=dict)

    def pass_at(self, name: str, state: State, width: float) -> bool:
        """Whether the widest one from a station is so wide, which is told at a fraction of the work."""
        known = self.open.setdefault(state, {})
        if width not in known:
            scene = self.plan.scene(state)
            known[width] = Open(scene, self._ends(scene, width), width)
        walker = self.plan.scenario.walker.width
        places = [stepped_out(place, walker, width + 2 * TOLERANCE) for place in self.plan.places(name)]
        for strip in self.plan.strips(name):
            ring = strip.polygon
            open_way = any(inside_ring(ring, at) and known[width].reaches(at) for at in places)
            if not open_way and not known[width].left_from(ring):
                return False
        return True

    def wide(self, name: str, state: State) -> float:
        """Of the widest one from a station."""
        scene = self.plan.scene(state)
        if state not in self.gaps:
            self.gaps[state] = gap_widths(scene, self.limit)
        gaps, known = self.gaps[state], self.open.setdefault(state, {})
        ends = partial(self._ends, scene)
        strips = self.plan.strips(name)
        return min(widest_from(scene, strip.polygon, ends, self.limit, gaps, known) for strip in strips)

    def _ends(self, scene: Scene, width: float) -> tuple[Point, ...]:
        return tuple(end for door in self.doors for end in door_ends(scene, door, width))


def _only_with(case: Case, ways: _Ways, name: str, state: State) -> str:
    """``while van is in, ``, where the way would be wide enough with it out; else ""."""
    inside, out = vehicles_in(case.ground, state), without_vehicles(case.ground, state)
    least = (case.rule.figure or 0.0) - WARN_BY
    return f"{while_in(inside)}, " if inside and ways.wide(name, out) >= least else ""


def _pinch(case: Case, doors: Sequence[Door], present: frozenset[str], name: str) -> str:
    """What keeps a station's way out from being as wide as needed: the door with the widest way counts."""
    plan, needed = case.layout.plan, case.rule.figure or 0.0
    wide = [d for d in doors if d.width >= needed - TOLERANCE]
    if not wide:
        return "no door is so wide"
    ends = [door_place(door, plan.scenario.walker.width) for door in wide]
    worst: tuple[float, tuple[StandingPlace, StandingPlace]] | None = None
    for side in dict.fromkeys(place.side for place in plan.places(name)):
        ways = [
            (way(case, present, place, end, needed).wide, (place, end))
            for place, end in product(plan.places(name, side), ends)
        ]
        best = max(ways, key=lambda way: way[0])
        if best[0] < needed - TOLERANCE and (worst is None or best[0] < worst[0]):
            worst = best
    return hold(case, present, *worst[1], needed).words if worst is not None else ""
