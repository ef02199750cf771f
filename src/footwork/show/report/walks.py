"""The walk of a job on a small plan: tracks that keep to the true way, closer together than on paper.

On paper tracks that run along the same way lie side by side.  At a quarter of the size that would carry them
across the benches they pass, so here they keep within reach of the walker, and off what stands on the floor.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.ops import substring

from footwork.scoring import JobScore, Leg, Stop
from footwork.show.board import Points
from footwork.show.routes import STOP_RADIUS, Halt, Route, Track, shifted, straight_ends
from footwork.show.sheet import Sheet
from footwork.show.spread import spread

_LANES = (0.4, 1.1, 1.8, -0.3)  # millimetres to the right of the true way
_SWING = 3.0  # millimetres from a stop on which a track swings out
_NEAR = 0.6  # millimetres within which tracks cannot be told apart
_CROSSING = 3.0  # millimetres for which a track lies on another where it only crosses it
_THROUGH = 10.0  # millimetres of running together that a millimetre across a footprint is worth


def small_route(sheet: Sheet, job: JobScore, solids: Sequence[shapely.Geometry]) -> Route:
    """Stops numbered in the order first visited, and the distinct legs in the order first walked.

    ``solids`` are the footprints, in millimetres.
    """
    order: dict[Stop, int] = {}
    legs: dict[tuple[Stop, Stop], list[Leg]] = {}
    for leg in job.legs:
        for stop in (leg.start, leg.end):
            order.setdefault(stop, len(order) + 1)
        if leg.start != leg.end:
            legs.setdefault((leg.start, leg.end), []).append(leg)
    at = np.array([sheet.mm(stop.at) for stop in order]).reshape(-1, 2)
    drawn = spread(at, [STOP_RADIUS] * len(at), 0.3)
    halts = {stop: Halt(number, stop, at[number - 1], drawn[number - 1]) for stop, number in order.items()}
    ground = shapely.union_all(list(solids))
    shapely.prepare(ground)
    tracks: list[Track] = []
    for (start, end), walked in legs.items():
        line = straight_ends(sheet, walked[0], halts[start], halts[end])
        points = _aside(line, [t.points for t in tracks], ground)
        tracks.append(Track(halts[start], halts[end], walked[0], len(walked), points))
    return Route(tuple(halts.values()), tuple(tracks))


def _aside(line: Points, others: Sequence[Points], ground: shapely.Geometry) -> Points:
    """``line`` moved aside to where it shares least with other tracks and crosses no footprint."""
    if len(line) < 2:
        return line
    whole = shapely.LineString(line)
    swing = min(_SWING, 0.3 * whole.length)
    middle = shapely.get_coordinates(substring(whole, swing, whole.length - swing))
    drawn = [shapely.LineString(other) for other in others if len(other) > 1]
    best, least = line, math.inf
    for lane in _LANES:
        moved = shifted(middle, lane)
        way = shapely.LineString(moved)
        near = way.buffer(_NEAR, cap_style="flat")
        fault = sum(max(0.0, near.intersection(other).length - _CROSSING) for other in drawn)
        fault += _THROUGH * way.intersection(ground).length
        if fault < least - 1e-6:
            best, least = np.vstack([line[:1], moved, line[-1:]]), fault
    return best
