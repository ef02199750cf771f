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
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from footwork.compiled.functions import entry, inner
from footwork.floor.contact import END, FIRST, RADIUS, Arrays, Floats, Ints, X, Y
from footwork.floor.scene import Scene
from footwork.floor.solid import point_to_ring
from footwork.model.scenario import Point

STEP = 0.02
"""Metres between the points at which a way is measured."""

REACH = 3.0
"""Metres.  Wider places than this are open floor, and not reported."""

_OPPOSITE = -0.5
"""Cosine between the directions to two things that counts as opposite: 120 degrees."""

_NARROWER = 1e-9
"""Metres by which a place must be narrower to take the first one's stead: less is rounding."""

APART = 2
"""Column of the nearest points, beside X and Y: their distance."""


@dataclass(frozen=True, slots=True)
class Narrow:
    """The narrowest place: ``width`` metres between two things, at a point of the way."""

    width: float
    between: tuple[str, str]
    at: Point


class _Place(NamedTuple):
    """A narrowest place: its width, numbers of the two pieces and of the point (-1: none)."""

    width: float
    first: int
    second: int
    at: int


@inner
def _nearest_points(s: Arrays, x: float, y: float, far: float, out: Floats, at_hand: Ints) -> int:
    """Nearest point to (x, y) of each piece that is not ``far``, and how far it is: their numbers in order
    are put into ``at_hand``; gives how many there are."""
    xs, ys = s.vert[:, X], s.vert[:, Y]
    count = 0
    for m in range(len(s.span)):
        dx, dy, reach = s.ball[m, X] - x, s.ball[m, Y] - y, s.ball[m, RADIUS] + far
        if dx * dx + dy * dy > reach * reach:
            continue
        out[m, APART], out[m, X], out[m, Y] = point_to_ring(x, y, xs, ys, s.span[m, FIRST], s.span[m, END])
        at_hand[count] = m
        count += 1
    return count


@entry
def _narrowest(s: Arrays, points: Floats, reach: float) -> _Place:
    """The narrowest place at ``points`` (n, 2) that is narrower than ``reach``."""
    near, at_hand = np.empty((len(s.span), 3)), np.empty(len(s.span), np.int64)
    best, first, second, at = reach, -1, -1, -1
    for k in range(len(points)):
        x, y = points[k, X], points[k, Y]
        count = _nearest_points(s, x, y, 2.0 * best + _NARROWER, near, at_hand)
        for i in range(count):
            a = at_hand[i]
            da = near[a, APART]
            if da >= best or da <= 0.0:
                continue
            for j in range(i):
                b = at_hand[j]
                db = near[b, APART]
                if da + db >= 2.0 * best or db <= 0.0:
                    continue
                width = math.hypot(near[a, X] - near[b, X], near[a, Y] - near[b, Y])
                ax, ay, bx, by = near[a, X] - x, near[a, Y] - y, near[b, X] - x, near[b, Y] - y
                if width < best - _NARROWER and (ax * bx + ay * by) <= _OPPOSITE * da * db:
                    best, first, second, at = width, a, b, k
    return _Place(best, first, second, at)


def narrowest(scene: Scene, names: Sequence[str], points: Sequence[Point]) -> Narrow | None:
    """The narrowest place along the polyline ``points``; None where it leads over open floor only.

    ``names`` has a name for each piece of the scene, as ``Plan.piece_names`` gives them.
    """
    samples = _samples(points)
    found = _narrowest(scene.arrays, samples, REACH)
    if found.at < 0:
        return None
    x, y = samples[found.at]
    return Narrow(float(found.width), (names[found.first], names[found.second]), (float(x), float(y)))


def _samples(points: Sequence[Point]) -> NDArray[np.float64]:
    """Points at most ``STEP`` apart along a polyline, its own vertices among them."""
    parts = []
    for a, b in pairwise(points):
        n = max(1, math.ceil(math.dist(a, b) / STEP))
        t = np.arange(n)[:, None] / n
        parts.append((1 - t) * np.array(a) + t * np.array(b))
    parts.append(np.array([points[-1]]))
    return np.ascontiguousarray(np.concatenate(parts), dtype=np.float64)
