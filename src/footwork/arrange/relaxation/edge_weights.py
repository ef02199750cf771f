"""What each edge of a node draws of what its ends hand on, compiled: by what its messages can tell.

An edge between stations whose living spots clash no more can tell nothing: it draws nothing (``Living.draw``
is 0) and is left out.  What its messages hold goes back into its ends' thetas.
"""

from __future__ import annotations

import numpy as np

from footwork.arrange.core.arrays import Ints, Longs
from footwork.arrange.relaxation.model import (
    APART,
    CLASH,
    LARGEST,
    LEG,
    SAME,
    Living,
    Problem,
    State,
    Whole,
    clashes,
)
from footwork.compiled.functions import bare, bare_unit, unit


@bare
def clash_count(problem: Problem, spots: Ints, first: Ints, e: int) -> Whole:
    """How many pairs of an edge's spots clash."""
    i, j = problem.station[problem.ends[e, 0]], problem.station[problem.ends[e, 1]]
    count: Whole = np.int64(0)
    for x in range(first[i], first[i + 1]):
        for y in range(first[j], first[j + 1]):
            count += int(clashes(problem.clash, spots[x], spots[y]))
    return count


@bare
def drawn(spread: float, clashing: float) -> Whole:
    """The draw of an edge: by the root of its prices' spread and the share of its pairs that clash."""
    return np.int64(max(1.0, 128.0 * spread**0.5 + 48.0 * clashing + 0.5))


@bare
def drawn_by_prices(prices: Ints) -> Whole:
    """The draw of an edge with these prices."""
    total, least, count = np.int64(0), CLASH, 0
    for price in prices:
        if price < CLASH:
            total += price
            least = min(least, price)
            count += 1
    spread = (total / count - least) / LARGEST if count > 0 else 0.0
    return drawn(spread, 1.0 - count / max(len(prices), 1))


@unit
def draws(problem: Problem, spots: Ints, first: Ints, prices: Ints, prices_at: Longs) -> Longs:
    """``Living.draw``: an edge draws by what its messages can tell.

    That of a visit and a station that serves it draws like the visit's legs.
    """
    draw = np.zeros(len(problem.kind), np.int64)
    of_visit = np.ones(len(problem.station), np.int64)
    for e in range(len(problem.kind)):
        u, v = problem.ends[e]
        if problem.kind[e] == APART:
            count = clash_count(problem, spots, first, e)
            i, j = problem.station[u], problem.station[v]
            pairs = (first[i + 1] - first[i]) * (first[j + 1] - first[j])
            if count > 0:
                draw[e] = drawn(0.0, count / pairs)
        elif problem.kind[e] != SAME:
            draw[e] = drawn_by_prices(prices[prices_at[e] : prices_at[e + 1]])
        if problem.kind[e] == LEG:
            of_visit[u], of_visit[v] = max(of_visit[u], draw[e]), max(of_visit[v], draw[e])
    for e in range(len(problem.kind)):
        if problem.kind[e] == SAME:
            draw[e] = of_visit[problem.ends[e, problem.rows[e]]]
    return draw


@bare_unit
def forget_free_edges(problem: Problem, live: Living, messages: Ints) -> None:
    """Leave them out of messages that come from elsewhere, which may be anything."""
    for e in range(len(problem.kind)):
        if live.draw[e] == 0:
            for side in range(2):
                v, at = problem.ends[e, side], live.at[e, side]
                for x in range(live.label[v + 1] - live.label[v]):
                    messages[at + x] = 0


@bare_unit
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
