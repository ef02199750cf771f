"""The widest disc that can make a way, and the gap that holds a wider one back.

The widest disc that can go from one point to another passes, at its tightest, between two things that are
nearest to each other there, or is as wide as its ends allow.  So the widths at which a way can open or close
between given ends are the distances between pairs of pieces, and the answer is found by bisection over them.
It is what a tape shows there: that a gap lets a walker through who is wider by the tolerance is not in it.
Metres, in the room's frame.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from footwork.compiled.functions import entry
from footwork.floor.contact import (
    EAST,
    END,
    FIRST,
    NORTH,
    RADIUS,
    SOUTH,
    WEST,
    Arrays,
    Floats,
    X,
    Y,
    point_distance,
)
from footwork.floor.gaps import Narrow, narrowest
from footwork.floor.passing import FINE, ROUNDING, distances_to, gaps_between
from footwork.floor.scene import Scene
from footwork.model.scenario import TOLERANCE, Door, Point

THIRDS, HALVES = 60, 50
"""Steps in which the nearest point of a segment and the ends of a stretch are found: to the last digit."""
FROM, TO = range(2)
"""Columns of stretches of a segment."""


def gap_widths(scene: Scene, limit: float) -> NDArray[np.float64]:
    """Distances between pairs of pieces, up to ``limit``, in order."""
    return np.unique(gaps_between(scene.arrays, limit, scene.tolerance))


def what_holds(scene: Scene, names: Sequence[str], start: Point, end: Point, width: float) -> Narrow | None:
    """The narrowest gap that would have to open for a disc of ``width`` to go from ``start`` to ``end``.

    ``names`` has a name for each piece (``Plan.piece_names``).  None when an end itself is too close to
    something, or when it would not help to widen any gap that is there.
    """
    for low in reversed([w for w in gap_widths(scene, width) if w < width]):
        way = scene.path(start, end, low / 2)
        if way.found:
            return narrowest(scene, names, way.points)
    return None


def crowding(scene: Scene, names: Sequence[str], place: Point) -> tuple[str, float]:
    """What stands nearest to a point, and how far away it is (negative inside it)."""
    near = distances_to(scene.arrays, float(place[0]), float(place[1]))
    nearest = int(np.argmin(near))
    return names[nearest], float(near[nearest])


def widest(scene: Scene, start: Point, end: Point, limit: float) -> float:
    """Greatest width, up to ``limit``, of a disc whose centre can go from ``start`` to ``end``.

    0 when none can.
    """
    gaps = gap_widths(scene, limit)
    return greatest_width(lambda w: math.isfinite(scene.length(start, end, w / 2)), gaps, limit)


def widest_from(
    scene: Scene,
    region: ArrayLike,
    ends: Callable[[float], Sequence[Point]],
    limit: float,
    gaps: NDArray[np.float64] | None = None,
    known: dict[float, Open] | None = None,
) -> float:
    """Greatest width, up to ``limit``, of a disc that can start anywhere with its centre in ``region``.

    ``region`` is a convex ring (n, 2); ``ends(width)`` gives the places one of which it must reach.  0 when
    no disc gets out.  Where a caller asks for many regions of one scene, ``gaps`` are its ``gap_widths`` up
    to ``limit``, and ``known`` is kept from one to the next: what is open to discs of each width.
    """
    ring = np.asarray(region, dtype=np.float64).reshape(-1, 2)
    opens = {} if known is None else known

    def can(width: float) -> bool:
        if width not in opens:
            opens[width] = Open(scene, tuple(ends(width)), width)
        return opens[width].left_from(ring)

    return greatest_width(can, gap_widths(scene, limit) if gaps is None else gaps, limit)


@dataclass(frozen=True, eq=False)
class Open:
    """Where a disc of a ``width`` can get to from some ``ends``: each place by way of one known before."""

    scene: Scene
    ends: tuple[Point, ...]
    width: float
    known: dict[Point, bool] = field(default_factory=dict)
    reached: list[Point] = field(default_factory=list)

    def reaches(self, at: Point) -> bool:
        """Whether there is a way from an end to a place: as much as from a place that was reached."""
        if at in self.known:
            return self.known[at]
        near = min(self.reached, key=lambda other: math.dist(other, at), default=None)
        by = self.ends if near is None else (near, *self.ends)
        found = self.known[at] = any(self._between(known, at) for known in by)
        if found:
            self.reached.append(at)
        return found

    def left_from(self, ring: NDArray[np.float64]) -> bool:
        """Whether the disc gets to an end from anywhere with its centre in a convex ring (n, 2).

        A way out of the ring crosses its edge, so ways are looked for from the free stretches of the edge; an
        end inside it is reached where the disc has room there.
        """
        if any(inside_ring(ring, end) and self._between(end, end) for end in self.ends):
            return True
        return bool(self.ends) and any(map(self.reaches, free_on_edge(self.scene, ring, self.width / 2)))

    def _between(self, one: Point, other: Point) -> bool:
        return math.isfinite(self.scene.length(one, other, self.width / 2))


def greatest_width(can: Callable[[float], bool], gaps: NDArray[np.float64], limit: float) -> float:
    """Greatest width that there is: one of ``gaps`` where such a gap decides, else to the tolerance.

    ``can`` says whether a disc passes.  One passes that is wider by the tolerance than what is there, and by
    twice as much where it keeps to the middle.  ``limit`` is the answer where a disc of it passes.
    """
    if can(limit):
        return limit

    def there(width: float) -> bool:
        return can(width + TOLERANCE - ROUNDING)

    steps: list[float] = [0.0, *gaps.tolist(), limit]
    first, last = 0, len(steps) - 1
    while last - first > 1:
        middle = (first + last) // 2
        if there(steps[middle]):
            first = middle
        else:
            last = middle
    low, high = steps[first], steps[last]
    if high - low <= 2 * TOLERANCE or not there(low + 2 * TOLERANCE):
        return low
    while high - low > FINE:
        width = (low + high) / 2
        if there(width):
            low = width
        else:
            high = width
    return low


def door_ends(scene: Scene, door: Door, width: float) -> list[Point]:
    """Where a disc that leaves by a door may stand in its opening, half its width from the door.

    One point on each stretch that is free between the jambs; none where the opening is too narrow.
    """
    if door.width < width - 2 * TOLERANCE:
        return []
    (x, y), (nx, ny) = door.middle, door.inward
    play = max(0.0, door.width - width) / 2
    along = np.array((ny, -nx)) * play
    middle = np.array((x + nx * width / 2, y + ny * width / 2))
    if play == 0.0:
        return [(float(middle[0]), float(middle[1]))]
    return _free_on(scene, np.concatenate([middle - along, middle + along])[None], width / 2)


def inside_ring(ring: NDArray[np.float64], point: Point) -> bool:
    """Whether a point lies in a convex ring, either way round, or on its edge."""
    corners = ring.tolist()
    left = right = True
    for (ax, ay), (bx, by) in zip(corners, (*corners[1:], corners[0]), strict=True):
        turn = (bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)
        left, right = left and turn >= 0.0, right and turn <= 0.0
    return left or right


def free_on_edge(scene: Scene, ring: NDArray[np.float64], radius: float) -> list[Point]:
    """A point of each stretch of the ring's edge on which the centre of a disc can be."""
    return _free_on(scene, np.hstack([ring, np.concatenate((ring[1:], ring[:1]))]), radius)


def _free_on(scene: Scene, segments: NDArray[np.float64], radius: float) -> list[Point]:
    """A point of each stretch of some segments (n, 4) on which the centre of a disc can be."""
    found = _free(scene.arrays, segments, float(radius - scene.tolerance))
    return [(x, y) for x, y in found.tolist()]


@entry
def _free(s: Arrays, segments: Floats, near: float) -> Floats:
    """The middle of each stretch of each segment (n, 4) that is no nearer than ``near`` to any piece: (m, 2).

    An end that such a stretch has shrunk to counts too.
    """
    out, count = np.empty((len(segments) * (len(s.span) + 1), 2)), 0
    for k in range(len(segments)):
        a, b = segments[k, :2], segments[k, 2:]
        blocked = _blocked(s, a, b, near)
        order = blocked[:, TO].argsort(kind="mergesort")
        order = order[blocked[order, FROM].argsort(kind="mergesort")]
        at = 0.0
        for m in range(len(order) + 1):
            low, high = 1.0, 1.0
            if m < len(order):
                low, high = blocked[order[m], FROM], blocked[order[m], TO]
            if low > high:
                continue
            if low > at or (low == at and (at == 0.0 or at == 1.0) and low == high):
                t = (at + low) / 2
                out[count, X], out[count, Y] = a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])
                count += 1
            at = max(at, high)
    return out[:count]


@entry
def _blocked(s: Arrays, a: Floats, b: Floats, near: float) -> Floats:
    """For each piece the stretch of the segment a b nearer to it than ``near``: (m, 2), from and to.

    Both are shares of the segment, 0 at a and 1 at b; (1, 0) where no part is so near.  The distance to a
    convex piece is convex along a line: one least value, one stretch.
    """
    out = np.empty((len(s.span), 2))
    for m in range(len(s.span)):
        first, last = s.span[m, FIRST], s.span[m, END]
        out[m, FROM], out[m, TO] = 1.0, 0.0
        reach = near + s.ball[m, RADIUS] + math.hypot(b[0] - a[0], b[1] - a[1]) / 2
        if math.hypot(s.ball[m, X] - (a[0] + b[0]) / 2, s.ball[m, Y] - (a[1] + b[1]) / 2) > reach:
            continue
        beside_x = max(s.box[m, WEST] - max(a[0], b[0]), min(a[0], b[0]) - s.box[m, EAST], 0.0)
        beside_y = max(s.box[m, SOUTH] - max(a[1], b[1]), min(a[1], b[1]) - s.box[m, NORTH], 0.0)
        if math.hypot(beside_x, beside_y) > max(near, 0.0):  # a long wall's ball reaches everywhere
            continue
        low, high = 0.0, 1.0
        for _ in range(THIRDS):
            x, y = low + (high - low) / 3, high - (high - low) / 3
            fx = point_distance(s.vert, first, last, a[0] + x * (b[0] - a[0]), a[1] + x * (b[1] - a[1]))
            fy = point_distance(s.vert, first, last, a[0] + y * (b[0] - a[0]), a[1] + y * (b[1] - a[1]))
            if fx < fy:
                high = y
            else:
                low = x
        least = (low + high) / 2
        value = point_distance(
            s.vert, first, last, a[0] + least * (b[0] - a[0]), a[1] + least * (b[1] - a[1])
        )
        if value >= near:
            continue
        for side in (FROM, TO):
            inside, outside = least, float(side)
            for _ in range(HALVES):
                t = (inside + outside) / 2
                d = point_distance(s.vert, first, last, a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]))
                if d < near:
                    inside = t
                else:
                    outside = t
            out[m, side] = outside
    return out
