"""What failed should-checks cost, as sums over one thing or two: by spot, and by pair of spots.

A price hangs on one thing and the building (a vehicle in its doorway), or on how far two things stand apart
(sparks and flammables).  What hangs on a whole layout (ways out, what a lead lies across) is no such sum:
it is added when a layout is checked as a whole (``uncounted`` in ``run.py``), and the bound does without.
Where a wall or shield may come between two things, a price is counted only if nothing cuts the straight line
between their middles: then the two are surely not shielded.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats, Ints
from footwork.arrange.pair_table.legs import Things
from footwork.arrange.spots.conflicts import SpotRings, gap_block
from footwork.arrange.spots.enumerate import SpotList, first_spots
from footwork.arrange.spots.layers import Thing
from footwork.arrange.spots.overlaps import flat, hits
from footwork.checks.ground import Ground, Placed
from footwork.checks.hazards import APART, ORIGIN, may_be_shielded
from footwork.checks.openings import WINDOW_SILL, sills
from footwork.checks.rule import Rule
from footwork.checks.run import ALONE, BY_PLACE
from footwork.compiled.functions import bare, entry
from footwork.floor.shapes import pieces
from footwork.floor.walls import edges, wall_segments
from footwork.model.scenario import TOLERANCE, Placement, Station


@dataclass(frozen=True, eq=False)
class Prices:
    """Metres a year: ``unary`` (spots,), and by things (i, j), i < j, an array (spots of i, spots of j)."""

    unary: Floats
    pairs: dict[Things, Floats]
    first: Ints

    def of(self, choice: Ints) -> float:
        """What a choice of spots (things,) is charged."""
        return float(self.unary[choice].sum()) + self.apart(choice)

    def apart(self, choice: Ints) -> float:
        """What it is charged for things that stand too near to each other."""
        own = choice - self.first[: len(choice)]
        return sum(float(block[own[i], own[j]]) for (i, j), block in self.pairs.items())


def prices(
    ground: Ground,
    lists: Sequence[SpotList],
    rings: SpotRings,
    model_of: Callable[[Things], Things],
    strict: bool,
) -> Prices:
    """Prices of a scenario's spots, whose ``rings`` are known; all nothing where every check is a must.

    ``model_of`` two things are two whose prices they have (``PairTable.model_of``).
    """
    first = first_spots(lists)
    unary, pairs = np.zeros(first[-1]), dict[Things, Floats]()
    if strict:
        return Prices(unary, pairs, first)
    for i, spots in enumerate(lists):
        for rule in priced(ground):
            unary[first[i] : first[i + 1]] += _alone(ground, spots, rule)
        for j in range(i + 1, len(lists)):
            model = model_of((i, j))
            if model != (i, j):
                if model in pairs:
                    pairs[i, j] = pairs[model]
                continue
            for rule, times in asked(ground, spots.thing, lists[j].thing):
                cost = times * _by_distance(rings, first, (i, j), rule)
                if may_be_shielded(ground, spots.thing, lists[j].thing):
                    cost[~_in_sight(ground, spots, lists[j])] = 0.0
                pairs[i, j] = pairs.get((i, j), np.zeros(cost.shape)) + cost
    return Prices(unary, pairs, first)


SAME = 1e-6
"""Metres a year by which two sums of the same prices may differ."""


def beside(whole: float, part: float) -> float:
    """What the prices of a whole layout are more than the part of them that is counted already."""
    return whole - part if whole > part + SAME else 0.0


def priced(ground: Ground) -> tuple[Rule, ...]:
    """The checks of one thing alone that have a price in this file."""
    own = tuple(ground.under(rule) for rule, _ in ALONE)
    return tuple(rule for rule in own if rule.severity == "should" and rule.price and not rule.accepted)


def counted(ground: Ground) -> frozenset[str]:
    """Ids of the checks whose prices are in the table; that of ``ignition-height`` for stations alone."""
    pair = {rule.id for rule, _ in APART}
    return frozenset({rule.id for rule in priced(ground) if rule.id in BY_PLACE} | pair)


def _alone(ground: Ground, spots: SpotList, rule: Rule) -> Floats:
    """What a check of one thing charges each of its spots."""
    concerns, alone = BY_PLACE.get(rule.id, (None, None))
    found = np.zeros(len(spots.placements))
    if alone is None or concerns is None or not concerns(ground, spots.thing):
        return found
    for k in _in_doubt(ground, spots, rule):
        faults = alone(ground, Placed(spots.thing, spots.placements[k]))
        found[k] = sum(rule.cost(fault.required, fault.actual) for fault in faults)
    return found


def _in_doubt(ground: Ground, spots: SpotList, rule: Rule) -> list[int]:
    """The spots that a check has to look at."""
    doubt = np.ones(len(spots.placements), np.bool_)
    if rule.id == WINDOW_SILL.id:
        floor = flat(before for _, before in sills(ground))
        facings = np.array([placement.facing for placement in spots.placements])
        at = np.array([placement.at for placement in spots.placements])
        for facing in np.unique(facings).tolist():
            body = pieces(spots.thing, Placement(0.0, 0.0, facing))
            doubt[facings == facing] = hits(body, at[facings == facing], floor)
    return np.nonzero(doubt)[0].tolist()


def asked(ground: Ground, one: Thing, two: Thing) -> list[tuple[Rule, int]]:
    """The checks of distance that two things are asked for, and how many faults each has where they fail."""
    pair = (Placed(one, ORIGIN), Placed(two, ORIGIN))
    found = []
    for given, check in APART:
        rule = ground.under(given)
        if rule.severity == "should" and rule.price and not rule.accepted:
            times = sum(1 for _ in check(ground, *pair))
            found += [(rule, times)] if times else []
    return found


def _by_distance(rings: SpotRings, first: Ints, ij: Things, rule: Rule) -> Floats:
    """What a check of distance charges pairs of spots."""
    (a, b), (c, d) = (first[k : k + 2].tolist() for k in ij)
    figure = rule.figure or 0.0
    gaps = np.full((b - a, d - c), np.inf)
    gap_block(rings, a, b, c, d, figure, gaps)
    return of_gaps(rule, gaps)


def of_gaps(rule: Rule, gaps: Floats) -> Floats:
    """What a check of distance charges for gaps between footprints, the less the wider: as ``Rule.cost``."""
    figure = rule.figure or 0.0
    missing = np.minimum(1.0, (figure - gaps) / figure) if figure > 0.0 else np.ones(gaps.shape)
    return np.where(gaps < figure - TOLERANCE, rule.price * (0.5 + 0.5 * missing), 0.0)


def too_near(ground: Ground, lists: Sequence[SpotList], rings: SpotRings, ij: Things, rule: Rule) -> Bools:
    """Pairs of spots, (spots of i, spots of j), on which two things surely fail a check of distance."""
    i, j = ij
    near = _by_distance(rings, first_spots(lists), ij, replace(rule, price=1.0, severity="should")) > 0.0
    if may_be_shielded(ground, lists[i].thing, lists[j].thing):
        near &= _in_sight(ground, lists[i], lists[j])
    return near


def _in_sight(ground: Ground, one: SpotList, two: SpotList) -> Bools:
    """Pairs of spots whose middles see each other past walls and shields."""
    shape = (len(one.placements), len(two.placements))
    if any(isinstance(t, Station) and t.shield for t in ground.scenario.stations):
        return np.zeros(shape, np.bool_)
    p, q = (np.array([at.at for at in spots.placements]) for spots in (one, two))
    free = np.ones(shape, np.bool_)
    _see(p, q, np.array(list(_cuts(ground))).reshape(-1, 2, 2), free)
    return free


def _cuts(ground: Ground) -> Iterator[tuple[Floats, Floats]]:
    """The walls and the sides of shields as segments, a little longer than they are."""
    lines = [(w.start, w.end) for w in wall_segments(ground.room) if not w.name.startswith("yard ")]
    lines += [edge for fixture in ground.room.fixtures if fixture.shield for edge in edges(fixture.outline)]
    for start, end in lines:
        a, b = np.array(start), np.array(end)
        more = 2.0 * TOLERANCE * (b - a) / max(float(np.hypot(*(b - a))), TOLERANCE)
        yield a - more, b + more


@entry
def _see(p: Floats, q: Floats, cuts: Floats, free: Bools) -> None:
    """Clear ``free`` (n, m) where a cut (cuts, 2, 2) touches the way from a point of p (n, 2) to one of q."""
    for i in range(len(p)):
        for j in range(len(q)):
            for start, end in cuts:
                if (
                    _side(start, end, p[i]) * _side(start, end, q[j]) <= 0.0
                    and _side(p[i], q[j], start) * _side(p[i], q[j], end) <= 0.0
                ):
                    free[i, j] = False
                    break


@bare
def _side(a: Floats, b: Floats, c: Floats) -> float:
    """Greater than 0 where c lies to the left of the way from a to b; twice the area of the three."""
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
