"""From costs to a ``model.Problem``: variables in the order of the sweeps, edges and blocks."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations

import numpy as np

from footwork.arrange.core.arrays import Ints, Longs
from footwork.arrange.core.slack import WEIGHTS_DOWN
from footwork.arrange.core.visit_variables import VisitLeg, Visits
from footwork.arrange.relaxation.model import (
    CHANNELLING,
    CLASH,
    CLASHES,
    LARGEST,
    LEG,
    PAIR,
    Blocks,
    Edges,
    Incidence,
    Pairs,
    Problem,
    Products,
    Variables,
)

Variable = tuple[str, int]
"""A kind, "station" or "visit", and a number of that kind."""


@dataclass(frozen=True)
class _Edge:
    """One edge; its fields as in ``Edges``, ``u < v`` its variables."""

    u: int
    v: int
    kind: int
    row_end: int = 0
    block: int = 0
    metre_cost: float = 0.0
    visit_end: int = 0
    part: int = 0

    @property
    def ends(self) -> tuple[int, int]:
        return self.u, self.v


def make_problem(
    pair: Ints, unary: Longs, first: Ints, things: Ints, visits: Visits, scale: float
) -> Problem:
    """pair, unary, first: integer costs of stations in the order ``things``; ``scale``: integers a metre."""
    return _Builder(things, visits).problem(pair, unary, first, scale)


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


class _Builder:
    """Builds one problem.

    ``place`` is the station that a thing is, ``number`` the variable that a station or visit is.
    """

    def __init__(self, things: Ints, visits: Visits) -> None:
        self.visits = visits
        self.place = {int(thing): k for k, thing in enumerate(things)}
        self.order = variable_order(len(things), self.place, visits)
        self.number = {variable: k for k, variable in enumerate(self.order)}
        self.parts: list[tuple[int, int]] = []
        self.part_begin = [0]
        for kind, k in self.order:
            if kind == "station":
                self.parts.append((k, 1))
            else:
                visit = visits.variables[k]
                pairs = zip(visit.members, visit.places, strict=True)
                self.parts += [(self.place[m], p) for m, p in pairs]
            self.part_begin.append(len(self.parts))

    def problem(self, pair: Ints, unary: Longs, first: Ints, scale: float) -> Problem:
        edges = [*self._pair_edges(pair, first), *self._channelling(), *self._legs(scale)]
        stations = len(first) - 1
        return Problem(
            first=first,
            pairs=Pairs(pair, np.array([np.packbits(row >= CLASH, bitorder="little") for row in pair])),
            unary=np.concatenate(self._own(unary, first, scale)),
            variables=self._variables(),
            edges=_edges(edges, self._between(edges, stations)),
            incidence=_incidence(edges, len(self.order)),
            blocks=self._blocks(),
            products=self._products(edges, stations),
            origin=np.arange(len(pair), dtype=np.int32),
        )

    def _variables(self) -> Variables:
        return Variables(
            station=np.array([k if kind == "station" else -1 for kind, k in self.order], np.int32),
            part_begin=np.array(self.part_begin, np.int32),
            part_station=np.array([s for s, _ in self.parts], np.int32),
            part_places=np.array([p for _, p in self.parts], np.int32),
        )

    def _own(self, unary: Longs, first: Ints, scale: float) -> list[Longs]:
        """The own costs of each variable."""
        own: list[Longs] = []
        for kind, k in self.order:
            if kind == "station":
                own.append(unary[first[k] : first[k + 1]])
            else:
                costs = np.floor(self.visits.variables[k].unary * scale * WEIGHTS_DOWN)
                own.append(np.minimum(costs, LARGEST).astype(np.int64))
        return own

    def _pair_edges(self, pair: Ints, first: Ints) -> list[_Edge]:
        edges = []
        stations = len(first) - 1
        for i in range(stations):
            for j in range(i + 1, stations):
                block = pair[first[i] : first[i + 1], first[j] : first[j + 1]]
                if block.any():
                    kind = PAIR if ((block > 0) & (block < CLASH)).any() else CLASHES
                    edges.append(_Edge(self.number["station", i], self.number["station", j], kind))
        return edges

    def _channelling(self) -> list[_Edge]:
        edges = []
        for k in range(len(self.visits.variables)):
            v = self.number["visit", k]
            for p in range(self.part_begin[v], self.part_begin[v + 1]):
                # A visit comes before the last of its members in the order, perhaps after others.
                u = self.number["station", self.parts[p][0]]
                edges.append(_Edge(min(u, v), max(u, v), CHANNELLING, visit_end=int(v > u), part=p))
        return edges

    def _legs(self, scale: float) -> list[_Edge]:
        edges = []
        for leg in self.visits.legs:
            v, u = self._axes(leg)
            cost = leg.weight * scale * WEIGHTS_DOWN
            rows = int(v > u)
            edges.append(_Edge(min(u, v), max(u, v), LEG, row_end=rows, block=leg.block, metre_cost=cost))
        return edges

    def _axes(self, leg: VisitLeg) -> tuple[int, int]:
        """The variables whose labels are the rows and the columns of a leg's block."""
        if leg.other is not None:
            return self.number["visit", leg.visit], self.number["visit", leg.other]
        assert leg.thing is not None
        return self.number["visit", leg.visit], self.number["station", self.place[leg.thing]]

    def _blocks(self) -> Blocks:
        axes = [self._axes(leg) for leg in self.visits.leg_of_block()]
        metres = [np.ravel(block).astype(np.float32) for block in self.visits.blocks]
        return Blocks(
            metres=np.concatenate(metres) if metres else np.zeros(0, np.float32),
            row_variable=np.array([row for row, _ in axes], np.int32),
            column_variable=np.array([column for _, column in axes], np.int32),
        )

    def _between(self, edges: list[_Edge], stations: int) -> Ints:
        """``Edges.between``."""
        between = np.full((stations, stations), -1, np.int32)
        for e, edge in enumerate(edges):
            if edge.kind in (PAIR, CLASHES):
                i, j = (self.order[v][1] for v in edge.ends)
                between[i, j] = between[j, i] = e
        return between

    def _products(self, edges: list[_Edge], stations: int) -> Products:
        """For two stations the heaviest edge between labels of theirs alone."""
        heaviest: dict[tuple[int, int], tuple[float, int, int]] = {}
        for e, edge in enumerate(edges):
            if edge.kind in (PAIR, LEG) and all(map(self._of_one_station, edge.ends)):
                weight = np.inf if edge.kind == PAIR else edge.metre_cost
                stations_of = (self.parts[self.part_begin[v]][0] for v in edge.ends)
                for side, (i, j) in enumerate(permutations(stations_of)):
                    if i != j and weight > heaviest.get((i, j), (-1.0, 0, 0))[0]:
                        heaviest[i, j] = (weight, e, side)
        rows, met = [], set()
        for (_, other), (_, e, side) in sorted(heaviest.items()):
            rows.append((e, side, other, edges[e].ends[side] not in met))
            met.add(edges[e].ends[side])
        begin = np.searchsorted([i for i, _ in sorted(heaviest)], np.arange(stations + 1))
        return Products(
            begin=begin.astype(np.int32),
            edge=np.array([e for e, *_ in rows], np.int32),
            side=np.array([side for _, side, *_ in rows], np.int32),
            other=np.array([other for _, _, other, _ in rows], np.int32),
            first=np.array([first for *_, first in rows], np.bool_),
        )

    def _of_one_station(self, v: int) -> bool:
        """Whether a variable has labels of one station alone."""
        return self.part_begin[v + 1] - self.part_begin[v] == 1


def _edges(edges: list[_Edge], between: Ints) -> Edges:
    return Edges(
        ends=np.array([edge.ends for edge in edges], np.int32).reshape(-1, 2),
        kind=np.array([edge.kind for edge in edges], np.uint8),
        row_end=np.array([edge.row_end for edge in edges], np.int32),
        block=np.array([edge.block for edge in edges], np.int32),
        metre_cost=np.array([edge.metre_cost for edge in edges], np.float32),
        visit_end=np.array([edge.visit_end for edge in edges], np.int32),
        part=np.array([edge.part for edge in edges], np.int32),
        between=between,
    )


def _incidence(edges: list[_Edge], variables: int) -> Incidence:
    """Edges of each variable, in the order of the variables at their other ends."""
    found: list[list[tuple[int, int, int]]] = [[] for _ in range(variables)]
    for e, edge in enumerate(edges):
        found[edge.u].append((edge.v, e, 0))
        found[edge.v].append((edge.u, e, 1))
    flat = [item for of in found for item in sorted(of)]
    return Incidence(
        begin=np.cumsum([0, *map(len, found)]).astype(np.int32),
        edge=np.array([e for _, e, _ in flat], np.int32),
        side=np.array([side for *_, side in flat], np.int32),
    )
