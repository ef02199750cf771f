"""The work inside one node of the tree: passes, fixing and rents until they stop paying."""

from __future__ import annotations

import numpy as np
from numba import njit

from footwork.arrange.passing import FloorPoints, Whole, decode, gather, move_rents, shrink, sweep
from footwork.arrange.tables import Bools, Bytes, Ints, Longs

Shared = tuple[Ints, Ints, Longs]
"""start, points, capacity: what spots share, as in ``tree.Cover``."""


@njit(cache=True, nogil=True)
def begin(unary: Longs, spots: Ints, into: Ints, rents: Longs, start: Ints, points: Ints) -> Longs:
    """Thetas of a node: own prices, messages and rents of each spot."""
    theta = np.empty(len(spots), np.int64)
    for x in range(len(spots)):
        theta[x] = unary[spots[x]]
        for j in range(len(into)):
            theta[x] += into[j, x]
        for k in range(start[spots[x]], start[spots[x] + 1]):
            theta[x] += rents[points[k]]
    return theta


@njit(cache=True, nogil=True)
def some_station_is_empty(first: Ints, alive: Bools) -> bool:
    """Whether a station has no living spot left."""
    empty = False
    for i in range(len(first) - 1):
        empty = empty or not np.any(alive[first[i] : first[i + 1]])
    return empty


@njit(cache=True, nogil=True)
def there_and_back(
    cost: Ints,
    first: Ints,
    alive: Bools,
    into: Ints,
    theta: Longs,
    edges: Bytes,
    constant: Whole,
    limit: Whole,
    marginal: Longs,
    floor: FloorPoints,
) -> Whole:
    """One pass: backward, then forward with the soft cover of the floor; returns the constant."""
    _heat, start, points, spots, cover = floor
    quiet = (0.0, start, points, spots, cover)
    constant = sweep(cost, first, alive, into, theta, edges, False, False, constant, limit, marginal, quiet)
    if constant >= limit:
        return constant
    cover[:] = 0.0
    return sweep(cost, first, alive, into, theta, edges, True, False, constant, limit, marginal, floor)


@njit(cache=True, nogil=True)
def work(
    full: Ints,
    unary: Longs,
    first: Ints,
    spots: Ints,
    into: Ints,
    edges: Bytes,
    rents: Longs,
    shared: Shared,
    limit: Whole,
    passes: int,
    pace: float,
) -> tuple[Whole, Ints, Ints, Ints, Longs, Ints, Longs]:
    """Work one node.

    full, unary   int32 prices of pairs of all spots, symmetric, and int64 prices of spots
    first, spots  the node's living spots (numbers in ``full``), and where each station's begin
    into      (stations, len(spots)) int32 messages to start from, 0 from a station to itself; changed
    rents     (points,) int64 rents to start from; changed
    shared    start, points (the floor points that each spot covers, CSR over all spots), capacity
    limit     price at which a choice is of no use
    passes    the most passes to make; 4 that gain less than 5 % of the gap are the last

    Returns (bound, spots, first, messages, marginals, decoded spots, reduced costs); the bound is
    ``limit`` when the node is done with.
    """
    start, points, capacity = shared
    cost = gather(full, spots)
    alive = np.ones(len(spots), np.bool_)
    theta = begin(unary, spots, into, rents, start, points)
    marginal = np.zeros(len(spots), np.int64)
    drift, cover = np.zeros(len(rents)), np.zeros(len(rents))
    constant: Whole = -np.sum(rents * capacity)
    floor = (0.0, start, points, spots, cover)
    constant = sweep(cost, first, alive, into, theta, edges, True, True, constant, limit, marginal, floor)
    best, earlier = constant, constant
    for number in range(passes):
        if constant >= limit:
            return limit, spots, first, into, marginal, spots[:0], theta[:0]
        if np.sum(alive) * 12 <= len(alive) * 11:
            cost, first, alive, into, theta, marginal, spots = shrink(
                cost, first, alive, into, theta, marginal, spots
            )
        heat = 0.0 if len(rents) == 0 else 0.015 * np.float64(limit - constant) + 1.0
        floor = (heat, start, points, spots, cover)
        constant = there_and_back(cost, first, alive, into, theta, edges, constant, limit, marginal, floor)
        best = max(best, constant)
        if number % 4 == 3:
            if np.float64(best - earlier) < 0.05 * np.float64(limit - best):
                break
            earlier = best
        if constant < limit and len(rents) > 0 and number < passes - 1:
            constant += move_rents(
                first,
                alive,
                theta,
                rents,
                drift,
                cover,
                capacity,
                start,
                points,
                spots,
                np.float64(limit - constant),
                pace,
            )
    if best >= limit or some_station_is_empty(first, alive):
        return limit, spots, first, into, marginal, spots[:0], theta[:0]
    chosen, paid = decode(cost, first, alive, into, theta, np.argsort(first[1:] - first[:-1]))
    decoded = spots[chosen]
    cost, first, alive, into, theta, marginal, spots = shrink(
        cost, first, alive, into, theta, marginal, spots
    )
    return best, spots, first, into, marginal, decoded, paid
