"""Packing multipliers, compiled: a price at least 0 for what at most so many spots of a choice may share.

Most are points of the floor that at most one footprint may cover.  A multiplier is paid by each spot that
covers the point and handed back once; a bound with multipliers is valid whatever they are.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats, Ints, Longs
from footwork.arrange.relaxation.model import CLASH, Relaxation, Whole
from footwork.compiled.functions import bare, unit
from footwork.compiled.records import record

LEAST_SHARE = 1e-4
"""Shares of a soft choice that are no greater count as none."""
LEAST_SQUARE = 1e-9
"""Square of the averaged excess below which no step is made."""
MOST_CHANGE = 0.1
"""Part of the gap that one multiplier changes by at most."""


@record
class PackingPoints(NamedTuple):
    """What spots share, as in ``core/packing.py``."""

    start: Ints
    points: Ints
    capacity: Longs


@record
class PackingMultipliers(NamedTuple):
    """By point: the multipliers, the averaged excess that they step along, and the soft cover."""

    value: Longs
    averaged: Floats
    cover: Floats


@bare
def take_least(active: Bools, reduced: Longs) -> Whole:
    """Take the least reduced cost of a variable out of all of them; returns it (CLASH when no label is
    active)."""
    least = np.int64(CLASH)
    for x in range(len(reduced)):
        if active[x] and reduced[x] < least:
            least = reduced[x]
    for x in range(len(reduced)):
        reduced[x] -= least
    return least


@bare
def add_soft_cover(
    node: Relaxation, v: Whole, temperature: float, packing: PackingPoints, cover: Floats
) -> None:
    """Add a station's soft choice (weights exp(-reduced cost / temperature)) to the cover of each point.

    The station is variable v.
    """
    sub, origin = node.sub, node.problem.origin
    a, b, s = sub.label_begin[v], sub.label_begin[v + 1], node.problem.variables.station[v]
    active, reduced = node.state.active[a:b], node.state.reduced[a:b]
    spots, start, points = sub.spots[sub.first[s] : sub.first[s + 1]], packing.start, packing.points
    total = 0.0
    for x in range(len(spots)):
        if active[x]:
            total += np.exp(-reduced[x] / temperature)
    for x in range(len(spots)):
        if active[x]:
            weight = np.exp(-reduced[x] / temperature) / total
            if weight > LEAST_SHARE:
                spot = origin[spots[x]]
                for k in range(start[spot], start[spot + 1]):
                    cover[points[k]] += weight


@bare
def average_excess(multipliers: PackingMultipliers, capacity: Longs) -> float:
    """Average the excess of the soft cover with those before it; returns the square of what that gives."""
    value, averaged, cover = multipliers.value, multipliers.averaged, multipliers.cover
    square = 0.0
    for c in range(len(value)):
        excess = cover[c] - capacity[c]
        if value[c] == 0 and excess < 0.0:
            excess = 0.0
        averaged[c] = 0.5 * averaged[c] + 0.5 * excess
        square += averaged[c] * averaged[c]
    return square


@unit
def move_packing_multipliers(
    node: Relaxation, multipliers: PackingMultipliers, packing: PackingPoints, gap: float, step_size: float
) -> Whole:
    """Move the multipliers by the excess of the soft cover; returns the change of the constant.

    Subgradient step of length ``step_size`` * gap / |excess|^2, averaged with the steps before it, each
    change at most a tenth of the gap.  The least reduced costs are taken out again, so that all are at
    least 0.
    """
    start, points = packing.start, packing.points
    sub, origin, station = node.sub, node.problem.origin, node.problem.variables.station
    active, reduced = node.state.active, node.state.reduced
    value, averaged, capacity = multipliers.value, multipliers.averaged, packing.capacity
    square = average_excess(multipliers, capacity)
    if square < LEAST_SQUARE:
        return np.int64(0)
    change = np.zeros(len(value), np.int64)
    constant = np.int64(0)
    scale = step_size * gap / square
    for c in range(len(value)):
        step = min(max(scale * averaged[c], -MOST_CHANGE * gap), MOST_CHANGE * gap)
        new = max(np.int64(0), value[c] + np.int64(step))
        change[c] = new - value[c]
        value[c] = new
        constant -= change[c] * capacity[c]
    for v in range(len(station)):
        s = station[v]
        if s < 0:
            continue
        a, b = sub.label_begin[v], sub.label_begin[v + 1]
        for x in range(b - a):
            spot = origin[sub.spots[sub.first[s] + x]]
            for k in range(start[spot], start[spot + 1]):
                reduced[a + x] += change[points[k]]
        least = take_least(active[a:b], reduced[a:b])
        if least < CLASH:
            constant += least
    return constant
