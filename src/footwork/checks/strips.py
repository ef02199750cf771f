"""Floor beside a station that must stay free: to stand on, for access, for long material.

Strips may overlap other strips, never a footprint, a fixture, a wall or the swing of a door; they lie below
what hangs high enough to walk under.  A vehicle
that is in does not count here: whether a job can be done beside it is for `reachable` to say.
Depths come from the file or the catalogue.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
import shapely

from footwork.checks.case import Case, either
from footwork.checks.ground import Body, Claim, Clash, Fault, Ground, Placed, wall_body
from footwork.checks.result import CheckResult
from footwork.checks.rule import COMMON_PRACTICE, YOUR_FILE, Rule, published
from footwork.floor.headroom import overhead, share_floor, underside
from footwork.floor.overlap import part_inside
from footwork.floor.plan import wall_words
from footwork.floor.shapes import FloatArray, Strip, outward, side_line
from footwork.floor.walls import shared_interval
from footwork.model.scenario import TOLERANCE, Door, Station, Vehicle, Wall, Window

Claims = Callable[[Placed], tuple[Claim, ...]]


def free_depth(strip: Strip, placed: Placed, body: Body) -> float:
    """Metres of a strip, from its face, that are free of ``body``."""
    start, _ = side_line(placed.thing, placed.placement, strip.side)
    out = np.array(outward(strip.side, placed.placement.facing))
    if len(body.pieces) == 1 and len(body.pieces[0]) == 2:
        reached = _inside(strip.polygon, body.pieces[0])
        return strip.depth if reached is None else max(0.0, float(min((reached - start) @ out)) - strip.begin)
    area = shapely.Polygon(strip.polygon)
    parts = [shapely.LineString(p) if len(p) == 2 else shapely.Polygon(p) for p in body.pieces]
    corners = shapely.get_coordinates(shapely.intersection(area, np.array(parts, dtype=object)))
    if not len(corners):
        return strip.depth
    return max(0.0, float(((corners - np.array(start)) @ out).min()) - strip.begin)


def _inside(ring: FloatArray, segment: FloatArray) -> FloatArray | None:
    """Both ends of what of a segment (2, 2) lies in a convex ring; None where nothing does."""
    part = part_inside(ring, tuple(segment[0].tolist()), tuple(segment[1].tolist()))
    return None if part is None else segment[0] + np.outer(part, segment[1] - segment[0])


def claim_fault(placed: Placed, claim: Claim, body: Body, blocker: str = "") -> Fault:
    """``body`` is in a claim of ``placed``; ``blocker`` names the thing that could move instead."""
    clashes = [Clash(placed.name, claim.rooted.pieces, body.pieces)]
    if blocker:
        clashes.append(Clash(blocker, body.pieces, claim.body.pieces))
    free = free_depth(claim.strip, placed, body)
    return Fault(placed.name, body.name, claim.strip.depth, free, tuple(clashes), claim.strip.side)


def claims_alone(ground: Ground, placed: Placed, claims: Claims) -> Iterator[Fault]:
    """Walls, the ground outside, fixtures and door swings in a thing's claims."""
    for claim in claims(placed):
        for body in ground.in_claim(claim):
            yield claim_fault(placed, claim, body)
        for body in ground.swings:
            if claim.body.meets(body):
                yield claim_fault(placed, claim, Body(f"the swing of {body.name}", body.pieces))


def claims_pair(a: Placed, b: Placed, claims: Claims) -> Iterator[Fault]:
    """A station's footprint in the claims of another; vehicles do not count, nor does what hangs overhead."""
    if isinstance(a.thing, Vehicle) or isinstance(b.thing, Vehicle):
        return
    for owner, other in ((a, b), (b, a)):
        for claim in () if overhead(other.thing) else claims(owner):
            if claim.body.meets(other.body):
                yield claim_fault(owner, claim, other.body, other.name)


def _standing(placed: Placed) -> tuple[Claim, ...]:
    return placed.strips if isinstance(placed.thing, Station) else ()


def _service(placed: Placed) -> tuple[Claim, ...]:
    return placed.service


# --- strips-clear: floor to stand on along each side worked from.

STRIPS_CLEAR = Rule(
    "strips-clear",
    "the standing strips of every station are free, as deep as its `strip` says, by itself {0.75}; what one "
    "reaches over to a hanging one is lower than it hangs",
    "must",
    COMMON_PRACTICE,
)
WHEELCHAIR_STRIP = published("ADA Standards 2010, 305.3 (from a secondary text)")


def strips_clear_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    yield from claims_alone(ground, placed, _standing)
    for claim in placed.reaches:
        for body in (*ground.fixtures, *ground.swings_against(placed.thing)):
            if claim.body.meets(body):
                yield replace(claim_fault(placed, claim, body), note=REACH)


def strips_clear_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    yield from claims_pair(a, b, _standing)
    if isinstance(a.thing, Vehicle) or isinstance(b.thing, Vehicle) or share_floor(a.thing, b.thing):
        return
    for owner, other in ((a, b), (b, a)):
        for claim in owner.reaches:
            if claim.body.meets(other.body):
                yield replace(claim_fault(owner, claim, other.body, other.name), note=REACH)


REACH = "reach"
"""Note of a fault of what one reaches over."""


def strips_clear(case: Case) -> Iterator[CheckResult]:
    depth = {p.name: s.strip for p, s in case.stations if s.stand and s.strip > 0}
    faults = case.gather(strips_clear_alone, strips_clear_pair, case.layout.pairs_within(0.0))

    def good(name: str) -> str:
        return f"{case.say(depth[name])} is free to stand in at every side that {name} is worked from"

    def bad(fault: Fault) -> str:
        if fault.note != REACH:
            return _bad(case, fault, "to work at its")
        hung = underside(case.ground.scenario.station(fault.subject))
        return (
            f"{fault.other} stands {case.say(fault.actual)} before the {fault.side} of {fault.subject}, "
            f"which is reached over {case.say(fault.required)}, and is not known to be lower than the "
            f"{case.say(hung)} that it hangs above the floor: {case.mend(fault)}"
        )

    def source(name: str) -> str:
        station = case.ground.scenario.station(name)
        raised = case.ground.scenario.walker.profile == "wheelchair" and "strip" not in station.given
        return WHEELCHAIR_STRIP if raised and station.strip == 0.76 else case.from_key(name, "strip")

    yield from case.results(depth, faults, bad, good, depth.get, depth.get, source)


def _bad(case: Case, fault: Fault, purpose: str) -> str:
    say = case.say
    return (
        f"{fault.subject} has {say(fault.actual)} free {purpose} {fault.side} up to {fault.other}; "
        f"{say(fault.required)} is needed: {case.mend(fault)}"
    )


# --- service-clear: floor for access.

SERVICE_CLEAR = Rule(
    "service-clear", "floor for access to a machine is free, as its `service` says", "must", YOUR_FILE
)


def service_clear_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    return claims_alone(ground, placed, _service)


def service_clear_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    return claims_pair(a, b, _service)


def service_clear(case: Case) -> Iterator[CheckResult]:
    depth = {p.name: max(d for _, d in s.service) for p, s in case.stations if s.service}
    faults = case.gather(service_clear_alone, service_clear_pair, case.layout.pairs_within(0.0))
    yield from case.results(
        depth,
        faults,
        lambda f: _bad(case, f, "for service at its"),
        lambda s: f"{s} can be got at for service",
        depth.get,
        depth.get,
        lambda s: case.from_key(s, "service"),
    )


# --- stock-clear: space for long material.

STOCK_CLEAR = Rule(
    "stock-clear",
    "space for long stock, as its `stock` says, is free of walls and of things as high as the work, but for "
    "what hangs higher; it may pass a door or window",
    "must",
    YOUR_FILE,
)


def stock_clear_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    """Walls and fixtures in the way of long stock.

    Where the strip leaves the room through an opening that holds its full width, what lies beyond
    does not count, nor does the swing of the door it goes through.
    """
    for claim in placed.stock:
        wall, opening, reach = _way_out(ground, placed, claim)
        if wall is not None and opening is None:
            yield claim_fault(placed, claim, wall)
        inside = claim if opening is None else _cut(claim, placed, reach)
        for body in ground.fixtures:
            if inside.body.meets(body):
                yield claim_fault(placed, inside, body)
        for body in ground.swings:
            if (opening is None or body.name != opening.name) and inside.body.meets(body):
                yield claim_fault(placed, inside, Body(f"the swing of {body.name}", body.pieces))


def _way_out(ground: Ground, placed: Placed, claim: Claim) -> tuple[Body | None, Door | Window | None, float]:
    """The first wall that a stock strip meets, the opening it passes there, and how far out that is."""
    room = ground.room
    met: list[tuple[float, Wall]] = []
    for wall in room.walls:
        if claim.rooted.meets(wall_body(wall)):
            met.append((free_depth(claim.strip, placed, wall_body(wall)), wall))
    openings: tuple[Door | Window, ...] = (*room.doors, *room.windows)
    for reach, wall in sorted(met, key=lambda m: m[0]):
        crossing = _crossing(claim, wall)
        for opening in openings:
            gap = shared_interval(wall.start, wall.end, opening.start, opening.end)
            if gap and gap[0] - TOLERANCE <= crossing[0] and crossing[1] <= gap[1] + TOLERANCE:
                return wall_body(wall), opening, reach
        return Body(wall_words(wall.name), wall_body(wall).pieces), None, reach
    # A strip that starts in a yard meets the yard's edges; one that meets no wall at all is inside.
    for edge in (*ground.segments, ground.around_all):
        if claim.rooted.meets(edge):
            return edge, None, free_depth(claim.strip, placed, edge)
    return None, None, claim.strip.depth


def _crossing(claim: Claim, wall: Wall) -> tuple[float, float]:
    """The stretch of a wall's line inside a strip, in metres from the wall's start."""
    part = part_inside(claim.rooted.pieces[0], wall.start, wall.end)
    assert part is not None, "the wall meets the strip"
    length = math.dist(wall.start, wall.end)
    return length * part[0], length * part[1]


def _cut(claim: Claim, placed: Placed, reach: float) -> Claim:
    """The part of a strip up to ``reach`` metres from its face."""
    start, _ = side_line(placed.thing, placed.placement, claim.strip.side)
    out = np.array(outward(claim.strip.side, placed.placement.facing))
    beyond = np.maximum((claim.strip.polygon - np.array(start)) @ out - reach, 0.0)
    polygon = claim.strip.polygon - beyond[:, None] * out
    body = Body(claim.body.name, (polygon,))
    return Claim(Strip(claim.strip.owner, claim.strip.side, polygon, claim.strip.depth), body, body)


def passes(owner: Station, other: Station | Vehicle) -> bool:
    """Whether ``owner``'s long stock passes above ``other``, which is lower than the working height, or below
    it, as it hangs higher."""
    if owner.work_height is None:
        return False
    return (other.height is not None and other.height < owner.work_height) or (
        underside(other) > owner.work_height
    )


def stock_inside(ground: Ground, owner: Placed, claim: Claim) -> Claim:
    """A stock strip of ``owner`` as far as it counts: up to the opening it leaves the room by."""
    _, opening, reach = _way_out(ground, owner, claim)
    return claim if opening is None else _cut(claim, owner, reach)


def stock_clear_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    """A station as high as the work in the way of another's long stock, as far as the stock is inside."""
    for owner, other in ((a, b), (b, a)):
        if not isinstance(owner.thing, Station) or not isinstance(other.thing, Station):
            continue
        if passes(owner.thing, other.thing):
            continue
        for claim in owner.stock:
            if claim.body.meets(other.body):
                inside = stock_inside(ground, owner, claim)
                if inside.body.meets(other.body):
                    yield claim_fault(owner, inside, other.body, other.name)


def stock_clear(case: Case) -> Iterator[CheckResult]:
    needs = {p.name: max(c.strip.depth for c in p.stock) for p in case.placed if p.stock}
    faults = case.gather(stock_clear_alone, stock_clear_pair, case.layout.pairs_within(0.0))
    yield from case.results(
        needs,
        faults,
        lambda f: _bad(case, f, "for long stock at its"),
        lambda s: f"long stock has its room at {s}",
        needs.get,
        needs.get,
        lambda s: case.from_key(s, "stock"),
    )


# --- stock-vehicle: a vehicle in the way of long stock.

STOCK_VEHICLE = Rule(
    "stock-vehicle",
    "long stock passes beside or above a vehicle that is in while the station is used",
    "should",
    COMMON_PRACTICE,
    price=500.0,
)


def stock_vehicle_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    """A vehicle as high as the work in the way of long stock, while a job of the station has it in."""
    for owner, other in ((a, b), (b, a)):
        if not isinstance(owner.thing, Station) or not isinstance(other.thing, Vehicle):
            continue
        if passes(owner.thing, other.thing) or not ground.used_beside(owner.thing, other.thing):
            continue
        for claim in owner.stock:
            if claim.body.meets(other.body):
                inside = stock_inside(ground, owner, claim)
                if inside.body.meets(other.body):
                    yield claim_fault(owner, inside, other.body, other.name)


def stock_vehicle(case: Case) -> Iterator[CheckResult]:
    say = case.say
    vehicles = [p.thing for p in case.placed if isinstance(p.thing, Vehicle)]
    needs = {
        p.name: max(c.strip.depth for c in p.stock)
        for p, station in case.stations
        if p.stock and any(case.ground.used_beside(station, vehicle) for vehicle in vehicles)
    }

    def bad(fault: Fault) -> str:
        return (
            f"long stock at the {fault.side} of {fault.subject} has {say(fault.actual)} up to {fault.other}, "
            f"{say(fault.required - fault.actual)} short of {say(fault.required)}: "
            f"{either(f'take {fault.other} out while {fault.subject} is used', case.apart(fault))}"
        )

    yield from case.results(
        needs,
        case.gather(None, stock_vehicle_pair, case.layout.pairs_with_a_vehicle),
        bad,
        lambda s: f"long stock at {s} clears every vehicle that is in",
        needs.get,
        needs.get,
    )
