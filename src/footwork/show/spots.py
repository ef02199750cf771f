"""Where else one thing could stand, drawn on the floor: the cheaper a spot, the darker and larger its square.

Squares of spots that cost less than where the thing stands now are filled, of those that cost more they are
hollow, so that neither a grey print nor any eyes need the colour.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely

from footwork.model.scenario import Scenario
from footwork.show import ink
from footwork.show.board import Board, Points, text_width
from footwork.show.frame import Sample
from footwork.show.notes import Note, Section
from footwork.show.places import place_words
from footwork.show.sheet import Box, Sheet
from footwork.show.text import plural
from footwork.show.walked import Walked, walked

if TYPE_CHECKING:
    from footwork.elsewhere.answer import Elsewhere
    from footwork.elsewhere.results import Spot, Square, Where

SAME = 0.5
"""Metres a year within which a spot costs as much as where the thing stands now."""


@dataclass(frozen=True, slots=True)
class Look:
    """How the spots of one class look: ``part`` of the pitch is the side of their squares."""

    fill: str | None
    part: float


SAVES = (Look("#0a4670", 0.92), Look("#2f7fb5", 0.74), Look("#8abbdc", 0.56))
AS_MUCH = Look(ink.PAPER, 0.56)
COSTS = (Look(None, 0.46), Look(None, 0.3))
"""A third of the most that is saved, or added, a class; of what costs more the nearer half, and the rest."""


@dataclass(frozen=True)
class Looks:
    """How the spots of one thing look beside each other, as far as they are known.

    ``least`` is the most that any of them saves (below 0), ``most`` the most that one adds, metres a year.
    """

    found: Where
    least: float
    most: float

    @classmethod
    def of(cls, found: Where) -> Looks:
        changes = [found.change(spot) for spot in found.spots]
        return cls(found, min(changes, default=0.0), max(changes, default=0.0))

    def __call__(self, spot: Spot) -> Look:
        change = self.found.change(spot)
        if abs(change) <= SAME or math.isnan(change):
            return AS_MUCH
        if change < 0.0:
            share = change / self.least
            return SAVES[0 if share > 2 / 3 else 1 if share > 1 / 3 else 2]
        return COSTS[0 if change <= self.most / 2 else 1]


def draw_squares(board: Board, sheet: Sheet, found: Where) -> None:
    """The square of every spot; what is still to be reckoned is a point."""
    looks = Looks.of(found)
    for square in found.squares:
        draw_square(board, sheet, looks, square)


def draw_square(board: Board, sheet: Sheet, looks: Looks, square: Square) -> None:
    """One square, where there is a spot in it or may be."""
    pitch = looks.found.pitch
    if square.best is not None:
        look = looks(square.best)
        ring = _ring(sheet, square, pitch * look.part)
        board.shape(ring, fill=look.fill, edge=ink.MOVE, weight=0.6, z=ink.Z_STANDING)
    elif square.refused is None:
        board.shape(_ring(sheet, square, pitch * 0.12), fill=ink.FINE, z=ink.Z_STANDING)


def _ring(sheet: Sheet, square: Square, side: float) -> shapely.Geometry:
    (x, y), half = square.middle, side / 2
    return shapely.box(*sheet.mm((x - half, y - half)), *sheet.mm((x + half, y + half)))


def draw_numbers(board: Board, sheet: Sheet, told: Elsewhere) -> None:
    """The number of each of the best spots in its square, where the squares are large enough for it."""
    found = told.found
    looks = Looks.of(found)
    squares = {square.best.placement: square for square in found.squares if square.best is not None}
    for number, spot in enumerate(told.best, start=1):
        words = str(number)
        if text_width(words, ink.SMALL_TEXT, bold=True) > 0.8 * found.pitch * sheet.factor:
            continue
        dark = looks(spot) in SAVES[:2]
        middle = sheet.mm(squares[spot.placement].middle)
        at = (middle[0], middle[1] - 0.365 * ink.SMALL_TEXT * ink.POINT)
        board.text(at, words, ink.SMALL_TEXT, bold=True, color=ink.PAPER if dark else ink.INK, align="center")


def samples(found: Where, told: Walked) -> list[Sample]:
    """The legend's entries, of the classes that there are."""
    looks = Looks.of(found)
    least, most = looks.least, looks.most
    words = {
        SAVES[0]: f"saves {told.whole(-2 * least / 3)} to {told.whole(-least)} {told.unit} a year",
        SAVES[1]: f"saves {told.whole(-least / 3)} to {told.whole(-2 * least / 3)}",
        SAVES[2]: f"saves up to {told.whole(-least / 3)}",
        AS_MUCH: "costs as much as now",
        COSTS[0]: f"costs up to {told.whole(most / 2)} {told.unit} a year more",
        COSTS[1]: f"costs up to {told.whole(most)} more",
    }
    there = set(map(looks, found.spots))
    return [Sample(said, _swatch(each)) for each, said in words.items() if each in there]


def _swatch(of: Look) -> Callable[[Board, Box], None]:
    def draw(board: Board, box: Box) -> None:
        x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
        half = of.part * (box[3] - box[1]) / 2
        ring = shapely.box(x - half, y - half, x + half, y + half)
        board.shape(ring, fill=of.fill, edge=ink.MOVE, weight=0.6, z=ink.Z_MARK)

    return draw


def sections(scenario: Scenario, told: Elsewhere) -> list[Section]:
    """The best spots by their numbers, and what keeps the thing from the rest of the floor."""
    found, figures = told.found, walked(scenario)
    notes = [
        Note(place_words(spot.placement, scenario.units), figures.signed(found.change(spot)), _digits(number))
        for number, spot in enumerate(told.best, start=1)
    ]
    if not notes:
        notes.append(Note(f"There is no spot for {found.thing} but by moving something else."))
    why = [Note(f"{reason.what}: {reason.words[0]}", f"{reason.squares:,}") for reason in told.reasons]
    squares = plural(len(found.refusals), "square")
    spots = f"Spots for {found.thing}, {figures.unit} a year more or less"
    rest = f"Not on {squares}: what is in the way, for example"
    return [
        Section(heading, tuple(under), ": footwork where") for heading, under in ((spots, notes), (rest, why))
    ]


def _digits(number: int) -> Callable[[Board, tuple[float, float] | Points], None]:
    def draw(board: Board, at: tuple[float, float] | Points) -> None:
        place = (at[0], at[1] - 0.8)
        board.text(place, str(number), ink.SMALL_TEXT, bold=True, align="center")

    return draw
