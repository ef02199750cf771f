"""What the floor of a thing consists of, and what of it the building and other things may not enter.

The layers of a thing are convex rings: ``body`` its footprint; ``strip`` and ``service`` floor beside it;
``around`` the working space round a visited vehicle; ``stock`` space that only lower things, and higher ones
that hang, may enter; ``reach`` what one reaches over to a hanging thing.
``strip rooted`` and the like are the same begun a little inside the thing, as the checks do where walls are
concerned.  Here alone is said which rings must keep clear of what: spots and cells (``every_position/``)
ask the same rules, so that a bound on cells holds for every layout that the checks accept.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Bools
from footwork.checks.beside import DRIVER_DOOR, driver_floor
from footwork.checks.fittings import EXTINGUISHER_CLEAR, fronts
from footwork.checks.ground import Body, Ground, Placed
from footwork.checks.openings import kept_open, stands_before
from footwork.checks.parking import PARKED, parked_against
from footwork.checks.strips import STOCK_VEHICLE, passes
from footwork.floor import shapes
from footwork.floor.headroom import fits_below, overhead, share_floor
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import Door, Placement, Scenario, Station, Vehicle, Window

Thing = Station | Vehicle

CLAIMS = {"strip": "strips-clear", "service": "service-clear", "around": "vehicle-around"}
"""The check that keeps each layer of floor free."""

BODY, HARD, STOCK, REACH, WAY, APPROACH = range(6)
"""Layers that other things may not enter: a footprint; floor that must stay free; floor for stock, free only
of what is too high; what one reaches over to a hanging thing, free of what is not lower; the way in of a
vehicle; the first of the ways by which a wheelchair comes near."""
MOVING = 4
"""BODY, HARD, STOCK and REACH move with their thing: they are the same wherever it stands in one facing."""


def is_must(scenario: Scenario, check: str, strict: bool) -> bool:
    """Whether a check that is a `must` by itself still is one in this file."""
    setting = scenario.checks.get(check)
    return strict or setting is None or setting.severity != "should"


def layers(thing: Thing, placement: Placement) -> list[tuple[str, FloatArray]]:
    """The convex rings of a thing by layer."""
    found = [("body", ring) for ring in shapes.pieces(thing, placement)]
    placed = Placed(thing, placement)
    if isinstance(thing, Vehicle):
        groups = [("around", placed.strips)]
    else:
        groups = [("strip", placed.strips), ("service", placed.service), ("stock", placed.stock)]
        groups.append(("reach", placed.reaches))
    for kind, claims in groups:
        for claim in claims:
            found += [(kind, ring) for ring in claim.body.pieces]
            found += [(f"{kind} rooted", ring) for ring in claim.rooted.pieces]
    return found


class MovingRings(NamedTuple):
    """Rings of a thing in one facing about the origin, by the layers that move with it."""

    body: tuple[FloatArray, ...]
    hard: tuple[FloatArray, ...]
    stock: tuple[FloatArray, ...]
    reach: tuple[FloatArray, ...]


def moving_rings(ground: Ground, thing: Thing, facing: float, strict: bool) -> MovingRings:
    """The rings that other things may have to keep clear of, where their checks are musts."""
    hard = {layer for layer, check in CLAIMS.items() if is_must(ground.scenario, check, strict)}
    if isinstance(thing, Vehicle) and thing.name not in ground.visited:
        hard.discard("around")
    parts = layers(thing, Placement(0.0, 0.0, facing))
    return MovingRings(
        tuple(ring for layer, ring in parts if layer == "body"),
        (*(ring for layer, ring in parts if layer in hard), *_getting_out(ground, thing, facing, strict)),
        tuple(ring for layer, ring in parts if layer == "stock"),
        tuple(ring for layer, ring in parts if layer == "reach"),
    )


def _getting_out(ground: Ground, thing: Thing, facing: float, strict: bool) -> tuple[FloatArray, ...]:
    """The floor beside a driver's door; none of a vehicle that may stand in a yard, as nobody asks there."""
    if not isinstance(thing, Vehicle) or not (strict or ground.under(DRIVER_DOOR).severity == "must"):
        return ()
    if thing.driver is None or (thing.spots and ground.room.yards):
        return ()
    return (driver_floor(ground, thing, Placement(0.0, 0.0, facing)),)


@dataclass(frozen=True)
class BuildingRule:
    """A check of plain overlap: ``layer`` of a thing may not meet ``bodies`` of the building.

    ``rooted``: the check looks at the layer begun a little inside the thing.
    """

    check: str
    layer: str
    bodies: Sequence[Body]
    rooted: bool = False


def building_rules(ground: Ground, thing: Thing, strict: bool) -> Iterator[BuildingRule]:
    """The plain overlaps with the building that a thing must avoid, as far as their checks are musts."""
    for rule in _building_rules(ground, thing):
        if is_must(ground.scenario, rule.check, strict):
            yield rule


def _building_rules(ground: Ground, thing: Thing) -> Iterator[BuildingRule]:
    indoors = isinstance(thing, Station) and not thing.outdoors
    yield BuildingRule("in-room", "body", [ground.around_room if indoors else ground.around_all])
    if not indoors:
        yield BuildingRule("in-room", "body", ground.segments)
    yield BuildingRule("no-overlap", "body", ground.fixtures)
    yield BuildingRule("door-swing", "body", ground.swings_against(thing))
    yield BuildingRule("keep-clear", "body", () if overhead(thing) else ground.clear)
    yield from _kept_free(ground, thing)
    yield BuildingRule("strips-clear", "reach", (*ground.fixtures, *ground.swings_against(thing)))
    for layer, check in CLAIMS.items():
        if layer == "around" and thing.name not in ground.visited:
            continue
        yield BuildingRule(check, layer, ground.segments, rooted=True)
        yield BuildingRule(check, layer, [ground.around_all, *ground.fixtures])
        if layer != "around":
            yield BuildingRule(check, layer, ground.swings)


def _kept_free(ground: Ground, thing: Thing) -> Iterator[BuildingRule]:
    """Floor that no station may stand on: before doors that are used, before extinguishers."""
    for rule, door, floor in kept_open(ground):
        if stands_before(thing, rule, door):
            yield BuildingRule(rule.id, "body", [floor])
    yield BuildingRule(PARKED.id, "body", [body for _, body in parked_against(ground, thing)])
    if isinstance(thing, Station) and not overhead(thing):
        yield BuildingRule(EXTINGUISHER_CLEAR.id, "body", fronts(ground))


def openings(ground: Ground) -> list[FloatArray]:
    """Doors and windows as segments: what long stock may pass."""
    both: list[Door | Window] = [*ground.room.doors, *ground.room.windows]
    return [np.array([o.start, o.end], dtype=np.float64) for o in both]


def forbidden_layers(ground: Ground, thing: Thing, other: Thing, strict: bool) -> Bools:
    """Which layers of ``other`` the footprint of ``thing`` may not enter, (APPROACH + 1,)."""
    scenario = ground.scenario
    found = np.zeros(APPROACH + 1, np.bool_)
    apart = ground.never_meet(thing, other)
    shared = share_floor(thing, other)
    found[BODY] = is_must(scenario, "no-overlap", strict) and not (apart or shared)
    if isinstance(other, Vehicle):
        rolls = isinstance(thing, Station) and thing.castors
        found[HARD] = not (rolls or apart or overhead(thing))
        way = is_must(scenario, "drive-in", strict)
        found[WAY] = way and not (rolls or apart or fits_below(other, thing))
    elif isinstance(thing, Station):
        found[HARD] = not overhead(thing)
        found[REACH] = is_must(scenario, "strips-clear", strict) and not shared
        found[STOCK] = is_must(scenario, "stock-clear", strict) and not passes(other, thing)
        found[APPROACH] = wheelchair_must(scenario, strict) and not overhead(thing)
    elif strict or ground.under(STOCK_VEHICLE).severity == "must":
        found[STOCK] = ground.used_beside(other, thing) and not passes(other, thing)
    return found


def wheelchair_must(scenario: Scenario, strict: bool) -> bool:
    """Whether every station needs an approach that a wheelchair fits in."""
    return scenario.walker.profile == "wheelchair" and is_must(scenario, "wheelchair", strict)
