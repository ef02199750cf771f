"""Results in a notebook: the tables of the command as HTML, plans as SVG, and conversions.

``html`` is what results show themselves by; see ``model/showing.py``.
"""

from __future__ import annotations

import html as markup
import io
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.style import Style
from rich.table import Table
from rich.text import Text

from footwork.arrange.core.results import Suggestion
from footwork.model.scenario import Layout, Scenario
from footwork.model.units import format_length
from footwork.scoring import Score
from footwork.show import tables, text
from footwork.show.mark_out import MarkList
from footwork.show.mark_tables import marking_list
from footwork.show.text import figures, words
from footwork.show.walked import seasonal
from footwork.study.fit import Fit
from footwork.study.robust import Robust
from footwork.study.seasons import Seasons
from footwork.study.sizes import Sizes
from footwork.study.tally import Tally
from footwork.study.weekend import Weekend
from footwork.whatif import Change, Session

_WIDE = 100_000
"""Columns of a page: no table is ever cut or wrapped."""


class _Page(Console):
    """A console whose paragraphs and tables become HTML; everything written is escaped."""

    def __init__(self) -> None:
        super().__init__(file=io.StringIO(), width=_WIDE, force_terminal=True, color_system=None)
        self.parts: list[str] = []

    def print(self, *objects: Any, **_: Any) -> None:
        for each in objects:
            self.parts.append(_element(each))


def _element(item: Any) -> str:
    if isinstance(item, Table):
        return _table(item)
    if isinstance(item, Padding):
        return _paragraph(item.renderable, item.left)
    return _paragraph(item, 0)


def _paragraph(item: Any, indent: int) -> str:
    if not isinstance(item, Text):
        raise TypeError(f"a page cannot show {type(item).__name__}")
    if not item.plain:
        return ""
    margin = f"margin:0.2em 0 0.2em {indent}ch;"
    return f'<p style="{margin}{_look(item)}">{markup.escape(item.plain)}</p>'


def _look(item: Text) -> str:
    style = item.style if isinstance(item.style, Style) else Style.parse(item.style or "none")
    colour = {"red": "#b3261e", "green": "#1b6e2c", "yellow": "#7a5900"}
    name = style.color.name if style.color else ""
    parts = ["font-weight:bold;" if style.bold else "", "opacity:0.75;" if style.dim else ""]
    return "".join(parts) + (f"color:{colour[name]};" if name in colour else "")


def _table(item: Table) -> str:
    sides = ["right" if column.justify == "right" else "left" for column in item.columns]
    lines = ['<table style="border-collapse:collapse;margin:0.4em 0;">']
    if item.show_header:
        heads = [_cell("th", column.header, side) for column, side in zip(item.columns, sides, strict=True)]
        lines.append(f"<tr>{''.join(heads)}</tr>")
    for row in zip(*(column.cells for column in item.columns), strict=True):
        cells = [_cell("td", cell, side) for cell, side in zip(row, sides, strict=True)]
        lines.append(f"<tr>{''.join(cells)}</tr>")
    return "\n".join([*lines, "</table>"])


def _cell(tag: str, cell: Any, side: str) -> str:
    content = cell.plain if isinstance(cell, Text) else str(cell)
    look = _look(cell) if isinstance(cell, Text) else ""
    style = f"text-align:{side};vertical-align:top;padding:0.1em 0.7em;{look}"
    return f'<{tag} style="{style}">{markup.escape(content)}</{tag}>'


def _page(write: Callable[[Console], None]) -> str:
    page = _Page()
    write(page)
    return "<div>" + "\n".join(part for part in page.parts if part) + "</div>"


def html(result: object) -> str | None:
    """A result as HTML; None for what is shown as it is."""
    if isinstance(result, Score):
        return _page(lambda page: tables.score(result, page))
    if isinstance(result, Suggestion):
        return _page(lambda page: tables.suggestion(result, page))
    if isinstance(result, Change):
        return _page(lambda page: tables.change(result, page))
    if isinstance(result, Session):
        return _page(lambda page: _session(result, page))
    if isinstance(result, MarkList):
        return _page(lambda page: marking_list(result, page))
    if isinstance(result, Scenario):
        return _page(lambda page: _scenario(result, page))
    return _study(result)


def _study(result: object) -> str | None:
    """A study's result; its tables are loaded when there is one."""
    from footwork.show import (
        fit_tables,
        robust_tables,
        season_tables,
        size_tables,
        tally_tables,
        weekend_tables,
    )

    if isinstance(result, Sizes):
        return _page(lambda page: size_tables.sizes(result, page))
    if isinstance(result, Fit):
        return _page(lambda page: fit_tables.fit(result, page))
    if isinstance(result, Weekend):
        return _page(lambda page: weekend_tables.weekend(result, page, result.enough))
    if isinstance(result, Robust):
        return _page(lambda page: robust_tables.robust(result, page))
    if isinstance(result, Seasons):
        return _page(lambda page: season_tables.seasons(result, page, result.best))
    if isinstance(result, Tally):
        return _page(lambda page: tally_tables.tally(result, page))
    return None


def _session(session: Session, page: Console) -> None:
    moves = ", ".join(session.moves) or "no moves yet"
    text.line(page, f"{session.state.layout.name} of {session.state.scenario.name}: {moves}")
    tables.score(session.state.score, page, session.state.scenario)


def _scenario(scenario: Scenario, page: Console) -> None:
    """What a file holds: the room, the things in it, the jobs."""
    ring = scenario.room.outline
    across = max(x for x, _ in ring) - min(x for x, _ in ring)
    up = max(y for _, y in ring) - min(y for _, y in ring)
    text.heading(page, scenario.name)
    size = f"{format_length(across, scenario.units)} by {format_length(up, scenario.units)}"
    text.line(page, f"room: {size}{'' if scenario.room.size else ' at its widest'}")
    text.line(page, f"stations: {', '.join(station.name for station in scenario.stations)}")
    if scenario.vehicles:
        text.line(page, f"vehicles: {', '.join(vehicle.name for vehicle in scenario.vehicles)}")
    text.line(page, f"layouts: {', '.join(layout.name for layout in scenario.layouts) or 'none'}")
    columns = [words("job"), figures("times a year"), figures("stops"), words("route")]
    rows = []
    for job in scenario.jobs:
        stops = [visit.name for visit in job.route]
        shown = stops if len(stops) <= 8 else [*stops[:7], "..."]
        often = f"{job.times_per_year:,.4g}{seasonal(job)}"
        rows.append((job.name, often, str(len(stops)), ", ".join(shown)))
    text.grid(page, columns, rows)


# Plans


@dataclass(frozen=True)
class Picture:
    """A plan that shows itself in a notebook.  ``svg`` is the whole drawing."""

    svg: str

    def _repr_svg_(self) -> str:
        return self.svg

    def __repr__(self) -> str:
        return f"Picture({len(self.svg):,} characters of svg)"


def look(
    scenario: Scenario | Sizes | Weekend | Robust | Seasons | Fit,
    layout: Layout | str | None = None,
    **wanted: Any,
) -> Picture:
    """The plan of a layout (by name, as an object, or the file's first), to look at in a notebook.

    ``wanted`` is what :func:`footwork.draw` takes: ``job="gate_frame"``, ``walking=True``, ``standing=True``,
    ``before="today"``, ``scale``, ``paper``.  Of a study's result its chart, as its command draws it.  Raises
    UsageError when there is no such layout or job.
    """
    import matplotlib

    from footwork.show.board import RC
    from footwork.show.draw import compose
    from footwork.show.files import save_figure

    file = io.BytesIO()
    with matplotlib.rc_context(RC):
        if isinstance(scenario, Scenario):
            figure = compose(scenario, layout, **wanted).board.figure
        else:
            figure = _chart(scenario)
        save_figure(figure, file, "svg", 72, {"Date": None, "Creator": "footwork"})
    return Picture(file.getvalue().decode("utf-8"))


def _chart(result: Sizes | Weekend | Robust | Seasons | Fit) -> Any:
    """The figure of a study's chart."""
    from footwork.show import fit_tables, robust_tables, season_tables, size_tables, weekend_tables
    from footwork.show.charts import chart

    name = result.scenario.name
    if isinstance(result, Sizes):
        return chart(f"{name}: which room", lambda axes: size_tables.draw_sizes(result, axes))
    if isinstance(result, Weekend):
        return chart(f"{name}: what few moves save", lambda axes: weekend_tables.draw_weekend(result, axes))
    if isinstance(result, Robust):
        title = f"{name}: while frequencies are guesses"
        return chart(title, lambda axes: robust_tables.draw_robust(result, axes))
    if isinstance(result, Seasons):
        title = f"{name}: what a change with the season saves"
        return chart(title, lambda axes: season_tables.draw_seasons(result, axes))
    return chart(f"{name}: where {result.machine.name} fits", lambda axes: fit_tables.draw_fit(result, axes))
