"""Metres between standing places, for the visits that are variables of the bound.

A block has a row for every spot and standing place of a visit, and a column for every one of the other
end: a visit's, or a thing's spots (the nearest place counts).  Like the pair table it leads round the
building and the two footprints where there is time to search, else along the greater of the straight
line and the pair's least walk: never above the true walk.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from footwork.arrange.core.arrays import Floats, Longs, Singles
from footwork.arrange.core.pairwise import Tables
from footwork.arrange.core.stop import Switch, in_parts, in_threads
from footwork.arrange.core.visit_variables import VisitLeg, Visits, VisitVariable
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.pair_table.visit_choice import (
    ContextLeg,
    Contexts,
    Stop,
    candidates,
    make_contexts,
    plain_leg,
)
from footwork.arrange.pair_table.walks import door_column, place_block
from footwork.arrange.spots.stamps import copied, make_scene
from footwork.floor.shapes import door_place

ENTRIES = 15_000_000
"""Entries of all blocks, 4 bytes each, that visits may take at most: more of them bound better, but slower.
Of 2, 8, 20 and 60 million 20 was best for gate-shed at pitch 0.25, 8 about as good."""
APART = 0.6
"""Metres between two standing places along a side, about: what a visit may gain a time."""


@dataclass(frozen=True)
class _Block:
    """What a block of metres is for: its ends, the clear width, one column a spot or one a place."""

    rows: Stop
    columns: Stop
    width: float
    nearest: bool


class StandingPlaces:
    """Chooses the visits that become variables, and fills their blocks from a pair table."""

    def __init__(self, table: PairTable, entries: int = ENTRIES) -> None:
        self.table, self.scenario = table, table.scenario
        self.contexts = self._chosen(entries)
        self._halt = Switch()

    def _chosen(self, entries: int) -> Contexts:
        """The visits that may gain most for their size, as many as ``entries`` allow."""
        worth = []
        for visit, times in candidates(self.scenario, self._places).items():
            size = self._labels(visit.stop) * sum(self._spots(way[0]) for way in visit.ways)
            gain = times * APART * (self._places(visit.stop) - 1 if len(visit.stop[0]) == 1 else 5)
            worth.append((size / gain, repr(visit), size, visit))
        chosen, left = set(), entries
        for _, _, size, visit in sorted(worth, key=lambda w: w[:2]):
            if size <= left:
                left -= size
                chosen.add(visit)
        return make_contexts(self.scenario, chosen)

    def _places(self, stop: Stop) -> int:
        return max(len(self.numbers(name, stop)) for name in stop[0])

    def numbers(self, name: str, stop: Stop) -> Longs:
        """Which of a thing's places serve the stop; one for a door."""
        return self.table.place_numbers((name, stop[1]))

    def _spots(self, stop: Stop) -> int:
        return sum(
            len(self.table.lists[self.table.number[name]].placements) if name in self.table.number else 1
            for name in stop[0]
        )

    def _labels(self, stop: Stop) -> int:
        return self._spots(stop) * self._places(stop)

    # -- blocks

    def visits(self, tables: Tables, searches: int, processes: int = 1) -> Visits:
        """Variables and legs on ``tables``, which this pair table built and whose walks it kept.

        Ways round are searched for about ``searches`` entries, where most is walked for its size first.
        """
        weight: dict[_Block, float] = {}
        for leg in self.contexts.legs:
            if self.is_door(leg.stop):
                continue
            block = self._block_of(leg)
            weight[block] = weight.get(block, 0.0) + leg.weight
        searched, left = set(), searches
        for block in sorted(weight, key=lambda b: (self._size(b) / max(weight[b], 1e-9), repr(b))):
            if self._size(block) <= left:
                left -= self._size(block)
                searched.add(block)
        blocks = in_threads(
            lambda block: self._fill(tables, block, block in searched), weight, processes, self._halt
        )
        filled = dict(zip(weight, blocks, strict=True))
        unary = [np.zeros(self._labels(stop)) for stop in self.contexts.stops]
        spot_share = np.zeros(tables.size)
        legs: list[VisitLeg] = []
        for leg in self.contexts.legs:
            if self.is_door(leg.stop):
                self._door(leg, unary[leg.visit], spot_share)
            else:
                thing = None if leg.other is not None else self.table.number[leg.stop[0][0]]
                metres = filled[self._block_of(leg)]
                legs.append(VisitLeg(leg.visit, leg.other, thing, leg.weight, metres))
        variables = tuple(
            VisitVariable(
                tuple(self.table.number[m] for m in stop[0]),
                tuple(len(self.numbers(m, stop)) for m in stop[0]),
                own,
            )
            for stop, own in zip(self.contexts.stops, unary, strict=True)
        )
        return Visits(variables, tuple(legs), self._pair_share(), spot_share)

    def is_door(self, stop: Stop) -> bool:
        return stop[0][0] not in self.table.number

    def _block_of(self, leg: ContextLeg) -> _Block:
        return _Block(self.contexts.stops[leg.visit], leg.stop, leg.width, leg.other is None)

    def _size(self, block: _Block) -> int:
        """Pairs of standing places of a block."""
        return self._labels(block.rows) * self._labels(block.columns)

    def _fill(self, tables: Tables, block: _Block, exact: bool) -> Singles:
        columns = self._spots(block.columns) if block.nearest else self._labels(block.columns)
        out: Singles = np.zeros((self._labels(block.rows), columns), np.float32)
        row = 0
        for one in block.rows[0]:
            column, height = 0, self._labels(((one,), block.rows[1]))
            for two in block.columns[0]:
                end = ((two,), block.columns[1])
                width = self._spots(end) if block.nearest else self._labels(end)
                part = out[row : row + height, column : column + width]
                if one == two:
                    # Both stand where the thing stands: other spots of it agree with neither.
                    part[:] = 0.0
                else:
                    self._fill_part(tables, block, one, two, exact, part)
                column += width
            row += height
        return out

    def _fill_part(
        self, tables: Tables, block: _Block, one: str, two: str, exact: bool, out: Singles
    ) -> None:
        table = self.table
        i, j = table.number[one], table.number[two]
        a, b = table.first[i : i + 2], table.first[j : j + 2]
        leg = plain_leg(((one,), block.rows[1]), ((two,), block.columns[1]), block.width)
        known = table.walks.get(leg)
        least = np.zeros((a[1] - a[0], b[1] - b[0]), np.float32) if known is None else known
        if known is not None and i > j:
            least = np.ascontiguousarray(known.T)
        scene, slots = make_scene(table.building, (table.lists[i].thing, table.lists[j].thing))
        arrays, clash = copied(scene), tables.pair[a[0] : a[1], b[0] : b[1]] >= tables.clash
        rows, columns = self.numbers(one, block.rows), self.numbers(two, block.columns)
        for low, high in in_parts(0, len(least), least.shape[1] * len(rows) * len(columns), self._halt):
            place_block(
                arrays,
                slots,
                table.stamps,
                table.places,
                a[0] + np.array([low, high], np.int32),
                rows,
                b,
                columns,
                block.width,
                self.scenario.walker.width,
                clash[low:high],
                least[low:high],
                exact,
                block.nearest,
                out[low * len(rows) : high * len(rows)],
            )

    def door_metres(self, name: str, stop: Stop, leg: ContextLeg) -> Floats:
        """Metres of the leg from each label of one of the stop's things to the door it leads to."""
        walker = self.scenario.walker.width
        place = door_place(self.scenario.room.door(leg.stop[0][0]), walker)
        door = np.array([*place.at, *place.outward])
        i, numbers = self.table.number[name], self.numbers(name, stop)
        span = self.table.first[i : i + 2]
        scene, slots = make_scene(self.table.building, (self.table.lists[i].thing,))
        metres = np.zeros((span[1] - span[0]) * len(numbers))
        door_column(
            copied(scene), slots, self.table.stamps, self.table.places, span, numbers, door, leg.width,
            walker, metres,
        )  # fmt: skip
        return metres

    def _door(self, leg: ContextLeg, unary: Floats, spot_share: Floats) -> None:
        """Add the leg's metres to the labels, and what the table counts for it to ``spot_share``."""
        stop = self.contexts.stops[leg.visit]
        begin = 0
        for name in stop[0]:
            metres = self.door_metres(name, stop, leg)
            unary[begin : begin + len(metres)] += leg.weight * np.where(np.isfinite(metres), metres, 1e9)
            begin += len(metres)
            if len(stop[0]) == 1:
                i = self.table.number[name]
                least = metres.reshape(len(metres) // self._places(stop), -1).min(axis=1)
                share = leg.weight * np.where(np.isfinite(least), least, 0.0)
                spot_share[slice(*self.table.first[i : i + 2])] += share * (1.0 + 1e-9)

    def _pair_share(self) -> dict[tuple[int, int], Floats]:
        found: dict[tuple[int, int], Floats] = {}
        for leg, weight in self.contexts.replaced().items():
            i, j = (self.table.number.get(end[0]) for end in (leg.start, leg.end))
            if i is None or j is None:
                continue
            key, share = (min(i, j), max(i, j)), weight * self.table.walks[leg].astype(np.float64)
            found[key] = found[key] + share if key in found else share
        return found
