"""What a search found, beside what it started from."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING

from rich.console import Console

from footwork.model.likely_units import question
from footwork.model.moved import has_moved
from footwork.model.scenario import Placement, Scenario
from footwork.scoring import Score
from footwork.show import score_tables, text
from footwork.show.costs import cost_parts
from footwork.show.places import facing_words, point_words, units_of
from footwork.show.text import figures, words
from footwork.show.unavoidable import unavoidable_lines, uncounted_words
from footwork.show.walked import Walked, busiest, day_with, in_rows, walked

if TYPE_CHECKING:
    from footwork.arrange.core.results import Suggestion


def suggestion(result: Suggestion, console: Console, scenario: Scenario | None = None) -> None:
    """The best layout with its figures beside the base's, how good it is, and the others found."""
    if not result.layouts:
        text.heading(console, f"{result.scenario}: no layout found")
        text.line(console, "No layout that passes every must-check was found.")
        text.line(console, searched(result))
        _notes(result, console, scenario)
        return
    best, base = result.layouts[0], result.base_score
    told = walked(scenario)
    text.heading(console, _opening(result, best, told))
    text.line(console)
    if base is None:
        text.line(console, score_tables.headline(best, told))
        text.line(console, score_tables.busiest_day(best, scenario))
        text.line(console)
        score_tables.jobs(best.jobs, console, told)
    else:
        _beside(base, best, console, scenario)
    text.line(console)
    _places(base, best, console, units_of(scenario))
    _savings(result, console, told)
    text.line(console)
    bound = (bound_words(result, told), *anywhere_words(result, told), uncounted_words(result))
    for said in filter(None, (*bound, searched(result))):
        text.line(console, said)
    _notes(result, console, scenario)
    _others(result, console, told)
    failed = [check for check in best.checks if not check.ok]
    if failed:
        text.line(console)
        score_tables.failed(failed, console)
    _unavoidable(result, console, units_of(scenario))
    score_tables.accepted(best.checks, console)
    if any(check.id in score_tables.SAFETY for check in best.checks):
        text.caution(console)


def _unavoidable(result: Suggestion, console: Console, units: str) -> None:
    """What the room makes impossible, whichever spots are taken."""
    lines = unavoidable_lines(result, units)
    if lines:
        text.line(console, f"{len(lines)} of them cannot hold in this room, wherever things stand")
    for check, why in lines:
        text.item(console, " -", f"{check}: {why}")


def _notes(result: Suggestion, console: Console, scenario: Scenario | None) -> None:
    asked = question(scenario) if scenario is not None else ""
    for said in (*filter(None, (asked,)), *result.notes):
        text.line(console, f"Note: {said}.")


def _opening(result: Suggestion, best: Score, told: Walked) -> str:
    base = result.base_score
    if base is None:
        return f"{result.scenario}: a layout of {told.a_year(best.metres_per_year)}"
    saved = base.metres_per_year - best.metres_per_year
    squeezed = f"; {base.layout} squeezes through gaps too narrow" if base.squeezed else ""
    if abs(saved) < 0.5 or base.metres_per_year <= 0:
        if squeezed:
            return f"{result.scenario}: as much walking as in {base.layout}{squeezed}"
        return f"{result.scenario}: nothing shorter than {base.layout} was found"
    word = "less" if saved > 0 else "more"
    share = f"{abs(saved) / base.metres_per_year:.1%}".replace("%", " %")
    much = f"{share} {word} walking than {base.layout}, {told.a_year(abs(saved))}"
    return f"{result.scenario}: {much}{squeezed}"


def _beside(base: Score, best: Score, console: Console, scenario: Scenario | None) -> None:
    told, both = walked(scenario), (base, best)
    columns = [words(""), figures(base.layout), figures("suggested"), figures("change"), figures("")]

    def far(name: str, figure: Callable[[Score], float]) -> tuple[str, ...]:
        return _row(name, figure(base) * told.per_metre, figure(best) * told.per_metre, ",.0f")

    rows = [far(f"{told.unit} walked a year", lambda score: score.metres_per_year)]
    if base.squeezed:  # nothing of a layout that is suggested ever is
        rows.append(far("of which squeezed", lambda score: score.squeezed_per_year))
    rows.append(_row("hours a year", base.hours_per_year, best.hours_per_year, ",.1f"))
    rows.append(_row("steps a year", base.steps_per_year, best.steps_per_year, ",.0f"))
    rows += _day(base, best, scenario)
    for name, figure in cost_parts(both):
        rows.append(far(f"{name}, {told.unit} a year", figure))
    each = ",.1f" if told.unit == "m" else ",.0f"
    for job in best.jobs:
        before, after = (score.job(job.name).metres_each * told.per_metre for score in both)
        rows.append(_row(f"{job.name}, {told.unit} each", before, after, each))
    text.grid(console, columns, rows)


def _day(base: Score, best: Score, scenario: Scenario | None) -> list[tuple[str, ...]]:
    """A day with the busiest job of the base: steps, and the time they take."""
    job = busiest(base, scenario)
    if job is None:
        return []
    days = [day_with(score, score.job(job.name), scenario) for score in (base, best)]
    return [_row(name, before, after, ",.0f") for name, (before, after) in in_rows(days)]


def _row(name: str, before: float, after: float, form: str) -> tuple[str, ...]:
    change = after - before
    share = f"{change / before:+.1%}".replace("%", " %") if before > 0 else ""
    shown = [format(v, form) for v in (before, after)]
    return (name, *shown, text.signed(change, f"+{form}"), "" if share in ("+0.0 %", "-0.0 %") else share)


def _places(base: Score | None, best: Score, console: Console, units: str) -> None:
    """Where each station stood and where it goes: its centre, from the room's origin."""
    before = {} if base is None else base.placements
    changed = [name for name, p in best.placements.items() if has_moved(before.get(name), p)]
    stays = [name for name in best.placements if name not in changed]
    columns = [words("station"), words("centre now"), words("faces"), words("goes to"), words("faces")]
    rows: list[tuple[str, ...]] = []
    for name in changed:
        was = _place(before[name], units) if name in before else ("", "")
        rows.append((name, *was, *_place(best.placements[name], units)))
    if base is None:
        columns, rows = [columns[0], *columns[3:]], [(row[0], *row[3:]) for row in rows]
    text.grid(console, columns, rows)
    if stays:
        text.line(console, f"as now: {', '.join(stays)}")


def _place(placement: Placement, units: str) -> tuple[str, str]:
    return point_words(placement.at, units), facing_words(placement.facing).removeprefix("facing ")


def _savings(result: Suggestion, console: Console, told: Walked) -> None:
    if not result.moved:
        return
    text.line(console)
    rows = [(saving.station, told.whole(saving.saves)) for saving in result.moved]
    text.grid(console, [words("move, in this order"), figures(f"each saves {told.unit} a year")], rows)


def bound_words(result: Suggestion, told: Walked) -> str:
    """How good the best layout is, in words."""
    cost = result.cost_on_spots
    left = max(0.0, cost - result.bound)
    if result.status == "proven" and left >= 0.5:
        return (
            f"Proven: no layout on these spots costs less than {told.a_year(result.bound)}, "
            f"{told.total(left)} under the one shown, which fails fewer should-checks or is tidier."
        )
    if result.status == "proven":
        return "Proven: no layout on these spots costs less."
    if result.status == "none" or not math.isfinite(result.bound):
        return "How much less another layout on these spots could cost is not known: no bound was found."
    return (
        f"No layout on these spots can save more than another {text.percent(result.gap)}, "
        f"{told.a_year(left)}.{_made_of(result.unseen, left, told)}"
    )


def _made_of(unseen: float | None, left: float, told: Walked) -> str:
    """What the gap of ``left`` metres a year consists of, where that is known."""
    if unseen is None or left < 0.5:
        return ""
    if unseen < 0.5:
        return " All of it is arrangements that the time was too short to rule out."
    if left - unseen < 0.5:
        return " All of it is walks round other stations, which the bound sees late."
    return (
        f" {told.total(left - unseen)} of it are arrangements that the time was too short to rule out, "
        f"{told.total(unseen)} walks round other stations, which the bound sees late."
    )


def anywhere_words(result: Suggestion, told: Walked) -> tuple[str, ...]:
    """What was gained off the spots, and how good the best layout is among all positions, in words."""
    found = result.anywhere
    if found is None:
        return ()
    saved = found.on_spots - found.cost
    gained = (
        f"Off the spots it costs another {text.percent(saved / found.on_spots)} less, "
        f"{told.a_year(saved)}; that is the layout shown."
        if saved >= 0.5 and found.on_spots > 0
        else "Off the spots nothing better was found."
    )
    if found.status == "proven":
        return gained, "Proven for every position, not only these spots: no layout costs less."
    if found.status == "none":
        return gained, "For every position, not only these spots, no bound was found in the time."
    left = max(0.0, found.cost - found.bound)
    return gained, (
        f"For every position, not only these spots: no layout can save more than another "
        f"{text.percent(found.gap)}, {told.a_year(left)}."
    )


def searched(result: Suggestion) -> str:
    """What the search did."""
    spots = text.plural(result.spots, "spot")
    return f"Searched {spots} for {result.seconds:,.1f} s, seed {result.seed}."


def _others(result: Suggestion, console: Console, told: Walked) -> None:
    others = result.layouts[1:]
    if not others:
        return
    best = result.layouts[0]
    text.line(console)
    rows = []
    for k, each in enumerate(others, start=2):
        differ = [n for n, p in each.placements.items() if has_moved(best.placements.get(n), p)]
        rows.append((f"{k}", told.whole(each.metres_per_year), told.signed(each.cost - best.cost),
                     ", ".join(differ)))  # fmt: skip
    columns = [
        figures("layout"),
        figures(f"{told.unit} a year"),
        figures("costs more"),
        words("stands elsewhere"),
    ]
    text.grid(console, columns, rows)
