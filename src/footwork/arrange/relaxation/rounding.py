"""A whole choice read off a node of the tree, compiled."""

from __future__ import annotations

import numpy as np

from footwork.arrange.core.arrays import Ints, Longs
from footwork.arrange.relaxation.model import Living, Problem, State
from footwork.arrange.relaxation.rlt_multipliers import dues
from footwork.compiled.functions import unit


@unit
def decode(problem: Problem, live: Living, state: State, order: Longs) -> tuple[Ints, Longs]:
    """A choice read off the stations' thetas, one by one in ``order``, and what each paid above 0.

    Returns (place in the node's spots by station, reduced cost by station, what a spot is handed back for its
    conditional rents added: no choice gets that).
    """
    n = len(live.first) - 1
    label = np.zeros(n, np.int64)
    for v in range(len(problem.station)):
        if problem.station[v] >= 0:
            label[problem.station[v]] = live.label[v]
    chosen = np.full(n, -1, np.int32)
    paid = np.zeros(n, np.int64)
    for i in order:
        best = np.int64(1) << 40
        for x in range(live.first[i], live.first[i + 1]):
            local = x - live.first[i]
            if not state.alive[label[i] + local]:
                continue
            price = state.theta[label[i] + local]
            for j in range(n):
                y, e = chosen[j], problem.joined[i, j]
                if y >= 0 and e >= 0:
                    mine = 0 if problem.station[problem.ends[e, 0]] == i else 1
                    there = live.at[e, 1 - mine] + y - live.first[j]
                    price += np.int64(problem.pair[live.spots[y], live.spots[x]])
                    price -= state.messages[live.at[e, mine] + local] + state.messages[there]
            if price < best:
                best = price
                chosen[i] = x
        paid[i] = best + (dues(state.conditional, chosen[i]) if chosen[i] >= 0 else 0)
    return chosen, paid
