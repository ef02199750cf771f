"""Visits as variables of their own: what lets the bound know that a visit has one standing place.

The pair table walks each leg between the nearest standing places of its two ends, as if a person at a
long bench could stand at one end of it for the leg that comes in and at the other for the leg that
goes out.  Where that may matter, the visit becomes a variable with a label for every spot and
standing place; its legs are counted between those labels and leave the table.  A visit that any
of several alike stations may serve has the labels of all of them.

Here is their form only, as the tree takes it; ``pair_table/visit_choice.py`` finds them in the jobs.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from footwork.arrange.core.arrays import Floats, Singles

Pair = tuple[int, int]


@dataclass(frozen=True)
class VisitVariable:
    """One visit, or several that cannot differ.

    Labels: for each of ``members`` (things), for each of its spots, its ``places`` in turn.  ``unary``
    (labels,) is what a label costs by itself, metres a year.
    """

    members: tuple[int, ...]
    places: tuple[int, ...]
    unary: Floats


@dataclass(frozen=True)
class VisitLeg:
    """A leg from a visit's labels to another's, or to a thing's spots.

    ``weight`` is times a year, ``block`` which of ``Visits.blocks`` has its metres.
    """

    visit: int
    other: int | None
    thing: int | None
    weight: float
    block: int


@dataclass(frozen=True)
class Visits:
    """The variables and legs, and what of the pair table they count themselves.

    ``blocks`` are metres, (labels of a leg's ``visit``, labels of its ``other`` or spots of its ``thing``),
    infinite where the two cannot be; several legs may have the same one.  ``pair_share`` for things i, j an
    array (spots of i, spots of j), ``unary_share`` (spots,): metres a year.
    """

    variables: tuple[VisitVariable, ...] = ()
    legs: tuple[VisitLeg, ...] = ()
    blocks: tuple[Singles, ...] = ()
    pair_share: Mapping[Pair, Floats] = field(default_factory=dict)
    unary_share: Floats | None = None

    def spot_share(self, spots: int) -> Floats:
        return np.zeros(spots) if self.unary_share is None else self.unary_share

    def leg_of_block(self) -> list[VisitLeg]:
        """For each block the first leg that has it: its ends have the block's rows and columns."""
        found: dict[int, VisitLeg] = {}
        for leg in self.legs:
            found.setdefault(leg.block, leg)
        return [found[k] for k in range(len(self.blocks))]


NO_VISITS = Visits()
