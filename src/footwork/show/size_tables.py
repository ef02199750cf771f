"""Rooms of many sizes: as a table, as a spreadsheet's file, and as a chart with the knee pointed out."""

from __future__ import annotations

import csv
import io
import math
from typing import TYPE_CHECKING

from rich.console import Console

from footwork.model.cells import text_cell
from footwork.model.units import format_length, walking_unit
from footwork.resizing import Size
from footwork.show import text
from footwork.show.text import figures, words
from footwork.show.walked import walked
from footwork.study.sizes import Sized, Sizes

if TYPE_CHECKING:
    from matplotlib.axes import Axes

BEST = "#f3f7fa"
LEAST_SPREAD = 0.1
"""Part of the least cost that the darkest room costs more, at least: next to nothing is to look like it."""
_SQUARE_FEET = (1 / 0.3048) ** 2


def sizes(result: Sizes, console: Console) -> None:
    """Each room with what its best layout costs, and which is the one beyond which floor pays little."""
    scenario, told = result.scenario, walked(result.scenario)
    there = [room for room in result.rooms if room.layout is not None]
    text.heading(console, _opening(result))
    text.line(console)
    columns = [
        words("room"),
        figures(_area_unit(scenario.units)),
        figures(f"{told.unit} a year"),
        figures("hours"),
        figures("cost"),
        figures("gap"),
        figures("least up to this size"),
        words(""),
    ]
    rows = [
        (
            _size(room.size, scenario.units),
            _area(room.area, scenario.units),
            told.whole(room.metres),
            text.tenths(room.hours),
            told.whole(room.cost),
            text.percent(room.gap),
            told.whole(room.within),
            _remark(room, result),
        )
        for room in there
    ]
    text.grid(console, columns, rows)
    _without(result, console)
    if there:
        text.line(console)
        text.line(console, knee_words(result))
    if any(room.cost > room.within * (1 + 1e-6) for room in there):
        text.line(console)
        text.line(
            console,
            "Where a larger room costs more, its walls and doors lie farther apart: doors keep their "
            "distance from the west or south end of their wall and go with it, as yards do; fixtures stay.",
        )
    text.caution(console)


def _opening(result: Sizes) -> str:
    there = sum(room.layout is not None for room in result.rooms)
    left = f", {result.left} not looked at" if result.left else ""
    sizes = text.plural(len(result.rooms), "size")
    return f"{result.scenario.name}: {sizes} of the room, {there} hold it all{left}"


def _remark(room: Sized, result: Sizes) -> str:
    said = []
    if result.now is not None and math.dist(room.size, result.now) < 1e-4:
        said.append("as now")
    if room is result.knee:
        said.append("the knee")
    return ", ".join(said)


def _without(result: Sizes, console: Console) -> None:
    for room in result.rooms:
        if room.layout is None:
            why = room.why.partition(": ")[2] if room.why.startswith("no layout") else room.why
            size = _size(room.size, result.scenario.units)
            text.line(console, f"{size} holds no layout: {why or room.why}")


def knee_words(result: Sizes) -> str:
    """Where more floor stops paying, in words."""
    knee, told, units = result.knee, walked(result.scenario), result.scenario.units
    first, last = result.frontier[0], result.frontier[-1]
    if last is first:
        return f"No larger room costs less than the smallest that holds it all, {_size(first.size, units)}."
    if knee is None and len(result.frontier) == 2:
        less = told.a_year(first.cost - last.cost)
        over = f"over {_size(first.size, units)}; a knee takes more sizes"
        return f"{_size(last.size, units)} saves {less} {over}."
    if knee is None:
        return (
            f"There is no knee: from {_size(first.size, units)} to {_size(last.size, units)} floor pays "
            f"evenly, {told.a_year(first.cost - last.cost)} in all."
        )
    saved, whole = first.cost - knee.cost, first.cost - last.cost
    return (
        f"The knee is {_size(knee.size, units)}: with {_area(knee.area - first.area, units)} "
        f"{_area_unit(units)} more than {_size(first.size, units)} it saves {told.a_year(saved)}, "
        f"{text.percent(saved / whole)} of what the largest that pays, {_size(last.size, units)}, would."
    )


def _size(size: Size, units: str) -> str:
    return " x ".join(format_length(side, units) for side in size)


def _area_unit(units: str) -> str:
    return "sq ft" if walking_unit(units)[0] == "ft" else "m²"


def _area(area: float, units: str) -> str:
    return f"{area * _SQUARE_FEET:,.0f}" if _area_unit(units) == "sq ft" else f"{area:.1f}"


def sizes_csv(result: Sizes) -> str:
    """A row for each room: lengths in metres, costs in metres a year, nothing where there is no layout."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    costs = ("metres_per_year", "hours_per_year", "cost", "bound", "gap")
    writer.writerow(["width_m", "depth_m", "area_m2", *costs, "least_within", "knee", "why"])
    for room in result.rooms:
        found = (room.metres, room.hours, room.cost, room.bound, room.gap)
        shown = [f"{value:.4f}" if room.layout is not None else "" for value in found]
        within = f"{room.within:.4f}" if math.isfinite(room.within) else ""
        size = [f"{side:.4f}" for side in room.size]
        numbers = [*size, f"{room.area:.4f}", *shown, within, int(room is result.knee)]
        writer.writerow([*numbers, text_cell(room.why)])
    return out.getvalue()


def draw_sizes(result: Sizes, axes: Axes) -> None:
    """A curve where one side of the room changes, else a heat table."""
    widths, depths = (sorted({room.size[k] for room in result.rooms}) for k in (0, 1))
    if len(widths) > 1 and len(depths) > 1:
        _heat(result, axes, widths, depths)
    else:
        _curve(result, axes, 0 if len(widths) > 1 else 1)


def _curve(result: Sizes, axes: Axes, side: int) -> None:
    from footwork.show import ink
    from footwork.show.charts import label_point, plain_axes

    told, units = walked(result.scenario), result.scenario.units
    plain_axes(axes)
    rooms = [room for room in result.rooms if room.layout is not None]
    at = [room.size[side] * told.per_metre for room in rooms]
    costs = [room.cost * told.per_metre for room in rooms]
    axes.step(
        at, [room.within * told.per_metre for room in rooms], where="post", color=ink.FINE, linewidth=0.9
    )
    axes.plot(at, costs, color=ink.MOVE, marker="o", markersize=4.5, linewidth=1.6)
    axes.vlines(at, [room.bound * told.per_metre for room in rooms], costs, color=ink.MOVE, linewidth=0.7)
    other = result.rooms[0].size[1 - side]
    axes.set_xlabel(
        f"{('width', 'depth')[side]} of the room, {told.unit}, the other side {format_length(other, units)}; "
        "grey: the least up to this size"
    )
    axes.set_ylabel(f"cost of the best layout, {told.unit} a year; down to its bound")
    if result.knee is not None:
        point = (result.knee.size[side] * told.per_metre, result.knee.cost * told.per_metre)
        axes.plot(*point, "o", markersize=11, markerfacecolor="none", markeredgecolor=ink.FAIL)
        label_point(axes, point, "the knee")
    axes.set_ylim(bottom=0)


def _heat(result: Sizes, axes: Axes, widths: list[float], depths: list[float]) -> None:
    from matplotlib.colors import LinearSegmentedColormap
    from matplotlib.patches import Rectangle

    from footwork.show import ink

    told, units = walked(result.scenario), result.scenario.units
    costs = [room.cost for room in result.rooms if room.layout is not None]
    low, high = (min(costs), max(costs)) if costs else (0.0, 1.0)
    high = max(high, low * (1 + LEAST_SPREAD))
    ramp = LinearSegmentedColormap.from_list("cost", [BEST, *ink.WALKING[1:]])
    for room in result.rooms:
        x, y = widths.index(room.size[0]), depths.index(room.size[1])
        part = 0.0 if high <= low else (room.cost - low) / (high - low)
        there = room.layout is not None
        face = ramp(0.85 * part) if there else ink.PAPER
        edge = ink.FAIL if room is result.knee else ink.HATCH
        box = Rectangle(
            (x - 0.48, y - 0.47),
            0.96,
            0.94,
            facecolor=face,
            edgecolor=edge,
            linewidth=2.4 if room is result.knee else 0.5,
            zorder=3 if room is result.knee else 2,
        )
        axes.add_patch(box)
        said = told.whole(room.cost) if there else "does\nnot fit"
        said += "\nthe knee" if room is result.knee else ""
        now = result.now is not None and math.dist(room.size, result.now) < 1e-4
        axes.text(
            x,
            y,
            f"{said}\nas now" if now else said,
            ha="center",
            va="center",
            fontsize=7.5,
            color=ink.PAPER if there and part > 0.6 else ink.INK,
            fontweight="bold" if room is result.knee else "normal",
            zorder=4,
        )
    axes.set_xlim(-0.55, len(widths) - 0.45)
    axes.set_ylim(-0.55, len(depths) - 0.45)
    axes.set_xticks(range(len(widths)), [format_length(width, units) for width in widths])
    axes.set_yticks(range(len(depths)), [format_length(depth, units) for depth in depths])
    axes.set_xlabel(f"east to west; in each room the cost of its best layout, {told.unit} a year")
    axes.set_ylabel("south to north")
    for spine in axes.spines.values():
        spine.set_visible(False)
    axes.tick_params(length=0)
