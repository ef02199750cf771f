"""Spots as obstacles and standing places in flat arrays, to be stamped into a scene by compiled code.

A scene for compiled code is ``floor.kernel.Arrays``: the building first, then one *slot* a thing.  A
slot's arrays are overwritten when the thing changes its spot (``stamp``) and pushed out of reach when it
is not on the floor (``take_off``), so that no scene is ever built anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Longs
from footwork.arrange.spots.enumerate import SpotList
from footwork.compiled.functions import bare_unit, entry
from footwork.compiled.records import record
from footwork.floor import shapes
from footwork.floor.contact import Arrays
from footwork.floor.headroom import overhead
from footwork.floor.scene import Obstacle, pack
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import Placement, Scenario, Side, Station, Vehicle

FAR = 1e9
"""Metres to where the pieces of a thing lie that is not on the floor: no walk comes near."""


@record
class Stamps(NamedTuple):
    """Templates as obstacles: all things in all facings, about the origin.

    Those of template t begin at ``vertex[t]``, ``piece[t]`` and ``corner[t]`` in ``arrays``; spot s is
    ``template[s]`` moved to ``at[s]``.
    """

    arrays: Arrays
    vertex: Longs
    piece: Longs
    corner: Longs
    template: Longs
    at: FloatArray


@record
class Slots(NamedTuple):
    """Where each thing's vertices, pieces and corners begin in a scene's arrays, shape (things,)."""

    vertex: Longs
    piece: Longs
    corner: Longs


@record
class SlotScene(NamedTuple):
    """A scene with a slot for each of some things, and what can be stamped into the slots."""

    arrays: Arrays
    slots: Slots
    stamps: Stamps


@record
class Places(NamedTuple):
    """Standing places of all spots: those of spot s are ``start[s]:start[s + 1]``.

    ``at`` and ``out`` (n, 2): where the walker stands and the unit vector away from the face.
    """

    at: FloatArray
    out: FloatArray
    start: Longs


def sides_of(scenario: Scenario, thing: Station | Vehicle) -> tuple[Side, ...]:
    """Sides a thing is worked from, then others that a route names."""
    named = [v.side for job in scenario.jobs for v in job.route if v.side and thing.name in v.members]
    return tuple(dict.fromkeys([*thing.stand, *named]))


def obstacle(thing: Station | Vehicle, placement: Placement) -> Obstacle:
    """A thing as an obstacle: one without pieces where people walk below it."""
    if overhead(thing):
        return Obstacle(thing.name, (), ())
    return Obstacle.from_ring(thing.name, shapes.footprint(thing, placement), shapes.pieces(thing, placement))


def make_stamps(lists: Sequence[SpotList]) -> Stamps:
    """One template for each thing and facing among the spots."""
    numbers: dict[tuple[str, float], int] = {}
    obstacles: list[Obstacle] = []
    template: list[int] = []
    for spots in lists:
        for p in spots.placements:
            key = (spots.thing.name, p.facing)
            if key not in numbers:
                numbers[key] = len(obstacles)
                obstacles.append(obstacle(spots.thing, Placement(0.0, 0.0, p.facing)))
            template.append(numbers[key])
    arrays = pack(obstacles)
    vertex, piece = starts(arrays, len(obstacles))
    at = np.array([p.at for spots in lists for p in spots.placements], dtype=np.float64).reshape(-1, 2)
    return Stamps(arrays, vertex, piece, arrays.first.copy(), np.array(template, np.int64), at)


def make_places(scenario: Scenario, lists: Sequence[SpotList]) -> Places:
    """Standing places of every spot, by side in the order of ``sides_of``."""
    at: list[FloatArray] = []
    out: list[FloatArray] = []
    start = [0]
    for spots in lists:
        sides = sides_of(scenario, spots.thing)
        known: dict[float, tuple[FloatArray, FloatArray]] = {}
        for p in spots.placements:
            if p.facing not in known:
                origin = Placement(0.0, 0.0, p.facing)
                found = shapes.standing_places(spots.thing, origin, scenario.walker.width, sides)
                # A thing that nobody works at has no places: two empty arrays of pairs.
                known[p.facing] = (
                    np.array([f.at for f in found]).reshape(-1, 2),
                    np.array([f.outward for f in found]).reshape(-1, 2),
                )
            where, outward = known[p.facing]
            at.append(where + np.array(p.at))
            out.append(outward)
            start.append(start[-1] + len(where))
    return Places(np.concatenate(at), np.concatenate(out), np.array(start, np.int64))


def place_numbers(scenario: Scenario, thing: Station | Vehicle, side: Side | None) -> Longs:
    """Which of a spot's places serve a visit that names ``side``, or none."""
    sides = sides_of(scenario, thing)
    origin = Placement(0.0, 0.0, 0.0)
    found = shapes.standing_places(thing, origin, scenario.walker.width, sides)
    wanted = thing.stand if side is None else (side,)
    return np.array([k for k, place in enumerate(found) if place.side in wanted], np.int64)


def make_scene(building: Sequence[Obstacle], things: Sequence[Station | Vehicle]) -> tuple[Arrays, Slots]:
    """Arrays of the building with a slot for each of ``things``, and where the slots are."""
    origin = Placement(0.0, 0.0, 0.0)
    arrays = pack((*building, *(obstacle(t, origin) for t in things)))
    vertex, piece = starts(arrays, len(building) + len(things))
    n = len(building)
    return arrays, Slots(vertex[n:-1], piece[n:-1], arrays.first[n:-1].copy())


def starts(arrays: Arrays, obstacles: int) -> tuple[Longs, Longs]:
    """Where each obstacle's vertices and pieces begin, shape (obstacles + 1,)."""
    piece = np.searchsorted(arrays.span[:, 2], np.arange(obstacles + 1)).astype(np.int64)
    starts = np.append(arrays.span[:, 0], len(arrays.vert)).astype(np.int64)
    return starts[piece], piece


@entry
def copied(arrays: Arrays) -> Arrays:
    """A scene of its own for a thread, or a node of the tree, to stamp on."""
    return Arrays(
        arrays.vert.copy(),
        arrays.ball.copy(),
        arrays.box.copy(),
        arrays.span.copy(),
        arrays.corner.copy(),
        arrays.first.copy(),
    )


@bare_unit
def stamp(scene: Arrays, slots: Slots, thing: int, stamps: Stamps, spot: int) -> None:
    """Put a thing on a spot."""
    s, t = stamps.arrays, stamps.template[spot]
    x, y = stamps.at[spot, 0], stamps.at[spot, 1]
    a, shift = stamps.vertex[t], slots.vertex[thing] - stamps.vertex[t]
    for v in range(a, stamps.vertex[t + 1]):
        scene.vert[v + shift, 0] = s.vert[v, 0] + x
        scene.vert[v + shift, 1] = s.vert[v, 1] + y
        scene.vert[v + shift, 2] = s.vert[v, 2]
        scene.vert[v + shift, 3] = s.vert[v, 3]
        scene.vert[v + shift, 4] = s.vert[v, 4] + s.vert[v, 2] * x + s.vert[v, 3] * y
    shift = slots.piece[thing] - stamps.piece[t]
    for p in range(stamps.piece[t], stamps.piece[t + 1]):
        scene.ball[p + shift, 0] = s.ball[p, 0] + x
        scene.ball[p + shift, 1] = s.ball[p, 1] + y
        scene.ball[p + shift, 2] = s.ball[p, 2]
        scene.box[p + shift, 0] = s.box[p, 0] + x
        scene.box[p + shift, 1] = s.box[p, 1] + y
        scene.box[p + shift, 2] = s.box[p, 2] + x
        scene.box[p + shift, 3] = s.box[p, 3] + y
    shift = slots.corner[thing] - stamps.corner[t]
    for k in range(stamps.corner[t], stamps.corner[t + 1]):
        scene.corner[k + shift, 0] = s.corner[k, 0] + x
        scene.corner[k + shift, 1] = s.corner[k, 1] + y
        for c in range(2, 6):
            scene.corner[k + shift, c] = s.corner[k, c]


@bare_unit
def take_off(scene: Arrays, slots: Slots, thing: int, stamps: Stamps, spot: int) -> None:
    """Take a thing off the floor: its pieces lie out of reach."""
    t = stamps.template[spot]
    shift = slots.piece[thing] - stamps.piece[t]
    for p in range(stamps.piece[t], stamps.piece[t + 1]):
        scene.ball[p + shift, 0] = FAR
        scene.box[p + shift, 0] = FAR
