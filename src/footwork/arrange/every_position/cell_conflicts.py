"""What holds for every position of a cell: that the building refuses it, that two things always clash.

Two convex rings overlap wherever their cells let them stand when their least overlap in the middle of the
cells, over the normals of both (separating axes), is more than what the cells move them along that normal
and what turning moves their corners.  So a cell is refused, or a pair of cells, only when every position
in them is: the predicate is that of the checks.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats, Longs
from footwork.arrange.core.slack import OPENING_FURTHER
from footwork.arrange.every_position.cells import Cells
from footwork.arrange.spots.layers import (
    WAY,
    MovingRings,
    Thing,
    building_rules,
    forbidden_layers,
    is_must,
    layers,
    moving_rings,
    openings,
)
from footwork.checks.apart import least_apart
from footwork.checks.ground import Body, Ground, Placed
from footwork.checks.standing import PLACING, WITHIN, nearest_named, nearest_wall
from footwork.checks.vehicles import margin
from footwork.floor import shapes
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import TOLERANCE, Placement, Station, Vehicle


@dataclass(frozen=True, eq=False)
class Kind:
    """Cells of one thing that differ in where they lie alone.

    ``number`` is the kind's own among the thing's, ``cells`` are the numbers of the cells, ``at`` (cells, 2)
    their middles, ``half`` (2, 2) and ``turn`` as in ``Cells``; ``rings`` lie about the origin.
    """

    thing: Thing
    number: int
    cells: Longs
    at: Floats
    facing: float
    half: Floats
    turn: float
    rings: MovingRings

    @cached_property
    def spread(self) -> float:
        """Metres from the middle of a cell to its furthest corner."""
        return float(max(np.hypot(*(self.half[0] + s * self.half[1])) for s in (1.0, -1.0)))

    def swing(self, ring: FloatArray) -> float:
        """Metres that turning moves a corner of a ring at most."""
        return float(np.hypot(*ring.T).max() * 2.0 * np.sin(0.5 * self.turn))


def kinds(ground: Ground, cells: Cells, strict: bool) -> list[Kind]:
    """The cells sorted by what they have in common."""
    thing = cells.thing
    rows = np.column_stack((cells.facing, cells.half.reshape(-1, 4), cells.turn))
    unlike, which = np.unique(rows.round(9), axis=0, return_inverse=True)
    found: list[Kind] = []
    for k in range(len(unlike)):
        mine = np.nonzero(which.ravel() == k)[0]
        first = int(mine[0])
        facing = float(cells.facing[first])
        whole = Kind(
            thing,
            number=0,
            cells=mine,
            at=cells.at[mine],
            facing=facing,
            half=cells.half[first],
            turn=float(cells.turn[first]),
            rings=moving_rings(ground, thing, facing, strict),
        )
        passes = _may_pass(ground, whole)
        for part, stock in ((~passes, whole.rings.stock), (passes, ())):
            if part.any():
                rings = whole.rings._replace(stock=stock)
                found.append(
                    replace(whole, number=len(found), cells=mine[part], at=whole.at[part], rings=rings)
                )
    return found


def least_overlap(
    one: FloatArray, two: FloatArray, dx: Floats, dy: Floats, halves: Sequence[FloatArray], swing: float
) -> Floats:
    """What two rings overlap at least, wherever they stand; negative where they may be apart.

    dx, dy  where the second lies from the first, in the middle; any shape, which the result has
    halves  half vectors of the cells of both;  ``swing`` what turning moves the corners of both, in all
    """
    least: Floats = np.full(np.broadcast(dx, dy).shape, np.inf)
    for ring, other, sign in ((one, two, 1.0), (two, one, -1.0)):
        normals = _normals(ring.tobytes())
        reach = (ring @ normals.T).max(axis=0) - (other @ normals.T).min(axis=0)
        for half in halves:
            reach = reach - np.abs(half @ normals.T).sum(axis=0)
        for (x, y), most in zip((sign * normals).tolist(), reach.tolist(), strict=True):
            np.minimum(least, most - (x * dx + y * dy), out=least)
    return least - swing


@lru_cache(maxsize=4096)
def _normals(ring: bytes) -> FloatArray:
    """Outward unit normals of a ring (its corners as bytes); both of a segment's."""
    corners = np.frombuffer(ring, np.float64).reshape(-1, 2)
    edges = np.roll(corners, -1, axis=0) - corners
    lengths = np.hypot(*edges.T)
    found: FloatArray = (np.column_stack((edges[:, 1], -edges[:, 0])) / lengths[:, None])[lengths > 0.0]
    return found


# --- one cell and the building


def possible(ground: Ground, cells: Cells, strict: bool) -> Bools:
    """Which cells the building does not refuse altogether."""
    keep = np.ones(len(cells), np.bool_)
    for kind in kinds(ground, cells, strict):
        if kind.spread == 0.0 and kind.turn == 0.0:
            continue  # a placement of the list of spots: checked already, or kept whatever it is
        refused = np.zeros(len(kind.cells), np.bool_)
        parts = layers(kind.thing, Placement(0.0, 0.0, kind.facing))
        for rule in building_rules(ground, kind.thing, strict):
            # A rooted layer is the same and more: what a cell's layer is always in, that is too.
            rings = [ring for layer, ring in parts if layer == rule.layer]
            for body in rule.bodies if rings else ():
                refused |= _always_in(kind, rings, body)
        refused |= _too_far(ground, kind, strict)
        keep[kind.cells[refused]] = False
    return keep


def _always_in(kind: Kind, rings: Iterable[FloatArray], body: Body) -> Bools:
    x, y = -kind.at[:, 0], -kind.at[:, 1]
    found = np.zeros(len(kind.at), np.bool_)
    for ring in rings:
        for piece in body.pieces:
            found |= least_overlap(ring, piece, x, y, (kind.half,), kind.swing(ring)) > TOLERANCE
    return found


def _too_far(ground: Ground, kind: Kind, strict: bool) -> Bools:
    """Cells wholly out of reach of what the thing is tied to, or an island's too near a wall."""
    thing, scenario = kind.thing, ground.scenario
    found = np.zeros(len(kind.at), np.bool_)
    if not isinstance(thing, Station):
        return found
    slack = kind.spread + max(kind.swing(ring) for ring in kind.rings.body) + TOLERANCE
    island = thing.placing == "island" and is_must(scenario, PLACING.id, strict)
    within = thing.within if is_must(scenario, WITHIN.id, strict) else ()
    if not island and not within:
        return found
    for k, (x, y) in enumerate(kind.at.tolist()):
        placed = Placed(thing, Placement(x, y, kind.facing))
        found[k] = any(nearest_named(ground, placed, name) > longest + slack for name, longest in within)
        if island and not found[k]:
            found[k] = nearest_wall(ground.room, placed)[0] + slack < scenario.walker.width
    return found


# --- two cells


def always_apart(ground: Ground, one: Kind, two: Kind, strict: bool) -> Bools:
    """Which cells, (cells of one, cells of two), clash wherever in them the two things stand, by what
    depends on where both are: the way in of a vehicle, and hazards that must keep a distance.
    """
    found: Bools = np.zeros((len(one.cells), len(two.cells)), np.bool_)
    if forbidden_layers(ground, one.thing, two.thing, strict)[WAY]:
        _in_the_way(ground, one, two, found)
    if forbidden_layers(ground, two.thing, one.thing, strict)[WAY]:
        _in_the_way(ground, two, one, found.T)
    gap = least_apart(ground, one.thing, two.thing, strict)
    if gap > 0.0:
        dx, dy = (two.at[None, :, k] - one.at[:, None, k] for k in (0, 1))
        found |= widest_gap(one, two, dx, dy, one.spread + two.spread) < gap - TOLERANCE
    return found


def _may_pass(ground: Ground, kind: Kind) -> Bools:
    """Cells in which long stock may leave the room by a door or window: there the checks cut it off."""
    found = np.zeros(len(kind.at), np.bool_)
    x, y = -kind.at[:, 0], -kind.at[:, 1]
    for ring in kind.rings.stock:
        for opening in openings(ground):
            near = least_overlap(ring, opening, x, y, (), 0.0)
            # Negative, it is less than the gap; the rest is all that can bring the two together.
            found |= near > -(kind.spread + kind.swing(ring) + OPENING_FURTHER)
    return found


def _in_the_way(ground: Ground, one: Kind, vehicle: Kind, found: Bools) -> None:
    """Set ``found`` where a thing always stands in the way in of a vehicle."""
    thing = vehicle.thing
    assert isinstance(thing, Vehicle)
    door = ground.room.door(thing.door)
    along = np.subtract(door.end, door.start) / door.width
    inward = np.array(door.inward)
    body = shapes.footprint(thing, Placement(0.0, 0.0, vehicle.facing))
    swing = vehicle.swing(body)
    less = float(np.abs(vehicle.half @ along).sum()) + swing
    short = float(np.abs(vehicle.half @ inward).sum()) + swing
    low, high = float((body @ along).min()), float((body @ along).max())
    deep, aside = float((body @ inward).max()), margin(ground)
    for k, at in enumerate(vehicle.at - np.array(door.start)):
        across, into = float(at @ along), float(at @ inward)
        start, end = across + low - aside + less, across + high + aside - less
        far = into + deep - short
        if end - start <= TOLERANCE or far <= TOLERANCE:
            continue
        corners = np.array([(start, 0.0), (end, 0.0), (end, far), (start, far)])
        lane = corners @ np.array([along, inward]) + np.array(door.start)
        if shapes.signed_area(lane) < 0:
            lane = lane[::-1]
        for ring in one.rings.body:
            x, y = -one.at[:, 0], -one.at[:, 1]
            found[:, k] |= least_overlap(ring, lane, x, y, (one.half,), one.swing(ring)) > TOLERANCE


def widest_gap(one: Kind, two: Kind, dx: Floats, dy: Floats, spread: float) -> Floats:
    """Metres that the gap between two footprints is at most, by their corners and the middles of sides.

    dx, dy  where the second lies from the first, in the middle;  ``spread`` how far it may be from there
    """
    nearest: Floats = np.full(np.broadcast(dx, dy).shape, np.inf)
    marks = []
    for kind in (one, two):
        corners = np.concatenate(kind.rings.body)
        middles = [0.5 * (ring + np.roll(ring, -1, axis=0)) for ring in kind.rings.body]
        marks.append(np.concatenate([corners, *middles]))
    for px, py in marks[0]:
        for qx, qy in marks[1]:
            np.minimum(nearest, np.hypot(dx + qx - px, dy + qy - py), out=nearest)
    return nearest + (spread + sum(max(kind.swing(ring) for ring in kind.rings.body) for kind in (one, two)))
