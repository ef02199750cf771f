"""The one place that prints: results on stdout, progress and errors on stderr."""

from __future__ import annotations

import contextlib
import json
import os
import re
import sys
from collections.abc import Iterable
from io import TextIOWrapper
from typing import TYPE_CHECKING, Any, TextIO

if TYPE_CHECKING:
    from rich.console import Console

PIPED_WIDTH = 120
"""Columns of a table that goes into a file or a pipe: wide enough that no row is broken."""

_NUMBERS = re.compile(r"\[\s+-?\d[-+.\deE]*(?:,\s+-?\d[-+.\deE]*)*\s+\]")
"""A list of nothing but numbers, which goes on one line: a point, a size."""


def line(text: str = "") -> None:
    """One line of a result, or several; what a terminal would obey, such as in a file's name, is spelt."""
    sys.stdout.write(_plain(text))


def data(value: Any) -> None:
    """A result as JSON, for programs."""
    text = json.dumps(value, ensure_ascii=False, allow_nan=False, indent=2)
    text = "\n".join(row if row.isprintable() else _escaped(row) for row in text.split("\n"))
    line(_NUMBERS.sub(lambda found: " ".join(found[0].split()).replace("[ ", "[").replace(" ]", "]"), text))


def _plain(text: str) -> str:
    from footwork.model.telling import spelt

    return "".join(f"{spelt(row)}\n" for row in text.split("\n"))


def _escaped(row: str) -> str:
    from footwork.model.telling import is_letter

    return "".join(c if is_letter(c) else json.dumps(c)[1:-1] for c in row)


def error(text: str) -> None:
    """One line on stderr, with our name before it, of a bearable length and without control characters."""
    from footwork.model.telling import one_line

    note(one_line(f"footwork: {text}"))


def errors(lines: Iterable[str]) -> None:
    """Each of several faults on a line of its own."""
    for text in lines:
        error(text)


def note(text: str) -> None:
    """A remark for the person on stderr, so that results can be piped; nothing where nobody reads it."""
    try:
        sys.stderr.write(_plain(text))
        sys.stderr.flush()
    except BrokenPipeError:
        nobody_reads(sys.stderr)


def console() -> Console:
    """Where tables go: as wide as the terminal; plain text of a fixed width when piped."""
    from rich.console import Console

    piped = not sys.stdout.isatty()
    return Console(file=sys.stdout, highlight=False, soft_wrap=False, width=PIPED_WIDTH if piped else None)


def nobody_reads(stream: TextIO | None = None) -> None:
    """The reader of our output left: what is still printed, to the interpreter's last flush, goes nowhere."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), (stream or sys.stdout).fileno())


def tolerate_any_text() -> None:
    """A terminal that cannot show a letter shows a question mark in its place rather than stopping us."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")
