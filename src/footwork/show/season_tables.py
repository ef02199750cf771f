"""One layout for the year or another each season: a table of plans, what to carry when, and a chart."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from rich.console import Console

from footwork.model.moved import has_moved
from footwork.show import text
from footwork.show.text import figures, words
from footwork.show.walked import Walked, walked
from footwork.show.weekend_tables import carry_words
from footwork.study.seasons import Arrangement, Seasons

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def seasons(result: Seasons, console: Console, chosen: int) -> None:
    """What each plan walks and carries; then what to carry into each season in the ``chosen`` one."""
    told = walked(result.scenario)
    text.heading(console, f"{result.scenario.name}: {headline(result)}")
    text.line(console)
    columns = [
        figures("plan"),
        figures(f"{told.unit} a year"),
        *(figures(f"in {season.name}") for season in result.scenario.seasons),
        figures("cost"),
        figures("carries"),
        figures("kg"),
        figures("saves"),
        figures("pays below"),
        words("moved"),
    ]
    rows = [_row(k, plan, result, told) for k, plan in enumerate(result.plans)]
    text.grid(console, columns, [*_before(result, told), *rows])
    if any(plan.carries for plan in result.plans):
        text.line(
            console,
            "Carries, kg and walking saved are a year's, all changes together; a plan pays where a carry "
            "takes less than it says.",
        )
    text.line(console, bound_words(result, told))
    if result.left:
        text.line(console, f"{text.plural(result.left, 'search')} not made")
    _changes(result.plans[chosen], result, console)
    text.caution(console)


def headline(result: Seasons) -> str:
    """Whether it pays to change, and why."""
    year, best = result.year, result.plans[result.best]
    if year is None:
        taken = f"{_carries(best)} a year, {_time(result.hours_carrying(best))}"
        return f"no one layout will do for the year; changing it takes {taken}"
    if best is not year:
        saved, taken = _time(result.hours_saved(best)), _time(result.hours_carrying(best))
        return f"change with the season: {saved} of walking saved a year for {_carries(best)}, {taken}"
    more = [plan for plan in result.plans if result.hours_saved(plan) > 0]
    if not more:
        return "one layout for the year; changing it saves no walking"
    nearest = max(more, key=result.pays_below)
    saved, taken = _time(result.hours_saved(nearest)), _time(result.hours_carrying(nearest))
    return f"one layout for the year; {_carries(nearest)} a year would take {taken} and save {saved}"


def _carries(plan: Arrangement) -> str:
    return f"{plan.carries} carries" if plan.carries != 1 else "one carry"


def _minutes(minutes: float) -> str:
    return f"{math.floor(minutes):,} min" if minutes >= 10 else f"{math.floor(minutes * 10) / 10:.1f} min"


def _time(hours: float) -> str:
    """Hours, or minutes of less than two hours."""
    return f"{text.tenths(hours)} hours" if hours >= 2 else text.plural(round(hours * 60), "minute")


def bound_words(result: Seasons, told: Walked) -> str:
    """How much less could be walked at most, whatever is moved."""
    least = min(plan.cost for plan in result.plans)
    said = f"No plan on the spots searched costs less than {told.a_year(result.bound)}"
    if result.year is not None:
        most = max(0.0, result.year.cost - result.bound)
        said += f", {told.total(most)} less than one layout for the year"
    gap = max(0.0, least - result.bound) / least if least else 0.0
    return f"{said}; the gap is {text.percent(gap)}."


def _before(result: Seasons, told: Walked) -> list[tuple[str, ...]]:
    """The layout there is, in all seasons."""
    before = result.before
    if before is None:
        return []
    cost = told.whole(before.cost) if before.ok else "fails"
    each = [told.whole(metres) for metres in before.metres_by_season.values()]
    return [("-", told.whole(before.metres_per_year), *each, cost, "", "", "", "", f"as {before.layout} is")]


def _row(number: int, plan: Arrangement, result: Seasons, told: Walked) -> tuple[str, ...]:
    each = [told.whole(metres) for metres in plan.metres]
    start = (str(number), told.whole(plan.metres_per_year), *each, told.whole(plan.cost))
    if not plan.carries:
        return (*start, "0", "0", "", "", "one layout for the year")
    known = result.year is not None
    pays = _minutes(result.pays_below(plan)) if known else "-"
    saved = _time(result.hours_saved(plan)) if known else "-"
    return (*start, f"{plan.carries}", text.whole(plan.kilograms), saved, pays, ", ".join(plan.moved))


def _changes(plan: Arrangement, result: Seasons, console: Console) -> None:
    """What to carry into each season."""
    scenario = result.scenario
    vehicles = [vehicle.name for vehicle in scenario.vehicles]
    for k, (season, change) in enumerate(zip(scenario.seasons, plan.changes, strict=True)):
        before, after = plan.layouts[k - 1].placements, plan.layouts[k].placements
        parked = [name for name in vehicles if has_moved(before[name], after[name])]
        if not change.carries and not parked:
            continue
        text.line(console)
        text.heading(console, f"Into {season.name}")
        for number, carry in enumerate(change.carries, start=1):
            told = f"{carry_words(carry, scenario.units)} ({carry.kilograms:,.0f} kg)"
            text.item(console, f"{number:2}", told)
        if parked:
            text.line(console, f"{text.listed(parked)} is parked elsewhere, which counts as no carry.")


def draw_seasons(result: Seasons, axes: Axes) -> None:
    """Hours of walking saved against carries, and the line above which that pays."""
    from footwork.show import ink
    from footwork.show.charts import label_point, plain_axes

    plain_axes(axes)
    base = result.year or result.plans[0]
    walker = result.scenario.walker.speed * 3600
    at = [plan.carries for plan in result.plans]
    saved = [(base.metres_per_year - plan.metres_per_year) / walker for plan in result.plans]
    most = max(1, *at)
    axes.plot([0, most], [0, most * result.minutes / 60], color=ink.FAIL, linewidth=0.9, linestyle="--")
    axes.annotate(f"{result.minutes:g} minutes a carry: pays above", (most / 2, most * result.minutes / 120),
                  xytext=(4, -10), textcoords="offset points", fontsize=8.5, color=ink.FAIL)  # fmt: skip
    axes.plot(at, saved, color=ink.MOVE, marker="o", markersize=5, linewidth=1.6)
    for number, point in enumerate(zip(at, saved, strict=True)):
        label_point(axes, point, f"{number}", up=True)
    axes.set_xticks(at)
    axes.set_xlabel("carries a year, all changes together; the points are the plans of the table")
    axes.set_ylabel("hours of walking saved a year")
    axes.margins(y=0.15)
