"""What if the guesses are wrong: layouts over ranges of how often each job is done."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import count
from typing import Any

import numpy as np

from footwork.model.errors import NoLayoutError, UsageError
from footwork.model.scenario import Job, Layout, Scenario
from footwork.model.showing import Shown
from footwork.model.units import times_words
from footwork.scoring import Score, find_layout, placements_dict, score
from footwork.study.case import Case
from footwork.study.cases import Engine, run_cases
from footwork.study.effort import Effort, layout_of
from footwork.study.regret import Costs, Floats

ROUNDS = 6
"""Searches at the worst frequencies, at most: each finds a layout that the best so far is regretted for."""
MOST_FIRST = 24
"""Searches at other frequencies that come before these, at most."""
CLOSER = 1e-3
"""Relative fall of the least greatest regret below which another round is not worth it."""

SAME = 0.01
"""Metres, of a job and a year, by which layouts may differ and cost the same: of these the first is shown."""


@dataclass(frozen=True)
class Robust(Shown):
    """Layouts and what each costs over the box of ranges; metres a year.

    ``jobs`` are all jobs of the file, in the order of the figures' columns; those of which the range is more
    than a point are ``ranged``.  ``searched`` tells how many layouts were searched for.
    """

    scenario: Scenario
    scores: tuple[Score, ...]
    costs: Costs
    searched: int = 0
    left: int = 0

    @property
    def jobs(self) -> tuple[Job, ...]:
        return self.scenario.jobs

    @cached_property
    def ranged(self) -> tuple[int, ...]:
        """Jobs, by number, whose frequency is not known."""
        return tuple(k for k in range(len(self.jobs)) if self.costs.low[k] < self.costs.high[k])

    @cached_property
    def regrets(self) -> tuple[float, ...]:
        """The greatest regret of each layout."""
        return tuple(self.costs.regrets().tolist())

    @cached_property
    def best(self) -> int:
        """The layout with the least greatest regret; of several, the one that costs least as told."""
        told = self.costs.at(self.costs.told)
        least = min(self.regrets)
        near = [k for k, regret in enumerate(self.regrets) if regret <= least * (1 + 1e-9) + 1e-9]
        return min(near, key=lambda k: (told[k], k))

    @cached_property
    def count_first(self) -> tuple[tuple[int, float], ...]:
        """Jobs whose frequency is not known, and the least greatest regret that is left once it is; the one
        that leaves least comes first."""
        left = [(k, self.costs.if_counted(k)) for k in self.ranged]
        return tuple(sorted(left, key=lambda each: (each[1], each[0])))

    @property
    def layout(self) -> Layout:
        """The layout with the least greatest regret."""
        return self.scores[self.best].as_layout()

    def to_dict(self) -> dict[str, Any]:
        """The JSON of the command ``robust``; metres and times a year."""
        costs = self.costs
        return {
            "study": "robust",
            "scenario": self.scenario.name,
            "jobs": [
                {"name": job.name, "low": low, "told": told, "high": high}
                for job, low, told, high in zip(self.jobs, *_lists(costs), strict=True)
            ],
            "layouts": [self._layout_dict(k) for k in range(len(self.scores))],
            "best": self.best,
            "least_greatest_regret": min(self.regrets),
            "count_first": [
                {"job": self.jobs[k].name, "regret_left": regret} for k, regret in self.count_first
            ],
            "flips": [list(pair) for pair in costs.flips()],
            "searched": self.searched,
            "left": self.left,
        }

    def _layout_dict(self, k: int) -> dict[str, Any]:
        costs = self.costs
        return {
            "name": self.scores[k].layout,
            "told": float(costs.at(costs.told)[k]),
            "expected": float(costs.middle[k]),
            "worst": float(costs.worst[k]),
            "greatest_regret": self.regrets[k],
            "rival": costs.rival(k),
            "at": dict(zip((j.name for j in self.jobs), costs.worst_times(k).tolist(), strict=True)),
            "placements": placements_dict(self.scores[k].placements),
        }


def robust(
    scenario: Scenario,
    layouts: Sequence[Layout | str] | None = None,
    *,
    percent: float | None = None,
    search: bool = True,
    effort: Effort | None = None,
    engine: Engine | None = None,
) -> Robust:
    """What layouts cost and how much they may be regretted, while frequencies lie within ranges.

    layouts  those to compare: layouts or names, by default all of the file that pass every must-check
    percent  every frequency may be so much more or less than told; by default those with a ``times_range``
             lie within it, and the others are as told
    search   also search for layouts: as told, with each such job done most and least often, and then, as
             long as that helps, where the best so far is regretted most

    Of the layouts that are known in the end the greatest regret is exact, and so is the least of it.  Raises
    UsageError where nothing is in doubt, a layout fails a must-check, or there is none to compare with.
    """
    effort, engine = effort or Effort(), (engine or Engine()).begun()
    low, told, high = ranges(scenario, percent)
    known = _given(scenario, layouts, needed=not search)
    box = (low, told, high)
    scores = [score(scenario, layout) for layout in known]
    if not search:
        return _result(scenario, scores, box)
    start = known[0] if known else None
    tried = list(_first_times(low, told, high))
    gave = run_cases([_case(scenario, start, times, effort) for times in tried], engine)
    left = sum(each is None for each in gave)
    found = _added(scenario, scores, gave)
    if not found:
        raise NoLayoutError(next((each["why"] for each in gave if each), "no layout was found"))
    result = _result(scenario, found, box)
    searched = len(tried)
    for _ in range(ROUNDS if not left else 0):
        times = result.costs.worst_times(result.best)
        if any(np.allclose(times, other) for other in tried):
            break
        tried.append(times)
        again = _case(scenario, result.layout, times, effort)
        gave = run_cases([again], engine, at_hand=True)
        if gave == [None]:
            left += 1
            break
        more = _added(scenario, found, gave)
        searched += 1
        if len(more) == len(found):
            break
        before, found = min(result.regrets), more
        result = _result(scenario, found, box)
        if min(result.regrets) > before * (1 - CLOSER) > 0 and result.best < len(result.scores) - 1:
            break
    return replace(result, searched=searched, left=left)


def ranges(scenario: Scenario, percent: float | None = None) -> tuple[Floats, Floats, Floats]:
    """Least, told and most times a year of each job.  Raises UsageError where all of them are the same."""
    if percent is not None and not (0 < percent < math.inf):
        raise UsageError(f"percent must be above 0, not {percent:g}")
    told = np.array([job.times_per_year for job in scenario.jobs], float)
    if percent is not None:
        part = percent / 100
        low, high = told * max(0.0, 1 - part), told * (1 + part)
    else:
        pairs = [job.times_range or (job.times_per_year, job.times_per_year) for job in scenario.jobs]
        low, high = (np.array([pair[k] for pair in pairs], float) for k in (0, 1))
    if not (low < high).any():
        raise UsageError(
            "no job has a times_range: give some in the file, count them with `footwork tally`, or say by "
            "how many percent all may be wrong"
        )
    return low, told, high


def at_times(scenario: Scenario, times: Sequence[float]) -> Scenario:
    """The scenario with its jobs done so many times a year."""
    jobs = (
        replace(job, times_per_year=float(each), times=times_words(float(each)))
        for job, each in zip(scenario.jobs, times, strict=True)
    )
    return scenario.with_(jobs=tuple(jobs))


def best_at_times(
    scenario: Scenario, base: Layout | None, times: tuple[float, ...], effort: Effort
) -> dict[str, Any]:
    """A case: the best layout when jobs are done so often."""
    return effort.found(at_times(scenario, times), base)


def _case(scenario: Scenario, base: Layout | None, times: Floats, effort: Effort) -> Case:
    numbers = tuple(float(each) for each in times)
    told = [job.times_per_year for job in scenario.jobs]
    other = [job.name for job, was, now in zip(scenario.jobs, told, numbers, strict=True) if was != now]
    name = f"{', '.join(other[:3])}{' ...' if len(other) > 3 else ''} otherwise" if other else "as told"
    return Case(name, best_at_times, (scenario, base, numbers, effort))


def _first_times(low: Floats, told: Floats, high: Floats) -> Iterator[Floats]:
    """As told; then each job that is in doubt most often and least often, the widest range first."""
    yield told
    wide = sorted(np.flatnonzero(low < high).tolist(), key=lambda k: float(low[k] - high[k]))
    for job in wide[: MOST_FIRST // 2]:
        for end in (high, low):
            times = told.copy()
            times[job] = end[job]
            yield times


def _given(scenario: Scenario, layouts: Sequence[Layout | str] | None, needed: bool) -> list[Layout]:
    if layouts is not None:
        chosen = [find_layout(scenario, each) for each in layouts]
        for layout in chosen:
            if not score(scenario, layout).ok:
                raise UsageError(f"layout {layout.name!r} fails a must-check; leave it out, or mend it")
    else:
        chosen = [each for each in scenario.layouts if score(scenario, each).ok]
    if needed and len(chosen) < 2:
        raise UsageError("there are no two layouts that pass every must-check to compare; search for more")
    return chosen


def _added(scenario: Scenario, known: Sequence[Score], gave: Sequence[dict[str, Any] | None]) -> list[Score]:
    """The layouts with those found that cost otherwise than all before, at some frequency."""
    found = list(known)
    names = {each.layout for each in known}
    free = (name for name in (f"found {k}" for k in count(1)) if name not in names)
    for each in gave:
        if each is None or "why" in each:
            continue
        new = score(scenario, layout_of(each["placements"], "found"))
        if not any(np.allclose(_costs(new), _costs(other), rtol=0.0, atol=SAME) for other in found):
            found.append(replace(new, layout=next(free)))
    return found


def _result(scenario: Scenario, scores: Sequence[Score], box: tuple[Floats, Floats, Floats]) -> Robust:
    each, plain = np.split(np.array([_costs(s) for s in scores]), [-1], axis=1)
    low, told, high = box
    return Robust(scenario, tuple(scores), Costs(each, plain[:, 0], low, told, high))


def _costs(scored: Score) -> Floats:
    """(jobs + 1,): metres of each job each time it is done, and metres a year whatever is done."""
    each = [job.metres_each + job.effort_each for job in scored.jobs]
    return np.array([*each, scored.prefer_metres + scored.check_metres])


def _lists(costs: Costs) -> tuple[list[float], list[float], list[float]]:
    return costs.low.tolist(), costs.told.tolist(), costs.high.tolist()
