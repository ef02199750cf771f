"""What a layout costs beside the metres walked, part by part."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from footwork.scoring import Score

Part = tuple[str, Callable[[Score], float]]
"""What it is called, and its metres a year of a layout."""

_PARTS: tuple[Part, ...] = (
    ("setting off and loads", lambda score: score.effort_metres),
    ("wishes", lambda score: score.prefer_metres),
    ("failed should-checks", lambda score: score.check_metres),
)


def cost_parts(scores: Iterable[Score]) -> list[Part]:
    """The parts that count in any of the layouts, and the cost in all; nothing where walking is all of it."""
    scores = list(scores)
    found = [part for part in _PARTS if any(part[1](score) for score in scores)]
    return [*found, ("cost", lambda score: score.cost)] if found else []
