"""A table of the page as plain objects: what is in each cell, and what it is sorted by."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Head:
    """The head of a column; ``figures``: it holds numbers, set to the right and sorted by size."""

    words: str
    figures: bool = False


@dataclass(frozen=True, slots=True)
class Cell:
    """What a cell shows.  ``sort`` is what its column is sorted by: a number, or None for the words.

    ``small`` stands below in smaller letters; ``tone`` is how it looks beside its words: ``fails``, ``warns``
    or, in a heat table, ``heat-0`` to ``heat-5``.
    """

    words: str
    sort: float | None = None
    small: str = ""
    tone: str = ""

    @property
    def key(self) -> str:
        """What to sort by, as text: a plain number, ``inf`` included, or the words."""
        if self.sort is None:
            return self.words.casefold()
        return "inf" if math.isinf(self.sort) else f"{self.sort:.6g}"


@dataclass(frozen=True, slots=True)
class Row:
    """A row; its first cell is its head.  ``job`` is the number of the job whose walk it shows."""

    cells: tuple[Cell, ...]
    job: int | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """A table with a caption; ``total`` is a last row that is not sorted with the others."""

    id: str
    caption: str
    heads: tuple[Head, ...]
    rows: tuple[Row, ...]
    total: Row | None = None
    heat: bool = False

    @property
    def look(self) -> str:
        """How it is set: ``plain``, or ``heat``, which is set smaller on paper the more columns it has."""
        if not self.heat:
            return "plain"
        return "heat" + (" many" if len(self.heads) > 18 else "") + (" crowd" if len(self.heads) > 30 else "")


def words(text: str, small: str = "", tone: str = "") -> Cell:
    """A cell of words."""
    return Cell(text, None, small, tone)


def figure(text: str, value: float, tone: str = "") -> Cell:
    """A cell of a number, as it is shown and as it is."""
    return Cell(text, value, "", tone)


def row(*cells: Cell, job: int | None = None) -> Row:
    """A row of these cells."""
    return Row(cells, job)


def shades(value: float, most: float, steps: int) -> int:
    """Which of ``steps`` shades a value above 0 gets: equal parts from 0 to the most."""
    if most <= 0 or value <= 0:
        return 0
    return min(steps - 1, int(steps * value / most))


def heads(*columns: str | tuple[str]) -> tuple[Head, ...]:
    """Heads: a plain string for words, a tuple of one for figures."""
    return tuple(Head(c) if isinstance(c, str) else Head(c[0], True) for c in columns)


def without(rows: Sequence[Row], *columns: int) -> tuple[Row, ...]:
    """Rows less some columns."""
    return tuple(
        Row(tuple(cell for k, cell in enumerate(each.cells) if k not in columns), each.job) for each in rows
    )
