"""Which visits of the jobs become variables of the bound, and what their legs are.

A visit matters when the station has several standing places (or several alike stations may serve it)
and the legs before and after lead to different ends: between legs from and to the same end the nearest
place serves both.  Visits that matter and follow one another make a run; runs of the same stops between
the same ends cost the same in every layout, and are counted together.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from footwork.arrange.pair_table.legs import LegKey, key_of, legs_of, times_of
from footwork.floor.variants import variants
from footwork.model.scenario import Job, Scenario, Side, Visit

Stop = tuple[tuple[str, ...], Side | None]
"""The things (or the door) that may serve a visit, and the side its route names."""


class Way(NamedTuple):
    """A stop, the clear width that the leg to it needs, and how many times as much a metre of it counts."""

    stop: Stop
    width: float
    factor: float


@dataclass(frozen=True)
class ChosenLeg:
    """A leg of ``visit``: to another visit's number, or to a stop that is no variable, at a clear width.

    ``weight`` is times a year, more with a heavy load.
    """

    visit: int
    other: int | None
    stop: Stop
    width: float
    weight: float


@dataclass(frozen=True)
class ChosenVisits:
    """The visits that are variables, by their stops, and their legs."""

    stops: tuple[Stop, ...] = ()
    legs: tuple[ChosenLeg, ...] = ()

    def replaced(self) -> dict[LegKey, float]:
        """Legs of the pair table that are counted here instead, and how many times a year."""
        found: dict[LegKey, float] = defaultdict(float)
        for leg in self.legs:
            if len(self.stops[leg.visit][0]) == len(leg.stop[0]) == 1:
                found[plain_leg(self.stops[leg.visit], leg.stop, leg.width)] += leg.weight
        return dict(found)


def plain_leg(one: Stop, two: Stop, width: float) -> LegKey:
    """The pair table's leg between two stops of one thing each."""
    return key_of((one[0][0], one[1]), (two[0][0], two[1]), width)


@dataclass(frozen=True)
class _Visit:
    """A visit of an unrolled route with the ways before and after it, None where nothing is walked."""

    stop: Stop
    before: Way | None
    after: Way | None

    @property
    def ways(self) -> list[Way]:
        return [way for way in (self.before, self.after) if way is not None]


def _visits(scenario: Scenario) -> Iterator[tuple[float, list[_Visit]]]:
    """Times a year and the visits of each variant of each job."""
    for job in scenario.jobs:
        for variant in variants(scenario, job):
            yield variant.share * times_of(job), _of_route(scenario, job, variant.route)


def _of_route(scenario: Scenario, job: Job, route: tuple[Visit, ...]) -> list[_Visit]:
    ways: list[tuple[Way | None, Way | None]] = []
    for a, b, width, factor in legs_of(scenario, job, route):
        # Between a thing's own sides nothing depends on where others stand.
        apart = a.members != b.members
        back, on = (Way((v.members, v.side), width, factor) for v in (a, b))
        ways.append((back, on) if apart else (None, None))
    stops = [(v.members, v.side) for v in route]
    return [
        _Visit(stop, ways[k - 1][0] if k else None, ways[k][1] if k < len(ways) else None)
        for k, stop in enumerate(stops)
    ]


def candidates(scenario: Scenario, count_places: Callable[[Stop], int]) -> dict[_Visit, float]:
    """Visits that matter, and their times a year; a stop has ``count_places`` standing places."""
    found: dict[_Visit, float] = defaultdict(float)
    for times, visits in _visits(scenario):
        for visit in visits:
            differ = len(visit.ways) == 2 and visit.before != visit.after
            if (differ and count_places(visit.stop) > 1) or (visit.ways and len(visit.stop[0]) > 1):
                found[visit] += times
    return dict(found)


def chosen_visits(scenario: Scenario, chosen: set[_Visit]) -> ChosenVisits:
    """Variables and legs for the ``chosen`` candidates."""
    runs: dict[tuple[Way | None, tuple[_Visit, ...], Way | None], float] = defaultdict(float)
    for times, visits in _visits(scenario):
        for run in _runs(visits, chosen):
            runs[run[0].before, tuple(run), run[-1].after] += times
    stops: list[Stop] = []
    legs: list[ChosenLeg] = []
    for (before, inner, after), times in runs.items():
        base = len(stops)
        stops += [visit.stop for visit in inner]
        for k, visit in enumerate(inner[:-1]):
            assert visit.after is not None
            way = visit.after
            legs.append(ChosenLeg(base + k, base + k + 1, way.stop, way.width, times * way.factor))
        for end, k in ((before, 0), (after, len(inner) - 1)):
            # A stop of alike stations that is no variable itself counts nothing.
            if end is not None and len(end.stop[0]) == 1:
                legs.append(ChosenLeg(base + k, None, end.stop, end.width, times * end.factor))
    return ChosenVisits(tuple(stops), tuple(legs))


def _runs(visits: list[_Visit], chosen: set[_Visit]) -> Iterator[list[_Visit]]:
    """The longest stretches of chosen visits with a walk between each two."""
    run: list[_Visit] = []
    for visit in visits:
        if run and (visit not in chosen or visit.before is None):
            yield run
            run = []
        if visit in chosen:
            run.append(visit)
    if run:
        yield run
