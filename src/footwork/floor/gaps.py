"""The narrowest place on a way: between which two things it leads, and how wide it is there.

At a point of the way, two things lie on opposite sides of the walker when the directions to their nearest
points are at least 120 degrees apart; the distance between those two points is the width there.  The
narrowest over the whole way is reported.  Metres, in the room's frame.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from footwork.compiled.functions import entry, inner
from footwork.floor.contact import Arrays, Floats
from footwork.floor.scene import Scene
from footwork.floor.solid import point_to_ring
from footwork.model.scenario import Point

STEP = 0.02
"""Metres between the points at which a way is measured."""

REACH = 3.0
"""Metres.  Wider places than this are open floor, and not reported."""

_OPPOSITE = -0.5
"""Cosine between the directions to two things that counts as opposite: 120 degrees."""


@dataclass(frozen=True, slots=True)
class Narrow:
    """The narrowest place: ``width`` metres between two things, at a point of the way."""

    width: float
    between: tuple[str, str]
    at: Point


@inner
def _nearest_points(s: Arrays, x: float, y: float, out: Floats) -> None:
    """Nearest point of each piece to (x, y): columns are its place and the distance."""
    xs, ys = s.vert[:, 0], s.vert[:, 1]
    for m in range(len(s.span)):
        out[m, 2], out[m, 0], out[m, 1] = point_to_ring(x, y, xs, ys, s.span[m, 0], s.span[m, 1])


@entry
def _narrowest(s: Arrays, points: Floats, reach: float) -> tuple[float, int, int, int]:
    """Width of the narrowest place at ``points`` (n, 2), the two pieces and the number of the point."""
    near = np.empty((len(s.span), 3))
    best, first, second, at = reach, -1, -1, -1
    for k in range(len(points)):
        x, y = points[k, 0], points[k, 1]
        _nearest_points(s, x, y, near)
        for a in range(len(near)):
            da = near[a, 2]
            if da >= best or da <= 0.0:
                continue
            for b in range(a):
                db = near[b, 2]
                if da + db >= 2.0 * best or db <= 0.0:
                    continue
                width = math.hypot(near[a, 0] - near[b, 0], near[a, 1] - near[b, 1])
                ax, ay, bx, by = near[a, 0] - x, near[a, 1] - y, near[b, 0] - x, near[b, 1] - y
                if width < best - 1e-9 and (ax * bx + ay * by) <= _OPPOSITE * da * db:
                    best, first, second, at = width, a, b, k
    return best, first, second, at


def narrowest(scene: Scene, names: Sequence[str], points: Sequence[Point]) -> Narrow | None:
    """The narrowest place along the polyline ``points``; None where it leads over open floor only.

    ``names`` has a name for each piece of the scene, as ``Plan.piece_names`` gives them.
    """
    samples = _samples(points)
    width, a, b, at = _narrowest(scene.arrays, samples, REACH)
    if at < 0:
        return None
    x, y = samples[at]
    return Narrow(float(width), (names[a], names[b]), (float(x), float(y)))


def _samples(points: Sequence[Point]) -> NDArray[np.float64]:
    """Points at most ``STEP`` apart along a polyline, its own vertices among them."""
    parts = []
    for a, b in pairwise(points):
        n = max(1, math.ceil(math.dist(a, b) / STEP))
        t = np.arange(n)[:, None] / n
        parts.append((1 - t) * np.array(a) + t * np.array(b))
    parts.append(np.array([points[-1]]))
    return np.ascontiguousarray(np.concatenate(parts), dtype=np.float64)
