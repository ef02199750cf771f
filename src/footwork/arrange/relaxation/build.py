"""From prices to a ``model.Problem``: variables in the order of the passes, edges and blocks."""

from __future__ import annotations

from itertools import permutations

import numpy as np

from footwork.arrange.core.arrays import Ints, Longs, Singles
from footwork.arrange.core.visit_variables import VisitLeg, Visits
from footwork.arrange.relaxation.model import APART, CLASH, LARGEST, LEG, PAIR, SAME, Problem

SLACK = 1.0 - 3e-7
"""Weights of legs are single precision: this much less, so that no product is rounded above its price."""


def make_problem(
    pair: Ints, unary: Longs, first: Ints, things: Ints, visits: Visits, scale: float
) -> Problem:
    """pair, unary, first: integer prices of stations in the order ``things``; ``scale``: integers a metre."""
    place = {int(thing): k for k, thing in enumerate(things)}
    order = variable_order(len(things), place, visits)
    number = {variable: k for k, variable in enumerate(order)}
    parts: list[tuple[int, int]] = []
    part = [0]
    own: list[Longs] = []
    for kind, k in order:
        if kind == "station":
            parts.append((k, 1))
            own.append(unary[first[k] : first[k + 1]])
        else:
            visit = visits.variables[k]
            parts += [(place[m], p) for m, p in zip(visit.members, visit.places, strict=True)]
            own.append(np.minimum(np.floor(visit.unary * scale * SLACK), LARGEST).astype(np.int64))
        part.append(len(parts))
    edges, joined = _edges(pair, first, place, visits, number, part, parts, scale)
    store, axes = _blocks(place, visits, number)
    near, edge, side = _near(edges, len(order))
    return Problem(
        pair,
        np.array([np.packbits(row >= CLASH, bitorder="little") for row in pair]),
        first,
        np.array([k if kind == "station" else -1 for kind, k in order], np.int32),
        np.array(part, np.int32),
        np.array([s for s, _ in parts], np.int32),
        np.array([p for _, p in parts], np.int32),
        np.concatenate(own),
        np.array([(i, j) for i, j, *_ in edges], np.int32).reshape(-1, 2),
        np.array([kind for _, _, kind, *_ in edges], np.uint8),
        np.array([rows for _, _, _, rows, *_ in edges], np.int32),
        np.array([block for *_, block, _ in edges], np.int32),
        np.array([weight for *_, weight in edges], np.float32),
        near,
        edge,
        side,
        store,
        axes,
        joined,
        np.arange(len(pair), dtype=np.int32),
        *_stars(edges, parts, part, len(things)),
    )


Variable = tuple[str, int]
Edge = tuple[int, int, int, int, int, float]
"""Variables, kind, rows, block and weight, as in ``Problem``."""


def variable_order(stations: int, place: dict[int, int], visits: Visits) -> list[Variable]:
    """Each station after the visits whose last member it is."""
    after: dict[int, list[int]] = {}
    for k, visit in enumerate(visits.variables):
        after.setdefault(max(place[m] for m in visit.members), []).append(k)
    return [
        variable
        for s in range(stations)
        for variable in [*(("visit", k) for k in after.get(s, ())), ("station", s)]
    ]


def _edges(
    pair: Ints,
    first: Ints,
    place: dict[int, int],
    visits: Visits,
    number: dict[Variable, int],
    part: list[int],
    parts: list[tuple[int, int]],
    scale: float,
) -> tuple[list[Edge], Ints]:
    edges: list[Edge] = []
    stations = len(first) - 1
    joined = np.full((stations, stations), -1, np.int32)
    for i in range(stations):
        for j in range(i + 1, stations):
            block = pair[first[i] : first[i + 1], first[j] : first[j + 1]]
            if block.any():
                kind = PAIR if ((block > 0) & (block < CLASH)).any() else APART
                joined[i, j] = joined[j, i] = len(edges)
                edges.append((number["station", i], number["station", j], kind, 0, 0, 0.0))
    for k in range(len(visits.variables)):
        v = number["visit", k]
        for p in range(part[v], part[v + 1]):
            # A visit comes before the last of its members in the order, perhaps after others.
            u = number["station", parts[p][0]]
            edges.append((min(u, v), max(u, v), SAME, int(v > u), p, 0.0))
    blocks = blocks_of(visits)
    for leg in visits.legs:
        v, u = number["visit", leg.visit], number[_other_end(leg, place)]
        weight = leg.weight * scale * SLACK
        edges.append((min(u, v), max(u, v), LEG, int(v > u), blocks[id(leg.metres)], weight))
    return edges, joined


def _stars(
    edges: list[Edge], parts: list[tuple[int, int]], part: list[int], stations: int
) -> tuple[Ints, Ints]:
    """``Problem.star`` and ``ray``: for two stations the heaviest edge between labels of theirs alone."""
    heaviest: dict[tuple[int, int], tuple[float, int, int]] = {}
    for e, (u, v, kind, _, _, weight) in enumerate(edges):
        if kind in (PAIR, LEG) and part[u + 1] - part[u] == part[v + 1] - part[v] == 1:
            weight = np.inf if kind == PAIR else weight
            for side, (i, j) in enumerate(permutations((parts[part[u]][0], parts[part[v]][0]))):
                if i != j and weight > heaviest.get((i, j), (-1.0, 0, 0))[0]:
                    heaviest[i, j] = (weight, e, side)
    rays, met = [], set()
    for (_, j), (_, e, side) in sorted(heaviest.items()):
        rays.append((e, side, j, edges[e][side] not in met))
        met.add(edges[e][side])
    star = np.searchsorted([i for i, _ in sorted(heaviest)], np.arange(stations + 1))
    return star.astype(np.int32), np.array(rays, np.int32).reshape(-1, 4)


def _other_end(leg: VisitLeg, place: dict[int, int]) -> Variable:
    if leg.other is not None:
        return "visit", leg.other
    assert leg.thing is not None
    return "station", place[leg.thing]


def _unlike(visits: Visits) -> list[VisitLeg]:
    """One leg for each array of metres."""
    return list({id(leg.metres): leg for leg in visits.legs}.values())


def blocks_of(visits: Visits) -> dict[int, int]:
    """The number of the block that each array of metres (by its ``id``) is."""
    return {id(leg.metres): k for k, leg in enumerate(_unlike(visits))}


def _blocks(place: dict[int, int], visits: Visits, number: dict[Variable, int]) -> tuple[Singles, Ints]:
    legs = _unlike(visits)
    axes = [(number["visit", leg.visit], number[_other_end(leg, place)]) for leg in legs]
    store = [np.ravel(leg.metres).astype(np.float32) for leg in legs]
    return (
        np.concatenate(store) if store else np.zeros(0, np.float32),
        np.array(axes, np.int32).reshape(-1, 2),
    )


def _near(edges: list[Edge], variables: int) -> tuple[Ints, Ints, Ints]:
    """Edges of each variable, in the order of the variables at their other ends."""
    found: list[list[tuple[int, int, int]]] = [[] for _ in range(variables)]
    for e, (i, j, *_) in enumerate(edges):
        found[i].append((j, e, 0))
        found[j].append((i, e, 1))
    flat = [item for of in found for item in sorted(of)]
    near = np.cumsum([0, *map(len, found)]).astype(np.int32)
    return near, np.array([e for _, e, _ in flat], np.int32), np.array([s for *_, s in flat], np.int32)
