"""What a search found, beside what it started from."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from rich.console import Console

from footwork.model.likely_units import question
from footwork.model.scenario import Placement, Scenario
from footwork.scoring import Score
from footwork.show import score_tables, text
from footwork.show.places import facing_words, point_words, units_of
from footwork.show.text import figures, words

if TYPE_CHECKING:
    from footwork.arrange.core.results import Suggestion

_SAME = 5e-4  # metres, or degrees, within which a station has not moved


def suggestion(result: Suggestion, console: Console, scenario: Scenario | None = None) -> None:
    """The best layout with its figures beside the base's, how good it is, and the others found."""
    if not result.layouts:
        text.heading(console, f"{result.scenario}: no layout found")
        text.line(console, "No layout that passes every must-check was found.")
        text.line(console, searched(result))
        _notes(result, console, scenario)
        return
    best, base = result.layouts[0], result.base_score
    text.heading(console, _opening(result, best))
    text.line(console)
    if base is None:
        text.line(console, score_tables.headline(best))
        text.line(console)
        score_tables.jobs(best.jobs, console)
    else:
        _beside(base, best, console)
    text.line(console)
    _places(base, best, console, units_of(scenario))
    _savings(result, console)
    text.line(console)
    for said in (bound_words(result), *anywhere_words(result), searched(result)):
        text.line(console, said)
    _notes(result, console, scenario)
    _others(result, console)
    failed = [check for check in best.checks if not check.ok]
    if failed:
        text.line(console)
        score_tables.failed(failed, console)
    if any(check.id in score_tables.SAFETY for check in best.checks):
        text.caution(console)


def _notes(result: Suggestion, console: Console, scenario: Scenario | None) -> None:
    asked = question(scenario) if scenario is not None else ""
    for said in (*filter(None, (asked,)), *result.notes):
        text.line(console, f"Note: {said}.")


def _opening(result: Suggestion, best: Score) -> str:
    base = result.base_score
    if base is None:
        return f"{result.scenario}: a layout of {text.whole(best.metres_per_year)} m a year"
    saved = base.metres_per_year - best.metres_per_year
    squeezed = f"; {base.layout} squeezes through gaps too narrow" if base.squeezed else ""
    if abs(saved) < 0.5 or base.metres_per_year <= 0:
        if squeezed:
            return f"{result.scenario}: as much walking as in {base.layout}{squeezed}"
        return f"{result.scenario}: nothing shorter than {base.layout} was found"
    word = "less" if saved > 0 else "more"
    share = f"{abs(saved) / base.metres_per_year:.1%}".replace("%", " %")
    much = f"{share} {word} walking than {base.layout}, {text.whole(abs(saved))} m a year"
    return f"{result.scenario}: {much}{squeezed}"


def _beside(base: Score, best: Score, console: Console) -> None:
    name = base.layout
    columns = [words(""), figures(name), figures("suggested"), figures("change"), figures("")]
    rows = [
        _row("m walked a year", base.metres_per_year, best.metres_per_year, ",.0f"),
        *_squeezed(base),
        _row("hours a year", base.hours_per_year, best.hours_per_year, ",.1f"),
        _row("steps a year", base.steps_per_year, best.steps_per_year, ",.0f"),
    ]
    if base.prefer_metres or best.prefer_metres:
        rows.append(_row("wishes, m a year", base.prefer_metres, best.prefer_metres, ",.0f"))
        rows.append(_row("cost, m a year", base.cost, best.cost, ",.0f"))
    jobs = [_row(f"{j.name}, m each", base.job(j.name).metres_each, j.metres_each, ",.1f") for j in best.jobs]
    text.grid(console, columns, [*rows, *jobs])


def _row(name: str, before: float, after: float, form: str) -> tuple[str, ...]:
    change = after - before
    share = f"{change / before:+.1%}".replace("%", " %") if before > 0 else ""
    shown = [format(v, form) for v in (before, after)]
    return (name, *shown, text.signed(change, f"+{form}"), "" if share in ("+0.0 %", "-0.0 %") else share)


def _squeezed(base: Score) -> list[tuple[str, ...]]:
    """What of the base is squeezed; nothing of a layout that is suggested ever is."""
    if not base.squeezed:
        return []
    return [_row("of which squeezed", base.squeezed_per_year, 0.0, ",.0f")]


def moved(before: Placement | None, after: Placement) -> bool:
    """Whether a station stands elsewhere or faces another way."""
    if before is None:
        return True
    turned = abs((before.facing - after.facing + 180) % 360 - 180)
    return math.dist(before.at, after.at) > _SAME or turned > _SAME


def _places(base: Score | None, best: Score, console: Console, units: str) -> None:
    """Where each station stood and where it goes: its centre, from the room's origin."""
    before = {} if base is None else base.placements
    changed = [name for name, p in best.placements.items() if moved(before.get(name), p)]
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


def _savings(result: Suggestion, console: Console) -> None:
    if not result.moved:
        return
    text.line(console)
    rows = [(saving.station, text.whole(saving.saves)) for saving in result.moved]
    text.grid(console, [words("move, in this order"), figures("each saves m a year")], rows)


def bound_words(result: Suggestion) -> str:
    """How good the best layout is, in words."""
    cost = result.cost_on_spots
    left = max(0.0, cost - result.bound)
    if result.status == "proven" and left >= 0.5:
        return (
            f"Proven: no layout on these spots costs less than {text.whole(result.bound)} m a year, "
            f"{text.whole(left)} m under the one shown, which fails fewer should-checks or is tidier."
        )
    if result.status == "proven":
        return "Proven: no layout on these spots costs less."
    if result.status == "none" or not math.isfinite(result.bound):
        return "How much less another layout on these spots could cost is not known: no bound was found."
    return (
        f"No layout on these spots can save more than another {text.percent(result.gap)}, "
        f"{text.whole(left)} m a year.{_made_of(result.unseen, left)}"
    )


def _made_of(unseen: float | None, left: float) -> str:
    """What the gap of ``left`` metres a year consists of, where that is known."""
    if unseen is None or left < 0.5:
        return ""
    if unseen < 0.5:
        return " All of it is arrangements that the time was too short to rule out."
    if left - unseen < 0.5:
        return " All of it is walks round other stations, which the bound sees late."
    return (
        f" {text.whole(left - unseen)} m of it are arrangements that the time was too short to rule out, "
        f"{text.whole(unseen)} m walks round other stations, which the bound sees late."
    )


def anywhere_words(result: Suggestion) -> tuple[str, ...]:
    """What was gained off the spots, and how good the best layout is among all positions, in words."""
    found = result.anywhere
    if found is None:
        return ()
    saved = found.on_spots - found.cost
    gained = (
        f"Off the spots it costs another {text.percent(saved / found.on_spots)} less, "
        f"{text.whole(saved)} m a year; that is the layout shown."
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
        f"{text.percent(found.gap)}, {text.whole(left)} m a year."
    )


def searched(result: Suggestion) -> str:
    """What the search did."""
    spots = text.plural(result.spots, "spot")
    return f"Searched {spots} for {result.seconds:,.1f} s, seed {result.seed}."


def _others(result: Suggestion, console: Console) -> None:
    others = result.layouts[1:]
    if not others:
        return
    best = result.layouts[0]
    text.line(console)
    rows = []
    for k, each in enumerate(others, start=2):
        differ = [n for n, p in each.placements.items() if moved(best.placements.get(n), p)]
        rows.append((f"{k}", text.whole(each.metres_per_year), text.signed(each.cost - best.cost),
                     ", ".join(differ)))  # fmt: skip
    columns = [figures("layout"), figures("m a year"), figures("costs more"), words("stands elsewhere")]
    text.grid(console, columns, rows)
