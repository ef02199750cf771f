"""Why a thing can't stand on a spot, in the words of the checks."""

from __future__ import annotations

from collections.abc import Iterator

from footwork.checks.case import names as named
from footwork.checks.facts import fact
from footwork.checks.holding import where as at
from footwork.checks.result import CheckResult
from footwork.checks.walking import REACHABLE
from footwork.elsewhere.pricing import Pricing, walked_as_it_is
from footwork.elsewhere.results import Refusal
from footwork.floor.plan import Plan
from footwork.floor.routes import JobWalk
from footwork.model.units import format_length

MOST = 3
"""Lines about one spot."""
UNTRIED = "no spot of it was tried on this floor"


def why(pricing: Pricing, name: str, refusal: Refusal) -> tuple[str, ...]:
    """The must-checks that fail by a thing where it was refused, a line each; a few of them."""
    plan = Plan(pricing.scenario, pricing.layout.moved({name: refusal.placement}))
    jobs = walked_as_it_is(plan) if refusal.check == REACHABLE.id else ()
    ways = [words for job in jobs for words in _no_way(pricing, job)]
    failed = [
        result
        for result in pricing.results(plan, jobs)
        if pricing.fails_by_it(result) or (_is_failed(result) and _about(result, name))
    ]
    # What refused it first: then what is about the thing itself, then the rest.
    failed.sort(key=lambda result: _rank(result, name, refusal))
    told = [fact(pricing.scenario, result) for result in failed if result.id != REACHABLE.id]
    return tuple(dict.fromkeys((*ways[:1], *told)))[:MOST] or (UNTRIED,)


def _rank(result: CheckResult, name: str, refusal: Refusal) -> tuple[bool, bool, bool]:
    return (result.id != refusal.check, not _about(result, *refusal.by), result.subject != name)


def _is_failed(result: CheckResult) -> bool:
    return result.severity == "must" and not result.ok


def _about(result: CheckResult, *names: str) -> bool:
    return any(named(f"{result.subject} {result.message}", name) for name in names)


def _no_way(pricing: Pricing, job: JobWalk) -> Iterator[str]:
    if (REACHABLE.id, job.job.name) in pricing.failed:
        return
    for state in job.states:
        for leg in state.legs:
            if leg.blocked:
                wide = format_length(leg.width, pricing.scenario.units)
                yield f"{job.job.name}: no way {wide} wide from {at(leg.start)} to {at(leg.end)}"
