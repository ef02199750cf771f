"""What an arrangement costs, told in stages: the walking at once, then what fails, then that in words.

Each stage is the work of ``footwork.scoring.score``, by the same functions: walks, prices and messages are
equal to its own.  Metres, and metres a year.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from footwork.checks.ground import Ground, Placed
from footwork.checks.memory import Memory, RememberedCase, RememberedLayout
from footwork.checks.mending import Failed
from footwork.checks.result import CheckResult
from footwork.checks.run import CHECKS, failing, musts
from footwork.floor.plan import Plan
from footwork.floor.routes import JobWalk, LegWalk, Walks
from footwork.floor.squeeze import Squeezer
from footwork.floor.wishes import wish_metres
from footwork.model.scenario import Layout, Scenario
from footwork.scoring import JobScore, Leg, StateScore, Stop, cost_of_walks


class Superseded(Exception):
    """Somebody has moved on: nobody waits for this any more."""


@dataclass(frozen=True)
class Walked:
    """The first stage: the walks of all jobs in one layout."""

    plan: Plan
    walks: Walks
    jobs: tuple[JobWalk, ...]

    def metres_per_year(self, job: JobWalk) -> float:
        """One job's metres a year."""
        return _a_year(job, job.metres)

    @property
    def metres(self) -> float:
        """Metres a year of all jobs."""
        return math.fsum(map(self.metres_per_year, self.jobs))

    @property
    def hours(self) -> float:
        """Hours a year of walking."""
        return self.metres / self.plan.scenario.walker.speed / 3600

    @property
    def squeezed(self) -> float:
        """Of the metres those for which there is no way wide enough."""
        return math.fsum(_a_year(job, job.squeezed) for job in self.jobs)

    @property
    def cost(self) -> float:
        """Metres a year with setting off, loads and wishes, without what checks count."""
        return cost_of_walks(self.jobs) + wish_metres(self.plan.scenario, self.plan.placements)


def walked(scenario: Scenario, layout: Layout, before: Walked | None = None) -> Walked:
    """Walk every job; a leg without a way wide enough is squeezed, as ``score`` does.

    ``before`` is another layout of the same scenario: of its geometry what has not moved stays.
    """
    plan = Plan(scenario, layout) if before is None else before.plan.after(layout)
    walks = Walks(plan, squeeze=True, before=None if before is None else before.walks)
    return Walked(plan, walks, tuple(walks.job(job) for job in scenario.jobs))


def practise(found: Walked) -> None:
    """Do what is first asked for after a move: on a new machine it is compiled before the hand waits."""
    scenario = found.plan.scenario
    walked(scenario, found.plan.layout, found)
    Squeezer.of(found.plan, frozenset()).squeeze([], scenario.walker.width)


def failed_checks(
    found: Walked, memory: Memory, newer: Callable[[], bool] | None = None
) -> tuple[CheckResult, ...]:
    """Every check that fails, ``must`` before ``should``; ``memory`` is that of the scenario.

    Without ``newer`` the messages say nothing of what would mend it, and it is quick.  With it they are
    those of ``score``; ``newer`` is asked now and then whether anybody still waits, and Superseded raised
    where nobody does.
    """
    arranged = _arranged(found, memory, newer)
    results = []
    for rule, check in CHECKS:
        _go_on(newer)
        case = RememberedCase(arranged, rule.under(found.plan.scenario.checks), memory=memory)
        results += [result for result in check(case) if not result.ok]
    return tuple(sorted(results, key=lambda r: r.severity != "must"))


def _arranged(found: Walked, memory: Memory, newer: Callable[[], bool] | None) -> RememberedLayout:
    """The layout ready for the checks; while moves are tried that would mend one, ``newer`` is asked."""
    if newer is None:
        return RememberedLayout(found.plan, found.jobs, musts, silent=True, memory=memory)

    def musts_while_wanted(ground: Ground, placed: Placed, others: tuple[Placed, ...]) -> Failed:
        _go_on(newer)
        return musts(ground, placed, others)

    def failing_while_wanted(plan: Plan) -> Iterator[tuple[tuple[str, str], float]]:
        for each in failing(plan):
            _go_on(newer)
            yield each

    return RememberedLayout(
        found.plan, found.jobs, musts_while_wanted, failing=failing_while_wanted, memory=memory
    )


def _go_on(newer: Callable[[], bool] | None) -> None:
    if newer is not None and newer():
        raise Superseded


def walk_of(found: Walked, name: str) -> JobScore | None:
    """The walk of one job with its ways, as far as a drawing of it asks; None where there is no such job."""
    job = next((each for each in found.jobs if each.job.name == name), None)
    if job is None:
        return None
    main = job.main
    legs = {(leg.start, leg.end, leg.width): leg for leg in main.legs}
    told = {key: _leg(found, main.present, leg) for key, leg in legs.items()}
    return JobScore(
        name=name,
        times_per_year=job.job.times_per_year,
        metres_each=job.metres,
        one_step_share=0.0,
        states=tuple(StateScore(s.vehicles_in, s.share, s.metres) for s in job.states),
        legs=tuple(told[leg.start, leg.end, leg.width] for leg in main.legs),
    )


def _leg(found: Walked, present: frozenset[str], leg: LegWalk) -> Leg:
    start, end = (Stop(place.owner, place.side, place.at) for place in (leg.start, leg.end))
    squeezed = None if leg.squeezed is None else leg.squeezed.width
    return Leg(start, end, leg.metres, leg.width, found.walks.path(present, leg).points, squeezed=squeezed)


def _a_year(job: JobWalk, metres: float) -> float:
    return job.job.times_per_year * metres if job.job.times_per_year else 0.0
