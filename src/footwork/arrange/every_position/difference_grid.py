"""What two things are to each other as one stands further and further from the other, on fine squares.

Whether two things clash, and the straight line between their places, depends on where the second lies from
the first, not on where both are.  So both are worked out once for every small square of such differences,
and a pair of cells takes the least over the squares that its positions reach: a position where the two
clash is no position at which they are near.  Metres.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property
from itertools import product
from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats
from footwork.arrange.core.slack import WINDOW_FURTHER
from footwork.arrange.every_position.cell_conflicts import Kind, least_overlap, widest_gap
from footwork.arrange.spots.layers import BODY, HARD, REACH, STOCK, forbidden_layers
from footwork.checks.ground import Ground
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import TOLERANCE


class PlacePair(NamedTuple):
    """Two points that a walk may be between: where each is from the centre of its thing, and how far turning
    moves both, in all."""

    one: FloatArray
    two: FloatArray
    discs: float


Walk = Sequence[PlacePair]
"""The pairs that a walk may be between: the nearest counts."""


class Relative:
    """The cells of two kinds, what they are to each other, and the squares round where the two things clash.

    ``clash`` (squares east, squares north): whether the two clash wherever in a square the second is.  A pair
    of cells that reaches no such square needs none: straight lines between its boxes are exact.
    """

    def __init__(self, ground: Ground, one: Kind, two: Kind, strict: bool, square: float) -> None:
        self.one, self.two, self.square = one, two, square
        self.half = np.abs(one.half).sum(axis=0) + np.abs(two.half).sum(axis=0)
        self.apart = two.at[None, :, :] - one.at[:, None, :]
        rings = _blocking(ground, one, two, strict)
        low = np.min([r.min(axis=0) - o.max(axis=0) for r, o in rings], axis=0, initial=0.0)
        high = np.max([r.max(axis=0) - o.min(axis=0) for r, o in rings], axis=0, initial=0.0)
        reached = (self.apart + self.half > low) & (self.apart - self.half < high)
        self.near = np.nonzero(reached.all(axis=2) if rings else np.zeros(reached.shape[:2], np.bool_))
        begin = np.floor((self.apart[self.near] - self.half) / square - WINDOW_FURTHER).astype(np.int64)
        self.window = (np.floor(2.0 * self.half / square + 2 * WINDOW_FURTHER) + 2).astype(np.int64)
        origin = begin.min(axis=0, initial=0)
        size = begin.max(axis=0, initial=0) - origin + self.window
        self._begin = begin - origin
        x, y = (square * (origin[k] + np.arange(size[k]) + 0.5) for k in (0, 1))
        self.x, self.y = x[:, None], y[None, :]
        self.clash: Bools = np.zeros((len(x), len(y)), np.bool_)
        if len(begin):
            for ring, other in rings:
                self._meet(ring, other)

    def _meet(self, ring: FloatArray, other: FloatArray) -> None:
        """Note the squares in which two rings overlap wherever in it the second thing is."""
        # Where the boxes round the two meet; nothing else can clash.
        low, high = ring.min(axis=0) - other.max(axis=0), ring.max(axis=0) - other.min(axis=0)
        a = slice(*np.searchsorted(self.x[:, 0], (low[0], high[0])))
        b = slice(*np.searchsorted(self.y[0], (low[1], high[1])))
        if a.start == a.stop or b.start == b.stop:
            return
        half = 0.5 * self.square * np.eye(2)
        swing = self.one.swing(ring) + self.two.swing(other)
        least = least_overlap(ring, other, self.x[a], self.y[:, b], (half,), swing)
        self.clash[a, b] |= least > TOLERANCE

    def in_squares(self, walk: Walk) -> Floats:
        """Least straight line of a walk in each square."""
        return _nearest(walk, self.x, self.y, np.full(2, 0.5 * self.square))

    def between(self, walk: Walk) -> Floats:
        """Least straight line of a walk between all cells, (cells of one, cells of two), clash or not."""
        return _nearest(walk, self.apart[:, :, 0], self.apart[:, :, 1], self.half)

    def furthest(self) -> tuple[Floats, Floats]:
        """Greatest distance of the two centres in each square, and between all cells."""
        half = 0.5 * self.square
        squares: Floats = np.hypot(np.abs(self.x) + half, np.abs(self.y) + half)
        cells: Floats = np.hypot(*(np.abs(self.apart) + self.half).transpose(2, 0, 1))
        return squares, cells

    def widest_gaps(self) -> tuple[Floats, Floats]:
        """Greatest gap between the two footprints in each square, and between all cells."""
        spread = self.one.spread + self.two.spread
        squares = widest_gap(self.one, self.two, self.x, self.y, math.sqrt(0.5) * self.square)
        return squares, widest_gap(self.one, self.two, self.apart[:, :, 0], self.apart[:, :, 1], spread)

    @cached_property
    def never(self) -> Bools:
        """Which cells, (cells of one, cells of two), clash in every square that they reach."""
        found: Bools = np.zeros(self.apart.shape[:2], np.bool_)
        if len(self._begin):
            found[self.near] = self._least(self.clash.view(np.uint8)) > 0
        return found

    def least(self, squares: Floats, cells: Floats) -> Floats:
        """The least over the positions of two cells at which they do not clash, of something at least
        ``squares`` in each square and at least ``cells`` between all positions of two cells.
        """
        found = cells.copy()
        if len(self._begin):
            found[self.near] = np.maximum(
                found[self.near], self._least(np.where(self.clash, np.inf, squares))
            )
        return found

    def _least(self, values: FloatArray) -> FloatArray:
        for axis in (0, 1):
            values = _window_least(values, int(self.window[axis]), axis)
        found: FloatArray = values[self._begin[:, 0], self._begin[:, 1]]
        return found


def _blocking(ground: Ground, one: Kind, two: Kind, strict: bool) -> list[tuple[FloatArray, FloatArray]]:
    """Rings of two things that must not overlap."""
    of_one = forbidden_layers(ground, one.thing, two.thing, strict)
    of_two = forbidden_layers(ground, two.thing, one.thing, strict)
    found: list[tuple[FloatArray, FloatArray]] = []
    for layer, of_two_there, of_one_there in (
        (BODY, two.rings.body, one.rings.body),
        (HARD, two.rings.hard, one.rings.hard),
        (STOCK, two.rings.stock, one.rings.stock),
        (REACH, two.rings.reach, one.rings.reach),
    ):
        if of_one[layer]:
            found += product(one.rings.body, of_two_there)
        if layer != BODY and of_two[layer]:
            found += product(of_one_there, two.rings.body)
    return found


def _nearest(walk: Walk, dx: Floats, dy: Floats, half: Floats) -> Floats:
    """Least straight line over pairs of points, the second thing anywhere in a box round (dx, dy)."""
    least: Floats = np.full(np.broadcast(dx, dy).shape, np.inf)
    for pair in walk:
        further_x, further_y = pair.two - pair.one
        x = np.maximum(np.abs(dx + further_x) - half[0], 0.0)
        y = np.maximum(np.abs(dy + further_y) - half[1], 0.0)
        np.minimum(least, np.hypot(x, y) - pair.discs, out=least)
    return np.maximum(least, 0.0, out=least)


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
