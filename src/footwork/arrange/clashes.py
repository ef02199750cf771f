"""Which spots of two things cannot be used together: the geometry checks between things, compiled.

A spot's shapes are convex rings by layer (``ground.layers``).  Two spots clash when a footprint
sinks into the other's footprint or hard layer (strips that must stay free), into its stock layer unless
it is low enough for stock to pass above; for a vehicle, into the space round it or its way in unless it
is on castors.  The predicate is that of
the checks (``floor.solid.convex_depth`` and the one tolerance).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numba import njit

from footwork.arrange.ground import CLAIMS, Thing, is_must, layers, openings
from footwork.arrange.spots import SpotList
from footwork.arrange.tables import Bools, Singles
from footwork.checks.ground import Ground, Placed
from footwork.checks.hazards import FLAMMABLE, GIVES_MINDS, SPARKS, SPARKS_FLAMMABLES, VEHICLE_SPARKS
from footwork.checks.rule import Rule
from footwork.checks.strips import passes_above, stock_inside
from footwork.floor import shapes
from footwork.floor.overlap import Flat, flatten
from footwork.floor.shapes import FloatArray
from footwork.floor.solid import convex_depth, overlapping, union_nearest
from footwork.model.scenario import TOLERANCE, Placement, Scenario, Station, Vehicle

BODY, HARD, STOCK, WAY = range(4)


class Shapes(NamedTuple):
    """Rings of all spots: corners ``x, y``; ring r is ``ring[r]:ring[r + 1]`` in the box ``box[r]``
    (least x, least y, greatest x, greatest y); layer l of spot s has the rings
    ``layer[4 s + l]:layer[4 s + l + 1]``."""

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
                    for n in range(4)
                ]
            shift = np.array(p.at)
            for number, template in enumerate(known[p.facing]):
                mine = [r + shift for r in template]
                if number == WAY and isinstance(spots.thing, Vehicle):
                    way = shapes.drive_in(spots.thing, p, scenario.room.door(spots.thing.door)).corridor
                    mine = [] if way is None else [way]
                elif number == STOCK and any(_passes(ring, ways_out) for ring in mine):
                    placed = Placed(spots.thing, p)
                    inside = [stock_inside(ground, placed, claim) for claim in placed.stock]
                    mine = [ring for claim in inside for ring in claim.body.pieces]
                rings += mine
                layer.append(layer[-1] + len(mine))
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


@njit(cache=True, nogil=True)
def layers_meet(s: Shapes, a: int, la: int, b: int, lb: int) -> bool:
    """Whether layer ``la`` of spot a and layer ``lb`` of spot b overlap."""
    for i in range(s.layer[4 * a + la], s.layer[4 * a + la + 1]):
        for j in range(s.layer[4 * b + lb], s.layer[4 * b + lb + 1]):
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


@njit(cache=True, nogil=True)
def spots_clash(s: Shapes, a: int, b: int, blocks_a: Bools, blocks_b: Bools) -> bool:
    """Whether spots a and b clash.  ``blocks_a[l]``: a's footprint may not enter layer l of b."""
    for layer in range(4):
        if blocks_a[layer] and layers_meet(s, a, BODY, b, layer):
            return True
        if layer > 0 and blocks_b[layer] and layers_meet(s, b, BODY, a, layer):
            return True
    return False


@njit(cache=True, nogil=True)
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
    found = np.zeros(4, np.bool_)
    apart = isinstance(thing, Vehicle) and isinstance(other, Vehicle) and not ground.together(thing, other)
    found[BODY] = is_must(scenario, "no-overlap", strict) and not apart
    if isinstance(other, Vehicle):
        rolls = isinstance(thing, Station) and thing.castors
        found[HARD] = is_must(scenario, "vehicle-around", strict) and not (rolls or apart)
        found[WAY] = is_must(scenario, "drive-in", strict) and not (rolls or apart)
    elif isinstance(thing, Station):
        found[HARD] = True
        found[STOCK] = is_must(scenario, "stock-clear", strict) and not passes_above(other, thing)
    return found


@njit(cache=True, nogil=True)
def apart_block(
    s: Shapes, first_a: int, last_a: int, first_b: int, last_b: int, least: float, out: Singles
) -> None:
    """Write infinity into ``out`` where footprints are nearer than ``least`` metres in a straight line."""
    for a in range(first_a, last_a):
        ring_a = s.ring[s.layer[4 * a] : s.layer[4 * a + 1] + 1]
        for b in range(first_b, last_b):
            if out[a, b] < np.inf:
                ring_b = s.ring[s.layer[4 * b] : s.layer[4 * b + 1] + 1]
                if union_nearest(s.x, s.y, ring_a, s.x, s.y, ring_b)[0] < least - TOLERANCE:
                    out[a, b] = np.inf
                    out[b, a] = np.inf


def least_gap(ground: Ground, one: Thing, two: Thing, strict: bool) -> float:
    """Metres that hazards must stand apart where the file, or ``strict``, makes that a must; 0 without."""
    least = 0.0
    for giver, minder in ((one, two), (two, one)):
        if not isinstance(giver, Station):
            continue
        wanted: list[Rule] = []
        if isinstance(minder, Vehicle):
            if SPARKS in giver.gives and ground.used_beside(giver, minder):
                wanted.append(VEHICLE_SPARKS)
        else:
            if SPARKS in giver.gives and FLAMMABLE in minder.minds:
                wanted.append(SPARKS_FLAMMABLES)
            if set(giver.gives) & set(minder.minds):
                wanted.append(GIVES_MINDS)
        rules = [ground.under(rule) for rule in wanted]
        least = max([least, *(r.figure or 0.0 for r in rules if strict or r.severity == "must")])
    return least
