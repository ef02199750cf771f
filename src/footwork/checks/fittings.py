"""Fixtures of a known kind: what they ask of the floor round them, and what stations need of them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import NamedTuple

import numpy as np
import shapely

from footwork.checks.case import Case, either
from footwork.checks.fire import shut_off
from footwork.checks.ground import Body, Clash, Fault, Ground, Placed
from footwork.checks.hazards import FLAMMABLE
from footwork.checks.result import CheckResult
from footwork.checks.rule import COMMON_PRACTICE, Rule, published
from footwork.checks.states import State, vehicles_in, while_in, without_vehicles
from footwork.floor.headroom import overhead
from footwork.floor.overlap import distance, nearest
from footwork.floor.routes import LegWalk, Walks
from footwork.floor.shapes import FloatArray, Pieces, convex_pieces, front_axes
from footwork.model.outlines import nearest_on
from footwork.model.scenario import TOLERANCE, Fixture, Station

COMBUSTIBLE = "combustible"
ON_A_WALL = 0.3
"""Metres from a wall within which a fixture hangs or stands against it, and faces away from it."""

# --- extinguisher-clear: nothing over or before one.

EXTINGUISHER_CLEAR = Rule(
    "extinguisher-clear",
    "nothing stands or hangs before a fire extinguisher, {figure} deep and as wide as a person, and there is "
    "a way to one from each station",
    "must",
    published(
        "29 CFR 1910.157(c)(1), readily accessible (from a secondary text); the depth is common practice"
    ),
    0.90,
)


def of_kind(ground: Ground, kind: str) -> tuple[Fixture, ...]:
    """The fixtures of a kind."""
    return tuple(f for f in ground.room.fixtures if f.kind == kind)


def fronts(ground: Ground) -> tuple[Body, ...]:
    """The floor before each extinguisher; kept with the ground."""
    if "fronts" not in ground.kept:
        ground.kept["fronts"] = tuple(_front(ground, f) for f in of_kind(ground, "extinguisher"))
    known: tuple[Body, ...] = ground.kept["fronts"]
    return known


def _front(ground: Ground, fixture: Fixture) -> Body:
    """A rectangle out from the fixture's face: away from the wall that it is at, else where it faces."""
    deep = ground.under(EXTINGUISHER_CLEAR).figure or 0.0
    out = _outward(ground, fixture)
    along = np.array([-out[1], out[0]])
    corners = np.array(fixture.outline)
    face = float((corners @ out).max())
    wide = max(float(np.ptp(corners @ along)), ground.scenario.walker.width) / 2
    middle = float(np.array(fixture.at) @ along)
    spots = ((face, -wide), (face + deep, -wide), (face + deep, wide), (face, wide))
    ring: FloatArray = np.array([a * out + (middle + b) * along for a, b in spots])
    return Body(fixture.name, (ring,))


def _outward(ground: Ground, fixture: Fixture) -> FloatArray:
    near = [
        (math.dist(fixture.at, nearest_on(w.start, w.end, fixture.at)), w.inward) for w in ground.room.walls
    ]
    gap, inward = min(near)
    if gap <= ON_A_WALL:
        return np.array(inward)
    return -np.array(front_axes(fixture.facing)[1])


def extinguisher_clear_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    if not isinstance(placed.thing, Station) or overhead(placed.thing):
        return
    need = ground.under(EXTINGUISHER_CLEAR).figure or 0.0
    for front in fronts(ground):
        if placed.body.meets(front):
            clash = Clash(placed.name, placed.body.pieces, front.pieces)
            fixture = next(f for f in ground.room.fixtures if f.name == front.name)
            free = distance(placed.body.pieces, convex_pieces(fixture.outline))
            yield Fault(front.name, placed.name, need, min(need, free), (clash,))


def extinguisher_clear(case: Case) -> Iterator[CheckResult]:
    """What stands before one; then whom a vehicle that is in, or things together, keep from all of them."""
    say, need = case.say, case.rule.figure
    faults = case.gather(extinguisher_clear_alone)
    shut = {name: words for name, words in shut_off(case).items() if name not in faults}

    def bad(fault: Fault) -> str:
        return (
            f"{fault.other} is {say(fault.actual)} from {fault.subject}, in front of it; "
            f"{say(fault.required)} must stay free there: {case.mend(fault)}"
        )

    names = [front.name for front in fronts(case.ground) if front.name not in shut]
    yield from case.results(
        names, faults, bad, lambda s: f"nothing stands before {s}", lambda _: need, lambda _: need
    )
    for name, words in shut.items():
        yield case.result(name, False, need, None, words)


# --- heater-clear: what burns stays away from heaters and stoves.

HEATER_CLEAR = Rule(
    "heater-clear",
    "stores of flammables and combustible stock stand {figure} from a gas, oil or electric heater, and twice "
    "as far from a stove for solid fuel",
    "must",
    published("International Fire Code 603.5.3, 18 in and 36 in (from a secondary text)"),
    0.457,
)
KINDS: Mapping[str, float] = {"heater": 1.0, "stove": 2.0}
"""How many times the figure each kind asks for: 18 in, and 36 in for solid fuel."""


def burns(placed: Placed) -> bool:
    """Whether a thing stores what catches fire."""
    return isinstance(placed.thing, Station) and bool({FLAMMABLE, COMBUSTIBLE} & set(placed.thing.minds))


def heaters(ground: Ground) -> Iterator[tuple[Fixture, float]]:
    """Heaters and stoves, each with the metres that what burns keeps from it."""
    figure = ground.under(HEATER_CLEAR).figure or 0.0
    for fixture in ground.room.fixtures:
        times = KINDS.get(fixture.kind or "")
        if times is not None:
            yield fixture, times * figure


def heater_clear_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    if not burns(placed):
        return
    for fixture, need in heaters(ground):
        gap = distance(placed.body.pieces, convex_pieces(fixture.outline))
        if gap < need - TOLERANCE:
            yield Fault(placed.name, fixture.name, need, gap)


def heater_clear(case: Case) -> Iterator[CheckResult]:
    say = case.say
    outlines = {f.name: convex_pieces(f.outline) for f, _ in heaters(case.ground)}

    def bad(fault: Fault) -> str:
        def missing(placed: Placed) -> float:
            return fault.required - distance(placed.body.pieces, outlines[fault.other])

        ways = either(case.shift([fault.subject], missing), "store it elsewhere")
        return (
            f"{fault.subject} holds what burns, {say(fault.actual)} from {fault.other}; "
            f"{say(fault.required)} is the least: {ways}"
        )

    names = [p.name for p in case.placed if outlines and burns(p)]
    least = min((need for _, need in heaters(case.ground)), default=None)
    yield from case.results(
        names,
        case.gather(heater_clear_alone),
        bad,
        lambda s: f"{s} is far enough from everything that heats",
        lambda _: least,
        lambda _: None,
    )


# --- lead-reach: a socket within the length of the lead.

LEAD_REACH = Rule(
    "lead-reach",
    "what needs a socket has one within the length of its lead, in a straight line",
    "should",
    COMMON_PRACTICE,
    price=800.0,
)

# --- tap-reach: a tap within the length of the hose.

TAP_REACH = Rule(
    "tap-reach",
    "what needs a tap has one within the length of its hose, in a straight line",
    "should",
    COMMON_PRACTICE,
    price=4000.0,
)
"""A longer lead is bought; water is laid, and so is the drain that goes with it."""


def supply(ground: Ground, kind: str) -> tuple[Pieces, ...]:
    """The sockets or taps of the building as shapes; kept with the ground."""
    key = f"supply {kind}"
    if key not in ground.kept:
        ground.kept[key] = tuple(convex_pieces(f.outline) for f in of_kind(ground, kind))
    known: tuple[Pieces, ...] = ground.kept[key]
    return known


def needed(ground: Ground, thing: object) -> tuple[str, ...]:
    """What of its needs the building has at all: where a file tells of no socket, none is asked for."""
    return tuple(kind for kind in thing.needs if supply(ground, kind)) if isinstance(thing, Station) else ()


def lead_reach_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    return _out_of_reach(ground, placed, "socket")


def tap_reach_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    return _out_of_reach(ground, placed, "tap")


def _out_of_reach(ground: Ground, placed: Placed, kind: str) -> Iterator[Fault]:
    if kind not in needed(ground, placed.thing):
        return
    lead = ground.scenario.station(placed.name).lead
    gap = min(distance(placed.body.pieces, point) for point in supply(ground, kind))
    if gap > lead + TOLERANCE:
        yield Fault(placed.name, kind, lead, gap)


def _in_reach(case: Case, kind: str, line: str) -> Iterator[CheckResult]:
    say = case.say

    def bad(fault: Fault) -> str:
        def missing(placed: Placed) -> float:
            near = min(distance(placed.body.pieces, p) for p in supply(case.ground, kind))
            return near - fault.required

        more = f"have a {kind} put in, or a longer {line}"
        return (
            f"{fault.subject} is {say(fault.actual)} from the nearest {kind}, and its {line} is "
            f"{say(fault.required)}: {either(case.shift([fault.subject], missing), more)}"
        )

    leads = {p.name: s.lead for p, s in case.stations if kind in needed(case.ground, s)}
    yield from case.results(
        leads,
        case.gather(lambda ground, placed: _out_of_reach(ground, placed, kind)),
        bad,
        lambda s: f"{s} is within its {line} of a {kind}",
        leads.get,
        lambda _: None,
        lambda s: case.from_key(s, "lead"),
    )


def lead_reach(case: Case) -> Iterator[CheckResult]:
    yield from _in_reach(case, "socket", "lead")


def tap_reach(case: Case) -> Iterator[CheckResult]:
    yield from _in_reach(case, "tap", "hose")


# --- lead-across: nobody walks over a lead or hose.

LEAD_ACROSS = Rule(
    "lead-across",
    "no lead or hose, drawn straight to the nearest socket or tap, lies across the way of a job",
    "should",
    COMMON_PRACTICE,
    price=300.0,
)


def leads(ground: Ground, placed: Placed) -> Iterator[tuple[str, shapely.LineString]]:
    """The leads and hoses of a station that reach, each a straight line to the nearest of its kind."""
    for kind in needed(ground, placed.thing):
        pieces = min(supply(ground, kind), key=lambda p: distance(placed.body.pieces, p))
        gap = distance(placed.body.pieces, pieces)
        if TOLERANCE < gap <= ground.scenario.station(placed.name).lead + TOLERANCE:
            yield kind, shapely.LineString(nearest(placed.body.pieces, pieces))


def lead_across(case: Case) -> Iterator[CheckResult]:
    """One that runs along a wall, or behind things, is across nobody's way."""
    lines = {p.name: list(leads(case.ground, p)) for p, s in case.stations if needed(case.ground, s)}
    if not any(lines.values()):
        return
    walks = Walks(case.layout.plan)
    walked = list(_walked(case, walks))
    for name, mine in lines.items():
        crossed = [(kind, line, way) for kind, line in mine for way in walked if way.line.crosses(line)]
        if not crossed:
            yield case.result(name, True, None, None, f"no way of a job crosses a lead of {name}")
            continue
        kind, line, way = crossed[0]
        told = "" if case.layout.silent else _only_while(case, walks, way, line)
        ends = f"from {way.leg.start.owner} to {way.leg.end.owner}"
        message = (
            f"{told}the {'hose' if kind == 'tap' else 'lead'} from {name} to its {kind} lies across the way "
            f"{ends} ({way.job}): lead it overhead or under a cover, or stand {name} by a {kind}"
        )
        yield case.result(name, False, None, None, message)


class _Way(NamedTuple):
    """One leg of a job as it is walked in a state."""

    line: shapely.LineString
    leg: LegWalk
    job: str
    state: State


def _only_while(case: Case, walks: Walks, way: _Way, line: shapely.LineString) -> str:
    """``while van is in, ``, where the way would not cross the lead with it out; else ""."""
    inside = vehicles_in(case.ground, way.state)
    ends = {way.leg.start.owner, way.leg.end.owner}
    if not inside or ends.intersection(inside):
        return ""
    points = walks.path(without_vehicles(case.ground, way.state), way.leg).points
    crosses = len(points) > 1 and shapely.LineString(points).crosses(line)
    return "" if crosses else f"{while_in(inside)}, "


def _walked(case: Case, walks: Walks) -> Iterator[_Way]:
    """The way of each different leg, in the state in which its job is done most."""
    seen = set()
    for walk in case.layout.walks:
        state = walk.main.present
        for leg in walk.main.legs:
            key = (state, leg.start, leg.end, leg.width)
            if key in seen or leg.blocked:
                continue
            seen.add(key)
            points = walks.path(state, leg).points
            if len(points) > 1:
                yield _Way(shapely.LineString(points), leg, walk.job.name, state)
