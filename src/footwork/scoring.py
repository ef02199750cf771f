"""The figures of one layout: walking, standing and checks.

    cost = sum over jobs of times a year x what their legs count (``floor.effort``: their metres, by default)
           + sum over wishes of weight x metres  +  prices of the should-checks that fail

Lengths are metres, times are hours a year; a year has 365 days, 52 weeks, 12 months.  A leg that
can't be walked is measured by the widest way there is (``floor.squeeze``): metres and cost are finite all
the same, what of them is squeezed is told, and ``ok`` is False.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from footwork import checks as checking
from footwork.checks.result import CheckResult
from footwork.floor.gaps import Narrow, narrowest
from footwork.floor.plan import Plan
from footwork.floor.routes import JobWalk, LegWalk, StateWalk, Walks, parts_in_seasons
from footwork.floor.wishes import wish_metres
from footwork.model.errors import UsageError
from footwork.model.names import hint
from footwork.model.scenario import Layout, Placement, Point, Scenario
from footwork.model.showing import Shown


@dataclass(frozen=True, slots=True)
class Stop:
    """Where the walker stands: the station, vehicle or door that serves the visit, its side, the point."""

    name: str
    side: str | None
    at: Point


@dataclass(frozen=True, slots=True)
class Leg:
    """One leg as walked.  ``path`` is a polyline outside the arcs; ``metres`` the exact length.

    ``width`` is the clear width it needs; ``round`` names what the way leads round; ``narrowest`` is the
    narrowest place on it.  ``squeezed`` is the width of the widest way where none is so wide as it needs (0:
    none at all), ``over`` how many of its metres then lead straight over what stands there.
    """

    start: Stop
    end: Stop
    metres: float
    width: float
    path: tuple[Point, ...] = ()
    round: tuple[str, ...] = ()
    narrowest: Narrow | None = None
    squeezed: float | None = None
    over: float = 0.0


@dataclass(frozen=True, slots=True)
class StateScore:
    """A job's distance while ``vehicles_in`` are in, and the share of the time that is so.

    ``squeezed_each`` are those of its metres for which there is no way wide enough, ``over_each`` those of
    them that lead straight over what stands there; ``blocked`` is how many legs that is.
    """

    vehicles_in: tuple[str, ...]
    share: float
    metres_each: float
    squeezed_each: float = 0.0
    over_each: float = 0.0
    blocked: int = 0


@dataclass(frozen=True, slots=True)
class JobScore:
    """The figures of one job; its legs are those of the state with the greatest share.

    ``effort_each`` is what setting off and loads count beside the metres.  ``only_in`` are the seasons that
    it is done in, none for the whole year; ``by_season`` are its metres a year in each season of the
    scenario.
    """

    name: str
    times_per_year: float
    metres_each: float
    one_step_share: float
    states: tuple[StateScore, ...]
    legs: tuple[Leg, ...]
    effort_each: float = 0.0
    only_in: tuple[str, ...] = ()
    by_season: tuple[float, ...] = ()

    @property
    def metres_per_year(self) -> float:
        return _metres_per_year(self.times_per_year, self.metres_each)

    @property
    def effort_per_year(self) -> float:
        return _metres_per_year(self.times_per_year, self.effort_each)

    @property
    def squeezed_each(self) -> float:
        """Of the metres each time those for which there is no way wide enough."""
        return math.fsum(state.share * state.squeezed_each for state in self.states)

    @property
    def over_each(self) -> float:
        """Of these the metres that lead straight over what stands there."""
        return math.fsum(state.share * state.over_each for state in self.states)

    @property
    def blocked(self) -> bool:
        """Whether there is no way wide enough for some leg, in some state."""
        return any(state.blocked for state in self.states)

    @property
    def narrowest(self) -> Narrow | None:
        """The narrowest place on the whole route."""
        found = [leg.narrowest for leg in self.legs if leg.narrowest]
        return min(found, key=lambda n: n.width) if found else None


@dataclass(frozen=True, slots=True)
class Standing:
    """Time spent at one standing place.

    ``stretch_minutes`` is the longest that a person stands there in one go, on any one job.
    """

    station: str
    side: str | None
    at: Point
    hours_per_year: float
    stretch_minutes: float


@dataclass(frozen=True)
class Score(Shown):
    """What one layout costs and whether it may be used.

    ``check_metres`` is what failed should-checks count.  ``from_to`` is the from-to chart: metres a year by
    (from, to); ``squeezed`` are those of them for which there is no way wide enough.  ``notes`` is advice
    that no check holds.
    """

    scenario: str
    layout: str
    placements: Mapping[str, Placement]
    cost: float
    prefer_metres: float
    check_metres: float
    jobs: tuple[JobScore, ...]
    standing: tuple[Standing, ...]
    from_to: Mapping[tuple[str, str], float]
    checks: tuple[CheckResult, ...]
    speed: float = field(repr=False)
    step: float = field(repr=False)
    notes: tuple[str, ...] = ()
    squeezed: Mapping[tuple[str, str], float] = field(default_factory=dict)
    seasons: tuple[str, ...] = ()

    @property
    def ok(self) -> bool:
        """Whether every must-check passes and every job can be walked."""
        failed = any(c.severity == "must" and not c.ok for c in self.checks)
        return not failed and not any(job.blocked for job in self.jobs)

    def as_layout(self) -> Layout:
        """The layout that was scored, with a placement for everything."""
        return Layout(self.layout, self.placements)

    @property
    def metres_per_year(self) -> float:
        return math.fsum(job.metres_per_year for job in self.jobs)

    @property
    def metres_by_season(self) -> dict[str, float]:
        """Of the metres a year those walked in each season; none where the scenario has no seasons."""
        return {
            season: math.fsum(job.by_season[k] for job in self.jobs) for k, season in enumerate(self.seasons)
        }

    @property
    def squeezed_per_year(self) -> float:
        """Of the metres a year those for which there is no way wide enough."""
        return math.fsum(self.squeezed.values())

    @property
    def over_per_year(self) -> float:
        """Of these the metres that lead straight over what stands there."""
        return math.fsum(_metres_per_year(job.times_per_year, job.over_each) for job in self.jobs)

    @property
    def effort_metres(self) -> float:
        """What setting off and loads count beside the metres walked."""
        return math.fsum(job.effort_per_year for job in self.jobs)

    @property
    def hours_per_year(self) -> float:
        return self.metres_per_year / self.speed / 3600

    @property
    def steps_per_year(self) -> float:
        return self.metres_per_year / self.step

    def job(self, name: str) -> JobScore:
        return next(job for job in self.jobs if job.name == name)

    def to_dict(self) -> dict[str, object]:
        """The JSON of the command ``score``: plain objects, infinite numbers as None."""
        walk = {
            "metres_per_year": _number(self.metres_per_year),
            "hours_per_year": _number(self.hours_per_year),
            "steps_per_year": _number(self.steps_per_year),
            "squeezed_metres_per_year": self.squeezed_per_year,
            "seasons": {name: _number(metres) for name, metres in self.metres_by_season.items()},
        }
        return {
            "scenario": self.scenario,
            "layout": self.layout,
            "ok": self.ok,
            "cost": _number(self.cost),
            "effort_metres": self.effort_metres,
            "prefer_metres": self.prefer_metres,
            "check_metres": self.check_metres,
            "walk": walk,
            "jobs": [_job_dict(job) for job in self.jobs],
            "standing": [
                {
                    "station": s.station,
                    "side": s.side,
                    "at": list(s.at),
                    "hours_per_year": _number(s.hours_per_year),
                }
                for s in self.standing
            ],
            "checks": [c.to_dict() for c in self.checks],
            "notes": list(self.notes),
        }


def placements_dict(placements: Mapping[str, Placement]) -> dict[str, object]:
    """Placements as in the JSON of the command ``suggest``."""
    return {name: {"at": [p.x, p.y], "facing": p.facing} for name, p in placements.items()}


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _job_dict(job: JobScore) -> dict[str, object]:
    return {
        "name": job.name,
        "times_per_year": job.times_per_year,
        "seasons": list(job.only_in),
        "metres_each": _number(job.metres_each),
        "metres_per_year": _number(job.metres_per_year),
        "squeezed_metres_each": job.squeezed_each,
        "one_step_share": job.one_step_share,
        "states": [state_dict(s) for s in job.states],
        "legs": [
            {
                "from": leg.start.name,
                "to": leg.end.name,
                "metres": _number(leg.metres),
                "squeezed": squeezed_dict(leg),
                "path": [list(p) for p in leg.path],
            }
            for leg in job.legs
        ],
    }


def state_dict(state: StateScore) -> dict[str, object]:
    """One state of a job as in the JSON of the commands ``score`` and ``walk``."""
    return {
        "vehicles_in": list(state.vehicles_in),
        "share": state.share,
        "metres_each": _number(state.metres_each),
        "squeezed_metres_each": state.squeezed_each,
    }


def squeezed_dict(leg: Leg) -> dict[str, object] | None:
    """How a leg is measured that has no way wide enough; None for one that has."""
    return None if leg.squeezed is None else {"width": leg.squeezed, "over": leg.over}


def find_layout(scenario: Scenario, layout: Layout | str | None = None) -> Layout:
    """The layout meant: itself, by name, or the file's first.

    Raises UsageError when there is none of that name (the nearest is named), or none at all.
    """
    if isinstance(layout, Layout):
        return layout
    if layout is None:
        if not scenario.layouts:
            raise UsageError(f"{scenario.name}: the file has no layout; `footwork suggest` makes one")
        return scenario.layouts[0]
    for known in scenario.layouts:
        if known.name == layout:
            return known
    names = [known.name for known in scenario.layouts]
    mend = hint(layout, names, "layouts")
    raise UsageError(f"{scenario.name}: there is no layout {layout!r}; {mend}")


def score(scenario: Scenario, layout: Layout | str | None = None) -> Score:
    """Score a layout: by name, as an object, or the file's first.

    Returns figures in metres and hours a year.  Raises UsageError when the layout does not exist, or
    leaves out a station or vehicle.
    """
    return score_plan(Plan(scenario, find_layout(scenario, layout)))


def sound(scenario: Scenario, layout: Layout, strict: bool = False) -> bool:
    """Whether a layout may be used: every job can be walked and every must-check passes.

    ``strict`` asks that of every check.  What ``score`` would say, without working out the words.
    """
    return math.isfinite(cost_if_sound(scenario, layout, strict))


def cost_if_sound(scenario: Scenario, layout: Layout, strict: bool = False) -> float:
    """Metres a year that a layout costs, as ``score`` says; infinite unless it is ``sound``."""
    plan = Plan(scenario, layout)
    walks = Walks(plan)
    jobs = tuple(walks.job(job) for job in scenario.jobs)
    prices = _price_if_sound(plan, jobs, strict)
    if math.isinf(prices):
        return math.inf
    walked = math.fsum(_metres_per_year(walk.job.times_per_year, walk.effort) for walk in jobs)
    return walked + wish_metres(scenario, plan.placements) + prices


def cost_as_it_is(scenario: Scenario, layout: Layout) -> float:
    """Metres a year that a layout costs, sound or not: what cannot be walked is squeezed.  Wordless.

    To the last digit the cost that ``score`` tells.
    """
    plan = Plan(scenario, layout)
    walks = Walks(plan, squeeze=True)
    jobs = tuple(walks.job(job) for job in scenario.jobs)
    wishes = wish_metres(scenario, plan.placements)
    return cost_of_walks(jobs) + wishes + checking.failures(plan, jobs).metres


def cost_of_walks(jobs: Sequence[JobWalk]) -> float:
    """Metres a year of walks with what setting off and loads count, summed as ``score`` does."""
    return math.fsum(
        _metres_per_year(walk.job.times_per_year, walk.metres)
        + _metres_per_year(walk.job.times_per_year, max(0.0, walk.effort - walk.metres))
        for walk in jobs
    )


def price_if_sound(scenario: Scenario, layout: Layout, strict: bool = False) -> float:
    """Metres a year that failed should-checks count in a layout; infinite unless it is ``sound``."""
    plan = Plan(scenario, layout)
    walks = Walks(plan)
    return _price_if_sound(plan, tuple(walks.job(job) for job in scenario.jobs), strict)


def price_at_least(
    scenario: Scenario, layout: Layout, limit: float, apart: float, strict: bool = False
) -> float:
    """No more than ``price_if_sound`` beyond what is counted already, told at a fraction of the work.

    ``apart`` is what is counted of the checks of distances; of what reaches ``limit`` it is some.
    """
    plan = Plan(scenario, layout)

    def walks() -> Sequence[JobWalk]:
        found = Walks(plan)
        return [found.job(job) for job in scenario.jobs]

    return checking.price_at_least(plan, walks, limit, apart, strict)


def _price_if_sound(plan: Plan, jobs: Sequence[JobWalk], strict: bool) -> float:
    walked = all(math.isfinite(job.metres) for job in jobs)
    return checking.price_if_passed(plan, jobs, strict) if walked else math.inf


def _metres_per_year(times: float, metres: float) -> float:
    """Of a job; one that is never done costs nothing, even where it cannot be walked."""
    return times * metres if times else 0.0


def failures(scenario: Scenario, layout: Layout) -> checking.Failures:
    """What a layout fails, without working out the words.

    A job that cannot be walked counts as a must-check.
    """
    plan = Plan(scenario, layout)
    walks = Walks(plan)
    jobs = tuple(walks.job(job) for job in scenario.jobs)
    found = checking.failures(plan, jobs)
    return found._replace(musts=found.musts + sum(job.blocked for job in jobs))


def score_plan(plan: Plan) -> Score:
    """Score a layout whose geometry is at hand."""
    walks = Walks(plan, squeeze=True)
    jobs = tuple(walks.job(job) for job in plan.scenario.jobs)
    scores = tuple(_job_score(walks, job) for job in jobs)
    wishes = wish_metres(plan.scenario, plan.placements)
    found = checking.run(plan, jobs)
    prices = math.fsum(result.price for result in found)
    return Score(
        scenario=plan.scenario.name,
        layout=plan.layout.name,
        placements=plan.placements,
        cost=math.fsum(job.metres_per_year + job.effort_per_year for job in scores) + wishes + prices,
        prefer_metres=wishes,
        check_metres=prices,
        jobs=scores,
        standing=_standing(jobs),
        from_to=_from_to(jobs),
        squeezed=_from_to(jobs, squeezed=True),
        checks=found,
        notes=checking.notes(plan.scenario, plan, found, jobs),
        speed=plan.scenario.walker.speed,
        step=plan.scenario.walker.step,
        seasons=tuple(season.name for season in plan.scenario.seasons),
    )


def _job_score(walks: Walks, job: JobWalk) -> JobScore:
    step = walks.plan.scenario.walker.step
    legs = [leg for state in job.states for leg in state.legs]
    short = sum(
        state.share * sum(leg.metres <= step and not leg.blocked for leg in state.legs)
        for state in job.states
    )
    count = sum(state.share * len(state.legs) for state in job.states)
    return JobScore(
        name=job.job.name,
        times_per_year=job.job.times_per_year,
        metres_each=job.metres,
        one_step_share=short / count if legs else 1.0,
        states=tuple(_state_score(s) for s in job.states),
        legs=_legs(walks, job.main),
        effort_each=max(0.0, job.effort - job.metres),
        only_in=job.job.seasons,
        by_season=_by_season(walks.plan.scenario, job),
    )


def _by_season(scenario: Scenario, walk: JobWalk) -> tuple[float, ...]:
    """Metres a year of a job in each season."""
    metres = [0.0 for _ in scenario.seasons]
    for state in walk.states if metres else ():
        parts = parts_in_seasons(scenario, walk.job, frozenset(state.vehicles_in))
        for k, part in enumerate(parts):
            metres[k] += _metres_per_year(walk.job.times_per_year * state.share * part, state.metres)
    return tuple(metres)


def _state_score(state: StateWalk) -> StateScore:
    over = math.fsum(leg.squeezed.over for leg in state.legs if leg.squeezed is not None)
    return StateScore(state.vehicles_in, state.share, state.metres, state.squeezed, over, state.blocked)


def _legs(walks: Walks, state: StateWalk) -> tuple[Leg, ...]:
    """Every leg of a state; what is walked again and again is looked into once."""
    keys = [(leg.start, leg.end, leg.width) for leg in state.legs]
    known = {key: _leg(walks, state, leg) for key, leg in dict(zip(keys, state.legs, strict=True)).items()}
    return tuple(known[key] for key in keys)


def _leg(walks: Walks, state: StateWalk, leg: LegWalk) -> Leg:
    way = walks.path(state.present, leg)
    scene = walks.plan.scene(state.present)
    on_floor = way if leg.squeezed is None else leg.squeezed.way
    tight = narrowest(scene, walks.plan.piece_names(scene), on_floor.points) if on_floor.found else None
    start, end = (Stop(p.owner, p.side, p.at) for p in (leg.start, leg.end))
    found = Leg(start, end, leg.metres, leg.width, way.points, way.round, tight)
    if leg.squeezed is None:
        return found
    return replace(found, squeezed=leg.squeezed.width, over=leg.squeezed.over)


def _standing(jobs: Sequence[JobWalk]) -> tuple[Standing, ...]:
    """Standing hours by place: a job's minutes at a station are shared evenly among its visits there."""
    hours: dict[tuple[str, str | None, Point], float] = defaultdict(float)
    stretch: dict[tuple[str, str | None, Point], float] = defaultdict(float)
    for walk in jobs:
        for state in walk.states:
            for word, minutes in walk.job.minutes:
                stops = [
                    stop
                    for visit, stop in zip(state.route, state.stops, strict=True)
                    if word in (visit.name, stop.owner)
                ]
                for stop in stops:
                    key = (stop.owner, stop.side, stop.at)
                    part = minutes / len(stops)
                    hours[key] += walk.job.times_per_year * state.share * part / 60
                    stretch[key] = max(stretch[key], part)
    places = sorted(hours.items(), key=lambda item: (-item[1], item[0][0], item[0][2]))
    return tuple(Standing(*key, value, stretch[key]) for key, value in places)


def _from_to(jobs: Sequence[JobWalk], squeezed: bool = False) -> dict[tuple[str, str], float]:
    """Metres a year by pair, over all jobs and states, greatest first; or of squeezed legs alone."""
    chart: dict[tuple[str, str], float] = defaultdict(float)
    for walk in jobs:
        for state in walk.states:
            for leg in state.legs:
                if leg.blocked or not squeezed:
                    metres = walk.job.times_per_year * state.share * leg.metres
                    chart[leg.start.owner, leg.end.owner] += metres
    return dict(sorted(chart.items(), key=lambda item: (-item[1], item[0])))
