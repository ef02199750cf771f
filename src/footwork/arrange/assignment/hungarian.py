"""The least linear assignment, compiled: the Hungarian method."""

from __future__ import annotations

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats, Ints
from footwork.compiled.functions import entry, unit


@unit
def find_way(
    prices: Floats,
    row: int,
    rows: Floats,
    columns: Floats,
    taken: Ints,
    least: Floats,
    came: Ints,
    seen: Bools,
) -> None:
    """Assign one row more, along the shortest augmenting path; ``taken[column]`` is its row, -1: none.

    The last entries of ``taken``, ``columns`` and ``seen`` stand for the row that looks for a column.
    """
    m = prices.shape[1]
    taken[m] = row
    least[:] = np.inf
    seen[:] = False
    here = m
    while taken[here] >= 0:
        seen[here] = True
        i, step, there = taken[here], np.inf, -1
        for b in range(m):
            if not seen[b]:
                reduced = prices[i, b] - rows[i] - columns[b]
                if reduced < least[b]:
                    least[b] = reduced
                    came[b] = here
                if least[b] < step:
                    step, there = least[b], b
        for b in range(m + 1):
            if seen[b]:
                rows[taken[b]] += step
                columns[b] -= step
            else:
                least[b] -= step
        here = there
    while here != m:
        taken[here] = taken[came[here]]
        here = came[here]


@entry
def reduce_by_assignment(prices: Floats) -> float:
    """The cost of the least linear assignment of the rows of ``prices`` (k, m), 0 or more, k <= m.

    Takes its dual prices out of ``prices``, which stay 0 or more.  The Hungarian method with shortest
    augmenting paths: H. Kuhn, Naval Research Logistics Quarterly 2 (1955), 83-97; N. Tomizawa, Networks 1
    (1971), 173-194.
    """
    k, m = prices.shape
    rows, columns = np.zeros(k), np.zeros(m + 1)
    taken = np.full(m + 1, -1, np.int32)
    least, came, seen = np.empty(m + 1), np.zeros(m + 1, np.int32), np.zeros(m + 1, np.bool_)
    for row in range(k):
        find_way(prices, row, rows, columns, taken, least, came, seen)
    for i in range(k):
        for b in range(m):
            prices[i, b] = max(0.0, prices[i, b] - rows[i] - columns[b])
    return np.float64(np.sum(rows) + np.sum(columns[:m]))
