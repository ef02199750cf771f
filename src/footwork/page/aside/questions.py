"""What the processes beside are asked, and when what they answered has been done.

In a module of its own: what is run as a program has other classes than what is imported.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from footwork.model.scenario import TOLERANCE, Layout, Placement
from footwork.page.drawing import Drawing


@dataclass(frozen=True)
class Asked:
    """The spots of ``name`` in a layout.  ``question`` is a number, by which the page knows the answers."""

    made: Drawing
    layout: Layout
    name: str
    question: int


@dataclass(frozen=True)
class At:
    """What is known of one square of what was asked last."""

    column: int
    row: int


@dataclass(frozen=True)
class Rest:
    """Nothing is asked for any more."""


@dataclass(frozen=True)
class Search:
    """A better layout than this one: ``keep`` stay, at most ``moves`` others move; ``seconds`` to search."""

    made: Drawing
    layout: Layout
    question: int
    keep: tuple[str, ...] = ()
    moves: int | None = None
    seconds: float = 60.0


def is_there(place: Placement, goal: Placement) -> bool:
    """Whether a thing stands where an answer has it, as far as anyone can measure."""
    turned = abs((place.facing - goal.facing + 180.0) % 360.0 - 180.0)
    return math.dist(place.at, goal.at) <= 10 * TOLERANCE and turned <= 0.1
