"""What an edge of the bound's problem weighs, in a node that leaves it without a clash too, and the bits of
its clashes."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from footwork.arrange.branch_and_bound.frontier import Handed
from footwork.arrange.branch_and_bound.node import opened
from footwork.arrange.core.arrays import Ints
from footwork.arrange.core.visit_variables import NO_VISITS
from footwork.arrange.relaxation.build import make_problem
from footwork.arrange.relaxation.model import CLASH, CLASHES, LARGEST, PAIR, Problem, Subproblem
from footwork.arrange.relaxation.packing_multipliers import PackingPoints

SPOTS = 4


def problem(*blocks: tuple[int, int, Ints]) -> Problem:
    """Three stations of four spots with these blocks of prices, 0 elsewhere."""
    pair = np.zeros((3 * SPOTS, 3 * SPOTS), np.int32)
    for i, j, block in blocks:
        pair[i * SPOTS : (i + 1) * SPOTS, j * SPOTS : (j + 1) * SPOTS] = block
        pair[j * SPOTS : (j + 1) * SPOTS, i * SPOTS : (i + 1) * SPOTS] = block.T
    first = np.arange(0, 3 * SPOTS + 1, SPOTS, dtype=np.int32)
    things = np.arange(3, dtype=np.int32)
    return make_problem(pair, np.zeros(3 * SPOTS, np.int64), first, things, NO_VISITS, 1.0)


def prices(spread: float) -> Ints:
    """A block whose mean is so much of the incumbent above its least."""
    block = np.zeros((SPOTS, SPOTS), np.int32)
    block[1::2] = round(2 * spread * LARGEST)
    return block


def clashing(pairs: int) -> Ints:
    block = np.zeros(SPOTS * SPOTS, np.int32)
    block[:pairs] = CLASH
    return block.reshape(SPOTS, SPOTS)


def worked_on(made: Problem, *spots: int) -> Subproblem:
    """The problem on these spots."""
    labels = 3 * SPOTS
    nothing, none = np.zeros(0, np.int32), np.zeros(0, np.int64)
    pick = np.array(spots, np.int32)
    whole = Handed(
        first=made.first,
        active=np.ones(labels, np.bool_),
        steps=np.zeros(labels * len(made.edges.kind), np.int16),
        rlt=np.zeros(labels, np.int32),
    )
    packing = PackingPoints(np.zeros(labels + 1, np.int32), nothing, none)
    sub: Subproblem = opened(made, pick, pick, whole, none, packing).relaxation.sub
    return sub


def weight(made: Problem, i: int, j: int, spots: Iterable[int] = range(3 * SPOTS)) -> int:
    return int(worked_on(made, *spots).edge_weight[made.edges.between[i, j]])


def test_a_walk_of_four_times_the_spread_weighs_twice_as_much() -> None:
    made = problem((0, 1, prices(0.02)), (0, 2, prices(0.08)))
    assert made.edges.kind.tolist() == [PAIR, PAIR]
    assert abs(2 * weight(made, 0, 1) - weight(made, 0, 2)) <= 1


def test_an_edge_weighs_as_its_clashes() -> None:
    made = problem((0, 1, clashing(4)), (1, 2, clashing(8)))
    assert made.edges.kind.tolist() == [CLASHES, CLASHES]
    assert (weight(made, 0, 1), weight(made, 1, 2)) == (12, 24)


def test_every_edge_weighs_something() -> None:
    made = problem((0, 1, prices(1e-6)))
    assert weight(made, 0, 1) == 1


def test_an_edge_weighs_by_the_spots_of_the_node() -> None:
    made = problem((0, 1, clashing(4)))
    assert weight(made, 0, 1, [0, 1, *range(SPOTS, 3 * SPOTS)]) == 24


def test_an_edge_whose_spots_clash_no_more_weighs_nothing() -> None:
    made = problem((0, 1, clashing(4)))
    assert weight(made, 0, 1, range(1, 3 * SPOTS)) == 0


def test_the_bits_are_the_clashes() -> None:
    made = problem((0, 1, clashing(5)), (0, 2, prices(0.1)), (1, 2, clashing(3)))
    bits = np.unpackbits(made.pairs.clashes, axis=1, bitorder="little")[:, : len(made.pairs.costs)]
    assert np.array_equal(bits.astype(bool), made.pairs.costs >= CLASH)
