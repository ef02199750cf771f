"""Where a search has things, as outlines over the plan, each with a line from where the thing stood."""

from __future__ import annotations

from collections.abc import Mapping

from footwork.floor.shapes import footprint
from footwork.model.scenario import Placement, Station
from footwork.page.drawing import Drawing
from footwork.show import ink
from footwork.show.furniture import front_edge, front_mark
from footwork.show.naming import shown_name
from footwork.show.report.svg_board import SvgBoard


def outlines(made: Drawing, before: Mapping[str, Placement], goals: Mapping[str, Placement]) -> str:
    """SVG elements, each thing in a group with its name as ``data-goal``."""
    board = SvgBoard(made.sheet.width, made.sheet.height)
    for name, goal in goals.items():
        with board.group(ink.Z_BEFORE, data_goal=name):
            _outline(board, made, name, before[name], goal)
    return board.markup()


def _outline(board: SvgBoard, made: Drawing, name: str, before: Placement, goal: Placement) -> None:
    thing, sheet, z = made.scenario.thing(name), made.sheet, ink.Z_BEFORE
    shape, middle = sheet.polygon(footprint(thing, goal)), sheet.mm(goal.at)
    board.line([sheet.mm(before.at), middle], color=ink.MOVE, weight=0.5, dash=ink.FINE_DASH, z=z)
    board.shape(shape, fill=ink.MOVE, alpha=0.1, z=z)
    board.shape(shape, edge=ink.MOVE, weight=1.2, dash=ink.DASHED, z=z)
    if isinstance(thing, Station):
        left, right = sheet.mm(front_edge(thing, goal))
        front_mark(board, left, right, heavy=False)
    base = (middle[0], middle[1] - 0.365 * ink.SMALL_TEXT * ink.POINT)
    board.text(base, shown_name(name), ink.SMALL_TEXT, color=ink.MOVE, align="center")
