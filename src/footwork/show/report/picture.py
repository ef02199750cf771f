"""The plans of the page: drawn small enough to be read on a phone, with the walk of each job laid over.

They are made of the same parts as the plan on paper, on a sheet without frame, notes and title; what these
say stands in the page beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from footwork.checks.result import CheckResult
from footwork.model.scenario import Layout, Room, Scenario
from footwork.scoring import JobScore, Score
from footwork.show import building, compare_plan, frame, ink, marks, naming, routes
from footwork.show.compare_plan import Shift
from footwork.show.dimensions import chains, draw_chain
from footwork.show.furniture import draw_stations, draw_strips, draw_vehicles, furniture
from footwork.show.labels import Ground, lead_out, place_inside
from footwork.show.plan import extent, homes, legend
from footwork.show.report.svg_board import FAMILY, SvgBoard, number
from footwork.show.report.walks import small_route
from footwork.show.request import Request
from footwork.show.sheet import Box, Sheet

WIDE, TALL = 118.0, 150.0
"""Millimetres that a picture is wide, and tall at most: on a phone a name is then 6 to 9 points high."""
MANY = 20
"""Things, above which a phone shows a plan wider than itself, to be pushed sideways: names stay readable."""
_NAMES = 9.0  # millimetres beside the plan for names led out of the building
_FOOT = 13.0  # millimetres below the plan for scale bar and north arrow
_SAMPLE = (8.0, 4.4)


@dataclass(frozen=True)
class Picture:
    """A plan as SVG elements: what goes between ``<svg>`` and ``</svg>`` with this ``viewBox``.

    ``marks`` says what the numbered triangles on it stand for, ``marked`` which numbers have one.
    """

    width: float
    height: float
    markup: str
    marks: tuple[str, ...] = ()
    marked: frozenset[int] = frozenset()
    broad: bool = False
    family: str = FAMILY

    @property
    def view_box(self) -> str:
        return f"0 0 {number(self.width)} {number(self.height)}"


@dataclass(frozen=True)
class Key:
    """One entry of the legend: a small picture and what it means."""

    picture: Picture
    words: str


@dataclass(frozen=True)
class Subject:
    """A layout to draw, with its figures."""

    scenario: Scenario
    layout: Layout
    score: Score

    @property
    def request(self) -> Request:
        return Request(self.scenario, self.layout, self.score)

    @property
    def failing(self) -> list[CheckResult]:
        return [check for check in self.score.checks if not check.ok]


def frame_of(subjects: Sequence[Subject]) -> Box:
    """The box around all that is drawn of these layouts, in metres, so that their pictures match."""
    boxes = [extent(each.scenario, each.layout) for each in subjects]
    low = [min(b[k] for b in boxes) for k in (0, 1)]
    high = [max(b[k] for b in boxes) for k in (2, 3)]
    return (low[0], low[1], high[0], high[1])


def plan(subject: Subject, bounds: Box) -> Picture:
    """The plan with marks at what fails a check, and a hidden group for the walk of each job."""
    request = subject.request
    sheet = sheet_of(request, bounds)
    board, ground = _ground_plan(request, sheet, bounds)
    shapes = furniture(sheet, request.scenario, request.layout)
    failed = marks.failed_marks(subject.failing, homes(sheet, request.scenario, shapes))
    failed = _names(board, sheet, request, ground, failed)
    for k, job in enumerate(subject.score.jobs):
        chosen = replace(request, job=job)
        solids = [shape for name, shape in shapes.footprints.items() if name not in chosen.out]
        _walk(board, sheet, chosen, job, k, solids)
    marked = frozenset(mark.number for mark in failed if mark.at is not None)
    words = tuple(map(_mark_words, failed))
    return Picture(sheet.width, sheet.height, board.markup(), words, marked, _many(request))


def _many(request: Request) -> bool:
    """Whether a phone's width is too little for the names."""
    return len(request.layout.placements) > MANY


def _mark_words(mark: marks.Mark) -> str:
    return f"{mark.number} {mark.subject} ({', '.join(dict.fromkeys(check.id for check in mark.checks))})"


def moves(before: Subject, after: Subject, bounds: Box, order: Sequence[str]) -> Picture:
    """The plan afterwards with the old places dashed, and the numbers of ``order`` at what moves."""
    request = after.request
    sheet = sheet_of(request, bounds)
    board, ground = _ground_plan(request, sheet, bounds)
    numbers = {name: k for k, name in enumerate(order, start=1)}
    found = [
        replace(shift, number=numbers[shift.name])
        for shift in compare_plan.shifts(sheet, request.scenario, before.layout, request.layout)
        if shift.name in numbers
    ]
    compare_plan.draw_shifts(board, found)
    ground.solids += compare_plan.solids(found)
    ground.uncrossed += compare_plan.lines(found)
    ground.under += [shift.old.exterior.buffer(0.4) for shift in found]
    _names(board, sheet, request, ground, [], found)
    return Picture(sheet.width, sheet.height, board.markup(), broad=_many(request))


def keys(subjects: Sequence[Subject]) -> tuple[Key, ...]:
    """The legend of these plans: what they show, and nothing else."""
    entries: dict[str, Key] = {}
    for subject in subjects:
        for sample in legend(subject.request, subject.failing):
            entries.setdefault(sample.words, _key(sample))
    return tuple(entries.values())


def moving_keys() -> tuple[Key, ...]:
    """The legend of the picture of moves."""
    entries = (
        ("old place, with the number of the move", compare_plan.old_sample),
        ("new place", compare_plan.new_sample),
    )
    return tuple(_key(frame.Sample(words, draw)) for words, draw in entries)


def _key(sample: frame.Sample) -> Key:
    board = SvgBoard(_SAMPLE[0] + 1.0, _SAMPLE[1] + 1.0)
    sample.draw(board, (0.5, 1.0, 0.5 + _SAMPLE[0], 0.4 + _SAMPLE[1]))
    return Key(Picture(board.width, board.height, board.markup()), sample.words)


def sheet_of(request: Request, bounds: Box) -> Sheet:
    """The largest scale at which the plan with its dimensions and names goes into WIDE by TALL."""
    return screen_sheet(request.scenario.room, bounds, (WIDE, TALL), _FOOT)


def screen_sheet(room: Room, bounds: Box, most: tuple[float, float], foot: float) -> Sheet:
    """A sheet for the screen, at the largest scale at which the plan goes into ``most``, width and height.

    ``most`` holds its dimensions and names as well; ``foot`` is added below.  Millimetres, ``bounds`` metres.
    """
    x_chain, y_chain = chains(room, bounds)
    sides = [_NAMES] * 4  # left, bottom, right, top
    sides[1 if x_chain.low_side else 3] = x_chain.depth
    sides[0 if y_chain.low_side else 2] = y_chain.depth
    left, low, right, top = sides
    across, deep = max(bounds[2] - bounds[0], 0.1), max(bounds[3] - bounds[1], 0.1)
    factor = min((most[0] - left - right) / across, (most[1] - low - top) / deep)
    width, height = across * factor + left + right, deep * factor + low + top + foot
    return Sheet(
        paper="",
        width=width,
        height=height,
        denominator=1000.0 / factor,
        scale_words="",
        origin=(left - bounds[0] * factor, foot + low - bounds[1] * factor),
        frame=(0.0, 0.0, width, height),
        plan=(0.0, foot, width, height),
        notes=None,
        title=(0.0, 0.0, width, foot),
        legend=(0.0, 0.0, 0.0, 0.0),
    )


def _ground_plan(request: Request, sheet: Sheet, bounds: Box) -> tuple[SvgBoard, Ground]:
    """Building, strips, stations, vehicles, dimensions, scale and north; and what names keep off."""
    scenario, layout = request.scenario, request.layout
    board = SvgBoard(sheet.width, sheet.height)
    shapes = furniture(sheet, scenario, layout)
    building.draw_building(board, sheet, scenario.room)
    draw_strips(board, shapes)
    draw_stations(board, sheet, scenario, layout)
    for vehicle in scenario.vehicles:
        alone = scenario.with_(vehicles=(vehicle,))
        with board.group(ink.Z_VEHICLE, class_="in", data_vehicle=vehicle.name):
            draw_vehicles(board, sheet, alone, layout)
        with board.group(ink.Z_VEHICLE, class_="out", data_vehicle=vehicle.name):
            draw_vehicles(board, sheet, alone, layout, frozenset([vehicle.name]))
            x, y = sheet.mm(layout.placements[vehicle.name].at)
            board.text((x, y - 5.5), "(out)", ink.NAME_SIZES[1], color=ink.SOFT_INK, align="center")
    ground = naming.ground_of(request, sheet, shapes)
    for chain in chains(scenario.room, bounds):
        ground.solids += draw_chain(board, sheet, chain, bounds, scenario.room, scenario.units)
    north = sheet.width - 18.0
    frame.scale_bar(board, sheet, scenario.units, (2.0, -5.6, min(north, 60.0), _FOOT))
    place = f"translate({number(north + 9.0)} {number(sheet.height - 6.4)}) scale(0.8)"
    with board.group(ink.Z_DIMENSION, transform=place):
        frame.north_arrow(board, (0.0, board.height))  # the group's origin: y runs down from the top
    return board, ground


def _names(
    board: SvgBoard,
    sheet: Sheet,
    request: Request,
    ground: Ground,
    failed: list[marks.Mark],
    shifts: Sequence[Shift] = (),
) -> list[marks.Mark]:
    """Names inside first, then the marks of failed checks, then the names that must be led out.

    The marks as they stand.
    """
    shapes = furniture(sheet, request.scenario, request.layout)
    numbers = {shift.name: shift.number for shift in shifts}
    inside, rest = place_inside(naming.thing_names(request, shapes, numbers), ground)
    failed = marks.place_marks(failed, ground)
    marks.draw_marks(board, failed)
    # between lines and numbers there is room for the names of what moves and no others
    wanted = [] if shifts else naming.area_names(sheet, request)
    areas, more = place_inside(wanted, ground)
    led, _ = lead_out((*rest, *more, *([] if shifts else naming.opening_names(sheet, request))), ground)
    with board.group(ink.Z_LEADER, class_="names"):
        for label in (*inside, *areas, *led):
            naming.draw_label(board, label)
    return failed


def _walk(
    board: SvgBoard,
    sheet: Sheet,
    request: Request,
    job: JobScore,
    index: int,
    solids: Sequence[shapely.Geometry],
) -> None:
    """The walk of one job in a group of its own, which the page shows when the job is chosen."""
    found = small_route(sheet, job, solids)
    out = sorted(request.out)
    with board.group(ink.Z_MARK + 0.5, class_="walk", data_job=float(index), data_out="\n".join(out) or None):
        routes.draw_route(board, found, request.job_color)


def walk_stops(job: JobScore) -> tuple[str, ...]:
    """The stops in the order of their numbers on the plan, in words."""
    order = dict.fromkeys(stop for leg in job.legs for stop in (leg.start, leg.end))
    return tuple(f"{stop.name} {stop.side}" if stop.side else stop.name for stop in order)
