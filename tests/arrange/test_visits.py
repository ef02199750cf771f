"""Visits as variables of the bound, against trying every spot and every standing place."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from arrange.random_tables import optimum, random_tables
from footwork.arrange.branch_and_bound.tree import Extras, Tree
from footwork.arrange.core.arrays import Ints
from footwork.arrange.core.pairwise import Tables
from footwork.arrange.core.visit_variables import VisitLeg, Visits, VisitVariable
from footwork.arrange.suggest import suggest
from footwork.model.read import loads


def _labels(tables: Tables, members: tuple[int, ...], places: tuple[int, ...]) -> list[tuple[int, int]]:
    """(thing, spot) of each label of a visit."""
    return [
        (m, spot)
        for m, count in zip(members, places, strict=True)
        for spot in range(*tables.first[m : m + 2])
        for _ in range(count)
    ]


def random_visits(rng: np.random.Generator, tables: Tables) -> Visits:
    """Two to four visits in a row, one of them perhaps of two alike things, the last leg to a thing."""
    variables = []
    for k in range(int(rng.integers(2, 5))):
        members = tuple(rng.choice(tables.things, size=1 + (k == 1), replace=False).tolist())
        places = tuple(rng.integers(1, 4, len(members)).tolist())
        labels = _labels(tables, members, places)
        variables.append(VisitVariable(members, places, rng.random(len(labels)) * 20))
    legs, blocks = [], []
    for k, visit in enumerate(variables):
        last = k == len(variables) - 1
        thing = int(rng.integers(tables.things)) if last else None
        columns = int(np.diff(tables.first)[thing]) if last else len(variables[k + 1].unary)
        metres = (rng.random((len(visit.unary), columns)) * 10).astype(np.float32)
        metres[rng.random(metres.shape) < 0.1] = np.inf
        legs.append(VisitLeg(k, None if last else k + 1, thing, float(rng.integers(1, 60)), len(blocks)))
        blocks.append(metres)
    return Visits(tuple(variables), tuple(legs), tuple(blocks))


def walked(tables: Tables, visits: Visits, choice: Ints) -> float:
    """The table's price of a choice and the least price of the visits' labels that agree with it."""
    able = [
        [k for k, (m, spot) in enumerate(_labels(tables, v.members, v.places)) if choice[m] == spot]
        for v in visits.variables
    ]
    best = np.inf
    for labels in itertools.product(*able):
        price = sum(v.unary[k] for v, k in zip(visits.variables, labels, strict=True))
        for leg in visits.legs:
            if leg.other is not None:
                column = labels[leg.other]
            else:
                assert leg.thing is not None
                column = int(choice[leg.thing] - tables.first[leg.thing])
            price += leg.weight * float(visits.blocks[leg.block][labels[leg.visit], column])
        best = min(best, price)
    return tables.cost(choice) + best


@pytest.mark.parametrize("seed", range(80))
def test_proof_with_visits_is_the_optimum_and_every_bound_on_the_way_is_valid(seed: int) -> None:
    rng = np.random.default_rng(seed)
    tables, places = random_tables(rng, 4, 5, clash=0.1)
    visits = random_visits(rng, tables)

    def true(choice: Ints) -> float:
        return walked(tables, visits, choice)

    best = optimum(tables, true)
    start = best * 1.1 + 1 if np.isfinite(best) else tables.clash / 8
    tree = Tree(tables, start, true, places, extras=Extras(visits))
    while not tree.done:
        tree.run(lambda: False, nodes=tree.nodes + 1)
        assert tree.bound <= best * (1 + 1e-12)
    if np.isfinite(best):
        assert tree.incumbent == pytest.approx(best, rel=1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_what_visits_count_leaves_the_table(seed: int) -> None:
    """A pair's price taken over by a visit's leg counts once, in the node's bound too."""
    rng = np.random.default_rng(seed)
    tables, places = random_tables(rng, 3, 5, clash=0.0, flow=1.0)
    weight = 7.0
    shape = [int(np.diff(tables.first)[m]) for m in (0, 1)]
    metres = (rng.random((shape[0] * 2, shape[1])) * 10).astype(np.float32)
    least = metres.reshape(shape[0], 2, shape[1]).min(axis=1).astype(np.float64)
    block = (slice(*tables.first[0:2]), slice(*tables.first[1:3]))
    tables.pair[block] += np.floor(weight * least).astype(np.float32)
    tables.pair[block[1], block[0]] = tables.pair[block].T
    own = rng.random(shape[0] * 2) * 20
    visits = Visits(
        (VisitVariable((0,), (2,), own),),
        (VisitLeg(0, None, 1, weight, 0),),
        (metres,),
        {(0, 1): np.floor(weight * least)},
    )

    def true(choice: Ints) -> float:
        a, b = (int(choice[m] - tables.first[m]) for m in (0, 1))
        share = float(np.floor(weight * least[a, b]))
        labels = (own[2 * a + p] + weight * float(metres[2 * a + p, b]) for p in range(2))
        return tables.cost(choice) - share + min(labels)

    best = optimum(tables, true)
    tree = Tree(tables, best * 1.1 + 1, true, places, extras=Extras(visits))
    tree.run(lambda: False)
    assert tree.incumbent == pytest.approx(best, rel=1e-12)


def test_a_visit_that_never_happens_gains_nothing_and_divides_nothing() -> None:
    """A job of no times a year, at a station with two sides."""
    scenario = loads(
        """
        room = { size = [5.0, 4.0] }
        [stations]
        table = { size = [1.2, 0.8], stand = ["front", "back"] }
        rack = { size = [1.0, 0.4] }
        saw = { size = [0.8, 0.6] }
        [jobs.never]
        times = 0
        route = ["rack", "table", "saw", "table"]
        """
    )
    assert suggest(scenario, iterations=4, pitch=1.0, processes=1).best.ok
