"""What the processes beside are asked.

In a module of its own: what is run as a program has other classes than what is imported.
"""

from __future__ import annotations

from dataclasses import dataclass

from footwork.model.scenario import Layout
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
