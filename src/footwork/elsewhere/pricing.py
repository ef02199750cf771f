"""What a layout costs that differs from a known one in where one thing stands; and what fails by it.

Every check is the one that ``score`` asks; of things that have not moved its answers are remembered.  A
must-check that fails as much in the known layout is no reason against a spot, and what cannot be walked there
either is squeezed, as ``score`` does.  Metres a year.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from footwork.checks.fittings import LEAD_ACROSS
from footwork.checks.memory import Memory, RememberedCase, RememberedLayout
from footwork.checks.result import CheckResult
from footwork.checks.rule import Rule
from footwork.checks.run import CHECKS, Check, musts
from footwork.checks.walking import REACHABLE
from footwork.elsewhere.results import Refusal, Spot
from footwork.floor.plan import Plan
from footwork.floor.routes import JobWalk, Walks
from footwork.floor.wishes import wish_metres
from footwork.model.scenario import TOLERANCE, Layout, Placement, Scenario
from footwork.scoring import cost_of_walks

Key = tuple[str, str]
"""A check and its subject."""


def missing(result: CheckResult) -> float:
    """How much a failed check lacks, in its own unit; 1 where it says yes or no."""
    if result.required is None or result.actual is None:
        return 1.0
    return abs(result.required - result.actual)


@dataclass(frozen=True, eq=False)
class Pricing:
    """Prices layouts that differ from ``layout`` in one thing."""

    scenario: Scenario
    layout: Layout
    memory: Memory = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "memory", Memory(self.scenario))

    @cached_property
    def _plan(self) -> Plan:
        return Plan(self.scenario, self.layout)

    @cached_property
    def cost(self) -> float:
        """What the layout itself costs, sound or not."""
        plan = Plan(self.scenario, self.layout)
        jobs = walked_as_it_is(plan)
        prices = math.fsum(result.price for result in self.results(plan, jobs))
        return cost_of_walks(jobs) + wish_metres(self.scenario, plan.placements) + prices

    @cached_property
    def failed(self) -> Mapping[Key, float]:
        """Must-checks that it fails, and what they lack."""
        plan = Plan(self.scenario, self.layout)
        found: dict[Key, float] = {}
        for result in self.results(plan, walked_as_it_is(plan)):
            if result.severity == "must" and not result.ok:
                key = (result.id, result.subject)
                found[key] = max(missing(result), found.get(key, 0.0))
        return found

    def at(self, name: str, placement: Placement, walked: float) -> Spot | Refusal:
        """The thing at another placement, where nothing but a whole layout refuses it.

        ``walked`` is what walks and wishes cost then; infinite where some job cannot be walked.
        """
        plan = self._plan.after(self.layout.moved({name: placement}))
        jobs: tuple[JobWalk, ...] = ()
        if math.isinf(walked):
            jobs = walked_as_it_is(plan)
            if any(job.blocked and (REACHABLE.id, job.job.name) not in self._blocked for job in jobs):
                return Refusal(placement, REACHABLE.id)
            walked = cost_of_walks(jobs) + wish_metres(self.scenario, plan.placements)
        elif self._walks_count:
            jobs = walked_as_it_is(plan)
        prices: list[float] = []
        for result in self.results(plan, jobs):
            if self.fails_by_it(result):
                return Refusal(placement, result.id)
            prices.append(result.price)
        return Spot(placement, walked + math.fsum(prices))

    def fails_by_it(self, result: CheckResult) -> bool:
        """Whether a result of another layout is a must-check that fails, and by more than in this one."""
        if result.ok or result.severity != "must":
            return False
        return missing(result) > self.failed.get((result.id, result.subject), -1.0) + TOLERANCE

    def results(self, plan: Plan, jobs: tuple[JobWalk, ...]) -> Iterator[CheckResult]:
        """What every check says that can refuse or cost anything; wordless, one after the other."""
        arranged = RememberedLayout(plan, jobs, musts, silent=True, memory=self.memory)
        for rule, check in self._asked:
            yield from check(RememberedCase(arranged, rule, memory=self.memory))

    @cached_property
    def _asked(self) -> tuple[tuple[Rule, Check], ...]:
        own = ((rule.under(self.scenario.checks), check) for rule, check in CHECKS)
        return tuple((rule, check) for rule, check in own if rule.severity == "must" or rule.price)

    @cached_property
    def _walks_count(self) -> bool:
        """Whether it matters where the ways of jobs lead, not only how far."""
        rule = LEAD_ACROSS.under(self.scenario.checks)
        asked = rule.severity == "must" or rule.cost(None, None) > 0.0
        never = any(not job.times_per_year for job in self.scenario.jobs)  # left out of what ``at`` is given
        return never or (asked and any(station.needs for station in self.scenario.stations))

    @property
    def walkable(self) -> bool:
        """Whether every job can be walked in the layout itself."""
        return not self._blocked

    @cached_property
    def _blocked(self) -> frozenset[Key]:
        """Jobs that cannot be walked in the layout itself."""
        jobs = walked_as_it_is(Plan(self.scenario, self.layout))
        return frozenset((REACHABLE.id, job.job.name) for job in jobs if job.blocked)


def walked_as_it_is(plan: Plan) -> tuple[JobWalk, ...]:
    """The walks of all jobs; what cannot be walked is squeezed."""
    walks = Walks(plan, squeeze=True)
    return tuple(walks.job(job) for job in plan.scenario.jobs)
