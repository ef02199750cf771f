"""The errors a user can meet: one family, one base class.

Every message says what is wrong, where, and what would mend it, in one line.
"""

from __future__ import annotations

from dataclasses import dataclass

from footwork.model.telling import LONGEST_LINE, one_line

LONGEST_TOLD = LONGEST_LINE - len("footwork: ")
"""Letters of a message: the command line puts its own name before it."""


class FootworkError(Exception):
    """Base of every error that this package raises on purpose.

    ``lines`` are the one-line messages to show, at least one, each of at most ``LONGEST_TOLD`` letters
    that can all be seen.  ``exit_status`` is what the command line leaves with: 2 for wrong usage or a
    bad file, 1 when no layout was found.
    """

    exit_status = 2

    def __init__(self, *lines: str) -> None:
        self.lines: tuple[str, ...] = tuple(one_line(line, LONGEST_TOLD) for line in lines)
        super().__init__("\n".join(self.lines))


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with a scenario file.

    ``where`` is the table and key (``stations.bench.size``), ``line`` the line in the file
    (1-based) when it is known, ``what`` the fault and ``mend`` what would mend it.
    """

    where: str
    what: str
    mend: str = ""
    line: int | None = None

    def __str__(self) -> str:
        line = f"line {self.line}" if self.line is not None else ""
        place = ": ".join(filter(None, (line, self.where)))
        text = f"{place}: {self.what}" if place else self.what
        return f"{text}; {self.mend}" if self.mend else text


class ScenarioError(FootworkError):
    """The scenario file cannot be used; ``problems`` lists everything wrong with it at once."""

    def __init__(self, problems: tuple[Problem, ...], path: str = "") -> None:
        prefix = f"{path}: " if path else ""
        super().__init__(*(f"{prefix}{p}" for p in problems))
        self.problems = problems


class UsageError(FootworkError):
    """A wrong argument: an unknown name, a figure out of range, a move that cannot be read."""


class GeometryError(FootworkError):
    """A shape that cannot be used; the message names the thing at fault."""


class NoLayoutError(FootworkError):
    """No layout that passes every must-check was found; the message says which station and why."""

    exit_status = 1
