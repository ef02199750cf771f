"""Sections of the page that tell what studies found, from what their commands print with ``--json``."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from footwork.model.errors import UsageError
from footwork.model.scenario import Scenario
from footwork.model.units import PER_YEAR, format_length
from footwork.show import text
from footwork.show.places import facing_words, point_words
from footwork.show.report.table import Cell, Row, Table, figure, heads, row, words
from footwork.show.walked import walked

Told = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Section:
    """One study on the page."""

    id: str
    title: str
    lead: tuple[str, ...]
    table: Table


def section(told: object, scenario: Scenario, number: int = 1) -> Section:
    """The section for a study's result, as its ``to_dict`` or the JSON of its command gives it.

    ``number`` tells it from others on the page.  Raises UsageError for something else.
    """
    kind = told.get("study") if isinstance(told, Mapping) else None
    if not isinstance(told, Mapping) or kind not in _KINDS:
        raise UsageError(
            f"this is no result of a study; give what one of {', '.join(_KINDS)} prints with --json"
        )
    name = f"study-{number}"
    try:
        title, lead, head, rows = _KINDS[str(kind)](told, scenario)
    except (KeyError, TypeError, ValueError, IndexError, AttributeError):
        raise UsageError(f"this result of {kind} is not whole; print it again with --json") from None
    return Section(name, title, lead, Table(f"{name}-table", title, head, rows))


_Parts = tuple[str, tuple[str, ...], Any, tuple[Row, ...]]


def _sizes(told: Told, scenario: Scenario) -> _Parts:
    unit, per = walked(scenario).unit, walked(scenario).per_metre
    rows = []
    for room in told["rooms"]:
        marks = ["the knee"] if room["size"] == told["knee"] else []
        marks += ["as now"] if room["size"] == told["now"] else []
        size = " x ".join(format_length(side, scenario.units) for side in room["size"])
        costs = [room["cost"], room["within"]]
        rows.append(
            row(words(size, ", ".join(marks)), *(_whole(cost, per) for cost in costs), _part(room["gap"]))
        )
    knee = told["knee"]
    lead = (
        "The best layout for each size of the room; the last column is how much less it could cost at most."
    )
    more = "There is no knee among them."
    if knee is not None:
        more = (
            f"More floor stops paying at {' x '.join(format_length(side, scenario.units) for side in knee)}."
        )
    columns = heads("room", (f"cost, {unit} a year",), ("least up to this size",), ("gap",))
    return "Which room", (lead, more), columns, tuple(rows)


def _size(size: Sequence[float], scenario: Scenario) -> str:
    return " x ".join(format_length(side, scenario.units) for side in size)


def _weekend(told: Told, scenario: Scenario) -> _Parts:
    unit, per = walked(scenario).unit, walked(scenario).per_metre
    everything = [] if told["all"] is None else [{**told["all"], "moves": "any", "share": 1.0}]
    rows = tuple(
        row(
            words(str(each["moves"])),
            _whole(each["cost"], per),
            _part(each["share"]),
            _part(each["gap"]),
            words(", ".join(each["moved"])),
        )
        for each in (*told["curve"], *everything)
    )
    lead = "What the best so many moves save, and how much less a layout with so few could cost at most."
    columns = heads("moves", (f"cost, {unit} a year",), ("of all that can be saved",), ("gap",), "moved")
    return "The few moves that pay most", (lead,), columns, rows


def _robust(told: Told, scenario: Scenario) -> _Parts:
    unit, per = walked(scenario).unit, walked(scenario).per_metre
    rows = tuple(
        row(
            words(each["name"], "regretted least" if k == told["best"] else ""),
            *(_whole(each[key], per) for key in ("told", "expected", "worst", "greatest_regret")),
        )
        for k, each in enumerate(told["layouts"])
    )
    lead = (
        "How often each job is done is known within ranges only. The regret of a layout is what it costs "
        "more than the best of these, at the worst frequencies for it."
    )
    first = told["count_first"]
    count = (f"Count {first[0]['job']} first.",) if first and told["least_greatest_regret"] >= 0.5 else ()
    columns = heads(
        f"layout, {unit} a year", ("as told",), ("expected",), ("at worst",), ("greatest regret",)
    )
    return "While frequencies are guesses", (lead, *count), columns, rows


def _seasons(told: Told, scenario: Scenario) -> _Parts:
    unit, per = walked(scenario).unit, walked(scenario).per_metre
    rows = tuple(
        row(
            words(f"{k}", "saves most time" if k == told["best"] else ""),
            *(_whole(metres, per) for metres in (plan["metres_per_year"], *plan["metres"], plan["cost"])),
            figure(f"{plan['carries']}", plan["carries"]),
            figure("-", math.inf)
            if plan["hours_saved"] is None
            else figure(f"{plan['hours_saved']:.1f}", plan["hours_saved"]),
            figure(f"{plan['hours_carrying']:.1f}", plan["hours_carrying"]),
            words(", ".join(plan["moved"])),
        )
        for k, plan in enumerate(told["plans"])
    )
    lead = (
        f"One layout for the year, and others with something carried at each change of the season; "
        f"a carry takes {told['minutes']:g} minutes."
    )
    names = [each["name"] for each in told["seasons"]]
    columns = heads(
        "plan", (f"{unit} a year",), *((f"in {name}",) for name in names), ("cost",), ("carries a year",),
        ("hours of walking saved",), ("hours of carrying",), "moved",
    )  # fmt: skip
    return "With the seasons", (lead,), columns, rows


def _fit(told: Told, scenario: Scenario) -> _Parts:
    unit, per = walked(scenario).unit, walked(scenario).per_metre
    places = told["places"] or [each for each in (told["instead"],) if each is not None]
    rows = tuple(
        row(
            words(f"{k}"),
            words(f"{point_words(tuple(place['at']), scenario.units)}, {facing_words(place['facing'])}"),
            _whole(place["cost"]["change"], per),
            words(", ".join(place["moved"])),
        )
        for k, place in enumerate(places, start=1)
    )
    lead = f"{told['machine']} fits in {text.plural(told['count'], 'place')}."
    if not told["places"]:
        lead = f"{told['machine']} fits nowhere as things stand: {told['why']}."
    columns = heads("place", "where", (f"costs more, {unit} a year",), "moves for it")
    return f"Where {told['machine']} can go", (lead,), columns, rows


def _tally(told: Told, scenario: Scenario) -> _Parts:
    week = PER_YEAR["week"]
    rows = tuple(
        row(
            words(job["name"]),
            figure(f"{job['count']:,}", job["count"]),
            *(figure(f"{job[key] / week:.3g}", job[key]) for key in ("per_year", "low", "high")),
        )
        for job in told["jobs"]
    )
    lead = (
        f"Counted on a sheet kept for {told['weeks']:.1f} weeks; the last two are the ends of the exact "
        f"{100 * told['level']:g} % interval."
    )
    columns = heads("job", ("times",), ("a week",), ("at least",), ("at most",))
    return "How often each job is done", (lead,), columns, rows


_KINDS: Mapping[str, Callable[[Told, Scenario], _Parts]] = {
    "sizes": _sizes,
    "fit": _fit,
    "weekend": _weekend,
    "robust": _robust,
    "seasons": _seasons,
    "tally": _tally,
}


def _whole(metres: float | None, per: float) -> Cell:
    """Metres a year as a figure; a dash where there is none."""
    return figure("-", math.inf) if metres is None else figure(f"{metres * per:,.0f}", metres)


def _part(share: float | None) -> Cell:
    return figure("-", math.inf) if share is None else figure(text.percent(share), share)
