"""The column of notes beside a plan: legs of a job, failed checks, standing hours."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from footwork.show import ink
from footwork.show.board import Board, text_width
from footwork.show.sheet import Sheet

_LINE = 3.25
_SYMBOL = 6.4  # millimetres that symbols before a note take


@dataclass(frozen=True)
class Note:
    """One note.  ``symbol`` is drawn before it, ``figure`` stands at the right-hand end of its first line."""

    words: str
    figure: str = ""
    symbol: Callable[[Board, tuple[float, float]], None] | None = None
    indent: bool = False
    bold: bool = False
    color: str = ink.INK
    gap: float = 0.0


@dataclass(frozen=True)
class Section:
    """A heading and its notes; ``more`` says where to read those that have no room, after their number."""

    heading: str
    notes: tuple[Note, ...]
    more: str = ""


def wrap(words: str, width: float, size: float, bold: bool = False) -> list[str]:
    """``words`` cut at spaces into lines of at most ``width`` millimetres; a longer word is cut."""
    lines: list[str] = []
    line = ""
    for word in words.split():
        trial = f"{line} {word}".strip()
        if text_width(trial, size, bold) <= width:
            line = trial
            continue
        if line:
            lines.append(line)
        while text_width(word, size, bold) > width and len(word) > 1:
            cut = next(
                k for k in range(len(word) - 1, 0, -1) if k == 1 or text_width(word[:k], size, bold) <= width
            )
            lines.append(word[:cut])
            word = word[cut:]
        line = word
    return [*lines, line] if line else lines


def draw_notes(board: Board, sheet: Sheet, sections: Sequence[Section]) -> None:
    """The sections one under the other; what does not fit is counted, never dropped in silence."""
    if sheet.notes is None:
        return
    left, bottom, right, top = sheet.notes
    y = top - 7.0
    for k, section in enumerate(sections):
        later = sum(_least(s) for s in sections[k + 1 :])
        y = _section(board, section, (left + 4.0, right - 4.0), y, bottom + 3.0 + later) - 4.5


def _least(section: Section) -> float:
    """Room kept for a section that follows: its heading and a few lines."""
    return _LINE * min(len(section.notes) * 2, 8) + 12.0


def _section(board: Board, section: Section, sides: tuple[float, float], y: float, floor: float) -> float:
    heading = wrap(section.heading, sides[1] - sides[0], ink.BODY_TEXT, bold=True)
    for line in heading:
        board.text((sides[0], y), line, ink.BODY_TEXT, bold=True)
        y -= 3.9
    y -= 0.9
    for k, note in enumerate(section.notes):
        lines = _lines(note, sides)
        last = k == len(section.notes) - 1
        if y - _LINE * (len(lines) - 1) - note.gap < floor + (0.0 if last else _LINE):
            words = f"and {len(section.notes) - k} more{section.more}"
            for line in wrap(words, sides[1] - sides[0] - _SYMBOL, ink.SMALL_TEXT):
                board.text((sides[0] + _SYMBOL, y), line, ink.SMALL_TEXT, color=ink.SOFT_INK)
                y -= _LINE
            return y
        y = _note(board, note, lines, sides, y - note.gap)
    return y


def _lines(note: Note, sides: tuple[float, float]) -> list[str]:
    room = sides[1] - sides[0] - _indent(note)
    if note.figure:
        room -= text_width(note.figure, ink.SMALL_TEXT) + 2.0
    return wrap(note.words, room, ink.SMALL_TEXT, note.bold)


def _indent(note: Note) -> float:
    return _SYMBOL if note.symbol or note.indent else 0.0


def _note(board: Board, note: Note, lines: list[str], sides: tuple[float, float], y: float) -> float:
    if note.symbol:
        note.symbol(board, (sides[0] + 2.3, y + 0.8))
    if note.figure:
        board.text((sides[1], y), note.figure, ink.SMALL_TEXT, align="right", color=note.color)
    for line in lines:
        board.text((sides[0] + _indent(note), y), line, ink.SMALL_TEXT, bold=note.bold, color=note.color)
        y -= _LINE
    return y - (0.9 if note.symbol else 0.0)
