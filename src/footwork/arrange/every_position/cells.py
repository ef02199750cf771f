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
from footwork.arrange.core.slack import BACK_BEYOND_WALL, REACHED_FURTHER, TURNED_FURTHER, WHOLE
from footwork.arrange.spots.enumerate import SpotList, different_facings
from footwork.arrange.spots.frames import Frame, backs_against, door_frame, own_spots
from footwork.arrange.spots.layers import CLAIMS, Thing, is_must, layers
from footwork.checks.ground import Ground
from footwork.checks.standing import PLACING
from footwork.floor import shapes
from footwork.floor.shapes import SQUARE_WITHIN, FloatArray
from footwork.floor.walls import limits
from footwork.model.scenario import TOLERANCE, Placement, Scenario, Station, Vehicle

TURN = math.radians(1.0)
"""How far from the facings tried a station that stands free may be turned, either way."""
PARALLEL = math.asin(SQUARE_WITHIN) + TURNED_FURTHER
"""How far from parallel to its wall, or square to its door, the checks let a thing be turned."""
A_POINT = 1e-12
"""Metres: a half vector no longer than this is none."""
SAME_FACING = 1e-6
"""Degrees within which two facings are one."""
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
        return Cells(
            self.thing,
            at=self.at[keep],
            facing=self.facing[keep],
            half=self.half[keep],
            turn=self.turn[keep],
        )

    def split(self, longest: float) -> Cells:
        """Each cut in two along every half vector longer than half of ``longest`` metres."""
        now = self
        for which in (0, 1):
            long = np.hypot(*now.half[:, which].T) > 0.5 * longest + WHOLE
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
            np.where(n[:, None] > A_POINT, v / np.maximum(n, A_POINT)[:, None], 0.0)
            for v, n in zip((a, b), lengths, strict=True)
        ]
        # The half vectors are square to each other, so that both parts can be taken by themselves.
        parts = [(off * u).sum(axis=1) for u in units]
        rest = off - sum((p[:, None] * u for p, u in zip(parts, units, strict=True)), np.zeros(2))
        near = np.hypot(*rest.T) <= REACHED_FURTHER
        for part, length in zip(parts, lengths, strict=True):
            near &= np.abs(part) <= length + REACHED_FURTHER
        turned = np.radians(np.abs((placement.facing - self.facing + 180.0) % 360.0 - 180.0))
        found: Bools = near & (turned <= self.turn + TURNED_FURTHER)
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
    fixed = isinstance(thing, Station) and thing.fixed is not None
    return fixed or bool(own_spots(scenario, thing))


Range = tuple[float, float]


def _grid(thing: Thing, frame: Frame, along: Range, inward: Range, pitch: float, around: Around) -> Cells:
    """Equal cells, none longer than ``pitch``, over ranges along and into a frame."""
    middles, halves = [], []
    for low, high in (along, inward):
        if high < low:
            return points(thing, ())
        count = max(1, math.ceil((high - low) / pitch - WHOLE))
        halves.append(0.5 * (high - low) / count)
        middles.append(low + halves[-1] * (2 * np.arange(count) + 1))
    a, b = (m.ravel() for m in np.meshgrid(*middles, indexing="ij"))
    axes = np.array(frame.along), np.array(frame.inward)
    at = np.array(frame.origin) + np.outer(a, axes[0]) + np.outer(b, axes[1])
    half = np.array([halves[0] * axes[0], halves[1] * axes[1]])
    count = len(at)
    return Cells(
        thing,
        at=at,
        facing=np.full(count, around.facing),
        half=np.broadcast_to(half, (count, 2, 2)).copy(),
        turn=np.full(count, around.turn),
    )


@dataclass(frozen=True)
class Around:
    """A facing, and how far the bearing may be from it either way."""

    facing: float
    turn: float


FLOOR = Frame((0.0, 0.0), (1.0, 0.0), (0.0, 1.0), math.inf)
"""The room's own axes, east and north."""


def _floor_cells(
    ground: Ground, station: Station, pitch: float, facings: Sequence[float], island: bool, strict: bool
) -> Iterator[Cells]:
    """All over the floor: the centres at which footprint and strips lie within the box of the floor."""
    scenario = ground.scenario
    inner, outer = limits(scenario.room, not station.outdoors), limits(scenario.room, False)
    aside = scenario.walker.width if island and not station.outdoors else 0.0
    boxes = {"body": (inner[0] + aside, inner[1] + aside, inner[2] - aside, inner[3] - aside)}
    for layer in ("strip", "service"):
        if is_must(scenario, CLAIMS[layer], strict):
            boxes[layer] = outer
    for facing in facings:
        low, high = np.full(2, -np.inf), np.full(2, np.inf)
        for layer, ring in layers(station, Placement(0.0, 0.0, facing)):
            if layer in boxes:
                x0, y0, x1, y1 = boxes[layer]
                least, most = _extent(ring, TURN)
                low = np.maximum(low, np.array((x0, y0)) - least - HAIR)
                high = np.minimum(high, np.array((x1, y1)) - most + HAIR)
        east, north = zip(low.tolist(), high.tolist(), strict=True)
        yield _grid(station, FLOOR, east, north, pitch, Around(facing, TURN))


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
    left, _, right, behind = shapes.box(station)
    most = ground.under(PLACING).figure or 0.0
    reach = max(abs(left), abs(right)) + abs(behind)
    for back in backs_against(ground.room, station):
        if any(abs((back.facing - f + 180) % 360 - 180) < SAME_FACING for f in but):
            continue
        # What the check allows a back that is half a degree off, and what turning shifts.
        slack = HAIR + SQUARE_WITHIN * (BACK_BEYOND_WALL + reach)
        along = (-back.low - slack, back.frame.length - back.high + slack)
        out = (behind - slack, behind + most + slack)
        yield _grid(station, back.frame, along, out, pitch, Around(back.facing, PARALLEL))


def _drive_cells(scenario: Scenario, vehicle: Vehicle, pitch: float) -> Iterator[Cells]:
    """Straight in through the door, nose or tail first, wholly inside."""
    frame = door_frame(scenario, vehicle)
    width, length = vehicle.size
    across = (0.5 * width - HAIR, frame.length - 0.5 * width + HAIR)
    deep = (0.5 * length - HAIR, frame.depth - 0.5 * length + HAIR)
    for facing in frame.facings:
        yield _grid(vehicle, frame, across, deep, pitch, Around(facing, PARALLEL))
