"""Walking as people feel it: in feet where the file is in feet, in steps and minutes of one day.

Results are metres.  Walking is told in metres in a file of metres, centimetres or millimetres, and in feet in
one of feet or inches.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from footwork.model.scenario import Job, Scenario
from footwork.model.units import walking_unit
from footwork.scoring import JobScore, Score
from footwork.show import text

DAYS = 365.0
"""Days in a year."""


@dataclass(frozen=True, slots=True)
class Walked:
    """How walking is told: in ``unit``, of which a metre has ``per_metre``.

    Of one job each time a metre has a decimal and a foot has none: both are about a hand's breadth or two.
    """

    unit: str = "m"
    per_metre: float = 1.0

    @property
    def word(self) -> str:
        """The unit in full."""
        return "metres" if self.unit == "m" else "feet"

    def whole(self, metres: float) -> str:
        """A figure a year, without the unit."""
        return text.whole(metres * self.per_metre)

    def each(self, metres: float) -> str:
        """A figure of one job, once, without the unit."""
        return text.tenths(metres) if self.unit == "m" else text.whole(metres * self.per_metre)

    def signed(self, metres: float) -> str:
        """A difference a year, without the unit."""
        return text.signed(metres * self.per_metre)

    def total(self, metres: float) -> str:
        """``1,234 m``."""
        return f"{self.whole(metres)} {self.unit}"

    def once(self, metres: float) -> str:
        """``12.3 m``, of one job."""
        return f"{self.each(metres)} {self.unit}"

    def a_year(self, metres: float) -> str:
        """``1,234 m a year``."""
        return f"{self.total(metres)} a year"


def walked_in(units: str) -> Walked:
    """How walking is told in a file of these units."""
    return Walked(*walking_unit(units))


def walked(scenario: Scenario | None) -> Walked:
    """How walking is told of a scenario; in metres where none is known."""
    return walked_in("m" if scenario is None else scenario.units)


@dataclass(frozen=True, slots=True)
class Day:
    """The walking of one day on which ``job`` is done so many ``times``."""

    job: str
    times: int
    steps: float
    minutes: float

    @property
    def name(self) -> str:
        """``on a day with gate_frame``."""
        often = "" if self.times == 1 else " twice" if self.times == 2 else f" {self.times} times"
        return f"on a day with {self.job}{often}"

    @property
    def words(self) -> str:
        """``on a day with gate_frame: 1,240 steps, 16 minutes of walking``."""
        return f"{self.name}: {text.plural(round(self.steps), 'step')}, {time_words(self.minutes)} of walking"


def time_words(minutes: float) -> str:
    """``16 minutes``, under three of them ``2.4 minutes``, under one ``36 seconds``."""
    if minutes < 0.995:
        return text.plural(round(60 * minutes), "second")
    shown = f"{minutes:.1f}" if minutes < 2.95 else text.whole(minutes)
    return f"{shown.removesuffix('.0')} minute{'' if shown == '1.0' else 's'}"


def in_rows(days: Sequence[Day]) -> tuple[tuple[str, list[int]], tuple[str, list[int]]]:
    """The same of several layouts: whole steps, and whole minutes, or seconds where it is few minutes."""
    few = max(day.minutes for day in days) < FEW
    spent = [round(day.minutes * 60) if few else round(day.minutes) for day in days]
    return (
        (f"steps {days[0].name}", [round(day.steps) for day in days]),
        (f"{'seconds' if few else 'minutes'} of it", spent),
    )


FEW = 3.0
"""Minutes below which seconds are told in a table."""

MUCH = 0.1
"""Part of a year's walking that the job told of makes at least: a rare one says little about most days."""


def busiest(score: Score, scenario: Scenario | None = None) -> JobScore | None:
    """The job with most walking on a day, of those that are much of the year; None where none is walked."""
    walked_at_all = [job for job in score.jobs if job.metres_per_year > 0]
    if not walked_at_all:
        return None
    much = [job for job in walked_at_all if job.metres_per_year >= MUCH * score.metres_per_year]
    if not much:
        return max(walked_at_all, key=lambda job: job.metres_per_year)
    return max(much, key=lambda job: day_with(score, job, scenario).steps)


def seasonal(job: JobScore | Job) -> str:
    """``, all in winter``, of a job that is not done all the year; else ""."""
    names = job.only_in if isinstance(job, JobScore) else job.seasons
    return f", all in {text.listed(names)}" if names else ""


def day_with(score: Score, job: JobScore, scenario: Scenario | None = None) -> Day:
    """A day on which a job is done: once, or as often as it is on a day in the weeks in which it is done."""
    part = 1.0 if scenario is None else next((j.part for j in scenario.jobs if j.name == job.name), 1.0)
    a_day = job.times_per_year / part / DAYS if job.times_per_year > 0 else 0.0
    times = max(1, math.ceil(a_day - 1e-9))
    metres = job.metres_each * times
    return Day(job.name, times, metres / score.step, metres / score.speed / 60)
