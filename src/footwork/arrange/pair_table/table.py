"""The pair table: for two things on two spots, clash or not, and the least walking between them.

The walk of a leg leads round the building and those two footprints jointly, so it never exceeds the true
one.  Carry widths count as in ``floor.routes``: straight out, at the load's width, straight in.
A pair whose standing places cannot reach each other clashes.  Where there are too many pairs of spots
for the time, straight lines stand for the walks of the least walked blocks: below both.
Memory: 4 bytes a pair of spots.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints, Longs, Singles
from footwork.arrange.core.pairwise import Tables, assemble, floor_single
from footwork.arrange.core.stop import Switch, in_parts, in_threads
from footwork.arrange.pair_table.legs import End, PairLeg, pair_legs, wish_prices
from footwork.arrange.pair_table.walks import fixed_walks, straight_block, walk_block
from footwork.arrange.spots.conflicts import Shapes, apart_block, blocks, clash_block, least_gap, spot_shapes
from footwork.arrange.spots.difference_planes import Moulds
from footwork.arrange.spots.enumerate import SpotList
from footwork.arrange.spots.stamps import (
    Places,
    Stamps,
    copied,
    make_places,
    make_scene,
    make_stamps,
    place_numbers,
)
from footwork.checks.ground import Ground
from footwork.floor.routes import stepped_out
from footwork.floor.scene import Obstacle, Scene
from footwork.floor.shapes import door_place
from footwork.model.scenario import Scenario

DETOUR_PAIRS = 4_000_000
"""Pairs of spots for which ways round are searched when nobody says how many: some 3 microseconds each."""


class PairTable:
    """Builds ``Tables`` from a scenario and its spots."""

    def __init__(
        self, scenario: Scenario, lists: Sequence[SpotList], strict: bool, building: Sequence[Obstacle]
    ) -> None:
        self.scenario, self.lists, self.strict = scenario, lists, strict
        self.building = tuple(building)
        self.ground = Ground(scenario)
        self.number = {spots.thing.name: k for k, spots in enumerate(lists)}
        self.first: Ints = np.concatenate(([0], np.cumsum([len(s.placements) for s in lists]))).astype(
            np.int32
        )
        self.stamps: Stamps = make_stamps(lists)
        self.places: Places = make_places(scenario, lists)
        self.legs = pair_legs(scenario)
        self._halt = Switch()
        self.walks: dict[PairLeg, Singles] = {}
        """Metres, (spots of the thing that comes first, spots of the other), by leg without its weight;
        infinite where the two clash."""
        self.fixed: dict[PairLeg, Singles] = {}
        """Metres, (spots,), of legs to doors and between a thing's own sides."""

    def build(self, processes: int, detours: int = DETOUR_PAIRS) -> Tables:
        """Fill the table with ``processes`` threads; the metres of all legs stay in ``walks`` and ``fixed``.

        Ways round are searched for about ``detours`` pairs of spots, where most is walked first; the others
        count straight lines.  An interrupt goes through at once, but for the parts of blocks in work.
        """
        self._halt = Switch()
        size = int(self.first[-1])
        pair: Singles = np.zeros((size, size), np.float32)
        cast = spot_shapes(self.scenario, self.lists, self.strict)
        unary, wishes = wish_prices(self.scenario, self.lists)
        constant, own, shared = self._by_things()
        alone: dict[tuple[int, str], list[PairLeg]] = defaultdict(list)
        for i, door, leg in own:
            alone[i, door].append(leg)
        for (i, door), legs in alone.items():
            self._fixed(i, door, legs, unary)
        jobs = [(i, j) for i in range(len(self.lists)) for j in range(i + 1, len(self.lists))]
        jobs.sort(key=lambda ij: -self._cells(ij) * (1 + 20 * len(shared.get(ij, ()))))
        searched = self._searched(shared, detours)

        def fill(ij: tuple[int, int]) -> None:
            self._block(ij, shared.get(ij, []), wishes.get(ij), cast, pair, ij in searched)

        in_threads(fill, jobs, processes, self._halt)
        names = tuple(spots.thing.name for spots in self.lists)
        return assemble(names, self.first, unary, pair, constant)

    def _by_things(
        self,
    ) -> tuple[float, list[tuple[int, str, PairLeg]], dict[tuple[int, int], list[PairLeg]]]:
        """What legs from door to door cost; legs of one thing, with the door that they lead to, "" from one
        side of the thing to another; and legs between two things."""
        constant = 0.0
        own: list[tuple[int, str, PairLeg]] = []
        shared: dict[tuple[int, int], list[PairLeg]] = defaultdict(list)
        for leg in self.legs:
            things = [self.number[name] for name, _ in (leg.start, leg.end) if name in self.number]
            doors = [name for name, _ in (leg.start, leg.end) if name not in self.number]
            if not things:
                constant += leg.weight * self._door_to_door(leg)
            elif doors or things[0] == things[1]:
                own.append((things[0], doors[0] if doors else "", leg))
            else:
                shared[min(things), max(things)].append(leg)
        return constant, own, shared

    def _searched(
        self, shared: Mapping[tuple[int, int], list[PairLeg]], detours: int
    ) -> set[tuple[int, int]]:
        """Blocks whose ways round are searched: those with the most times a year for their size first."""
        left, found = detours, set()
        weight = {ij: sum(leg.weight for leg in legs) for ij, legs in shared.items()}
        for ij in sorted(shared, key=lambda ij: (self._cells(ij) / max(weight[ij], 1e-9), ij)):
            if self._cells(ij) <= left:
                left -= self._cells(ij)
                found.add(ij)
        return found

    def _cells(self, ij: tuple[int, int]) -> int:
        return self._count(ij[0]) * self._count(ij[1])

    def _count(self, i: int) -> int:
        return int(self.first[i + 1] - self.first[i])

    def _block(
        self,
        ij: tuple[int, int],
        legs: list[PairLeg],
        wish: Floats | None,
        cast: tuple[Shapes, Moulds],
        pair: Singles,
        detours: bool,
    ) -> None:
        """Clashes and prices of two things; ``detours``: search ways round, else straight lines."""
        i, j = ij
        one, two = self.lists[i].thing, self.lists[j].thing
        a, b = slice(*self.first[i : i + 2]), slice(*self.first[j : j + 2])
        clash_block(
            *cast,
            self.first[i],
            self.first[i + 1],
            self.first[j],
            self.first[j + 1],
            blocks(self.ground, one, two, self.strict),
            blocks(self.ground, two, one, self.strict),
            pair,
        )
        gap = least_gap(self.ground, one, two, self.strict)
        if gap > 0.0:
            for low, high in in_parts(a.start, a.stop, b.stop - b.start, self._halt):
                apart_block(cast[0], low, high, b.start, b.stop, gap, pair)
        if not legs and wish is None:
            return
        block = pair[a, b].astype(np.float64)
        for leg in legs:
            unit = np.where(np.isinf(block), np.inf, 0.0)
            self._walk_leg(ij, leg, detours, unit)
            self.walks[leg.unweighted] = floor_single(unit * (1.0 - 1e-12))
            block += leg.weight * unit
        if wish is not None:
            block += wish
        singles = floor_single(block * (1.0 - 1e-12))
        pair[a, b] = singles
        pair[b, a] = singles.T

    def _walk_leg(self, ij: tuple[int, int], leg: PairLeg, detours: bool, unit: Floats) -> None:
        """Add the metres of one leg to ``unit``, infinite where it cannot be walked."""
        i, j = ij
        one, two = self.lists[i].thing, self.lists[j].thing
        leg = leg if leg.start[0] == one.name else leg.turned
        walker = self.scenario.walker.width
        if not detours:
            step = self.step(leg.width)
            p, q = self._stepped_out(i, leg.start, step), self._stepped_out(j, leg.end, step)
            straight_block(p, q, 2.0 * step, unit)
            return
        scene, slots = make_scene(self.building, (one, two))
        arrays, ka, kb = copied(scene), self.place_numbers(leg.start), self.place_numbers(leg.end)
        for low, high in in_parts(0, len(unit), unit.shape[1], self._halt):
            walk_block(
                arrays,
                slots,
                self.stamps,
                self.places,
                self.first[i] + np.array([low, high], np.int32),
                ka,
                self.first[j : j + 2],
                kb,
                leg.width,
                walker,
                unit[low:high],
            )

    def step(self, width: float) -> float:
        """Metres that somebody with a load of ``width`` starts further out than without one."""
        return 0.5 * (width - self.scenario.walker.width)

    def _stepped_out(self, i: int, end: End, step: float) -> Floats:
        """Where legs begin: ``step`` metres out from each place of ``end``, (spots of thing i, places, 2)."""
        which = self.places.start[self.first[i] : self.first[i + 1]][:, None] + self.place_numbers(end)
        return np.ascontiguousarray(self.places.at[which] + step * self.places.out[which])

    def _fixed(self, i: int, door: str, legs: list[PairLeg], unary: Floats) -> None:
        thing = self.lists[i].thing
        scene, slots = make_scene(self.building, (thing,))
        if door:
            place = door_place(self.scenario.room.door(door), self.scenario.walker.width)
            ends = (np.array([place.at]), np.array([place.outward]))
        else:
            ends = (np.zeros((0, 2)), np.zeros((0, 2)))
        span = self.first[i : i + 2]
        for leg in legs:
            found = np.zeros(self._count(i))
            one, two = (leg.start, leg.end) if leg.start[0] == thing.name else (leg.end, leg.start)
            fixed_walks(
                copied(scene),
                slots,
                self.stamps,
                self.places,
                span,
                self.place_numbers(one),
                ends,
                self.place_numbers(two),
                leg.width,
                self.scenario.walker.width,
                found,
            )
            self.fixed[leg.unweighted] = floor_single(found)
            unary[span[0] : span[1]] += leg.weight * found

    def place_numbers(self, end: End) -> Longs:
        """Which of a thing's places serve an end; one for a door."""
        if end[0] not in self.number:
            return np.zeros(1, np.int64)
        return place_numbers(self.scenario, self.lists[self.number[end[0]]].thing, end[1])

    def _door_to_door(self, leg: PairLeg) -> float:
        room, walker = self.scenario.room, self.scenario.walker.width
        ends = [door_place(room.door(name), walker) for name, _ in (leg.start, leg.end)]
        p, q = (stepped_out(end, walker, leg.width) for end in ends)
        metres = Scene(self.building).length(p, q, leg.width / 2) + 2 * self.step(leg.width)
        return metres if math.isfinite(metres) else 0.0
