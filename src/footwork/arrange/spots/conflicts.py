"""Which spots of two things cannot be used together: the geometry checks between things, compiled.

A spot's shapes are convex rings by layer (``layers.py``).  Two spots clash when a footprint sinks into the
other's footprint or hard layer (strips that must stay free), into its stock layer unless it is low enough
for stock to pass above; for a vehicle, into the space round it or its way in unless it is on castors; each
unless one of the two hangs high enough for the other to be below it.  For a
wheelchair they clash too when one footprint lies in every approach to the other.  The predicate is that of
the checks (``floor.solid.convex_depth`` and the one tolerance).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats, Ints, Longs, Singles
from footwork.arrange.core.slack import CLEAR
from footwork.arrange.spots.enumerate import SpotList, first_spots
from footwork.arrange.spots.layers import (
    APPROACH,
    BODY,
    MOVING,
    STOCK,
    WAY,
    MovingRings,
    Thing,
    moving_rings,
    openings,
    wheelchair_must,
)
from footwork.arrange.spots.minkowski import (
    Difference,
    Rings,
    Templates,
    TemplateSpots,
    depth_of,
    difference_of,
    make_rings,
    spots_by_template,
)
from footwork.arrange.spots.overlaps import hits
from footwork.checks.ground import Ground, Placed
from footwork.checks.strips import stock_inside
from footwork.checks.vehicles import corridor
from footwork.checks.wheelchair import approaches
from footwork.compiled.functions import bare, entry, inner, unit
from footwork.compiled.records import record
from footwork.floor.overlap import flatten
from footwork.floor.shapes import FloatArray, Pieces
from footwork.floor.solid import convex_depth, union_nearest
from footwork.model.scenario import TOLERANCE, Placement, Scenario, Vehicle

TILE = 16
"""Spots whose rows are written together."""
LAYERS = APPROACH + 8
"""Layers of a spot: a wheelchair may come to each of four sides alongside or head on."""


@record
class SpotRings(NamedTuple):
    """Rings of all spots where they stand; ring r lies in the box from ``low[r]`` to ``high[r]`` (x, y).

    Layer l of spot s has the rings ``layer[LAYERS s + l]:layer[LAYERS s + l + 1]``.
    """

    rings: Rings
    low: Floats
    high: Floats
    layer: Longs


@record
class Shapes(NamedTuple):
    """All that says whether spots clash.

    ``spots`` their rings; ``templates`` those of each thing in each facing, and ``of`` which spot has which;
    ``at`` (spots, 2) where each stands; ``own_stock`` (spots,): the spot's stock is not that of its template;
    ``first`` (things + 1,) where each thing's spots begin.
    """

    spots: SpotRings
    templates: Templates
    of: TemplateSpots
    at: Floats
    own_stock: Bools
    first: Ints


class _Template(NamedTuple):
    """A thing in one facing: the number of its template, its rings and those of a wheelchair's approaches.

    ``left`` of them at its positions, in order: whether stock leaves the room by a door or window, where the
    checks cut it off, and which approaches the building leaves free.
    """

    number: int
    moving: MovingRings
    ways: tuple[Pieces, ...]
    left: Iterator[tuple[bool, Sequence[bool]]]


class _Cast:
    """Gathers the shapes of every spot, thing by thing."""

    def __init__(self, scenario: Scenario, strict: bool) -> None:
        self.ground, self.strict = Ground(scenario), strict
        self.chair = wheelchair_must(scenario, strict)
        self.ways_out = flatten(tuple(openings(self.ground)))
        self.rings: list[FloatArray] = []
        self.layer = [0]
        self.template_rings: list[FloatArray] = []
        self.template_layer = [0]
        self.template_of: list[int] = []
        self.own_stock: list[bool] = []

    def add(self, spots: SpotList, model: int) -> None:
        """Templates of one thing, and the rings of its spots: those from spot ``model`` on, if there are such
        already."""
        spot = len(self.own_stock)
        known: dict[float, _Template] = {}
        for p in spots.placements:
            if p.facing not in known:
                at = np.array([other.at for other in spots.placements if other.facing == p.facing])
                known[p.facing] = self._template(spots.thing, p.facing, at)
            template = known[p.facing]
            self.template_of.append(template.number)
            leaves, free = next(template.left)
            if model < spot:
                self._again(model)
                model += 1
            else:
                self._spot(Placed(spots.thing, p), template, leaves, free)

    def _template(self, thing: Thing, facing: float, at: FloatArray) -> _Template:
        """The rings of a thing in one facing, and what the building leaves of them at its positions."""
        number = len(self.template_layer) // MOVING
        moving = moving_rings(self.ground, thing, facing, self.strict)
        for rings in moving:
            self.template_rings += rings
            self.template_layer.append(len(self.template_rings))
        ways = list(approaches(Placed(thing, Placement(0.0, 0.0, facing)))) if self.chair else []
        leaves = hits(moving.stock, at, self.ways_out).tolist()
        free = np.array([~hits(way.pieces, at, self.ground.hard.flat) for way in ways], np.bool_)
        by_position = free.reshape(len(ways), len(at)).T.tolist()
        left = zip(leaves, by_position, strict=True)
        return _Template(number, moving, tuple(way.pieces for way in ways), left)

    def _again(self, spot: int) -> None:
        """The rings of a spot once more."""
        self.own_stock.append(self.own_stock[spot])
        begin = self.layer[LAYERS * spot : LAYERS * (spot + 1) + 1]
        more = len(self.rings) - begin[0]
        self.rings += self.rings[begin[0] : begin[-1]]
        self.layer += [k + more for k in begin[1:]]

    def _spot(self, placed: Placed, template: _Template, leaves: bool, free: Sequence[bool]) -> None:
        """Rings of one spot, and the layers that do not move with its thing."""
        shift = np.array(placed.placement.at)
        own = [[ring + shift for ring in rings] for rings in template.moving]
        self.own_stock.append(leaves)
        if leaves:
            inside = [stock_inside(self.ground, placed, claim) for claim in placed.stock]
            own[STOCK] = [ring for claim in inside for ring in claim.body.pieces]
        way = corridor(self.ground, placed) if isinstance(placed.thing, Vehicle) else None
        own.append([] if way is None else list(way.pieces))
        ways = [[r + shift for r in way] for way, is_free in zip(template.ways, free, strict=True) if is_free]
        own += ways + [[]] * (LAYERS - APPROACH - len(ways))
        for ring_list in own:
            self.rings += ring_list
            self.layer.append(len(self.rings))


def spot_shapes(scenario: Scenario, lists: Sequence[SpotList], like: Sequence[int], strict: bool) -> Shapes:
    """The shapes of every spot, in the order of the lists.

    ``like`` says whose shapes each thing has, its own or those of one before it (``enumerate.models``).
    """
    cast, first = _Cast(scenario, strict), first_spots(lists)
    for spots, model in zip(lists, like, strict=True):
        cast.add(spots, int(first[model]))
    return Shapes(
        spots=_spot_rings(cast.rings, cast.layer),
        templates=Templates(make_rings(cast.template_rings), np.array(cast.template_layer, np.int64)),
        of=spots_by_template(cast.template_of, len(cast.template_layer) // MOVING),
        at=np.array([p.at for spots in lists for p in spots.placements]).reshape(-1, 2),
        own_stock=np.array(cast.own_stock, np.bool_),
        first=first,
    )


def _spot_rings(rings: Sequence[FloatArray], layer: Sequence[int]) -> SpotRings:
    flat = make_rings(rings)
    low = np.column_stack([np.minimum.reduceat(v, flat.start[:-1]) for v in (flat.x, flat.y)])
    high = np.column_stack([np.maximum.reduceat(v, flat.start[:-1]) for v in (flat.x, flat.y)])
    return SpotRings(flat, low, high, np.array(layer, np.int64))


@bare
def rings_meet(rings: Rings, i: int, j: int) -> bool:
    """Whether two rings sink into each other by more than the tolerance."""
    x, y, start = rings.x, rings.y, rings.start
    return convex_depth(x, y, start[i], start[i + 1], x, y, start[j], start[j + 1]) > TOLERANCE


@unit
def layers_meet(s: SpotRings, a: int, layer_a: int, b: int, layer_b: int) -> bool:
    """Whether a layer of spot a and one of spot b overlap."""
    for i in range(s.layer[LAYERS * a + layer_a], s.layer[LAYERS * a + layer_a + 1]):
        for j in range(s.layer[LAYERS * b + layer_b], s.layer[LAYERS * b + layer_b + 1]):
            if (
                s.low[i, 0] < s.high[j, 0]
                and s.low[j, 0] < s.high[i, 0]
                and s.low[i, 1] < s.high[j, 1]
                and s.low[j, 1] < s.high[i, 1]
                and rings_meet(s.rings, i, j)
            ):
                return True
    return False


@inner
def shut_off(s: SpotRings, a: int, b: int) -> bool:
    """Whether spot b's footprint lies in every approach that the building leaves to spot a."""
    for layer in range(APPROACH, LAYERS):
        if s.layer[LAYERS * a + layer] == s.layer[LAYERS * a + layer + 1]:
            return layer > APPROACH
        if not layers_meet(s, b, BODY, a, layer):
            return False
    return True


@bare
def templates_clash(s: Shapes, between: Difference, one: int, two: int, out: Singles) -> None:
    """Write infinity into ``out`` where spots of two templates clash in a layer that moves with its thing."""
    order, start, at, low, high = s.of.order, s.of.start, s.at, between.low, between.high
    for begin in range(start[one], start[one + 1], TILE):
        end = min(begin + TILE, start[one + 1])
        for u in range(start[two], start[two + 1]):
            b = order[u]
            bx, by = at[b, 0], at[b, 1]
            # A few spots of the first thing at a time, so that both writes stay near each other.
            for v in range(begin, end):
                a = order[v]
                dx, dy = bx - at[a, 0], by - at[a, 1]
                if (
                    low[0] < dx < high[0]
                    and low[1] < dy < high[1]
                    and templates_meet(s, between, a, b, dx, dy)
                ):
                    out[a, b] = np.inf
                    out[b, a] = np.inf


@bare
def templates_meet(s: Shapes, between: Difference, a: int, b: int, dx: float, dy: float) -> bool:
    """Whether spots a and b, (dx, dy) apart, clash in a layer that moves with its thing."""
    pairs, spots = between.pairs, s.spots
    for k in range(len(pairs.layer)):
        depth = depth_of(between.planes, k, dx, dy)
        if depth < TOLERANCE - CLEAR:
            continue
        layer = pairs.layer[k]
        one, two = (a, b) if pairs.first_enters[k] else (b, a)
        if layer == STOCK and s.own_stock[two]:
            continue
        if depth > TOLERANCE + CLEAR:
            return True
        i = spots.layer[LAYERS * one + BODY] + pairs.body_ring[k]
        j = spots.layer[LAYERS * two + layer] + pairs.layer_ring[k]
        if rings_meet(spots.rings, i, j):
            return True
    return False


@inner
def others_clash(s: Shapes, one: int, two: int, forbidden_a: Bools, forbidden_b: Bools, out: Singles) -> None:
    """Write infinity into ``out`` where spots of two templates clash in a layer that is each spot's own."""
    every = forbidden_a[WAY] or forbidden_b[WAY] or forbidden_a[APPROACH] or forbidden_b[APPROACH]
    order, start, own_stock = s.of.order, s.of.start, s.own_stock
    for v in range(start[one], start[one + 1]):
        a = order[v]
        for u in range(start[two], start[two + 1]):
            b = order[u]
            asked = (every or own_stock[a] or own_stock[b]) and out[a, b] < np.inf
            if asked and others_meet(s, a, b, forbidden_a, forbidden_b):
                out[a, b] = np.inf
                out[b, a] = np.inf


@inner
def others_meet(s: Shapes, a: int, b: int, forbidden_a: Bools, forbidden_b: Bools) -> bool:
    """Whether spots a and b clash in a layer that is each spot's own."""
    spots, own_stock = s.spots, s.own_stock
    if (forbidden_a[STOCK] and own_stock[b] and layers_meet(spots, a, BODY, b, STOCK)) or (
        forbidden_b[STOCK] and own_stock[a] and layers_meet(spots, b, BODY, a, STOCK)
    ):
        return True
    if (forbidden_a[WAY] and layers_meet(spots, a, BODY, b, WAY)) or (
        forbidden_b[WAY] and layers_meet(spots, b, BODY, a, WAY)
    ):
        return True
    return (forbidden_a[APPROACH] and shut_off(spots, b, a)) or (
        forbidden_b[APPROACH] and shut_off(spots, a, b)
    )


@entry
def clash_block(s: Shapes, i: int, j: int, forbidden_a: Bools, forbidden_b: Bools, out: Singles) -> None:
    """Write infinity into ``out`` (all spots square, symmetric) where spots of things i and j clash.

    ``forbidden_a[l]``: the footprint of thing i may not enter layer l of thing j.
    """
    of_a = s.of.template[s.first[i] : s.first[i + 1]]
    of_b = s.of.template[s.first[j] : s.first[j + 1]]
    for one in range(of_a.min(), of_a.max() + 1):
        for two in range(of_b.min(), of_b.max() + 1):
            between = difference_of(s.templates, one, two, forbidden_a, forbidden_b)
            templates_clash(s, between, one, two, out)
            others_clash(s, one, two, forbidden_a, forbidden_b, out)


@inner
def boxes_gap(s: SpotRings, a: int, b: int) -> float:
    """The least straight line between the boxes round the rings of two spots' footprints."""
    least = np.inf
    for i in range(s.layer[LAYERS * a + BODY], s.layer[LAYERS * a + BODY + 1]):
        for j in range(s.layer[LAYERS * b + BODY], s.layer[LAYERS * b + BODY + 1]):
            dx = max(0.0, s.low[i, 0] - s.high[j, 0], s.low[j, 0] - s.high[i, 0])
            dy = max(0.0, s.low[i, 1] - s.high[j, 1], s.low[j, 1] - s.high[i, 1])
            least = min(least, math.hypot(dx, dy))
    return least


@inner
def footprints_gap(s: SpotRings, a: int, b: int) -> float:
    """The least straight line between two spots' footprints."""
    x, y, start = s.rings.x, s.rings.y, s.rings.start
    rings_a = start[s.layer[LAYERS * a + BODY] : s.layer[LAYERS * a + BODY + 1] + 1]
    rings_b = start[s.layer[LAYERS * b + BODY] : s.layer[LAYERS * b + BODY + 1] + 1]
    return union_nearest(x, y, rings_a, x, y, rings_b)[0]


@entry
def apart_block(
    s: SpotRings, first_a: int, last_a: int, first_b: int, last_b: int, least: float, out: Singles
) -> None:
    """Write infinity into ``out`` where footprints are nearer than ``least`` metres in a straight line."""
    for a in range(first_a, last_a):
        for b in range(first_b, last_b):
            # Boxes that far apart settle it: footprints are no nearer than the boxes round them.
            near = out[a, b] < np.inf and boxes_gap(s, a, b) < least
            if near and footprints_gap(s, a, b) < least - TOLERANCE:
                out[a, b] = np.inf
                out[b, a] = np.inf


@entry
def gap_block(
    s: SpotRings, first_a: int, last_a: int, first_b: int, last_b: int, limit: float, out: Floats
) -> None:
    """Write the straight lines between footprints that are less than ``limit`` metres, (spots, spots)."""
    for a in range(first_a, last_a):
        for b in range(first_b, last_b):
            if boxes_gap(s, a, b) < limit:
                out[a - first_a, b - first_b] = footprints_gap(s, a, b)
