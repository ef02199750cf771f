"""Edges of a node, compiled: the least cost that each label of one end has at the other."""

from __future__ import annotations

import numpy as np

from footwork.arrange.core.arrays import Bools, Ints
from footwork.arrange.relaxation.model import (
    CLASH,
    CLASHES,
    LEG,
    MOST_MESSAGE,
    NO_SUPPORT,
    PAIR,
    Relaxation,
    Scratch,
    clash,
    part_begins,
)
from footwork.compiled.functions import bare, bare_unit

ROUNDS = 8
"""Best spots of the other end that are tried one by one."""


@bare
def least_over_rows(block: Ints, columns: int, active: Bools, messages: Ints, least: Ints) -> None:
    """least[c] = least over active rows r of cost[r, c] - messages[r]."""
    for r in range(len(active)):
        if active[r]:
            row, shift = block[r * columns : (r + 1) * columns], messages[r]
            for c in range(columns):
                least[c] = min(least[c], np.int32(row[c] - shift))


@bare
def least_over_columns(
    block: Ints, columns: int, active: Bools, messages: Ints, wanted: Bools, least: Ints, offset: Ints
) -> None:
    """least[r] = least over active columns c of cost[r, c] - messages[c], for the rows that are ``wanted``.

    ``offset`` is room to work in.
    """
    for c in range(columns):
        # No least is found where nothing is active.
        offset[c] = messages[c] if active[c] else -CLASH
    for r in range(len(wanted)):
        if wanted[r]:
            row, found = block[r * columns : (r + 1) * columns], least[r]
            for c in range(columns):
                found = min(found, np.int32(row[c] - offset[c]))
            least[r] = found


@bare
def least_without_clash(node: Relaxation, v: int, u: int, theirs: int, scratch: Scratch) -> None:
    """CLASHES: for each active spot of v the least of -message over those of u that it does not clash with.

    Most do not clash with the best of all, and of the others most not with the next.  After ``ROUNDS``
    the last few look through all.  ``theirs`` is where u's messages begin; the result is ``scratch.least``.
    """
    problem, sub, state = node.problem, node.sub, node.state
    least, still_open, offset = scratch.least, scratch.open, scratch.offset
    clashes, spots = problem.pairs.clashes, sub.spots
    a, b = sub.label_begin[v], sub.label_begin[v + 1]
    c, d = sub.label_begin[u], sub.label_begin[u + 1]
    station = problem.variables.station
    here, there = sub.first[station[v]], sub.first[station[u]]
    count = 0
    for x in range(b - a):
        still_open[count] = x
        count += int(state.active[a + x])
    for y in range(d - c):
        offset[y] = state.messages[theirs + y] if state.active[c + y] else -CLASH
    for _ in range(ROUNDS):
        if count == 0:
            return
        greatest = offset[0]
        for y in range(1, d - c):
            greatest = max(greatest, offset[y])
        if greatest == -CLASH:
            return
        top = 0
        while offset[top] < greatest:
            top += 1
        offset[top] = -CLASH
        row, kept = spots[there + top], 0
        for k in range(count):
            x = still_open[k]
            clashing = clash(clashes, row, spots[here + x])
            least[x] = least[x] if clashing else -greatest
            still_open[kept] = x
            kept += int(clashing)
        count = kept
    for k in range(count):
        x = still_open[k]
        row, found = spots[here + x], least[x]
        for y in range(d - c):
            if -offset[y] < found and not clash(clashes, row, spots[there + y]):
                found = -offset[y]
        least[x] = found


@bare
def least_channelled(
    node: Relaxation, e: int, to_visit: bool, active: Bools, messages: Ints, least: Ints
) -> None:
    """CHANNELLING: for each label of one end the least of -message over the other's active labels that agree.

    ``active`` and ``messages`` are the other end's.
    """
    variables, edges, first = node.problem.variables, node.problem.edges, node.sub.first
    part = edges.part[e]
    begin = part_begins(variables, first, edges.ends[e, edges.visit_end[e]], part)
    s, places = variables.part_station[part], variables.part_places[part]
    end = begin + places * (first[s + 1] - first[s])
    free = least[0]
    if to_visit:
        for x in range(len(active)):
            if active[x]:
                free = min(free, -messages[x])
                for z in range(begin + x * places, begin + (x + 1) * places):
                    least[z] = -messages[x]
        least[:begin] = free
        least[end:] = free
        return
    for z in range(len(active)):
        if active[z]:
            if begin <= z < end:
                x = (z - begin) // places
                least[x] = min(least[x], -messages[z])
            else:
                free = min(free, -messages[z])
    for x in range(len(least)):
        least[x] = min(least[x], free)


@bare_unit
def collect(node: Relaxation, e: int, side: int, scratch: Scratch) -> None:
    """Move the least cost of edge e for each label of one end into that label's reduced cost.

    Labels without support at the other end are fixed out.
    """
    edges, sub, state = node.problem.edges, node.sub, node.state
    v, u = edges.ends[e, side], edges.ends[e, 1 - side]
    a, b = sub.label_begin[v], sub.label_begin[v + 1]
    c, d = sub.label_begin[u], sub.label_begin[u + 1]
    mine, theirs = sub.message_begin[e, side], sub.message_begin[e, 1 - side]
    their_active, their_messages = state.active[c:d], state.messages[theirs : theirs + d - c]
    active, messages = state.active[a:b], state.messages[mine : mine + b - a]
    least = scratch.least[: b - a]
    least[:] = CLASH + MOST_MESSAGE
    if edges.kind[e] in (PAIR, LEG):
        costs = sub.costs[sub.cost_begin[e] : sub.cost_begin[e + 1]]
        if edges.row_end[e] == side:
            least_over_columns(costs, d - c, their_active, their_messages, active, least, scratch.offset)
        else:
            least_over_rows(costs, b - a, their_active, their_messages, least)
    elif edges.kind[e] == CLASHES:
        least_without_clash(node, v, u, theirs, scratch)
    else:
        least_channelled(node, e, edges.visit_end[e] == side, their_active, their_messages, least)
    reduced = state.reduced[a:b]
    for x in range(b - a):
        value = min(least[x], MOST_MESSAGE)
        active[x] = active[x] and least[x] < NO_SUPPORT
        reduced[x] += value - messages[x]
        messages[x] = value
