"""All walking of a layout as a density on the floor: how many times a year somebody walks over each place.

Every leg of every job, in every state of the vehicles, lays a band as wide as the walker along its way; where
bands lie on each other their times add up.  The sum is sampled on a grid and cut into classes whose limits
are round figures.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import contourpy
import numpy as np
import shapely
from numpy.typing import NDArray

from footwork.floor.plan import Plan
from footwork.floor.routes import Walks
from footwork.floor.shapes import StandingPlace, footprint
from footwork.model.scenario import Layout, Point, Scenario
from footwork.scoring import Score
from footwork.show import ink
from footwork.show.board import Board, polygons
from footwork.show.frame import Sample
from footwork.show.labels import Wanted
from footwork.show.notes import Note, Section
from footwork.show.sheet import Box, Sheet
from footwork.show.walked import walked

Floats = NDArray[np.float64]
STEP = 0.025
"""Metres between samples; a large floor is sampled more coarsely."""
_SAMPLES = 400_000
_SPECK = 0.02  # square metres: a smaller part of a class, or gap in it, is left out
_GRID = 1e-3  # metres that corners are rounded to where classes meet
_ROUND = tuple(m * 10**e for e in range(-1, 8) for m in (1, 2, 5))
_SMOOTH = 0.004  # metres that a class's edge may be moved to spare points
_PAIRS = 16


@dataclass(frozen=True, slots=True)
class Tread:
    """One way that is walked ``times`` a year, as a polyline in metres."""

    points: tuple[Point, ...]
    times: float


@dataclass(frozen=True, slots=True)
class Band:
    """The floor walked over at least ``low`` and less than ``high`` times a year, in metres."""

    low: float
    high: float
    area: shapely.Geometry
    color: str


@dataclass(frozen=True, slots=True)
class Density:
    """Walking on the floor: the ways, the floor by class, and the place walked over most."""

    treads: tuple[Tread, ...]
    bands: tuple[Band, ...]
    most: float
    most_at: Point | None
    blocked: bool
    """Whether a leg has no way wide enough, so that it is squeezed."""


def density(scenario: Scenario, layout: Layout) -> Density:
    """The walking of all jobs on the floor of ``layout``; times are times a year."""
    treads, blocked = _treads(scenario, layout)
    if not treads:
        return Density((), (), 0.0, None, blocked)
    xs, ys, times = field(treads, scenario.walker.width)
    most = float(times.max())
    row, column = _deepest(times >= most * (1 - 1e-9))
    return Density(treads, _bands(xs, ys, times, most), most, (float(xs[column]), float(ys[row])), blocked)


def _treads(scenario: Scenario, layout: Layout) -> tuple[tuple[Tread, ...], bool]:
    """Every distinct way with its times a year, in the order first walked, and whether one is blocked."""
    walks = Walks(Plan(scenario, layout), squeeze=True)
    times: dict[tuple[frozenset[str], StandingPlace, StandingPlace, float], float] = {}
    ways: dict[tuple[frozenset[str], StandingPlace, StandingPlace, float], tuple[Point, ...]] = {}
    blocked = False
    for job in scenario.jobs:
        for state in walks.job(job).states:
            vehicles = state.present
            for leg in state.legs:
                key = (vehicles, leg.start, leg.end, leg.width)
                if key not in ways:
                    ways[key] = walks.path(vehicles, leg).points
                blocked |= leg.blocked
                times[key] = times.get(key, 0.0) + job.times_per_year * state.share
    return tuple(Tread(ways[k], t) for k, t in times.items() if len(ways[k]) > 1 and t > 0), blocked


def field(treads: Sequence[Tread], width: float) -> tuple[Floats, Floats, Floats]:
    """Samples of the times a year: coordinates along x and along y, and the times, shape (y, x).

    A band is ``width`` metres wide.
    """
    points = np.vstack([np.asarray(t.points) for t in treads])
    low, high = points.min(axis=0) - width, points.max(axis=0) + width
    step = max(STEP, math.sqrt(float(np.prod(high - low)) / _SAMPLES))
    # on one grid for the whole plane, half a step off round figures: the same walk gives the same shape
    # wherever else is walked, and no sample falls on the edge of a band
    first, last = np.floor(low / step), np.ceil(high / step)
    xs, ys = ((np.arange(a, b + 1) + 0.5) * step for a, b in zip(first, last, strict=True))
    times = np.zeros((len(ys), len(xs)))
    reach = width / 2 + step
    for tread in treads:
        line = np.asarray(tread.points)
        a, b = line.min(axis=0) - reach, line.max(axis=0) + reach
        i0, i1 = np.searchsorted(xs, (a[0], b[0]))
        j0, j1 = np.searchsorted(ys, (a[1], b[1]))
        far = _distance(xs[i0:i1], ys[j0:j1], line)
        times[j0:j1, i0:i1] += tread.times * (far <= width / 2)
    return xs, ys, times


def _distance(xs: Floats, ys: Floats, line: Floats) -> Floats:
    """Metres from each point of the grid to a polyline, shape (y, x)."""
    gx, gy = np.meshgrid(xs, ys)
    least = np.full(gx.shape, np.inf)
    for (ax, ay), (bx, by) in pairwise(line):
        dx, dy = bx - ax, by - ay
        size = dx * dx + dy * dy
        share = np.clip(((gx - ax) * dx + (gy - ay) * dy) / size, 0.0, 1.0) if size > 0 else 0.0
        least = np.minimum(least, np.hypot(gx - ax - share * dx, gy - ay - share * dy))
    return least


def limits(most: float) -> list[float]:
    """Lower limits of the classes above the first: round figures below ``most``, at most five."""
    return [float(v) for v in _ROUND if v < 0.8 * most][-(len(ink.WALKING) - 1) :]


def _bands(xs: Floats, ys: Floats, times: Floats, most: float) -> tuple[Band, ...]:
    cuts = limits(most)
    lows = [0.0, *cuts]
    above = [_above(xs, ys, times > 0 if low == 0 else times >= low) for low in lows]
    colors = ink.WALKING[len(ink.WALKING) - len(lows) :]
    inner = [*above[1:], shapely.Polygon()]
    bands = (
        Band(low, high, _parts(shapely.difference(a, b, grid_size=_GRID), _SPECK / 4), color)
        for low, high, a, b, color in zip(lows, [*cuts, math.inf], above, inner, colors, strict=True)
    )
    return tuple(band for band in bands if not band.area.is_empty)


def _parts(shape: shapely.Geometry, least: float) -> shapely.Geometry:
    """The parts of more than ``least`` square metres, their gaps of less than that closed."""
    parts = [
        shapely.Polygon(p.exterior, [r for r in p.interiors if shapely.Polygon(r).area > least])
        for p in polygons(shape)
        if p.area > least
    ]
    return shapely.MultiPolygon(parts)


def _above(xs: Floats, ys: Floats, inside: NDArray[np.bool_]) -> shapely.Geometry:
    """The floor of the samples ``inside``, its outline smoothed, in metres.

    Smoothing the yes or no of each class, not the times, keeps the border of a way walked often free of
    rims that would say it is walked seldom.
    """
    soft = inside.astype(np.float64)
    for axis in (0, 1, 0, 1):
        soft = _mean(soft, axis)
    maker = contourpy.contour_generator(xs, ys, soft, fill_type="OuterOffset")
    area = shapely.union_all([_polygon(*p) for p in zip(*maker.filled(0.5, math.inf), strict=True)])
    return _parts(shapely.simplify(area, _SMOOTH), _SPECK)


def _deepest(inside: NDArray[np.bool_]) -> tuple[int, int]:
    """The sample that lies furthest within ``inside``, by repeated smoothing."""
    soft = inside.astype(np.float64)
    for axis in (0, 1) * 6:
        soft = _mean(soft, axis)
    row, column = np.unravel_index(int(np.argmax(np.round(soft, 9) * inside)), inside.shape)
    return int(row), int(column)


def _mean(values: Floats, axis: int) -> Floats:
    """The mean of each sample and its two neighbours on either side along ``axis``."""
    wide = np.pad(values, [(2, 2) if k == axis else (0, 0) for k in (0, 1)])
    size = values.shape[axis]
    mean: Floats = sum(np.take(wide, range(k, k + size), axis) for k in range(5)) / 5.0  # type: ignore[assignment]
    return mean


def _polygon(points: Floats, offsets: NDArray[np.uint32]) -> shapely.Geometry:
    rings = [points[a:b] for a, b in pairwise(offsets)]
    polygon = shapely.Polygon(rings[0], rings[1:])
    return polygon if polygon.is_valid else polygon.buffer(0)


def draw_density(board: Board, sheet: Sheet, found: Density) -> None:
    """The classes, each with a fine pale rim, from the least walked to the most."""
    for band in found.bands:
        shape = shapely.transform(band.area, sheet.mm)
        board.shape(shape, fill=band.color, edge=ink.PAPER, weight=ink.HAIR, z=ink.Z_WALKING)
    if found.most_at is not None:
        at = sheet.mm(found.most_at)
        board.circle(at, 1.1, fill=ink.PAPER, edge=ink.INK, weight=0.8, z=ink.Z_WALKING + 0.2)


def most_name(sheet: Sheet, found: Density) -> list[Wanted]:
    """The name of the place walked over most, to be led out."""
    if found.most_at is None:
        return []
    words = f"walked over most: {_figure(found.most)} times a year"
    home = shapely.Point(sheet.mm(found.most_at)).buffer(1.1)
    return [Wanted(words, home, inside=False, color=ink.INK)]


def samples(found: Density) -> list[Sample]:
    """The legend's entries: the classes from the least walked to the most."""
    entries = []
    for k, band in enumerate(found.bands):
        if k == 0 and len(found.bands) == 1:
            words = f"walked over up to {_figure(found.most)} times a year"
        elif k == 0:
            words = f"walked over up to {_figure(band.high)} times a year"
        elif k == len(found.bands) - 1:
            words = f"{_figure(band.low)} and more"
        else:
            words = f"{_figure(band.low)} to {_figure(band.high)}"
        entries.append(Sample(words, _swatch(band.color)))
    return entries


def _swatch(color: str) -> Callable[[Board, Box], None]:
    def draw(board: Board, box: Box) -> None:
        board.shape(shapely.box(*box), fill=color, edge=ink.FINE, weight=ink.HAIR, z=ink.Z_MARK)

    return draw


def _figure(value: float) -> str:
    return f"{value:,.0f}" if value >= 10 else f"{value:.2g}"


def walking_section(scenario: Scenario, layout: Layout, score: Score, found: Density) -> Section:
    """The metres a year between pairs of places, both ways together, most first."""
    pairs: dict[tuple[str, str], float] = {}
    for (start, end), metres in score.from_to.items():
        if start != end:
            key = (start, end) if start <= end else (end, start)
            pairs[key] = pairs.get(key, 0.0) + metres
    ranked = sorted(((m, p) for p, m in pairs.items() if m > 0), key=lambda item: (-item[0], item[1]))
    told = walked(scenario)
    notes = [Note(f"{a} and {b}", told.total(metres)) for metres, (a, b) in ranked[:_PAIRS]]
    if len(ranked) > _PAIRS:
        rest = sum(metres for metres, _ in ranked[_PAIRS:])
        notes.append(Note(f"{len(ranked) - _PAIRS} other pairs", told.total(rest), gap=1.0))
    if not notes:
        notes.append(Note("No job is walked: add one under [jobs.NAME]"))
    for vehicle in scenario.vehicles:
        body = shapely.Polygon(footprint(vehicle, layout.placements[vehicle.name])).buffer(-0.05)
        if any(band.area.intersects(body) for band in found.bands):
            words = f"What is walked across {vehicle.name} is walked while it is out."
            notes.append(Note(words, color=ink.SOFT_INK, gap=1.5))
    if found.blocked:
        words = "Some of it is squeezed through gaps too narrow: footwork score says what"
        notes.append(Note(words, color=ink.FAIL, gap=1.0))
    return Section(f"Walked between, {told.word} a year", tuple(notes), ": footwork score")
