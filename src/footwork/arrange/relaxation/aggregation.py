"""Label aggregation: neighbouring spots of a station taken as one, at the least cost of any of them.

A large node of the tree gains little from telling apart two spots a step from one another.  It works on
aggregates, with a sixteenth of the pairs; spots take their place where a station has few left or the node
is small (``branch_and_bound/tree.py``).  A choice of spots costs at least what the aggregates that they are
in would, so the bound stays one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property, reduce
from itertools import pairwise
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from footwork.arrange.core.arrays import Ints, Longs
from footwork.arrange.core.packing import Packing
from footwork.arrange.core.pairwise import ROWS
from footwork.arrange.core.visit_variables import Visits

Some = TypeVar("Some", np.int32, np.int64, np.float32, np.float64)


def where_many(group: Ints, first: Ints, few: int) -> Ints:
    """``group`` for things of more than ``few`` aggregates; each spot of the others by itself."""
    found = group.copy()
    alone = group.max(initial=-1) + 1
    for low, high in pairwise(first.tolist()):
        if len(np.unique(group[low:high])) <= few:
            found[low:high] = np.arange(alone + low, alone + high)
    return found


@dataclass(frozen=True)
class Minima:
    """Along an axis, the entries that each new entry is the least of: ``picks[start[k]:start[k + 1]]``."""

    picks: Longs
    start: Longs

    @staticmethod
    def make(picks: Sequence[Longs]) -> Minima:
        return Minima(np.concatenate(picks), np.cumsum([0, *map(len, picks)]))

    def least(self, values: npt.NDArray[Some], axis: int = 0) -> npt.NDArray[Some]:
        """The new entries along an axis."""
        sizes = np.diff(self.start)
        found = values.take(self.picks[self.start[:-1]], axis)
        # Few have more than four: several times as fast as ``np.minimum.reduceat``.
        for k in range(1, int(sizes.max(initial=0))):
            more = np.flatnonzero(sizes > k)
            here = (slice(None),) * axis + (more,)
            found[here] = np.minimum(found[here], values.take(self.picks[self.start[more] + k], axis))
        return found


def aggregated_packing(packing: Packing, members: Minima) -> Packing:
    """What aggregates of spots share: each what all of its ``members`` share."""
    parts: list[Ints] = []
    for low, high in pairwise(members.start.tolist()):
        own = [packing.points[packing.start[s] : packing.start[s + 1]] for s in members.picks[low:high]]
        parts.append(reduce(np.intersect1d, own))
    start = np.cumsum([0, *map(len, parts)]).astype(np.int32)
    return Packing(start, np.concatenate(parts).astype(np.int32), packing.capacity)


@dataclass(frozen=True)
class Aggregation:
    """The spots of each station, and after them its aggregates, numbered through.

    before (stations + 1,)   where each station's spots begin in the numbering without aggregates
    first (stations + 1,)    and in the one with them
    members                  the spots, in the numbering without, that each spot or aggregate stands for
    spots (spots,)           the number with aggregates of each spot
    coarsest                 numbers of all aggregates, and of spots in none, ascending
    """

    before: Ints
    first: Ints
    members: Minima
    spots: Ints
    coarsest: Ints

    @staticmethod
    def make(before: Ints, group: Ints) -> Aggregation:
        """Aggregates of the spots of each station that share a number in ``group`` (spots,)."""
        picks: list[Longs] = []
        spots: list[Longs] = []
        coarsest: list[int] = []
        first = [0]
        for low, high in pairwise(before.tolist()):
            own = np.arange(low, high)
            spots.append(own - low + len(picks))
            picks += list(own[:, None])
            order = own[np.argsort(group[low:high], kind="stable")]
            for few in np.split(order, np.flatnonzero(np.diff(group[order])) + 1):
                if len(few) > 1:
                    picks.append(few)
                coarsest.append(len(picks) - 1 if len(few) > 1 else int(spots[-1][few[0] - low]))
            first.append(len(picks))
        return Aggregation(
            before=before,
            first=np.array(first, np.int32),
            members=Minima.make(picks),
            spots=np.concatenate(spots).astype(np.int32),
            coarsest=np.sort(np.array(coarsest, np.int32)),
        )

    @property
    def none(self) -> bool:
        """Whether every spot is by itself."""
        return len(self.spots) == len(self.members.start) - 1

    @cached_property
    def sizes(self) -> Longs:
        """How many spots each spot or aggregate stands for."""
        return np.asarray(np.diff(self.members.start))

    def taken_apart(self, numbers: Ints, sizes: Longs) -> tuple[Ints, Ints]:
        """(numbers, their places in ``numbers``) with spots in the place of some aggregates.

        ``sizes`` has the sizes of those aggregates, and 1 for all else.  Numbers ascend, before and after.
        """
        places = np.repeat(np.arange(len(numbers), dtype=np.int32), sizes)
        within = np.arange(len(places)) - np.repeat(np.cumsum(sizes) - sizes, sizes)
        found = numbers[places]
        apart = sizes[places] > 1
        found[apart] = self.spots[self.members.picks[self.members.start[found[apart]] + within[apart]]]
        order = np.argsort(found, kind="stable")
        return found[order], places[order]

    def pairs(self, rows: Callable[[Longs], Ints]) -> Ints:
        """A square matrix over spots and aggregates, from the rows over the spots that ``rows`` gives of some
        spots: the matrix over the spots alone is never there as a whole."""
        n = len(self.members.start) - 1
        wide = np.empty((n, n), np.int32)
        for k in range(0, n, ROWS):
            start = self.members.start[k : k + ROWS + 1]
            picks = self.members.picks[start[0] : start[-1]]
            here = Minima(np.arange(len(picks)), start - start[0])
            wide[k : k + ROWS] = self.members.least(here.least(rows(picks)), 1)
        return wide

    def visits(self, visits: Visits, things: Ints) -> Visits:
        """Visits with labels for the aggregates; ``things`` is the thing that each station is."""
        station = {int(thing): k for k, thing in enumerate(things)}

        @cache
        def along(members: tuple[int, ...], places: tuple[int, ...]) -> Minima:
            return self._labels([(station[m], p) for m, p in zip(members, places, strict=True)])

        axes = [along(v.members, v.places) for v in visits.variables]
        variables = tuple(
            replace(v, unary=axis.least(v.unary)) for v, axis in zip(visits.variables, axes, strict=True)
        )
        blocks = []
        for metres, leg in zip(visits.blocks, visits.leg_of_block(), strict=True):
            ends = () if leg.thing is None else (leg.thing,)
            columns = along(ends, (1,)) if leg.other is None else axes[leg.other]
            blocks.append(columns.least(axes[leg.visit].least(metres), 1))
        return replace(visits, variables=variables, blocks=tuple(blocks))

    def _labels(self, parts: Sequence[tuple[int, int]]) -> Minima:
        """The labels of a variable: for each station, for each of its spots, so many places."""
        picks: list[Longs] = []
        begin = 0
        for s, places in parts:
            low, high = self.before[s], self.before[s + 1]
            for k in range(self.first[s], self.first[s + 1]):
                own = self.members.picks[self.members.start[k] : self.members.start[k + 1]] - low
                picks += [begin + own * places + p for p in range(places)]
            begin += (high - low) * places
        return Minima.make(picks)
