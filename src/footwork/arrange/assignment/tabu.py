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

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints, Longs, Seeds
from footwork.arrange.core.random import draw
from footwork.compiled.functions import entry, inner, unit

LANES = 32
"""Rows of prices are padded to a multiple of this, so that the compiled loops run in whole vectors."""
NEVER = 1e300
"""Price of what is no exchange: padding, and the lower half of the table."""


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
def price_of_all(
    field: Floats, own: Floats, both: Floats, ways: Floats, state: Ints, w: int, price: Floats
) -> None:
    """Enter into ``price`` what exchanging w with each other thing would change.

    own          (m,) what each thing pays where it is, 0 for idle ones
    both, ways   flow and distance, each the sum of its two directions, idle things included
    """
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
def move_field(
    flow: Floats,
    distance: Floats,
    back: Floats,
    field: Floats,
    r: int,
    s: int,
    x: int,
    y: int,
    slopes: Floats,
    two: bool,
) -> None:
    """Change of the field when r goes from place x to y and s the other way.

    ``back`` is ``distance`` transposed.  Fills ``slopes``: rows a and b by thing (0 for idle ones),
    h and g by place, as in the head of this module (h holds both directions unless ``two``).
    """
    n, m = len(flow), len(distance)
    a, h, b, g = slopes[0], slopes[1], slopes[2], slopes[3]
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
def make_exchange(
    flow: Floats,
    distance: Floats,
    back: Floats,
    both: Floats,
    ways: Floats,
    two: bool,
    state: Ints,
    field: Floats,
    own: Floats,
    price: Floats,
    slopes: Floats,
    turned: Floats,
    r: int,
    s: int,
) -> None:
    """Exchange r and s and bring the field and all prices up to date; ``turned`` is room to work in."""
    n, m = field.shape
    x, y = state[r], state[s]
    state[r], state[s] = y, x
    move_field(flow, distance, back, field, r, s, x, y, slopes, two)
    for u in range(n):
        own[u] = field[u, state[u]]
    # The prices before the exchange are those of the places before it; r and s are done afresh below.
    for u in range(m):
        turned[0, u] = slopes[1, state[u]]
        turned[1, u] = slopes[3, state[u]]
    for u in range(n):
        k = (u + 1) // LANES * LANES
        row = price[u, k:]
        refresh(row, slopes[0, k:], turned[0, k:], slopes[0, u], turned[0, u])
        if two:
            refresh(row, slopes[2, k:], turned[1, k:], slopes[2, u], turned[1, u])
    price_of_all(field, own, both, ways, state, r, price)
    price_of_all(field, own, both, ways, state, s, price)


@entry
def taboo(
    flow: Floats,
    distance: Floats,
    linear: Floats,
    two: bool,
    state: Ints,
    steps: int,
    seed: Seeds,
    best: Ints,
) -> float:
    """Search from ``state`` for so many steps.

    flow, distance   (n, n) and (m, m), m >= n, zero diagonals; both symmetric unless ``two``
    linear    (n, m) cost of each thing at each place; a forbidden place costs more than all the rest
    state     (m,) place of each thing, then of each idle one; changed to where the search ended
    seed      (1,) uint64 generator state; changed
    best      (m,) filled with the best state seen; its cost is returned
    """
    n, m = len(flow), len(distance)
    wide = (m + LANES - 1) // LANES * LANES
    back, ways, both = distance.T.copy(), distance + distance.T, np.zeros((m, n))
    both[:n] = flow + flow.T
    field, own, price = np.empty((n, m)), np.zeros(m), np.full((n, wide), NEVER)
    slopes, turned, tabu = np.zeros((4, wide)), np.zeros((2, wide)), np.zeros((n, m), np.int64)
    fill_field(flow, distance, linear, state, field)
    for u in range(n):
        own[u] = field[u, state[u]]
    for u in range(n):
        price_of_all(field, own, both, ways, state, u, price)
    now = cost_of(flow, distance, linear, state)
    record, margin = now, 1e-10 * now
    best[:] = state
    for step in range(1, steps + 1):
        r, s = best_exchange(price, tabu, state, step, record - now - margin)
        if r < 0:
            continue
        now += price[r, s]
        tabu[r, state[r]] = step + np.int64((0.9 + 0.2 * draw(seed)) * m)
        if s < n:
            tabu[s, state[s]] = step + np.int64((0.9 + 0.2 * draw(seed)) * m)
        make_exchange(flow, distance, back, both, ways, two, state, field, own, price, slopes, turned, r, s)
        if now < record - margin:
            record = now
            best[:] = state
    return cost_of(flow, distance, linear, best)
