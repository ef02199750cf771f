"""A pair-table problem in integers, and the part of it that a node of the tree works on, compiled.

Variables are the stations (labels: their spots) and, where a station can be worked from several
places, the visits (labels: a spot and one of its standing places).  Edges are of four kinds: PAIR
between two stations (a dense block of the pair table), APART between two stations that share no price
but may clash, LEG between the two ends of a walk (a dense block of metres, times a weight), SAME
between a visit and a station that may serve it (0 where the visit's spot is the station's, impossible
elsewhere; labels of other stations are free).

All prices are integers, so sums are exact: ``CLASH`` stands for a clash, messages stay within
``CAP``.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Bools, Bytes, Ints, Longs, Shorts, Singles
from footwork.compiled.functions import bare, entry, inner, unit
from footwork.compiled.records import record

Whole = int | np.int64

CLASH = np.int32(1 << 29)
CAP = np.int32(1 << 26)
NO_SUPPORT = np.int32(1 << 28)
PAIR, LEG, SAME, APART = range(4)
LARGEST = 1 << 23
"""The greatest price that is no clash."""
STEP_BITS = 9
MOST_POINTS = 48
"""Points that a spot has conditional rents for, at most."""


@record
class Problem(NamedTuple):
    """A problem in integers, at full size.

    Its spots are those of the tables and patches of them (``relaxation/aggregation.py``), at the least
    price of any.

    pair (spots, spots), first (stations + 1,)   as in ``Tables``, stations in the order of the passes
    clash (spots, spots / 8)   the pairs that clash, a bit each: small enough to stay near the processor
    station (variables,)     the station that a variable is, -1 for a visit
    part (variables + 1,)    where each variable's parts begin; part k has the spots of station
                             ``part_station[k]``, ``part_places[k]`` labels a spot (a station: itself, 1)
    unary (labels,)          own prices, variable by variable, part by part, spot by spot
    ends (edges, 2)          an edge's variables; kind (edges,)
    rows (edges,)            PAIR, LEG: which end has the rows of its block; SAME: which end is the visit
    block (edges,)           LEG: number of its block; SAME: number of the visit's part
    weight (edges,)          LEG: integer price of a metre
    near (variables + 1,)    where each variable's edges begin in ``edge``, ``side`` (which end it is)
    store, axes (blocks, 2)  metres row by row, infinite where there is no way, and the variables whose
                             labels are the rows and the columns
    joined (stations, stations)   the PAIR or APART edge of two stations, -1 where they have none
    origin (spots,)          the spots' numbers in the problem that this one was lifted from
    star (stations + 1,)     where each station's rays begin in ``ray`` (``relaxation/rlt_multipliers.py``)
    ray (rays, 4)            a PAIR or LEG edge, which end of it is the station's, the station at the other
                             end, and whether it is the first ray of the variable at the station's end
    """

    pair: Ints
    clash: Bytes
    first: Ints
    station: Ints
    part: Ints
    part_station: Ints
    part_places: Ints
    unary: Longs
    ends: Ints
    kind: Bytes
    rows: Ints
    block: Ints
    weight: Singles
    near: Ints
    edge: Ints
    side: Ints
    store: Singles
    axes: Ints
    joined: Ints
    origin: Ints
    star: Ints
    ray: Ints


@record
class Living(NamedTuple):
    """The problem on the living spots of a node.

    ``spots`` are numbers in the problem, ``first`` where each station's begin here; ``label`` where each
    variable's labels begin, ``at`` (edges, 2) where each end's messages begin.  ``prices`` holds the blocks
    of PAIR and LEG edges, the rows of which are the end ``Problem.rows``; ``prices_at`` where each begins.
    ``draw`` (edges,) is how much of a variable's thetas an edge is handed, against its other edges: 0 where
    it can tell nothing, as its spots clash no more.
    """

    spots: Ints
    first: Ints
    label: Longs
    at: Longs
    prices: Ints
    prices_at: Longs
    draw: Longs


@record
class Conditional(NamedTuple):
    """Conditional rents (``relaxation/rlt_multipliers.py``): for each of a node's spots the ``number`` of
    points that have one, the points, what they cost, and the ``pace`` at which that changes."""

    number: Ints
    points: Ints
    rents: Ints
    pace: Singles


@record
class State(NamedTuple):
    """What a pass changes: by label, but ``messages`` as ``Living.at`` says, ``conditional`` by spot."""

    alive: Bools
    messages: Ints
    theta: Longs
    marginal: Longs
    conditional: Conditional


@record
class Scratch(NamedTuple):
    """Room for a pass to work in, a place a label of one variable: three rows, and the units to hand on."""

    least: Ints
    unit: Longs


@inner
def scratch_for(label: Longs) -> Scratch:
    """Room enough where variables' labels begin at ``label``."""
    most = np.max(label[1:] - label[:-1])
    return Scratch(np.empty((3, most + 1), np.int32), np.empty(most, np.int64))


@entry
def labels_begin(problem: Problem, first: Ints) -> Longs:
    """Where the labels of each variable begin when station i has spots ``first[i]:first[i + 1]``."""
    n = len(problem.station)
    label = np.zeros(n + 1, np.int64)
    for v in range(n):
        label[v + 1] = label[v]
        for k in range(problem.part[v], problem.part[v + 1]):
            s = problem.part_station[k]
            label[v + 1] += problem.part_places[k] * (first[s + 1] - first[s])
    return label


@entry
def messages_begin(problem: Problem, label: Longs) -> tuple[Longs, Whole]:
    """Where the messages of each edge's ends begin, and how many there are."""
    at = np.zeros((len(problem.kind), 2), np.int64)
    total = np.int64(0)
    for e in range(len(problem.kind)):
        for side in range(2):
            at[e, side] = total
            v = problem.ends[e, side]
            total += label[v + 1] - label[v]
    return at, total


@inner
def clash_bits(pair: Ints) -> Bytes:
    """``Problem.clash`` of the prices ``pair``."""
    n = len(pair)
    bits = np.zeros((n, (n + 7) // 8), np.uint8)
    for x in range(n):
        for y in range(n):
            if pair[x, y] >= CLASH:
                bits[x, y >> 3] |= np.uint8(1 << (y & 7))
    return bits


@bare
def clashes(bits: Bytes, x: int, y: int) -> bool:
    """Whether spots x and y clash; ``bits`` is ``Problem.clash``."""
    return bool((bits[x, y >> 3] >> (y & 7)) & 1)


@unit
def fewer_labels(problem: Problem, first: Ints, keep: Ints) -> tuple[Ints, Longs]:
    """(first, labels) when only the spots ``keep`` (ascending) stay: where stations begin then, and which
    of the labels stay."""
    fewer = np.searchsorted(keep, first).astype(np.int32)
    label, less = labels_begin(problem, first), labels_begin(problem, fewer)
    picks = np.empty(less[-1], np.int64)
    count = 0
    for v in range(len(problem.station)):
        base = label[v]
        for k in range(problem.part[v], problem.part[v + 1]):
            s, places = problem.part_station[k], problem.part_places[k]
            for x in range(fewer[s], fewer[s + 1]):
                for p in range(places):
                    picks[count] = base + (keep[x] - first[s]) * places + p
                    count += 1
            base += places * (first[s + 1] - first[s])
    return fewer, picks


@unit
def fewer_messages(
    problem: Problem, label: Longs, less: Longs, picks: Longs, messages: Ints | Shorts, bits: int
) -> Ints:
    """The messages of the labels ``picks``, times 2^``bits``; ``label``, ``less``: where variables begin
    before, after."""
    at, _ = messages_begin(problem, label)
    new, total = messages_begin(problem, less)
    fewer: Ints = np.empty(total, np.int32)
    for e in range(len(problem.kind)):
        for side in range(2):
            v = problem.ends[e, side]
            shift = at[e, side] - label[v]
            for k in range(less[v], less[v + 1]):
                fewer[new[e, side] + k - less[v]] = np.int32(messages[picks[k] + shift]) << bits
    return fewer


@entry
def in_steps(messages: Ints) -> Shorts:
    """Messages in steps of 2^``STEP_BITS``, 2^-14 of the upper bound, cut where they are too great."""
    steps = np.empty(len(messages), np.int16)
    for k in range(len(messages)):
        steps[k] = min(max(messages[k] >> STEP_BITS, -(1 << 15)), (1 << 15) - 1)
    return steps
