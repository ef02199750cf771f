"""Places and turns in words."""

from __future__ import annotations

import math

from footwork.floor.shapes import outward
from footwork.floor.variants import PARKED
from footwork.model.scenario import Placement, Point, Scenario, Side
from footwork.model.units import format_facing, format_length

_STRAIGHT, _ABOUT = 30.0, 150.0
"""Degrees: a turn of less is straight on, of more is about."""


def facing_words(bearing: float) -> str:
    """``facing south``, or the bearing where no word fits."""
    word = format_facing(bearing)
    return f"facing {word}" if isinstance(word, str) else f"facing {bearing:.0f} degrees"


def place_words(placement: Placement, units: str) -> str:
    """Where a centre is, east and north of the room's origin, and where the front looks."""
    return f"{point_words(placement.at, units)}, {facing_words(placement.facing)}"


def point_words(at: Point, units: str) -> str:
    """A point as lengths east and north of the origin."""
    return ", ".join(
        f"{format_length(abs(value), units)} {word if value >= -5e-4 else opposite}"
        for value, word, opposite in ((at[0], "east", "west"), (at[1], "north", "south"))
    )


def units_of(scenario: Scenario | None) -> str:
    """The units to show lengths in."""
    return scenario.units if scenario else "m"


def side_words(name: str, side: str | None) -> str:
    """``the front of saw``, ``the left side of van`` or, without a side, ``the roller door``."""
    if side is None:
        if name.endswith(PARKED):
            return f"the place where {name.removesuffix(PARKED)} is parked"
        return f"the {name}" if "door" in name.lower() else f"the {name} door"
    return f"the {side} side of {name}" if side in ("left", "right") else f"the {side} of {name}"


def looking(side: str | None, placement: Placement | None) -> Point | None:
    """The unit vector along which a person at ``side`` looks at the thing; None at a door."""
    if side not in ("front", "back", "left", "right") or placement is None:
        return None
    known: Side = side  # type: ignore[assignment]
    x, y = outward(known, placement.facing)
    return (-x, -y)


def turn_words(before: Point | None, after: Point | None) -> str:
    """``straight on``, ``left``, ``right`` or ``about``; empty when either direction is unknown."""
    if before is None or after is None:
        return ""
    cross = before[0] * after[1] - before[1] * after[0]
    dot = before[0] * after[0] + before[1] * after[1]
    turn = math.degrees(math.atan2(cross, dot))
    if abs(turn) < _STRAIGHT:
        return "straight on"
    if abs(turn) > _ABOUT:
        return "about"
    return "left" if turn > 0 else "right"


def direction(start: Point, end: Point) -> Point | None:
    """The unit vector from one point to another; None when they coincide."""
    length = math.dist(start, end)
    if length < 1e-9:
        return None
    return ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
