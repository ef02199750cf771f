"""What an edge of the bound's problem draws of a variable's thetas, and the bits of its clashes."""

from __future__ import annotations

import numpy as np

from footwork.arrange.living import APART, CLASH, PAIR, Problem
from footwork.arrange.problem import LARGEST, make_problem
from footwork.arrange.tables import Ints
from footwork.arrange.visits import NO_VISITS

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
    """A block whose mean is so much of the upper bound above its least."""
    block = np.zeros((SPOTS, SPOTS), np.int32)
    block[1::2] = round(2 * spread * LARGEST)
    return block


def clashing(pairs: int) -> Ints:
    block = np.zeros(SPOTS * SPOTS, np.int32)
    block[:pairs] = CLASH
    return block.reshape(SPOTS, SPOTS)


def draw(made: Problem, i: int, j: int) -> int:
    return int(made.draw[made.joined[i, j]])


def test_a_walk_of_four_times_the_spread_draws_twice_as_much() -> None:
    made = problem((0, 1, prices(0.02)), (0, 2, prices(0.08)))
    assert made.kind.tolist() == [PAIR, PAIR]
    assert abs(2 * draw(made, 0, 1) - draw(made, 0, 2)) <= 1


def test_an_edge_draws_as_its_clashes() -> None:
    made = problem((0, 1, clashing(4)), (1, 2, clashing(8)))
    assert made.kind.tolist() == [APART, APART]
    assert (draw(made, 0, 1), draw(made, 1, 2)) == (12, 24)


def test_every_edge_draws_something() -> None:
    made = problem((0, 1, prices(1e-6)))
    assert draw(made, 0, 1) == 1


def test_the_bits_are_the_clashes() -> None:
    made = problem((0, 1, clashing(5)), (0, 2, prices(0.1)), (1, 2, clashing(3)))
    bits = np.unpackbits(made.clash, axis=1, bitorder="little")[:, : len(made.pair)]
    assert np.array_equal(bits.astype(bool), made.pair >= CLASH)
