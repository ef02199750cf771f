"""At which of many positions a shape overlaps the building: the checks' own predicate, compiled."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from footwork.arrange.core.arrays import Bools, Longs
from footwork.checks.ground import Body
from footwork.compiled.functions import entry
from footwork.floor.overlap import Flat, flatten
from footwork.floor.shapes import FloatArray
from footwork.floor.solid import overlapping


def hits(rings: Sequence[FloatArray], at: FloatArray, against: Flat) -> Bools:
    """For each position (n, 2) of convex rings about the origin, metres: whether any overlaps ``against``."""
    hit = np.zeros(len(at), np.bool_)
    if rings and len(against[0]):
        _hit_at(*flatten(tuple(rings)), at, *against, hit)
    return hit


def flat(bodies: Iterable[Body]) -> Flat:
    """All of some bodies as one shape."""
    return flatten(tuple(piece for body in bodies for piece in body.pieces))


@entry
def _hit_at(
    ax: FloatArray,
    ay: FloatArray,
    a_start: Longs,
    shifts: FloatArray,
    bx: FloatArray,
    by: FloatArray,
    b_start: Longs,
    out: Bools,
) -> None:
    """For each shift of shape a: whether it overlaps shape b."""
    x, y = np.empty_like(ax), np.empty_like(ay)
    for k in range(len(shifts)):
        for v in range(len(ax)):
            x[v] = ax[v] + shifts[k, 0]
            y[v] = ay[v] + shifts[k, 1]
        out[k] = overlapping(x, y, a_start, bx, by, b_start)
