"""Everything that is walked, in the flat arrays that ``tightening/tighten.py`` searches anew in small
nodes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats, Longs, Singles
from footwork.arrange.core.visit_variables import Visits
from footwork.arrange.pair_table.legs import PairLeg
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.pair_table.visit_choice import ContextLeg
from footwork.arrange.pair_table.visit_walks import StandingPlaces
from footwork.arrange.relaxation.aggregation import Folds
from footwork.arrange.relaxation.build import SLACK, blocks_of, variable_order
from footwork.arrange.relaxation.scaling import Scaled
from footwork.arrange.spots.stamps import Slots, obstacle, starts
from footwork.arrange.tightening.compulsory import BETWEEN_STATIONS, BLOCK, OF_STATION, OF_VISIT, Ways
from footwork.floor import shapes
from footwork.floor.contact import Arrays
from footwork.floor.scene import Obstacle, pack
from footwork.floor.shapes import door_place
from footwork.model.scenario import Placement, Vehicle

SQUARE = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))


@dataclass(frozen=True)
class _Way:
    """One row of ``Ways``; ends by station, -1 for a door."""

    a: int
    b: int
    part_a: int
    part_b: int
    nearest_b: bool
    places_a: Longs
    places_b: Longs
    target: int
    goal: int
    width: float
    weight: float
    metres: Singles
    door: tuple[float, float, float, float]


NOWHERE = (0.0, 0.0, 0.0, 0.0)
NO_METRES: Singles = np.zeros(0, np.float32)


class _Collector:
    """Finds the ways of one problem."""

    def __init__(self, standing: StandingPlaces, visits: Visits, scaled: Scaled) -> None:
        self.standing, self.visits, self.scaled = standing, visits, scaled
        self.table: PairTable = standing.table
        self.station = {int(thing): k for k, thing in enumerate(scaled.things)}
        order = variable_order(len(scaled.things), self.station, visits)
        self.variable = {variable: k for k, variable in enumerate(order)}
        self.found: list[_Way] = []

    def collect(self) -> list[_Way]:
        replaced = self.standing.contexts.replaced()
        for leg in self.table.legs:
            rest = leg.weight - replaced.get(leg.unweighted, 0.0)
            if rest > 1e-9:
                self._plain(leg, rest)
        blocks = blocks_of(self.visits)
        legs = [leg for leg in self.standing.contexts.legs if not self.standing.is_door(leg.stop)]
        for context, visit_leg in zip(legs, self.visits.legs, strict=True):
            number = blocks.pop(id(visit_leg.metres), None)  # each block once
            if number is not None:
                self._block(context, number)
        for context in self.standing.contexts.legs:
            if self.standing.is_door(context.stop):
                self._door_of_visit(context)
        return self.found

    def _plain(self, leg: PairLeg, times: float) -> None:
        i, j = (self.table.number.get(end[0]) for end in (leg.start, leg.end))
        if i is None and j is None:
            return
        weight = times * self.scaled.scale * SLACK
        key = leg.unweighted
        if i is not None and j is not None and i != j:
            if i > j:
                i, j, leg = j, i, leg.turned
            places = self.table.place_numbers(leg.start), self.table.place_numbers(leg.end)
            self._add(i, j, places, BETWEEN_STATIONS, -1, leg.width, weight, self.table.walks[key])
            return
        here, there = (leg.start, leg.end) if i is not None else (leg.end, leg.start)
        k = i if i is not None else j
        assert k is not None
        places = self.table.place_numbers(here), self.table.place_numbers(there)
        variable = self.variable["station", self.station[k]]
        other = k if i == j else None
        door = NOWHERE if i == j else self._door(there[0])
        self._add(k, other, places, OF_STATION, variable, leg.width, weight, self.table.fixed[key], door=door)

    def _block(self, leg: ContextLeg, number: int) -> None:
        rows = self.standing.contexts.stops[leg.visit]
        part_a = self._part("visit", leg.visit)
        for k, one in enumerate(rows[0]):
            end = ("station", self.station[self.table.number[leg.stop[0][0]]])
            part_b = self._part(*(end if leg.other is None else ("visit", leg.other)))
            for m, two in enumerate(leg.stop[0]):
                if one != two:
                    places = (self.standing.numbers(one, rows), self.standing.numbers(two, leg.stop))
                    i, j = self.table.number[one], self.table.number[two]
                    self._add(
                        i, j, places, BLOCK, number, leg.width, 0.0, NO_METRES, (part_a + k, part_b + m),
                        leg.other is None,
                    )  # fmt: skip

    def _door_of_visit(self, leg: ContextLeg) -> None:
        stop = self.standing.contexts.stops[leg.visit]
        variable, part = self.variable["visit", leg.visit], self._part("visit", leg.visit)
        weight = leg.weight * self.scaled.scale * SLACK
        for k, one in enumerate(stop[0]):
            places = (self.standing.numbers(one, stop), np.zeros(1, np.int64))
            metres = self.standing.door_metres(one, stop, leg).astype(np.float32)
            self._add(
                self.table.number[one], None, places, OF_VISIT, variable, leg.width, weight, metres,
                (part + k, -1), door=self._door(leg.stop[0][0]),
            )  # fmt: skip

    def _part(self, kind: str, number: int) -> int:
        """The first part of a variable, in the numbering of ``Problem``."""
        return int(self.scaled.problem.part[self.variable[kind, number]])

    def _door(self, name: str) -> tuple[float, float, float, float]:
        scenario = self.table.scenario
        place = door_place(scenario.room.door(name), scenario.walker.width)
        return (*place.at, *place.outward)

    def _add(
        self,
        i: int,
        j: int | None,
        places: tuple[Longs, Longs],
        target: int,
        goal: int,
        width: float,
        weight: float,
        metres: Singles,
        parts: tuple[int, int] = (-1, -1),
        nearest: bool = False,
        door: tuple[float, float, float, float] = NOWHERE,
    ) -> None:
        b = -1 if j is None else self.station[j]
        self.found.append(
            _Way(self.station[i], b, *parts, nearest, *places, target, goal, width, weight, metres, door)
        )


def make_ways(standing: StandingPlaces, visits: Visits, scaled: Scaled) -> Ways:
    """The ways of a problem that ``standing`` and ``visits`` made, in the order of ``scaled``."""
    table = standing.table
    ways = _Collector(standing, visits, scaled).collect()
    numbers = [part for way in ways for part in (way.places_a, way.places_b)]
    ends = np.cumsum([0, *map(len, numbers)])
    scene, slots = _scene(table, scaled)
    folds = scaled.patches.folds
    return Ways(
        np.array([w.a for w in ways], np.int64),
        np.array([w.b for w in ways], np.int64),
        np.array([w.part_a for w in ways], np.int32),
        np.array([w.part_b for w in ways], np.int32),
        np.array([w.nearest_b for w in ways], np.bool_),
        np.column_stack((ends[:-1:2], ends[1::2])).astype(np.int32),
        np.column_stack((ends[1:-1:2], ends[2::2])).astype(np.int32),
        np.concatenate(numbers) if numbers else np.zeros(0, np.int64),
        np.array([w.target for w in ways], np.int32),
        np.array([w.goal for w in ways], np.int32),
        np.array([w.width for w in ways]),
        np.array([w.weight for w in ways]),
        np.cumsum([0, *(w.metres.size for w in ways)]),
        np.concatenate([np.ravel(w.metres) for w in ways]) if ways else NO_METRES,
        np.array([w.door for w in ways]).reshape(-1, 4),
        scaled.problem.first,
        np.diff(scaled.patches.before).astype(np.int64),
        folds.start,
        scaled.patches.spots[folds.picks].astype(np.int64),
        scaled.order,
        _inner_boxes(_boxes(table)[scaled.order[scaled.patches.spots]], folds),
        _vehicles(table, scaled),
        table.scenario.walker.width,
        scene,
        slots,
        pack([_square()]),
        table.stamps,
        table.places,
    )


def _square() -> Obstacle:
    return Obstacle.from_ring("settled floor", SQUARE)


def _scene(table: PairTable, scaled: Scaled) -> tuple[Arrays, Slots]:
    """The building, a slot for each station, and one for the floor that each is certain to cover."""
    origin = Placement(0.0, 0.0, 0.0)
    things = [obstacle(table.lists[int(k)].thing, origin) for k in scaled.things]
    floors = [_square() for _ in things]
    arrays = pack((*table.building, *things, *floors))
    n = len(table.building)
    vertex, piece = starts(arrays, n + 2 * len(things))
    return arrays, Slots(vertex[n:-1], piece[n:-1], arrays.first[n:-1].copy())


def _vehicles(table: PairTable, scaled: Scaled) -> Bools:
    return np.array([isinstance(table.lists[int(k)].thing, Vehicle) for k in scaled.things])


def _boxes(table: PairTable) -> Floats:
    """A rectangle inside each spot's footprint, (spots, 4); an empty one where it is not itself upright."""
    found = []
    for spots in table.lists:
        known: dict[float, Floats] = {}
        for p in spots.placements:
            if p.facing not in known:
                known[p.facing] = _box(shapes.footprint(spots.thing, Placement(0.0, 0.0, p.facing)))
            found.append(known[p.facing] + np.array((*p.at, *p.at)))
    return np.array(found).reshape(-1, 4)


def _inner_boxes(boxes: Floats, folds: Folds) -> Floats:
    """What the rectangles of all the spots of a patch have in common."""
    return np.hstack((-folds.least(-boxes[:, :2]), folds.least(boxes[:, 2:])))


def _box(ring: Floats) -> Floats:
    low, high = ring.min(axis=0), ring.max(axis=0)
    upright = len(ring) == 4 and all(
        min(abs(x - low[0]), abs(x - high[0])) < 1e-9 and min(abs(y - low[1]), abs(y - high[1])) < 1e-9
        for x, y in ring
    )
    return np.array((*low, *high)) if upright else np.array((math.inf, math.inf, -math.inf, -math.inf))
