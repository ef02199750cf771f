"""Prices of a plain assignment problem moved to where the bound can see them, compiled.

The same assignment costs the same before and after, but much of it is in a constant and in the prices of
single things at single places, and all prices are still 0 or more.  The tree of
``branch_and_bound/tree.py`` starts from there: nug10 (ten things) takes 94 nodes instead of many thousands.
P. Hahn and T. Grant, "Lower bounds for the quadratic assignment problem based upon a dual formulation",
Operations Research 46 (1998), 912-922.

``pair[i, a, j, b]``, shape (n, m, n, m), is paid when thing i is at place a and j at b; the price of the two
is the sum of [i, a, j, b] and [j, b, i, a], each of which may carry any part of it.  With i at a, the others
are a linear assignment to the other places.  Its cost joins the price of i at a, and its dual prices leave
the pairs.  Then the single prices are one more linear assignment, whose cost joins the constant.  What is
left of them goes back to the pairs, whose other halves take from them in turn.  With places to spare the dual
prices of places are 0 or less and those of empty places are given away: never upwards.
"""

from __future__ import annotations

import numpy as np

from footwork.arrange.assignment.hungarian import reduce_by_assignment
from footwork.arrange.assignment.problem import Problem
from footwork.arrange.core.arrays import Floats
from footwork.arrange.core.pairwise import Tables, assemble, floor_single
from footwork.arrange.core.slack import SUMS_DOWN
from footwork.arrange.core.stop import Stop
from footwork.compiled.functions import entry, inner

ROUNDS = 60
ROUND_WORK = 2_000_000_000
"""Things^2 x places^3 that the rounds may come to, three rounds at least."""
LEAST_GAIN = 1e-4
"""Part of what is left to the upper bound that a round must gain to be followed by another."""


@inner
def raise_single(single: Floats, pair: Floats, i: int, a: int, part: Floats, alone: bool) -> None:
    """Bring as much as can be of the pairs of thing i at place a into ``single[i, a]``.

    Takes the other halves of the pairs as well, unless ``alone``.  ``part`` (n - 1, m - 1) is room to work
    in.
    """
    n, m = single.shape
    row = 0
    for j in range(n):
        if j == i:
            continue
        column = 0
        for b in range(m):
            if b != a:
                part[row, column] = pair[i, a, j, b]
                if not alone:
                    part[row, column] += pair[j, b, i, a]
                    pair[j, b, i, a] = 0.0
                column += 1
        row += 1
    single[i, a] += reduce_by_assignment(part)
    row = 0
    for j in range(n):
        if j == i:
            continue
        column = 0
        for b in range(m):
            if b != a:
                pair[i, a, j, b] = part[row, column]
                column += 1
        row += 1


@inner
def spread(single: Floats, pair: Floats) -> None:
    """Give the single prices back to the pairs, each in equal parts to all other things."""
    n, m = single.shape
    for i in range(n):
        for a in range(m):
            for j in range(n):
                if j != i:
                    for b in range(m):
                        pair[i, a, j, b] += single[i, a] / (n - 1)
    single[:] = 0.0


@entry
def ascend(single: Floats, pair: Floats, opening: bool) -> float:
    """One round over all things (two at least) and places; returns what the constant gains.

    The ``opening`` round, in which nothing is taken from other halves, gives the bound of Gilmore and Lawler.
    """
    n, m = single.shape
    if not opening:
        spread(single, pair)
    part = np.empty((n - 1, m - 1))
    for i in range(n):
        for a in range(m):
            raise_single(single, pair, i, a, part, opening)
    return np.float64(reduce_by_assignment(single))


def raised_tables(problem: Problem, upper: float, stop: Stop) -> Tables:
    """The pair-table problem of ``problem`` after rounds of the ascent, its bound so far in ``constant``.

    ``upper`` is the cost of an assignment: a forbidden place costs as much in each price, which no assignment
    on allowed places pays.  Ends when ``stop()``, or when the constant hardly rises.
    """
    n, m = problem.things, problem.places
    barred = ~problem.allowed
    pair = problem.flow[:, None, :, None] * problem.distance[None, :, None, :]
    pair[barred] = upper
    pair[:, :, barred] = upper
    single = np.where(barred, upper, problem.linear)
    constant = 0.0
    for number in range(max(3, min(ROUNDS, ROUND_WORK // (n**2 * m**3)))):
        gain = ascend(single, pair, number == 0)
        constant += gain
        if stop() or (number > 0 and gain < LEAST_GAIN * (upper - constant)):
            break
    at = np.flatnonzero(problem.allowed)
    flat = pair.reshape(n * m, n * m)
    prices = flat[np.ix_(at, at)] + flat.T[np.ix_(at, at)]
    thing, place = at // m, at % m
    prices[place[:, None] == place] = np.inf
    prices[thing[:, None] == thing] = 0.0
    constant -= SUMS_DOWN * max(constant, upper)
    return assemble(problem.names(), problem.first(), single.ravel()[at], floor_single(prices), constant)
