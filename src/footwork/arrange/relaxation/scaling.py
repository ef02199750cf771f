"""Integer form of a pair-table problem, as its branch and bound takes it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints, Longs, Singles
from footwork.arrange.core.pairwise import Tables
from footwork.arrange.core.slack import CONSTANT_DOWN, PAIR_SHARE_DOWN
from footwork.arrange.core.visit_variables import NO_VISITS, Visits
from footwork.arrange.relaxation.aggregation import Aggregation
from footwork.arrange.relaxation.build import make_problem
from footwork.arrange.relaxation.model import CLASH, Problem

UNIT = 1 << 23
"""The incumbent in integers.  Costs are floored: a sum of some hundred loses at most 1e-5 of it, always on
the safe side; greater units made messages overflow."""
LEAST_RANGE = 1e-9
"""Metres a year that an incumbent is above the constant at least: an integer needs a scale."""


@dataclass(frozen=True)
class Scaled:
    """The problem in integers, the hub's spots last.

    ``order`` (spots,) gives the table's number of each spot here; ``things`` the table's number of
    each station here.  cost = ``offset`` + integer / ``scale``, integers rounded down.
    """

    problem: Problem
    order: Ints
    things: Ints
    scale: float
    offset: float
    aggregation: Aggregation

    def metres(self, integer: float) -> float:
        return self.offset + integer / self.scale

    def numbers(self, choice: Ints) -> Ints:
        """Spots by station here of spots by thing in the table; -1 stays."""
        where = np.empty(len(self.aggregation.spots), np.int32)
        where[self.order[self.aggregation.spots]] = self.aggregation.spots
        mine = choice[self.things]
        return np.where(mine >= 0, where[mine], -1).astype(np.int32)

    def cutoff(self, incumbent: float) -> int:
        """Least integer cost that is of no use when a layout costing ``incumbent`` is known."""
        return min(math.ceil((incumbent - self.offset) * self.scale), UNIT)


def weights(tables: Tables) -> Floats:
    """(things,) what each thing's pairs weigh: a pair the spread of its costs, metres a year."""
    weight = np.zeros(tables.things)
    for i in range(tables.things):
        for j in range(i):
            block = tables.pair[tables.first[i] : tables.first[i + 1], tables.first[j] : tables.first[j + 1]]
            weight[[i, j]] += _spread(block[block < tables.clash])
    return weight


def alike_weights(things: int, visits: Visits) -> Floats:
    """(things,) what legs of visits weigh that several alike things may serve, in no pair of a table.

    They weigh for each of these as if it served them all: nothing is known of the walk before all stand.
    """
    weight = np.zeros(things)
    for leg in visits.legs:
        ends = [visits.variables[v].members for v in (leg.visit, leg.other) if v is not None]
        if any(len(members) > 1 for members in ends):
            block = visits.blocks[leg.block]
            spread = leg.weight * _spread(block[np.isfinite(block)])
            for members in (*ends, () if leg.thing is None else (leg.thing,)):
                weight[list(members)] += spread
    return weight


def _spread(costs: Singles) -> float:
    """How far the mean of some costs lies above the least of them."""
    return float(costs.mean() - costs.min()) if costs.size else 0.0


def scaled(
    tables: Tables, incumbent: float, things: Ints, visits: Visits = NO_VISITS, group: Ints | None = None
) -> Scaled:
    """Integer costs with ``incumbent`` (metres a year, finite) at ``UNIT``, stations in the order ``things``.

    ``group`` (spots,) says which spots of a thing make an aggregate: those with the same number.
    """
    spots = [np.arange(tables.first[i], tables.first[i + 1]) for i in things]
    order = np.concatenate(spots).astype(np.int32)
    first = np.concatenate(([0], np.cumsum([len(s) for s in spots]))).astype(np.int32)
    unary = (tables.unary - visits.spot_share(tables.size))[order]
    offset = tables.constant
    for i in range(len(things)):
        if first[i] < first[i + 1]:
            least = float(unary[first[i] : first[i + 1]].min())
            unary[first[i] : first[i + 1]] -= least
            offset += least
    offset -= CONSTANT_DOWN * abs(offset)
    scale = UNIT / max(incumbent - offset, LEAST_RANGE)
    costs = _Integers(tables, order, first, scale, _shares(things, visits, scale))
    own = np.minimum(np.floor(unary * scale), UNIT).astype(np.int64)
    aggregation = Aggregation.make(first, order if group is None else group[order])
    pair = aggregation.pairs(costs)
    if not aggregation.none:
        members = aggregation.members
        own, first = members.least(own), aggregation.first
        visits = aggregation.visits(visits, things)
        order = order[members.picks[members.start[:-1]]]
    problem = make_problem(pair, own, first, things, visits, scale)
    return Scaled(problem, order, things, scale, offset, aggregation)


Shares = dict[int, list[tuple[int, Ints]]]
"""By station: each other with which it shares walks of visits, and (spots of the one, of the other)."""


def _shares(things: Ints, visits: Visits, scale: float) -> Shares:
    """What the visits count of the pairs of stations themselves."""
    place = {int(thing): k for k, thing in enumerate(things)}
    found: Shares = {}
    for (i, j), metres in visits.pair_share.items():
        # One more unit: what stays may be too little, never too much.
        finite = np.where(np.isfinite(metres), metres, 0.0)
        share = np.minimum(np.floor(finite * (scale * PAIR_SHARE_DOWN)) + 1.0, CLASH).astype(np.int32)
        found.setdefault(place[i], []).append((place[j], share))
        found.setdefault(place[j], []).append((place[i], share.T))
    return found


@dataclass(frozen=True)
class _Integers:
    """Integer costs of pairs of spots, without what the visits count, some rows at a time.

    ``order`` and ``first`` number spots by station, as in ``Scaled``.
    """

    tables: Tables
    order: Ints
    first: Ints
    scale: float
    shares: Shares

    def __call__(self, spots: Longs) -> Ints:
        """(spots, all spots) int32; a cost that alone reaches the incumbent is a clash as well."""
        rows = self.tables.pair[self.order[spots]].take(self.order, 1).astype(np.float64)
        rows *= self.scale
        rows[rows >= UNIT] = CLASH
        found = rows.astype(np.int32)  # rounded down
        owner = np.searchsorted(self.first, spots, "right") - 1
        for station in np.unique(owner).tolist():
            mine = np.flatnonzero(owner == station)
            for other, share in self.shares.get(station, ()):
                columns = slice(*self.first[other : other + 2])
                block = found[mine, columns]
                less = np.maximum(block - share[spots[mine] - self.first[station]], 0)
                found[mine, columns] = np.where(block >= UNIT, block, less)
        return found
