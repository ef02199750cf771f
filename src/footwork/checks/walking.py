"""What the walker needs: a way to every place, and a way out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

from footwork.checks.case import Case
from footwork.checks.holding import Hold, hold, where
from footwork.checks.result import CheckResult
from footwork.checks.rule import COMMON_PRACTICE, YOUR_FILE, Rule, published
from footwork.checks.wheelchair import ROUTE
from footwork.floor.scene import Scene
from footwork.floor.shapes import door_place
from footwork.floor.widest import gap_widths, widest_from
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
        blocked = [
            (state.vehicles_in, leg)
            for state in walk.states
            for leg in state.legs
            if leg.blocked
        ]
        if not blocked:
            yield case.result(walk.job.name, True, None, None, f"every leg of {walk.job.name} can be walked")
            continue
        vehicles, leg = blocked[0]
        inside = (
            f" while {' and '.join(vehicles)} {'is' if len(vehicles) == 1 else 'are'} in" if vehicles else ""
        )
        pairs = dict.fromkeys((x.start.owner, x.end.owner) for _, x in blocked[1:])
        pairs.pop((leg.start.owner, leg.end.owner), None)
        found = hold(case, frozenset(vehicles), leg.start, leg.end, leg.width)
        more = f" (nor {', '.join(f'from {a} to {b}' for a, b in pairs)})" if pairs else ""
        message = (
            f"{walk.job.name}: no way {case.say(leg.width)} wide from {where(leg.start)} to "
            f"{where(leg.end)}{inside}: {found.words}{more}"
        )
        source = _width_source(case, leg.width)
        yield case.result(walk.job.name, False, leg.width, found.width, message, source)


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


def all_in(case: Case) -> frozenset[str]:
    """Every vehicle that is ever in: the person may have to leave, or fetch help, just then."""
    ground = case.ground
    return frozenset(v.name for v in ground.scenario.vehicles if v.inside > 0 or v.name in ground.visited)


def way_out(case: Case) -> Iterator[CheckResult]:
    """With every vehicle in that is ever in."""
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


def _ways_to(case: Case, doors: Sequence[Door], goal: str) -> Iterator[CheckResult]:
    """How wide the widest way is from each station to one of some doors."""
    plan, say = case.layout.plan, case.say
    needed = case.rule.figure or 0.0
    if not doors:
        return
    limit = max(needed, max(door.width for door in doors))
    vehicles = all_in(case)
    scene = plan.scene(vehicles)

    def exits(width: float) -> list[Point]:
        return [door_place(door, width).at for door in doors if door.width >= width - TOLERANCE]

    gaps = gap_widths(scene, limit)
    for placed, station in case.stations:
        if not station.stand:
            continue
        wide = min(
            widest_from(scene, strip.polygon, exits, limit, gaps) for strip in plan.strips(placed.name)
        )
        ok = wide >= needed - WARN_BY
        message = f"the way from {placed.name} to {goal} is {say(wide)} wide"
        if wide < needed - TOLERANCE:
            message += f"; {say(needed)} is the least for a way out, {say(needed - wide)} more"
        if not ok:
            message += _pinch(case, scene, vehicles, placed.name, needed)
        yield case.result(placed.name, ok, needed, wide, message)


def _pinch(case: Case, scene: Scene, vehicles: frozenset[str], name: str, needed: float) -> str:
    """What keeps a station's way out from being as wide as needed: the door with the widest way counts."""
    plan = case.layout.plan
    doors = [d for d in plan.room.doors if d.width >= needed - TOLERANCE]
    if not doors:
        return ": no door is so wide"
    ends = [door_place(door, plan.scenario.walker.width) for door in doors]
    found: list[Hold] = []
    for side in dict.fromkeys(place.side for place in plan.places(name)):
        ways = [
            hold(case, vehicles, place, end, needed) for place, end in product(plan.places(name, side), ends)
        ]
        if all(way.words for way in ways):
            found.append(max(ways, key=lambda way: (way.width, way.mended)))
    worst = min(found, key=lambda way: way.width, default=None)
    return f": {worst.words}" if worst is not None else ""
