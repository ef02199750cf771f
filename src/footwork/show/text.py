"""Plain words and aligned columns on a rich console.

On a terminal tables have a rule under their heads and a little colour (``NO_COLOR`` is honoured by
rich); in a file or a pipe they are aligned text without either.  No figure is ever cut short: a table
that is too wide is written as one record after the other.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rich import box
from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

CAUTION = "Local codes and licensed trades decide; the figures here are not legal advice."
_LEAST_WORDS = 16  # columns that a column of words is squeezed to at most


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its head, and whether it holds figures (to the right, never broken) or words."""

    head: str
    figures: bool = False


def words(head: str) -> Column:
    """A column of words."""
    return Column(head)


def figures(head: str) -> Column:
    """A column of figures."""
    return Column(head, True)


def heading(console: Console, text: str) -> None:
    """A line in bold."""
    _put(console, Text(text, style="bold"))


def line(console: Console, text: str = "", style: str = "", indent: int = 0) -> None:
    """A line of words, wrapped at spaces to the console's width; later lines hang under the first."""
    _put(console, Padding(Text(text, style=style), (0, 0, 0, indent)))


def item(console: Console, mark: str, text: str, style: str = "") -> None:
    """A line with ``mark`` before it, wrapped to the right of the mark."""
    table = Table.grid(padding=(0, 1, 0, 0), pad_edge=False)
    table.add_column(no_wrap=True, justify="right")
    table.add_column(overflow="fold")
    table.add_row(Text(mark, style=style), Text(text))
    _put(console, table)


def caution(console: Console) -> None:
    """The last line under figures about safety."""
    line(console)
    line(console, CAUTION, style="dim")


def grid(console: Console, columns: Sequence[Column], rows: Iterable[Sequence[str]]) -> None:
    """An aligned table."""
    cells = [tuple(row) for row in rows]
    if not cells:
        return
    if _least_width(columns, cells, console.is_terminal) > console.width:
        _records(console, columns, cells)
        return
    look = box.SIMPLE_HEAD if console.is_terminal else None
    table = Table(box=look, pad_edge=False, show_edge=False, padding=(0, 1), header_style="bold")
    for column in columns:
        table.add_column(
            Text(column.head),
            justify="right" if column.figures else "left",
            no_wrap=column.figures,
            overflow="fold",
        )
    for row in cells:
        table.add_row(*(Text(cell) for cell in row))
    _put(console, table)


def _least_width(columns: Sequence[Column], rows: Sequence[Sequence[str]], ruled: bool) -> int:
    total = 0
    for k, column in enumerate(columns):
        longest = max(Text(text).cell_len for text in (column.head, *(row[k] for row in rows)))
        total += (longest if column.figures else min(longest, _LEAST_WORDS)) + 2
    return total + (len(columns) if ruled else 0)


def _records(console: Console, columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> None:
    for row in rows:
        line(console, row[0])
        for column, cell in zip(columns[1:], row[1:], strict=True):
            if cell:
                line(console, f"{column.head}: {cell}" if column.head else cell, indent=2)


def _put(console: Console, what: RenderableType) -> None:
    if console.is_terminal:
        console.print(what)
        return
    with console.capture() as caught:
        console.print(what)
    lines = (text.rstrip() for text in caught.get().splitlines())
    console.file.write("".join(f"{text}\n" for text in lines))


def whole(value: float) -> str:
    """A figure without decimals and with thousands parted; a dash where there is none."""
    return f"{value + 0.0:,.0f}".replace("-0", "0") if abs(value) < 0.5 else _finite(value, ",.0f")


def tenths(value: float) -> str:
    """A figure to one decimal."""
    return _finite(value, ",.1f")


def metres(value: float) -> str:
    """A walking distance in metres to one decimal, or in words when it cannot be walked."""
    return "no way" if math.isinf(value) else tenths(value)


def signed(value: float, form: str = "+,.0f") -> str:
    """A difference with its sign; ``0`` when it rounds to nothing."""
    if not math.isfinite(value):
        return "no way" if value > 0 else "now a way"
    text = format(value, form)
    return "0" if not any(c in "123456789" for c in text) else text


def percent(share: float) -> str:
    """A share as per cent, one decimal below ten."""
    if not math.isfinite(share):
        return "-"
    value = 100 * share
    return f"{value:.0f} %" if abs(value) >= 9.95 or value == 0 else f"{value:.1f} %"


def _finite(value: float, form: str) -> str:
    return format(value, form) if math.isfinite(value) else "-"


def plural(count: int, word: str) -> str:
    """``1 check``, ``3 checks``."""
    return f"{count:,} {word}" if count == 1 else f"{count:,} {word}s"


def listed(names: Sequence[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))
