"""What counts as moved, wherever it is told: in tables, in JSON, on plans, in the order of a move."""

from __future__ import annotations

import math

from footwork.model.scenario import Placement

MOVED = 0.005
"""Metres: what the tape says differently when somebody measures again.  Nobody shifts a machine by less."""
TURNED = 0.2
"""Degrees: as much at the end of a bench of 1.5 m."""


def has_moved(before: Placement | None, after: Placement) -> bool:
    """Whether a thing stands elsewhere or faces another way; with no place before it does."""
    if before is None:
        return True
    turned = abs((before.facing - after.facing + 180.0) % 360.0 - 180.0)
    return math.dist(before.at, after.at) > MOVED or turned > TURNED
