"""What is found of the spots of one thing.  Metres and metres a year, the room's frame."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, replace
from functools import cached_property

from footwork.model.scenario import Placement, Point


@dataclass(frozen=True, slots=True)
class Spot:
    """A placement at which no must-check fails on account of it, and what the whole year costs then."""

    placement: Placement
    cost: float


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a thing can't stand at ``placement``: the must-check that fails, or the things that it would clash
    ``by``, whichever of their checks that fails.  Neither: no spot of it lies there."""

    placement: Placement
    check: str = ""
    by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Square:
    """A square of floor: the ``best`` spot in it, or what comes first of what refuses it.

    While neither is known it is still to be reckoned.  ``middle`` is that of the square, not of the spot.
    """

    column: int
    row: int
    middle: Point
    best: Spot | None = None
    refused: Refusal | None = None

    @property
    def known(self) -> bool:
        return self.best is not None or self.refused is not None


@dataclass(frozen=True)
class Where:
    """All squares of the floor for one thing of a layout, as far as they are known.

    ``cost`` is what the layout costs as it is, with the thing ``here``; ``pitch`` the side of a square.
    """

    scenario: str
    layout: str
    thing: str
    here: Placement
    cost: float
    pitch: float
    squares: tuple[Square, ...]

    @property
    def done(self) -> bool:
        """Whether every square is known."""
        return all(square.known for square in self.squares)

    @cached_property
    def spots(self) -> tuple[Spot, ...]:
        """The best spot of every square that has one, the cheapest first."""
        found = [square.best for square in self.squares if square.best is not None]
        return tuple(sorted(found, key=lambda spot: (spot.cost, spot.placement.x, spot.placement.y)))

    @property
    def refusals(self) -> tuple[Refusal, ...]:
        """One of every square in which it cannot stand."""
        return tuple(square.refused for square in self.squares if square.refused is not None)

    @cached_property
    def reasons(self) -> tuple[tuple[Refusal, int], ...]:
        """What refuses squares, the most frequent first: an example of each, and of how many it is true.

        A square in which several things are in the way counts for each of them.
        """
        counts: Counter[str] = Counter()
        examples: dict[str, Refusal] = {}
        for refusal in self.refusals:
            for word in refusal.by or (refusal.check,):
                counts[word] += 1
                if word not in examples or len(refusal.by) < len(examples[word].by):
                    examples[word] = refusal
        return tuple(
            (replace(examples[word], by=examples[word].by and (word,)), count)
            for word, count in counts.most_common()
        )

    def change(self, spot: Spot) -> float:
        """Metres a year that it costs more than where the thing stands now."""
        return spot.cost - self.cost if math.isfinite(self.cost) else math.nan
