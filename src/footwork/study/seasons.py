"""One layout for the year, or another when the season changes: what each walks, and what a change costs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from footwork.checks.run import rules
from footwork.model.errors import NoLayoutError, UsageError
from footwork.model.moved import has_moved
from footwork.model.scenario import CheckSetting, Job, Layout, Scenario
from footwork.model.showing import Shown
from footwork.model.units import times_words
from footwork.scoring import Score, cost_if_sound, find_layout, placements_dict, score
from footwork.study.case import Case
from footwork.study.cases import Engine, run_cases
from footwork.study.effort import Effort, layout_of
from footwork.study.order import Order, moving_order
from footwork.study.weekend import with_moves

MOST = 3
"""Things that stand elsewhere in a season, where nobody says."""
MINUTES = 15.0
"""That it takes to carry one thing, with emptying it and setting it up again, where nobody says."""
FEW = 2
"""Seasons up to which a layout near that of another season is searched for too."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Arrangement:
    """A layout for each season, in the order of the year; the same throughout where nothing is changed.

    ``costs`` and ``metres`` are what each season counts and walks of its own, in metres a year.  ``changes``
    say what is carried into each season, from the layout of the one before it; the first follows the last.
    """

    layouts: tuple[Layout, ...]
    costs: tuple[float, ...]
    metres: tuple[float, ...]
    changes: tuple[Order, ...]

    @property
    def cost(self) -> float:
        return math.fsum(self.costs)

    @property
    def metres_per_year(self) -> float:
        return math.fsum(self.metres)

    @property
    def carries(self) -> int:
        """How often a year something is carried, what is set aside meanwhile twice."""
        return sum(len(change.carries) for change in self.changes)

    @property
    def kilograms(self) -> float:
        """What is lifted a year: each thing as often as it is."""
        return math.fsum(carry.kilograms for change in self.changes for carry in change.carries)

    @property
    def moved(self) -> tuple[str, ...]:
        """What does not stand in one place all the year."""
        return tuple(dict.fromkeys(carry.name for change in self.changes for carry in change.carries))

    def to_dict(self) -> dict[str, Any]:
        return {
            "cost": self.cost,
            "costs": list(self.costs),
            "metres": list(self.metres),
            "metres_per_year": self.metres_per_year,
            "moved": list(self.moved),
            "carries": self.carries,
            "kilograms": self.kilograms,
            "carried_metres": math.fsum(c.metres for change in self.changes for c in change.carries),
            "changes": [change.to_dict() for change in self.changes],
            "placements": [placements_dict(layout.placements) for layout in self.layouts],
        }


@dataclass(frozen=True)
class Seasons(Shown):
    """What it saves to change with the season: ``plans`` are arrangements of which each costs less than the
    one before and has more moved.  The first is the best layout for the whole year, where one was found.

    ``before`` is the layout there is, in all seasons.  ``bound`` is what no arrangement on the spots that
    were searched costs less than, and ``minutes`` what one carry takes.
    """

    scenario: Scenario
    before: Score | None
    plans: tuple[Arrangement, ...]
    bound: float
    minutes: float = MINUTES
    left: int = 0

    @property
    def year(self) -> Arrangement | None:
        """The best with one layout for the year; None where none passes every must-check."""
        return next((plan for plan in self.plans if not plan.carries), None)

    def hours_saved(self, plan: Arrangement) -> float:
        """Hours of walking a year less than with one layout for the year; infinite where there is none."""
        if self.year is None:
            return math.inf
        return (self.year.metres_per_year - plan.metres_per_year) / self.scenario.walker.speed / 3600

    def hours_carrying(self, plan: Arrangement) -> float:
        """Hours a year that the changes take."""
        return plan.carries * self.minutes / 60

    def pays_below(self, plan: Arrangement) -> float:
        """Minutes that one carry may take before a plan saves no time."""
        return max(0.0, self.hours_saved(plan)) * 60 / plan.carries if plan.carries else math.inf

    @cached_property
    def best(self) -> int:
        """The number of the plan that saves most time, what the changes take counted; of several the first.
        Where there is no layout for the year, the one that takes least."""
        if self.year is None:
            return min(range(len(self.plans)), key=lambda k: (self.plans[k].carries, k))
        nets = [self.hours_saved(plan) - self.hours_carrying(plan) for plan in self.plans]
        return max(range(len(nets)), key=lambda k: (nets[k] > 1e-9, nets[k] if nets[k] > 1e-9 else 0.0, -k))

    def to_dict(self) -> dict[str, Any]:
        """The JSON of the command ``seasons``; metres and hours a year."""
        return {
            "study": "seasons",
            "scenario": self.scenario.name,
            "seasons": [{"name": each.name, "share": each.share} for each in self.scenario.seasons],
            "base": None if self.before is None else self.before.layout,
            "base_metres_per_year": None if self.before is None else self.before.metres_per_year,
            "minutes": self.minutes,
            "bound": self.bound,
            "plans": [
                {
                    **plan.to_dict(),
                    "hours_saved": None if self.year is None else self.hours_saved(plan),
                    "hours_carrying": self.hours_carrying(plan),
                }
                for plan in self.plans
            ],
            "best": self.best,
            "left": self.left,
        }


def seasons(
    scenario: Scenario,
    base: Layout | str | None = None,
    *,
    most: int = MOST,
    minutes: float = MINUTES,
    effort: Effort | None = None,
    engine: Engine | None = None,
) -> Seasons:
    """Whether another layout in each season pays: what it saves in walking, and what the changes take.

    base     the layout there is, where the search begins: by default the file's first, if it has one
    most     things that may stand elsewhere than in the layout for the year, or in that of the other season;
             any number is tried beside
    minutes  what it takes to carry one thing

    Searched for are the best layout for the year, that of each season, and with 1 ... ``most`` things moved
    from those.  Of all arrangements of the layouts found, one a season, those are kept that cost least for
    what they have moved, exactly.  A layout's seasons make up its year, apart from should-checks that it
    fails in some seasons only.  Raises UsageError for a scenario with fewer than two seasons, and
    NoLayoutError where there is a season without a layout that passes every must-check.
    """
    effort, engine = effort or Effort(), (engine or Engine()).begun()
    if len(scenario.seasons) < 2:
        raise UsageError("the file has no two seasons; write [seasons], and season = ... in jobs")
    if not 0 <= most <= len(scenario.things):
        raise UsageError(f"most must be from 0 to {len(scenario.things)}, the number of things, not {most}")
    if not 0 <= minutes < math.inf:
        raise UsageError(f"minutes must be 0 or more, not {minutes:g}")
    parts = [in_season(scenario, season.name) for season in scenario.seasons]
    start = find_layout(scenario, base) if base is not None or scenario.layouts else None
    first = [_free("the year", scenario, start, effort)]
    first += [
        _free(season.name, part, start, effort) for season, part in zip(scenario.seasons, parts, strict=True)
    ]
    gave = run_cases(first, engine)
    known = _Known(parts, effort.strict)
    for layout in (start, *(_layout(each) for each in gave)):
        known.add(layout)
    names = [season.name for season in scenario.seasons]
    more = list(_near(parts, names, known, most, effort)) if all(each is not None for each in gave) else []
    gave_more = run_cases(more, engine, at_hand=True) if more else []
    for each in gave_more:
        known.add(_layout(each))
    plans = known.plans(scenario)
    if not plans:
        raise NoLayoutError(next((e["why"] for e in gave if e and "why" in e), "no layout was found"))
    bound = math.fsum(
        min(each["bound"] if each and "why" not in each else 0.0, least)
        for each, least in zip(gave[1:], known.least, strict=True)
    )
    left = sum(each is None for each in (*gave, *gave_more))
    before = None if start is None else score(scenario, start)
    return Seasons(scenario, before, plans, bound, minutes, left)


def in_season(scenario: Scenario, name: str) -> Scenario:
    """What of a scenario's year lies in one season, as a scenario of its own: the jobs done in it, as often
    as that is, and the vehicles that are in then.  Wishes and prices count by its share of the year.

    Raises UsageError where there is no such season.
    """
    season = next((each for each in scenario.seasons if each.name == name), None)
    if season is None:
        raise UsageError(f"there is no season {name!r}")
    jobs = []
    for job in scenario.jobs:
        part = dict(scenario.seasons_of(job)).get(name)
        if part is not None:
            jobs.append(_done_in(job, part))
    prices = {
        rule.id: replace(scenario.checks.get(rule.id, CheckSetting()), price=rule.price * season.share)
        for rule in rules(scenario.checks)
        if rule.price
    }
    return scenario.with_(
        name=f"{scenario.name}, {name}",
        jobs=tuple(jobs),
        vehicles=tuple(replace(v, inside=v.inside_in(name), inside_by=()) for v in scenario.vehicles),
        prefer=tuple(replace(wish, weight=wish.weight * season.share) for wish in scenario.prefer),
        checks={**scenario.checks, **prices},
        seasons=(),
        layouts=(),
        text="",
    )


def _done_in(job: Job, part: float) -> Job:
    """A job with a part of its times alone, over a year of its own."""
    times, within = job.times_per_year * part, job.times_range
    return replace(
        job,
        times_per_year=times,
        times=times_words(times),
        times_range=None if within is None else (within[0] * part, within[1] * part),
        seasons=(),
        weeks=None,
        part=1.0,
    )


def best_of(scenario: Scenario, base: Layout | None, effort: Effort) -> dict[str, Any]:
    """A case: the best layout of a season, or of the year."""
    return effort.found(scenario, base)


def _free(name: str, scenario: Scenario, base: Layout | None, effort: Effort) -> Case:
    return Case(name, best_of, (scenario, base, effort))


def _layout(gave: dict[str, Any] | None) -> Layout | None:
    return None if gave is None or "why" in gave else layout_of(gave["placements"], "found")


def _near(
    parts: Sequence[Scenario], names: Sequence[str], known: _Known, most: int, effort: Effort
) -> Iterable[Case]:
    """Cases that move few things from the best for the year, and, of few seasons, from that of each."""
    year = known.for_all()
    anchors: list[tuple[int | None, Layout]] = [] if year is None else [(None, year)]
    if len(parts) <= FEW:
        anchors += [(k, layout) for k, layout in enumerate(known.best_each()) if layout is not None]
    for own, layout in anchors:
        for k, part in enumerate(parts):
            if k != own:
                for moves in range(1, most + 1):
                    yield Case(f"{moves} moved, {names[k]}", with_moves, (part, layout, moves, effort))


class _Known:
    """Layouts that were found, and what each costs and walks in each season; infinite where it fails."""

    def __init__(self, parts: Sequence[Scenario], strict: bool) -> None:
        self.parts, self.strict = parts, strict
        self.layouts: list[Layout] = []
        self._costs: list[list[float]] = []

    def add(self, layout: Layout | None) -> None:
        """Take a layout in, unless it stands as another does."""
        if layout is None or any(layout.placements == other.placements for other in self.layouts):
            return
        self.layouts.append(layout)
        self._costs.append([cost_if_sound(part, layout, self.strict) for part in self.parts])

    @property
    def costs(self) -> Floats:
        """Shape (layouts, seasons)."""
        return np.array(self._costs, float).reshape(len(self.layouts), len(self.parts))

    @property
    def least(self) -> list[float]:
        """The least cost of each season."""
        return list(map(float, self.costs.min(axis=0, initial=math.inf)))

    def for_all(self) -> Layout | None:
        """The one that costs least in all seasons together."""
        whole = self.costs.sum(axis=1)
        return self.layouts[int(whole.argmin())] if np.isfinite(whole).any() else None

    def best_each(self) -> list[Layout | None]:
        """The one that costs least in each season."""
        costs = self.costs
        return [
            self.layouts[int(column.argmin())] if np.isfinite(column).any() else None for column in costs.T
        ]

    def plans(self, scenario: Scenario) -> tuple[Arrangement, ...]:
        """Those that cost least for what is moved in them a year, the least moved first."""
        stations = [station.name for station in scenario.stations]

        def apart(a: Layout, b: Layout) -> int:
            return sum(has_moved(a.placements[name], b.placements[name]) for name in stations)

        chosen = cheapest(self.costs, np.array([[apart(a, b) for b in self.layouts] for a in self.layouts]))
        return tuple(self._arrangement(scenario, row) for row in chosen)

    def _arrangement(self, scenario: Scenario, row: Sequence[int]) -> Arrangement:
        names = [season.name for season in scenario.seasons]
        layouts = [Layout(name, self.layouts[k].placements) for name, k in zip(names, row, strict=True)]
        changes = [moving_order(scenario, layouts[k - 1], layouts[k]) for k in range(len(layouts))]
        return Arrangement(
            tuple(layouts),
            tuple(self._costs[layout][k] for k, layout in enumerate(row)),
            tuple(score(part, at).metres_per_year for part, at in zip(self.parts, layouts, strict=True)),
            tuple(changes),
        )


def cheapest(costs: Floats, moved: NDArray[np.int64]) -> list[tuple[int, ...]]:
    """Rows of layouts, one a season, of which each costs least for what is moved in it round the year.

    ``costs`` has what each layout costs in each season, shape (layouts, seasons), and ``moved`` how much is
    moved from one to another, shape (layouts, layouts).  Fewest moved first, then each costs less.  By
    dynamic programming over the seasons from every first layout; exact.
    """
    found: dict[int, tuple[float, tuple[int, ...]]] = {}
    sound = np.isfinite(costs)
    for first in np.flatnonzero(sound[:, 0]).tolist():
        rows: dict[int, dict[int, tuple[float, tuple[int, ...]]]] = {first: {0: (costs[first, 0], (first,))}}
        for season in range(1, costs.shape[1]):
            rows = {
                there: _fewest(
                    (count + int(moved[here, there]), cost + costs[there, season], (*row, there))
                    for here, labels in rows.items()
                    for count, (cost, row) in labels.items()
                )
                for there in np.flatnonzero(sound[:, season]).tolist()
            }
        for here, labels in rows.items():
            for count, (cost, row) in labels.items():
                whole = count + int(moved[here, first])
                if whole not in found or cost < found[whole][0]:
                    found[whole] = cost, row
    return [row for _, row in _fewest((count, cost, row) for count, (cost, row) in found.items()).values()]


def _fewest(
    labels: Iterable[tuple[int, float, tuple[int, ...]]],
) -> dict[int, tuple[float, tuple[int, ...]]]:
    """Of several with so much moved the one that costs least, and none that costs no less than with fewer."""
    kept: dict[int, tuple[float, tuple[int, ...]]] = {}
    least = math.inf
    for count, cost, row in sorted(labels):
        if cost < least - NEAR:
            kept[count], least = (cost, row), cost
    return kept


NEAR = 1e-6
"""Metres a year: what costs no less than this less is no better."""
