"""A room by the lengths of its walls, one after the other.

Metres; bearings in degrees clockwise from north.  The first wall begins at (0, 0).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from footwork.model.errors import UsageError
from footwork.model.scenario import TOLERANCE, Point, Ring, Room

CLOSE = 0.10
"""Metres between the end of the last wall and the start of the first that a tape may be off by."""
STRAIGHT = 1e-6
QUARTERS = (90.0, 0.0, 270.0, 180.0)
FEWEST = 3


@dataclass(frozen=True, slots=True)
class Leg:
    """One wall as it is walked along: how far and which way."""

    metres: float
    bearing: float

    @property
    def run(self) -> Point:
        """What it adds to east and north."""
        x, y = math.sin(math.radians(self.bearing)), math.cos(math.radians(self.bearing))
        return (_exact(x) * self.metres, _exact(y) * self.metres)


def _exact(value: float) -> float:
    """0, 1 and -1 without what rounding leaves of them."""
    return float(round(value)) if abs(value - round(value)) < 1e-12 else value


@dataclass(frozen=True, slots=True)
class Traced:
    """Corners of the room, the walls that were added to close it, and what the tape is off, in metres."""

    corners: Ring
    added: tuple[Leg, ...] = ()
    off: float = 0.0


def traced(legs: Sequence[Leg]) -> Traced:
    """Follow the walls; what is missing is added: one wall straight back, or two at right angles.

    Raises UsageError where they are too few to close anything.
    """
    corners: list[Point] = [(0.0, 0.0)]
    for k, leg in enumerate(legs):
        if not leg.metres > TOLERANCE:
            raise UsageError(f"wall {k + 1}: it has to be longer than nothing")
        x, y = corners[-1]
        corners.append((x + leg.run[0], y + leg.run[1]))
    end = corners[-1]
    gap = math.dist(end, corners[0])
    if len(legs) >= FEWEST and gap <= CLOSE:
        return Traced(_rounded(corners[:-1]), off=gap if gap > TOLERANCE else 0.0)
    added = _closing(legs, end)
    if len(legs) + len(added) < FEWEST:
        raise UsageError("two walls at an angle, at least, make a room: give the next")
    for leg in added[:-1]:
        corners.append((corners[-1][0] + leg.run[0], corners[-1][1] + leg.run[1]))
    return Traced(_rounded(corners), added)


def _closing(legs: Sequence[Leg], end: Point) -> tuple[Leg, ...]:
    """The walls from ``end`` back to (0, 0): at right angles where all others are."""
    back = (-end[0], -end[1])
    square = all(leg.bearing % 90.0 < STRAIGHT for leg in legs)
    if not square or min(abs(back[0]), abs(back[1])) <= TOLERANCE or not legs:
        return (Leg(math.hypot(*back), math.degrees(math.atan2(*back)) % 360.0),)
    across = Leg(abs(back[0]), 90.0 if back[0] > 0 else 270.0)
    along = Leg(abs(back[1]), 0.0 if back[1] > 0 else 180.0)
    runs_across = legs[-1].bearing % 180.0 > 45.0
    return (along, across) if runs_across else (across, along)


def _rounded(corners: Sequence[Point]) -> Ring:
    """Without corners that are none, to the hundredth of a millimetre."""
    ring = [(round(x, 5) + 0.0, round(y, 5) + 0.0) for x, y in corners]
    return tuple(at for k, at in enumerate(ring) if not _straight(ring[k - 1], at, ring[(k + 1) % len(ring)]))


def _straight(a: Point, b: Point, c: Point) -> bool:
    ahead, after = (b[0] - a[0], b[1] - a[1]), (c[0] - b[0], c[1] - b[1])
    turn = ahead[0] * after[1] - ahead[1] * after[0]
    return abs(turn) <= STRAIGHT and ahead[0] * after[0] + ahead[1] * after[1] > 0


def rectangle(ring: Ring) -> tuple[float, float] | None:
    """Its sides, east to west and south to north, where it is a rectangle along the axes."""
    xs, ys = sorted({x for x, _ in ring}), sorted({y for _, y in ring})
    if len(ring) != 4 or len(xs) != 2 or len(ys) != 2:
        return None
    return (round(xs[1] - xs[0], 5), round(ys[1] - ys[0], 5))


def legs_of(room: Room) -> tuple[Leg, ...]:
    """The walls of a room, one after the other as its file counts them."""
    if room.size is not None:
        wide, deep = room.size
        return tuple(Leg(m, b) for m, b in zip((wide, deep, wide, deep), QUARTERS, strict=True))
    return tuple(Leg(math.dist(w.start, w.end), bearing(w.start, w.end)) for w in room.walls)


def bearing(start: Point, end: Point) -> float:
    """The bearing from one point to another, to a ten thousandth of a degree."""
    return round(math.degrees(math.atan2(end[0] - start[0], end[1] - start[1])), 4) % 360.0
