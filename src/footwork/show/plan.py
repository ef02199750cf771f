"""The plan of one layout, composed: what goes on the sheet, in which order, and where names stand."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from footwork.checks.result import CheckResult
from footwork.floor.headroom import underside
from footwork.floor.shapes import around, footprint, service_strips, stock_strips, strips, swing
from footwork.model.scenario import Layout, Scenario, Station
from footwork.show import building, compare_plan, frame, marks, naming, routes, spots, standing, walking
from footwork.show.board import Board, boxed_letters
from footwork.show.dimensions import chains, draw_chain
from footwork.show.furniture import Furniture, draw_stations, draw_strips, draw_vehicles, furniture
from footwork.show.labels import Ground, Label, Wanted, lead_out, place_inside
from footwork.show.mats import by_side, mat_reason
from footwork.show.notes import Note, Section, draw_notes
from footwork.show.request import Request
from footwork.show.sheet import Box, Sheet, fit
from footwork.show.squeezed import squeezed_each_words, squeezed_words
from footwork.show.text import CAUTION
from footwork.show.walked import seasonal, walked

_NAME_ROOM = 9.0  # millimetres left free on a side without dimensions, for names led out of the building


@dataclass(frozen=True)
class Drawing:
    """A drawn plan: the board to save, its sheet, and what was placed on it.

    ``unplaced`` are names for which there was no room; ``route``, ``circles`` and ``shifts`` are there when
    the request asked for a job, the standing hours or a comparison.
    """

    request: Request
    board: Board
    sheet: Sheet
    title: frame.Title
    shapes: Furniture
    labels: tuple[Label, ...]
    unplaced: tuple[str, ...]
    marks: tuple[marks.Mark, ...] = ()
    route: routes.Route | None = None
    circles: tuple[standing.Circle, ...] = ()
    shifts: tuple[compare_plan.Shift, ...] = ()


def draw_plan(request: Request) -> Drawing:
    """Draw the plan on a new board.  Nothing outside is touched; the same request gives the same drawing.

    Raises UsageError when the plan has no room on the sheet asked for.
    """
    scenario, layout = request.scenario, request.layout
    bounds = extent(scenario, layout)
    if request.before is not None:
        bounds = _joined(bounds, extent(scenario, request.before.layout))
    failing = [c for c in request.score.checks if not c.ok and (request.plain or c.severity == "must")]
    samples = legend(request, failing)
    sheet = _sheet(request, bounds, not request.plain or bool(failing), samples)
    board = Board(sheet.width, sheet.height)
    shapes = furniture(sheet, scenario, layout, request.out)
    building.draw_building(board, sheet, scenario.room)
    draw_strips(board, shapes)
    draw_stations(board, sheet, scenario, layout)
    draw_vehicles(board, sheet, scenario, layout, request.out, hollow=request.walking is not None)
    ground = naming.ground_of(request, sheet, shapes)
    for chain in chains(scenario.room, bounds):
        ground.solids += draw_chain(board, sheet, chain, bounds, scenario.room, scenario.units)
    over = _draw_over(board, sheet, request, ground)
    found = marks.failed_marks(failing, homes(sheet, scenario, shapes))
    labels, unplaced = _draw_names(board, sheet, request, shapes, ground, found, over)
    frame.draw_legend(board, sheet, samples)
    title = _title(request, bool(failing))
    frame.draw_frame(board, sheet, title, scenario.units)
    draw_notes(board, sheet, [*over.sections, *_closing(found, unplaced)])
    return Drawing(
        request,
        board,
        sheet,
        title,
        shapes,
        labels,
        unplaced,
        marks=tuple(found),
        route=over.route,
        circles=over.circles,
        shifts=over.shifts,
    )


@dataclass(frozen=True)
class _Over:
    """What was laid over the plan, with the notes and names that go with it."""

    sections: tuple[Section, ...] = ()
    names: tuple[Wanted, ...] = ()
    route: routes.Route | None = None
    circles: tuple[standing.Circle, ...] = ()
    shifts: tuple[compare_plan.Shift, ...] = ()


def _draw_over(board: Board, sheet: Sheet, request: Request, ground: Ground) -> _Over:
    """Walking, standing, the route of a job, what has moved: as far as they are asked for."""
    scenario, score = request.scenario, request.score
    sections: list[Section] = []
    names: list[Wanted] = []
    route: routes.Route | None = None
    circles: tuple[standing.Circle, ...] = ()
    shifts: tuple[compare_plan.Shift, ...] = ()
    if request.job is not None:
        route = routes.route(sheet, request.job)
        routes.draw_route(board, route, request.job_color)
        ground.solids += route.circles
        ground.solids += [line.buffer(0.9) for line in route.lines]
        ground.uncrossed += route.lines
        sections.append(routes.route_section(route, request.job, request.job_color, scenario.units))
    if request.before is not None:
        shifts = compare_plan.shifts(sheet, scenario, request.before.layout, request.layout)
        compare_plan.draw_shifts(board, shifts)
        ground.solids += compare_plan.solids(shifts)
        ground.uncrossed += compare_plan.lines(shifts)
        ground.under += [shift.old.exterior.buffer(0.4) for shift in shifts]
        sections.append(compare_plan.move_section(shifts, scenario.units))
        sections.append(compare_plan.job_section(request.before.score, score, walked(request.scenario)))
    if request.walking is not None:
        walking.draw_density(board, sheet, request.walking)
        names += walking.most_name(sheet, request.walking)
        sections.append(walking.walking_section(scenario, request.layout, score, request.walking))
    if request.elsewhere is not None:
        spots.draw_squares(board, sheet, request.elsewhere.found)
        spots.draw_numbers(board, sheet, request.elsewhere)
        sections += spots.sections(scenario, request.elsewhere)
    if request.standing:
        circles = standing.circles(sheet, scenario, request.layout, score.standing)
        standing.draw_circles(board, circles)
        ground.solids += [circle.shape for circle in circles]
        names += standing.hour_names(circles)
        sections.append(standing.standing_section(score.standing))
    return _Over(tuple(sections), tuple(names), route, circles, shifts)


def _sheet(request: Request, bounds: Box, notes: bool, samples: list[frame.Sample]) -> Sheet:
    x_chain, y_chain = chains(request.scenario.room, bounds)
    sides = [_NAME_ROOM] * 4
    sides[1 if x_chain.low_side else 3] = x_chain.depth
    sides[0 if y_chain.low_side else 2] = y_chain.depth
    left, low, right, top = sides
    units = request.scenario.units
    sheet = fit(bounds, (left, low, right, top), units, notes, 8.0, request.wish)
    for _ in range(2):  # the legend's height depends on the paper's width, and the paper on the legend
        tall = frame.legend_height(samples, sheet.frame[2] - sheet.frame[0])
        sheet = fit(bounds, (left, low, right, top), units, notes, tall, request.wish)
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


def _joined(one: Box, other: Box) -> Box:
    low = [min(a, b) for a, b in zip(one[:2], other[:2], strict=True)]
    high = [max(a, b) for a, b in zip(one[2:], other[2:], strict=True)]
    return (low[0], low[1], high[0], high[1])


def homes(sheet: Sheet, scenario: Scenario, shapes: Furniture) -> dict[str, shapely.Geometry]:
    """The shape on paper of everything that a check may be about, by name."""
    found: dict[str, shapely.Geometry] = dict(shapes.footprints)
    for fixture in scenario.room.fixtures:
        found.setdefault(fixture.name, sheet.polygon(fixture.outline))
    for zone in scenario.room.keep_clear:
        found.setdefault(zone.name, sheet.polygon(zone.outline))
    for door in scenario.room.doors:
        found.setdefault(door.name, shapely.transform(building.opening(door), sheet.mm))
    return found


def _draw_names(
    board: Board,
    sheet: Sheet,
    request: Request,
    shapes: Furniture,
    ground: Ground,
    found: list[marks.Mark],
    over: _Over,
) -> tuple[tuple[Label, ...], tuple[str, ...]]:
    """Names inside first, then the marks of failed checks, then the names that must be led out."""
    numbers = {shift.name: shift.number for shift in over.shifts}
    inside, rest = place_inside(naming.thing_names(request, shapes, numbers), ground)
    found[:] = marks.place_marks(found, ground)
    marks.draw_marks(board, found)
    areas, more = place_inside(naming.area_names(sheet, request), ground)
    led, left = lead_out((*over.names, *rest, *more, *naming.opening_names(sheet, request)), ground)
    labels = (*inside, *areas, *led)
    for label in labels:
        naming.draw_label(board, label, patch=request.walking is not None)
    return labels, tuple(want.text for want in left)


def _title(request: Request, caution: bool) -> frame.Title:
    score, told = request.score, walked(request.scenario)
    made = "Not saved: what moves made of layout" if request.unsaved else "Layout"
    what = f"{made} {score.layout}"
    shown = []
    if request.job is not None:
        job = request.job
        squeezed = f" ({squeezed_each_words(job, told)})" if job.blocked else ""
        words = f"{job.name}, {told.once(job.metres_each)}{squeezed}, {job.times_per_year:,.4g} times a year"
        words += seasonal(job)
        words += f", {told.a_year(job.metres_per_year)}"
        shown.append(words)
    if request.walking is not None:
        shown.append("all walking, times a year that somebody walks over each place")
    if request.elsewhere is not None:
        shown.append(f"where else {request.elsewhere.found.thing} could stand, by what the year would cost")
    if request.standing:
        shown.append("hours standing a year")
    if request.before is not None:
        what = f"From layout {request.before.score.layout} to layout {score.layout}"
    if shown:
        what += f": {'; '.join(shown)}"
    return frame.Title(score.scenario, what, tuple(_figures(request, caution)))


def _figures(request: Request, caution: bool) -> Iterable[str]:
    score, told = request.score, walked(request.scenario)
    if request.before is not None:
        yield compare_plan.change_words(request.before.score, score, told)
    elif score.jobs:
        all_jobs = f"All jobs: {told.total(score.metres_per_year)} walked a year"
        hours = f"{score.hours_per_year:,.1f} hours"
        yield ", ".join(filter(None, (all_jobs, hours, squeezed_words(score, told))))
    if caution:
        yield CAUTION
    scenario = request.scenario
    words = [
        scenario.name,
        score.layout,
        *(t.name for t in scenario.things),
        *(j.name for j in scenario.jobs),
    ]
    if any(boxed_letters(word) for word in words):
        yield "Some names hold letters that no font on this machine has; they show as boxes."


def _closing(found: list[marks.Mark], unplaced: tuple[str, ...]) -> list[Section]:
    sections = []
    failed = marks.failed_section(found)
    if failed:
        sections.append(failed)
    if unplaced:
        sections.append(Section("Not named on the plan", (Note(", ".join(unplaced)),)))
    return sections


def legend(request: Request, failing: Sequence[CheckResult]) -> list[frame.Sample]:
    """The legend: what this plan shows, and nothing else."""
    stations = [t for t in request.scenario.stations if t.name in request.layout.placements]
    room, out = request.scenario.room, request.out
    vehicles = [v for v in request.scenario.vehicles if v.name in request.layout.placements]
    inside = [v for v in vehicles if v.name not in out]
    access = any(t.service for t in stations) or any(v.around for v in inside)
    moved = request.before is not None
    wanted = [
        (any(not underside(t) for t in stations), "station, with its front", frame.station_sample),
        (any(underside(t) for t in stations), "hangs", frame.hung_sample),
        (any(t.parked is not None for t in stations), "parked while not in use", frame.parked_sample),
        (moved, "new place, number and name", compare_plan.new_sample),
        (moved, "old place, number", compare_plan.old_sample),
        (any(t.stand for t in stations), "standing strip", frame.strip_sample),
        (any(t.stock for t in stations), "room for long stock", frame.stock_sample),
        (access, "access, working space", frame.service_sample),
        (bool(inside), "vehicle", frame.vehicle_sample),
        (len(inside) < len(vehicles), "vehicle that is out", frame.out_sample),
        (bool(room.fixtures), "fixture", frame.fixture_sample),
        (bool(room.keep_clear), "keep clear", frame.clear_sample),
        (request.standing, "hours standing a year", standing.standing_sample),
        (request.standing and _mats(request), "a mat pays", standing.mat_sample),
        (any(c.severity == "must" for c in failing), "fails a must-check", marks.must_sample),
        (any(c.severity == "should" for c in failing), "fails a should-check", marks.should_sample),
    ]
    found = [frame.Sample(words, draw) for show, words, draw in wanted if show]
    if request.job is not None:
        found += [frame.Sample(*entry) for entry in routes.often_samples(request.job, request.job_color)]
    if request.walking is not None:
        found += walking.samples(request.walking)
    if request.elsewhere is not None:
        found += spots.samples(request.elsewhere.found, walked(request.scenario))
    return found


def _mats(request: Request) -> bool:
    return any(mat_reason(side) for side in by_side(request.score.standing))
