"""Between which places a disc can go, for many pairs of them on one floor: compiled, each thing found once.

Whether a disc of one width can go from one place to another is an equivalence: places that hang together for
it have one label, and another place is compared with one of each label.  Metres, in the room's frame.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from footwork.compiled.functions import entry, unit
from footwork.compiled.records import record
from footwork.floor.contact import END, FIRST, RADIUS, Arrays, Floats, Ints, X, Y, point_distance
from footwork.floor.desk import Desk, new_desk
from footwork.floor.kernel import Query, explore
from footwork.floor.solid import union_nearest
from footwork.model.scenario import TOLERANCE

FINE = 1e-5
"""Metres: how closely the widest disc is found where it does not pass between two things."""

ROUNDING = 1e-8
"""Metres: a gap counts as so much wider than reckoned, for what is lost in reckoning."""

OUT_X, OUT_Y = range(2, 4)
"""Further columns of places: how far one goes in x and y with each metre that one steps out."""
WIDTH, LENGTH = range(2)
"""Columns of what is found of a pair of places."""
_UNKNOWN = -1


@record
class Labels(NamedTuple):
    """What hangs together: ``widths[:made[0]]`` of discs, and in the same row of ``label`` for each place
    that was looked at the first place that such a disc can come from (-1: not looked at)."""

    widths: Floats
    label: Ints
    made: Ints


class Wanted(NamedTuple):
    """What is wanted of ways: the width of the one who walks, from where a step out is measured; the greatest
    width, and the least that is a way at all; the tolerance."""

    walker: float
    limit: float
    least: float
    tol: float


@unit
def _length(s: Arrays, places: Floats, a: int, b: int, width: float, ask: Wanted, desk: Desk) -> float:
    """The shortest way of a disc from place ``a`` to ``b``, inf for none."""
    out = (width - ask.walker) / 2
    query = Query(
        places[a, X] + out * places[a, OUT_X], places[a, Y] + out * places[a, OUT_Y],
        places[b, X] + out * places[b, OUT_X], places[b, Y] + out * places[b, OUT_Y],
        width / 2, ask.tol, math.inf,
    )  # fmt: skip
    length, _, _ = explore(s, query, np.zeros(len(s.first) - 1, np.int64), desk, False)
    return length


@unit
def _label(s: Arrays, places: Floats, k: int, width: float, ask: Wanted, row: Ints, desk: Desk) -> int:
    """The label of place ``k`` for discs of ``width``, whose labels so far are in ``row``."""
    if row[k] == _UNKNOWN:
        row[k] = k
        for other in range(len(row)):
            if row[other] == other != k and _length(s, places, other, k, width, ask, desk) < math.inf:
                row[k] = other
                break
    return int(row[k])


@unit
def _passes(
    s: Arrays, places: Floats, a: int, b: int, width: float, ask: Wanted, known: Labels, desk: Desk
) -> bool:
    """Whether a disc can go from place ``a`` to ``b``."""
    if width <= 0.0:
        return False
    if a == b:
        return _length(s, places, a, b, width, ask, desk) < math.inf
    made, at = known.made[0], 0
    while at < made and known.widths[at] != width:
        at += 1
    if at == made:
        if made == len(known.widths):
            return _length(s, places, a, b, width, ask, desk) < math.inf
        known.widths[at] = width
        known.made[0] = made + 1
    row = known.label[at]
    return _label(s, places, a, width, ask, row, desk) == _label(s, places, b, width, ask, row, desk)


@unit
def _greatest(
    s: Arrays, places: Floats, a: int, b: int, gaps: Floats, ask: Wanted, known: Labels, desk: Desk
) -> float:
    """The greatest width of a disc that can go from place ``a`` to ``b``: as ``widest.greatest_width``."""
    limit = ask.limit
    if _passes(s, places, a, b, limit, ask, known, desk):
        return limit
    first, last = 0, len(gaps) + 1  # step 0 is nothing, then come the gaps, then the limit
    while last - first > 1:
        middle = (first + last) // 2
        if _passes(s, places, a, b, gaps[middle - 1] + TOLERANCE - ROUNDING, ask, known, desk):
            first = middle
        else:
            last = middle
    low = gaps[first - 1] if first > 0 else 0.0
    high = gaps[last - 1] if last <= len(gaps) else limit
    if high - low <= 2.0 * TOLERANCE or not _passes(
        s, places, a, b, low + 2.0 * TOLERANCE + TOLERANCE - ROUNDING, ask, known, desk
    ):
        return low
    while high - low > FINE:
        width = (low + high) / 2
        if _passes(s, places, a, b, width + TOLERANCE - ROUNDING, ask, known, desk):
            low = width
        else:
            high = width
    return low


@entry
def widest_ways(s: Arrays, places: Floats, pairs: Ints, gaps: Floats, ask: Wanted, known: Labels) -> Floats:
    """For each of ``pairs`` (n, 2) of ``places`` (m, 4) the widest way, and the shortest that is so wide.

    ``gaps`` are the widths at which a way may open.  Returns (n, 2), width and length; of a pair without a
    way both are 0 and inf.  ``known`` is kept from one call to the next on the same places.
    """
    out, desk = np.empty((len(pairs), 2)), new_desk(s)
    for k in range(len(pairs)):
        a, b = pairs[k]
        out[k, WIDTH], out[k, LENGTH] = 0.0, math.inf
        if _passes(s, places, a, b, ask.least, ask, known, desk):
            out[k, WIDTH] = _greatest(s, places, a, b, gaps, ask, known, desk)
            out[k, LENGTH] = _length(s, places, a, b, out[k, WIDTH], ask, desk)
    return out


@entry
def gaps_between(s: Arrays, limit: float, tol: float) -> Floats:
    """Distances between pairs of pieces, above the tolerance and up to ``limit``, in no order."""
    x, y = s.vert[:, X].copy(), s.vert[:, Y].copy()
    span, ball = s.span, s.ball
    found, count = np.empty(max(1, len(span) * len(span) // 2)), 0
    for k in range(len(span)):
        one = span[k, FIRST : END + 1].copy()
        for j in range(k):
            apart = math.hypot(ball[j, X] - ball[k, X], ball[j, Y] - ball[k, Y])
            if apart - ball[j, RADIUS] - ball[k, RADIUS] >= limit:
                continue
            gap = union_nearest(x, y, one, x, y, span[j, FIRST : END + 1].copy()).gap
            if tol < gap <= limit:
                found[count] = gap
                count += 1
    return found[:count]


@entry
def distances_to(s: Arrays, x: float, y: float) -> Floats:
    """The distance from a point to each piece; inside one, minus the depth."""
    out = np.empty(len(s.span))
    for m in range(len(s.span)):
        out[m] = point_distance(s.vert, s.span[m, FIRST], s.span[m, END], x, y)
    return out
