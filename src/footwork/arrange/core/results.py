"""What ``suggest`` gives back."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, TypeVar

from footwork.model.showing import Shown
from footwork.scoring import Score

Status = Literal["proven", "bounded", "none"]

SAME = 1e-6
"""Relative difference within which a bound and a cost are the same."""


@dataclass(frozen=True, slots=True)
class Saving:
    """A station that moves, and the metres a year its move saves after those listed before it."""

    station: str
    saves: float


@dataclass(frozen=True, slots=True)
class Unavoidable:
    """A should-check that fails on every choice of spots: of ``subject``, because of how near ``others`` are.

    No spots of theirs are ``figure`` metres apart.  Without others, it fails on each of the subject's own
    ``spots``.
    """

    check: str
    subject: str
    others: tuple[str, ...]
    figure: float | None
    spots: int

    def to_dict(self) -> dict[str, object]:
        """Its part of the JSON; metres."""
        return {
            "check": self.check,
            "subject": self.subject,
            "others": list(self.others),
            "figure": self.figure,
            "spots": self.spots,
        }


class Bounded:
    """What costs so much, and has a bound that says what it cannot cost less than."""

    __slots__ = ()

    cost: float
    bound: float

    @property
    def gap(self) -> float:
        """(cost - bound) / cost, 0 to 1."""
        return gap_between(self.cost, self.bound)

    @property
    def status(self) -> Status:
        """Whether the cost is proven by the bound, how far it is bounded, or not at all."""
        return status_of(self.cost, self.bound)


@dataclass(frozen=True, slots=True)
class Anywhere(Bounded):
    """How good the best layout is among every position at which things may stand, not only the spots.

    ``on_spots`` is the cost of the best layout on spots, ``cost`` that of the best one off them, ``bound``
    what no layout in any position costs less than (metres a year; 0 when there was no time for one).
    ``cells`` is how many cells cover the positions, ``turn`` how many degrees either way from its facing
    a thing that stands free may be turned.
    """

    on_spots: float
    cost: float
    bound: float
    cells: int
    turn: float = 1.0

    def to_dict(self) -> dict[str, object]:
        """Its part of the JSON; metres a year, degrees."""
        return {
            "bound": self.bound,
            "gap": self.gap,
            "status": self.status,
            "cost_on_spots": self.on_spots,
            "cells": self.cells,
            "turn": self.turn,
        }


@dataclass(frozen=True)
class Suggestion(Shown):
    """The layouts found, best first, and how good they are.

    ``bound`` (metres a year): no layout on these spots costs less; 0 when there was no time for one.
    ``spots`` is how many spots were considered in all, ``seconds`` how long it took.  ``moved`` lists, when
    the moves were limited, what moves from the base to the best layout, greatest saving first.  ``notes``
    are things to know, one line each.  ``anywhere`` is there when positions off the spots were asked for:
    then the best layout is the refined one; ``bound``, ``gap`` and ``status`` are about the best on spots.
    ``unseen`` is what of the gap more time hardly closes, metres a year: walks round third things, which the
    bound leaves out where much is still open; None where there is no bound.  ``finished``: the proof came to
    its end, so ``bound`` is the least cost of all, and the best layout, if dearer, is shown for a tie.
    ``unavoidable`` are failed should-checks of the best layout that no choice of spots could hold, as far as
    single things and pairs of them tell; ``uncounted`` are ids of those whose prices the bound leaves out.
    """

    scenario: str
    base: str | None
    base_score: Score | None
    layouts: tuple[Score, ...]
    bound: float
    spots: int
    seconds: float
    seed: int
    moved: tuple[Saving, ...] = ()
    notes: tuple[str, ...] = ()
    anywhere: Anywhere | None = None
    unseen: float | None = None
    finished: bool = False
    unavoidable: tuple[Unavoidable, ...] = ()
    uncounted: tuple[str, ...] = ()

    @property
    def best(self) -> Score:
        return self.layouts[0]

    @property
    def cost_on_spots(self) -> float:
        """Cost of the best layout on spots, metres a year."""
        return self.best.cost if self.anywhere is None else self.anywhere.on_spots

    @property
    def gap(self) -> float:
        """(cost - bound) / cost of the best layout on spots, 0 to 1."""
        return gap_between(self.cost_on_spots, self.bound)

    @property
    def status(self) -> Status:
        """Whether the best layout on spots is proven, how far it is bounded, or not at all."""
        return "proven" if self.finished else status_of(self.cost_on_spots, self.bound)

    def to_dict(self) -> dict[str, object]:
        """The JSON of the command ``suggest``; lengths in metres."""
        return {
            "scenario": self.scenario,
            "base": self.base,
            "layouts": [_layout(score) for score in self.layouts],
            "bound": self.bound,
            "gap": self.gap,
            "status": self.status,
            "unseen": self.unseen,
            "spots": self.spots,
            "seconds": self.seconds,
            "seed": self.seed,
            "moved": [{"station": m.station, "saves": _finite(m.saves)} for m in self.moved],
            "notes": list(self.notes),
            "unavoidable": [each.to_dict() for each in self.unavoidable],
            "uncounted": list(self.uncounted),
            **({} if self.anywhere is None else {"anywhere": self.anywhere.to_dict()}),
        }


Move = TypeVar("Move")


def savings(moves: Iterable[Move], cost_after: Callable[[Sequence[Move]], float]) -> list[tuple[Move, float]]:
    """What each of ``moves`` saves, the best first, each on top of those before it.

    ``cost_after`` tells what the layout costs in which some are made.  A step on the way that could not be
    walked saves nothing; the next one that can counts for both.
    """
    left, made = list(moves), list[Move]()
    cost = cost_after(made)
    found: list[tuple[Move, float]] = []
    while left:
        trials = [cost_after([*made, move]) for move in left]
        new = min(trials)
        made.append(left.pop(trials.index(new)))
        found.append((made[-1], cost - new if math.isfinite(cost) and math.isfinite(new) else 0.0))
        cost = new if math.isfinite(new) else cost
    return found


def gap_between(cost: float, bound: float) -> float:
    """(cost - bound) / cost, 0 to 1."""
    if cost <= 0:
        return 0.0
    return min(1.0, max(0.0, (cost - bound) / cost))


def status_of(cost: float, bound: float) -> Status:
    """Whether a cost is proven by a bound, how far it is bounded, or not at all."""
    if gap_between(cost, bound) <= SAME:
        return "proven"
    return "bounded" if bound > 0 else "none"


def _layout(score: Score) -> dict[str, object]:
    whole = score.to_dict()
    placements = {name: {"at": [p.x, p.y], "facing": p.facing} for name, p in score.placements.items()}
    return {"placements": placements, "cost": whole["cost"], "ok": whole["ok"], "walk": whole["walk"]}


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
