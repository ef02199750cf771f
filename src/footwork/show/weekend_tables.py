"""Fewest moves: a table and a curve of what each number of moves saves, and what to carry in which order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Console

from footwork.model.moved import has_moved
from footwork.show import text
from footwork.show.places import facing_words, point_words
from footwork.show.text import figures, words
from footwork.show.walked import walked
from footwork.study.order import Carry
from footwork.study.weekend import Moves, Weekend

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def weekend(result: Weekend, console: Console, chosen: Moves | None) -> None:
    """What each number of moves saves; then the moves of the ``chosen`` one in order."""
    told, before = walked(result.scenario), result.before
    text.heading(console, f"{result.scenario.name}, layout {before.layout}: {headline(result)}")
    text.line(console)
    columns = [
        figures("moves"),
        figures(f"{told.unit} a year"),
        figures("cost"),
        figures("saved"),
        figures("of all"),
        figures("gap"),
        words("moved"),
    ]
    rows = [_row(each, result) for each in (*result.curve, *filter(None, [result.all_moved]))]
    text.grid(console, columns, rows)
    if result.left:
        text.line(console, f"{text.plural(result.left, 'number')} of moves not looked at")
    if chosen is not None and chosen.order is not None and chosen.order.carries:
        text.line(console)
        _order(chosen, result, console)
    text.caution(console)


def headline(result: Weekend) -> str:
    """``three moves give 61 % of what all give``."""
    enough = result.enough
    if enough is None:
        return "no layout that passes every must-check was found"
    if not result.before.ok:
        return f"{_moves(enough.moves)} make it pass every must-check"
    if not enough.moved:
        return "nothing better was found"
    return f"{_moves(enough.moves)} give {text.percent(result.share(enough))} of what all would"


def _moves(count: int) -> str:
    small = ("no move", "one move", "two moves", "three moves", "four moves", "five moves", "six moves")
    return small[count] if count < len(small) else f"{count} moves"


def _row(each: Moves, result: Weekend) -> tuple[str, ...]:
    told = walked(result.scenario)
    number = "any" if each is result.all_moved else f"{each.moves}"
    if each.layout is None:
        return (number, "-", "-", "-", "-", "-", "no layout passes every must-check")
    saved = told.whole(result.before.cost - each.cost) if result.before.ok else "-"
    share = text.percent(result.share(each)) if result.before.ok else "-"
    gap = text.percent(each.gap)
    return (number, told.whole(each.metres), told.whole(each.cost), saved, share, gap, ", ".join(each.moved))


def _order(chosen: Moves, result: Weekend, console: Console) -> None:
    order, units = chosen.order, result.scenario.units
    assert order is not None
    text.heading(console, f"{_moves(chosen.moves).capitalize()}, in this order")
    for number, carry in enumerate(order.carries, start=1):
        text.item(console, f"{number:2}", carry_words(carry, units))
    aside = order.aside
    proven = ", and no order needs less" if order.least else ""
    said = f"{text.listed([c.name for c in aside])} set aside meanwhile" if aside else "nothing is set aside"
    text.line(console, f"No two things are in each other's way at any step; {said}{proven}.")
    vehicles = [v.name for v in result.scenario.vehicles if v.name in _elsewhere(chosen, result)]
    if vehicles:
        text.line(console, f"{text.listed(vehicles)}: out meanwhile, and parked in the new place afterwards.")


def _elsewhere(chosen: Moves, result: Weekend) -> set[str]:
    assert chosen.layout is not None
    before = result.before.placements
    return {name for name, place in chosen.layout.placements.items() if has_moved(before.get(name), place)}


def carry_words(carry: Carry, units: str) -> str:
    if carry.after is None:
        return f"{carry.name} out of the room: nothing on its floor is free"
    where = f"{point_words(carry.after.at, units)}, {facing_words(carry.after.facing)}"
    if carry.kind == "aside":
        return f"{carry.name} aside, to {where}"
    return f"{carry.name} to {where}"


def draw_weekend(result: Weekend, axes: Axes) -> None:
    """Metres saved a year against moves, with how much more could be saved at most."""
    from footwork.show import ink
    from footwork.show.charts import label_point, plain_axes

    told = walked(result.scenario)
    plain_axes(axes)
    points = [each for each in result.curve if each.layout is not None]
    at = [each.moves for each in points]
    base = result.before.cost if result.before.ok else max((each.cost for each in points), default=0.0)
    saved = [(base - each.cost) * told.per_metre for each in points]
    most = [(base - each.bound) * told.per_metre for each in points]
    axes.vlines(at, saved, most, color=ink.FINE, linewidth=1.0)
    axes.plot(at, saved, color=ink.MOVE, marker="o", markersize=5, linewidth=1.6)
    if result.all_moved is not None and result.all_moved.layout is not None:
        whole = (base - result.all_moved.cost) * told.per_metre
        axes.axhline(whole, color=ink.FAIL, linewidth=0.9, linestyle="--")
        axes.annotate("any number of moves", (0, whole), xytext=(4, 4), textcoords="offset points",
                      fontsize=8.5, color=ink.FAIL)  # fmt: skip
    if result.before.ok:
        for each, height in zip(points, saved, strict=True):
            if each.moves:
                label_point(axes, (each.moves, height), text.percent(result.share(each)), up=False)
    axes.set_xticks(at)
    axes.set_xlabel("things moved; a line leads up to what so many could save at most")
    axes.set_ylabel(f"saved, {told.unit} a year")
    axes.set_ylim(bottom=0)
    axes.margins(y=0.15)
