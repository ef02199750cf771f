"""The route of one job on a plan: numbered stops, and a track with an arrow for each way walked.

A leg walked again is drawn once, the wider the more often.  Tracks keep to the right of the true path, so
that both directions show, and further to the right where another track runs along the same way.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.ops import substring

from footwork.model.units import format_length
from footwork.scoring import JobScore, Leg, Stop
from footwork.show import ink
from footwork.show.board import At, Board, Points
from footwork.show.notes import Note, Section
from footwork.show.sheet import Box, Sheet
from footwork.show.spread import spread
from footwork.show.squeezed import how

STOP_RADIUS = 2.0
_LANE = 1.3  # millimetres between tracks side by side
_FIRST_LANE = 0.75
_LANES = 6
_SWING = 4.5  # millimetres from a stop on which a track swings out to its lane
_CROSSING = 3.2  # millimetres for which a track lies on another where it only crosses it
_TOGETHER = 2.0  # millimetres more that tracks in one lane may run together
_THROUGH = 25.0  # millimetres of running together that a track through another stop counts as
_ARROW = 2.5
_SHARES = (0.6, 0.5, 0.7, 0.4, 0.78, 0.3)


@dataclass(frozen=True)
class Halt:
    """A numbered stop: where it is, in millimetres, and where its number is drawn."""

    number: int
    stop: Stop
    at: Points
    drawn: Points


@dataclass(frozen=True)
class Track:
    """A way walked from one halt to another, ``times`` in the job; ``points`` on paper."""

    start: Halt
    end: Halt
    leg: Leg
    times: int
    points: Points

    @property
    def weight(self) -> float:
        """Points: the wider the more often it is walked in the job."""
        return ink.ROUTE_LINES[min(self.times, len(ink.ROUTE_LINES)) - 1]

    @property
    def squeezed(self) -> bool:
        """Whether there is no way wide enough."""
        return self.leg.squeezed is not None


@dataclass(frozen=True)
class Route:
    """The drawing of one job's walk."""

    halts: tuple[Halt, ...]
    tracks: tuple[Track, ...]

    @property
    def circles(self) -> list[shapely.Geometry]:
        """The numbers' discs."""
        return [shapely.Point(h.drawn).buffer(STOP_RADIUS) for h in self.halts]

    @property
    def lines(self) -> list[shapely.Geometry]:
        """The tracks as lines."""
        return [shapely.LineString(t.points) for t in self.tracks if len(t.points) > 1]


def route(sheet: Sheet, job: JobScore) -> Route:
    """Stops numbered in the order first visited, and the distinct legs in the order first walked."""
    order: dict[Stop, int] = {}
    legs: dict[tuple[Stop, Stop], list[Leg]] = {}
    for leg in job.legs:
        for stop in (leg.start, leg.end):
            order.setdefault(stop, len(order) + 1)
        if leg.start != leg.end:
            legs.setdefault((leg.start, leg.end), []).append(leg)
    at = np.array([sheet.mm(stop.at) for stop in order]).reshape(-1, 2)
    drawn = spread(at, [STOP_RADIUS] * len(at), 0.5)
    halts = {stop: Halt(number, stop, at[number - 1], drawn[number - 1]) for stop, number in order.items()}
    tracks: list[Track] = []
    for (start, end), walked in legs.items():
        line = straight_ends(sheet, walked[0], halts[start], halts[end])
        stops = [h.drawn for h in halts.values() if h.stop not in (start, end)]
        points = _lane(line, [t.points for t in tracks], stops)
        tracks.append(Track(halts[start], halts[end], walked[0], len(walked), points))
    return Route(tuple(halts.values()), tuple(tracks))


def straight_ends(sheet: Sheet, leg: Leg, start: Halt, end: Halt) -> Points:
    """The way on the sheet from one number to the other; empty where there is none."""
    if len(leg.path) < 2:
        return np.empty((0, 2))
    points: Points = sheet.mm(leg.path)
    points[0], points[-1] = start.drawn, end.drawn
    step = np.hypot(*np.diff(points, axis=0).T)
    kept: Points = points[np.concatenate([[True], step > 1e-6])]
    return kept


def _lane(line: Points, others: Sequence[Points], stops: Sequence[Points]) -> Points:
    """``line`` moved to the right, to the first lane with no other track along it and no other stop on it.

    Both ends stay at their stops: the track swings out to its lane on the first millimetres.
    """
    if len(line) < 2:
        return line
    whole = shapely.LineString(line)
    swing = min(_SWING, 0.3 * whole.length)
    middle = shapely.get_coordinates(substring(whole, swing, whole.length - swing))
    drawn = [shapely.LineString(o) for o in others if len(o) > 1]
    best, least = line, math.inf
    for k in range(_LANES):
        moved = shifted(middle, _FIRST_LANE + k * _LANE)
        near = shapely.LineString(moved).buffer(0.7 * _LANE, cap_style="flat")
        shared = sum(max(0.0, near.intersection(o).length - _CROSSING) for o in drawn)
        track = np.vstack([line[:1], moved, line[-1:]])
        way = shapely.LineString(track)
        shared += _THROUGH * sum(way.distance(shapely.Point(s)) < STOP_RADIUS + 0.3 for s in stops)
        if shared < _TOGETHER:
            return track
        if shared < least:
            best, least = track, shared
    return best


def shifted(line: Points, distance: float) -> Points:
    """A polyline moved ``distance`` to its right, corners mitred; a point told twice has the corner's."""
    steps = np.diff(line, axis=0)
    lengths = np.hypot(*steps.T)
    if not lengths.all():
        there = np.concatenate(([0], np.cumsum(lengths > 0.0)))
        once = line[np.concatenate(([True], lengths > 0.0))]
        return line if len(once) < 2 else shifted(once, distance)[there]
    along = steps / lengths[:, None]
    right = np.column_stack([along[:, 1], -along[:, 0]])
    before, after = np.vstack([right[:1], right]), np.vstack([right, right[-1:]])
    middle = before + after
    size = np.hypot(*middle.T)
    middle = np.where(size[:, None] > 0.2, middle / np.maximum(size, 1e-9)[:, None], after)
    reach = np.minimum(1 / np.maximum((middle * after).sum(axis=1), 0.4), 2.0)
    moved: Points = line + distance * reach[:, None] * middle
    return moved


def draw_route(board: Board, found: Route, color: str) -> None:
    """Tracks, arrows and numbered stops, in ``color``."""
    for track in found.tracks:
        if len(track.points) < 2:
            continue
        if track.squeezed:
            weight = max(track.weight, ink.ROUTE_LINES[1])
            board.line(track.points, color=ink.FAIL, weight=weight, dash=ink.DASHED, z=ink.Z_ROUTE)
            continue
        board.line(track.points, color=ink.PAPER, weight=track.weight + 1.2, z=ink.Z_ROUTE - 0.1)
        board.line(track.points, color=color, weight=track.weight, z=ink.Z_ROUTE, round_ends=True)
    for shape in arrow_shapes(found):
        board.shape(shape, fill=color, edge=ink.PAPER, weight=0.5, z=ink.Z_ARROW)
    for halt in found.halts:
        board.circle(halt.drawn, STOP_RADIUS + 0.25, fill=ink.PAPER, z=ink.Z_STOP - 0.1)
        stop_symbol(board, halt.drawn, halt.number, color)


def sketch_route(board: Board, found: Route, color: str) -> None:
    """Tracks and numbered stops without arrows, in few elements: for a drawing that is replaced at once."""
    lines: dict[tuple[float, str], list[Points]] = {}
    for track in found.tracks:
        if len(track.points) > 1:
            lines.setdefault((track.weight, ink.FAIL if track.squeezed else color), []).append(track.points)
    for (weight, tone), points in lines.items():
        board.lines(points, color=tone, weight=weight, z=ink.Z_ROUTE)
    for halt in found.halts:
        stop_symbol(board, halt.drawn, halt.number, color)


def stop_symbol(board: Board, at: At, number: int, color: str) -> None:
    """The disc with a stop's number."""
    board.circle(at, STOP_RADIUS, fill=color, z=ink.Z_STOP)
    size = 7.5 if number < 10 else 6.4
    base = (float(at[0]), float(at[1]) - 0.365 * size * ink.POINT)
    board.text(base, str(number), size, color=ink.PAPER, bold=True, align="center", z=ink.Z_STOP + 0.1)


def arrow_shapes(found: Route) -> list[shapely.Polygon]:
    """The arrowheads of all tracks."""
    tips: list[Points] = []
    return [shape for track in found.tracks if len(track.points) > 1 for shape in _arrows(track, found, tips)]


def _arrows(track: Track, found: Route, tips: list[Points]) -> Iterator[shapely.Polygon]:
    """An arrowhead where no other and no stop is; two on a long track.  ``tips`` are those there are."""
    line = shapely.LineString(track.points)
    shares = _SHARES if line.length < 110 else (0.25, *_SHARES)
    placed = 0
    wanted = 1 if line.length < 110 else 2
    for share in shares:
        tip = shapely.get_coordinates(line.interpolate(share, normalized=True))[0]
        back = shapely.get_coordinates(line.interpolate(max(0.0, share * line.length - 1.0)))[0]
        near_stop = min(float(np.hypot(*(h.drawn - tip))) for h in found.halts) < STOP_RADIUS + 1.4
        near_arrow = any(float(np.hypot(*(a - tip))) < 2.0 for a in tips)
        last = share == shares[-1] and not placed
        if (near_stop or near_arrow) and not last:
            continue
        along = (tip - back) / max(float(np.hypot(*(tip - back))), 1e-9)
        side = np.array([along[1], -along[0]])
        size = _ARROW * (0.7 if line.length < 2 * STOP_RADIUS + 3 else 1.0) * max(1.0, track.weight / 2.0)
        root = tip - 0.5 * size * along
        yield shapely.Polygon(
            [tip + 0.5 * size * along, root + 0.38 * size * side, root - 0.38 * size * side]
        )
        tips.append(tip)
        placed += 1
        if placed == wanted:
            return


def route_section(found: Route, job: JobScore, color: str, units: str) -> Section:
    """The notes of a job: its stops, its legs with their lengths, the total."""

    def stop_note(halt: Halt) -> Note:
        side = f", {halt.stop.side}" if halt.stop.side else ""
        return Note(
            f"{halt.stop.name}{side}", symbol=lambda b, at: stop_symbol(b, at, halt.number, color), gap=0.6
        )

    notes = [stop_note(halt) for halt in found.halts]
    for k, track in enumerate(found.tracks):
        again = f", {track.times} times" if track.times > 1 else ""
        words = f"{track.start.number} to {track.end.number}{again}"
        if track.squeezed:
            words += f", {how(track.leg, units)}"
        tone = ink.FAIL if track.squeezed else ink.INK
        figure = format_length(track.leg.metres, units)
        notes.append(Note(words, figure, indent=True, color=tone, gap=0 if k else 2.0))
    tight = job.narrowest
    if tight is not None:
        one, other = tight.between
        words = f"narrowest {format_length(tight.width, units)}, between {one} and {other}"
        notes.append(Note(words, indent=True, gap=2.0, color=ink.SOFT_INK))
    return Section(f"Walk of {job.name}", tuple(notes), f": footwork walk --job {job.name}")


def squeezed_sample(board: Board, box: Box) -> None:
    """A leg without a way that is wide enough."""
    middle = (box[1] + box[3]) / 2
    ends = [(box[0], middle), (box[2], middle)]
    board.line(ends, color=ink.FAIL, weight=ink.ROUTE_LINES[1], dash=ink.DASHED, z=ink.Z_ROUTE)


def often_samples(job: JobScore, color: str) -> list[tuple[str, Callable[[Board, Box], None]]]:
    """The legend's entries for the widths of the tracks: words, and what draws each."""

    def line(weight: float) -> Callable[[Board, Box], None]:
        def draw(board: Board, box: Box) -> None:
            middle = (box[1] + box[3]) / 2
            board.line([(box[0], middle), (box[2], middle)], color=color, weight=weight, z=ink.Z_ROUTE)

        return draw

    counts = Counter((leg.start, leg.end) for leg in job.legs if leg.squeezed is None)
    there = {min(times, len(ink.ROUTE_LINES)) for times in counts.values()}
    words = ("walked once in the job", "twice", "3 times", "4 times or more")
    entries = [(words[k - 1], line(ink.ROUTE_LINES[k - 1])) for k in sorted(there)]
    if any(leg.squeezed is not None for leg in job.legs):
        entries.append(("squeezed: no way wide enough", squeezed_sample))
    return entries
