"""The sheet: paper, scale, and where on it the plan, the notes and the title block go.

A drawing is made to a customary scale on customary paper (A4 or A3; letter or tabloid for files in feet
or inches), or to the scale and on the paper asked for, so that it can be printed and measured with a
scale rule.
"""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike

from footwork.model.errors import UsageError
from footwork.model.names import hint
from footwork.model.units import parse_length
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
PAPERS = {
    "A4": (297.0, 210.0),
    "A3": (420.0, 297.0),
    "A2": (594.0, 420.0),
    "A1": (841.0, 594.0),
    "A0": (1189.0, 841.0),
    "letter": (279.4, 215.9),
    "legal": (355.6, 215.9),
    "tabloid": (431.8, 279.4),
    "C": (558.8, 431.8),
    "D": (863.6, 558.8),
    "E": (1117.6, 863.6),
}
"""Papers by name, long side first, in millimetres: ISO 216, and ANSI Y14.1 (its A and B are letter and
tabloid)."""
_CUSTOMARY = {False: ("A4", "A3"), True: ("letter", "tabloid")}
_ROLL = {False: ("A4", "A3", "A2", "A1", "A0"), True: ("letter", "tabloid", "C", "D", "E")}
"""Papers by whether the file is in feet or inches: what people print at home, and what a scale asked for may
need."""
SMALLEST, LARGEST = 1.0, 10_000.0
"""The denominators that a scale may be asked with."""
Box = tuple[float, float, float, float]
"""Left, bottom, right, top."""


@dataclass(frozen=True, slots=True)
class Scale:
    """A scale asked for: ``denominator`` metres in the room are one on paper; ``words`` as they are shown."""

    denominator: float
    words: str


@dataclass(frozen=True, slots=True)
class Wish:
    """What was asked of the sheet.  None: whatever is customary."""

    scale: Scale | None = None
    paper: str | None = None


def read_wish(scale: str | None, paper: str | None) -> Wish:
    """The wish in words, such as ``1:25`` or ``1/2" = 1'``, and ``A3``.

    Raises UsageError, in one line, when either cannot be read.
    """
    return Wish(None if scale is None else _read_scale(scale), None if paper is None else _read_paper(paper))


def _read_scale(text: str) -> Scale:
    try:
        ratio = re.fullmatch(r"\s*1\s*[:/]\s*(\d{1,6}(?:\.\d{1,3})?)\s*", text)
        if ratio:
            denominator = float(ratio[1])
        else:
            paper, room = text.split("=")
            denominator = parse_length(room.strip()) / parse_length(paper.strip())
    except (ValueError, ZeroDivisionError):
        raise UsageError(f"--scale {text}: not a scale; write it as 1:25, or as 1/2 in = 1 ft") from None
    if not SMALLEST <= denominator <= LARGEST:
        raise UsageError(f"--scale {text}: give one between 1:{SMALLEST:.0f} and 1:{LARGEST:.0f}")
    return Scale(denominator, f"1:{denominator:.10g}" if ratio else " ".join(text.split()))


def _read_paper(text: str) -> str:
    for name in PAPERS:
        if name.lower() == text.strip().lower():
            return name
    raise UsageError(f"--paper {text}: no such paper; {hint(text, list(PAPERS), 'papers')}")


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

    def metres(self, points: ArrayLike) -> Points:
        """Points on paper (millimetres, shape (n, 2) or (2,)) in the room."""
        placed: Points = (np.asarray(points, float) - np.asarray(self.origin)) / self.factor
        return placed

    def polygon(self, ring: ArrayLike) -> shapely.Polygon:
        """A ring of the room as a valid polygon on paper."""
        polygon = shapely.Polygon(self.mm(ring))
        return polygon if polygon.is_valid else polygon.buffer(0)


@dataclass(frozen=True, slots=True)
class _Need:
    """What has to go on the sheet: ``bounds`` in metres, ``around`` and ``legend_height`` in millimetres."""

    bounds: Box
    around: Box
    notes: bool
    legend_height: float

    def size(self, denominator: float) -> tuple[float, float]:
        """Millimetres across and up that the plan takes."""
        across = max(self.bounds[2] - self.bounds[0], 0.1)
        deep = max(self.bounds[3] - self.bounds[1], 0.1)
        factor = 1000 / denominator
        return (
            across * factor + self.around[0] + self.around[2],
            deep * factor + self.around[1] + self.around[3],
        )

    def room(self, paper: _Paper) -> tuple[float, float]:
        """Millimetres across and up that a paper leaves for the plan."""
        across = paper[1] - 2 * MARGIN - (NOTES_WIDTH if self.notes else 0.0)
        return across, paper[2] - 2 * MARGIN - TITLE_HEIGHT - self.legend_height

    def fits(self, paper: _Paper, denominator: float) -> bool:
        need, room = self.size(denominator), self.room(paper)
        return need[0] <= room[0] + 1e-9 and need[1] <= room[1] + 1e-9


_Paper = tuple[str, float, float]


def fit(
    bounds: Box, around: Box, units: str, notes: bool, legend_height: float, wish: Wish | None = None
) -> Sheet:
    """The largest customary scale at which the plan fits the largest customary paper.

    ``bounds`` is what must show, in metres; ``around`` the millimetres to leave on each side of it for
    dimensions and names.  The smaller paper is used where it does.  A plan too large for any customary
    scale gets a round one.  ``wish`` fixes scale, paper or both; UsageError when the plan then has no room.
    """
    inch = units in ("ft", "in")
    wish = wish or Wish()
    need = _Need(bounds, around, notes, legend_height)
    if wish.paper is not None:
        names: tuple[str, ...] = (wish.paper,)
    else:
        names = _CUSTOMARY[inch] if wish.scale is None else _ROLL[inch]
    scales = _scales(inch) if wish.scale is None else [wish.scale.denominator]
    for denominator in scales:
        for paper in _turned(names):
            if need.fits(paper, denominator):
                words = wish.scale.words if wish.scale else _words(denominator, inch)
                return _lay_out(paper, denominator, words, need)
    raise UsageError(_no_room(wish, need, inch))


def _scales(inch: bool) -> list[float]:
    scales = [float(d) for d in (_INCH if inch else _METRIC)]
    return scales + [scales[-1] * 2**k for k in range(1, 20)]


def _turned(names: tuple[str, ...]) -> list[_Paper]:
    """Papers, each lying first, then upright."""
    return [(n, *size) for n in names for size in (PAPERS[n], PAPERS[n][::-1])]


def _words(denominator: float, inch: bool) -> str:
    return _INCH.get(int(denominator), f"1:{denominator:.0f}") if inch else f"1:{denominator:.0f}"


def _no_room(wish: Wish, need: _Need, inch: bool) -> str:
    """What was asked for, what it would take, and what would do."""
    scale, paper = wish.scale, wish.paper
    asked, ways = [], []
    if scale is not None:
        asked.append(f"--scale {scale.words}")
        larger = (p[0] for p in _turned(_ROLL[inch]) if need.fits(p, scale.denominator))
        ways += [f"--paper {name}" for name in itertools.islice(larger, 1)]
    if paper is not None:
        asked.append(f"--paper {paper}")
        smaller = (s for s in _scales(inch) if any(need.fits(p, s) for p in _turned((paper,))))
        ways += [f"--scale {_words(s, inch)}" for s in itertools.islice(smaller, 1)]
    what = "the plan has no room"
    if scale is not None:
        across, up = need.size(scale.denominator)
        what = f"the plan takes {across:.0f} x {up:.0f} mm beside title and notes"
    mend = f"{' or '.join(ways)} would do" if ways else "choose a smaller scale"
    return f"{' '.join(asked)}: {what}; {mend}"


def _lay_out(paper: _Paper, denominator: float, words: str, need: _Need) -> Sheet:
    name, width, height = paper
    frame = (MARGIN, MARGIN, width - MARGIN, height - MARGIN)
    floor = MARGIN + TITLE_HEIGHT
    right = frame[2] - (NOTES_WIDTH if need.notes else 0.0)
    plan = (frame[0], floor + need.legend_height, right, frame[3])
    factor = 1000 / denominator
    across, up = need.size(denominator)
    origin = (
        plan[0] + (plan[2] - plan[0] - across) / 2 + need.around[0] - need.bounds[0] * factor,
        plan[1] + (plan[3] - plan[1] - up) / 2 + need.around[1] - need.bounds[1] * factor,
    )
    return Sheet(
        paper=name,
        width=width,
        height=height,
        denominator=denominator,
        scale_words=words,
        origin=origin,
        frame=frame,
        plan=plan,
        notes=(right, floor + need.legend_height, frame[2], frame[3]) if need.notes else None,
        title=(frame[0], frame[1], frame[2], floor),
        legend=(frame[0], floor, frame[2], floor + need.legend_height),
    )
