"""Robust tabu search over exchanges of places, compiled: the search of plain assignment problems.

Where every place is taken, or nearly, exchanges of two are the moves that matter.  Each step makes
the best exchange of all that is not tabu, better or worse, and forbids both things the place they
left for a random number of steps: E. Taillard, "Robust taboo search for the quadratic assignment
problem", Parallel Computing 17 (1991), 443-455.  Empty places are filled with idle things that flow
nowhere, so that an exchange with one of them is a move to an empty place.

The price of every exchange is kept up to date.  With ``field[u, k]`` what thing u would pay at place
k, an exchange of r and s changes the field by ``a[u] * h[k]`` (one product for each direction of an
unsymmetric problem), and the price of exchanging u and v, both other than r and s, by
``-(a[u] - a[v]) * (h[p[u]] - h[p[v]])``: a step costs things x places products, in straight rows.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints, Longs, Seeds
from footwork.arrange.core.random import draw
from footwork.compiled.functions import entry, inner, unit
from footwork.compiled.records import record

LANES = 32
"""Rows of prices are padded to a multiple of this, so that the compiled loops run in whole vectors."""
NEVER = 1e300
"""Price of what is no exchange: padding, and the lower half of the table."""
A, H, B, G = range(4)
"""Rows of ``DeltaTable.slopes``: a and b by thing (0 for idle ones), h and g by place."""
RECORD_MARGIN = 1e-10
"""Part of the first cost by which a state must cost less than the best to be the best: less is rounding."""


@record
class Matrices(NamedTuple):
    """A problem as the search takes it.

    flow, distance   (n, n) and (m, m), m >= n, zero diagonals; both symmetric unless ``two``
    back             ``distance`` transposed
    both, ways       flow and distance, each the sum of its two directions, idle things included
    linear           (n, m) cost of each thing at each place; a forbidden place costs more than all the rest
    """

    flow: Floats
    distance: Floats
    back: Floats
    both: Floats
    ways: Floats
    linear: Floats
    two: bool


@record
class DeltaTable(NamedTuple):
    """What every exchange would change (``price``, upper half), and what it is kept up to date from.

    field    (n, m) what each thing would pay at each place while all others stay
    own      (m,) what each thing pays where it is, 0 for idle ones
    slopes   how the latest exchange changes the field, ``turned`` the same by thing at its place
    """

    price: Floats
    field: Floats
    own: Floats
    slopes: Floats
    turned: Floats


@entry
def cost_of(flow: Floats, distance: Floats, linear: Floats, state: Ints) -> float:
    """Cost of a state: linear costs, and flow times distance in both directions."""
    total = 0.0
    for i in range(len(flow)):
        total += linear[i, state[i]]
        for j in range(len(flow)):
            total += flow[i, j] * distance[state[i], state[j]]
    return total


@entry
def fill_field(flow: Floats, distance: Floats, linear: Floats, state: Ints, field: Floats) -> None:
    """``field[u, k]``: what thing u pays at place k while all others stay, shape (things, places)."""
    for u in range(len(flow)):
        field[u] = linear[u]
        for j in range(len(flow)):
            there, back = flow[u, j], flow[j, u]
            if there != 0.0 or back != 0.0:
                for k in range(len(distance)):
                    field[u, k] += there * distance[k, state[j]] + back * distance[state[j], k]


@entry
def matrices_of(flow: Floats, distance: Floats, linear: Floats, two: bool) -> Matrices:
    n, m = len(flow), len(distance)
    both = np.zeros((m, n))
    both[:n] = flow + flow.T
    return Matrices(
        flow=flow,
        distance=distance,
        back=distance.T.copy(),
        both=both,
        ways=distance + distance.T,
        linear=linear,
        two=two,
    )


@entry
def delta_table(matrices: Matrices, state: Ints) -> DeltaTable:
    """The table of a state."""
    n, m = len(matrices.flow), len(matrices.distance)
    wide = (m + LANES - 1) // LANES * LANES
    table = DeltaTable(
        price=np.full((n, wide), NEVER),
        field=np.empty((n, m)),
        own=np.zeros(m),
        slopes=np.zeros((4, wide)),
        turned=np.zeros((2, wide)),
    )
    fill_field(matrices.flow, matrices.distance, matrices.linear, state, table.field)
    for u in range(n):
        table.own[u] = table.field[u, state[u]]
    for u in range(n):
        price_of_all(matrices, table, state, u)
    return table


@unit
def price_of_all(matrices: Matrices, table: DeltaTable, state: Ints, w: int) -> None:
    """Enter what exchanging w with each other thing would change."""
    both, ways, field, own, price = matrices.both, matrices.ways, table.field, table.own, table.price
    n, x = len(field), state[w]
    for v in range(n):
        change = field[v, x] - own[v] - own[w] + both[w, v] * ways[x, state[v]]
        if w < n:
            change += field[w, state[v]]
        if v < w:
            price[v, w] = change
        elif v > w:
            price[w, v] = change
    if w < n:
        for v in range(n, len(state)):
            price[w, v] = field[w, state[v]] - own[w]


@inner
def refresh(row: Floats, a: Floats, h: Floats, a_u: float, h_u: float) -> None:
    """Bring the prices of exchanging u with others up to date, for one direction."""
    for v in range(len(row)):
        row[v] -= (a_u - a[v]) * (h_u - h[v])


@inner
def any_below(row: Floats, limit: float) -> bool:
    """Whether a row has a price below the limit; counted, since that is done in vectors."""
    count = 0
    for v in range(len(row)):
        count += row[v] < limit
    return count > 0


@unit
def move_field(matrices: Matrices, table: DeltaTable, r: int, s: int, x: int, y: int) -> None:
    """Change of the field when r goes from place x to y and s the other way; fills ``slopes``.

    As in the head of this module, but h holds both directions unless ``two``.
    """
    flow, distance, back, two = matrices.flow, matrices.distance, matrices.back, matrices.two
    field, slopes = table.field, table.slopes
    n, m = len(flow), len(distance)
    a, h, b, g = slopes[A], slopes[H], slopes[B], slopes[G]
    scale = 1.0 if two else 2.0
    for k in range(m):
        h[k] = scale * (back[y, k] - back[x, k])
    for u in range(n):
        a[u] = flow[u, r] if r < n else 0.0
        if s < n:
            a[u] -= flow[u, s]
    if two:
        for k in range(m):
            g[k] = distance[y, k] - distance[x, k]
        for u in range(n):
            b[u] = flow[r, u]
            if s < n:
                b[u] -= flow[s, u]
    for u in range(n):
        a_u, b_u = a[u], b[u]
        if two:
            for k in range(m):
                field[u, k] += a_u * h[k] + b_u * g[k]
        elif a_u != 0.0:
            for k in range(m):
                field[u, k] += a_u * h[k]


@inner
def best_exchange(price: Floats, tabu: Longs, state: Ints, step: int, wanted: float) -> tuple[int, int]:
    """The cheapest exchange that is not tabu, or is cheaper than ``wanted``; (-1, -1) when there is none.

    It is tabu when both things left the place of the other lately; an idle thing has no memory.
    """
    r, s, found = -1, -1, NEVER / 2
    n, m = len(price), len(state)
    for u in range(n):
        row = price[u]
        if not any_below(row[(u + 1) // LANES * LANES :], found):
            continue
        for v in range(u + 1, m):
            if row[v] >= found:
                continue
            free = tabu[u, state[v]] < step or (v < n and tabu[v, state[u]] < step)
            if free or row[v] < wanted:
                r, s, found = u, v, row[v]
    return r, s


@entry
def make_exchange(matrices: Matrices, table: DeltaTable, state: Ints, r: int, s: int) -> None:
    """Exchange r and s and bring the table up to date."""
    two, field, own, price = matrices.two, table.field, table.own, table.price
    slopes, turned = table.slopes, table.turned
    n, m = field.shape
    x, y = state[r], state[s]
    state[r], state[s] = y, x
    move_field(matrices, table, r, s, x, y)
    for u in range(n):
        own[u] = field[u, state[u]]
    # The prices before the exchange are those of the places before it; r and s are done afresh below.
    for u in range(m):
        turned[0, u] = slopes[H, state[u]]
        turned[1, u] = slopes[G, state[u]]
    for u in range(n):
        k = (u + 1) // LANES * LANES
        row = price[u, k:]
        refresh(row, slopes[A, k:], turned[0, k:], slopes[A, u], turned[0, u])
        if two:
            refresh(row, slopes[B, k:], turned[1, k:], slopes[B, u], turned[1, u])
    price_of_all(matrices, table, state, r)
    price_of_all(matrices, table, state, s)


@entry
def robust_tabu(matrices: Matrices, state: Ints, steps: int, seed: Seeds, best: Ints) -> float:
    """Search from ``state`` for so many steps.

    state     (m,) place of each thing, then of each idle one; changed to where the search ended
    seed      (1,) uint64 generator state; changed
    best      (m,) filled with the best state seen; its cost is returned
    """
    flow, distance, linear = matrices.flow, matrices.distance, matrices.linear
    n, m = len(flow), len(distance)
    table, tabu = delta_table(matrices, state), np.zeros((n, m), np.int64)
    price = table.price
    now = cost_of(flow, distance, linear, state)
    least, margin = now, RECORD_MARGIN * now
    best[:] = state
    for step in range(1, steps + 1):
        r, s = best_exchange(price, tabu, state, step, least - now - margin)
        if r < 0:
            continue
        now += price[r, s]
        tabu[r, state[r]] = step + np.int64((0.9 + 0.2 * draw(seed)) * m)
        if s < n:
            tabu[s, state[s]] = step + np.int64((0.9 + 0.2 * draw(seed)) * m)
        make_exchange(matrices, table, state, r, s)
        if now < least - margin:
            least = now
            best[:] = state
    return cost_of(flow, distance, linear, best)
