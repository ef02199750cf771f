"""Where a new machine fits: a table of places, and a plan with their numbers."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from rich.console import Console

from footwork.floor import shapes
from footwork.model.scenario import Scenario
from footwork.show import ink, text
from footwork.show.charts import label_point
from footwork.show.places import facing_words, point_words
from footwork.show.text import figures, words
from footwork.show.walked import walked
from footwork.study.fit import Fit, Place

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def fit(result: Fit, console: Console) -> None:
    """The places best first, with what each costs a year and which checks it turns; or why there is none."""
    name, scenario = result.machine.name, result.scenario
    moving = (
        "nothing else moved" if not result.moves else f"at most {text.plural(result.moves, 'other')} moved"
    )
    said = f"{name} fits in {text.plural(result.count, 'place')}" if result.places else f"{name} fits nowhere"
    text.heading(console, f"{scenario.name}, layout {result.before.layout}: {said}, {moving}")
    text.line(console)
    if result.places:
        _places(result, console)
    else:
        _nowhere(result, console)
    text.caution(console)


def _nowhere(result: Fit, console: Console) -> None:
    text.line(console, f"{result.why[0].upper()}{result.why[1:]}.")
    if result.core is not None:
        least = "No fewer things are in each other's way." if result.core.least else ""
        others = text.listed(result.core.confirmed)
        shown = f"Without any one of {others} the rest stand, and pass every must-check." if others else ""
        for line in filter(None, (least, shown)):
            text.line(console, line)
    if result.instead is not None:
        text.line(console)
        _grid([result.instead], result, console)


def _places(result: Fit, console: Console) -> None:
    _grid(list(result.places), result, console)
    turned = [(k, change) for k, place in enumerate(result.places, start=1) for change in place.change.turned]
    if turned:
        text.line(console)
    for k, change in turned:
        mark = "now holds" if change.ok else "fails"
        text.item(console, f"{k:2}", f"{change.result.id} {mark}: {change.result.message}")


def _grid(places: list[Place], result: Fit, console: Console) -> None:
    told, units = walked(result.scenario), result.scenario.units
    moved = any(place.others for place in places)
    columns = [
        figures("place"),
        words("centre"),
        words("faces"),
        figures(f"{told.unit} a year more"),
        figures("cost more"),
        words("moves"),
    ]
    rows = [
        (
            f"{k}",
            point_words(place.at.at, units),
            facing_words(place.at.facing).removeprefix("facing "),
            told.signed(place.change.metres_per_year),
            told.signed(place.cost),
            ", ".join(place.others),
        )
        for k, place in enumerate(places, start=1)
    ]
    if not moved:
        columns, rows = columns[:-1], [row[:-1] for row in rows]  # type: ignore[misc]
    text.grid(console, columns, rows)


def draw_fit(result: Fit, axes: Axes) -> None:
    """The room as it is, with the machine in each of its places, numbered as in the table."""
    places = result.places or tuple(filter(None, (result.instead,)))
    _room(result.scenario, axes)
    name = result.machine.name
    moving = {other for place in places for other in place.others}
    for thing in result.scenario.things:
        at = result.before.placements.get(thing.name)
        if at is not None and thing.name != name:
            ring = shapes.footprint(thing, at)
            away = thing.name in moving
            axes.fill(*ring.T, facecolor=ink.STATION, edgecolor=ink.EDGE, linewidth=0.6, zorder=3,
                      linestyle="--" if away else "-")  # fmt: skip
            axes.text(
                *at.at, thing.name, fontsize=6.5, ha="center", va="center", color=ink.SOFT_INK, zorder=4
            )
    machine = result.scenario.thing(name)
    for k, place in reversed(list(enumerate(places, start=1))):
        ring = shapes.footprint(machine, place.at)
        best = k == 1
        axes.fill(*ring.T, facecolor=ink.WALKING[1 if best else 0], edgecolor=ink.MOVE, zorder=5 + 1 / k,
                  linewidth=1.8 if best else 0.9, alpha=0.9)  # fmt: skip
        angle = math.radians(place.at.facing)
        front = 0.5 * machine.size[1]
        axes.plot(
            [place.at.x, place.at.x + front * math.sin(angle)],
            [place.at.y, place.at.y + front * math.cos(angle)],
            color=ink.MOVE,
            linewidth=0.9,
            zorder=6,
        )
        label_point(axes, place.at.at, f"{k}")
    axes.set_xlabel(f"{name}: 1 costs least; a line leads from its middle to its front")


def _room(scenario: Scenario, axes: Axes) -> None:
    axes.set_aspect("equal")
    axes.set_axis_on()
    for spine in axes.spines.values():
        spine.set_visible(False)
    axes.set_xticks([])
    axes.set_yticks([])
    outline = [*scenario.room.outline, scenario.room.outline[0]]
    axes.plot(*zip(*outline, strict=True), color=ink.WALL, linewidth=2.2, zorder=2)
    for door in scenario.room.doors:
        axes.plot(*zip(door.start, door.end, strict=True), color=ink.PAPER, linewidth=2.6, zorder=2.5)
        axes.plot(*zip(door.start, door.end, strict=True), color=ink.FINE, linewidth=0.9, zorder=2.6)
    for fixture in scenario.room.fixtures:
        axes.fill(*zip(*fixture.outline, strict=True), facecolor=ink.FIXTURE, zorder=3)
