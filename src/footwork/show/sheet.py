"""The sheet: paper, scale, and where on it the plan, the notes and the title block go.

A drawing is made to a customary scale on customary paper (A4 or A3; letter or tabloid for files in feet
or inches), so that it can be printed and measured with a scale rule.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike

from footwork.show.board import Points

MARGIN = 8.0
"""Millimetres from the paper's edge to the frame."""
TITLE_HEIGHT = 25.0
NOTES_WIDTH = 74.0
_METRIC = (10, 20, 25, 30, 40, 50, 75, 100, 125, 150, 200, 250, 300, 400, 500)
_INCH = {
    12: "1\" = 1'",
    16: "3/4\" = 1'",
    24: "1/2\" = 1'",
    32: "3/8\" = 1'",
    48: "1/4\" = 1'",
    64: "3/16\" = 1'",
    96: "1/8\" = 1'",
    128: "3/32\" = 1'",
    192: "1/16\" = 1'",
    384: "1/32\" = 1'",
}
_PAPERS_METRIC = (("A4", 297.0, 210.0), ("A4", 210.0, 297.0), ("A3", 420.0, 297.0), ("A3", 297.0, 420.0))
_PAPERS_INCH = (
    ("letter", 279.4, 215.9),
    ("letter", 215.9, 279.4),
    ("tabloid", 431.8, 279.4),
    ("tabloid", 279.4, 431.8),
)
Box = tuple[float, float, float, float]
"""Left, bottom, right, top."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of paper ready to draw on; every length in millimetres.

    ``origin`` is where the room's (0, 0) falls; ``plan``, ``notes`` and ``title`` are boxes.
    """

    paper: str
    width: float
    height: float
    denominator: float
    scale_words: str
    origin: tuple[float, float]
    frame: Box
    plan: Box
    notes: Box | None
    title: Box
    legend: Box

    @property
    def factor(self) -> float:
        """Millimetres on paper for a metre in the room."""
        return 1000.0 / self.denominator

    def mm(self, points: ArrayLike) -> Points:
        """Points of the room (metres, shape (n, 2) or (2,)) on paper."""
        placed: Points = np.asarray(points, float) * self.factor + np.asarray(self.origin)
        return placed

    def polygon(self, ring: ArrayLike) -> shapely.Polygon:
        """A ring of the room as a valid polygon on paper."""
        polygon = shapely.Polygon(self.mm(ring))
        return polygon if polygon.is_valid else polygon.buffer(0)


def fit(bounds: Box, around: Box, units: str, notes: bool, legend_height: float) -> Sheet:
    """The largest customary scale at which the plan fits the largest customary paper.

    ``bounds`` is what must show, in metres; ``around`` the millimetres to leave on each side of it for
    dimensions and names.  The smaller paper is used where it does.  A plan too large for any customary
    scale gets a round one.
    """
    inch = units in ("ft", "in")
    papers = _PAPERS_INCH if inch else _PAPERS_METRIC
    scales = [float(d) for d in (_INCH if inch else _METRIC)]
    scales += [scales[-1] * 2**k for k in range(1, 20)]
    across, deep = max(bounds[2] - bounds[0], 0.1), max(bounds[3] - bounds[1], 0.1)
    for denominator in scales:
        need_x = across * 1000 / denominator + around[0] + around[2]
        need_y = deep * 1000 / denominator + around[1] + around[3]
        for paper in papers:
            room_x, room_y = _room_for_plan(paper[1], paper[2], notes, legend_height)
            if need_x <= room_x and need_y <= room_y:
                return _lay_out(paper, denominator, bounds, around, inch, notes, legend_height)
    raise ValueError("the room is larger than any drawing can show")


def _room_for_plan(width: float, height: float, notes: bool, legend_height: float) -> tuple[float, float]:
    across = width - 2 * MARGIN - (NOTES_WIDTH if notes else 0.0)
    return across, height - 2 * MARGIN - TITLE_HEIGHT - legend_height


def _lay_out(
    paper: tuple[str, float, float],
    denominator: float,
    bounds: Box,
    around: Box,
    inch: bool,
    notes: bool,
    legend_height: float,
) -> Sheet:
    name, width, height = paper
    frame = (MARGIN, MARGIN, width - MARGIN, height - MARGIN)
    floor = MARGIN + TITLE_HEIGHT
    right = frame[2] - (NOTES_WIDTH if notes else 0.0)
    plan = (frame[0], floor + legend_height, right, frame[3])
    factor = 1000 / denominator
    spare_x = plan[2] - plan[0] - (bounds[2] - bounds[0]) * factor - around[0] - around[2]
    spare_y = plan[3] - plan[1] - (bounds[3] - bounds[1]) * factor - around[1] - around[3]
    origin = (
        plan[0] + spare_x / 2 + around[0] - bounds[0] * factor,
        plan[1] + spare_y / 2 + around[1] - bounds[1] * factor,
    )
    words = _INCH.get(int(denominator), f"1:{denominator:.0f}") if inch else f"1:{denominator:.0f}"
    return Sheet(
        paper=name,
        width=width,
        height=height,
        denominator=denominator,
        scale_words=words,
        origin=origin,
        frame=frame,
        plan=plan,
        notes=(right, floor + legend_height, frame[2], frame[3]) if notes else None,
        title=(frame[0], frame[1], frame[2], floor),
        legend=(frame[0], floor, frame[2], floor + legend_height),
    )
