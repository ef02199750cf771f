"""The plan of one layout, composed: what goes on the sheet, in which order, and where names stand."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from footwork.checks.result import CheckResult
from footwork.floor.shapes import around, footprint, service_strips, stock_strips, strips, swing
from footwork.model.scenario import Layout, Scenario, Station
from footwork.scoring import JobScore, Score
from footwork.show import building, frame, ink, marks, routes
from footwork.show.board import Board
from footwork.show.dimensions import chains, draw_chain
from footwork.show.furniture import (
    Furniture,
    draw_stations,
    draw_strips,
    draw_vehicles,
    furniture,
    nose_shape,
)
from footwork.show.labels import Ground, Label, Wanted, baselines, lead_out, place_inside
from footwork.show.mats import by_side
from footwork.show.notes import Note, Section, draw_notes
from footwork.show.sheet import Box, Sheet, fit
from footwork.show.text import CAUTION

_NAME_ROOM = 9.0  # millimetres left free on a side without dimensions, for names led out of the building


@dataclass(frozen=True)
class Request:
    """What to draw: a layout with its figures, and perhaps the route of a job or the standing hours."""

    scenario: Scenario
    layout: Layout
    score: Score
    job: JobScore | None = None
    standing: bool = False

    @property
    def out(self) -> frozenset[str]:
        """Vehicles that are out in the state that the job's legs are drawn for."""
        if self.job is None or not self.job.states:
            return frozenset()
        main = max(self.job.states, key=lambda s: s.share)
        return frozenset(v.name for v in self.scenario.vehicles) - frozenset(main.vehicles_in)


@dataclass(frozen=True)
class Drawing:
    """A drawn plan: the board to save, its sheet, and the labels as they were placed."""

    board: Board
    sheet: Sheet
    labels: tuple[Label, ...]
    unplaced: tuple[str, ...]


def shown_name(name: str) -> str:
    """A name as a plan writes it."""
    return name.replace("_", " ").strip()


def draw_plan(request: Request) -> Drawing:
    """Draw the plan on a new board.  Nothing outside is touched; the same request gives the same drawing."""
    bounds = extent(request.scenario, request.layout)
    failing = [c for c in request.score.checks if not c.ok and (_plain(request) or c.severity == "must")]
    notes = bool(request.job or request.standing or failing)
    samples = _samples(request, failing)
    sheet = _sheet(request, bounds, notes, samples)
    board = Board(sheet.width, sheet.height)
    shapes = furniture(sheet, request.scenario, request.layout)
    building.draw_building(board, sheet, request.scenario.room)
    draw_strips(board, shapes)
    draw_stations(board, sheet, request.scenario, request.layout)
    draw_vehicles(board, sheet, request.scenario, request.layout, request.out)
    ground = _ground(request, sheet, shapes)
    for chain in chains(request.scenario.room, bounds):
        ground.solids += draw_chain(
            board, sheet, chain, bounds, request.scenario.room, request.scenario.units
        )
    sections: list[Section] = []
    if request.job is not None:
        sections.append(_draw_job(board, sheet, request, ground))
    if request.standing:
        sections.append(_draw_standing(board, sheet, request, ground))
    homes = _homes(sheet, request.scenario, shapes)
    found = marks.failed_marks(failing, homes)
    labels, unplaced = _draw_names(board, sheet, request, shapes, ground, found)
    sections += _closing(found, unplaced)
    frame.draw_legend(board, sheet, samples)
    frame.draw_frame(board, sheet, _title(request, bool(failing)), request.scenario.units)
    draw_notes(board, sheet, sections)
    return Drawing(board, sheet, labels, unplaced)


def _plain(request: Request) -> bool:
    return request.job is None and not request.standing


def _sheet(request: Request, bounds: Box, notes: bool, samples: list[frame.Sample]) -> Sheet:
    x_chain, y_chain = chains(request.scenario.room, bounds)
    sides = [_NAME_ROOM] * 4
    sides[1 if x_chain.low_side else 3] = x_chain.depth
    sides[0 if y_chain.low_side else 2] = y_chain.depth
    left, low, right, top = sides
    sheet = fit(bounds, (left, low, right, top), request.scenario.units, notes, 8.0)
    for _ in range(2):  # the legend's height depends on the paper's width, and the paper on the legend
        tall = frame.legend_height(samples, sheet.frame[2] - sheet.frame[0])
        sheet = fit(bounds, (left, low, right, top), request.scenario.units, notes, tall)
    return sheet


def extent(scenario: Scenario, layout: Layout) -> Box:
    """The box around everything that is drawn, in metres."""
    room = scenario.room
    rings: list[np.ndarray] = [shapely.get_coordinates(building.outside(room))]
    rings += [np.asarray(y.outline) for y in room.yards]
    rings += [np.asarray(f.outline) for f in room.fixtures]
    rings += [np.asarray(z.outline) for z in room.keep_clear]
    rings += [ring for ring in map(swing, room.doors) if ring is not None]
    for thing in scenario.things:
        placement = layout.placements.get(thing.name)
        if placement is None:
            continue
        rings.append(footprint(thing, placement))
        if isinstance(thing, Station):
            found = (
                *strips(thing, placement),
                *service_strips(thing, placement),
                *stock_strips(thing, placement),
            )
        else:
            found = around(thing, placement)
        rings += [strip.polygon for strip in found]
    points = np.vstack(rings)
    low, high = points.min(axis=0), points.max(axis=0)
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def _ground(request: Request, sheet: Sheet, shapes: Furniture) -> Ground:
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
    return ground


def _inner(box: Box) -> Box:
    return (box[0] + 1.5, box[1] + 1.5, box[2] - 1.5, box[3] - 1.5)


def _draw_job(board: Board, sheet: Sheet, request: Request, ground: Ground) -> Section:
    assert request.job is not None
    names = [job.name for job in request.scenario.jobs]
    color = ink.ROUTES[names.index(request.job.name) % len(ink.ROUTES)]
    found = routes.route(sheet, request.job)
    routes.draw_route(board, found, color)
    ground.solids += found.circles
    ground.solids += [line.buffer(0.9) for line in found.lines]
    ground.uncrossed += found.lines
    return routes.route_section(found, request.job, color, request.scenario.units)


def _draw_standing(board: Board, sheet: Sheet, request: Request, ground: Ground) -> Section:
    places = request.score.standing
    marks.draw_standing(board, sheet, places)
    for place, radius in zip(places, marks.standing_radii(places), strict=True):
        ground.soft.append((shapely.Point(sheet.mm(place.at)).buffer(radius + 0.5), 1.5))
    return marks.standing_section(by_side(places))


def _homes(sheet: Sheet, scenario: Scenario, shapes: Furniture) -> dict[str, shapely.Geometry]:
    homes: dict[str, shapely.Geometry] = dict(shapes.footprints)
    for fixture in scenario.room.fixtures:
        homes.setdefault(fixture.name, sheet.polygon(fixture.outline))
    for zone in scenario.room.keep_clear:
        homes.setdefault(zone.name, sheet.polygon(zone.outline))
    for door in scenario.room.doors:
        homes.setdefault(door.name, shapely.transform(building.opening(door), sheet.mm))
    return homes


def _draw_names(
    board: Board, sheet: Sheet, request: Request, shapes: Furniture, ground: Ground, found: list[marks.Mark]
) -> tuple[tuple[Label, ...], tuple[str, ...]]:
    """Names inside first, then the marks of failed checks, then the names that must be led out."""
    inside, rest = place_inside(_things(request, shapes), ground)
    found[:] = marks.place_marks(found, ground)
    marks.draw_marks(board, found)
    areas, more = place_inside(_areas(sheet, request), ground)
    led, left = lead_out((*rest, *more, *_openings(sheet, request)), ground)
    labels = (*inside, *areas, *led)
    for label in labels:
        draw_label(board, label)
    return labels, tuple(want.text for want in left)


def _things(request: Request, shapes: Furniture) -> list[Wanted]:
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
        found.append(
            Wanted(text, shapes.footprints[thing.name], angles=angles, color=ink.FINE if away else ink.INK)
        )
    return found


def _areas(sheet: Sheet, request: Request) -> list[Wanted]:
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


def _openings(sheet: Sheet, request: Request) -> Iterable[Wanted]:
    """Doors, named from outside where there is room."""
    for door in request.scenario.room.doors:
        shape = shapely.transform(building.opening(door), sheet.mm)
        out = (-door.inward[0], -door.inward[1])
        yield Wanted(shown_name(door.name), shape, inside=False, italic=True, color=ink.SOFT_INK, tidy=out)


def draw_label(board: Board, label: Label) -> None:
    """The name, on a patch of paper if it lies outside, and its line."""
    want = label.wanted
    if label.leader is not None:
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


def _title(request: Request, caution: bool) -> frame.Title:
    score = request.score
    what = f"Layout {score.layout}"
    if request.job is not None:
        job = request.job
        each = "cannot be walked" if job.metres_each == float("inf") else f"{job.metres_each:,.1f} m"
        what += f": {job.name}, {each}, {job.times_per_year:,.4g} times a year"
        if job.metres_per_year != float("inf"):
            what += f", {job.metres_per_year:,.0f} m a year"
    elif request.standing:
        what += ": hours standing"
    return frame.Title(score.scenario, what, tuple(_figures(request, caution)))


def _figures(request: Request, caution: bool) -> Iterable[str]:
    score = request.score
    if score.metres_per_year == float("inf"):
        yield "There is a job that cannot be walked."
    elif score.jobs:
        yield f"All jobs: {score.metres_per_year:,.0f} m walked a year, {score.hours_per_year:,.1f} hours"
    if caution:
        yield CAUTION


def _closing(found: list[marks.Mark], unplaced: tuple[str, ...]) -> list[Section]:
    sections = []
    failed = marks.failed_section(found)
    if failed:
        sections.append(failed)
    if unplaced:
        sections.append(Section("Not named on the plan", (Note(", ".join(unplaced)),)))
    return sections


def _samples(request: Request, failing: Sequence[CheckResult]) -> list[frame.Sample]:
    """The legend: what this plan shows, and nothing else."""
    stations = [t for t in request.scenario.stations if t.name in request.layout.placements]
    room = request.scenario.room
    vehicles = bool(request.scenario.vehicles)
    working = any(v.around for v in request.scenario.vehicles)
    wanted = [
        (bool(stations), "station, with its front", frame.station_sample),
        (any(t.stand for t in stations), "standing strip", frame.strip_sample),
        (any(t.stock for t in stations), "room for long stock", frame.stock_sample),
        (any(t.service for t in stations) or working, "access, working space", frame.service_sample),
        (vehicles, "vehicle", frame.vehicle_sample),
        (bool(room.fixtures), "fixture", frame.fixture_sample),
        (bool(room.keep_clear), "keep clear", frame.clear_sample),
        (request.standing, "hours standing a year", marks.standing_sample),
        (any(c.severity == "must" for c in failing), "fails a must-check", marks.must_sample),
        (any(c.severity == "should" for c in failing), "fails a should-check", marks.should_sample),
    ]
    return [frame.Sample(words, draw) for show, words, draw in wanted if show]
