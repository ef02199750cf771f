"""What two things are to each other as one stands further and further from the other, on fine squares.

Whether two things clash, and the straight line between their places, depends on where the second lies from
the first, not on where both are.  So both are worked out once for every small square of such differences,
and a pair of cells takes the least over the squares that its positions reach: a position where the two
clash is no position at which they are near.  Metres.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from footwork.arrange.certain import BODY, HARD, STOCK, Kind, least_overlap
from footwork.arrange.clashes import blocks
from footwork.arrange.tables import Bools, Floats
from footwork.checks.ground import Ground
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import TOLERANCE

HAIR = 1e-7
"""Parts of a square that a window reaches further, for the rounding of doubles."""


class Relative:
    """The squares that the cells of two kinds reach, and what holds in them.

    ``clash`` (squares east, squares north): whether the two things clash wherever in a square the second is.
    """

    def __init__(self, ground: Ground, one: Kind, two: Kind, strict: bool, square: float) -> None:
        self.one, self.two, self.square = one, two, square
        half = np.abs(one.half).sum(axis=0) + np.abs(two.half).sum(axis=0)
        apart = two.at[None, :, :] - one.at[:, None, :]
        begin = np.floor((apart - half) / square - HAIR).astype(np.int64)
        self.window = (np.floor(2.0 * half / square + 2 * HAIR) + 2).astype(np.int64)
        self.origin = begin.min(axis=(0, 1))
        size = begin.max(axis=(0, 1)) - self.origin + self.window
        self._begin = begin - self.origin
        x, y = (square * (self.origin[k] + np.arange(size[k]) + 0.5) for k in (0, 1))
        self.x, self.y = x[:, None], y[None, :]
        self.clash: Bools = np.zeros((len(x), len(y)), np.bool_)
        of_one, of_two = (
            blocks(ground, one.thing, two.thing, strict),
            blocks(ground, two.thing, one.thing, strict),
        )
        for layer in (BODY, HARD, STOCK):
            if of_one[layer]:
                self._meet(one, two, one.rings[BODY], two.rings[layer])
            if layer != BODY and of_two[layer]:
                self._meet(one, two, one.rings[layer], two.rings[BODY])

    def _meet(
        self, one: Kind, two: Kind, rings_one: Sequence[FloatArray], rings_two: Sequence[FloatArray]
    ) -> None:
        half = 0.5 * self.square * np.eye(2)
        for ring in rings_one:
            for other in rings_two:
                # Where the boxes round the two meet; nothing else can clash.
                low, high = ring.min(axis=0) - other.max(axis=0), ring.max(axis=0) - other.min(axis=0)
                a = slice(*np.searchsorted(self.x[:, 0], (low[0], high[0])))
                b = slice(*np.searchsorted(self.y[0], (low[1], high[1])))
                if a.start == a.stop or b.start == b.stop:
                    continue
                swing = one.swing(ring) + two.swing(other)
                least = least_overlap(ring, other, self.x[a], self.y[:, b], (half,), swing)
                self.clash[a, b] |= least > TOLERANCE

    def straight(self, p: FloatArray, q: FloatArray, discs: float) -> Floats:
        """Least straight line in each square from a point of the first to one of the second.

        p, q  where the two points are from the centres; ``discs`` what turning moves both, in all
        """
        dx = np.maximum(np.abs(self.x + (q[0] - p[0])) - 0.5 * self.square, 0.0)
        dy = np.maximum(np.abs(self.y + (q[1] - p[1])) - 0.5 * self.square, 0.0)
        least: Floats = np.maximum(np.hypot(dx, dy) - discs, 0.0)
        return least

    def furthest(self) -> Floats:
        """Greatest distance of the two centres in each square."""
        far: Floats = np.hypot(np.abs(self.x) + 0.5 * self.square, np.abs(self.y) + 0.5 * self.square)
        return far

    def never(self) -> Bools:
        """Which cells, (cells of one, cells of two), clash in every square that they reach."""
        found: Bools = self._least(self.clash.view(np.uint8)).astype(np.bool_)
        return found

    def least(self, values: Floats) -> Floats:
        """The least of ``values`` (by square) over the squares that two cells reach and do not clash in."""
        return self._least(np.where(self.clash, np.inf, values))

    def _least(self, values: FloatArray) -> FloatArray:
        for axis in (0, 1):
            values = _window_least(values, int(self.window[axis]), axis)
        found: FloatArray = values[self._begin[:, :, 0], self._begin[:, :, 1]]
        return found


def _window_least(values: FloatArray, length: int, axis: int) -> FloatArray:
    """Least of every ``length`` neighbours along an axis, by windows that double."""
    values = np.moveaxis(values, axis, 0)
    count = len(values) - length + 1
    size = 1
    while 2 * size <= length:
        values = np.minimum(values[:-size], values[size:])
        size *= 2
    least = np.minimum(values[:count], values[length - size : length - size + count])
    return np.moveaxis(least, 0, axis)
