"""Walking a job: the least walk over one standing place for each visit.

A job is walked in each state of the vehicles that can hold while it is done; its distance is the mean
over the states by their share of the time.  Metres, in the room's frame.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from operator import is_not
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from footwork.floor.effort import factors, felt
from footwork.floor.known_ways import Ends, Key, KnownWays
from footwork.floor.plan import Plan
from footwork.floor.scene import Path
from footwork.floor.shapes import StandingPlace, stepped_out
from footwork.floor.squeeze import Squeeze, Squeezer
from footwork.floor.variants import Variant, variants, widths
from footwork.model.scenario import Job, Scenario, Visit

Floats = NDArray[np.float64]

NO_WAY = 1e7
"""Metres.  Stands, inside the dynamic programme, for a leg that can't be walked, so that the rest of the
route is still found and every blocked leg can be named."""


@dataclass(frozen=True, slots=True)
class LegWalk:
    """One leg: from where to where, how far, and the clear width it needs.

    Without a way of that width ``metres`` is inf, or how far it is ``squeezed`` where that is asked for.
    """

    start: StandingPlace
    end: StandingPlace
    metres: float
    width: float
    squeezed: Squeeze | None = None

    @property
    def blocked(self) -> bool:
        """Whether there is no way as wide as it needs."""
        return self.squeezed is not None or not math.isfinite(self.metres)


@dataclass(frozen=True, slots=True)
class StateWalk:
    """A job walked while ``vehicles_in`` are in; ``share`` of the job's time.

    ``route`` is the job's, as it is then walked; ``stops`` has one standing place for each of its visits.
    ``metres`` is inf when a leg can't be walked, unless such legs are squeezed; ``effort`` is what they
    count.  ``present`` are all that come and go and are there.
    """

    vehicles_in: tuple[str, ...]
    share: float
    metres: float
    stops: tuple[StandingPlace, ...]
    legs: tuple[LegWalk, ...]
    route: tuple[Visit, ...] = ()
    effort: float = 0.0
    present: frozenset[str] = frozenset()

    @property
    def blocked(self) -> int:
        """How many legs have no way: no choice of standing places has fewer."""
        return sum(leg.blocked for leg in self.legs)

    @property
    def squeezed(self) -> float:
        """Metres of the legs that are squeezed."""
        return math.fsum(leg.metres for leg in self.legs if leg.squeezed is not None)


@dataclass(frozen=True, slots=True)
class JobWalk:
    """A job walked in all its states, the one with the greatest share first."""

    job: Job
    states: tuple[StateWalk, ...]

    @property
    def main(self) -> StateWalk:
        return self.states[0]

    @property
    def metres(self) -> float:
        """Mean over the states by share."""
        return sum(s.share * s.metres for s in self.states)

    @property
    def effort(self) -> float:
        """What they count, with setting off and loads."""
        return sum(s.share * s.effort for s in self.states)

    @property
    def squeezed(self) -> float:
        """Of these the metres of legs that are squeezed."""
        return sum(s.share * s.squeezed for s in self.states)

    @property
    def blocked(self) -> bool:
        """Whether there is a leg without a way in any state."""
        return any(s.blocked for s in self.states)


def vehicle_states(scenario: Scenario, job: Job) -> tuple[tuple[frozenset[str], float], ...]:
    """The states in which ``job`` is done and their shares, greatest first.

    A vehicle the job visits is in, one it wants outside is out, every other is in for its own share, which
    may differ between the seasons in which the job is done.
    """
    if not any(vehicle.inside_by for vehicle in scenario.vehicles):
        return _ordered(_states_in(scenario, job, ""))
    found: dict[frozenset[str], float] = {}
    for season, part in scenario.seasons_of(job):
        for state, share in _states_in(scenario, job, season):
            found[state] = found.get(state, 0.0) + part * share
    return _ordered(found.items())


def parts_in_seasons(scenario: Scenario, job: Job, vehicles_in: frozenset[str]) -> tuple[float, ...]:
    """Of the times that a job is done with just these in, the part in each season of the scenario."""
    parts = dict(scenario.seasons_of(job))
    found = [
        parts.get(season.name, 0.0) * dict(_states_in(scenario, job, season.name)).get(vehicles_in, 0.0)
        for season in scenario.seasons
    ]
    whole = math.fsum(found)
    return tuple(part / whole if whole else 0.0 for part in found)


def _ordered(states: Iterable[tuple[frozenset[str], float]]) -> tuple[tuple[frozenset[str], float], ...]:
    """Those that there are, the greatest share first."""
    return tuple(sorted((s for s in states if s[1] > 0.0), key=lambda s: (-s[1], sorted(s[0]))))


def _states_in(scenario: Scenario, job: Job, season: str) -> list[tuple[frozenset[str], float]]:
    """The states in which a job is done while a season lasts, and their shares."""
    visited = {m for visit in job.route if visit.kind == "vehicle" for m in visit.members}
    states: list[tuple[frozenset[str], float]] = [(frozenset(), 1.0)]
    for vehicle in scenario.vehicles:
        share = vehicle.inside_in(season)
        if vehicle.name in visited:
            share = 1.0
        elif vehicle.name in job.outside:
            share = 0.0
        states = [
            (state | {vehicle.name} if inside else state, part * (share if inside else 1.0 - share))
            for state, part in states
            for inside in (False, True)
        ]
    return states


@dataclass(frozen=True, slots=True)
class State:
    """What holds while a job is done for ``share`` of its times: vehicles that are in, and its variant."""

    vehicles_in: frozenset[str]
    share: float
    variant: Variant

    @property
    def present(self) -> frozenset[str]:
        """All that comes and goes and is there."""
        return self.vehicles_in | self.variant.out


def job_states(scenario: Scenario, job: Job) -> tuple[State, ...]:
    """Every state in which a job is done, the greatest share first."""
    found = [
        State(vehicles, share * variant.share, variant)
        for variant in variants(scenario, job)
        for vehicles, share in vehicle_states(scenario, job)
    ]
    return tuple(sorted(found, key=lambda state: -state.share))


class _Way(NamedTuple):
    """A state in which a job is done, wherever things stand: of each leg the width it needs, and how often a
    metre of it counts."""

    when: State
    widths: Sequence[float]
    factors: Sequence[float]


def _way(scenario: Scenario, job: Job, when: State) -> _Way:
    route = when.variant.route
    return _Way(when, widths(scenario, job, route), factors(job, route, scenario.walker.speed))


class _Walked(NamedTuple):
    """How a job was walked in a state, and the distances that this rests on."""

    way: _Way
    of: Sequence[object]
    walk: StateWalk


class Walks:
    """Walking on one plan, with the distances between standing places kept.

    With ``squeeze`` a job that cannot be walked is walked all the same: by the fewest legs without a way,
    then by the least that is missing of their widths, then by the fewest metres.  ``before`` are walks of
    another layout of the same scenario: how jobs are done is taken over from them, and what has not changed.
    """

    def __init__(self, plan: Plan, squeeze: bool = False, before: Walks | None = None) -> None:
        self.plan = plan
        self.squeeze = squeeze
        kept = before if before is not None and before.plan.scenario is plan.scenario else None
        self._ways: dict[str, tuple[Job, tuple[_Way, ...]]] = {} if kept is None else kept._ways
        self._known: KnownWays = KnownWays() if kept is None else kept._known
        self._walked: dict[tuple[str, int], _Walked] = {} if kept is None else kept._walked
        self._matrices: dict[Key, Floats] = {}
        self._begun: set[frozenset[str]] = set()
        self._squeezers: dict[frozenset[str], Squeezer] = {}
        self._squeezes: dict[
            tuple[frozenset[str], float], dict[tuple[StandingPlace, StandingPlace], Squeeze]
        ] = {}

    def matrix(self, state: frozenset[str], start: Visit, end: Visit, width: float) -> Floats:
        """Distances from each place of ``start`` to each of ``end``: shape (n, m), inf for no way."""
        if state not in self._begun:
            self._begun.add(state)
            self._matrices.update(self._known.after(self.plan, state))
        key = (state, start.members, start.side, end.members, end.side, width)
        if key not in self._matrices:
            mirrored = (state, end.members, end.side, start.members, start.side, width)
            if mirrored in self._matrices:
                self._matrices[key] = self._matrices[mirrored].T
            else:
                self._matrices[key] = self._measure(state, key, Ends(start, end, width))
        return self._matrices[key]

    def _measure(self, state: frozenset[str], key: Key, ends: Ends) -> Floats:
        self._known.add(state, key, ends)
        p, q = ends.points(self.plan)
        return ends.walked(self.plan, self.plan.scene(state).lengths(p, q, ends.width / 2))

    def path(self, state: frozenset[str], leg: LegWalk) -> Path:
        """The way of one leg, with the steps out and in of a wide load."""
        if leg.squeezed is not None:
            return Path(leg.metres, leg.squeezed.points, leg.squeezed.way.round)
        walker = self.plan.scenario.walker.width
        p, q = (stepped_out(place, walker, leg.width) for place in (leg.start, leg.end))
        way = self.plan.scene(state).path(p, q, leg.width / 2)
        if not way.found or leg.width <= walker:
            return way
        return Path(way.length + (leg.width - walker), (leg.start.at, *way.points, leg.end.at), way.round)

    def job(self, job: Job) -> JobWalk:
        """Walk a job in every state it can be done in."""
        known, ways = self._ways.get(job.name, (None, ()))
        if known is not job:
            ways = tuple(map(partial(_way, self.plan.scenario, job), job_states(self.plan.scenario, job)))
            self._ways[job.name] = job, ways
        return JobWalk(job, tuple(self._again((job.name, k), way) for k, way in enumerate(ways)))

    def _again(self, key: tuple[str, int], way: _Way) -> StateWalk:
        """A job in one state: as before where no distance that it asks for has changed."""
        legs = zip(pairwise(way.when.variant.route), way.widths, strict=True)
        matrices = [self.matrix(way.when.present, a, b, width) for (a, b), width in legs]
        of = [matrix if matrix.base is None else matrix.base for matrix in matrices]
        known = self._walked.get(key)
        if (
            known is None
            or known.way is not way
            or not of
            or len(of) != len(known.of)
            or any(map(is_not, of, known.of))
        ):
            known = self._walked[key] = _Walked(way, of, self._state(way, matrices))
            if known.walk.blocked:
                del self._walked[key]  # a squeezed leg hangs on everything that stands there
        return known.walk

    def _state(self, way: _Way, matrices: Sequence[Floats]) -> StateWalk:
        when, needed, times = way
        scenario, route, state = self.plan.scenario, when.variant.route, when.present
        if not route:  # moves took every stop of it away
            return StateWalk(tuple(sorted(when.vehicles_in)), when.share, 0.0, (), (), route, 0.0, state)
        counted = [f * felt(m, scenario.walker) for m, f in zip(matrices, times, strict=True)]
        places = [self.plan.visit_places(visit) for visit in route]
        chosen = least_stops(counted, len(places[0]))
        if self.squeeze and not all(map(math.isfinite, _along(matrices, chosen))):
            filled = [
                self._with_squeezed(state, matrix, pair, width)
                for matrix, pair, width in zip(matrices, pairwise(places), needed, strict=True)
            ]
            counted = [
                f * felt(m, scenario.walker) + short for (m, short), f in zip(filled, times, strict=True)
            ]
            chosen = least_stops(counted, len(places[0]))
        stops = tuple(at[c] for at, c in zip(places, chosen, strict=True))
        legs = tuple(
            self._leg(state, pair, metres, width)
            for pair, metres, width in zip(pairwise(stops), _along(matrices, chosen), needed, strict=True)
        )
        lengths = [leg.metres for leg in legs]
        effort = [
            f * m for f, m in zip(times, felt(np.array(lengths), scenario.walker).tolist(), strict=True)
        ]
        return StateWalk(
            tuple(sorted(when.vehicles_in)),
            when.share,
            math.fsum(lengths),
            stops,
            tuple(leg for leg in legs if leg.start != leg.end),
            route,
            math.fsum(effort),
            state,
        )

    def _leg(
        self, state: frozenset[str], ends: tuple[StandingPlace, StandingPlace], metres: float, width: float
    ) -> LegWalk:
        if math.isfinite(metres) or not self.squeeze:
            return LegWalk(*ends, metres, width)
        (squeezed,) = self._squeezed(state, [ends], width)
        return LegWalk(*ends, squeezed.metres, width, squeezed)

    def _with_squeezed(
        self,
        state: frozenset[str],
        matrix: Floats,
        places: tuple[Sequence[StandingPlace], Sequence[StandingPlace]],
        width: float,
    ) -> tuple[Floats, Floats]:
        """``matrix`` with the metres of squeezed legs, and what such a leg counts to have few of them."""
        metres, short = matrix.copy(), np.zeros_like(matrix)
        shut = np.argwhere(~np.isfinite(matrix)).tolist()
        legs = [(places[0][i], places[1][j]) for i, j in shut]
        for (i, j), squeezed in zip(shut, self._squeezed(state, legs, width), strict=True):
            free = 0.0 if squeezed.over else squeezed.width / width
            metres[i, j], short[i, j] = squeezed.metres, NO_WAY * (2.0 - free)
        return metres, short

    def _squeezed(
        self, state: frozenset[str], legs: Sequence[tuple[StandingPlace, StandingPlace]], width: float
    ) -> list[Squeeze]:
        known = self._squeezes.setdefault((state, width), {})
        fresh = [leg for leg in dict.fromkeys(legs) if leg not in known]
        if fresh:
            if state not in self._squeezers:
                self._squeezers[state] = Squeezer.of(self.plan, state)
            known.update(zip(fresh, self._squeezers[state].squeeze(fresh, width), strict=True))
        return [known[leg] for leg in legs]


def _along(matrices: Sequence[Floats], chosen: Sequence[int]) -> list[float]:
    """The figures of a choice of places, one a leg."""
    return [float(m[i, j]) for m, (i, j) in zip(matrices, pairwise(chosen), strict=True)]


def least_stops(matrices: Sequence[Floats], first: int) -> list[int]:
    """Dynamic programme along a route: for each visit the number of the place that makes the whole least.

    ``matrices[k]`` has the distances from the places of visit k to those of visit k + 1; ``first`` is how
    many places the first visit has.  Ties go to the place that comes first.
    """
    cost = np.zeros(first)
    back: list[NDArray[np.intp]] = []
    for matrix in matrices:
        total = cost[:, None] + np.where(np.isfinite(matrix), matrix, NO_WAY)
        best = total.argmin(axis=0)
        back.append(best)
        cost = total[best, np.arange(total.shape[1])]
    at = int(cost.argmin())
    chosen = [at]
    for best in reversed(back):
        at = int(best[at])
        chosen.append(at)
    return chosen[::-1]


def walk(plan: Plan) -> tuple[JobWalk, ...]:
    """Walk every job of the scenario."""
    walks = Walks(plan)
    return tuple(walks.job(job) for job in plan.scenario.jobs)
