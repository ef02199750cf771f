"""The pairwise problem: each thing takes one spot, and every pair of things costs by the two that they take.

A lower bound of the least sum of a table is a lower bound of every layout's true cost on these
spots, because a pair's entry never exceeds what its walks cost in any layout (``pair_table/table.py``).
Variables are things here, labels their spots.  Nothing here knows of geometry: tests fill tables with random
numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints, Singles

MEMORY = 2_000_000_000
"""Bytes that a search may take in all."""
PROGRAM = 400_000_000
"""Bytes that it takes beside its tables and the bound's open nodes, about."""
PAIR_BYTES = 10.5
"""Bytes for a pair of spots: 4 of the table, 4 for a pair of the bound's labels, a quarter more of them."""
MEMORY_LIMIT_SPOTS = 11_500
"""Spots in all beyond which tables are refused: the bound's open nodes need some room as well."""

ROWS = 256
"""Rows of a table that are gone through at a time."""


def bytes_with_tables(spots: int) -> int:
    """What a search of so many spots in all takes before its bound has open nodes."""
    return PROGRAM + int(PAIR_BYTES * spots**2)


def bytes_of_open_nodes(spots: int) -> int:
    """What the bound's open nodes may take of ``MEMORY``."""
    return max(MEMORY - bytes_with_tables(spots), 0)


@dataclass(frozen=True)
class Tables:
    """A pairwise problem: costs of spots and of pairs of spots, in metres a year.

    Spots are numbered through, ordered by thing: thing i has spots ``first[i]`` to
    ``first[i + 1] - 1``.  ``unary`` has shape (spots,), ``pair`` (spots, spots), symmetric, single
    precision rounded down, 0 between spots of one thing, ``clash`` where two spots cannot be used
    together.  ``constant`` is the same for every layout.  ``clash`` is a power of two greater than
    any sum of costs, so that sums stay exact enough in double precision.
    """

    names: tuple[str, ...]
    first: Ints
    unary: Floats
    pair: Singles
    constant: float
    clash: float

    @property
    def size(self) -> int:
        """Number of spots."""
        return int(self.first[-1])

    @property
    def things(self) -> int:
        return len(self.names)

    def owner(self) -> Ints:
        """Which thing each spot belongs to, shape (spots,)."""
        return np.repeat(np.arange(self.things, dtype=np.int32), np.diff(self.first))

    def cost(self, spots: Sequence[int] | Ints) -> float:
        """Cost of one choice, one spot a thing: metres a year, infinite with a clash."""
        chosen = np.asarray(spots)
        block = self.pair[np.ix_(chosen, chosen)].astype(np.float64)
        if (block >= self.clash).any() or (self.unary[chosen] >= self.clash).any():
            return float("inf")
        return float(self.constant + self.unary[chosen].sum() + np.triu(block, 1).sum())

    def clashes(self, spots: Sequence[int] | Ints) -> list[tuple[int, int]]:
        """Pairs of things that cannot stand as chosen."""
        chosen = np.asarray(spots)
        rows, columns = np.nonzero(np.triu(self.pair[np.ix_(chosen, chosen)] >= self.clash, 1))
        return list(zip(rows.tolist(), columns.tolist(), strict=True))


def assemble(
    names: tuple[str, ...],
    first: Ints,
    unary: Floats,
    pair: Singles,
    constant: float = 0.0,
    least: float = 0.0,
) -> Tables:
    """Tables from costs in which an infinite entry means a clash, of ``unary`` a spot of no use at all;
    ``pair`` is changed in place (it may be large).  A clash costs more than ``least``, too: where tables know
    little of what a layout costs, annealing on true costs would put up with it."""
    useful = np.isfinite(unary)
    # Some rows at a time: a mask of all of it would be a quarter of its size.
    parts = [pair[k : k + ROWS] for k in range(0, len(pair), ROWS)]
    worst = max(float(np.max(p, where=np.isfinite(p), initial=0.0)) for p in parts) * len(names) ** 2
    worst += float(np.max(np.abs(unary), where=useful, initial=0.0)) * len(names)
    worst = max(worst, least)
    clash = float(2.0 ** np.ceil(np.log2(max(worst, 1.0)) + 2))
    for part in parts:
        part[~np.isfinite(part)] = clash
    return Tables(names, first, np.where(useful, unary, clash), pair, constant, clash)


def floor_single(values: Floats) -> Singles:
    """Double to single precision, never upwards: the table stays a lower bound."""
    singles = values.astype(np.float32)
    too_high = singles.astype(np.float64) > values
    singles[too_high] = np.nextafter(singles[too_high], np.float32(-np.inf))
    return singles


@dataclass(frozen=True)
class Restriction:
    """What may move: ``base`` spots by thing (-1: none) and the most things that may leave theirs."""

    base: Ints
    moves: int
