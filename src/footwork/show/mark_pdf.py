"""The marking-out list on paper: a plan with numbers, then the lengths, a page after the other."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import matplotlib
import numpy as np
import shapely
from matplotlib.backends.backend_pdf import PdfPages

from footwork.floor.plan import wall_words
from footwork.model.scenario import Room, Station
from footwork.show import building, frame, ink
from footwork.show.board import RC, Board, Points, text_width
from footwork.show.dimensions import chains, draw_chain
from footwork.show.furniture import draw_stations, draw_vehicles, front_edge
from footwork.show.labels import Ground, Wanted, place
from footwork.show.mark_out import Mark, MarkList, corner_letter
from footwork.show.mark_tables import explanation, group_words, heads, rows
from footwork.show.naming import draw_label, shown_name
from footwork.show.notes import wrap
from footwork.show.plan import extent
from footwork.show.sheet import MARGIN, PAPERS, Sheet, fit

_AROUND = 13.0  # millimetres round the plan for the names of the walls and those led out
_LETTERS_FROM = 10.0  # millimetres: a footprint whose sides are shorter has no room for letters
_LETTER = 5.5
_ROW, _TEXT = 4.6, 8.5
_TICK = 3.0
_COLUMNS = (6.0, 70.0, 98.0, 130.0, 168.0, 192.0)
"""Millimetres from the frame: where the columns of words begin and those of figures end."""


def as_pdf(found: MarkList) -> bytes:
    """The pages as a PDF; the same list gives the same bytes."""
    title = f"{found.scenario.name}: marking out {found.layout.name}"
    metadata: dict[str, Any] = {
        "Title": title,
        "Creator": "footwork",
        "Producer": "footwork",
        "CreationDate": None,
        "ModDate": None,
    }
    file = io.BytesIO()
    with matplotlib.rc_context(RC), PdfPages(file, metadata=metadata) as pages:
        for board in (_plan(found), *_tables(found)):
            pages.savefig(board.figure)
    return file.getvalue()


# The plan


def _plan(found: MarkList) -> Board:
    """The layout with a number and a name for each footprint, and where its corner a is."""
    scenario, layout = found.scenario, found.layout
    bounds = extent(scenario, layout)
    x_chain, y_chain = chains(scenario.room, bounds)
    around = [_AROUND] * 4
    around[1 if x_chain.low_side else 3] += x_chain.depth
    around[0 if y_chain.low_side else 2] += y_chain.depth
    left, low, right, top = around
    sheet = fit(bounds, (left, low, right, top), scenario.units, False, 0.0)
    board = Board(sheet.width, sheet.height)
    building.draw_building(board, sheet, scenario.room)
    draw_stations(board, sheet, scenario, layout)
    draw_vehicles(board, sheet, scenario, layout)
    ground = Ground(shapely.box(*_inner(sheet)))
    shapes = {mark.name: sheet.polygon(mark.corners) for mark in found.marks}
    ground.solids += [*shapes.values(), *(sheet.polygon(f.outline) for f in scenario.room.fixtures)]
    ground.under.append(building.walls(sheet, scenario.room).buffer(0.3))
    for chain in (x_chain, y_chain):
        ground.solids += draw_chain(board, sheet, chain, bounds, scenario.room, scenario.units)
    ground.solids += _wall_names(board, sheet, scenario.room)
    for mark in found.marks:
        ground.solids += _corners(board, sheet, mark)
    for station in scenario.stations:
        front = sheet.mm(front_edge(station, _at(found, station)))
        ground.solids.append(shapely.LineString(front).buffer(0.8))
    names = [Wanted(f"{mark.number} {shown_name(mark.name)}", shapes[mark.name]) for mark in found.marks]
    labels, left_out = place(names, ground)
    for label in labels:
        draw_label(board, label)
    words = (
        "Numbers and letters are those of the list. Each dot is a corner a; b, c, d follow counter-clockwise."
    )
    missing = [f"No room for {', '.join(want.text for want in left_out)}."] if left_out else []
    title = frame.Title(scenario.name, f"Layout {layout.name}: marking out", (words, *missing))
    frame.draw_frame(board, sheet, title, scenario.units)
    return board


def _at(found: MarkList, station: Station) -> Any:
    return station.fixed or found.layout.placements[station.name]


def _inner(sheet: Sheet) -> tuple[float, float, float, float]:
    left, low, right, top = sheet.plan
    return left + 1.5, low + 1.5, right - 1.5, top - 1.5


def _wall_names(board: Board, sheet: Sheet, room: Room) -> list[shapely.Geometry]:
    """The names of the walls, outside each, along it; returns what other text has to keep off."""
    taken: list[shapely.Geometry] = []
    for wall in room.walls:
        words = wall_words(wall.name)
        start, end, inward = (np.asarray(p, float) for p in (wall.start, wall.end, wall.inward))
        way = end - start
        angle = float(np.degrees(np.arctan2(way[1], way[0])))
        angle = (angle + 90.0 - 1e-6) % 180.0 - 90.0 + 1e-6  # read from below or from the right
        up = np.array([-np.sin(np.radians(angle)), np.cos(np.radians(angle))])
        above = float(up @ inward) < 0
        middle: Points = sheet.mm((start + end) / 2 - building.WALL * inward)
        tall = ink.SMALL_TEXT * ink.POINT
        base = middle + up * (1.4 if above else -1.4 - 0.75 * tall)
        board.text(base, words, ink.SMALL_TEXT, angle=angle, align="center", color=ink.SOFT_INK, italic=True)
        half = text_width(words, ink.SMALL_TEXT, italic=True) / 2 + 0.5
        along = np.array([up[1], -up[0]])
        taken.append(shapely.LineString([base - half * along, base + half * along]).buffer(tall))
    return taken


def _corners(board: Board, sheet: Sheet, mark: Mark) -> list[shapely.Geometry]:
    """The dot at corner a, and a letter inside each corner where there is room for them."""
    ring = sheet.mm(mark.corners)
    board.circle(ring[0], 0.75, fill=ink.INK, z=ink.Z_MARK)
    sides = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    if sides.min() < _LETTERS_FROM:
        return []
    taken: list[shapely.Geometry] = []
    for k, corner in enumerate(ring):
        one, other = (ring[k - 1] - corner) / sides[k - 1], (ring[(k + 1) % len(ring)] - corner) / sides[k]
        inside = corner + 2.0 * (one + other)
        tall = _LETTER * ink.POINT
        at = (float(inside[0]), float(inside[1]) - 0.36 * tall)
        board.text(at, corner_letter(k), _LETTER, align="center", color=ink.SOFT_INK)
        taken.append(shapely.Point(inside).buffer(1.1))
    return taken


# The lengths


@dataclass(frozen=True)
class _Line:
    """One line of a page: cells in the columns, or one text over the whole width."""

    cells: tuple[str, ...] = ()
    text: str = ""
    bold: bool = False
    tick: bool = False
    gap: float = 0.0


def _tables(found: MarkList) -> list[Board]:
    paper = "letter" if found.scenario.units in ("ft", "in") else "A4"
    tall, wide = PAPERS[paper]
    top, floor = tall - MARGIN - 8.0, MARGIN + 8.0
    blocks = _blocks(found, wide - 2 * MARGIN - 6.0)
    pages: list[list[list[_Line]]] = [[]]
    y = top
    for k, block in enumerate(blocks):
        # a heading is never the last thing on a page
        need = _depth(block) + (_depth(blocks[k + 1]) if block[-1].bold and k + 1 < len(blocks) else 0.0)
        if y - need < floor and pages[-1]:
            pages.append([])
            y = top
        pages[-1].append(block)
        y -= _depth(block)
    boards = []
    for number, page in enumerate(pages, start=2):
        board = Board(wide, tall)
        title = f"{found.scenario.name}, layout {found.layout.name}: marking out"
        foot = f"{title}, page {number} of {len(pages) + 1}"
        board.text((MARGIN, MARGIN), foot, ink.SMALL_TEXT, color=ink.SOFT_INK)
        y = top
        for block in page:
            for line in block:
                y -= line.gap
                _draw_line(board, line, y, tall=_ROW)
                y -= _ROW
        boards.append(board)
    return boards


def _depth(block: Sequence[_Line]) -> float:
    return sum(_ROW + line.gap for line in block)


def _blocks(found: MarkList, width: float) -> list[list[_Line]]:
    """What stays together on a page: the explanation, a heading, the rows of one footprint."""
    opening = [_Line(text=f"{found.scenario.name}, layout {found.layout.name}: marking out", bold=True)]
    for said in explanation(found):
        opening += [_Line(text=line, gap=0.0) for line in wrap(said, width, _TEXT)]
    blocks = [[*opening, _Line()]]
    names = tuple(column.head for column in heads())
    for group, marks in found.groups:
        blocks.append([_Line(text=group_words(group), bold=True, gap=3.0), _Line(names, bold=True)])
        for mark in marks:
            lines = [_Line(cells) for cells in rows(mark, found.scenario.units)]
            blocks += _cut([_Line(lines[0].cells, tick=True, gap=1.6), *lines[1:]])
    return blocks


def _cut(lines: list[_Line]) -> list[list[_Line]]:
    """A footprint of many corners may go over pages."""
    return [lines[k : k + 40] for k in range(0, len(lines), 40)]


def _draw_line(board: Board, line: _Line, y: float, tall: float) -> None:
    base = y - 0.75 * tall
    if line.text:
        board.text((MARGIN, base), line.text, _TEXT + (2.0 if line.bold else 0.0), bold=line.bold)
    if line.tick:
        box = shapely.box(MARGIN, base - 0.3, MARGIN + _TICK, base - 0.3 + _TICK)
        board.shape(box, edge=ink.INK, weight=0.5, z=ink.Z_DIMENSION)
        board.line(
            [(MARGIN, y + 0.8), (MARGIN + _COLUMNS[-1], y + 0.8)],
            color=ink.FINE,
            weight=ink.HAIR,
            z=ink.Z_STRIP,
        )
    for k, cell in enumerate(line.cells):
        figures = k >= 4
        left = MARGIN + _COLUMNS[k] if not figures else 0.0
        room = _COLUMNS[k + 1] - _COLUMNS[k] - 2.0 if not figures else 30.0
        words = cell.strip() if k == 0 and not line.tick else cell
        indent = text_width("00 ", _TEXT) if words != cell else 0.0
        size = min(_TEXT, _TEXT * (room - indent) / max(text_width(words, _TEXT, line.bold), 1e-6))
        at = (MARGIN + _COLUMNS[k] if figures else left + indent, base)
        board.text(at, words, size, bold=line.bold, align="right" if figures else "left")
