"""The figures of a layout, and layouts side by side."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from rich.console import Console

from footwork.checks.result import CheckResult, merged
from footwork.model.scenario import Scenario
from footwork.scoring import JobScore, Score
from footwork.show import text
from footwork.show.costs import cost_parts
from footwork.show.mats import by_side, mat_reason
from footwork.show.squeezed import squeezed_words
from footwork.show.text import figures, words
from footwork.show.walked import Walked, busiest, day_with, in_rows, walked

SAFETY = frozenset(
    (
        "panel-space",
        "keep-clear",
        "way-out",
        "wheelchair",
        "sparks-flammables",
        "spray-sparks",
        "gives-minds",
        "vehicle-sparks",
        "oxygen-fuel",
        "ignition-height",
        "extinguisher",
        "extinguisher-flammables",
        "extinguisher-clear",
        "exit-way",
        "opening-clear",
        "heater-clear",
    )
)
"""Checks that are about safety: where one is shown, the caution is too."""
_PAIRS = 12  # rows of the from-to chart; the rest is summed up


def score(result: Score, console: Console, scenario: Scenario | None = None) -> None:
    """The figures of one layout: walking, jobs, from-to chart, standing and checks."""
    text.heading(console, f"{result.scenario}, layout {result.layout}")
    told = walked(scenario)
    text.line(console, headline(result, told))
    squeezed = squeezed_words(result, told)
    if squeezed:
        text.line(console, f"{squeezed}: see `reachable` below", style="bold red")
    if result.seasons:
        text.line(console, text.listed(by_season(result, told)))
    if result.metres_per_year:
        text.line(console, busiest_day(result, scenario))
    beside = cost_parts([result])
    if beside:
        parts = text.listed([f"{name} {told.whole(figure(result))}" for name, figure in beside[:-1]])
        text.line(console, f"with {parts} it costs {told.a_year(result.cost)}")
    if result.jobs:
        text.line(console)
        jobs(result.jobs, console, told)
    from_to(result, console, told)
    standing(result, console)
    checks(result.checks, console)
    notes(result.notes, console)
    if any(check.id in SAFETY for check in result.checks):
        text.caution(console)


def notes(advice: Sequence[str], console: Console) -> None:
    """Advice that no check can hold, one a paragraph."""
    if advice:
        text.line(console)
        text.line(console, text.plural(len(advice), "note"))
        for line in advice:
            text.item(console, " -", line)


def headline(result: Score, told: Walked) -> str:
    """Metres, hours and steps a year in one line."""
    return (
        f"{told.total(result.metres_per_year)} walked a year, {text.tenths(result.hours_per_year)} hours, "
        f"{text.whole(result.steps_per_year)} steps"
    )


def by_season(result: Score, told: Walked) -> list[str]:
    """``2,310 m in winter``, for each season."""
    return [f"{told.total(metres)} in {season}" for season, metres in result.metres_by_season.items()]


def busiest_day(result: Score, scenario: Scenario | None) -> str:
    """Steps and minutes of a day with the busiest job; "" where nothing is walked."""
    job = busiest(result, scenario)
    return "" if job is None else day_with(result, job, scenario).words


def day_rows(scores: Sequence[Score], scenario: Scenario | None) -> list[tuple[str, ...]]:
    """A day with the busiest job of the first layout, in each: steps, and the time they take."""
    job = busiest(scores[0], scenario)
    if job is None:
        return []
    days = [day_with(each, each.job(job.name), scenario) for each in scores]
    return [(name, *(f"{value:,}" for value in values)) for name, values in in_rows(days)]


def jobs(scores: Sequence[JobScore], console: Console, told: Walked) -> None:
    """Each job: how often, how far, and how many of its legs are a step at most."""
    unit = told.unit
    columns = [words("job"), figures("times a year"), figures(f"{unit} each"), figures(f"{unit} a year"),
               figures("legs within a step")]  # fmt: skip
    seasons = any(job.only_in for job in scores)
    if seasons:
        columns.append(words("season"))
    squeezed = any(job.blocked for job in scores)
    if squeezed:
        columns.append(figures(f"{unit} each squeezed"))
    rows = [
        (
            job.name,
            f"{job.times_per_year:,.4g}" if job.times_per_year < 1000 else text.whole(job.times_per_year),
            told.each(job.metres_each),
            told.whole(job.metres_per_year),
            text.percent(job.one_step_share),
            *([text.listed(job.only_in) or "all"] if seasons else []),
            *([told.each(job.squeezed_each) if job.blocked else ""] if squeezed else []),
        )
        for job in scores
    ]
    text.grid(console, columns, rows)
    for job in scores:
        if len({told.each(state.metres_each) for state in job.states}) > 1:
            text.line(console, f"{job.name}: {states(job, told)}", indent=2)


def states(job: JobScore, told: Walked) -> str:
    """How far a job is with each choice of vehicles that are in."""
    return "; ".join(
        f"{text.listed(s.vehicles_in) + ' in' if s.vehicles_in else 'no vehicle in'} "
        f"{text.percent(s.share)} of the time, {told.once(s.metres_each)}"
        for s in job.states
    )


def from_to(result: Score, console: Console, told: Walked) -> None:
    """Metres a year between each two places, both ways, the greatest first."""
    pairs: dict[tuple[str, str], list[float]] = {}
    for (start, end), metres in result.from_to.items():
        back = (end, start) in pairs
        pairs.setdefault((end, start) if back else (start, end), [0.0, 0.0])[back] += metres
    order = sorted(pairs.items(), key=lambda found: (-sum(found[1]), found[0]))
    order = [(pair, ways) for pair, ways in order if sum(ways) > 0]
    if not order:
        return
    text.line(console)
    total = result.metres_per_year
    columns = [
        words("walked between"),
        figures(f"{told.unit} a year there"),
        figures("back"),
        figures("share"),
    ]
    if result.squeezed:
        columns.append(figures("squeezed"))
    rows = [
        (
            f"{a} and {b}" if a != b else f"{a}, side to side",
            told.whole(there),
            told.whole(back),
            text.percent((there + back) / total),
            *_squeezed_between(result, a, b, told),
        )
        for (a, b), (there, back) in order[:_PAIRS]
    ]
    text.grid(console, columns, rows)
    rest = order[_PAIRS:]
    if rest:
        metres = math.fsum(sum(ways) for _, ways in rest)
        text.line(console, f"and {text.plural(len(rest), 'pair')} more, {told.a_year(metres)}", indent=2)


def _squeezed_between(result: Score, a: str, b: str, told: Walked) -> tuple[str, ...]:
    """Metres a year between two places that are squeezed, both ways, where any are."""
    if not result.squeezed:
        return ()
    ways = {(a, b), (b, a)} & result.squeezed.keys()
    return (told.whole(math.fsum(result.squeezed[way] for way in ways)) if ways else "",)


def standing(result: Score, console: Console) -> None:
    """Hours standing at each place, and where a mat pays."""
    if not result.standing:
        return
    text.line(console)
    columns = [words("standing at"), figures("hours a year"), figures("minutes at a stretch"), words("")]
    rows = [
        (
            f"{place.station}, {place.side}" if place.side else place.station,
            text.tenths(place.hours_per_year),
            text.whole(place.stretch_minutes),
            mat_reason(place),
        )
        for place in by_side(result.standing)
    ]
    text.grid(console, columns, rows)


def checks(results: Sequence[CheckResult], console: Console) -> None:
    """Failed checks, each with its message and source; then how many of each passed."""
    if not results:
        return
    text.line(console)
    failed(results, console)
    accepted(results, console)
    passed = Counter(check.id for check in results if check.ok and not check.accepted)
    if passed:
        named = ", ".join(f"{name} {count}" if count > 1 else name for name, count in passed.items())
        text.line(console, f"{text.plural(sum(passed.values()), 'check')} passed: {named}")


def accepted(results: Sequence[CheckResult], console: Console) -> None:
    """The checks that fail and that the file accepts, each with the file's words."""
    found = [check for check in results if check.accepted]
    if found:
        text.line(console, f"{text.plural(len(found), 'check')} accepted as the file says")
    for check in found:
        text.item(console, " -", f"{check.id}: {check.message}")


def failed(results: Sequence[CheckResult], console: Console) -> None:
    """The failed checks, one a paragraph, `must` before `should`; what one pinch holds back is one."""
    for severity, style in (("must", "bold red"), ("should", "yellow")):
        bad = merged(check for check in results if not check.ok and check.severity == severity)
        if bad:
            kind = "must-check" if severity == "must" else "should-check"
            text.line(console, f"{text.plural(len(bad), kind)} failed", style=style)
        for check in bad:
            text.item(console, " -", f"{check.id}: {check.message} ({check.source})")


def compare(scores: Sequence[Score], console: Console, scenario: Scenario | None = None) -> None:
    """Layouts side by side; the least walking is named last."""
    text.heading(console, scores[0].scenario)
    told = walked(scenario)
    columns = [words(""), *(figures(each.layout) for each in scores)]
    rows: list[tuple[str, ...]] = [
        (f"{told.unit} walked a year", *(told.whole(each.metres_per_year) for each in scores)),
        ("hours a year", *(text.tenths(each.hours_per_year) for each in scores)),
        ("steps a year", *(text.whole(each.steps_per_year) for each in scores)),
        *day_rows(scores, scenario),
    ]
    for season in scores[0].seasons:
        figures_of = (told.whole(each.metres_by_season[season]) for each in scores)
        rows.append((f"of which in {season}", *figures_of))
    if any(each.squeezed for each in scores):
        rows.append(("of which squeezed", *(told.whole(each.squeezed_per_year) for each in scores)))
    for name, figure in cost_parts(scores):
        rows.append((f"{name}, {told.unit} a year", *(told.whole(figure(each)) for each in scores)))
    for severity in ("must", "should"):
        counts = [sum(not c.ok and c.severity == severity for c in merged(each.checks)) for each in scores]
        rows.append((f"{severity}-checks failed", *(str(count) for count in counts)))
    taken = [sum(bool(c.accepted) for c in each.checks) for each in scores]
    if any(taken):
        rows.append(("checks accepted", *(str(count) for count in taken)))
    for job in scores[0].jobs:
        rows.append(
            (f"{job.name}, {told.unit} each", *(told.each(each.job(job.name).metres_each) for each in scores))
        )
    text.grid(console, columns, rows)
    fit = [each for each in scores if each.ok]
    text.line(console)
    for each in scores:
        bad = merged(check for check in each.checks if not check.ok and check.severity == "must")
        if bad:
            text.line(console, f"{each.layout} fails a must-check:", style="bold red")
            for check in bad:
                text.item(console, " -", f"{check.id}: {check.message}")
    if len(fit) > 1:
        least = min(fit, key=lambda each: each.cost)
        most = max(fit, key=lambda each: each.cost)
        saves = most.cost - least.cost
        said = f"{least.layout} costs least"
        if saves > 0 and most.cost > 0:
            share = text.percent(saves / most.cost)
            said += f", {told.a_year(saves)} less than {most.layout} ({share})"
        text.line(console, said if saves > 0.5 else "they cost the same")
