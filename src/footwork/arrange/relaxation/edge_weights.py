"""Edges between stations whose living spots clash no more, compiled: they can tell nothing and are left out.

Such an edge draws nothing (``Living.draw`` is 0).  What its messages hold goes back into its ends' thetas.
"""

from __future__ import annotations

import numpy as np

from footwork.arrange.core.arrays import Ints
from footwork.arrange.relaxation.model import Living, Problem, State, Whole
from footwork.floor.compiled import bare


@bare
def forget_free_edges(problem: Problem, live: Living, messages: Ints) -> None:
    """Leave them out of messages that come from elsewhere, which may be anything."""
    for e in range(len(problem.kind)):
        if live.draw[e] == 0:
            for side in range(2):
                v, at = problem.ends[e, side], live.at[e, side]
                for x in range(live.label[v + 1] - live.label[v]):
                    messages[at + x] = 0


@bare
def free_edges(problem: Problem, live: Living, state: State) -> Whole:
    """Leave them out of a node's state; returns what the constant gains by it.

    The greatest messages of both ends are no more than 0 together, since no edge costs less than 0.  Every
    theta gains what its label's message is below the greatest, so none falls.
    """
    gain = np.int64(0)
    for e in range(len(problem.kind)):
        if live.draw[e] == 0:
            for side in range(2):
                v, at = problem.ends[e, side], live.at[e, side]
                a, n = live.label[v], live.label[v + 1] - live.label[v]
                greatest = np.int64(-(1 << 40))
                for x in range(n):
                    if state.alive[a + x]:
                        greatest = max(greatest, np.int64(state.messages[at + x]))
                for x in range(n):
                    state.theta[a + x] += greatest - state.messages[at + x]
                    state.messages[at + x] = 0
                gain -= greatest
    return gain
