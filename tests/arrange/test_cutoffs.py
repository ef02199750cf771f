"""The bound's tree, grown for artificial cutoffs from its first node on."""

from __future__ import annotations

import math

import pytest

from arrange.test_small_problems import FEW, KINDS, PROBLEMS, every_bound_is_valid, finish, small, tree_of
from footwork.arrange.branch_and_bound import cutoffs
from footwork.arrange.branch_and_bound.cutoffs import Cutoffs

LIMIT = 1_000_000


@pytest.fixture(params=[1, 3], ids=["from the first node", "from the third node"])
def early(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Problems of a few nodes are worked in cutoffs too."""
    monkeypatch.setattr(cutoffs, "FIRST_NODES", request.param)


@pytest.mark.parametrize("seed", PROBLEMS[::4])
def test_stopped_at_any_node_of_any_cutoff_the_bound_is_valid_and_never_falls(seed: int, early: None) -> None:
    finish(tree_of(small(seed)), small(seed))


@pytest.mark.parametrize(("kind", "seed"), KINDS[::3])
def test_so_it_is_for_a_workshop(kind: int, seed: int, early: None) -> None:
    """Tightening and multipliers all use the cutoff as the cost of no use."""
    every_bound_is_valid(kind, seed)


@pytest.mark.parametrize("seed", FEW)
def test_two_workers_prove_the_same(seed: int, early: None) -> None:
    """A node in work when the cutoff changes belongs to the cutoff before."""
    problem = small(seed)
    tree = tree_of(problem)
    tree.run(lambda: False, workers=2)
    assert tree.done
    finish(tree, problem)


def test_some_of_these_problems_take_several_cutoffs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cutoffs, "FIRST_NODES", 1)
    taken = []
    for seed in PROBLEMS[::4]:
        tree, prices = tree_of(small(seed)), set()
        while not tree.done:
            tree.run(lambda: False, nodes=tree.nodes + 1)
            prices.add(tree._cutoffs.artificial)
        taken.append(len(prices))
    assert max(taken) > 3
    assert sum(n > 1 for n in taken) > 10


FIRST_STEP = LIMIT / 10 / cutoffs.PARTS
KNOWN = 9 * LIMIT // 10


def after(*nodes: int) -> Cutoffs:
    """Cutoffs that took so many nodes one after the other, in no time and with no end of it."""
    found = Cutoffs(True)
    found.start_clock(math.inf)
    found.nodes = cutoffs.FIRST_NODES
    assert found.too_far()
    found.lower(KNOWN, LIMIT)
    for count in nodes:
        found.nodes = count
        found.rise(LIMIT)
    return found


def test_cutoffs_rise_to_the_incumbent() -> None:
    nodes: list[int] = []
    prices = [after().artificial]
    while math.isfinite(prices[-1]):
        nodes.append(1000 + 100 * len(nodes))
        prices.append(after(*nodes).artificial)
    assert len(prices) > 2
    assert prices[0] == KNOWN + FIRST_STEP
    assert prices == sorted(set(prices))
    assert prices[-2] < LIMIT


def test_steps_shrink_where_nodes_grow_fast_and_grow_where_they_hardly_do() -> None:
    fast, slow = after(1000, 4000), after(1000, 1500)
    assert fast.artificial - fast.proved < FIRST_STEP < slow.artificial - slow.proved


@pytest.mark.parametrize("counts", [(1000, 4000), (10, 40)], ids=["many nodes", "few nodes"])
def test_with_little_time_left_the_next_cutoff_is_nearer(
    counts: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a cutoff takes is told from the one before, here 10 s and four times its nodes."""

    def step(seconds: float) -> float:
        now = [0.0]
        monkeypatch.setattr(cutoffs.time, "monotonic", lambda: now[0])
        found = Cutoffs(True)
        found.start_clock(seconds)
        found.lower(KNOWN, LIMIT)
        for nodes in counts:
            now[0] += 10.0
            found.nodes = nodes
            found.rise(LIMIT)
        return found.artificial - found.proved

    assert step(40.0) < step(1000.0) == step(math.inf)


def test_a_tree_of_cells_has_one_cutoff() -> None:
    found = Cutoffs(False)
    found.nodes = 10 * cutoffs.FIRST_NODES
    assert not found.too_far()


def test_the_first_try_at_the_incumbent_takes_no_more_than_its_part_of_the_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    now = [0.0]
    monkeypatch.setattr(cutoffs.time, "monotonic", lambda: now[0])
    found = Cutoffs(True)
    found.start_clock(100.0)
    now[0] = 100.0 * cutoffs.FIRST_PART + 0.1
    assert not found.too_far()  # the root at least
    found.nodes = 1
    assert found.too_far()
    found.lower(KNOWN, LIMIT)
    assert found._times() == (0.0, 100.0 - now[0])
