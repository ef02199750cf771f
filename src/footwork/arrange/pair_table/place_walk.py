"""The walk between two points of a floor, compiled."""

from __future__ import annotations

import math

from footwork.arrange.core.arrays import Longs
from footwork.floor.compiled import inner
from footwork.floor.contact import Arrays, segment_blocker
from footwork.floor.desk import Desk
from footwork.floor.kernel import explore
from footwork.model.scenario import TOLERANCE


@inner
def stuck(scene: Arrays, x: float, y: float, radius: float) -> bool:
    """Whether a disc cannot even stand at a point."""
    return segment_blocker(scene, x, y, x, y, radius, TOLERANCE) >= 0


@inner
def place_walk(
    scene: Arrays, px: float, py: float, qx: float, qy: float, radius: float, joined: Longs, desk: Desk
) -> float:
    """Least walk between two points; infinite where an end cannot be stood at.

    ``joined`` (one for each obstacle) and ``desk`` are scratch.
    """
    if segment_blocker(scene, px, py, qx, qy, radius, TOLERANCE) < 0:
        return math.hypot(px - qx, py - qy)
    if stuck(scene, px, py, radius) or stuck(scene, qx, qy, radius):
        return math.inf
    joined[:] = 0
    return float(explore(scene, px, py, qx, qy, radius, TOLERANCE, math.inf, joined, desk, False)[0])
