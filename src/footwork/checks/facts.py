"""What a check found, in words, without what would mend it."""

from __future__ import annotations

from footwork.checks.case import NO_MOVE
from footwork.checks.result import CheckResult
from footwork.checks.run import RULES
from footwork.model.scenario import Scenario
from footwork.model.units import format_length


def fact(scenario: Scenario, result: CheckResult) -> str:
    """The message of a failed check for which no moves were tried: what fails, and by how much.

    One that tells nothing without them is told as the requirement that is not met.
    """
    said = result.message.replace(f": {NO_MOVE}", "").removesuffix(NO_MOVE)
    if said:
        return said
    rule = next(rule for rule in RULES if rule.id == result.id).under(scenario.checks)
    return f"{result.subject}: not so that {rule.sentence(lambda m: format_length(m, scenario.units))}"
