"""What a leg counts: its metres, something for setting off, more for a heavy load.

    effort = (metres + setting_off where longer than a step) x work of carrying / work of walking free

The work is that of Pandolf, Givoni and Goldman (1977), Journal of Applied Physiology 43:577-581, on the level
and a hard floor, for a person of ``BODY`` kilograms.  Metres and kilograms.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from footwork.model.scenario import TOLERANCE, Job, Visit, Walker

BODY = 80.0
"""Kilograms of the person; the share that a load adds hardly depends on it."""


def watts(load: float, speed: float, body: float = BODY) -> float:
    """Power of walking with ``load`` kilograms at ``speed`` metres a second on a hard, level floor."""
    whole = body + load
    return 1.5 * body + 2.0 * whole * (load / body) ** 2 + 1.5 * whole * speed**2


def carrying(load: float, speed: float) -> float:
    """How many times as much a metre counts with a load as without."""
    return watts(load, speed) / watts(0.0, speed) if load > 0.0 else 1.0


def load_between(job: Job, start: Visit, end: Visit) -> float:
    """Kilograms that are carried on a leg: the heaviest of what the file says is."""
    return max((c.weight for c in job.carry if c.covers(start, end)), default=0.0)


def factors(job: Job, route: tuple[Visit, ...], speed: float) -> list[float]:
    """For each leg of a route, how many times as much a metre of it counts."""
    return [carrying(load_between(job, a, b), speed) for a, b in pairwise(route)]


def felt(metres: NDArray[np.float64], walker: Walker) -> NDArray[np.float64]:
    """Metres of legs, and for each longer than a step what setting off counts."""
    if not walker.setting_off:
        return metres
    return metres + walker.setting_off * (metres > walker.step + TOLERANCE)
