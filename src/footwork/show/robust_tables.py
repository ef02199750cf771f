"""What if the guesses are wrong: layouts over ranges of frequencies, what flips, and what to count first."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from rich.console import Console

from footwork.model.units import PER_YEAR, times_words
from footwork.show import ink, text
from footwork.show.text import figures, words
from footwork.show.walked import walked
from footwork.study.robust import Robust

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FLIPS = 6
"""Pairs of layouts that change places which are told."""


def robust(result: Robust, console: Console) -> None:
    """Each layout as told, to be expected and at worst, and how much it may be regretted."""
    told, costs = walked(result.scenario), result.costs
    best = result.scores[result.best].layout
    regret = told.a_year(min(result.regrets))
    text.heading(console, f"{result.scenario.name}: {best} is regretted least, by {regret} at most")
    text.line(console)
    text.grid(
        console,
        [
            words(f"layout, cost in {told.unit} a year"),
            figures("as told"),
            figures("expected"),
            figures("at worst"),
            figures("greatest regret"),
            words("against"),
        ],
        [
            (
                score.layout,
                told.whole(float(costs.at(costs.told)[k])),
                told.whole(float(costs.middle[k])),
                told.whole(float(costs.worst[k])),
                told.whole(result.regrets[k]),
                result.scores[costs.rival(k)].layout if costs.rival(k) != k else "",
            )
            for k, score in enumerate(result.scores)
        ],
    )
    text.line(console)
    _ranges(result, console)
    for line in flip_words(result):
        text.line(console, line)
    text.line(console)
    text.line(console, count_words(result))
    if result.searched:
        text.line(console, f"Searched for {text.plural(result.searched, 'layout')} at other frequencies.")
    if result.left:
        text.line(console, f"{result.left} more {'search' if result.left == 1 else 'searches'} not made.")
    text.caution(console)


def _ranges(result: Robust, console: Console) -> None:
    costs = result.costs
    left = dict(result.count_first)
    told = walked(result.scenario)
    text.grid(
        console,
        [words("job"), figures("least often"), figures("as told"), figures("most often"),
         figures("regret left once counted")],
        [
            (
                result.jobs[k].name,
                times_words(float(costs.low[k])),
                times_words(float(costs.told[k])),
                times_words(float(costs.high[k])),
                told.whole(left[k]),
            )
            for k, _ in result.count_first
        ],
    )  # fmt: skip


def count_words(result: Robust) -> str:
    """Which job's frequency matters most, in words."""
    told, regret = walked(result.scenario), min(result.regrets)
    if regret < 0.5:
        best = result.scores[result.best].layout
        return f"Whatever the frequencies within these ranges, {best} costs least: nothing needs counting."
    job, left = result.count_first[0]
    if left > regret * 0.99:
        return "No single job's count would lessen the regret: it takes several."
    name = result.jobs[job].name
    most = f"{told.a_year(left)} at most, not {told.total(regret)}"
    return f"Count {name} first: once it is known, the regret is {most}."


def flip_words(result: Robust) -> Iterator[str]:
    """Layouts that change places within the ranges, and the one job that can do it alone, if one can."""
    costs, names = result.costs, [score.layout for score in result.scores]
    flips = costs.flips()
    flips.sort(key=lambda pair: (result.best not in pair, pair))
    for first, second in flips[:FLIPS]:
        alone = [(k, at) for k in result.ranged if (at := costs.even_at(first, second, k)) is not None]
        if alone:
            job, at = min(alone, key=lambda each: abs(math.log((each[1] + 1) / (costs.told[each[0]] + 1))))
            more = at > costs.told[job]
            often = f"{'more' if more else 'less'} than {at / PER_YEAR['week']:.3g} times a week"
            unless = f"unless {result.jobs[job].name} is done {often}"
            yield f"{names[first]} costs less than {names[second]}, {unless}."
        else:
            together = "several jobs together can turn it"
            yield f"{names[first]} costs less than {names[second]} as told; {together}."
    if len(flips) > FLIPS:
        yield f"and {len(flips) - FLIPS} more pairs change places within these ranges"


def draw_robust(result: Robust, axes: Axes) -> None:
    """A bar for each layout from its least to its greatest cost, and its greatest regret in figures."""
    from footwork.show.charts import plain_axes

    told, costs = walked(result.scenario), result.costs
    plain_axes(axes)
    axes.grid(visible=False, axis="y")
    axes.grid(axis="x", color=ink.HATCH, linewidth=0.5)
    order = sorted(range(len(result.scores)), key=lambda k: -result.regrets[k])
    least, most = costs.at(costs.low) * told.per_metre, costs.worst * told.per_metre
    for y, k in enumerate(order):
        best = k == result.best
        axes.barh(y, most[k] - least[k], left=least[k], height=0.5, color=ink.WALKING[3 if best else 1])
        axes.plot(costs.at(costs.told)[k] * told.per_metre, y, "o", color=ink.INK, markersize=5)
        axes.annotate(
            f"regret up to {told.whole(result.regrets[k])}",
            (most[k], y),
            xytext=(5, -3),
            textcoords="offset points",
            fontsize=8,
            fontweight="bold" if best else "normal",
            color=ink.INK,
        )
    axes.set_yticks(range(len(order)), [result.scores[k].layout for k in order])
    axes.set_xlabel(f"cost, {told.unit} a year: all jobs least often to all most often; the dot is as told")
    axes.margins(x=0.3)
    axes.set_xlim(left=0)
