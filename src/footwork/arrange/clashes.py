"""Which spots of two things cannot be used together: the geometry checks between things, compiled.

A spot's shapes are convex rings by layer (``ground.layers``).  Two spots clash when a footprint
sinks into the other's footprint or hard layer (strips that must stay free), into its stock layer unless
it is low enough for stock to pass above; for a vehicle, into the space round it or its way in unless it
is on castors.  For a wheelchair they clash too when one footprint lies in every approach to the other.  The
predicate is that of the checks (``floor.solid.convex_depth`` and the one tolerance).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from footwork.arrange.ground import CLAIMS, Thing, is_must, layers, openings
from footwork.arrange.spots import SpotList
from footwork.arrange.tables import Bools, Singles
from footwork.checks.ground import Ground, Placed
from footwork.checks.hazards import least_apart
from footwork.checks.strips import STOCK_VEHICLE, passes_above, stock_inside
from footwork.checks.vehicles import corridor
from footwork.checks.wheelchair import free_approaches
from footwork.floor.compiled import entry, inner
from footwork.floor.overlap import Flat, flatten
from footwork.floor.shapes import FloatArray
from footwork.floor.solid import convex_depth, overlapping, union_nearest
from footwork.model.scenario import TOLERANCE, Placement, Scenario, Station, Vehicle

BODY, HARD, STOCK, WAY, APPROACH = range(5)
LAYERS = APPROACH + 8
"""Layers of a spot: a wheelchair may come to each of four sides alongside or head on."""


class Shapes(NamedTuple):
    """Rings of all spots: corners ``x, y``; ring r is ``ring[r]:ring[r + 1]`` in the box ``box[r]``
    (least x, least y, greatest x, greatest y); layer l of spot s has the rings
    ``layer[LAYERS s + l]:layer[LAYERS s + l + 1]``."""

    x: FloatArray
    y: FloatArray
    ring: npt.NDArray[np.int64]
    box: FloatArray
    layer: npt.NDArray[np.int64]


def spot_shapes(scenario: Scenario, lists: Sequence[SpotList], strict: bool) -> Shapes:
    """The shapes of every spot, in the order of the lists."""
    ground = Ground(scenario)
    ways_out = openings(ground)
    layer_of = {"body": BODY, "stock": STOCK}
    layer_of |= {kind: HARD for kind, check in CLAIMS.items() if is_must(scenario, check, strict)}
    chair = wheelchair_must(scenario, strict)
    rings: list[FloatArray] = []
    layer = [0]
    for spots in lists:
        no_around = isinstance(spots.thing, Vehicle) and spots.thing.name not in ground.visited
        known: dict[float, list[list[FloatArray]]] = {}
        for p in spots.placements:
            if p.facing not in known:
                parts = layers(spots.thing, Placement(0.0, 0.0, p.facing))
                known[p.facing] = [
                    [
                        r
                        for kind, r in parts
                        if layer_of.get(kind) == n and not (kind == "around" and no_around)
                    ]
                    for n in range(APPROACH)
                ]
            shift = np.array(p.at)
            for number, template in enumerate(known[p.facing]):
                mine = [r + shift for r in template]
                if number == WAY and isinstance(spots.thing, Vehicle):
                    way = corridor(ground, Placed(spots.thing, p))
                    mine = [] if way is None else list(way.pieces)
                elif number == STOCK and any(_passes(ring, ways_out) for ring in mine):
                    placed = Placed(spots.thing, p)
                    inside = [stock_inside(ground, placed, claim) for claim in placed.stock]
                    mine = [ring for claim in inside for ring in claim.body.pieces]
                rings += mine
                layer.append(layer[-1] + len(mine))
            ways = free_approaches(ground, Placed(spots.thing, p), ()) if chair else ()
            for number in range(LAYERS - APPROACH):
                rings += [ring for way in ways[number : number + 1] for ring in way.pieces]
                layer.append(layer[-1] + len(ways[number : number + 1]))
    corners = np.concatenate(rings)
    box = np.array([[*r.min(axis=0), *r.max(axis=0)] for r in rings])
    return Shapes(
        np.ascontiguousarray(corners[:, 0]),
        np.ascontiguousarray(corners[:, 1]),
        np.cumsum([0, *(len(r) for r in rings)]),
        box,
        np.array(layer),
    )


def _passes(ring: FloatArray, ways_out: Flat) -> bool:
    """Whether a strip may leave the room by a door or window: there the checks cut it off."""
    return bool(overlapping(*flatten((ring,)), *ways_out))


@inner
def layers_meet(s: Shapes, a: int, la: int, b: int, lb: int) -> bool:
    """Whether layer ``la`` of spot a and layer ``lb`` of spot b overlap."""
    for i in range(s.layer[LAYERS * a + la], s.layer[LAYERS * a + la + 1]):
        for j in range(s.layer[LAYERS * b + lb], s.layer[LAYERS * b + lb + 1]):
            if (
                s.box[i, 0] < s.box[j, 2]
                and s.box[j, 0] < s.box[i, 2]
                and s.box[i, 1] < s.box[j, 3]
                and s.box[j, 1] < s.box[i, 3]
                and convex_depth(s.x, s.y, s.ring[i], s.ring[i + 1], s.x, s.y, s.ring[j], s.ring[j + 1])
                > TOLERANCE
            ):
                return True
    return False


@inner
def shut_off(s: Shapes, a: int, b: int) -> bool:
    """Whether spot b's footprint lies in every approach that the building leaves to spot a."""
    for layer in range(APPROACH, LAYERS):
        if s.layer[LAYERS * a + layer] == s.layer[LAYERS * a + layer + 1]:
            return layer > APPROACH
        if not layers_meet(s, b, BODY, a, layer):
            return False
    return True


@inner
def spots_clash(s: Shapes, a: int, b: int, blocks_a: Bools, blocks_b: Bools) -> bool:
    """Whether spots a and b clash.  ``blocks_a[l]``: a's footprint may not enter layer l of b."""
    for layer in range(APPROACH):
        if blocks_a[layer] and layers_meet(s, a, BODY, b, layer):
            return True
        if layer > 0 and blocks_b[layer] and layers_meet(s, b, BODY, a, layer):
            return True
    return (blocks_a[APPROACH] and shut_off(s, b, a)) or (blocks_b[APPROACH] and shut_off(s, a, b))


@entry
def clash_block(
    s: Shapes,
    first_a: int,
    last_a: int,
    first_b: int,
    last_b: int,
    blocks_a: Bools,
    blocks_b: Bools,
    out: Singles,
) -> None:
    """Write infinity into ``out`` (all spots square, symmetric) where spots of two things clash."""
    for a in range(first_a, last_a):
        for b in range(first_b, last_b):
            if spots_clash(s, a, b, blocks_a, blocks_b):
                out[a, b] = np.inf
                out[b, a] = np.inf


def blocks(ground: Ground, thing: Thing, other: Thing, strict: bool) -> npt.NDArray[np.bool_]:
    """Which layers of ``other`` the footprint of ``thing`` may not enter."""
    scenario = ground.scenario
    found = np.zeros(APPROACH + 1, np.bool_)
    apart = isinstance(thing, Vehicle) and isinstance(other, Vehicle) and not ground.together(thing, other)
    found[BODY] = is_must(scenario, "no-overlap", strict) and not apart
    if isinstance(other, Vehicle):
        rolls = isinstance(thing, Station) and thing.castors
        found[HARD] = is_must(scenario, "vehicle-around", strict) and not (rolls or apart)
        found[WAY] = is_must(scenario, "drive-in", strict) and not (rolls or apart)
    elif isinstance(thing, Station):
        found[HARD] = True
        found[STOCK] = is_must(scenario, "stock-clear", strict) and not passes_above(other, thing)
        found[APPROACH] = wheelchair_must(scenario, strict)
    elif strict or ground.under(STOCK_VEHICLE).severity == "must":
        found[STOCK] = ground.used_beside(other, thing) and not passes_above(other, thing)
    return found


def wheelchair_must(scenario: Scenario, strict: bool) -> bool:
    """Whether every station needs an approach that a wheelchair fits in."""
    return scenario.walker.profile == "wheelchair" and is_must(scenario, "wheelchair", strict)


@entry
def apart_block(
    s: Shapes, first_a: int, last_a: int, first_b: int, last_b: int, least: float, out: Singles
) -> None:
    """Write infinity into ``out`` where footprints are nearer than ``least`` metres in a straight line."""
    for a in range(first_a, last_a):
        ring_a = s.ring[s.layer[LAYERS * a] : s.layer[LAYERS * a + 1] + 1]
        for b in range(first_b, last_b):
            if out[a, b] < np.inf:
                ring_b = s.ring[s.layer[LAYERS * b] : s.layer[LAYERS * b + 1] + 1]
                if union_nearest(s.x, s.y, ring_a, s.x, s.y, ring_b)[0] < least - TOLERANCE:
                    out[a, b] = np.inf
                    out[b, a] = np.inf


def least_gap(ground: Ground, one: Thing, two: Thing, strict: bool) -> float:
    """Metres that hazards must stand apart where the file, or ``strict``, makes that a must; 0 without."""
    return least_apart(ground, one, two, strict)
