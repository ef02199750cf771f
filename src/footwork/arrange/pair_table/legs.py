"""What of the cost two things share: the legs between them, and wishes, as sums over pairs.

A job's cost is the least over one standing place for each visit; leg by leg it is at least the least
over the places of that leg's two ends.  Legs with the same ends, sides and width are counted
together, weighted by times a year.  A visit that any of several alike stations may serve has no pair
of its own: its legs are left out (0 is below what they cost).  States of vehicles: a leg is walked in
each state with the shares adding up to 1, and costs no less with more on the floor than with the two
things alone.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from footwork.arrange.core.arrays import Floats
from footwork.arrange.spots.enumerate import SpotList
from footwork.floor.wishes import to_building, wish_distance, wish_terms
from footwork.model.scenario import Prefer, Scenario, Side, Visit

End = tuple[str, Side | None]


@dataclass(frozen=True, slots=True)
class PairLeg:
    """All legs a year between two ends that need the same clear width; ``weight`` is times a year."""

    start: End
    end: End
    width: float
    weight: float

    @property
    def turned(self) -> PairLeg:
        """The same leg from its other end."""
        return PairLeg(self.end, self.start, self.width, self.weight)

    @property
    def unweighted(self) -> PairLeg:
        """The leg as a key for its metres, its weight left 0."""
        return PairLeg(self.start, self.end, self.width, 0.0)


def pair_legs(scenario: Scenario) -> tuple[PairLeg, ...]:
    """Legs between visits that one thing (or door) alone can serve, either way round counted together."""
    found: dict[tuple[End, End, float], float] = defaultdict(float)
    for job in scenario.jobs:
        for a, b in pairwise(job.route):
            if len(a.members) > 1 or len(b.members) > 1:
                continue
            ends = sorted((_end(a), _end(b)), key=lambda e: (e[0], e[1] or ""))
            if ends[0][0] == ends[1][0] and (ends[0][1] is None or ends[1][1] is None or ends[0] == ends[1]):
                continue  # the same place may serve both
            width = job.width_between(a, b, scenario.walker.width)
            found[ends[0], ends[1], width] += job.times_per_year
    return tuple(PairLeg(a, b, width, weight) for (a, b, width), weight in sorted(found.items(), key=repr))


def _end(visit: Visit) -> End:
    return (visit.members[0], visit.side)


def wish_prices(
    scenario: Scenario, lists: Sequence[SpotList]
) -> tuple[Floats, dict[tuple[int, int], Floats]]:
    """What the wishes cost: by spot, and by pair of things (i < j) an array (spots of i, spots of j).

    A wish measured to the nearest of several alike stations is no sum of pairs.  The nearest is no further
    than the first: where further costs less the first stands for all, elsewhere the wish is left out (0).
    """
    number = {spots.thing.name: k for k, spots in enumerate(lists)}
    at = [np.array([p.at for p in spots.placements]).reshape(-1, 2) for spots in lists]
    first = np.concatenate(([0], np.cumsum([len(a) for a in at])))
    unary = np.zeros(first[-1])
    pairs: dict[tuple[int, int], Floats] = {}
    for wish in scenario.prefer:
        for name, others in wish_terms(scenario, wish):
            i = number[name]
            if not others:
                unary[first[i] : first[i + 1]] += _to_building(scenario, wish, at[i])
            elif len(others) == 1 or (wish.near is None) == (wish.weight > 0):
                j = number[others[0]]
                metres = np.hypot(*(at[i][:, None] - at[j][None]).transpose(2, 0, 1))
                counted = metres if wish.near is not None else np.maximum(0.0, wish.by - metres)
                low, high = min(i, j), max(i, j)
                block = wish.weight * (counted if i < j else counted.T)
                pairs[low, high] = pairs.get((low, high), np.zeros(block.shape)) + block
    return unary, pairs


def _to_building(scenario: Scenario, wish: Prefer, at: Floats) -> Floats:
    target = wish.near or wish.apart_from or ""
    found = np.zeros(len(at))
    for k, (x, y) in enumerate(at.tolist()):
        metres = to_building(scenario.room, (x, y), target)
        if metres is not None and math.isfinite(metres):
            found[k] = wish.weight * wish_distance(wish, metres)
    return found
