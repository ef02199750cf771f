"""Everything that is walked, in the flat arrays that ``tightening/tighten.py`` searches anew in small
nodes."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats, Ints, Longs, Singles
from footwork.arrange.core.slack import INSIDE_UPRIGHT, SHARE_LEFT, WEIGHTS_DOWN
from footwork.arrange.core.visit_variables import Visits
from footwork.arrange.pair_table.legs import PairLeg
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.pair_table.visit_choice import ChosenLeg
from footwork.arrange.pair_table.visit_walks import VisitWalks
from footwork.arrange.relaxation.aggregation import Minima
from footwork.arrange.relaxation.build import variable_order
from footwork.arrange.relaxation.scaling import Scaled
from footwork.arrange.spots.stamps import Slots, obstacle, starts
from footwork.arrange.tightening.compulsory import (
    BETWEEN_STATIONS,
    BLOCK,
    OF_STATION,
    OF_VISIT,
    DoorPlaces,
    Floor,
    LegEnds,
    Legs,
    SpotMembers,
    Tightening,
)
from footwork.floor import shapes
from footwork.floor.contact import Arrays
from footwork.floor.headroom import overhead
from footwork.floor.scene import Obstacle, pack
from footwork.floor.variants import comes_and_goes, fixed_place
from footwork.model.scenario import Placement

SQUARE = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
NO_METRES: Singles = np.zeros(0, np.float32)


@dataclass(frozen=True)
class _Door:
    """Where legs to a door end, and the unit vector out of the room there."""

    x: float = 0.0
    y: float = 0.0
    out_x: float = 0.0
    out_y: float = 0.0


NO_DOOR = _Door()


@dataclass(frozen=True)
class _End:
    """One end of a leg, as in ``LegEnds``."""

    station: int
    places: Longs
    part: int = -1


@dataclass(frozen=True)
class _Leg:
    """One of ``Legs``."""

    a: _End
    b: _End
    target: int
    goal: int
    width: float
    metre_cost: float = 0.0
    known: Singles = field(default_factory=lambda: NO_METRES)
    nearest_b: bool = False
    door: _Door = NO_DOOR


class _Collector:
    """Finds the legs of one problem."""

    def __init__(self, standing: VisitWalks, visits: Visits, scaled: Scaled) -> None:
        self.standing, self.visits, self.scaled = standing, visits, scaled
        self.table: PairTable = standing.table
        self.station = {int(thing): k for k, thing in enumerate(scaled.things)}
        order = variable_order(len(scaled.things), self.station, visits)
        self.variable = {variable: k for k, variable in enumerate(order)}
        self.found: list[_Leg] = []

    def collect(self) -> list[_Leg]:
        replaced = self.standing.chosen.replaced()
        for leg in self.table.legs:
            rest = leg.weight - replaced.get(leg.key, 0.0)
            if rest > SHARE_LEFT:
                self._plain(leg, rest)
        legs = [leg for leg in self.standing.chosen.legs if not self.standing.is_door(leg.stop)]
        done: set[int] = set()
        for chosen_leg, visit_leg in zip(legs, self.visits.legs, strict=True):
            if visit_leg.block not in done:  # each block once
                done.add(visit_leg.block)
                self._block(chosen_leg, visit_leg.block)
        for chosen_leg in self.standing.chosen.legs:
            if self.standing.is_door(chosen_leg.stop):
                self._door_of_visit(chosen_leg)
        return self.found

    def _plain(self, leg: PairLeg, times: float) -> None:
        i, j = (self.table.number.get(end[0]) for end in (leg.start, leg.end))
        if i is None and j is None:
            return
        cost = times * self.scaled.scale * WEIGHTS_DOWN
        key = leg.key
        if i is not None and j is not None and i != j:
            if i > j:
                i, j, leg = j, i, leg.turned
            a = _End(self.station[i], self.table.place_numbers(leg.start))
            b = _End(self.station[j], self.table.place_numbers(leg.end))
            self.found.append(_Leg(a, b, BETWEEN_STATIONS, -1, leg.width, cost, known=self.table.walks[key]))
            return
        here, there = (leg.start, leg.end) if i is not None else (leg.end, leg.start)
        k = i if i is not None else j
        assert k is not None
        a = _End(self.station[k], self.table.place_numbers(here))
        b = _End(self.station[k] if i == j else -1, self.table.place_numbers(there))
        variable = self.variable["station", self.station[k]]
        door = NO_DOOR if i == j else self._door(there[0])
        known = self.table.fixed[key]
        self.found.append(_Leg(a, b, OF_STATION, variable, leg.width, cost, known, door=door))

    def _block(self, leg: ChosenLeg, block: int) -> None:
        rows, nearest = self.standing.chosen.stops[leg.visit], leg.other is None
        part_a = self._part("visit", leg.visit)
        for k, one in enumerate(rows[0]):
            a = _End(self._station_of(one), self.standing.numbers(one, rows), part_a + k)
            end = ("station", self._station_of(leg.stop[0][0]))
            part_b = self._part(*(end if leg.other is None else ("visit", leg.other)))
            for m, two in enumerate(leg.stop[0]):
                if one != two:
                    b = _End(self._station_of(two), self.standing.numbers(two, leg.stop), part_b + m)
                    self.found.append(_Leg(a, b, BLOCK, block, leg.width, nearest_b=nearest))

    def _door_of_visit(self, leg: ChosenLeg) -> None:
        stop = self.standing.chosen.stops[leg.visit]
        variable, part = self.variable["visit", leg.visit], self._part("visit", leg.visit)
        cost = leg.weight * self.scaled.scale * WEIGHTS_DOWN
        door, b = self._door(leg.stop[0][0]), _End(-1, np.zeros(1, np.int64))
        for k, one in enumerate(stop[0]):
            a = _End(self._station_of(one), self.standing.numbers(one, stop), part + k)
            known = self.standing.door_metres(one, stop, leg).astype(np.float32)
            self.found.append(_Leg(a, b, OF_VISIT, variable, leg.width, cost, known, door=door))

    def _station_of(self, name: str) -> int:
        return self.station[self.table.number[name]]

    def _part(self, kind: str, number: int) -> int:
        """The first part of a variable, in the numbering of ``Variables``."""
        return int(self.scaled.problem.variables.part_begin[self.variable[kind, number]])

    def _door(self, name: str) -> _Door:
        place = fixed_place(self.table.scenario, name)
        return _Door(*place.at, *place.outward)


def make_tightening(standing: VisitWalks, visits: Visits, scaled: Scaled) -> Tightening:
    """What the nodes of a problem are tightened with, which ``standing`` and ``visits`` made, in the order of
    ``scaled``."""
    found = _Collector(standing, visits, scaled).collect()
    return Tightening(_legs(found), _spots(standing.table, scaled), _floor(standing.table, scaled))


def _legs(found: list[_Leg]) -> Legs:
    places = [end.places for leg in found for end in (leg.a, leg.b)]
    begin = np.cumsum([0, *map(len, places)]).astype(np.int32)
    return Legs(
        a=_ends((leg.a for leg in found), begin[:-1:2], begin[1::2]),
        b=_ends((leg.b for leg in found), begin[1:-1:2], begin[2::2]),
        door=DoorPlaces(
            x=np.array([leg.door.x for leg in found], np.float64),
            y=np.array([leg.door.y for leg in found], np.float64),
            out_x=np.array([leg.door.out_x for leg in found], np.float64),
            out_y=np.array([leg.door.out_y for leg in found], np.float64),
        ),
        nearest_b=np.array([leg.nearest_b for leg in found], np.bool_),
        places=np.concatenate(places) if places else np.zeros(0, np.int64),
        target=np.array([leg.target for leg in found], np.int32),
        goal=np.array([leg.goal for leg in found], np.int32),
        width=np.array([leg.width for leg in found], np.float64),
        metre_cost=np.array([leg.metre_cost for leg in found], np.float64),
        known_begin=np.cumsum([0, *(leg.known.size for leg in found)]),
        known=np.concatenate([np.ravel(leg.known) for leg in found]) if found else NO_METRES,
    )


def _ends(ends: Iterable[_End], begin: Ints, end: Ints) -> LegEnds:
    found = list(ends)
    return LegEnds(
        station=np.array([one.station for one in found], np.int64),
        part=np.array([one.part for one in found], np.int32),
        begin=np.ascontiguousarray(begin),
        end=np.ascontiguousarray(end),
    )


def _spots(table: PairTable, scaled: Scaled) -> SpotMembers:
    aggregation = scaled.aggregation
    members = aggregation.members
    boxes = _boxes(table)[scaled.order[aggregation.spots]]
    return SpotMembers(
        first=scaled.problem.first,
        station_size=np.diff(aggregation.before).astype(np.int64),
        member_begin=members.start,
        member=aggregation.spots[members.picks].astype(np.int64),
        origin=scaled.order.astype(np.int64),
        box=_inner_boxes(boxes, members),
    )


def _floor(table: PairTable, scaled: Scaled) -> Floor:
    """The building, a slot for each station, and one for the compulsory part of each."""
    origin = Placement(0.0, 0.0, 0.0)
    things = [table.lists[int(k)].thing for k in scaled.things]
    obstacles = [obstacle(thing, origin) for thing in things]
    scene: Arrays = pack((*table.building, *obstacles, *(_square() for _ in things)))
    n = len(table.building)
    vertex, piece = starts(scene, n + 2 * len(things))
    absent: Bools = np.array([comes_and_goes(thing) or overhead(thing) for thing in things])
    return Floor(
        absent=absent,
        walker=table.scenario.walker.width,
        setting_off=table.scenario.walker.setting_off,
        pace=table.scenario.walker.step,
        scene=scene,
        slots=Slots(vertex[n:-1], piece[n:-1], scene.first[n:-1].copy()),
        square=pack([_square()]),
        stamps=table.stamps,
        places=table.places,
    )


def _square() -> Obstacle:
    return Obstacle.from_ring("compulsory part", SQUARE)


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


def _inner_boxes(boxes: Floats, members: Minima) -> Floats:
    """What the rectangles of all the spots of an aggregate have in common."""
    return np.hstack((-members.least(-boxes[:, :2]), members.least(boxes[:, 2:])))


def _box(ring: Floats) -> Floats:
    low, high = ring.min(axis=0), ring.max(axis=0)
    upright = len(ring) == 4 and all(
        min(abs(x - low[0]), abs(x - high[0])) < INSIDE_UPRIGHT
        and min(abs(y - low[1]), abs(y - high[1])) < INSIDE_UPRIGHT
        for x, y in ring
    )
    return np.array((*low, *high)) if upright else np.array((math.inf, math.inf, -math.inf, -math.inf))
