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
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from footwork.arrange.clashes import Shapes, apart_block, blocks, clash_block, least_gap, spot_shapes
from footwork.arrange.fleet import (
    Places,
    Slots,
    Stamps,
    copied,
    make_places,
    make_scene,
    make_stamps,
    place_numbers,
    stamp,
)
from footwork.arrange.legs import End, PairLeg, pair_legs, wish_prices
from footwork.arrange.moulds import Moulds
from footwork.arrange.place_walk import stuck
from footwork.arrange.spots import SpotList
from footwork.arrange.tables import Bools, Floats, Ints, Longs, Singles, Tables, assemble, floor_single
from footwork.checks.ground import Ground
from footwork.floor.compiled import entry, inner
from footwork.floor.contact import Arrays, segment_blocker
from footwork.floor.kernel import search
from footwork.floor.scene import Obstacle, Scene
from footwork.floor.shapes import FloatArray, door_place
from footwork.model.scenario import TOLERANCE, Scenario

FlatLegs = tuple[Floats, Floats, Longs, Longs, Longs, Longs]
"""Widths, weights, then for both ends the place numbers of each leg and where they start."""
Ends = tuple[FloatArray, FloatArray]
"""Places and outward vectors, each (n, 2)."""

DETOUR_PAIRS = 4_000_000
"""Pairs of spots for which ways round are searched when nobody says how many: some 3 microseconds each."""


@inner
def least_walk(
    scene: Arrays,
    p: FloatArray,
    po: FloatArray,
    pk: Longs,
    q: FloatArray,
    qo: FloatArray,
    qk: Longs,
    width: float,
    walker: float,
    joined: Longs,
    tried: Bools,
    detours: bool,
) -> float:
    """Least walk between one of the places ``pk`` of p and one of ``qk`` of q at a clear width.

    p, q (n, 2) places and po, qo (n, 2) their outward vectors.  Places are tried by straight distance, and
    no further than the best walk found.
    """
    step = 0.5 * (width - walker)
    best = math.inf
    tried[: len(pk) * len(qk)] = False
    while True:
        least, which = best, -1
        for c in range(len(pk) * len(qk)):
            if not tried[c]:
                i, j = pk[c // len(qk)], qk[c % len(qk)]
                dx = p[i, 0] + step * po[i, 0] - q[j, 0] - step * qo[j, 0]
                dy = p[i, 1] + step * po[i, 1] - q[j, 1] - step * qo[j, 1]
                straight = math.hypot(dx, dy)
                if straight < least:
                    least, which = straight, c
        if which < 0:
            break
        tried[which] = True
        i, j = pk[which // len(qk)], qk[which % len(qk)]
        px, py = p[i, 0] + step * po[i, 0], p[i, 1] + step * po[i, 1]
        qx, qy = q[j, 0] + step * qo[j, 0], q[j, 1] + step * qo[j, 1]
        if not detours or segment_blocker(scene, px, py, qx, qy, 0.5 * width, TOLERANCE) < 0:
            best = least
            break
        if stuck(scene, px, py, 0.5 * width) or stuck(scene, qx, qy, 0.5 * width):
            continue
        joined[:] = 0
        best = min(best, search(scene, px, py, qx, qy, 0.5 * width, TOLERANCE, best, joined)[0])
    return best + 2.0 * step


@entry
def walk_block(
    scene: Arrays,
    slots: Slots,
    stamps: Stamps,
    places: Places,
    span_a: Ints,
    span_b: Ints,
    legs: FlatLegs,
    walker: float,
    detours: bool,
    out: FloatArray,
) -> None:
    """Add the walks between all spots of two things to ``out`` (rows: spots of the first).

    ``span`` (first, last) of each thing's spots; ``legs`` a tuple of arrays: widths, weights, then for both
    things the place numbers of each leg and where they start.
    """
    widths, weights, ka, ka_start, kb, kb_start = legs
    joined = np.zeros(len(scene.first) - 1, np.int64)
    tried = np.zeros(4096, np.bool_)
    for a in range(span_a[0], span_a[1]):
        stamp(scene, slots, 0, stamps, a)
        p = places.at[places.start[a] : places.start[a + 1]]
        po = places.out[places.start[a] : places.start[a + 1]]
        for b in range(span_b[0], span_b[1]):
            row, column = a - span_a[0], b - span_b[0]
            if out[row, column] == np.inf:
                continue
            stamp(scene, slots, 1, stamps, b)
            q = places.at[places.start[b] : places.start[b + 1]]
            qo = places.out[places.start[b] : places.start[b + 1]]
            for k in range(len(widths)):
                metres = least_walk(
                    scene,
                    p,
                    po,
                    ka[ka_start[k] : ka_start[k + 1]],
                    q,
                    qo,
                    kb[kb_start[k] : kb_start[k + 1]],
                    widths[k],
                    walker,
                    joined,
                    tried,
                    detours,
                )
                out[row, column] += weights[k] * metres


@entry
def fixed_walks(
    scene: Arrays,
    slots: Slots,
    stamps: Stamps,
    places: Places,
    span: Ints,
    door: Ends,
    legs: FlatLegs,
    walker: float,
    out: FloatArray,
) -> None:
    """Add to ``out`` (one a spot) the walks of each spot to a door's place, or between its own sides.

    ``door`` is (place (1, 2), outward (1, 2)), or two arrays without rows for a thing's own sides.
    """
    widths, weights, ka, ka_start, kb, kb_start = legs
    joined = np.zeros(len(scene.first) - 1, np.int64)
    tried = np.zeros(4096, np.bool_)
    for a in range(span[0], span[1]):
        stamp(scene, slots, 0, stamps, a)
        p = places.at[places.start[a] : places.start[a + 1]]
        po = places.out[places.start[a] : places.start[a + 1]]
        q, qo = door
        if len(q) == 0:
            q, qo = p, po
        for k in range(len(widths)):
            out[a - span[0]] += weights[k] * least_walk(
                scene,
                p,
                po,
                ka[ka_start[k] : ka_start[k + 1]],
                q,
                qo,
                kb[kb_start[k] : kb_start[k + 1]],
                widths[k],
                walker,
                joined,
                tried,
                True,
            )


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
        self.walks: dict[PairLeg, Singles] = {}
        """Metres, (spots of the thing that comes first, spots of the other), by leg without its weight;
        infinite where the two clash."""
        self.fixed: dict[PairLeg, Singles] = {}
        """Metres, (spots,), of legs to doors and between a thing's own sides."""

    def build(self, processes: int, detours: int = DETOUR_PAIRS) -> Tables:
        """Fill the table with ``processes`` threads; the metres of all legs stay in ``walks`` and ``fixed``.

        Ways round are searched for about ``detours`` pairs of spots, where most is walked first; the others
        count straight lines.  An interrupt goes through as soon as the blocks in work are done.
        """
        size = int(self.first[-1])
        pair: Singles = np.zeros((size, size), np.float32)
        cast = spot_shapes(self.scenario, self.lists, self.strict)
        unary, wishes = wish_prices(self.scenario, self.lists)
        shared: dict[tuple[int, int], list[PairLeg]] = defaultdict(list)
        alone: dict[tuple[int, str], list[PairLeg]] = defaultdict(list)
        constant = 0.0
        for leg in self.legs:
            i, j = (self.number.get(end[0]) for end in (leg.start, leg.end))
            if i is None and j is None:
                constant += leg.weight * self._door_to_door(leg)
            elif i is None or j is None or i == j:
                k = i if i is not None else j
                assert k is not None
                door = leg.end[0] if j is None else leg.start[0]
                alone[k, "" if i == j else door].append(leg)
            else:
                shared[min(i, j), max(i, j)].append(leg)
        for (i, door), legs in alone.items():
            self._fixed(i, door, legs, unary)
        jobs = [(i, j) for i in range(len(self.lists)) for j in range(i + 1, len(self.lists))]
        jobs.sort(key=lambda ij: -self._cells(ij) * (1 + 20 * len(shared.get(ij, ()))))
        searched = self._searched(shared, detours)
        with ThreadPoolExecutor(processes) as pool:
            try:
                for done in [
                    pool.submit(
                        self._block, ij, shared.get(ij, []), wishes.get(ij), cast, pair, ij in searched
                    )
                    for ij in jobs
                ]:
                    done.result()
            except BaseException:
                pool.shutdown(cancel_futures=True)
                raise
        names = tuple(spots.thing.name for spots in self.lists)
        return assemble(names, self.first, unary, pair, constant)

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
            apart_block(cast[0], a.start, a.stop, b.start, b.stop, gap, pair)
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
        scene, slots = make_scene(self.building, (one, two))
        walk_block(
            copied(scene),
            slots,
            self.stamps,
            self.places,
            self.first[i : i + 2],
            self.first[j : j + 2],
            self._flat_leg(leg if leg.start[0] == one.name else leg.turned),
            self.scenario.walker.width,
            detours,
            unit,
        )

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
            fixed_walks(
                copied(scene),
                slots,
                self.stamps,
                self.places,
                span,
                ends,
                self._flat_leg(leg if leg.start[0] == thing.name else leg.turned),
                self.scenario.walker.width,
                found,
            )
            self.fixed[leg.unweighted] = floor_single(found)
            unary[span[0] : span[1]] += leg.weight * found

    def _flat_leg(self, leg: PairLeg) -> FlatLegs:
        """One leg once, as the compiled code takes it."""
        ka, kb = self.place_numbers(leg.start), self.place_numbers(leg.end)
        return (
            np.array([leg.width]),
            np.ones(1),
            ka,
            np.array([0, len(ka)]),
            kb,
            np.array([0, len(kb)]),
        )

    def place_numbers(self, end: End) -> Longs:
        """Which of a thing's places serve an end; one for a door."""
        if end[0] not in self.number:
            return np.zeros(1, np.int64)
        return place_numbers(self.scenario, self.lists[self.number[end[0]]].thing, end[1])

    def _door_to_door(self, leg: PairLeg) -> float:
        room, walker = self.scenario.room, self.scenario.walker.width
        ends = [door_place(room.door(name), walker) for name, _ in (leg.start, leg.end)]
        out = (leg.width - walker) / 2
        p, q = ((e.at[0] + out * e.outward[0], e.at[1] + out * e.outward[1]) for e in ends)
        metres = Scene(self.building).length(p, q, leg.width / 2) + 2 * out
        return metres if math.isfinite(metres) else 0.0
