"""The building on a plan: walls, doors, windows, yards, fixtures, keep-clear zones."""

from __future__ import annotations

import numpy as np
import shapely

from footwork.floor.shapes import swing
from footwork.model.scenario import Door, Room, Window
from footwork.show import ink
from footwork.show.board import Board, Points
from footwork.show.sheet import Sheet

WALL = 0.10
"""Metres: the thickness walls are drawn with, outside the line that the file gives.  The file has none."""
_STEEL = 1.0  # millimetres that a door leaf is drawn thick at most


def outside(room: Room) -> shapely.Geometry:
    """The room with its walls, in metres."""
    return _floor(room).buffer(WALL, join_style="mitre", mitre_limit=3.0)


def _floor(room: Room) -> shapely.Geometry:
    floor = shapely.Polygon(room.outline)
    return floor if floor.is_valid else floor.buffer(0)


def draw_building(board: Board, sheet: Sheet, room: Room) -> None:
    """Everything of the building, from the ground up."""
    for yard in room.yards:
        shape = sheet.polygon(yard.outline)
        board.shape(shape, fill=ink.YARD, edge=ink.YARD_EDGE, weight=0.5, z=ink.Z_YARD)
    board.shape(_paper(sheet, _floor(room)), fill=ink.PAPER, z=ink.Z_FLOOR)
    board.shape(walls(sheet, room), fill=ink.WALL, edge=ink.WALL, weight=ink.WALL_LINE, z=ink.Z_WALL)
    for door in room.doors:
        _door(board, sheet, door)
    for window in room.windows:
        _window(board, sheet, window)
    for zone in room.keep_clear:
        shape = sheet.polygon(zone.outline)
        board.shape(shape, edge=ink.SOFT_INK, weight=0.8, dash=ink.DOTTED, z=ink.Z_CLEAR)
    for fixture in room.fixtures:
        shape = sheet.polygon(fixture.outline)
        board.shape(shape, fill=ink.FIXTURE, edge=ink.INK, weight=ink.OUTLINE, z=ink.Z_STATION)
        board.hatch(shape, 0.9, -45.0, color=ink.SOFT_INK, weight=ink.HAIR, z=ink.Z_STATION + 0.1)


def walls(sheet: Sheet, room: Room) -> shapely.Geometry:
    """The walls in millimetres on paper, less the openings of doors and windows."""
    return _paper(sheet, walls_in_metres(room))


def walls_in_metres(room: Room) -> shapely.Geometry:
    """The walls in metres, less the openings of doors and windows."""
    solid = outside(room).difference(_floor(room))
    cuts = [opening(item) for item in openings(room)]
    if cuts:
        solid = solid.difference(shapely.union_all(cuts))
    return solid


def openings(room: Room) -> tuple[Door | Window, ...]:
    """Doors and windows."""
    return (*room.doors, *room.windows)


def opening(item: Door | Window) -> shapely.Polygon:
    """The part of the wall that a door or window takes, in metres, a hair wider than the wall."""
    a, b, n = np.array(item.start), np.array(item.end), np.array(item.inward)
    return shapely.Polygon([a + 0.002 * n, b + 0.002 * n, b - (WALL + 0.002) * n, a - (WALL + 0.002) * n])


def door_sweeps(sheet: Sheet, room: Room) -> list[shapely.Polygon]:
    """The floor that doors swing over, on paper."""
    found = [swing(door) for door in room.doors]
    return [sheet.polygon(ring) for ring in found if ring is not None]


def _paper(sheet: Sheet, shape: shapely.Geometry) -> shapely.Geometry:
    return shapely.transform(shape, sheet.mm)


def across(item: Door | Window, depth: float) -> Points:
    """The line along an opening, ``depth`` metres into the wall, in metres."""
    n = np.array(item.inward)
    return np.array([np.array(item.start) - depth * n, np.array(item.end) - depth * n])


def _door(board: Board, sheet: Sheet, door: Door) -> None:
    for depth in (0.0, WALL):
        board.line(sheet.mm(across(door, depth)), color=ink.FINE, weight=ink.HAIR, z=ink.Z_DOOR)
    if door.swing == "none":
        line = sheet.mm(across(door, WALL / 2))
        weight = 1.3 if door.vehicle else 1.0
        board.line(line, color=ink.INK, weight=weight, dash=ink.DASHED, z=ink.Z_DOOR)
        return
    hinge, tip, arc = leaf(door)
    board.line(sheet.mm(arc), color=ink.EDGE, weight=ink.ARC, z=ink.Z_DOOR)
    thick = min(0.045 * sheet.factor, _STEEL)
    ends = sheet.mm([hinge, tip])
    along = np.subtract(door.end, door.start) / door.width
    side = along * thick if door.hinge == "start" else -along * thick
    shape = shapely.Polygon([ends[0], ends[1], ends[1] + side, ends[0] + side])
    board.shape(shape, fill=ink.PAPER, edge=ink.INK, weight=0.6, z=ink.Z_DOOR)


def leaf(door: Door) -> tuple[Points, Points, Points]:
    """Hinge, end of the open leaf, and the quarter arc it sweeps, in metres."""
    hinge, far = (door.start, door.end) if door.hinge == "start" else (door.end, door.start)
    sign = 1.0 if door.swing == "in" else -1.0
    shut = np.subtract(far, hinge)
    opened = sign * door.width * np.array(door.inward)
    turn = np.linspace(0.0, np.pi / 2, 49)[:, None]
    # an outward door hangs on the outer face of the wall
    base = np.array(hinge) - (0.0 if door.swing == "in" else WALL) * np.array(door.inward)
    return base, base + opened, base + np.cos(turn) * shut + np.sin(turn) * opened


def _window(board: Board, sheet: Sheet, window: Window) -> None:
    for depth, weight in ((0.0, ink.WINDOW_LINE), (WALL / 2, ink.WINDOW_LINE), (WALL, ink.WINDOW_LINE)):
        board.line(sheet.mm(across(window, depth)), color=ink.INK, weight=weight, z=ink.Z_DOOR)
    faces = np.stack([sheet.mm(across(window, depth)) for depth in (0.0, WALL)])
    for end in (0, 1):
        board.line(faces[:, end], color=ink.INK, weight=ink.WINDOW_LINE, z=ink.Z_DOOR)
