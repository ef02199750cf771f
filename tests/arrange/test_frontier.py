"""The queue of open nodes: the order they come in, what they hand on, and the memory they hold."""

from __future__ import annotations

import numpy as np
import pytest

from footwork.arrange.branch_and_bound import frontier
from footwork.arrange.branch_and_bound.frontier import QUICKLY, Handed, Node, OpenNodes, Packed, Parent
from footwork.arrange.core.visit_variables import NO_VISITS
from footwork.arrange.relaxation.build import make_problem
from footwork.arrange.relaxation.model import STEP_BITS, in_steps

NONE = np.zeros(0, np.int32)


def worked(own_bytes: int = 0) -> Parent:
    first = np.array([0, 2, 4], np.int32)
    pair = np.arange(16, dtype=np.int32).reshape(4, 4)
    pair += pair.T
    problem = make_problem(pair, np.zeros(4, np.int64), first, np.arange(2, dtype=np.int32), NO_VISITS, 1.0)
    multipliers = np.array([0, 1 << 40, 7])
    own = Handed(first, np.ones(4, np.bool_), np.arange(-4, 4, dtype=np.int16) << 6, NONE)
    return Parent.make(problem, own_bytes, np.arange(4, dtype=np.int32), own, multipliers)


def node(bound: int, parent: Parent) -> Node:
    return Node(bound, parent, np.arange(4, dtype=np.int32))


LEVELS = pytest.mark.parametrize("level", [0, QUICKLY])


def test_messages_come_back_within_a_step() -> None:
    messages = np.random.default_rng(1).integers(-(1 << 23), 1 << 23, 5000).astype(np.int32)
    less = messages - (in_steps(messages).astype(np.int32) << STEP_BITS)
    assert less.min() >= 0
    assert less.max() < 1 << STEP_BITS


def test_messages_too_great_for_the_steps_are_cut() -> None:
    assert in_steps(np.array([1 << 26, -(1 << 26)], np.int32)).tolist() == [(1 << 15) - 1, -(1 << 15)]


@LEVELS
def test_what_is_packed_comes_back_as_it_was(level: int) -> None:
    array = np.array([0, 1 << 40, 7])
    packed = Packed.make(array, level)
    assert packed.array.tolist() == array.tolist()
    assert packed.array.dtype == array.dtype
    assert packed.array.flags.writeable


def test_compressed_arrays_are_smaller() -> None:
    array = np.zeros(5000, np.int16)
    assert Packed.make(array, QUICKLY).size < Packed.make(array, 0).size == array.nbytes


def test_nodes_are_compressed_once_there_are_many(monkeypatch: pytest.MonkeyPatch) -> None:
    nodes = OpenNodes()
    assert nodes.level == 0
    monkeypatch.setattr(frontier, "ROOMY", 1)
    nodes.push(node(1, worked()))
    assert nodes.level == QUICKLY
    nodes.pop()
    assert nodes.level == 0


def test_the_least_bound_comes_first_and_of_equal_ones_the_older() -> None:
    nodes, of = OpenNodes(), worked()
    for bound in (5, 3, 5, 1):
        nodes.push(node(bound, of))
    assert nodes.least == 1
    assert [nodes.pop()[1].bound for _ in range(4)] == [1, 3, 5, 5]
    for bound in (5, 5):
        nodes.push(node(bound, of))
    assert nodes.pop()[0] < nodes.pop()[0]


@pytest.mark.parametrize("own_bytes", [0, 1000])
def test_what_nodes_share_is_counted_once_and_for_as_long_as_one_needs_it(own_bytes: int) -> None:
    nodes, of = OpenNodes(), worked(own_bytes)
    nodes.push(node(1, of))
    alone = nodes.bytes
    nodes.push(node(2, of))
    assert alone - own_bytes - of.size == nodes.bytes - alone
    nodes.pop()
    assert nodes.bytes == alone
    nodes.pop()
    assert nodes.bytes == 0


def test_nodes_on_one_tightened_problem_count_it_once() -> None:
    one = worked(1000)
    other = Parent.make(one.problem, 1000, one.spots, one.handed(), one.multipliers.array)
    nodes = OpenNodes()
    nodes.push(node(1, one))
    first = nodes.bytes
    nodes.push(node(2, other))
    assert nodes.bytes == 2 * first - 1000
    nodes.clear()
    assert (nodes.bytes, len(nodes)) == (0, 0)
