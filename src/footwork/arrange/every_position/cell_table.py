"""The pair-table problem on cells: costs that no position in two cells undercuts.

A standing place of a thing that may be anywhere in a cell lies in a box (wherever the centre may be) with a
disc round it (what turning moves it).  A walk is at least the straight line, less both discs, between the
nearest positions of two things at which they do not clash (``every_position/difference_grid.py``).
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np

from footwork.arrange.core.arrays import Floats, Longs, Singles
from footwork.arrange.core.pairwise import Tables, assemble, floor_single
from footwork.arrange.core.slack import DOUBLES_DOWN, OWN_WALK_DOWN, SETS_OFF_LATER, SINGLES_DOWN
from footwork.arrange.every_position.cell_conflicts import Kind, always_apart, kinds
from footwork.arrange.every_position.cells import Cells
from footwork.arrange.every_position.difference_grid import PlacePair, Relative, Walk
from footwork.arrange.pair_table.legs import LegKey, OwnLeg, PairLeg, Things, sorted_legs
from footwork.arrange.pair_table.prices import asked, of_gaps
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.pair_table.visit_choice import ChosenLeg, Stop
from footwork.arrange.pair_table.visit_walks import BlockPart, VisitWalks
from footwork.arrange.pair_table.wishes import least_cost, terms_of_wishes, to_building_cost
from footwork.arrange.spots.enumerate import SpotList
from footwork.arrange.spots.stamps import obstacle, sides_of
from footwork.checks.hazards import may_be_shielded
from footwork.checks.rule import Rule
from footwork.floor.effort import felt
from footwork.floor.scene import Obstacle, Scene
from footwork.floor.shapes import FloatArray, standing_places, stepped_out
from footwork.floor.variants import fixed_place
from footwork.model.scenario import Placement, Prefer, Scenario


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
        self._relatives: dict[tuple[str, int, str, int], Relative] = {}

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

    def door(self, name: str, out: float) -> Boxes:
        """The place at a door, stepped ``out`` metres in."""
        place = fixed_place(self.scenario, name)
        at = np.array([place.at]) + out * np.array([place.outward])
        return Boxes(at, np.zeros((1, 2)), np.zeros(1))

    def cell_costs(self, replaced: Mapping[LegKey, float]) -> Tables:
        """The table; the metres of all legs stay in ``walks`` and ``fixed``, as ``build`` leaves them.

        ``replaced`` legs are counted by visits so many times a year: their share is in the table leg by leg,
        so that it can be taken out again; all else together, at one position of both things.
        """
        size = int(self.first[-1])
        pair: Singles = np.zeros((size, size), np.float32)
        unary = np.zeros(size)
        legs = sorted_legs(self.legs, self.number)
        constant = sum((leg.weight * self._door_to_door(leg) for leg in legs.doors), 0.0)
        for own in legs.own:
            metres = self._own_sides(own) if own.door is None else self._to_door(own, own.door)
            self.fixed[own.leg.key] = floor_single(metres)
            unary[self.span(own.thing)] += own.leg.weight * metres
        wishes = self._wishes(unary)
        for i in range(len(self.lists)):
            for j in range(i + 1, len(self.lists)):
                block = self._cell_block(
                    (i, j), legs.shared.get((i, j), ()), wishes.get((i, j), ()), replaced
                )
                pair[self.span(i), self.span(j)] = floor_single(block * DOUBLES_DOWN)
                pair[self.span(j), self.span(i)] = pair[self.span(i), self.span(j)].T
        names = tuple(spots.thing.name for spots in self.lists)
        return assemble(names, self.first, unary, pair, constant)

    def _cell_block(
        self, ij: Things, legs: Sequence[PairLeg], wishes: Sequence[Prefer], replaced: Mapping[LegKey, float]
    ) -> Floats:
        """What all cells of two things cost each other, infinite where they can never be used together."""
        i, j = ij
        shape = (len(self.cells[i]), len(self.cells[j]))
        block: Floats = np.zeros(shape)
        walks = [np.zeros(shape) for _ in legs]
        priced = self._priced(ij)
        for one, two in self.pairs(i, j):
            relative = self.relative(one, two)
            rows = np.ix_(one.cells, two.cells)
            together: Floats = np.zeros(relative.clash.shape)
            at_least, cost = (np.zeros((len(one.cells), len(two.cells))) for _ in range(2))
            for leg, metres in zip(legs, walks, strict=True):
                walk, out = self._walk(relative, ij, leg), 2.0 * self.step(leg.width)
                squares = self.felt(relative.in_squares(walk) + out)
                cells = self.felt(relative.between(walk) + out)
                apart = replaced.get(leg.key, 0.0)
                metres[rows] = relative.least(squares, cells)
                cost += apart * metres[rows] if apart else 0.0
                together += max(0.0, leg.weight - apart) * squares
                at_least += max(0.0, leg.weight - apart) * cells
            for wish in wishes:
                centres = (PlacePair(np.zeros(2), np.zeros(2), 0.0),)
                most_in_squares, most_between = relative.furthest()
                together += least_cost(wish, relative.in_squares(centres), most_in_squares)
                at_least += least_cost(wish, relative.between(centres), most_between)
            if priced:
                in_squares, between = relative.widest_gaps()
                for rule, times in priced:
                    together += times * of_gaps(rule, in_squares)
                    at_least += times * of_gaps(rule, between)
            cost += relative.least(together, at_least) if legs or wishes or priced else 0.0
            cost[relative.never | always_apart(self.ground, one, two, self.strict)] = np.inf
            block[rows] = cost
        for leg, metres in zip(legs, walks, strict=True):
            self.walks[leg.key] = floor_single(np.where(np.isfinite(metres), metres, 0.0) * DOUBLES_DOWN)
        return block

    def _priced(self, ij: Things) -> list[tuple[Rule, int]]:
        """The should-checks of distance that two things pay for, and how many faults each has.

        None where a wall or shield may come between them: from some position of a cell it may.
        """
        one, two = self._things(ij)
        if self.strict or may_be_shielded(self.ground, one, two):
            return []
        return asked(self.ground, one, two)

    def felt(self, metres: Floats) -> Floats:
        """What legs of these metres at least count (``floor.effort``)."""
        return felt(np.maximum(metres - SETS_OFF_LATER, 0.0), self.scenario.walker)

    def pairs(self, i: int, j: int) -> list[tuple[Kind, Kind]]:
        """Each kind of cells of one thing with each of another's."""
        return [(one, two) for one in self.kinds[i] for two in self.kinds[j]]

    def relative(self, one: Kind, two: Kind) -> Relative:
        key = (one.thing.name, one.number, two.thing.name, two.number)
        if key not in self._relatives:
            self._relatives[key] = Relative(self.ground, one, two, self.strict, self.square)
        return self._relatives[key]

    def place(self, i: int, kind: Kind, number: int, out: float) -> tuple[FloatArray, float]:
        """Where a place of thing i is from its centre, and how far turning moves it."""
        k = int(self.places.start[int(self.first[i]) + int(kind.cells[0])]) + number
        where: FloatArray = self.places.at[k] + out * self.places.out[k] - kind.at[0]
        return where, float(np.hypot(*where) * 2.0 * np.sin(0.5 * kind.turn))

    def _walk(self, relative: Relative, ij: Things, leg: PairLeg) -> Walk:
        """The places that a leg of the two things may be between, stepped out."""
        (i, j), out = ij, self.step(leg.width)
        pairs = []
        for a in self.place_numbers(leg.start):
            p, disc_p = self.place(i, relative.one, int(a), out)
            for b in self.place_numbers(leg.end):
                q, disc_q = self.place(j, relative.two, int(b), out)
                pairs.append(PlacePair(p, q, disc_p + disc_q))
        return pairs

    def _to_door(self, own: OwnLeg, door: str) -> Floats:
        out, numbers = self.step(own.leg.width), self.place_numbers(own.here)
        metres = self.boxes(own.thing, numbers, out).apart(self.door(door, out))
        least: Floats = metres.reshape(-1, len(numbers)).min(axis=1)
        return self.felt(least + 2.0 * out)

    def _own_sides(self, own: OwnLeg) -> Floats:
        """Between two sides of one thing: round its own footprint, wherever that stands."""
        thing, walker = self.lists[own.thing].thing, self.scenario.walker.width
        here, width = Placement(0.0, 0.0, 0.0), own.leg.width
        scene = Scene((obstacle(thing, here),))
        places = standing_places(thing, here, walker, sides_of(self.scenario, thing))
        starts, ends = (
            [stepped_out(places[n], walker, width) for n in self.place_numbers(end)]
            for end in (own.here, own.there)
        )
        metres = min(scene.length(p, q, 0.5 * width) for p in starts for q in ends)
        least = (metres if math.isfinite(metres) else 0.0) * OWN_WALK_DOWN + 2.0 * self.step(width)
        return self.felt(np.full(len(self.cells[own.thing]), least))

    def _wishes(self, unary: Floats) -> dict[Things, list[Prefer]]:
        """Add what wishes to the building cost at least; gives those between two things."""
        between: dict[Things, list[Prefer]] = defaultdict(list)
        for wish, i, j in terms_of_wishes(self.scenario, self.number):
            if j is None:
                cells = self.cells[i]
                reach = np.hypot(*np.abs(cells.half).sum(axis=1).T)
                unary[self.span(i)] += to_building_cost(self.scenario, wish, cells.at, reach)
            else:
                between[min(i, j), max(i, j)].append(wish)
        return between


class CellVisits(VisitWalks):
    """Visits as variables of the bound, on cells."""

    table: CellTable

    def _fill_part(self, tables: Tables, part: BlockPart, search: bool, out: Singles) -> None:
        table, block = self.table, part.block
        step = table.step(block.width)
        i, j = table.number[part.one], table.number[part.two]
        rows, columns = self.numbers(part.one, block.rows), self.numbers(part.two, block.columns)
        swapped = i > j
        for low, high in table.pairs(min(i, j), max(i, j)):
            relative = table.relative(low, high)
            kind_a, kind_b = (high, low) if swapped else (low, high)
            for m, a in enumerate(rows):
                p, disc_p = table.place(i, kind_a, int(a), step)
                pairs = []
                for b in columns:
                    q, disc_q = table.place(j, kind_b, int(b), step)
                    one, two = (q, p) if swapped else (p, q)
                    pairs.append(PlacePair(one, two, disc_p + disc_q))
                for n, walk in enumerate([pairs] if block.nearest else [[pair] for pair in pairs]):
                    squares, cells = relative.in_squares(walk), relative.between(walk)
                    cells[relative.never] = np.inf
                    least = table.felt(relative.least(squares, cells) + 2.0 * step) * SINGLES_DOWN
                    to = kind_b.cells if block.nearest else kind_b.cells * len(columns) + n
                    entries = np.ix_(kind_a.cells * len(rows) + m, to)
                    out[entries] = floor_single(least.T if swapped else least)

    def door_metres(self, name: str, stop: Stop, leg: ChosenLeg) -> Floats:
        out = self.table.step(leg.width)
        boxes = self.table.boxes(self.table.number[name], self.numbers(name, stop), out)
        return self.table.felt(boxes.apart(self.table.door(leg.stop[0][0], out)).ravel() + 2.0 * out)
