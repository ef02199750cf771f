"""Before and after in one picture: old places as dashed outlines, and a line from each to the new place."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from footwork.floor.shapes import footprint
from footwork.model.moved import MOVED, TURNED, has_moved
from footwork.model.scenario import Layout, Placement, Scenario
from footwork.model.units import format_length
from footwork.scoring import Score
from footwork.show import ink
from footwork.show.board import At, Board, Points
from footwork.show.notes import Note, Section
from footwork.show.places import facing_words
from footwork.show.sheet import Box, Sheet
from footwork.show.spread import spread
from footwork.show.walked import Walked

RADIUS = 1.9
"""Millimetres: the disc with a move's number."""
_SHORT = 2.5  # millimetres: a shorter line would only be its arrowhead
_HEAD = 2.8
_ASIDE = (1.3, -1.3, 2.2, -2.2, 4.4, -4.4, 6.6, -6.6, 9.0, -9.0)
"""Millimetres that a line may aim beside the centre."""
_BOWS = (4.0, 7.0, 10.0, 14.0, 18.0, 23.0, 28.0, -4.0, -7.0)
"""Millimetres that a line may bow out; a bow out of the building comes last."""
_CROSSING = 5.0  # millimetres for which a line lies on another where it only crosses it


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
        return abs((self.after.facing - self.before.facing + 180.0) % 360.0 - 180.0) > TURNED


def shifts(sheet: Sheet, scenario: Scenario, before: Layout, after: Layout) -> tuple[Shift, ...]:
    """What moves from one layout to the other, numbered in the order of the file."""
    found = []
    for thing in scenario.things:
        old, new = before.placements.get(thing.name), after.placements.get(thing.name)
        if old is None or new is None or not has_moved(old, new):
            continue
        found.append((thing, old, new))
    prints = [(sheet.polygon(footprint(t, a)), sheet.polygon(footprint(t, b))) for t, a, b in found]
    standing = [
        sheet.polygon(footprint(t, p)) for t in scenario.things if (p := after.placements.get(t.name))
    ]
    taken = shapely.union_all(standing)
    discs = np.array([_inside(old, taken) for old, _ in prints]).reshape(-1, 2)
    centres = spread(discs, [RADIUS] * len(prints), 0.5)
    lines: list[Points] = []
    middle = np.array([sheet.plan[0] + sheet.plan[2], sheet.plan[1] + sheet.plan[3]]) / 2
    for k, (_, new) in enumerate(prints):
        others = [c for i, c in enumerate(centres) if i != k]
        lines.append(_clear_line(centres[k], new, sheet.mm(found[k][2].at), middle, lines, others))
    return tuple(
        Shift(k + 1, thing.name, a, b, old, new, centres[k], lines[k])
        for k, ((thing, a, b), (old, new)) in enumerate(zip(found, prints, strict=True))
    )


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


def _clear_line(
    start: Points,
    new: shapely.Polygon,
    centre: Points,
    middle: Points,
    earlier: Sequence[Points],
    discs: Sequence[Points],
) -> Points:
    """The straightest line to the new place that neither runs along another nor through a number.

    Where every one does, the one that does so least.
    """
    others = [shapely.LineString(line) for line in earlier if len(line)]
    numbers = [shapely.Point(disc).buffer(RADIUS + 0.6) for disc in discs]
    straight = _line(start, new, centre)
    if not len(straight):
        return straight
    best, least = straight, math.inf
    for line in (straight, *_others(start, new, centre, middle)):
        drawn = shapely.LineString(line)
        near = drawn.buffer(0.9, cap_style="flat")
        fault = sum(max(0.0, near.intersection(o).length - _CROSSING) for o in others)
        fault += 10.0 * sum(drawn.intersects(number) for number in numbers)
        if fault < least - 1e-6:
            best, least = line, fault
        if fault < 1e-6:
            break
    return best


def _others(start: Points, new: shapely.Polygon, centre: Points, middle: Points) -> Iterator[Points]:
    """Lines that aim beside the centre, then ones that bow out, first towards the middle of the plan."""
    way = centre - start
    length = float(np.hypot(*way))
    across = np.array([-way[1], way[0]]) / max(length, 1e-9)
    for aside in _ASIDE:
        aim = centre + aside * across
        if new.covers(shapely.Point(aim).buffer(0.8)):
            line = _line(start, new, aim)
            if len(line):
                yield line
    inward = 1.0 if float((middle - start) @ across) >= 0 else -1.0
    t = np.linspace(0.0, 1.0, 25)[:, None]
    for bow in _BOWS:
        if abs(bow) < 0.4 * length:
            # a parabola whose top lies ``bow`` aside of the straight line
            curve = shapely.LineString(start + t * way + 4 * bow * t * (1 - t) * inward * across)
            drawn = curve.difference(shapely.Point(start).buffer(RADIUS)).difference(new.buffer(-0.8))
            parts = [p for p in shapely.get_parts(drawn) if p.length > _SHORT]
            if parts:
                yield np.asarray(parts[0].coords)


def _line(start: Points, new: shapely.Polygon, centre: Points) -> Points:
    """From the disc's rim straight towards a point of the new footprint, ending just inside it."""
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
    far = format_length(shift.metres, units) if shift.metres > MOVED else "turned in place"
    return Note(words, far, symbol=lambda board, at: disc(board, at, shift.number), gap=0.7)


def job_section(before: Score, after: Score, told: Walked) -> Section:
    """What each job walks a year, before and after."""
    notes = []
    for job in after.jobs:
        old, new = before.job(job.name).metres_per_year, job.metres_per_year
        notes.append(Note(job.name.replace("_", " "), f"{told.whole(old)} to {told.whole(new)}"))
    total = f"{told.whole(before.metres_per_year)} to {told.whole(after.metres_per_year)}"
    notes.append(Note("in all", total, bold=True, gap=1.0))
    if before.squeezed or after.squeezed:
        squeezed = f"{told.whole(before.squeezed_per_year)} to {told.whole(after.squeezed_per_year)}"
        notes.append(Note("of which squeezed through gaps too narrow", squeezed, color=ink.FAIL))
    return Section(f"Walked, {told.word} a year", tuple(notes), ": footwork compare")


def change_words(before: Score, after: Score, told: Walked) -> str:
    """The change in walking in one line."""
    old, new = before.metres_per_year, after.metres_per_year
    words = f"{told.total(old)} walked a year before, {told.total(new)} after"
    if old > 0:
        share = 100 * (new - old) / old
        way = "less" if share < 0 else "more"
        words += f": {abs(share):.1f} % {way}" if abs(share) >= 0.05 else ": the same"
    return words
