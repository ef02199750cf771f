"""What the page says, as plain objects: sentences, tables, pictures.  How it looks is in ``templates/``."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from dataclasses import dataclass

from footwork.arrange.core.results import Suggestion
from footwork.checks.result import merged, same_pinch
from footwork.model.scenario import Layout, Scenario
from footwork.scoring import JobScore, Score
from footwork.show import text
from footwork.show.marks import failed_marks
from footwork.show.places import place_words
from footwork.show.report import chart, picture, proof, tables
from footwork.show.report.moving import Step, steps
from footwork.show.report.picture import Key, Picture, Subject
from footwork.show.report.routes_words import route_words, stops_words
from footwork.show.report.studies import Section
from footwork.show.report.table import Table
from footwork.show.squeezed import blocked_names, squeezed_each_words, squeezed_words
from footwork.show.walked import Walked, busiest, day_with, time_words, walked

SOME = 5
"""Moves, and failed checks, that are told at the top of the page; the rest is further down."""
MILE = 1609.344
"""Metres."""

BEYOND = (
    "The page counts walking and checks room. It does not know how heavy a lift is, how good the light is, "
    "or how wiring and pipes run."
)


@dataclass(frozen=True)
class Walk:
    """The walk of one job in one layout in words: its figures, its route, its stops by number on the plan."""

    name: str
    figures: str
    route: str
    stops: str


@dataclass(frozen=True)
class View:
    """One layout on the page.  ``key`` is ``before`` or ``after``; ``chart`` is its from-to chart."""

    key: str
    name: str
    title: str
    description: str
    figures: str
    plan: Picture
    walks: tuple[Walk, ...]
    chart: Table | None


@dataclass(frozen=True)
class Moving:
    """What to move: the picture, the table in order, and how that order came about."""

    title: str
    description: str
    plan: Picture
    table: Table
    keys: tuple[Key, ...]
    order: tuple[str, ...]
    stays: str


@dataclass(frozen=True)
class Failing:
    """A failed check in a sentence; ``mark`` is the number of its triangle on the plan, where it has one."""

    must: bool
    words: str
    mark: int | None


@dataclass(frozen=True)
class First:
    """What to do first, in short: the first moves in their order, and the checks that fail afterwards.

    ``moves_left`` and ``failing_left`` are how many more stand further down the page; ``origin`` is where
    places are measured from.
    """

    origin: str
    moves: tuple[str, ...]
    moves_left: int
    failing: tuple[Failing, ...]
    failing_left: int


@dataclass(frozen=True)
class Page:
    """The whole page.  ``views`` holds one layout, or before and after."""

    title: str
    lead: str
    day: str
    more: tuple[str, ...]
    first: First
    views: tuple[View, ...]
    keys: tuple[Key, ...]
    figures: Table
    jobs: Table | None
    routes: tuple[str, ...]
    checks: Table
    checks_lead: str
    proof: proof.Proof | None
    moving: Moving | None
    cautions: tuple[str, ...]
    footer: tuple[str, ...]
    studies: tuple[Section, ...] = ()


def page(
    scenario: Scenario,
    before: tuple[Layout, Score] | None,
    after: tuple[Layout, Score],
    found: Suggestion | None = None,
) -> Page:
    """The page about ``after``, beside ``before`` if there is one; ``found`` is the search that gave it."""
    subjects = [Subject(scenario, *each) for each in (before, after) if each is not None]
    bounds = picture.frame_of(subjects)
    last = subjects[-1]
    order: tuple[Step, ...] = ()
    if len(subjects) == 2:
        wanted = [saving.station for saving in found.moved] if found else []
        order = steps(scenario, subjects[0].layout, last.layout, wanted)
    keys = ("before", "after") if len(subjects) == 2 else ("after",)
    scores = [each.score for each in subjects]
    names = chart.order(scores)
    views = tuple(
        _view(key, each, picture.plan(each, bounds), names, len(subjects) == 2)
        for key, each in zip(keys, subjects, strict=True)
    )
    return Page(
        title=scenario.name,
        lead=lead(scenario, scores, bool(found)),
        day=day_words(scenario, scores),
        more=_more(scores),
        first=_first(last, order, views[-1].plan),
        views=views,
        keys=picture.keys(subjects),
        figures=tables.figures(scenario, scores),
        jobs=tables.jobs(scenario, scores) if last.score.jobs else None,
        routes=tuple(job.name for job in last.score.jobs),
        checks=tables.checks(scenario, scores),
        checks_lead=tables.checks_lead(scores),
        proof=None if found is None else proof.proof(found, walked(scenario)),
        moving=_moving(subjects, bounds, order, found) if order else None,
        cautions=tuple(
            sentence(said)
            for said in (text.CAUTION, *last.score.notes, BEYOND, *(found.notes if found else ()))
        ),
        footer=_footer(scenario, last.layout),
    )


def lead(scenario: Scenario, scores: Sequence[Score], searched: bool) -> str:
    """The job in a sentence."""
    told = walked(scenario)
    after = scores[-1]
    jobs = "1 job" if len(after.jobs) == 1 else f"{len(after.jobs)} jobs"
    takes = "takes" if len(after.jobs) == 1 else "take"
    if not after.jobs:
        return f"{after.scenario} has no jobs yet, so there is no walking to count."
    metres = after.metres_per_year
    much = f"{distance(metres, told)}, {hours(after.hours_per_year)} of walking, a year"
    now = much + squeezed_of(after, told)
    if len(scores) == 1:
        return f"As in layout {after.layout}, the {jobs} of {after.scenario} {takes} {now}."
    before = scores[0]
    if before.squeezed:
        return (
            f"Layout {before.layout} takes {distance(before.metres_per_year, told)} a year"
            f"{squeezed_of(before, told)}; "
            f"rearranged, the {jobs} of {after.scenario} {takes} {now}."
        )
    saved = before.metres_per_year - metres
    if abs(saved) < 0.5:
        what = "No shorter layout was found: the" if searched else "Rearranged, the"
        return f"{what} {jobs} of {after.scenario} {takes} {now}, as in layout {before.layout}."
    word = "less" if saved > 0 else "more"
    share = f", {text.percent(abs(saved) / before.metres_per_year)}" if before.metres_per_year > 0 else ""
    spent = abs(before.hours_per_year - after.hours_per_year)
    return (
        f"Rearranged, the {jobs} of {after.scenario} {takes} {distance(abs(saved), told)} {word} walking a "
        f"year: {_instead(metres, before.metres_per_year, told)}{share} and {hours(spent)} {word}."
    )


def day_words(scenario: Scenario, scores: Sequence[Score]) -> str:
    """A day with the busiest job of the first layout, in steps and minutes; "" where nothing is walked."""
    job = busiest(scores[0], scenario)
    if job is None:
        return ""
    days = [day_with(score, score.job(job.name), scenario) for score in scores]
    said = days[-1].words
    if len(days) > 1 and round(days[0].steps) != round(days[1].steps):
        said += f", instead of {text.plural(round(days[0].steps), 'step')} and {time_words(days[0].minutes)}"
    return sentence(said)


def _first(subject: Subject, order: Sequence[Step], plan: Picture) -> First:
    """The first moves and failed checks, `must` first, in the order of their triangles."""
    units = subject.scenario.units
    moves = tuple(
        f"{step.name}: middle to {place_words(step.after, units)}"
        + (f" (first set {text.listed(step.aside)} aside)" if step.aside else "")
        for step in order[:SOME]
    )
    marks = failed_marks(subject.failing, {})
    numbers = {check: m.number if m.number in plan.marked else None for m in marks for check in m.checks}
    # what one pinch holds back is told once, by the first triangle of it
    failing = tuple(
        Failing(check.severity == "must", f"{check.id}: {check.message}", number)
        for check in merged(numbers)
        for number in [next(n for c, n in numbers.items() if same_pinch(c, check))]
    )
    origin = tables.origin_words(subject.scenario)
    return First(origin, moves, max(0, len(order) - SOME), failing[:SOME], max(0, len(failing) - SOME))


def squeezed_of(score: Score, told: Walked) -> str:
    """What of the walking has no way wide enough, and on which jobs; "" where all can be walked."""
    said = squeezed_words(score, told)
    return f", {said} ({text.listed(blocked_names(score.jobs))})" if said else ""


def sentence(said: str) -> str:
    """A remark as a sentence of its own."""
    return f"{said[:1].upper()}{said[1:]}{'' if said.endswith('.') else '.'}"


def distance(metres: float, told: Walked) -> str:
    """Metres or feet; from a kilometre or a mile on these, to one decimal."""
    far, name = (1000.0, "km") if told.unit == "m" else (MILE, "miles")
    return f"{metres / far:,.1f} {name}" if metres >= far else told.total(metres)


def _instead(now: float, before: float, told: Walked) -> str:
    """What is walked and what was: in the smaller unit where the greater would look the same."""
    said = [distance(now, told), distance(before, told)]
    if said[0] == said[1]:
        said = [told.total(now), told.total(before)]
    return " instead of ".join(said)


def hours(value: float) -> str:
    """Hours to one decimal, below one in minutes."""
    if value < 1:
        return text.plural(round(60 * value), "minute") if value >= 1 / 120 else "under a minute"
    return f"{value:,.1f} hours"


def _more(scores: Sequence[Score]) -> tuple[str, ...]:
    """What a reader has to know at once: a layout that may not be used."""
    found = []
    for score in scores:
        bad = sum(not c.ok and c.severity == "must" for c in merged(score.checks))
        if bad:
            found.append(
                f"Layout {score.layout} fails {text.plural(bad, 'must-check')}: see the checks below before "
                "you use it."
            )
    return tuple(found)


def _view(key: str, subject: Subject, plan: Picture, names: Sequence[str], paired: bool) -> View:
    score, told = subject.score, walked(subject.scenario)
    word = {"before": "Before", "after": "After"}[key] if paired else "Layout"
    title = f"{word}: {score.layout}" if paired else f"Layout {score.layout}"
    return View(
        key=key,
        name=score.layout,
        title=title,
        description=tables.plan_words(subject.scenario, subject.layout),
        figures=tables.walked_words(score, told),
        plan=plan,
        walks=tuple(
            _walk(job, route_words(each), told)
            for job, each in zip(score.jobs, subject.scenario.jobs, strict=True)
        ),
        chart=chart.table(score, names, key, told),
    )


def _walk(job: JobScore, route: str, told: Walked) -> Walk:
    each = f"{told.once(job.metres_each)} each time"
    if job.blocked:
        each += f", {squeezed_each_words(job, told)}"
    varies = tables.states_words(job, told)
    return Walk(job.name, f"{each}{f' ({varies})' if varies else ''}", route, stops_words(job))


def _moving(
    subjects: Sequence[Subject],
    bounds: tuple[float, float, float, float],
    order: Sequence[Step],
    found: Suggestion | None,
) -> Moving:
    before, after = subjects
    saves = {s.station: s.saves for s in found.moved} if found else {}
    stays = [t.name for t in after.scenario.things if t.name not in {step.name for step in order}]
    return Moving(
        title=f"What moves from {before.layout.name} to {after.layout.name}",
        description="Dashed outlines are the old places, arrows lead to the new ones, as the table says.",
        plan=picture.moves(before, after, bounds, [step.name for step in order]),
        table=tables.moving(order, after.scenario.units, saves),
        keys=picture.moving_keys(),
        order=tables.order_words(order, bool(saves), after.scenario),
        stays=", ".join(stays),
    )


def _footer(scenario: Scenario, layout: Layout) -> tuple[str, ...]:
    """How to go on from here."""
    if not any(each.name == layout.name for each in scenario.layouts):
        return ("To keep it, give the command --save NAME; footwork mark then lists how to mark it out.",)
    file = quoted(scenario.path.name) if scenario.path else "FILE"
    return (f"To mark it out on the floor: footwork mark {file} --layout {quoted(layout.name)}",)


def quoted(name: str) -> str:
    """A name as a shell takes it."""
    return shlex.quote(name)
