"""The pair-table problem on cells: prices that no position in two cells undercuts.

A standing place of a thing that may be anywhere in a cell lies in a box (wherever the centre may be) with a
disc round it (what turning moves it).  A walk is at least the straight line, less both discs, between the
nearest positions of two things at which they do not clash (``every_position/difference_grid.py``).
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats, Longs, Singles
from footwork.arrange.core.packing import Packing
from footwork.arrange.core.pairwise import Tables, assemble, floor_single
from footwork.arrange.every_position.cell_conflicts import BODY, Kind, always_apart, kinds
from footwork.arrange.every_position.cells import Cells
from footwork.arrange.every_position.difference_grid import Relative, Walk
from footwork.arrange.pair_table.legs import PairLeg
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.pair_table.visit_choice import ContextLeg, Stop
from footwork.arrange.pair_table.visit_walks import StandingPlaces, _Block
from footwork.arrange.spots.enumerate import SpotList
from footwork.arrange.spots.stamps import obstacle, sides_of
from footwork.floor.routes import stepped_out
from footwork.floor.scene import Obstacle, Scene
from footwork.floor.shapes import FloatArray, door_place, standing_places
from footwork.floor.wishes import to_building, wish_terms
from footwork.model.scenario import Placement, Prefer, Scenario, Vehicle

BELOW = 1.0 - 1e-12
"""A hair of slack for the rounding of doubles, so that bounds stay bounds."""
POINTS_APART = 0.125
"""Metres between the points of the floor that rents are paid for."""
MARGIN = 0.005
"""Metres that such a point must lie inside a footprint, wherever in its cell that stands."""


class Boxes:
    """Where some standing places of a thing's cells may be, in order: cell by cell, place by place.

    middle (n, 2), half (n, 2) of the upright box round it, disc (n,) radius round that, metres.
    """

    def __init__(self, middle: Floats, half: Floats, disc: Floats) -> None:
        self.middle, self.half, self.disc = middle, half, disc

    def apart(self, other: Boxes) -> Floats:
        """Least straight lines between these and others, (n, m)."""
        dx, dy = (np.abs(self.middle[:, None, k] - other.middle[None, :, k]) for k in (0, 1))
        dx -= self.half[:, None, 0] + other.half[None, :, 0]
        dy -= self.half[:, None, 1] + other.half[None, :, 1]
        found = np.hypot(np.maximum(dx, 0.0), np.maximum(dy, 0.0))
        found -= self.disc[:, None] + other.disc[None, :]
        return np.maximum(found, 0.0, out=found)


class CellTable(PairTable):
    """The table of a scenario's cells; ``lists`` has the middles of the cells as if they were spots."""

    def __init__(
        self,
        scenario: Scenario,
        cells: Sequence[Cells],
        strict: bool,
        building: Sequence[Obstacle],
        square: float,
    ) -> None:
        self.cells = tuple(cells)
        self.square = square
        lists = [SpotList(c.thing, tuple(map(Placement, *c.at.T.tolist(), c.facing.tolist()))) for c in cells]
        super().__init__(scenario, lists, strict, building)
        self.kinds = [kinds(self.ground, c, strict) for c in cells]
        self._relatives: dict[tuple[int, int], Relative] = {}
        self._known = {leg.unweighted for leg in self.legs}

    def boxes(self, i: int, numbers: Longs, out: float) -> Boxes:
        """Where the places ``numbers`` of thing i may be, stepped ``out`` metres straight out."""
        cells = self.cells[i]
        begin = self.places.start[self.first[i] : self.first[i + 1]]
        which = (begin[:, None] + numbers[None, :]).ravel()
        middle = self.places.at[which] + out * self.places.out[which]
        own = np.repeat(cells.at, len(numbers), axis=0)
        half = np.repeat(np.abs(cells.half).sum(axis=1), len(numbers), axis=0)
        disc = np.hypot(*(middle - own).T) * 2.0 * np.sin(0.5 * np.repeat(cells.turn, len(numbers)))
        return Boxes(middle, half, disc)

    def centres(self, i: int) -> Boxes:
        """Where the centre of thing i may be."""
        cells = self.cells[i]
        return Boxes(cells.at, np.abs(cells.half).sum(axis=1), np.zeros(len(cells)))

    def door(self, name: str, out: float) -> Boxes:
        """The place at a door, stepped ``out`` metres in."""
        place = door_place(self.scenario.room.door(name), self.scenario.walker.width)
        at = np.array([place.at]) + out * np.array([place.outward])
        return Boxes(at, np.zeros((1, 2)), np.zeros(1))

    def prices(self, replaced: Mapping[PairLeg, float]) -> Tables:
        """The table; the metres of all legs stay in ``walks`` and ``fixed``, as ``build`` leaves them.

        ``replaced`` legs are counted by visits so many times a year: their share is in the table leg by leg,
        so that it can be taken out again; all else together, at one position of both things.
        """
        size = int(self.first[-1])
        pair: Singles = np.zeros((size, size), np.float32)
        unary = np.zeros(size)
        constant, own, shared = self._by_things()
        for k, door, leg in own:
            metres = self._to_door(k, door, leg) if door else self._own_sides(k, leg)
            self.fixed[leg.unweighted] = floor_single(metres)
            unary[self._span(k)] += leg.weight * metres
        wishes = self._wishes(unary)
        for i in range(len(self.lists)):
            for j in range(i + 1, len(self.lists)):
                legs = [
                    leg if self.number[leg.start[0]] == i else leg.turned for leg in shared.get((i, j), ())
                ]
                block = self._priced(i, j, legs, wishes.get((i, j), ()), replaced)
                pair[self._span(i), self._span(j)] = floor_single(block * BELOW)
                pair[self._span(j), self._span(i)] = pair[self._span(i), self._span(j)].T
        names = tuple(spots.thing.name for spots in self.lists)
        return assemble(names, self.first, unary, pair, constant)

    def _priced(
        self,
        i: int,
        j: int,
        legs: Sequence[PairLeg],
        wishes: Sequence[Prefer],
        replaced: Mapping[PairLeg, float],
    ) -> Floats:
        """Prices of all cells of two things, infinite where they can never be used together."""
        shape = (len(self.cells[i]), len(self.cells[j]))
        block: Floats = np.zeros(shape)
        walks = [np.zeros(shape) for _ in legs]
        for one, two in self.pairs(i, j):
            relative = self.relative(one, two)
            rows = np.ix_(one.cells, two.cells)
            together: Floats = np.zeros(relative.clash.shape)
            at_least, price = (np.zeros((len(one.cells), len(two.cells))) for _ in range(2))
            for leg, metres in zip(legs, walks, strict=True):
                walk, out = self._walk(relative, i, j, leg)
                squares, cells = relative.in_squares(walk) + out, relative.between(walk) + out
                apart = replaced.get(plain(leg), 0.0)
                metres[rows] = relative.least(squares, cells)
                price += apart * metres[rows] if apart else 0.0
                together += max(0.0, leg.weight - apart) * squares
                at_least += max(0.0, leg.weight - apart) * cells
            for wish in wishes:
                centres = ((np.zeros(2), np.zeros(2), 0.0),)
                most = relative.furthest()
                together += _wish_price(wish, relative.in_squares(centres), most[0])
                at_least += _wish_price(wish, relative.between(centres), most[1])
            price += relative.least(together, at_least) if legs or wishes else 0.0
            price[relative.never | always_apart(self.ground, one, two, self.strict)] = np.inf
            block[rows] = price
        for leg, metres in zip(legs, walks, strict=True):
            key = leg.unweighted if leg.unweighted in self._known else leg.turned.unweighted
            self.walks[key] = floor_single(np.where(np.isfinite(metres), metres, 0.0) * BELOW)
        return block

    def _span(self, i: int) -> slice:
        return slice(int(self.first[i]), int(self.first[i + 1]))

    def pairs(self, i: int, j: int) -> list[tuple[Kind, Kind]]:
        """Each kind of cells of one thing with each of another's."""
        return [(one, two) for one in self.kinds[i] for two in self.kinds[j]]

    def relative(self, one: Kind, two: Kind) -> Relative:
        key = (id(one), id(two))
        if key not in self._relatives:
            self._relatives[key] = Relative(self.ground, one, two, self.strict, self.square)
        return self._relatives[key]

    def place(self, i: int, kind: Kind, number: int, out: float) -> tuple[FloatArray, float]:
        """Where a place of thing i is from its centre, and how far turning moves it."""
        k = int(self.places.start[int(self.first[i]) + int(kind.cells[0])]) + number
        where: FloatArray = self.places.at[k] + out * self.places.out[k] - kind.at[0]
        return where, float(np.hypot(*where) * 2.0 * np.sin(0.5 * kind.turn))

    def _walk(self, relative: Relative, i: int, j: int, leg: PairLeg) -> tuple[Walk, float]:
        """The places that a leg may be between, and the metres of stepping out and in."""
        out = self.step(leg.width)
        pairs = []
        for a in self.place_numbers(leg.start):
            p, disc_p = self.place(i, relative.one, int(a), out)
            for b in self.place_numbers(leg.end):
                q, disc_q = self.place(j, relative.two, int(b), out)
                pairs.append((p, q, disc_p + disc_q))
        return pairs, 2.0 * out

    def _to_door(self, k: int, door: str, leg: PairLeg) -> Floats:
        out = self.step(leg.width)
        numbers = self.place_numbers(leg.end if leg.start[0] == door else leg.start)
        metres = self.boxes(k, numbers, out).apart(self.door(door, out))
        least: Floats = metres.reshape(-1, len(numbers)).min(axis=1) + 2.0 * out
        return least

    def _own_sides(self, k: int, leg: PairLeg) -> Floats:
        """Between two sides of one thing: round its own footprint, wherever that stands."""
        thing, walker = self.lists[k].thing, self.scenario.walker.width
        here = Placement(0.0, 0.0, 0.0)
        scene = Scene((obstacle(thing, here),))
        places = standing_places(thing, here, walker, sides_of(self.scenario, thing))
        ends = [
            [stepped_out(places[n], walker, leg.width) for n in self.place_numbers(end)]
            for end in (leg.start, leg.end)
        ]
        metres = min(scene.length(p, q, 0.5 * leg.width) for p in ends[0] for q in ends[1])
        return np.full(
            len(self.cells[k]),
            (metres if math.isfinite(metres) else 0.0) * (1.0 - 1e-9) + 2.0 * self.step(leg.width),
        )

    def _wishes(self, unary: Floats) -> dict[tuple[int, int], list[Prefer]]:
        """Add what wishes to the building cost at least; gives those between two things."""
        between: dict[tuple[int, int], list[Prefer]] = defaultdict(list)
        for wish in self.scenario.prefer:
            for name, others in wish_terms(self.scenario, wish):
                i = self.number[name]
                if not others:
                    unary[self._span(i)] += self._to_building(wish, i)
                elif len(others) == 1 or (wish.near is None) == (wish.weight > 0):
                    j = self.number[others[0]]
                    between[min(i, j), max(i, j)].append(wish)
        return between

    def _to_building(self, wish: Prefer, i: int) -> Floats:
        target = wish.near or wish.apart_from or ""
        centres = self.centres(i)
        metres = np.array(
            [to_building(self.scenario.room, (x, y), target) for x, y in centres.middle.tolist()],
            dtype=np.float64,
        )
        known = np.isfinite(metres)  # None, where there is nothing of that name, has become nan
        metres = np.where(known, metres, 0.0)
        reach = np.hypot(*centres.half.T)
        return np.where(known, _wish_price(wish, np.maximum(metres - reach, 0.0), metres + reach), 0.0)


def plain(leg: PairLeg) -> PairLeg:
    """The leg as the visits' contexts name it."""
    ends = sorted((leg.start, leg.end), key=lambda e: (e[0], e[1] or ""))
    return PairLeg(ends[0], ends[1], leg.width, 0.0)


def _wish_price(wish: Prefer, least: Floats, most: Floats) -> Floats:
    """The least that a wish costs when its distance is from ``least`` to ``most`` metres."""
    if wish.near is not None:
        return wish.weight * (least if wish.weight >= 0 else most)
    return wish.weight * np.maximum(0.0, wish.by - (most if wish.weight >= 0 else least))


class CellPlaces(StandingPlaces):
    """Visits as variables of the bound, on cells."""

    table: CellTable

    def _fill_part(
        self, tables: Tables, block: _Block, one: str, two: str, exact: bool, out: Singles
    ) -> None:
        table, step = self.table, self.table.step(block.width)
        i, j = table.number[one], table.number[two]
        ka, kb = self.numbers(one, block.rows), self.numbers(two, block.columns)
        swapped = i > j
        for low, high in table.pairs(min(i, j), max(i, j)):
            relative = table.relative(low, high)
            kind_a, kind_b = (high, low) if swapped else (low, high)
            for m, a in enumerate(ka):
                p, disc_p = table.place(i, kind_a, int(a), step)
                pairs = []
                for b in kb:
                    q, disc_q = table.place(j, kind_b, int(b), step)
                    pairs.append((q, p, disc_p + disc_q) if swapped else (p, q, disc_p + disc_q))
                rows = kind_a.cells * len(ka) + m
                for n, walk in enumerate([pairs] if block.nearest else [[pair] for pair in pairs]):
                    columns = kind_b.cells if block.nearest else kind_b.cells * len(kb) + n
                    squares, cells = relative.in_squares(walk), relative.between(walk)
                    cells[relative.never] = np.inf
                    least = (relative.least(squares, cells) + 2.0 * step) * (1.0 - 2e-7)
                    out[np.ix_(rows, columns)] = floor_single(least.T if swapped else least)

    def door_metres(self, name: str, stop: Stop, leg: ContextLeg) -> Floats:
        out = self.table.step(leg.width)
        boxes = self.table.boxes(self.table.number[name], self.numbers(name, stop), out)
        metres: Floats = boxes.apart(self.table.door(leg.stop[0][0], out)).ravel() + 2.0 * out
        return metres


def cell_cover(table: CellTable) -> Packing:
    """Which points of the floor the footprint of each cell's thing covers wherever in the cell it stands."""
    several = sum(isinstance(c.thing, Vehicle) for c in table.cells) > 1
    found: list[list[tuple[int, int]]] = [[] for _ in range(int(table.first[-1]))]
    for i, cells in enumerate(table.cells):
        if several and isinstance(cells.thing, Vehicle):
            continue
        for kind in kinds(table.ground, cells, table.strict):
            for number, at in zip(kind.cells.tolist(), kind.at, strict=True):
                found[int(table.first[i]) + number] = _covered(kind, at)
    numbers = {point: k for k, point in enumerate(sorted({q for points in found for q in points}))}
    start = np.cumsum([0, *map(len, found)]).astype(np.int32)
    flat = np.array([numbers[q] for points in found for q in points], np.int32)
    return Packing(start, flat, np.ones(len(numbers), np.int64))


def _covered(kind: Kind, at: Floats) -> list[tuple[int, int]]:
    found: dict[tuple[int, int], None] = {}
    for about in kind.rings[BODY]:
        ring = about + at
        low, high = np.ceil(ring.min(axis=0) / POINTS_APART), np.floor(ring.max(axis=0) / POINTS_APART)
        east, north = np.meshgrid(
            np.arange(low[0], high[0] + 1), np.arange(low[1], high[1] + 1), indexing="ij"
        )
        points = np.column_stack((east.ravel(), north.ravel()))
        edges = np.roll(ring, -1, axis=0) - ring
        normals = np.column_stack((-edges[:, 1], edges[:, 0])) / np.hypot(*edges.T)[:, None]
        depth = (points * POINTS_APART) @ normals.T - (ring * normals).sum(axis=1)
        moved = np.abs(kind.half @ normals.T).sum(axis=0) + kind.swing(about) + MARGIN
        inside: Bools = (depth >= moved).all(axis=1)
        found |= {(int(x), int(y)): None for x, y in points[inside]}
    return list(found)
