"""The names on a plan: what is named, what names keep off, and how a name is drawn."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import shapely

from footwork.floor.headroom import share_floor
from footwork.model.scenario import Station, Vehicle
from footwork.show import building, ink
from footwork.show.board import Board
from footwork.show.furniture import Furniture, nose_shape
from footwork.show.labels import PAD, Ground, Label, Wanted, baselines
from footwork.show.request import Request
from footwork.show.sheet import Box, Sheet


def shown_name(name: str) -> str:
    """A name as a plan writes it."""
    return name.replace("_", " ").strip()


def ground_of(request: Request, sheet: Sheet, shapes: Furniture) -> Ground:
    """What names keep off, before any is placed."""
    room = request.scenario.room
    ground = Ground(shapely.box(*_inner(sheet.plan)))
    gone = request.out
    ground.solids += [shape for name, shape in shapes.footprints.items() if name not in gone]
    ground.solids += [sheet.polygon(f.outline) for f in room.fixtures]
    ground.under.append(building.walls(sheet, room).buffer(0.3))
    ground.under += [
        sheet.polygon(building.opening(item).exterior.coords[:-1]) for item in building.openings(room)
    ]
    for vehicle in request.scenario.vehicles:
        placement = request.layout.placements.get(vehicle.name)
        if placement is not None and vehicle.name not in gone:
            ground.solids.append(nose_shape(sheet, vehicle, placement))
    for sweep in building.door_sweeps(sheet, room):
        ground.solids.append(sweep.exterior.buffer(0.3))
        ground.soft.append((sweep, 0.4))
    _add_soft(request, sheet, shapes, ground)
    return ground


def _add_soft(request: Request, sheet: Sheet, shapes: Furniture, ground: Ground) -> None:
    """Fine lines and floor kept clear: better left free, if there is a choice."""
    room = request.scenario.room
    ground.soft.append((shapes.standing, 0.3))
    ground.fine += [strip.exterior for strip in shapes.stock]
    for strip in (*shapes.stock, *shapes.service, *shapes.working):
        ground.soft.append((strip.exterior.buffer(0.4), 3.0))
    for strip in shapes.strips:
        ground.soft.append((strip.exterior.buffer(0.4), 2.0))
    for zone in room.keep_clear:
        ground.soft.append((sheet.polygon(zone.outline).exterior.buffer(0.4), 3.0))
    for yard in room.yards:
        ground.soft.append((sheet.polygon(yard.outline).exterior.buffer(0.4), 3.0))
    if request.walking is not None:
        for band in request.walking.bands:
            ground.soft.append((shapely.transform(band.area, sheet.mm), 0.15))


def _inner(box: Box) -> Box:
    return (box[0] + 1.5, box[1] + 1.5, box[2] - 1.5, box[3] - 1.5)


def thing_names(
    request: Request, shapes: Furniture, numbers: Mapping[str, int] | None = None
) -> list[Wanted]:
    """Stations and vehicles, with the number before the name for those that have one."""
    found = []
    for thing in request.scenario.things:
        if thing.name not in shapes.footprints:
            continue
        turned = -request.layout.placements[thing.name].facing % 90.0
        angles: tuple[float, ...] = (0.0, 90.0)
        if 1.0 < turned < 89.0:  # along the sides of a thing that stands at an angle
            angles = (turned, turned - 90.0, 0.0)
        away = thing.name in request.out
        text = shown_name(thing.name) + (" (out)" if away else "")
        if numbers and thing.name in numbers:
            text = f"{numbers[thing.name]} {text}"
        color = ink.SOFT_INK if away else ink.INK
        home = shapes.footprints[thing.name]
        found.append(Wanted(text, home, angles=angles, color=color, shared=_shared(request, shapes, thing)))
    return found


def _shared(request: Request, shapes: Furniture, thing: Station | Vehicle) -> tuple[shapely.Geometry, ...]:
    """Footprints that may lie over a thing's own, as one of the two hangs above the other."""
    others = (other for other in request.scenario.things if share_floor(other, thing))
    return tuple(shapes.footprints[other.name] for other in others if other.name in shapes.footprints)


def area_names(sheet: Sheet, request: Request) -> list[Wanted]:
    """Fixtures, keep-clear zones and yards."""
    room = request.scenario.room
    small = ink.LED_SIZES
    found = [
        Wanted(shown_name(f.name), sheet.polygon(f.outline), led_sizes=small, inside=False)
        for f in room.fixtures
    ]
    for zone in room.keep_clear:
        words = f"keep clear: {shown_name(zone.name)}"
        shape = sheet.polygon(zone.outline)
        found.append(Wanted(words, shape, sizes=small, italic=True, color=ink.SOFT_INK))
    for yard in room.yards:
        ground = sheet.polygon(yard.outline).difference(shapely.transform(building.outside(room), sheet.mm))
        found.append(
            Wanted(shown_name(yard.name), ground, sizes=small, italic=True, color=ink.SOFT_INK, lead=False)
        )
    return found


def opening_names(sheet: Sheet, request: Request) -> Iterable[Wanted]:
    """Doors, named from outside where there is room."""
    for door in request.scenario.room.doors:
        shape = shapely.transform(building.opening(door), sheet.mm)
        out = (-door.inward[0], -door.inward[1])
        yield Wanted(shown_name(door.name), shape, inside=False, italic=True, color=ink.SOFT_INK, tidy=out)


def draw_label(board: Board, label: Label, patch: bool = False) -> None:
    """The name and its line; with ``patch`` on a patch of paper, if it stands outside its home."""
    want = label.wanted
    if patch and not label.inside:
        board.shape(shapely.Polygon(label.box).buffer(PAD), fill=ink.PAPER, alpha=0.85, z=ink.Z_LEADER - 0.5)
    if label.leader is not None:
        if patch:
            board.line(label.leader, color=ink.PAPER, weight=1.6, z=ink.Z_LEADER - 0.4)
        board.line(label.leader, color=ink.INK, weight=0.4, z=ink.Z_LEADER)
        board.circle(label.leader[-1], 0.42, fill=ink.INK, z=ink.Z_LEADER)
    for at, words in baselines(label):
        board.text(
            at,
            words,
            label.size,
            color=want.color,
            bold=want.bold,
            italic=want.italic,
            angle=label.angle,
            align="center",
        )
