"""``where``: where else one thing could stand, and why not everywhere."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from footwork.elsewhere.pricing import Pricing
from footwork.elsewhere.results import Refusal, Spot, Where
from footwork.elsewhere.where import PITCH, exact, filling_in
from footwork.elsewhere.why import why
from footwork.floor.plan import Plan
from footwork.model.scenario import Layout, Placement, Scenario
from footwork.scoring import find_layout

TOP = 10
"""Spots that are told where nobody says how many."""


@dataclass(frozen=True)
class Reason:
    """What keeps a thing from some ``squares``: the example it is told by, and the checks' words there."""

    refusal: Refusal
    squares: int
    words: tuple[str, ...]

    @property
    def what(self) -> str:
        """The other thing that stands in the way, or the check that fails."""
        return " and ".join(self.refusal.by) or self.refusal.check or "no spot of it lies there"


@dataclass(frozen=True)
class Elsewhere:
    """Where else a thing could stand: all squares of the floor, the ``best`` spots, and ``reasons``."""

    found: Where = field(repr=False)
    best: tuple[Spot, ...]
    reasons: tuple[Reason, ...]

    def to_dict(self) -> dict[str, Any]:
        """The JSON of the command ``where``: metres, and metres a year."""
        found = self.found
        return {
            "scenario": found.scenario,
            "layout": found.layout,
            "station": found.thing,
            "pitch": found.pitch,
            "cost": _number(found.cost),
            **_place(found.here),
            "spots": [
                {**_place(s.placement), "cost": _number(s.cost), "change": _number(found.change(s))}
                for s in self.best
            ],
            "squares": {"possible": len(found.spots), "not_possible": len(found.refusals)},
            "not_possible": [
                {
                    "check": reason.refusal.check or None,
                    "in_the_way": list(reason.refusal.by),
                    "squares": reason.squares,
                    **_place(reason.refusal.placement),
                    "messages": list(reason.words),
                }
                for reason in self.reasons
            ],
        }


def where(
    scenario: Scenario,
    thing: str,
    layout: Layout | str | None = None,
    *,
    pitch: float = PITCH,
    top: int = TOP,
) -> Elsewhere:
    """What the whole year would cost for every spot of one thing, everything else staying.

    layout  a layout, or the name of one in the file; by default the file's first
    pitch   metres: the floor is told in squares so wide, of each the best spot in its best facing; along
            walls spots lie five times as close
    top     how many of the spots are told in ``best``, with costs equal to those of ``score``

    A spot is possible if no must-check fails by it that holds now.  Raises UsageError when there is no such
    station or vehicle, when the file fixes it, when the layout does not exist, or when a pitch is too fine.
    """
    chosen = find_layout(scenario, layout)
    *_, found = filling_in(scenario, chosen, thing, pitch)
    pricing = Pricing(scenario, Layout(chosen.name, Plan(scenario, chosen).placements))
    best = exact(scenario, pricing.layout, found, found.spots[:top])
    return Elsewhere(
        found,
        tuple(sorted(best, key=lambda spot: spot.cost)),
        tuple(Reason(refusal, count, why(pricing, thing, refusal)) for refusal, count in found.reasons),
    )


def _place(placement: Placement) -> dict[str, Any]:
    return {"at": [placement.x, placement.y], "facing": placement.facing}


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None
