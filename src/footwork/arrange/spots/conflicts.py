"""Which spots of two things cannot be used together: the geometry checks between things, compiled.

A spot's shapes are convex rings by layer (``alone.layers``).  Two spots clash when a footprint
sinks into the other's footprint or hard layer (strips that must stay free), into its stock layer unless
it is low enough for stock to pass above; for a vehicle, into the space round it or its way in unless it
is on castors.  For a wheelchair they clash too when one footprint lies in every approach to the other.  The
predicate is that of the checks (``floor.solid.convex_depth`` and the one tolerance).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from footwork.arrange.core.arrays import Bools, Singles
from footwork.arrange.spots.alone import CLAIMS, Thing, is_must, layers, openings
from footwork.arrange.spots.difference_planes import (
    CLEAR,
    PARTS,
    Moulds,
    Planes,
    depth_of,
    make_moulds,
    planes_between,
)
from footwork.arrange.spots.enumerate import SpotList
from footwork.checks.ground import Ground, Placed
from footwork.checks.hazards import least_apart
from footwork.checks.strips import STOCK_VEHICLE, passes_above, stock_inside
from footwork.checks.vehicles import corridor
from footwork.checks.wheelchair import free_approaches
from footwork.compiled.functions import bare, entry, inner, unit
from footwork.compiled.records import record
from footwork.floor.overlap import Flat, flatten
from footwork.floor.shapes import FloatArray
from footwork.floor.solid import convex_depth, overlapping, union_nearest
from footwork.model.scenario import TOLERANCE, Placement, Scenario, Station, Vehicle

BODY, HARD, STOCK, WAY, APPROACH = range(5)
TILE = 16
"""Spots whose rows are written together."""
LAYERS = APPROACH + 8
"""Layers of a spot: a wheelchair may come to each of four sides alongside or head on."""


@record
class Shapes(NamedTuple):
    """Rings of all spots: corners ``x, y``; ring r is ``ring[r]:ring[r + 1]`` in the box ``box[r]``
    (least x, least y, greatest x, greatest y); layer l of spot s has the rings
    ``layer[LAYERS s + l]:layer[LAYERS s + l + 1]``."""

    x: FloatArray
    y: FloatArray
    ring: npt.NDArray[np.int64]
    box: FloatArray
    layer: npt.NDArray[np.int64]


def spot_shapes(scenario: Scenario, lists: Sequence[SpotList], strict: bool) -> tuple[Shapes, Moulds]:
    """The shapes of every spot, in the order of the lists, and the moulds that they are cast from."""
    ground = Ground(scenario)
    ways_out = openings(ground)
    chair = wheelchair_must(scenario, strict)
    rings: list[FloatArray] = []
    layer = [0]
    mould_rings: list[FloatArray] = []
    part, of, cut = [0], [], []
    for spots in lists:
        known: dict[float, int] = {}
        templates: list[list[list[FloatArray]]] = []
        for p in spots.placements:
            if p.facing not in known:
                known[p.facing] = len(part) // PARTS
                templates.append(_parts(ground, spots.thing, p.facing, strict))
                for ring_list in templates[-1]:
                    mould_rings += ring_list
                    part.append(len(mould_rings))
            of.append(known[p.facing])
            template = templates[known[p.facing] - known[spots.placements[0].facing]]
            shift = np.array(p.at)
            own = [[ring + shift for ring in ring_list] for ring_list in template]
            cut.append(any(_passes(ring, ways_out) for ring in own[STOCK]))
            if cut[-1]:
                placed = Placed(spots.thing, p)
                inside = [stock_inside(ground, placed, claim) for claim in placed.stock]
                own[STOCK] = [ring for claim in inside for ring in claim.body.pieces]
            way = corridor(ground, Placed(spots.thing, p)) if isinstance(spots.thing, Vehicle) else None
            own.append([] if way is None else list(way.pieces))
            ways = free_approaches(ground, Placed(spots.thing, p), ()) if chair else ()
            own += [[r for way in ways[n : n + 1] for r in way.pieces] for n in range(LAYERS - APPROACH)]
            for ring_list in own:
                rings += ring_list
                layer.append(len(rings))
    at = np.array([p.at for spots in lists for p in spots.placements]).reshape(-1, 2)
    return _flat_shapes(rings, layer), make_moulds(mould_rings, part, of, at, cut)


def _parts(ground: Ground, thing: Thing, facing: float, strict: bool) -> list[list[FloatArray]]:
    """Rings of the layers that move with a thing, about the origin: BODY, HARD and STOCK."""
    layer_of = {"body": BODY, "stock": STOCK}
    layer_of |= {kind: HARD for kind, check in CLAIMS.items() if is_must(ground.scenario, check, strict)}
    if isinstance(thing, Vehicle) and thing.name not in ground.visited:
        layer_of.pop("around", None)
    found: list[list[FloatArray]] = [[] for _ in range(PARTS)]
    for kind, ring in layers(thing, Placement(0.0, 0.0, facing)):
        if kind in layer_of:
            found[layer_of[kind]].append(ring)
    return found


def _flat_shapes(rings: Sequence[FloatArray], layer: Sequence[int]) -> Shapes:
    x, y, ring = flatten(tuple(rings))
    low = np.column_stack([np.minimum.reduceat(v, ring[:-1]) for v in (x, y)])
    high = np.column_stack([np.maximum.reduceat(v, ring[:-1]) for v in (x, y)])
    return Shapes(x, y, ring, np.hstack((low, high)), np.array(layer, np.int64))


def _passes(ring: FloatArray, ways_out: Flat) -> bool:
    """Whether a strip may leave the room by a door or window: there the checks cut it off."""
    return bool(overlapping(*flatten((ring,)), *ways_out))


@unit
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


@bare
def moulds_clash(s: Shapes, m: Moulds, planes: Planes, one: int, two: int, out: Singles) -> None:
    """Write infinity into ``out`` where spots of two moulds clash in a layer that moves with its thing."""
    for begin in range(m.start[one], m.start[one + 1], TILE):
        end = min(begin + TILE, m.start[one + 1])
        for u in range(m.start[two], m.start[two + 1]):
            b = m.order[u]
            bx, by = m.at[b, 0], m.at[b, 1]
            # A few spots of the first thing at a time, so that both writes stay near each other.
            for v in range(begin, end):
                a = m.order[v]
                dx, dy = bx - m.at[a, 0], by - m.at[a, 1]
                if (
                    planes.reach[0] < dx < planes.reach[2]
                    and planes.reach[1] < dy < planes.reach[3]
                    and moulds_meet(s, m, planes, a, b, dx, dy)
                ):
                    out[a, b] = np.inf
                    out[b, a] = np.inf


@bare
def moulds_meet(s: Shapes, m: Moulds, planes: Planes, a: int, b: int, dx: float, dy: float) -> bool:
    """Whether spots a and b, (dx, dy) apart, clash in a layer that moves with its thing."""
    for k in range(len(planes.which)):
        depth = depth_of(planes, k, dx, dy)
        if depth < TOLERANCE - CLEAR:
            continue
        way, part = planes.which[k, 0], planes.which[k, 1]
        one, two = (a, b) if way == 1 else (b, a)
        if part == STOCK and m.cut[two]:
            continue
        if depth > TOLERANCE + CLEAR:
            return True
        i = s.layer[LAYERS * one + BODY] + planes.which[k, 2]
        j = s.layer[LAYERS * two + part] + planes.which[k, 3]
        if convex_depth(s.x, s.y, s.ring[i], s.ring[i + 1], s.x, s.y, s.ring[j], s.ring[j + 1]) > TOLERANCE:
            return True
    return False


@inner
def others_clash(
    s: Shapes, m: Moulds, one: int, two: int, blocks_a: Bools, blocks_b: Bools, out: Singles
) -> None:
    """Write infinity into ``out`` where spots of two moulds clash in a layer that is each spot's own."""
    every = blocks_a[WAY] or blocks_b[WAY] or blocks_a[APPROACH] or blocks_b[APPROACH]
    for v in range(m.start[one], m.start[one + 1]):
        a = m.order[v]
        for u in range(m.start[two], m.start[two + 1]):
            b = m.order[u]
            asked = (every or m.cut[a] or m.cut[b]) and out[a, b] < np.inf
            if asked and others_meet(s, m, a, b, blocks_a, blocks_b):
                out[a, b] = np.inf
                out[b, a] = np.inf


@inner
def others_meet(s: Shapes, m: Moulds, a: int, b: int, blocks_a: Bools, blocks_b: Bools) -> bool:
    """Whether spots a and b clash in a layer that is each spot's own."""
    if (blocks_a[STOCK] and m.cut[b] and layers_meet(s, a, BODY, b, STOCK)) or (
        blocks_b[STOCK] and m.cut[a] and layers_meet(s, b, BODY, a, STOCK)
    ):
        return True
    if (blocks_a[WAY] and layers_meet(s, a, BODY, b, WAY)) or (
        blocks_b[WAY] and layers_meet(s, b, BODY, a, WAY)
    ):
        return True
    return (blocks_a[APPROACH] and shut_off(s, b, a)) or (blocks_b[APPROACH] and shut_off(s, a, b))


@entry
def clash_block(
    s: Shapes,
    m: Moulds,
    first_a: int,
    last_a: int,
    first_b: int,
    last_b: int,
    blocks_a: Bools,
    blocks_b: Bools,
    out: Singles,
) -> None:
    """Write infinity into ``out`` (all spots square, symmetric) where spots of two things clash.

    ``blocks_a[l]``: a's footprint may not enter layer l of b.
    """
    for one in range(m.of[first_a:last_a].min(), m.of[first_a:last_a].max() + 1):
        for two in range(m.of[first_b:last_b].min(), m.of[first_b:last_b].max() + 1):
            planes = planes_between(m, one, two, blocks_a, blocks_b)
            moulds_clash(s, m, planes, one, two, out)
            others_clash(s, m, one, two, blocks_a, blocks_b, out)


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


@inner
def boxes_gap(s: Shapes, rings_a: tuple[int, int], rings_b: tuple[int, int]) -> float:
    """The least straight line between the boxes round two ranges of rings."""
    least = np.inf
    for i in range(rings_a[0], rings_a[1]):
        for j in range(rings_b[0], rings_b[1]):
            dx = max(0.0, s.box[i, 0] - s.box[j, 2], s.box[j, 0] - s.box[i, 2])
            dy = max(0.0, s.box[i, 1] - s.box[j, 3], s.box[j, 1] - s.box[i, 3])
            least = min(least, math.hypot(dx, dy))
    return least


@entry
def apart_block(
    s: Shapes, first_a: int, last_a: int, first_b: int, last_b: int, least: float, out: Singles
) -> None:
    """Write infinity into ``out`` where footprints are nearer than ``least`` metres in a straight line."""
    for a in range(first_a, last_a):
        rings_a = s.layer[LAYERS * a], s.layer[LAYERS * a + 1]
        for b in range(first_b, last_b):
            rings_b = s.layer[LAYERS * b], s.layer[LAYERS * b + 1]
            # Boxes that far apart settle it: footprints are no nearer than the boxes round them.
            if out[a, b] < np.inf and boxes_gap(s, rings_a, rings_b) < least:
                ring_a, ring_b = s.ring[rings_a[0] : rings_a[1] + 1], s.ring[rings_b[0] : rings_b[1] + 1]
                if union_nearest(s.x, s.y, ring_a, s.x, s.y, ring_b)[0] < least - TOLERANCE:
                    out[a, b] = np.inf
                    out[b, a] = np.inf


def least_gap(ground: Ground, one: Thing, two: Thing, strict: bool) -> float:
    """Metres that hazards must stand apart where the file, or ``strict``, makes that a must; 0 without."""
    return least_apart(ground, one, two, strict)
