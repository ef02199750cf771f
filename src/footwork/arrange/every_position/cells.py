"""Cells: together they cover every position at which a thing may stand, not only spots.

A cell is all placements whose centre is at most two half vectors from its middle and whose bearing is at
most ``turn`` from its facing.  What is covered, for each thing:

- a station against a wall: its back to any wall, up to the gap that the check `placing` allows, turned as far
  from parallel as that check allows: every position that it accepts on the room's side of a wall;
- any other station: every centre on the floor, in the facings of its spots and up to ``TURN`` either way;
- a vehicle: straight in through its door, wholly inside, nose or tail first;
- what is kept, fixed or has spots of its own: those placements alone.

A cell goes only when the building refuses all of it.  Metres and radians, room frame.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats
from footwork.arrange.spots.alone import Thing, is_must, layers
from footwork.arrange.spots.enumerate import SpotList, bearing, different_facings
from footwork.checks.ground import Ground
from footwork.checks.standing import PLACING
from footwork.floor import shapes
from footwork.floor.shapes import SQUARE_WITHIN, FloatArray
from footwork.floor.walls import limits
from footwork.model.scenario import TOLERANCE, Placement, Scenario, Station, Vehicle

TURN = math.radians(1.0)
"""How far from the facings tried a station that stands free may be turned, either way."""
PARALLEL = math.asin(SQUARE_WITHIN) + 1e-9
"""How far from parallel to its wall, or square to its door, the checks let a thing be turned."""
HAIR = 2.0 * TOLERANCE
"""Metres that a range reaches further than it should have to: the tolerance, and rounding."""


@dataclass(frozen=True, eq=False)
class Cells:
    """The cells of one thing.

    at      (cells, 2) the middle of where its centre may be
    facing  (cells,) degrees clockwise from north
    half    (cells, 2, 2) two half vectors: centre = at + a half[0] + b half[1], a and b from -1 to 1
    turn    (cells,) how far the bearing may be from the facing, either way
    """

    thing: Thing
    at: Floats
    facing: Floats
    half: Floats
    turn: Floats

    def __len__(self) -> int:
        return len(self.at)

    def only(self, keep: Bools) -> Cells:
        """Those that ``keep`` (cells,) says."""
        return Cells(self.thing, self.at[keep], self.facing[keep], self.half[keep], self.turn[keep])

    def split(self, longest: float) -> Cells:
        """Each cut in two along every half vector longer than half of ``longest`` metres."""
        now = self
        for which in (0, 1):
            long = np.hypot(*now.half[:, which].T) > 0.5 * longest + 1e-9
            shift, half = 0.5 * now.half[long, which], now.half.copy()
            half[long, which] *= 0.5
            at = now.at.copy()
            at[long] -= shift
            now = Cells(
                self.thing,
                np.concatenate((at, now.at[long] + shift)),
                np.concatenate((now.facing, now.facing[long])),
                np.concatenate((half, half[long])),
                np.concatenate((now.turn, now.turn[long])),
            )
        return now

    def holds(self, placement: Placement) -> Bools:
        """Which of the cells a placement is in."""
        off = np.array(placement.at) - self.at
        a, b = self.half[:, 0], self.half[:, 1]
        lengths = [np.hypot(*v.T) for v in (a, b)]
        units = [
            np.where(n[:, None] > 1e-12, v / np.maximum(n, 1e-12)[:, None], 0.0)
            for v, n in zip((a, b), lengths, strict=True)
        ]
        # The half vectors are square to each other, so that both parts can be taken by themselves.
        parts = [(off * u).sum(axis=1) for u in units]
        rest = off - sum((p[:, None] * u for p, u in zip(parts, units, strict=True)), np.zeros(2))
        near = np.hypot(*rest.T) <= 1e-6
        for part, length in zip(parts, lengths, strict=True):
            near &= np.abs(part) <= length + 1e-6
        turned = np.radians(np.abs((placement.facing - self.facing + 180.0) % 360.0 - 180.0))
        found: Bools = near & (turned <= self.turn + 1e-9)
        return found


def points(thing: Thing, placements: Sequence[Placement]) -> Cells:
    """Cells of one placement each."""
    count = len(placements)
    return Cells(
        thing,
        np.array([p.at for p in placements], dtype=np.float64).reshape(-1, 2),
        np.array([p.facing for p in placements], dtype=np.float64),
        np.zeros((count, 2, 2)),
        np.zeros(count),
    )


def joined(thing: Thing, parts: Iterable[Cells]) -> Cells:
    """All cells of ``parts``."""
    all_parts = [points(thing, ()), *parts]
    return Cells(
        thing,
        np.concatenate([c.at for c in all_parts]),
        np.concatenate([c.facing for c in all_parts]),
        np.concatenate([c.half for c in all_parts]),
        np.concatenate([c.turn for c in all_parts]),
    )


def make_cells(
    ground: Ground, spots: SpotList, pitch: float, facings: int, held: bool, strict: bool
) -> Cells:
    """The cells of a thing, none longer than ``pitch``.

    ``spots`` are its spots; ``held``: it is kept on the one that it has.
    """
    scenario, thing = ground.scenario, spots.thing
    if held or own_spots_alone(scenario, thing):
        return points(thing, spots.placements)
    if isinstance(thing, Vehicle):
        return joined(thing, _drive_cells(scenario, thing, pitch))
    placing = thing.placing if is_must(scenario, PLACING.id, strict) else "any"
    if placing == "wall":
        return joined(thing, _wall_cells(ground, thing, pitch, ()))
    usual = different_facings(scenario, thing, facings)
    parts = list(_floor_cells(ground, thing, pitch, usual, placing == "island", strict))
    if placing == "any":
        parts += _wall_cells(ground, thing, pitch, usual)
    return joined(thing, parts)


def own_spots_alone(scenario: Scenario, thing: Thing) -> bool:
    """Whether the file fixes a thing or names all spots it may take."""
    if isinstance(thing, Vehicle):
        return bool(thing.spots)
    return thing.fixed is not None or any(
        thing.name in s.takes or thing.group in s.takes for s in scenario.spots
    )


def _grid(
    thing: Thing,
    origin: FloatArray,
    axes: tuple[FloatArray, FloatArray],
    ranges: tuple[tuple[float, float], tuple[float, float]],
    pitch: float,
    facing: float,
    turn: float,
) -> Cells:
    """Equal cells over the ranges along two unit vectors, square to each other, from ``origin``."""
    middles, halves = [], []
    for low, high in ranges:
        if high < low:
            return points(thing, ())
        count = max(1, math.ceil((high - low) / pitch - 1e-9))
        halves.append(0.5 * (high - low) / count)
        middles.append(low + halves[-1] * (2 * np.arange(count) + 1))
    a, b = (m.ravel() for m in np.meshgrid(*middles, indexing="ij"))
    at = origin + np.outer(a, axes[0]) + np.outer(b, axes[1])
    half = np.array([halves[0] * axes[0], halves[1] * axes[1]])
    count = len(at)
    return Cells(
        thing, at, np.full(count, facing), np.broadcast_to(half, (count, 2, 2)).copy(), np.full(count, turn)
    )


EAST, NORTH = np.array((1.0, 0.0)), np.array((0.0, 1.0))


def _floor_cells(
    ground: Ground, station: Station, pitch: float, facings: Sequence[float], island: bool, strict: bool
) -> Iterator[Cells]:
    """All over the floor: the centres at which footprint and strips lie within the box of the floor."""
    scenario = ground.scenario
    inner, outer = limits(scenario.room, not station.outdoors), limits(scenario.room, False)
    aside = scenario.walker.width if island and not station.outdoors else 0.0
    boxes = {"body": (inner[0] + aside, inner[1] + aside, inner[2] - aside, inner[3] - aside)}
    for layer, check in (("strip", "strips-clear"), ("service", "service-clear")):
        if is_must(scenario, check, strict):
            boxes[layer] = outer
    for facing in facings:
        low, high = np.full(2, -np.inf), np.full(2, np.inf)
        for layer, ring in layers(station, Placement(0.0, 0.0, facing)):
            if layer in boxes:
                x0, y0, x1, y1 = boxes[layer]
                least, most = _extent(ring, TURN)
                low = np.maximum(low, np.array((x0, y0)) - least - HAIR)
                high = np.minimum(high, np.array((x1, y1)) - most + HAIR)
        ranges = ((float(low[0]), float(high[0])), (float(low[1]), float(high[1])))
        yield _grid(station, np.zeros(2), (EAST, NORTH), ranges, pitch, facing, TURN)


def _extent(ring: FloatArray, turn: float) -> tuple[Floats, Floats]:
    """(least, greatest) of a ring's coordinates, each as far in as turning by up to ``turn`` can bring it."""
    least, most = np.full(2, -np.inf), np.full(2, np.inf)
    steps = 9
    for angle in np.linspace(-turn, turn, steps):
        turned = ring @ np.array(((math.cos(angle), math.sin(angle)), (-math.sin(angle), math.cos(angle))))
        least, most = np.maximum(least, turned.min(axis=0)), np.minimum(most, turned.max(axis=0))
    slack = float(np.hypot(*ring.T).max()) * turn / (steps - 1)
    return least + slack, most - slack


def _wall_cells(ground: Ground, station: Station, pitch: float, but: Sequence[float]) -> Iterator[Cells]:
    """Backs to each wall; walls whose facing is among ``but`` are left out."""
    left, _, right, back = shapes.box(station)
    most = ground.under(PLACING).figure or 0.0
    reach = max(abs(left), abs(right)) + abs(back)
    for wall in ground.room.walls:
        length = math.dist(wall.start, wall.end)
        along = np.subtract(wall.end, wall.start) / length
        inward = np.array(wall.inward)
        facing = bearing(*wall.inward)
        if any(abs((facing - f + 180) % 360 - 180) < 1e-6 for f in but):
            continue
        u = shapes.front_axes(facing)[0]
        low, high = (left, right) if float(np.dot(u, along)) > 0 else (-right, -left)
        # What the check allows a back that is half a degree off, and what turning shifts.
        slack = HAIR + SQUARE_WITHIN * (0.10 + reach)
        across = (back - slack, back + most + slack)
        ranges = ((-low - slack, length - high + slack), across)
        yield _grid(station, np.array(wall.start), (along, inward), ranges, pitch, facing, PARALLEL)


def _drive_cells(scenario: Scenario, vehicle: Vehicle, pitch: float) -> Iterator[Cells]:
    """Straight in through the door, nose or tail first, wholly inside."""
    door = scenario.room.door(vehicle.door)
    width, length = vehicle.size
    along = np.subtract(door.end, door.start) / door.width
    inward = np.array(door.inward)
    x0, y0, x1, y1 = limits(scenario.room, True)
    reach = abs(door.inward[0]) * (x1 - x0) + abs(door.inward[1]) * (y1 - y0)
    ranges = (
        (0.5 * width - HAIR, door.width - 0.5 * width + HAIR),
        (0.5 * length - HAIR, reach - 0.5 * length + HAIR),
    )
    for facing in (bearing(*door.inward), bearing(-door.inward[0], -door.inward[1])):
        yield _grid(vehicle, np.array(door.start), (along, inward), ranges, pitch, facing, PARALLEL)
