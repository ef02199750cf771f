"""Words in the cells of a CSV file: a spreadsheet takes none of them for a formula, and they read back.

A cell that begins with ``=``, ``+``, ``-`` or ``@`` is worked out by a spreadsheet, whatever quotes stand
about it.  The usual mend is an apostrophe before it.  One that begins with an apostrophe gets another, so
that whoever takes one away has the word as it was.
"""

from __future__ import annotations

APOSTROPHE = "'"

_OBEYED = ("=", "+", "-", "@", "\t", "\r", "\uff1d", "\uff0b", "\uff0d", "\uff20", APOSTROPHE)
"""Beginnings of a formula, the wide ones of Asian keyboards too."""


def text_cell(text: str) -> str:
    """A word as a cell of text."""
    return f"{APOSTROPHE}{text}" if text.startswith(_OBEYED) else text


def words_of(cell: str) -> tuple[str, ...]:
    """What a cell may mean, the likelier first: ``text_cell`` undone, and as it stands."""
    return (cell[1:], cell) if cell.startswith(APOSTROPHE) else (cell,)
