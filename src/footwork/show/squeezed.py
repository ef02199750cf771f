"""Words for what is walked without a way that is wide enough."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from footwork.model.scenario import TOLERANCE
from footwork.model.units import format_length
from footwork.scoring import JobScore, Leg, Score
from footwork.show import text
from footwork.show.walked import Walked


def squeezed_words(score: Score, told: Walked) -> str:
    """``of which 223 m squeezed through gaps too narrow``, a year; "" where every leg can be walked."""
    if not any(job.blocked for job in score.jobs):
        return ""
    return f"of which {_share(score.squeezed_per_year, score.over_per_year, told.total)}"


def squeezed_each_words(job: JobScore, told: Walked) -> str:
    """The same of one job each time, without ``of which``."""
    return _share(job.squeezed_each, job.over_each, told.once) if job.blocked else ""


def _share(squeezed: float, over: float, form: Callable[[float], str]) -> str:
    said = f"{form(squeezed)} squeezed through gaps too narrow"
    if over < 0.05:
        return said
    if over > squeezed - 0.05:
        return f"{form(over)} straight over what stands in the way"
    return f"{said}, {form(over)} of them straight over what stands in the way"


def blocked_names(jobs: Iterable[JobScore]) -> list[str]:
    """The jobs with a leg that has no way wide enough."""
    return [job.name for job in jobs if job.blocked]


def how(leg: Leg, units: str) -> str:
    """How a leg without a way is measured: ``squeezed through 0.50 m``."""
    if not leg.squeezed:
        return "straight over what stands in the way"
    parts = []
    if leg.squeezed < leg.width - TOLERANCE:
        parts.append(f"squeezed through {format_length(leg.squeezed, units)}{_between(leg)}")
    if leg.over:
        parts.append(f"{format_length(leg.over, units)} of it straight over what stands in the way")
    return ", ".join(parts)


def at_the_pinch(leg: Leg) -> bool:
    """Whether the narrowest place known on a squeezed leg is the one that makes it so narrow."""
    return leg.narrowest is not None and abs(leg.narrowest.width - (leg.squeezed or 0.0)) <= 10 * TOLERANCE


def _between(leg: Leg) -> str:
    if leg.narrowest is None or not at_the_pinch(leg):
        return ""
    return f" between {text.listed(leg.narrowest.between)}"
