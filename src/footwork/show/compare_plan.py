"""Before and after in one picture: old places as dashed outlines, and a line from each to the new place."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from footwork.floor.shapes import footprint
from footwork.model.scenario import TOLERANCE, Layout, Placement, Scenario
from footwork.model.units import format_length
from footwork.scoring import Score
from footwork.show import ink
from footwork.show.board import At, Board, Points
from footwork.show.notes import Note, Section
from footwork.show.places import facing_words
from footwork.show.sheet import Box, Sheet
from footwork.show.spread import spread

RADIUS = 1.9
"""Millimetres: the disc with a move's number."""
_SHORT = 2.5  # millimetres: a shorter line would only be its arrowhead
_HEAD = 2.8
_TURN = 0.05  # degrees that still count as facing the same way


@dataclass(frozen=True)
class Shift:
    """One thing that stands elsewhere, or otherwise, afterwards.

    ``old`` and ``new`` are its footprints on paper; ``at`` is where its number is drawn; ``line`` runs from
    there to the new footprint, empty where it would be too short to see.
    """

    number: int
    name: str
    before: Placement
    after: Placement
    old: shapely.Polygon
    new: shapely.Polygon
    at: Points
    line: Points

    @property
    def metres(self) -> float:
        """How far its centre moves."""
        return math.dist(self.before.at, self.after.at)

    @property
    def turned(self) -> bool:
        """Whether it faces another way."""
        return abs((self.after.facing - self.before.facing + 180.0) % 360.0 - 180.0) > _TURN


def shifts(sheet: Sheet, scenario: Scenario, before: Layout, after: Layout) -> tuple[Shift, ...]:
    """What moves from one layout to the other, numbered in the order of the file."""
    found = []
    for thing in scenario.things:
        old, new = before.placements.get(thing.name), after.placements.get(thing.name)
        if old is None or new is None or same(old, new):
            continue
        found.append((thing, old, new))
    prints = [(sheet.polygon(footprint(t, a)), sheet.polygon(footprint(t, b))) for t, a, b in found]
    standing = [
        sheet.polygon(footprint(t, p)) for t in scenario.things if (p := after.placements.get(t.name))
    ]
    taken = shapely.union_all(standing)
    discs = np.array([_inside(old, taken) for old, _ in prints]).reshape(-1, 2)
    centres = spread(discs, [RADIUS] * len(prints), 0.5)
    return tuple(
        Shift(k + 1, thing.name, a, b, old, new, centres[k], _line(centres[k], new, sheet.mm(b.at)))
        for k, ((thing, a, b), (old, new)) in enumerate(zip(found, prints, strict=True))
    )


def same(one: Placement, other: Placement) -> bool:
    """Whether two placements are the same, to the program's tolerance."""
    turn = abs((one.facing - other.facing + 180.0) % 360.0 - 180.0)
    return math.dist(one.at, other.at) <= TOLERANCE and turn <= _TURN


def _inside(shape: shapely.Polygon, taken: shapely.Geometry) -> Points:
    """A place for a number in an old footprint: near its middle, on floor that is free now if any is."""
    middle = shape.centroid if shape.covers(shape.centroid) else shape.representative_point()
    for room in (
        shape.difference(taken).buffer(-RADIUS - 0.4),
        shape.difference(taken).buffer(-0.8 * RADIUS),
    ):
        if not room.is_empty:
            middle = shapely.Point(shapely.get_coordinates(shapely.shortest_line(middle, room))[-1])
            break
    return np.array([middle.x, middle.y])


def _line(start: Points, new: shapely.Polygon, centre: Points) -> Points:
    """From the disc's rim straight towards the new centre, ending where it has just entered the footprint."""
    whole = shapely.LineString([start, centre])
    inner = new.buffer(-0.8)
    target = inner if not inner.is_empty else new
    inside = whole.intersection(target)
    if inside.is_empty:
        inside = shapely.Point(centre)
    end = shapely.get_coordinates(shapely.shortest_line(shapely.Point(start), inside))[-1]
    way = end - start
    far = float(np.hypot(*way))
    if far < RADIUS + _SHORT:
        return np.empty((0, 2))
    return np.array([start + way * RADIUS / far, end])


def draw_shifts(board: Board, found: Sequence[Shift]) -> None:
    """Old outlines dashed, new ones heavy, numbered discs, and the lines with their arrows."""
    for shift in found:
        board.shape(shift.new, edge=ink.MOVE, weight=1.5, z=ink.Z_FRONT - 0.2)
        board.shape(shift.old, edge=ink.PAPER, weight=1.8, z=ink.Z_BEFORE - 0.1)
        board.shape(shift.old, edge=ink.MOVE, weight=0.8, dash=ink.FINE_DASH, z=ink.Z_BEFORE)
    for shift in found:
        if len(shift.line):
            board.line(shift.line, color=ink.PAPER, weight=2.2, z=ink.Z_ROUTE - 0.1)
            board.line(shift.line, color=ink.MOVE, weight=1.0, z=ink.Z_ROUTE)
            board.shape(head(shift.line), fill=ink.MOVE, edge=ink.PAPER, weight=0.4, z=ink.Z_ARROW)
    for shift in found:
        disc(board, shift.at, shift.number)


def head(line: Points) -> shapely.Polygon:
    """The arrowhead at the end of a line."""
    along = (line[-1] - line[-2]) / float(np.hypot(*(line[-1] - line[-2])))
    side = np.array([along[1], -along[0]])
    root = line[-1] - _HEAD * along
    return shapely.Polygon([line[-1], root + 0.36 * _HEAD * side, root - 0.36 * _HEAD * side])


def disc(board: Board, at: At, number: int) -> None:
    """The disc with a move's number."""
    board.circle(at, RADIUS + 0.3, fill=ink.PAPER, z=ink.Z_STOP - 0.1)
    board.circle(at, RADIUS, fill=ink.MOVE, z=ink.Z_STOP)
    size = 7.0 if number < 10 else 6.0
    base = (float(at[0]), float(at[1]) - 0.365 * size * ink.POINT)
    board.text(base, str(number), size, color=ink.PAPER, bold=True, align="center", z=ink.Z_STOP + 0.1)


def solids(found: Sequence[Shift]) -> list[shapely.Geometry]:
    """What no name may lie on: the discs and the lines."""
    shapes: list[shapely.Geometry] = [shapely.Point(s.at).buffer(RADIUS + 0.3) for s in found]
    return shapes + [shapely.LineString(s.line).buffer(0.5) for s in found if len(s.line)]


def lines(found: Sequence[Shift]) -> list[shapely.Geometry]:
    """The lines from old places to new ones."""
    return [shapely.LineString(s.line) for s in found if len(s.line)]


def old_sample(board: Board, box: Box) -> None:
    """Where a thing stood."""
    board.shape(shapely.box(*box), edge=ink.MOVE, weight=0.8, dash=ink.FINE_DASH, z=ink.Z_BEFORE)
    disc(board, ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2), 1)


def new_sample(board: Board, box: Box) -> None:
    """Where a thing goes."""
    shape = shapely.box(*box)
    board.shape(shape, fill=ink.STATION, edge=ink.MOVE, weight=1.5, z=ink.Z_STATION)


def move_section(found: Sequence[Shift], units: str) -> Section:
    """The moves: what, how far, and how it faces now."""
    notes = [_move_note(shift, units) for shift in found]
    if not notes:
        notes = [Note("Nothing: the two are the same")]
    return Section("What moves", tuple(notes), ": footwork compare")


def _move_note(shift: Shift, units: str) -> Note:
    words = shift.name.replace("_", " ").strip()
    if shift.turned:
        words += f", now {facing_words(shift.after.facing)}"
    far = format_length(shift.metres, units) if shift.metres > TOLERANCE else "turned in place"
    return Note(words, far, symbol=lambda board, at: disc(board, at, shift.number), gap=0.7)


def job_section(before: Score, after: Score) -> Section:
    """Metres a year of each job, before and after."""
    notes = []
    for job in after.jobs:
        old, new = before.job(job.name).metres_per_year, job.metres_per_year
        notes.append(Note(job.name.replace("_", " "), f"{_metres(old)} to {_metres(new)}"))
    total = f"{_metres(before.metres_per_year)} to {_metres(after.metres_per_year)}"
    notes.append(Note("in all", total, bold=True, gap=1.0))
    return Section("Walked, metres a year", tuple(notes), ": footwork compare")


def _metres(value: float) -> str:
    return f"{value:,.0f}" if math.isfinite(value) else "no way"


def change_words(before: Score, after: Score) -> str:
    """The change in walking in one line."""
    old, new = before.metres_per_year, after.metres_per_year
    if not (math.isfinite(old) and math.isfinite(new)):
        return "There is a job that cannot be walked."
    words = f"{old:,.0f} m walked a year before, {new:,.0f} m after"
    if old > 0:
        share = 100 * (new - old) / old
        way = "less" if share < 0 else "more"
        words += f": {abs(share):.1f} % {way}" if abs(share) >= 0.05 else ": the same"
    return words
