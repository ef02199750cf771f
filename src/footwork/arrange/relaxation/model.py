"""A pairwise problem in integers, and the part of it that a node of the tree works on, compiled.

Variables are the stations (labels: their spots) and, where a station can be worked from several places, the
visits (labels: a spot and one of its standing places).  Edges are of four kinds: PAIR between two stations
(a dense block of the pair table), CLASHES between two stations that share no cost but may clash, LEG between
the two ends of a leg (a dense block of metres, times a weight), CHANNELLING between a visit and a station
that may serve it (0 where the visit's spot is the station's, impossible elsewhere; labels of other stations
are free).

All costs are integers, so sums are exact: ``CLASH`` stands for a clash, messages stay within
``MOST_MESSAGE``.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Bools, Bytes, Ints, Longs, Shorts, Singles
from footwork.compiled.functions import bare, entry, inner, unit
from footwork.compiled.records import record

Whole = int | np.int64

CLASH = np.int32(1 << 29)
NO_SUPPORT = np.int32(1 << 28)
"""Least cost at an edge's other end from which on a label has none there that it goes with."""
MOST_MESSAGE = np.int32(1 << 26)
LARGEST = 1 << 23
"""The greatest cost that is no clash."""
PAIR, LEG, CHANNELLING, CLASHES = range(4)
STEP_BITS = 9
"""Messages of open nodes are kept in steps of 2^``STEP_BITS``."""
MOST_POINTS = 48
"""Points that a spot has RLT-1 multipliers for, at most."""


@record
class Pairs(NamedTuple):
    """What two stations' spots cost together.

    costs (spots, spots)        ``CLASH`` where they clash
    clashes (spots, spots / 8)  the pairs that clash, a bit each: small enough to stay near the processor
    """

    costs: Ints
    clashes: Bytes


@record
class Variables(NamedTuple):
    """Stations and visits, in the order of the sweeps.

    station (variables,)         the station that a variable is, -1 for a visit
    part_begin (variables + 1,)  where each variable's parts begin
    part_station (parts,)        part k has the spots of this station,
    part_places (parts,)         so many labels a spot (a station: itself, 1)
    """

    station: Ints
    part_begin: Ints
    part_station: Ints
    part_places: Ints


@record
class Edges(NamedTuple):
    """Edges between two variables; ``ends`` (edges, 2): which those are.

    kind (edges,)                 PAIR, LEG, CHANNELLING or CLASHES
    row_end (edges,)              PAIR, LEG: which end has the rows of its block
    block (edges,)                LEG: number of its block
    metre_cost (edges,)           LEG: what a metre costs
    visit_end (edges,)            CHANNELLING: which end is the visit
    part (edges,)                 CHANNELLING: number of the visit's part
    between (stations, stations)  the PAIR or CLASHES edge of two stations, -1 where they have none
    """

    ends: Ints
    kind: Bytes
    row_end: Ints
    block: Ints
    metre_cost: Singles
    visit_end: Ints
    part: Ints
    between: Ints


@record
class Incidence(NamedTuple):
    """The edges of each variable, in CSR form: which, and which end of each the variable is."""

    begin: Ints
    edge: Ints
    side: Ints


@record
class Blocks(NamedTuple):
    """Metres of legs, row by row, block after block; infinite where there is no way.

    row_variable, column_variable (blocks,)  variables whose labels are a block's rows and columns
    """

    metres: Singles
    row_variable: Ints
    column_variable: Ints


@record
class Products(NamedTuple):
    """The edges that carry products of RLT-1, in CSR form by station (``relaxation/rlt_multipliers.py``).

    edge   a PAIR or LEG edge of the station
    side   which end of it the station has
    other  the station at the other end
    first  whether the variable at the station's end has no such edge before
    """

    begin: Ints
    edge: Ints
    side: Ints
    other: Ints
    first: Bools


@record
class Problem(NamedTuple):
    """A problem in integers, at full size.

    Its spots are those of the tables and aggregates of them (``relaxation/aggregation.py``), at the least
    cost of any.

    first (stations + 1,)  where each station's spots begin, stations in the order of the sweeps
    pairs                  as in ``Tables``
    unary (labels,)        own costs, variable by variable, part by part, spot by spot
    origin (spots,)        the spots' numbers in the problem that this one was tightened from
    """

    first: Ints
    pairs: Pairs
    unary: Longs
    variables: Variables
    edges: Edges
    incidence: Incidence
    blocks: Blocks
    products: Products
    origin: Ints


@record
class Subproblem(NamedTuple):
    """A problem on the active spots of a node.

    spots, first (stations + 1,)  numbers in the problem, and where each station's begin here
    label_begin (variables + 1,)  where each variable's labels begin
    message_begin (edges, 2)      where the messages of each edge's ends begin
    costs, cost_begin             blocks of PAIR and LEG edges, whose rows are the end ``Edges.row_end``
    edge_weight (edges,)          how much of a variable's reduced costs an edge is handed, against its other
                                  edges: 0 where it can tell nothing, as its spots clash no more
    """

    spots: Ints
    first: Ints
    label_begin: Longs
    message_begin: Longs
    costs: Ints
    cost_begin: Longs
    edge_weight: Longs


@record
class RltMultipliers(NamedTuple):
    """RLT-1 multipliers (``relaxation/rlt_multipliers.py``): for each of a node's spots the ``number`` of
    points that have one, the points, the multipliers' ``value``, and the spot's ``step_size``."""

    number: Ints
    points: Ints
    value: Ints
    step_size: Singles


@record
class State(NamedTuple):
    """What a pass changes: by label, but ``messages`` as ``Subproblem.message_begin`` says, ``rlt`` by
    spot."""

    active: Bools
    messages: Ints
    reduced: Longs
    min_marginal: Longs
    rlt: RltMultipliers


@record
class Relaxation(NamedTuple):
    """What a node works on: a problem, its active part, and the reparametrisation of that."""

    problem: Problem
    sub: Subproblem
    state: State


@record
class Scratch(NamedTuple):
    """Room for a sweep to work in, a place a label of one variable."""

    least: Ints
    open: Ints
    offset: Ints
    unit: Longs


@inner
def scratch_for(label_begin: Longs) -> Scratch:
    """Room enough where variables' labels begin at ``label_begin``."""
    most = np.max(label_begin[1:] - label_begin[:-1])
    size = most + 1
    return Scratch(
        least=np.empty(size, np.int32),
        open=np.empty(size, np.int32),
        offset=np.empty(size, np.int32),
        unit=np.empty(most, np.int64),
    )


@entry
def labels_begin(variables: Variables, first: Ints) -> Longs:
    """Where the labels of each variable begin when station i has spots ``first[i]:first[i + 1]``."""
    n = len(variables.station)
    begin = np.zeros(n + 1, np.int64)
    for v in range(n):
        begin[v + 1] = begin[v]
        for k in range(variables.part_begin[v], variables.part_begin[v + 1]):
            s = variables.part_station[k]
            begin[v + 1] += variables.part_places[k] * (first[s + 1] - first[s])
    return begin


@entry
def messages_begin(edges: Edges, label_begin: Longs) -> Longs:
    """Where the messages of each edge's ends begin."""
    begin = np.zeros((len(edges.kind), 2), np.int64)
    total = np.int64(0)
    for e in range(len(edges.kind)):
        for side in range(2):
            begin[e, side] = total
            v = edges.ends[e, side]
            total += label_begin[v + 1] - label_begin[v]
    return begin


@entry
def message_count(edges: Edges, label_begin: Longs) -> Whole:
    """How many messages there are."""
    total = np.int64(0)
    for e in range(len(edges.kind)):
        for side in range(2):
            v = edges.ends[e, side]
            total += label_begin[v + 1] - label_begin[v]
    return total


@inner
def clash_bits(costs: Ints) -> Bytes:
    """``Pairs.clashes`` of these costs."""
    n = len(costs)
    bits = np.zeros((n, (n + 7) // 8), np.uint8)
    for x in range(n):
        for y in range(n):
            if costs[x, y] >= CLASH:
                bits[x, y >> 3] |= np.uint8(1 << (y & 7))
    return bits


@bare
def clash(bits: Bytes, x: int, y: int) -> bool:
    """Whether spots x and y clash; ``bits`` is ``Pairs.clashes``."""
    return bool((bits[x, y >> 3] >> (y & 7)) & 1)


@bare
def part_begins(variables: Variables, first: Ints, v: int, part: int) -> int:
    """Where the labels of a part of variable v begin among the variable's."""
    begin = 0
    for k in range(variables.part_begin[v], part):
        s = variables.part_station[k]
        begin += variables.part_places[k] * (first[s + 1] - first[s])
    return begin


@unit
def fewer_labels(variables: Variables, first: Ints, keep: Ints) -> tuple[Ints, Longs]:
    """(first, labels) when only the spots ``keep`` (ascending) stay: where stations begin then, and which
    of the labels stay."""
    fewer = np.searchsorted(keep, first).astype(np.int32)
    before, after = labels_begin(variables, first), labels_begin(variables, fewer)
    labels = np.empty(after[-1], np.int64)
    count = 0
    for v in range(len(variables.station)):
        base = before[v]
        for k in range(variables.part_begin[v], variables.part_begin[v + 1]):
            s, places = variables.part_station[k], variables.part_places[k]
            for x in range(fewer[s], fewer[s + 1]):
                for p in range(places):
                    labels[count] = base + (keep[x] - first[s]) * places + p
                    count += 1
            base += places * (first[s + 1] - first[s])
    return fewer, labels


@unit
def fewer_messages(
    edges: Edges, before: Longs, after: Longs, labels: Longs, messages: Ints | Shorts, bits: int
) -> Ints:
    """The messages of ``labels``, times 2^``bits``; ``before``, ``after``: where variables' labels begin."""
    old, new = messages_begin(edges, before), messages_begin(edges, after)
    fewer: Ints = np.empty(message_count(edges, after), np.int32)
    for e in range(len(edges.kind)):
        for side in range(2):
            v = edges.ends[e, side]
            shift = old[e, side] - before[v]
            for k in range(after[v], after[v + 1]):
                fewer[new[e, side] + k - after[v]] = np.int32(messages[labels[k] + shift]) << bits
    return fewer


@entry
def in_steps(messages: Ints) -> Shorts:
    """Messages in steps of 2^``STEP_BITS``, 2^-14 of the incumbent, cut where they are too great."""
    steps = np.empty(len(messages), np.int16)
    for k in range(len(messages)):
        steps[k] = min(max(messages[k] >> STEP_BITS, -(1 << 15)), (1 << 15) - 1)
    return steps
