"""Hours standing on a plan: a circle for each side stood at, and a mat where one pays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from footwork.floor.headroom import reach_over
from footwork.floor.shapes import side_length, side_rectangle
from footwork.model.scenario import SIDES, Layout, Scenario, Side
from footwork.scoring import Standing
from footwork.show import ink
from footwork.show.board import Board, Points, text_width
from footwork.show.labels import Wanted
from footwork.show.mats import by_side, mat_reason
from footwork.show.notes import Note, Section
from footwork.show.sheet import Box, Sheet
from footwork.show.spread import spread

LARGEST, REACH = 7.0, 0.3
"""The radius of the circle with the most hours: millimetres on paper, and no more than these metres in the
room, so that it does not lie on the station.  Areas go with the hours."""
_SMALLEST = 0.9
_MAT_DEPTH, _MAT_WIDTH = 0.6, 0.9  # metres: a common mat, as deep as the room to stand


@dataclass(frozen=True)
class Circle:
    """The standing at one side of a station: its hours, where its circle is drawn and how large, in mm.

    ``mat`` is the mat on paper where one pays, else None.
    """

    standing: Standing
    at: Points
    radius: float
    mat: shapely.Geometry | None

    @property
    def hours(self) -> str:
        """Hours a year in words."""
        value = self.standing.hours_per_year
        return f"{value:,.0f} h" if value >= 1 else "under 1 h"

    @property
    def shape(self) -> shapely.Polygon:
        """The circle as a polygon."""
        return shapely.Point(self.at).buffer(self.radius)

    @property
    def roomy(self) -> bool:
        """Whether the hours can be written in the circle."""
        return text_width(self.hours, ink.SMALL_TEXT) < 1.75 * self.radius


def circles(
    sheet: Sheet, scenario: Scenario, layout: Layout, places: Sequence[Standing]
) -> tuple[Circle, ...]:
    """One circle a side, most hours first, where its hours have their mean, moved off the other circles."""
    sides = [s for s in by_side(places) if s.hours_per_year > 0]
    if not sides:
        return ()
    middles = [_middle(side, places) for side in sides]
    most = sides[0].hours_per_year
    largest = min(LARGEST, REACH * sheet.factor)
    radii = [max(_SMALLEST, largest * (s.hours_per_year / most) ** 0.5) for s in sides]
    centres = spread(sheet.mm(middles), radii, 0.5)
    return tuple(
        Circle(side, centres[k], radii[k], _mat(sheet, scenario, layout, side, middles[k]))
        for k, side in enumerate(sides)
    )


def _middle(side: Standing, places: Sequence[Standing]) -> Points:
    """The mean of the places along a side by their hours, in metres."""
    own = [p for p in places if (p.station, p.side) == (side.station, side.side)]
    hours = np.array([p.hours_per_year for p in own])
    middle: Points = hours @ np.array([p.at for p in own]) / hours.sum()
    return middle


def _mat(
    sheet: Sheet, scenario: Scenario, layout: Layout, standing: Standing, middle: Points
) -> shapely.Geometry | None:
    """The mat before a side, the side's length where that is stood along, on paper."""
    if not mat_reason(standing) or standing.side not in SIDES:
        return None
    side: Side = standing.side
    thing, placement = scenario.thing(standing.station), layout.placements[standing.station]
    length = side_length(thing, side)
    width = length if thing.along else min(length, _MAT_WIDTH)
    ring = side_rectangle(thing, placement, side, _MAT_DEPTH, width, reach_over(thing))
    round_off = min(0.05, length / 8) * sheet.factor
    return sheet.polygon(ring).buffer(-round_off - 0.3).buffer(round_off)


def draw_circles(board: Board, found: Sequence[Circle]) -> None:
    """Mats first, then the circles with their hours."""
    for circle in found:
        if circle.mat is not None:
            draw_mat(board, circle.mat)
    for circle in found:
        board.circle(circle.at, circle.radius, fill=ink.PAPER, alpha=0.75, z=ink.Z_STANDING + 0.1)
        board.circle(circle.at, circle.radius, fill=ink.STANDING, alpha=0.22, z=ink.Z_STANDING + 0.1)
        board.circle(circle.at, circle.radius, edge=ink.STANDING, weight=0.9, z=ink.Z_STANDING + 0.2)
        if circle.roomy:
            base = (circle.at[0], circle.at[1] - 0.365 * ink.SMALL_TEXT * ink.POINT)
            board.text(base, circle.hours, ink.SMALL_TEXT, align="center")


def draw_mat(board: Board, mat: shapely.Geometry) -> None:
    """A mat: its edge, and a fine check like ribbed rubber."""
    board.shape(mat, fill=ink.PAPER, edge=ink.STANDING, weight=0.8, z=ink.Z_STANDING)
    for angle in (0.0, 90.0):
        board.hatch(mat, 1.1, angle, color=ink.STANDING, weight=0.25, z=ink.Z_STANDING + 0.05)


def hour_names(found: Sequence[Circle]) -> list[Wanted]:
    """The hours that have no room in their circle, to stand beside it."""
    return [
        Wanted(circle.hours, circle.shape, inside=False, led_sizes=(ink.SMALL_TEXT, 5.6))
        for circle in found
        if not circle.roomy
    ]


def standing_section(places: Sequence[Standing]) -> Section:
    """Hours a year by side, and where a mat pays."""
    notes = []
    for place in by_side(places):
        words = f"{place.station}, {place.side}" if place.side else place.station
        reason = mat_reason(place)
        notes.append(Note(f"{words}: {reason}" if reason else words, f"{place.hours_per_year:,.0f} h"))
    if not notes:
        notes = [Note("No job says how long it is stood at: minutes = { bench = 20 }")]
    elif not any(mat_reason(place) for place in by_side(places)):
        words = "No mat pays: nowhere is stood at for over 1 h at a stretch or 4 h a working day."
        notes.append(Note(words, color=ink.SOFT_INK, gap=1.5))
    return Section("Standing, hours a year", tuple(notes), ": footwork score")


def standing_sample(board: Board, box: Box) -> None:
    """A standing circle."""
    at = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    board.circle(at, 1.6, fill=ink.STANDING, alpha=0.25, z=ink.Z_STANDING)
    board.circle(at, 1.6, edge=ink.STANDING, weight=0.9, z=ink.Z_STANDING)


def mat_sample(board: Board, box: Box) -> None:
    """A mat."""
    draw_mat(board, shapely.box(*box).buffer(-0.5).buffer(0.5))
