"""Fewest moves: how much of the saving each further move brings, and in which order to make them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from footwork.arrange.core.results import Bounded
from footwork.model.errors import UsageError
from footwork.model.scenario import Layout, Scenario
from footwork.model.showing import Shown
from footwork.scoring import Score, find_layout, placements_dict, score
from footwork.study.case import Case
from footwork.study.cases import Engine, run_cases
from footwork.study.effort import Effort, layout_of
from footwork.study.order import Order, moving_order

MOST = 6
"""Moves, where nobody says."""
MUCH = 0.8
"""Part of the whole saving that is told as most of it."""


@dataclass(frozen=True)
class Moves(Bounded):
    """The best that at most ``moves`` things moved can do; ``moved`` are those of them that stand elsewhere.

    ``cost`` and ``bound`` are metres a year, infinite where so few moves make no layout that passes every
    must-check.  ``order`` says what to carry when.
    """

    moves: int
    cost: float = math.inf
    bound: float = 0.0
    metres: float = math.inf
    layout: Layout | None = None
    moved: tuple[str, ...] = ()
    order: Order | None = None

    def to_dict(self) -> dict[str, Any]:
        there = self.layout is not None
        return {
            "moves": self.moves,
            "cost": self.cost if there else None,
            "bound": self.bound if there else None,
            "gap": self.gap if there else None,
            "metres_per_year": self.metres if there else None,
            "moved": list(self.moved),
            "order": None if self.order is None else self.order.to_dict(),
            "placements": None if self.layout is None else placements_dict(self.layout.placements),
        }


@dataclass(frozen=True)
class Weekend(Shown):
    """The best for 0, 1, 2 ... moves, and with as many as one likes: ``all_moved``, None if it was not
    reckoned.  ``left`` counts numbers of moves that were not, for Ctrl-C."""

    scenario: Scenario
    before: Score
    curve: tuple[Moves, ...]
    all_moved: Moves | None
    left: int = 0

    @cached_property
    def best(self) -> float:
        """The least cost of any number of moves, metres a year."""
        return min((each.cost for each in (*self.curve, *filter(None, [self.all_moved]))), default=math.inf)

    def share(self, moves: Moves) -> float:
        """The part of what all moves save that so few of them do, 0 to 1; of nothing, 1."""
        whole = self.before.cost - self.best
        return (self.before.cost - moves.cost) / whole if whole > 0 and self.before.ok else 1.0

    @cached_property
    def enough(self) -> Moves | None:
        """The fewest moves that save ``MUCH`` of what all do, else the fewest that save as much as any that
        were looked at."""
        there = [each for each in self.curve if each.layout is not None]
        much = [each for each in there if self.share(each) >= MUCH]
        return min(much or there, key=lambda each: (0.0 if much else each.cost, each.moves), default=None)

    def to_dict(self) -> dict[str, Any]:
        """The JSON of the command ``weekend``; metres a year."""
        return {
            "study": "weekend",
            "scenario": self.scenario.name,
            "base": self.before.layout,
            "cost": self.before.cost if math.isfinite(self.before.cost) else None,
            "curve": [
                {**each.to_dict(), "share": self.share(each) if each.layout is not None else None}
                for each in self.curve
            ],
            "all": None if self.all_moved is None else self.all_moved.to_dict(),
            "enough": None if self.enough is None else self.enough.moves,
            "left": self.left,
        }


def weekend(
    scenario: Scenario,
    base: Layout | str | None = None,
    *,
    most: int = MOST,
    effort: Effort | None = None,
    engine: Engine | None = None,
) -> Weekend:
    """The best layout for each number of moves up to ``most``, with a bound, and the order to make them in.

    Each number is searched by itself and is a case for ``engine``; one more takes any number of moves.  As
    fewer moves are among those with more, no number is reported worse than a smaller one, nor with a bound
    below that of a greater one.  Of each the order is found in which no two footprints ever share the floor,
    with the least weight set aside (``order.py``).

    Raises UsageError where ``most`` is more than there are things.
    """
    effort, engine = effort or Effort(), (engine or Engine()).begun()
    start = find_layout(scenario, base)
    if not 1 <= most <= len(scenario.things):
        raise UsageError(f"moves must be from 1 to {len(scenario.things)}, the number of things, not {most}")
    before = score(scenario, start)
    numbers: list[int | None] = [*range(1, most + 1), *([None] if most < len(scenario.things) else [])]
    cases = [
        Case("any number of moves" if k is None else f"{k} moves", with_moves, (scenario, start, k, effort))
        for k in numbers
    ]
    gave = run_cases(cases, engine)
    found = [_moves(k, each) for k, each in zip(numbers, gave, strict=True) if each is not None]
    none = Moves(0, before.cost, before.cost, before.metres_per_year, start) if before.ok else Moves(0)
    tidied = _tidied([none, *found])
    curve = [_ordered(scenario, start, each) for each in tidied]
    whole = next((each for each in curve if each.moves == len(scenario.things)), None)
    return Weekend(
        scenario,
        before,
        tuple(each for each in curve if each.moves <= most),
        whole,
        sum(each is None for each in gave),
    )


def with_moves(scenario: Scenario, base: Layout, moves: int | None, effort: Effort) -> dict[str, Any]:
    """A case: the best layout with at most so many things moved."""
    gave = effort.found(scenario, base, moves=moves)
    return {**gave, "moves": len(scenario.things) if moves is None else moves}


def _moves(number: int | None, gave: dict[str, Any]) -> Moves:
    if "why" in gave:
        return Moves(gave["moves"])
    layout = layout_of(gave["placements"], f"{gave['moves']} moves")
    return Moves(gave["moves"], gave["cost"], gave["bound"], gave["metres"], layout)


def _tidied(found: Sequence[Moves]) -> list[Moves]:
    """No number worse than a smaller one, and no bound below that of a greater one, which has it among its
    own."""
    better: list[Moves] = []
    for each in sorted(found, key=lambda moves: moves.moves):
        least = better[-1] if better and better[-1].cost <= each.cost else each
        better.append(Moves(each.moves, least.cost, min(each.bound, least.cost), least.metres, least.layout))
    bound = 0.0
    for k in reversed(range(len(better))):
        each = better[k]
        bound = max(bound, each.bound)
        better[k] = Moves(each.moves, each.cost, min(bound, each.cost), each.metres, each.layout)
    return better


def _ordered(scenario: Scenario, start: Layout, moves: Moves) -> Moves:
    if moves.layout is None:
        return moves
    order = moving_order(scenario, start, moves.layout)
    names = dict.fromkeys(carry.name for carry in order.carries)
    return Moves(moves.moves, moves.cost, moves.bound, moves.metres, moves.layout, tuple(names), order)
