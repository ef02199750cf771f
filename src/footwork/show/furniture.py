"""What stands in the room on a plan: stations, vehicles, and the floor kept clear for them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from footwork.floor.headroom import overhead, underside
from footwork.floor.shapes import around, box, footprint, service_strips, stock_strips, strips, to_room
from footwork.model.scenario import Layout, Placement, Scenario, Station, Vehicle
from footwork.show import ink
from footwork.show.board import Board, Points
from footwork.show.sheet import Sheet

_HATCH_STEP = 1.7  # millimetres between hatch lines


@dataclass(frozen=True)
class Furniture:
    """The shapes of one layout on paper, in millimetres.

    ``footprints`` by name; ``standing`` the standing strips joined, less what stands on them; ``stock``
    and ``service`` one shape a strip; ``working`` the working space round vehicles.
    """

    footprints: dict[str, shapely.Polygon]
    standing: shapely.Geometry
    strips: tuple[shapely.Polygon, ...]
    service: tuple[shapely.Polygon, ...]
    stock: tuple[shapely.Polygon, ...]
    working: tuple[shapely.Polygon, ...]


def furniture(
    sheet: Sheet, scenario: Scenario, layout: Layout, out: frozenset[str] = frozenset()
) -> Furniture:
    """The shapes of ``layout`` on the sheet; vehicles in ``out`` need no working space."""
    placed = [(t, layout.placements[t.name]) for t in scenario.things if t.name in layout.placements]
    prints = {t.name: sheet.polygon(footprint(t, p)) for t, p in placed}
    stations = [(t, p) for t, p in placed if isinstance(t, Station)]
    vehicles = [(t, p) for t, p in placed if isinstance(t, Vehicle)]
    stand = tuple(sheet.polygon(s.polygon) for t, p in stations for s in strips(t, p))
    taken = [prints[t.name] for t, _ in placed if not overhead(t)]
    solid = shapely.union_all([*taken, *(sheet.polygon(f.outline) for f in scenario.room.fixtures)])
    return Furniture(
        footprints=prints,
        standing=shapely.union_all(stand).difference(solid) if stand else shapely.Polygon(),
        strips=stand,
        service=tuple(sheet.polygon(s.polygon) for t, p in stations for s in service_strips(t, p)),
        stock=tuple(sheet.polygon(s.polygon) for t, p in stations for s in stock_strips(t, p)),
        working=tuple(
            sheet.polygon(s.polygon) for t, p in vehicles if t.name not in out for s in around(t, p)
        ),
    )


def draw_strips(board: Board, shapes: Furniture) -> None:
    """Floor kept clear: strips hatched, service and working space outlined, stock finely dashed."""
    hatch_strips(board, shapes.standing)
    for strip in shapes.strips:
        board.shape(strip, edge=ink.STRIP_EDGE, weight=ink.HAIR, z=ink.Z_STRIP)
    for strip in (*shapes.service, *shapes.working):
        service_outline(board, strip)
    for strip in shapes.stock:
        stock_outline(board, strip)


def hatch_strips(board: Board, area: shapely.Geometry) -> None:
    """The light hatch of standing strips."""
    board.hatch(area, _HATCH_STEP, 45.0, color=ink.HATCH, weight=0.28, z=ink.Z_HATCH)


def service_outline(board: Board, strip: shapely.Geometry) -> None:
    """The fine chain line round service strips and the working space of a vehicle."""
    board.shape(strip, edge=ink.FINE, weight=ink.HAIR, dash=ink.CHAIN, z=ink.Z_STRIP)


def stock_outline(board: Board, strip: shapely.Geometry) -> None:
    """The fine dashes round room for long stock."""
    board.shape(strip, edge=ink.SOFT_INK, weight=0.4, dash=ink.FINE_DASH, z=ink.Z_STOCK)


def draw_stations(board: Board, sheet: Sheet, scenario: Scenario, layout: Layout) -> None:
    """Footprints in neutral grey, the front's edge heavy with a small point that looks out of it.

    What hangs is dashed over what lies below it, as is the habit for what is overhead.  Where a thing is
    parked is dotted.
    """
    for station in scenario.stations:
        placement = layout.placements.get(station.name)
        if placement is None:
            continue
        shape = sheet.polygon(footprint(station, placement))
        hangs = underside(station) > 0.0
        if hangs:
            hung_outline(board, shape)
        else:
            board.shape(shape, fill=ink.STATION, edge=ink.EDGE, weight=ink.OUTLINE, z=ink.Z_STATION)
        front = sheet.mm(front_edge(station, placement))
        front_mark(board, front[0], front[1], heavy=not hangs)
        if station.parked is not None:
            parked_outline(board, sheet.polygon(footprint(station, station.parked)))


def parked_outline(board: Board, shape: shapely.Geometry) -> None:
    """The dots round the place where a thing is parked."""
    board.shape(shape, edge=ink.EDGE, weight=0.9, dash=ink.DOTTED, z=ink.Z_STATION)


def hung_outline(board: Board, shape: shapely.Geometry) -> None:
    """The dashes round a thing that hangs."""
    board.shape(shape, edge=ink.EDGE, weight=0.9, dash=ink.OVERHEAD, z=ink.Z_HUNG)


def front_mark(board: Board, left: Points, right: Points, heavy: bool = True) -> None:
    """The mark of a front: ``left`` and ``right`` are the ends of its edge, in millimetres.

    The station lies to the left of the way from ``left`` to ``right``.  ``heavy``: the edge is drawn as well.
    """
    if heavy:
        board.line([left, right], color=ink.FRONT, weight=1.5, z=ink.Z_FRONT)
    along = right - left
    length = float(np.hypot(*along))
    if length < 1e-6:
        return
    along = along / length
    out = np.array([along[1], -along[0]])
    middle, half = (left + right) / 2, min(1.0, 0.3 * length)
    point = shapely.Polygon([middle - half * along, middle + half * along, middle + 0.95 * half * out])
    board.shape(point, fill=ink.FRONT, z=ink.Z_FRONT)


def front_edge(station: Station, placement: Placement) -> Points:
    """Ends of the longest part of the outline that lies on the front's line, in metres."""
    front = box(station)[1]
    ring = station.outline
    edges = [(a, b) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)]
    on_line = [e for e in edges if max(abs(e[0][1] - front), abs(e[1][1] - front)) < 1e-6]
    if not on_line:  # a rounded or pointed front: a short mark across its tip
        tip = min(ring, key=lambda p: p[1])
        on_line = [((tip[0] - 0.03, front), (tip[0] + 0.03, front))]
    a, b = max(on_line, key=lambda e: abs(e[1][0] - e[0][0]))
    low, high = sorted((a, b))
    return to_room((low, high), placement)


def draw_vehicles(
    board: Board,
    sheet: Sheet,
    scenario: Scenario,
    layout: Layout,
    out: frozenset[str] = frozenset(),
    hollow: bool = False,
) -> None:
    """Vehicles as dashed bodies with screen and nose; those in ``out`` as a dotted trace.

    ``hollow``: without fill, so that what is on the floor under them shows.
    """
    for vehicle in scenario.vehicles:
        placement = layout.placements.get(vehicle.name)
        if placement is None:
            continue
        shape = sheet.polygon(footprint(vehicle, placement))
        if vehicle.name in out:
            board.shape(shape, edge=ink.FINE, weight=0.5, dash=ink.DOTTED, z=ink.Z_VEHICLE)
            continue
        fill = None if hollow else ink.VEHICLE
        board.shape(shape, fill=fill, edge=ink.EDGE, weight=0.9, dash=ink.DASHED, z=ink.Z_VEHICLE)
        _nose(board, sheet, vehicle, placement)


def _nose(board: Board, sheet: Sheet, vehicle: Vehicle, placement: Placement) -> None:
    """The nose mark and the line of the windscreen, so that it cannot be taken for a table."""
    tip, screen = nose_lines(vehicle, placement)
    board.shape(sheet.polygon(tip), fill=ink.FINE, z=ink.Z_FRONT)
    board.line(sheet.mm(screen), color=ink.FINE, weight=0.5, z=ink.Z_FRONT)


def nose_lines(vehicle: Vehicle, placement: Placement) -> tuple[Points, Points]:
    """The nose mark as a ring and the windscreen as a polyline, in metres."""
    left, front, right, back = box(vehicle)
    middle, length, width = (left + right) / 2, back - front, right - left
    reach = min(0.13 * width, 0.06 * length)
    tip = to_room(
        (
            (middle - reach, front + 1.6 * reach),
            (middle + reach, front + 1.6 * reach),
            (middle, front + 0.4 * reach),
        ),
        placement,
    )
    across = np.linspace(-0.42, 0.42, 15)
    bow = front + 0.27 * length - 0.04 * length * (1 - (across / 0.42) ** 2)
    screen = to_room(np.column_stack([middle + across * width, bow]), placement)
    return tip, screen


def nose_shape(sheet: Sheet, vehicle: Vehicle, placement: Placement) -> shapely.Polygon:
    """The part of a vehicle where a name would cover its nose mark and screen."""
    left, front, right, back = box(vehicle)
    deep = front + 0.29 * (back - front)
    return sheet.polygon(to_room(((left, front), (right, front), (right, deep), (left, deep)), placement))
