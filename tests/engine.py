"""The package's path engine on the judge's scenes."""

from __future__ import annotations

import math
from typing import Any

from footwork.floor.scene import Obstacle, Scene
from footwork.floor.shapes import convex_pieces
from footwork.model.scenario import TOLERANCE
from judge.known import Known
from judge.scenes import Drawn

SHORTFALL = 0.0015
"""The share by which the judge may be above the engine: its arcs are drawn outside the true ones."""


def scene_of(room: Any, rings: Any, tolerance: float = TOLERANCE) -> Scene:
    """A scene with the walls of ``room`` and a thing for each ring."""
    walls = Obstacle.from_walls("walls", list(zip(room, (*room[1:], room[0]), strict=True)))
    things = [Obstacle.from_ring(f"thing {k}", ring, convex_pieces(ring)) for k, ring in enumerate(rings)]
    return Scene((walls, *things), tolerance)


def scene(drawn: Drawn | Known, tolerance: float = TOLERANCE) -> Scene:
    return scene_of(drawn.room, drawn.rings, tolerance)


def same(engine: float, judge: float, below: float = 2e-4, above: float = SHORTFALL) -> bool:
    """Whether a judged length holds the engine's: both without a way, or equal up to the judge's arcs.

    ``below``, metres, is what the tolerance explains at the tightest places.
    """
    if math.isinf(engine) or math.isinf(judge):
        return engine == judge
    return engine - below <= judge <= engine * (1 + above) + below
