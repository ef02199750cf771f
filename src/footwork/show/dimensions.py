"""Dimension lines: the room's lengths, outside everything, in the units of the file."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
import shapely

from footwork.model.scenario import Room
from footwork.model.units import format_length
from footwork.show import ink
from footwork.show.board import Board, text_width
from footwork.show.sheet import Box, Sheet

_FIRST, _STEP = 8.0, 6.0  # millimetres from what is drawn to the first line, and from line to line
_TEXT = 7.0
_SHORTEST = 0.02  # metres


@dataclass(frozen=True)
class Chain:
    """Dimension lines along x or y on one side of the plan.

    ``rows`` are the coordinates (metres) that each line is cut at: the parts first when the outline has
    corners in between, then the whole.
    """

    axis: Literal["x", "y"]
    low_side: bool
    rows: tuple[tuple[float, ...], ...]

    @property
    def depth(self) -> float:
        """Millimetres that the lines take, outside everything else."""
        return _FIRST + _STEP * (len(self.rows) - 1) + 4.0


def chains(room: Room, bounds: Box) -> tuple[Chain, Chain]:
    """One chain along x and one along y, each on the side where less lies outside the room."""
    ring = np.asarray(room.outline)
    x0, y0, x1, y1 = ring[:, 0].min(), ring[:, 1].min(), ring[:, 0].max(), ring[:, 1].max()
    below = y0 - bounds[1] <= bounds[3] - y1 + 0.5
    left = x0 - bounds[0] <= bounds[2] - x1 + 0.5
    return Chain("x", bool(below), _rows(ring[:, 0])), Chain("y", bool(left), _rows(ring[:, 1]))


def _rows(values: np.ndarray) -> tuple[tuple[float, ...], ...]:
    cuts: list[float] = []
    for value in sorted(float(v) for v in values):
        if not cuts or value - cuts[-1] > _SHORTEST:
            cuts.append(value)
    whole = (cuts[0], cuts[-1])
    return (whole,) if len(cuts) == 2 else (tuple(cuts), whole)


def draw_chain(
    board: Board, sheet: Sheet, chain: Chain, bounds: Box, room: Room, units: str
) -> list[shapely.Geometry]:
    """Draw a chain; returns what other text has to keep off."""
    ring = sheet.mm(room.outline)
    low, high = sheet.mm(bounds[:2]), sheet.mm(bounds[2:])
    cross = 1 if chain.axis == "x" else 0
    sign = -1.0 if chain.low_side else 1.0
    start = float((low if chain.low_side else high)[cross])
    wall = float(ring[:, cross].min() if chain.low_side else ring[:, cross].max())
    taken: list[shapely.Geometry] = []
    for k, cuts in enumerate(chain.rows):
        at = start + sign * (_FIRST + _STEP * k)
        places = [float(sheet.mm((c, c))[1 - cross]) for c in cuts]
        taken.append(_row(board, chain.axis, at, places))
        for value in places:
            last = k == len(chain.rows) - 1
            _extension(board, chain.axis, value, wall + sign * 4.5, at + sign * 1.2, last or k > 0)
        for (a, b), (p, q) in zip(_pairs(cuts), _pairs(places), strict=True):
            taken += _figure(board, chain.axis, at, p, q, format_length(b - a, units))
    return taken


def _pairs(values: list[float] | tuple[float, ...]) -> list[tuple[float, float]]:
    return list(pairwise(values))


def _swap(axis: str, along: float, across: float) -> tuple[float, float]:
    return (along, across) if axis == "x" else (across, along)


def _row(board: Board, axis: str, at: float, places: list[float]) -> shapely.Geometry:
    line = [_swap(axis, places[0] - 1.2, at), _swap(axis, places[-1] + 1.2, at)]
    board.line(line, color=ink.SOFT_INK, weight=ink.DIMENSION, z=ink.Z_DIMENSION)
    for value in places:  # the slanting tick of architects' drawings
        ends = [_swap(axis, value - 0.8, at - 0.8), _swap(axis, value + 0.8, at + 0.8)]
        board.line(ends, color=ink.INK, weight=0.9, z=ink.Z_DIMENSION)
    return shapely.LineString(line).buffer(0.8)


def _extension(board: Board, axis: str, value: float, start: float, end: float, draw: bool) -> None:
    if draw:
        ends = [_swap(axis, value, start), _swap(axis, value, end)]
        board.line(ends, color=ink.FINE, weight=ink.HAIR, z=ink.Z_DIMENSION)


def _figure(board: Board, axis: str, at: float, p: float, q: float, text: str) -> list[shapely.Geometry]:
    """The length above its line, or left of it for a line that runs north; none where it has no room."""
    width = text_width(text, _TEXT)
    if width + 1.5 > abs(q - p):
        return []
    middle = (p + q) / 2
    angle = 0.0 if axis == "x" else 90.0
    place = _swap(axis, middle, at + (1.0 if axis == "x" else -1.0))
    board.text(place, text, _TEXT, color=ink.SOFT_INK, angle=angle, align="center")
    half, tall = width / 2 + 0.4, _TEXT * ink.POINT
    if axis == "x":
        return [shapely.box(middle - half, at, middle + half, at + 1.0 + tall)]
    return [shapely.box(at - 1.0 - tall, middle - half, at, middle + half)]
