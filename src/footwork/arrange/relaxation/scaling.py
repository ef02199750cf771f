"""Integer form of a pair-table problem, as its branch and bound takes it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints
from footwork.arrange.core.pairwise import ROWS, Tables
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
    """(things,) what each thing's pairs weigh, in parts of what all weigh; a pair weighs the spread of its
    costs."""
    weight = np.zeros(tables.things)
    for i in range(tables.things):
        for j in range(i):
            block = tables.pair[tables.first[i] : tables.first[i + 1], tables.first[j] : tables.first[j + 1]]
            finite = block[block < tables.clash]
            if finite.size:
                spread = float(finite.mean() - finite.min())
                weight[i] += spread
                weight[j] += spread
    return weight / max(0.5 * float(weight.sum()), 1e-300)


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
    pair = _integers(tables, order, scale)
    _leave_out(pair, first, things, visits, scale)
    own = np.minimum(np.floor(unary * scale), UNIT).astype(np.int64)
    aggregation = Aggregation.make(first, order if group is None else group[order])
    if not aggregation.none:
        members = aggregation.members
        pair, own, first = aggregation.pairs(pair), members.least(own), aggregation.first
        visits = aggregation.visits(visits, things)
        order = order[members.picks[members.start[:-1]]]
    problem = make_problem(pair, own, first, things, visits, scale)
    return Scaled(problem, order, things, scale, offset, aggregation)


def _integers(tables: Tables, order: Ints, scale: float) -> Ints:
    """int32 costs row by row; a cost that alone reaches the incumbent is a clash as well."""
    n = len(order)
    pair = np.empty((n, n), np.int32)
    for k in range(0, n, ROWS):
        rows = tables.pair[order[k : k + ROWS]].take(order, 1).astype(np.float64)
        rows *= scale
        rows[rows >= UNIT] = CLASH
        pair[k : k + ROWS] = rows  # rounded down
    return pair


def _leave_out(pair: Ints, first: Ints, things: Ints, visits: Visits, scale: float) -> None:
    """Take the walks that the visits count themselves out of the pairs of stations."""
    place = {int(thing): k for k, thing in enumerate(things)}
    for (i, j), metres in visits.pair_share.items():
        a, b = slice(*first[place[i] : place[i] + 2]), slice(*first[place[j] : place[j] + 2])
        # One more unit: what stays may be too little, never too much.
        finite = np.where(np.isfinite(metres), metres, 0.0)
        share = np.floor(finite * (scale * PAIR_SHARE_DOWN)).astype(np.int64) + 1
        block = pair[a, b]
        less = np.where(block >= UNIT, block, np.maximum(block - share, 0)).astype(np.int32)
        pair[a, b] = less
        pair[b, a] = less.T
