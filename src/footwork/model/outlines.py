"""Outlines: rings of points, their faults, orientation, and boxes turned into the room's frame.

Rings are tuples of (x, y) without a closing point.  Small and slow on purpose: it runs once over a
file, and needs no geometry library.
"""

from __future__ import annotations

import math

from footwork.model.scenario import TOLERANCE, Point, Ring


def area(ring: Ring) -> float:
    """Signed area in square metres, positive when the ring runs counter-clockwise."""
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in _edges(ring)) / 2


def counter_clockwise(ring: Ring) -> Ring:
    """The same ring, counter-clockwise, from the same first point."""
    return ring if area(ring) > 0 else (ring[0], *reversed(ring[1:]))


def ring_fault(ring: Ring, unit: float = 1.0) -> str:
    """What makes a ring useless as an outline, or an empty string.

    ``unit`` is the length in metres of the unit in which places are named.
    """
    if len(ring) < 3:
        return f"its outline has {len(ring)} corner{'s' if len(ring) != 1 else ''}, it needs three or more"
    for i, (a, b) in enumerate(_edges(ring)):
        if math.dist(a, b) <= TOLERANCE:
            at = _place(a, unit)
            if i == len(ring) - 1:
                return f"its outline ends where it begins, at {at}: leave out the last point"
            return f"its outline has the point {at} twice running"
    crossing = _self_crossing(ring)
    if crossing is not None:
        return f"its outline crosses itself near {_place(crossing, unit)}"
    if abs(area(ring)) <= TOLERANCE:
        return "its outline encloses no floor"
    return ""


def box(size: tuple[float, float]) -> Ring:
    """A rectangle about the origin, counter-clockwise, ``size`` along u and v."""
    u, v = size[0] / 2, size[1] / 2
    return ((-u, -v), (u, -v), (u, v), (-u, v))


def bounds(ring: Ring) -> tuple[float, float, float, float]:
    """Least x, least y, greatest x, greatest y."""
    xs, ys = [p[0] for p in ring], [p[1] for p in ring]
    return min(xs), min(ys), max(xs), max(ys)


def turned(ring: Ring, at: Point, facing: float) -> Ring:
    """A ring of a thing's own frame, in the room's frame.

    ``facing`` is a bearing: u points to the right hand of a person who looks at the front, v from
    front to back; facing south leaves u east and v north.
    """
    quarter, rest = divmod(facing, 90.0)
    if rest == 0.0:  # exact for the four facings
        sin, cos = ((0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0))[int(quarter) % 4]
    else:
        sin, cos = math.sin(math.radians(facing)), math.cos(math.radians(facing))
    return tuple((at[0] - u * cos - v * sin, at[1] + u * sin - v * cos) for u, v in ring)


def contains(ring: Ring, point: Point) -> bool:
    """Whether a point lies inside the ring or within the tolerance of its edge."""
    if distance(ring, point) <= TOLERANCE:
        return True
    x, y = point
    inside = False
    for (ax, ay), (bx, by) in _edges(ring):
        if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            inside = not inside
    return inside


def distance(ring: Ring, point: Point) -> float:
    """Metres from a point to the ring's line."""
    return min(math.dist(point, nearest_on(a, b, point)) for a, b in _edges(ring))


def nearest_on(a: Point, b: Point, point: Point) -> Point:
    """The point of the segment a-b nearest to ``point``."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    t = ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / square if square else 0.0
    t = min(1.0, max(0.0, t))
    return (a[0] + t * dx, a[1] + t * dy)


def shared(ring: Ring, start: Point, end: Point) -> float:
    """Metres of the segment start-end that run along the ring's edges, within a millimetre."""
    length = math.dist(start, end)
    u = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    most = 0.0
    for a, b in _edges(ring):
        along = [(p[0] - start[0]) * u[0] + (p[1] - start[1]) * u[1] for p in (a, b)]
        off = [abs((p[0] - start[0]) * u[1] - (p[1] - start[1]) * u[0]) for p in (a, b)]
        if max(off) <= 1e-3:
            most = max(most, min(max(along), length) - max(min(along), 0.0))
    return most


def overlap(a: Ring, b: Ring) -> bool:
    """Whether two outlines share floor, more than touching."""
    if any(_cross(p, q, r, s) is not None for p, q in _edges(a) for r, s in _edges(b)):
        return True
    return _well_inside(a, b) or _well_inside(b, a)


def fits(size: tuple[float, float], room: tuple[float, float]) -> bool:
    """Whether a rectangle goes into another at some angle (Carver 1957, Theorem 1)."""
    p, q = max(size), min(size)
    a, b = max(room) + 2 * TOLERANCE, min(room) + 2 * TOLERANCE
    if p <= a:
        return q <= b
    diagonal = p * p + q * q
    return b >= (2 * p * q * a + (p * p - q * q) * math.sqrt(max(diagonal - a * a, 0.0))) / diagonal


def _well_inside(a: Ring, b: Ring) -> bool:
    middles = [((p[0] + q[0]) / 2, (p[1] + q[1]) / 2) for p, q in _edges(a)]
    return any(contains(b, p) and distance(b, p) > 1e-3 for p in (*a, *middles))


def _edges(ring: Ring) -> list[tuple[Point, Point]]:
    return list(zip(ring, (*ring[1:], ring[0]), strict=True))


def _self_crossing(ring: Ring) -> Point | None:
    edges = _edges(ring)
    n = len(edges)
    for i, (a, b) in enumerate(edges):
        for j in range(i + 1, n):
            c, d = edges[j]
            if j == i + 1 or (i == 0 and j == n - 1):
                shared_point, one, other = (b, a, d) if j == i + 1 else (a, b, c)
                # neighbours share a point; they cross only where one folds back on the other
                if _folds(shared_point, one, other):
                    return shared_point
                continue
            met = _meet(a, b, c, d)
            if met is not None:
                return met
    return None


def _folds(corner: Point, one: Point, other: Point) -> bool:
    near = min((one, other), key=lambda p: math.dist(corner, p))
    far = other if near is one else one
    return math.dist(near, nearest_on(corner, far, near)) <= TOLERANCE


def _meet(a: Point, b: Point, c: Point, d: Point) -> Point | None:
    """Where two segments cross or touch."""
    crossing = _cross(a, b, c, d)
    if crossing is not None:
        return crossing
    for p, (s, e) in ((c, (a, b)), (d, (a, b)), (a, (c, d)), (b, (c, d))):
        if math.dist(p, nearest_on(s, e, p)) <= TOLERANCE:
            return p
    return None


def _cross(a: Point, b: Point, c: Point, d: Point) -> Point | None:
    """Where two segments properly cross: each has its ends on both sides of the other."""
    sides = [_side(c, d, a), _side(c, d, b), _side(a, b, c), _side(a, b, d)]
    if min(abs(s) for s in sides) <= TOLERANCE or sides[0] * sides[1] > 0 or sides[2] * sides[3] > 0:
        return None
    t = sides[0] / (sides[0] - sides[1])
    return (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]))


def _side(a: Point, b: Point, p: Point) -> float:
    """Signed distance in metres of ``p`` from the line a-b, positive on its left."""
    length = math.dist(a, b) or 1.0
    return ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / length


def _place(point: Point, unit: float) -> str:
    return f"({round(point[0] / unit, 3) + 0.0:g}, {round(point[1] / unit, 3) + 0.0:g})"
