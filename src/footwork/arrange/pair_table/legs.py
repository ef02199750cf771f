"""The legs of the jobs, as far as they are sums over one thing or two.

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
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import NamedTuple

from footwork.floor.effort import factors
from footwork.floor.variants import variants, widths
from footwork.floor.walls import limits
from footwork.model.scenario import Job, Scenario, Side, Visit

End = tuple[str, Side | None]
"""The thing (or door) at which a leg begins or ends, and the side its route names."""
Things = tuple[int, int]
"""Numbers of two things, the lower first."""


@dataclass(frozen=True, slots=True)
class LegKey:
    """Two ends in their fixed order and the clear width between them: what metres are kept by."""

    start: End
    end: End
    width: float


def key_of(one: End, two: End, width: float) -> LegKey:
    """The key of a leg, whichever way round it is walked."""
    start, end = sorted((one, two), key=lambda e: (e[0], e[1] or ""))
    return LegKey(start, end, width)


@dataclass(frozen=True, slots=True)
class PairLeg:
    """All legs a year between two ends that need the same clear width.

    ``weight`` is times a year, more of those with a heavy load (``floor.effort``).
    """

    start: End
    end: End
    width: float
    weight: float

    @property
    def turned(self) -> PairLeg:
        """The same leg from its other end."""
        return PairLeg(self.end, self.start, self.width, self.weight)

    @property
    def key(self) -> LegKey:
        return key_of(self.start, self.end, self.width)


ALMOST_NEVER = 1e-9
"""Times a year that a job of none counts: nothing in any figure, but there has to be a way for it."""


def times_of(job: Job) -> float:
    """Times a year that a job weighs; never 0, which would make nothing of a way that there is not."""
    return max(job.times_per_year, ALMOST_NEVER)


def pair_legs(scenario: Scenario) -> tuple[PairLeg, ...]:
    """Legs between visits that one thing (or door) alone can serve, either way round counted together."""
    found: dict[LegKey, float] = defaultdict(float)
    for job in scenario.jobs:
        for variant in variants(scenario, job):
            times = variant.share * times_of(job)
            for leg in legs_of(scenario, job, variant.route):
                if len(leg.start.members) > 1 or len(leg.end.members) > 1:
                    continue
                key = key_of(_end(leg.start), _end(leg.end), leg.width)
                (one, side), (two, other) = key.start, key.end
                if one == two and (side is None or other is None or side == other):
                    continue  # the same place may serve both
                found[key] += times * leg.factor
    kept = (PairLeg(key.start, key.end, key.width, weight) for key, weight in found.items())
    return tuple(sorted(kept, key=lambda leg: repr(((leg.start, leg.end, leg.width), leg.weight))))


class RouteLeg(NamedTuple):
    """A leg of a route: its ends, the clear width that it needs, how many times as much a metre counts."""

    start: Visit
    end: Visit
    width: float
    factor: float


def legs_of(scenario: Scenario, job: Job, route: tuple[Visit, ...]) -> list[RouteLeg]:
    """The legs of a variant of a job."""
    speed = scenario.walker.speed
    each = zip(pairwise(route), widths(scenario, job, route), factors(job, route, speed), strict=True)
    return [RouteLeg(a, b, width, factor) for (a, b), width, factor in each]


FAR = 10.0
"""Times the way across the room that no leg is as long as, on an average."""


def out_of_all_proportion(scenario: Scenario) -> float:
    """Metres a year that no layout costs which anybody would look at."""
    x0, y0, x1, y1 = limits(scenario.room, False)
    each = FAR * math.hypot(x1 - x0, y1 - y0) + scenario.walker.setting_off
    return each * sum(
        variant.share * job.times_per_year * leg.factor
        for job in scenario.jobs
        for variant in variants(scenario, job)
        for leg in legs_of(scenario, job, variant.route)
    )


def _end(visit: Visit) -> End:
    return (visit.members[0], visit.side)


@dataclass(frozen=True, slots=True)
class OwnLeg:
    """A leg of one thing: from its end ``here`` to a ``door``, or (None) to another of its sides."""

    thing: int
    door: str | None
    here: End
    there: End
    leg: PairLeg


@dataclass(frozen=True)
class SortedLegs:
    """Legs from door to door, legs of one thing, and legs between two: those begin at the lower thing."""

    doors: list[PairLeg] = field(default_factory=list)
    own: list[OwnLeg] = field(default_factory=list)
    shared: Mapping[Things, list[PairLeg]] = field(default_factory=lambda: defaultdict(list))


def sorted_legs(legs: Sequence[PairLeg], number: Mapping[str, int]) -> SortedLegs:
    """``legs`` by the things at their ends; ``number`` of each thing by its name."""
    found = SortedLegs()
    for leg in legs:
        i, j = number.get(leg.start[0]), number.get(leg.end[0])
        if i is None and j is None:
            found.doors.append(leg)
        elif i is None and j is not None:
            found.own.append(OwnLeg(j, leg.start[0], leg.end, leg.start, leg))
        elif i is not None and j is None:
            found.own.append(OwnLeg(i, leg.end[0], leg.start, leg.end, leg))
        elif i is not None and j is not None:
            if i == j:
                found.own.append(OwnLeg(i, None, leg.start, leg.end, leg))
            else:
                found.shared[min(i, j), max(i, j)].append(leg if i < j else leg.turned)
    return found
