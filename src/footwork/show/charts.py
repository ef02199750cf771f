"""Charts of studies: curves and heat tables on a small sheet, written as svg, png or pdf.

The same result gives the same bytes.  Colours are those of the plans, and each is told apart in grey too.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import matplotlib
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from footwork.model.errors import UsageError
from footwork.show import ink
from footwork.show.board import RC, quiet
from footwork.show.draw import METADATA
from footwork.show.files import check_goal, save_figure, write_whole

KINDS = ("svg", "png", "pdf")
SIZE = (7.2, 4.4)
"""Inches."""
DPI = 160


def check_chart(path: Path) -> None:
    """Refuse, before any work is done, a file that a chart cannot be written into."""
    if path.suffix.lower().removeprefix(".") not in KINDS:
        raise UsageError(
            f"{path}: a chart is drawn as .svg, .png or .pdf; give the file one of these suffixes"
        )
    check_goal(path)


def write_chart(path: Path, title: str, draw: Callable[[Axes], None]) -> None:
    """Let ``draw`` fill the axes of a chart and write it.  Raises UsageError when it cannot be written."""
    kind = path.suffix.lower().removeprefix(".")
    with matplotlib.rc_context(RC), quiet():
        figure = chart(title, draw)
        metadata = {**METADATA[kind], "Title": title}
        write_whole(path, lambda file: save_figure(figure, file, kind, DPI, metadata))


def chart(title: str, draw: Callable[[Axes], None]) -> Figure:
    """A figure whose axes ``draw`` fills."""
    figure = Figure(SIZE, layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    axes.set_title(title, loc="left", fontsize=10.5, fontweight="bold", color=ink.INK)
    axes.tick_params(labelsize=8, colors=ink.SOFT_INK)
    for spine in axes.spines.values():
        spine.set_color(ink.FINE)
    axes.xaxis.set_major_formatter("{x:,.6g}")
    axes.yaxis.set_major_formatter("{x:,.6g}")
    draw(axes)
    axes.xaxis.label.set(fontsize=9, color=ink.INK)
    axes.yaxis.label.set(fontsize=9, color=ink.INK)
    return figure


def plain_axes(axes: Axes) -> None:
    """Without a box round it, with faint lines to read figures off."""
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(axis="y", color=ink.HATCH, linewidth=0.5)
    axes.set_axisbelow(True)


def label_point(axes: Axes, at: tuple[float, float], text: str, up: bool = True) -> None:
    """Words beside a point."""
    axes.annotate(
        text,
        at,
        xytext=(6, 10 if up else -14),
        textcoords="offset points",
        fontsize=8.5,
        fontweight="bold",
        color=ink.INK,
        zorder=20,
    )
