"""The plan on the page: drawn by the parts of the plans on paper, each thing in groups that can be moved.

A thing is drawn about its own middle as it stands when it faces south; where it stands is the ``transform``
of its groups, which the page sets anew.  All coordinates of the markup are millimetres of a sheet whose y
runs down.  Names are text in the markup, escaped by the board.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np
import shapely

from footwork.floor.shapes import footprint
from footwork.model.scenario import Layout, Placement, Scenario, Station, Vehicle
from footwork.model.units import format_length
from footwork.page.clearances import Clear
from footwork.scoring import JobScore, Score
from footwork.show import building, frame, ink, naming, routes
from footwork.show.board import text_width
from footwork.show.dimensions import chains, draw_chain
from footwork.show.furniture import (
    Furniture,
    draw_stations,
    draw_strips,
    draw_vehicles,
    furniture,
    parked_outline,
)
from footwork.show.labels import Label, lead_out, place_inside
from footwork.show.plan import extent
from footwork.show.report.picture import screen_sheet
from footwork.show.report.svg_board import SvgBoard, number
from footwork.show.report.walks import small_route
from footwork.show.request import Request
from footwork.show.sheet import Box, Sheet

WIDE, TALL = 235.0, 205.0
"""Millimetres that the picture is at most: on a screen 900 pixels high a name is 9 to 14 pixels high."""
PIXELS = 3.5
"""Pixels of a millimetre, at least: a name is 9 to 14 pixels high then."""
LEAST = 60.0
"""Millimetres, each way, below which the drawing's own marks would leave no room for the plan."""
_FOOT = 10.0  # millimetres below the plan for scale bar and north arrow
SOUTH = 180.0
_CLEAR_TEXT = 7.0
_SHORTEST = 0.5  # millimetres of a dimension line


@dataclass(frozen=True)
class Drawing:
    """The sheet of one session: where metres lie on it stays the same however things are moved."""

    scenario: Scenario
    sheet: Sheet
    bounds: Box

    @property
    def view_box(self) -> str:
        return f"0 0 {number(self.sheet.width)} {number(self.sheet.height)}"

    def at(self, place: Placement) -> tuple[float, float, float]:
        """What moves a thing's groups to a placement: x and y in millimetres, degrees clockwise."""
        x, y = self.sheet.mm(place.at).tolist()
        return (round(x, 3), round(self.sheet.height - y, 3), round((place.facing - SOUTH) % 360.0, 4))

    def transform(self, place: Placement) -> str:
        x, y, turn = self.at(place)
        return f"translate({x} {y}) rotate({turn})"


def drawing(scenario: Scenario, layout: Layout, screen: tuple[float, float] | None = None) -> Drawing:
    """The largest scale at which room, yards, dimensions and all that ``layout`` needs go on the sheet.

    On a ``screen`` of so few pixels, wide and tall, that names would be too small, the sheet is smaller.
    """
    bounds = extent(scenario, layout)
    wide, tall = (WIDE, TALL) if screen is None else (pixels / PIXELS for pixels in screen)
    size = (min(WIDE, max(wide, LEAST)), min(TALL, max(tall, LEAST)))
    sheet = screen_sheet(scenario.room, bounds, (size[0], size[1] - _FOOT), _FOOT)
    return Drawing(scenario, sheet, bounds)


def plan(made: Drawing, layout: Layout) -> str:
    """The whole plan as SVG elements, without names: the building, and each thing in groups of its own.

    The groups of a thing have its name as ``data-thing``: class ``floor`` is what it wants kept clear,
    ``body`` the thing itself; of a vehicle ``away`` is its trace while it is out.
    """
    scenario, sheet = made.scenario, made.sheet
    board = SvgBoard(sheet.width, sheet.height)
    building.draw_building(board, sheet, scenario.room)
    for thing in scenario.things:
        place = layout.placements[thing.name]
        _thing(board, made, thing, made.transform(place))
        if isinstance(thing, Station) and thing.parked is not None:
            parked_outline(board, sheet.polygon(footprint(thing, thing.parked)))
    for chain in chains(scenario.room, made.bounds):
        draw_chain(board, sheet, chain, made.bounds, scenario.room, scenario.units)
    _scale_and_north(board, made)
    return board.markup()


def _thing(board: SvgBoard, made: Drawing, thing: Station | Vehicle, transform: str) -> None:
    """The groups of one thing, drawn about the point where x and y are 0 in SVG: a board's upper corner."""
    own = replace(made.sheet, origin=(0.0, board.height))
    facing_south = Layout("", {thing.name: Placement(0.0, 0.0, SOUTH)})
    alone = _alone(made.scenario, thing)
    shapes = furniture(own, alone, facing_south)

    nothing = shapely.Polygon()
    below = replace(shapes, stock=())
    above = replace(shapes, standing=nothing, strips=(), service=(), working=())
    for height, kept_clear in ((ink.Z_HATCH, below), (ink.Z_STOCK, above)):
        with board.group(height, class_="floor", data_thing=thing.name, transform=transform):
            draw_strips(board, kept_clear)
    vehicle = isinstance(thing, Vehicle)
    z = ink.Z_VEHICLE if vehicle else ink.Z_STATION if thing.name not in _hung(made.scenario) else ink.Z_HUNG
    with board.group(z, class_="body", data_thing=thing.name, transform=transform):
        if vehicle:
            draw_vehicles(board, own, alone, facing_south)
        else:
            draw_stations(board, own, alone, facing_south)
        _reach(board, shapes)
    if vehicle:
        with board.group(z, class_="away", data_thing=thing.name, transform=transform):
            draw_vehicles(board, own, alone, facing_south, frozenset([thing.name]))


def _reach(board: SvgBoard, shapes: Furniture) -> None:
    """The footprint again, unseen: what the pointer takes hold of, and what shows that a thing is chosen."""
    for shape in shapes.footprints.values():
        with board.group(ink.Z_MARK, class_="hold"):
            board.shape(shape, fill="transparent", z=ink.Z_MARK)


def _hung(scenario: Scenario) -> frozenset[str]:
    return frozenset(s.name for s in scenario.stations if s.from_floor > 0.0)


def _alone(scenario: Scenario, thing: Station | Vehicle) -> Scenario:
    """The scenario with nothing but one thing in it, which is not parked anywhere."""
    if isinstance(thing, Vehicle):
        return scenario.with_(stations=(), vehicles=(thing,))
    return scenario.with_(stations=(replace(thing, parked=None),), vehicles=())


def _scale_and_north(board: SvgBoard, made: Drawing) -> None:
    sheet = made.sheet
    north = sheet.width - 18.0
    frame.scale_bar(board, sheet, made.scenario.units, (2.0, -7.0, min(north, 80.0), _FOOT))
    place = f"translate({number(north + 9.0)} {number(sheet.height - 6.0)}) scale(0.7)"
    with board.group(ink.Z_DIMENSION, transform=place):
        frame.north_arrow(board, (0.0, board.height))  # the group's origin: y runs down from the top


def names(made: Drawing, layout: Layout, out: frozenset[str]) -> str:
    """The names of everything as SVG elements, those of things in groups with ``data-name``."""
    request = _request(made.scenario, layout)
    sheet = made.sheet
    shapes = furniture(sheet, made.scenario, layout, out)
    ground = naming.ground_of(request, sheet, shapes)
    for chain in chains(made.scenario.room, made.bounds):
        ground.solids += draw_chain(
            SvgBoard(sheet.width, sheet.height), sheet, chain, made.bounds, made.scenario.room,
            made.scenario.units,
        )  # fmt: skip
    homes = {id(shapes.footprints[name]): name for name in shapes.footprints}
    wanted = [
        replace(w, text=f"{w.text} (out)", color=ink.SOFT_INK) if homes[id(w.home)] in out else w
        for w in naming.thing_names(request, shapes)
    ]
    inside, rest = place_inside(wanted, ground)
    areas, more = place_inside(naming.area_names(sheet, request), ground)
    led, _ = lead_out((*rest, *more, *naming.opening_names(sheet, request)), ground)
    board = SvgBoard(sheet.width, sheet.height)
    for label in (*inside, *areas, *led):
        _name(board, label, homes.get(id(label.wanted.home)))
    return board.markup()


def _name(board: SvgBoard, label: Label, thing: str | None) -> None:
    with board.group(ink.Z_LEADER, data_name=thing):
        naming.draw_label(board, label)


def _request(scenario: Scenario, layout: Layout) -> Request:
    """What names are asked for with; they have no use for figures."""
    nothing = Score(
        scenario=scenario.name, layout=layout.name, placements=layout.placements, cost=0.0,
        prefer_metres=0.0, check_metres=0.0, jobs=(), standing=(), from_to={}, checks=(),
        speed=scenario.walker.speed, step=scenario.walker.step,
    )  # fmt: skip
    return Request(scenario, layout, nothing)


def walk(
    made: Drawing, job: JobScore, placements: Mapping[str, Placement], out: Iterable[str], lanes: bool
) -> str:
    """The walk of a job over the plan.

    With ``lanes`` ways along each other lie side by side and have arrows (slow); without it is a sketch.
    """
    board = SvgBoard(made.sheet.width, made.sheet.height)
    colours = [each.name for each in made.scenario.jobs]
    colour = ink.ROUTES[colours.index(job.name) % len(ink.ROUTES)]
    found = _plain_route(made.sheet, job)
    if not lanes:
        routes.sketch_route(board, found, colour)
        return board.markup()
    gone = set(out)
    there = [t for t in made.scenario.things if t.name not in gone]
    solids: list[shapely.Geometry] = [made.sheet.polygon(footprint(t, placements[t.name])) for t in there]
    with suppress(shapely.errors.GEOSException):  # a way with a point twice over has no side to go to
        found = small_route(made.sheet, job, solids)
    routes.draw_route(board, found, colour)
    return board.markup()


def _plain_route(sheet: Sheet, job: JobScore) -> routes.Route:
    """Every leg on its very way."""
    order = list(dict.fromkeys(stop for leg in job.legs for stop in (leg.start, leg.end)))
    halts = {s: routes.Halt(k, s, sheet.mm(s.at), sheet.mm(s.at)) for k, s in enumerate(order, start=1)}
    times = Counter((leg.start, leg.end) for leg in job.legs)
    legs = {(leg.start, leg.end): leg for leg in job.legs}
    tracks = [
        routes.Track(
            halts[a], halts[b], leg, times[a, b], routes.straight_ends(sheet, leg, halts[a], halts[b])
        )
        for (a, b), leg in legs.items()
    ]
    return routes.Route(tuple(halts.values()), tuple(tracks))


def distances(made: Drawing, found: Iterable[Clear]) -> str:
    """Clear distances as dimension lines, each in a group with its ``data-side``; figures where they fit."""
    board = SvgBoard(made.sheet.width, made.sheet.height)
    for clear in found:
        with board.group(ink.Z_DIMENSION, class_="clear", data_side=clear.side):
            _distance(board, made, clear)
    return board.markup()


def _distance(board: SvgBoard, made: Drawing, clear: Clear) -> None:
    start, end = made.sheet.mm([clear.start, clear.end])
    run = float(np.hypot(*(end - start)))
    if run < _SHORTEST or clear.metres < 0.0:
        return
    along = (end - start) / run
    aside = np.array([-along[1], along[0]])
    board.line([start, end], color=ink.MOVE, weight=0.8, z=ink.Z_DIMENSION)
    for tip in (start, end):
        board.line([tip - 1.2 * aside, tip + 1.2 * aside], color=ink.MOVE, weight=0.8, z=ink.Z_DIMENSION)
    words = format_length(clear.metres, made.scenario.units)
    level = abs(along[0]) > abs(along[1])
    room = text_width(words, _CLEAR_TEXT, bold=True) if level else _CLEAR_TEXT * ink.POINT
    if room > abs(along[0] if level else along[1]) * run:
        return
    at = (start + end) / 2 + (np.array([0.0, 0.9]) if level else np.array([1.4, -0.8]))
    align = "center" if level else "left"
    board.text(at, words, _CLEAR_TEXT, color=ink.MOVE, bold=True, align=align, z=ink.Z_TEXT)
