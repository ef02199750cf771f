"""The sheet's frame, title block, north arrow, scale bar and legend."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from footwork.show import ink
from footwork.show.board import Board, text_width
from footwork.show.furniture import (
    front_mark,
    hatch_strips,
    hung_outline,
    parked_outline,
    service_outline,
    stock_outline,
)
from footwork.show.sheet import Box, Sheet

LEGEND_ROW = 5.4
_SWATCH = (8.0, 3.2)
_SCALE_BOX, _NORTH_BOX = 70.0, 22.0
_FEET = 0.3048


@dataclass(frozen=True)
class Title:
    """What the title block says: the sheet's name, what it shows, and figures, one a line."""

    name: str
    what: str
    figures: tuple[str, ...]


@dataclass(frozen=True)
class Sample:
    """One entry of the legend; ``draw`` draws its sample in a box."""

    words: str
    draw: Callable[[Board, Box], None]


def draw_frame(board: Board, sheet: Sheet, title: Title, units: str) -> None:
    """The frame, the title block with the scale bar, and the north arrow."""
    board.shape(shapely.box(*sheet.frame), edge=ink.INK, weight=ink.FRAME_LINE, z=ink.Z_DIMENSION)
    left, bottom, right, top = sheet.title
    _rule(board, (left, top), (right, top), 0.6)
    north, bar = right - _NORTH_BOX, right - _NORTH_BOX - _SCALE_BOX
    for x in (north, bar):
        _rule(board, (x, bottom), (x, top), 0.4)
    if sheet.notes:
        _rule(board, sheet.notes[:2], (sheet.notes[0], sheet.notes[3]), 0.4)
    _title_text(board, title, (left, bottom, bar, top))
    scale_bar(board, sheet, units, (bar, bottom, north, top))
    north_arrow(board, ((north + right) / 2, (bottom + top) / 2))


def _rule(board: Board, start: Sequence[float], end: Sequence[float], weight: float) -> None:
    board.line([start[:2], end[:2]], color=ink.INK, weight=weight, z=ink.Z_DIMENSION)


def _title_text(board: Board, title: Title, box: Box) -> None:
    left, _, right, top = box
    room = right - left - 8.0
    board.text((left + 4, top - 8.4), *_shrunk(title.name, ink.TITLE_TEXT, room, bold=True), bold=True)
    board.text((left + 4, top - 13.4), *_shrunk(title.what, 9.0, room), color=ink.INK)
    for k, line in enumerate(title.figures):
        board.text((left + 4, top - 18.0 - 4.0 * k), *_shrunk(line, ink.BODY_TEXT, room), color=ink.SOFT_INK)


def _shrunk(text: str, size: float, room: float, bold: bool = False) -> tuple[str, float]:
    """Text and the size at which it fits ``room`` millimetres."""
    wide = text_width(text, size, bold)
    return (text, size) if wide <= room else (text, max(2.0, size * room / wide))


def north_arrow(board: Board, centre: tuple[float, float]) -> None:
    """A needle in a circle, half of it dark, and an N."""
    x, y = centre[0], centre[1] - 1.2
    radius, tip = 5.6, 7.4
    board.circle((x, y), radius, edge=ink.INK, weight=0.5, z=ink.Z_DIMENSION)
    dark = shapely.Polygon([(x, y + tip), (x - 2.1, y - 4.6), (x, y - 3.0)])
    pale = shapely.Polygon([(x, y + tip), (x + 2.1, y - 4.6), (x, y - 3.0)])
    board.shape(dark, fill=ink.INK, edge=ink.INK, weight=0.4, z=ink.Z_MARK)
    board.shape(pale, fill=ink.PAPER, edge=ink.INK, weight=0.4, z=ink.Z_MARK)
    board.text((x, y + tip + 0.9), "N", 8.0, bold=True, align="center")


def scale_bar(board: Board, sheet: Sheet, units: str, box: Box) -> None:
    """A bar of alternating black and white parts, in metres or feet, and on paper the scale in words."""
    left, bottom, right, _ = box
    inch = units in ("ft", "in")
    unit, name = (_FEET, "ft") if inch else (1.0, "m")
    totals = (0.5, 1, 2, 3, 4, 5, 10, 20, 30, 40, 50, 100, 200, 500, 1000, 2000, 5000, 10000)
    limit = right - left - 14.0
    fitting = [t for t in totals if t * unit * sheet.factor <= limit]
    total = fitting[-1] if fitting else 0.1
    parts = {0.5: 5, 1: 4, 2: 4, 3: 3, 4: 4, 5: 5}.get(
        total, 5 if total not in (30, 40) else int(total) // 10
    )
    length = total * unit * sheet.factor
    x0, y0, tall = (left + right) / 2 - length / 2, bottom + 9.6, 1.6
    board.shape(
        shapely.box(x0, y0, x0 + length, y0 + tall), fill=ink.PAPER, edge=ink.INK, weight=0.5, z=ink.Z_MARK
    )
    for k in range(0, parts, 2):
        a, b = x0 + length * k / parts, x0 + length * (k + 1) / parts
        board.shape(shapely.box(a, y0, b, y0 + tall), fill=ink.INK, z=ink.Z_MARK)
    for k in range(parts + 1):
        words = f"{total * k / parts:g}" + (f" {name}" if k == parts else "")
        at = x0 + length * k / parts
        shift = text_width(words, ink.SMALL_TEXT) - text_width(words.split()[0], ink.SMALL_TEXT)
        board.text((at + shift / 2, y0 + 2.8), words, ink.SMALL_TEXT, align="center")
    if not sheet.paper:  # a picture for the screen: it has no fixed size
        return
    words = f"{sheet.scale_words} on {sheet.paper}, printed at 100 %"
    board.text(((left + right) / 2, bottom + 4.0), words, ink.BODY_TEXT, color=ink.SOFT_INK, align="center")


def legend_rows(samples: Sequence[Sample], width: float) -> list[list[tuple[float, Sample]]]:
    """Samples set in rows no wider than ``width``, each with the place where it starts."""
    rows: list[list[tuple[float, Sample]]] = [[]]
    x = 4.0
    for sample in samples:
        wide = _SWATCH[0] + 1.6 + text_width(sample.words, ink.SMALL_TEXT) + 6.0
        if x + wide > width and rows[-1]:
            rows.append([])
            x = 4.0
        rows[-1].append((x, sample))
        x += wide
    return rows


def legend_height(samples: Sequence[Sample], width: float) -> float:
    """Millimetres the legend takes."""
    return len(legend_rows(samples, width)) * LEGEND_ROW + 2.0 if samples else 0.0


def draw_legend(board: Board, sheet: Sheet, samples: Sequence[Sample]) -> None:
    """What each kind of line and hatch means, for those that the plan shows."""
    left, _, right, top = sheet.legend
    if not samples:
        return
    _rule(board, (left, top), (right, top), 0.4)
    for r, row in enumerate(legend_rows(samples, right - left)):
        middle = top - 1.0 - LEGEND_ROW * (r + 0.5)
        for x, sample in row:
            box = (left + x, middle - _SWATCH[1] / 2, left + x + _SWATCH[0], middle + _SWATCH[1] / 2)
            sample.draw(board, box)
            at = (box[2] + 1.6, middle - 0.36 * ink.SMALL_TEXT * ink.POINT)
            board.text(at, sample.words, ink.SMALL_TEXT, color=ink.SOFT_INK)


def station_sample(board: Board, box: Box) -> None:
    """A station with its front mark."""
    left, bottom, right, top = box
    shape = shapely.box(left + 0.8, bottom + 0.6, right - 0.8, top + 0.5)
    board.shape(shape, fill=ink.STATION, edge=ink.EDGE, weight=ink.OUTLINE, z=ink.Z_STATION)
    front_mark(board, np.array([left + 0.8, bottom + 0.6]), np.array([right - 0.8, bottom + 0.6]))


def hung_sample(board: Board, box: Box) -> None:
    """A station that hangs, with its front mark."""
    left, bottom, right, top = box
    hung_outline(board, shapely.box(left + 0.8, bottom + 0.6, right - 0.8, top + 0.5))
    ends = np.array([left + 0.8, bottom + 0.6]), np.array([right - 0.8, bottom + 0.6])
    front_mark(board, *ends, heavy=False)


def parked_sample(board: Board, box: Box) -> None:
    """The place where a station is parked."""
    left, bottom, right, top = box
    parked_outline(board, shapely.box(left + 0.8, bottom + 0.6, right - 0.8, top + 0.5))


def strip_sample(board: Board, box: Box) -> None:
    """A standing strip."""
    hatch_strips(board, shapely.box(*box))
    board.shape(shapely.box(*box), edge=ink.STRIP_EDGE, weight=ink.HAIR, z=ink.Z_STRIP)


def service_sample(board: Board, box: Box) -> None:
    """A service strip."""
    service_outline(board, shapely.box(*box))


def stock_sample(board: Board, box: Box) -> None:
    """A stock strip."""
    stock_outline(board, shapely.box(*box))


def clear_sample(board: Board, box: Box) -> None:
    """A keep-clear zone."""
    board.shape(shapely.box(*box), edge=ink.SOFT_INK, weight=0.8, dash=ink.DOTTED, z=ink.Z_CLEAR)


def fixture_sample(board: Board, box: Box) -> None:
    """A fixture."""
    shape = shapely.box(*box)
    board.shape(shape, fill=ink.FIXTURE, edge=ink.INK, weight=ink.OUTLINE, z=ink.Z_STATION)
    board.hatch(shape, 0.9, -45.0, color=ink.SOFT_INK, weight=ink.HAIR, z=ink.Z_STATION + 0.1)


def vehicle_sample(board: Board, box: Box) -> None:
    """A vehicle."""
    board.shape(
        shapely.box(*box), fill=ink.VEHICLE, edge=ink.EDGE, weight=0.9, dash=ink.DASHED, z=ink.Z_VEHICLE
    )


def out_sample(board: Board, box: Box) -> None:
    """A vehicle that is out."""
    board.shape(shapely.box(*box), edge=ink.FINE, weight=0.5, dash=ink.DOTTED, z=ink.Z_VEHICLE)
