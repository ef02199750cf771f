"""Metres between standing places, for the visits that are variables of the bound.

A block has a row for every spot and standing place of a visit, and a column for every one of the other
end: a visit's, or a thing's spots (the nearest place counts).  Like the pair table it leads round the
building and the two footprints where there is time to search, else along the greater of the straight
line and the pair's least walk: never above the true walk.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Floats, Longs, Singles
from footwork.arrange.core.pairwise import Tables
from footwork.arrange.core.slack import SHARE_UP
from footwork.arrange.core.stop import NEVER, Switch, in_parts, in_threads
from footwork.arrange.core.visit_variables import VisitLeg, Visits, VisitVariable
from footwork.arrange.pair_table.legs import Things, key_of
from footwork.arrange.pair_table.table import LEAST_WEIGHT, PairTable
from footwork.arrange.pair_table.visit_choice import (
    ChosenLeg,
    ChosenVisits,
    Stop,
    candidates,
    chosen_visits,
)
from footwork.arrange.pair_table.walks import door_column, place_block

ENTRIES = 15_000_000
"""Entries of all blocks, 4 bytes each, that visits may take at most: more of them bound better, but slower.
Of 2, 8, 20 and 60 million 20 was best for gate-shed at pitch 0.25, 8 about as good."""
APART = 0.6
"""Metres between two standing places along a side, about: what a visit may gain a time."""


GAIN_ALIKE = 5
"""Standing places apart that a visit of several alike stations counts as: what choosing among them gains."""
NO_WAY = 1e9
"""Metres that a label counts from which no way leads to a door: more than any layout walks, and finite."""


@dataclass(frozen=True)
class Block:
    """What a block of metres is for: its ends, the clear width, one column a spot or one a place."""

    rows: Stop
    columns: Stop
    width: float
    nearest: bool


class BlockPart(NamedTuple):
    """The part of a block between two things: one that may serve its rows' stop, one for its columns'."""

    block: Block
    one: str
    two: str


class VisitWalks:
    """Chooses the visits that become variables, and fills their blocks from a pair table."""

    def __init__(self, table: PairTable, entries: int = ENTRIES) -> None:
        self.table, self.scenario = table, table.scenario
        self.chosen = self._chosen(entries)
        self._halt = Switch()

    def _chosen(self, entries: int) -> ChosenVisits:
        """The visits that may gain most for their size, as many as ``entries`` allow."""
        worth = []
        for visit, times in candidates(self.scenario, self._count_places).items():
            size = self._labels(visit.stop) * sum(self._spots(way.stop) for way in visit.ways)
            gain = (
                times
                * APART
                * (self._count_places(visit.stop) - 1 if len(visit.stop[0]) == 1 else GAIN_ALIKE)
            )
            worth.append((size / gain, repr(visit), size, visit))
        chosen, left = set(), entries
        for _, _, size, visit in sorted(worth, key=lambda w: w[:2]):
            if size <= left:
                left -= size
                chosen.add(visit)
        return chosen_visits(self.scenario, chosen)

    def _count_places(self, stop: Stop) -> int:
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
        return self._spots(stop) * self._count_places(stop)

    # -- blocks

    def visits(
        self, tables: Tables, searches: int, processes: int = 1, late: Callable[[], bool] = NEVER
    ) -> Visits:
        """Variables and legs on ``tables``, which this pair table built and whose walks it kept.

        Ways round are searched for about ``searches`` entries, where most is walked for its size first, in
        blocks begun before it is ``late``.
        """
        weight: dict[Block, float] = {}
        for leg in self.chosen.legs:
            if self.is_door(leg.stop):
                continue
            block = self._block_of(leg)
            weight[block] = weight.get(block, 0.0) + leg.weight
        searched, left = set(), searches
        for block in sorted(weight, key=lambda b: (self._size(b) / max(weight[b], LEAST_WEIGHT), repr(b))):
            if self._worked_out(block) <= left:
                left -= self._worked_out(block)
                searched.add(block)
        blocks = in_threads(
            lambda block: self._fill(tables, block, block in searched and not late()),
            weight,
            processes,
            self._halt,
        )
        number = {block: k for k, block in enumerate(weight)}
        unary = [np.zeros(self._labels(stop)) for stop in self.chosen.stops]
        spot_share = np.zeros(tables.size)
        legs: list[VisitLeg] = []
        for leg in self.chosen.legs:
            if self.is_door(leg.stop):
                self._door(leg, unary[leg.visit], spot_share)
            else:
                thing = None if leg.other is not None else self.table.number[leg.stop[0][0]]
                legs.append(VisitLeg(leg.visit, leg.other, thing, leg.weight, number[self._block_of(leg)]))
        variables = tuple(
            VisitVariable(
                tuple(self.table.number[m] for m in stop[0]),
                tuple(len(self.numbers(m, stop)) for m in stop[0]),
                own,
            )
            for stop, own in zip(self.chosen.stops, unary, strict=True)
        )
        return Visits(variables, tuple(legs), tuple(blocks), self._pair_share(), spot_share)

    def is_door(self, stop: Stop) -> bool:
        return stop[0][0] not in self.table.number

    def _block_of(self, leg: ChosenLeg) -> Block:
        return Block(self.chosen.stops[leg.visit], leg.stop, leg.width, leg.other is None)

    def _size(self, block: Block) -> int:
        """Pairs of standing places of a block."""
        return self._labels(block.rows) * self._labels(block.columns)

    def _worked_out(self, block: Block) -> int:
        """Those of them that are worked out: the others are as those of alike things."""
        number, (rows, side), (columns, other) = self.table.number, block.rows, block.columns
        ends = product(rows, columns)
        distinct = {self.table.model_of((number[a], number[b])): (a, b) for a, b in ends if a != b}
        return sum(self._labels(((a,), side)) * self._labels(((b,), other)) for a, b in distinct.values())

    def _fill(self, tables: Tables, block: Block, search: bool) -> Singles:
        columns = self._spots(block.columns) if block.nearest else self._labels(block.columns)
        out: Singles = np.zeros((self._labels(block.rows), columns), np.float32)
        row, known = 0, dict[Things, Singles]()
        for one in block.rows[0]:
            column, height = 0, self._labels(((one,), block.rows[1]))
            for two in block.columns[0]:
                end = ((two,), block.columns[1])
                width = self._spots(end) if block.nearest else self._labels(end)
                part = out[row : row + height, column : column + width]
                if one == two:
                    # Both stand where the thing stands: other spots of it agree with neither.
                    part[:] = 0.0
                    column += width
                    continue
                like = self.table.model_of((self.table.number[one], self.table.number[two]))
                if like in known:
                    part[:] = known[like]
                else:
                    self._fill_part(tables, BlockPart(block, one, two), search, part)
                    known[like] = part
                column += width
            row += height
        return out

    def _fill_part(self, tables: Tables, part: BlockPart, search: bool, out: Singles) -> None:
        table, block = self.table, part.block
        i, j = table.number[part.one], table.number[part.two]
        a, b = table.span(i), table.span(j)
        one = table.leg_end((part.one, block.rows[1]))
        two = table.leg_end((part.two, block.columns[1]))
        known = table.walks.get(key_of((part.one, block.rows[1]), (part.two, block.columns[1]), block.width))
        least = np.zeros((a.stop - a.start, b.stop - b.start), np.float32) if known is None else known
        if known is not None and i > j:
            least = known.T
        least = np.where(tables.pair[a, b] >= tables.clash, np.float32(np.inf), least)
        floor = table.scene((table.lists[i].thing, table.lists[j].thing))
        count = len(one.serving)
        for low, high in in_parts(0, len(least), least.shape[1] * count * len(two.serving), self._halt):
            rows = one._replace(begin=a.start + low, end=a.start + high)
            place_block(
                floor,
                rows,
                two,
                table.load(block.width),
                least[low:high],
                search,
                block.nearest,
                out[low * count : high * count],
            )

    def door_metres(self, name: str, stop: Stop, leg: ChosenLeg) -> Floats:
        """Metres of the leg from each label of one of the stop's things to the door it leads to."""
        table = self.table
        one, door = table.leg_end((name, stop[1])), table.leg_end((leg.stop[0][0], leg.stop[1]))
        metres = np.zeros((one.end - one.begin) * len(one.serving))
        floor = table.scene((table.lists[table.number[name]].thing,))
        door_column(floor, one, door, table.load(leg.width), metres)
        return metres

    def _door(self, leg: ChosenLeg, unary: Floats, spot_share: Floats) -> None:
        """Add the leg's metres to the labels, and what the table counts for it to ``spot_share``."""
        stop = self.chosen.stops[leg.visit]
        begin, known = 0, dict[int, Floats]()
        for name in stop[0]:
            model = self.table.models[self.table.number[name]]
            if model not in known:
                known[model] = self.door_metres(name, stop, leg)
            metres = known[model]
            unary[begin : begin + len(metres)] += leg.weight * np.where(np.isfinite(metres), metres, NO_WAY)
            begin += len(metres)
            if len(stop[0]) == 1:
                least = metres.reshape(len(metres) // self._count_places(stop), -1).min(axis=1)
                share = leg.weight * np.where(np.isfinite(least), least, 0.0)
                spot_share[self.table.span(self.table.number[name])] += share * SHARE_UP

    def _pair_share(self) -> dict[Things, Floats]:
        found: dict[Things, Floats] = {}
        for leg, weight in self.chosen.replaced().items():
            i, j = (self.table.number.get(end[0]) for end in (leg.start, leg.end))
            if i is None or j is None:
                continue
            key, share = (min(i, j), max(i, j)), weight * self.table.walks[leg].astype(np.float64)
            found[key] = found[key] + share if key in found else share
        return found
