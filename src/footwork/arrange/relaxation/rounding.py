"""A whole choice read off a node of the tree, compiled."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Ints, Longs
from footwork.arrange.relaxation.model import Relaxation
from footwork.arrange.relaxation.rlt_multipliers import refund
from footwork.compiled.functions import unit
from footwork.compiled.records import record


@record
class Decoded(NamedTuple):
    """A choice read off a node, by station: a place in the node's spots each, -1 for none, and what that one
    costs beyond the constant, its refund added: no choice gets that."""

    chosen: Ints
    reduced: Longs


@unit
def decode(node: Relaxation, order: Longs) -> Decoded:
    """A choice read off the stations' reduced costs, one by one in ``order``."""
    problem, sub, state = node.problem, node.sub, node.state
    station, ends, between = problem.variables.station, problem.edges.ends, problem.edges.between
    pair, spots, first, at = problem.pairs.costs, sub.spots, sub.first, sub.message_begin
    messages, reduced, rlt = state.messages, state.reduced, state.rlt
    n = len(first) - 1
    label = np.zeros(n, np.int64)
    for v in range(len(station)):
        if station[v] >= 0:
            label[station[v]] = sub.label_begin[v]
    chosen = np.full(n, -1, np.int32)
    paid = np.zeros(n, np.int64)
    for i in order:
        best = np.int64(1) << 40
        for x in range(first[i], first[i + 1]):
            local = x - first[i]
            if not state.active[label[i] + local]:
                continue
            cost = reduced[label[i] + local]
            for j in range(n):
                y, e = chosen[j], between[i, j]
                if y >= 0 and e >= 0:
                    mine = 0 if station[ends[e, 0]] == i else 1
                    there = at[e, 1 - mine] + y - first[j]
                    cost += np.int64(pair[spots[y], spots[x]])
                    cost -= messages[at[e, mine] + local] + messages[there]
            if cost < best:
                best = cost
                chosen[i] = x
        paid[i] = best + (refund(rlt, chosen[i]) if chosen[i] >= 0 else 0)
    return Decoded(chosen, paid)
