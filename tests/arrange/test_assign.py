"""``assign`` against trying everything, on small random problems, and what it refuses."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

import footwork
from footwork.arrange.assignment.gilmore_lawler import gilmore_lawler
from footwork.arrange.assignment.hahn_grant import raised_tables
from footwork.arrange.assignment.memetic import prepared
from footwork.arrange.assignment.problem import problem_of, some_assignment
from footwork.arrange.assignment.tabu import (
    cost_of,
    delta_table,
    make_exchange,
    matrices_of,
    robust_tabu,
)
from footwork.model.errors import NoLayoutError, UsageError

Matrix = np.ndarray


def draw(rng: np.random.Generator, n: int, m: int, symmetric: bool, whole: bool) -> tuple[Matrix, Matrix]:
    flow = rng.integers(0, 10, (n, n)) * rng.integers(0, 2, (n, n))
    distance = rng.integers(0, 20, (m, m)).astype(float)
    if symmetric:
        flow, distance = flow + flow.T, distance + distance.T
    if not whole:
        flow, distance = flow * 0.37, distance * 1.3
    return flow.astype(float), distance


def price(flow: Matrix, distance: Matrix, linear: Matrix, places: tuple[int, ...]) -> float:
    """Straight from the definition."""
    things = range(len(flow))
    both = sum(flow[i, j] * distance[places[i], places[j]] for i in things for j in things)
    return float(both + sum(linear[i, places[i]] for i in things))


def least(flow: Matrix, distance: Matrix, linear: Matrix, forbidden: Matrix) -> float:
    orders = itertools.permutations(range(len(distance)), len(flow))
    fair = (o for o in orders if not any(forbidden[i, p] for i, p in enumerate(o)))
    return min((price(flow, distance, linear, o) for o in fair), default=math.inf)


@pytest.mark.parametrize("seed", range(60))
def test_search_finds_the_optimum_and_a_proof_is_one(seed: int) -> None:
    """Symmetric and not, whole and not, places to spare, linear costs, forbidden places, all by turns."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(1, 6))
    m = n + int(rng.integers(0, 3))
    flow, distance = draw(rng, n, m, symmetric=seed % 2 == 0, whole=seed % 3 > 0)
    linear = rng.integers(0, 50, (n, m)).astype(float) if seed % 4 > 1 else np.zeros((n, m))
    forbidden = rng.random((n, m)) < (0.2 if seed % 5 > 2 else 0.0)
    best = least(flow, distance, linear, forbidden)
    if math.isinf(best):
        with pytest.raises(NoLayoutError):
            footwork.assign(flow, distance, linear, forbidden=forbidden, iterations=10)
        return
    found = footwork.assign(
        flow, distance, linear, forbidden=forbidden, iterations=2000, seed=seed, processes=1
    )
    assert found.cost == pytest.approx(best, rel=1e-12)
    assert found.cost == pytest.approx(price(flow, distance, linear, found.places), rel=1e-12)
    assert len(set(found.places)) == n
    assert not any(forbidden[i, p] for i, p in enumerate(found.places))
    assert found.status == "proven"
    assert found.bound == pytest.approx(best, rel=1e-6)
    assert found.bound <= best * (1 + 1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_an_unfinished_bound_is_never_above(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped after so few nodes and exchanges that neither proof nor optimum need be there."""
    from footwork.arrange.assignment import assign as module

    rng = np.random.default_rng(seed)
    flow, distance = draw(rng, 6, 6, symmetric=seed % 2 == 0, whole=seed % 3 > 0)
    best = least(flow, distance, np.zeros((6, 6)), np.zeros((6, 6), bool))
    for work in (0, 36**2 * 40):
        monkeypatch.setattr(module, "NODE_WORK", work)
        found = footwork.assign(flow, distance, iterations=1, seed=seed, processes=1)
        assert found.bound <= best * (1 + 1e-12)
        assert found.cost >= best * (1 - 1e-12)
    assert gilmore_lawler(problem_of(flow, distance, None, None, None, [])) <= best


@pytest.mark.parametrize("seed", range(24))
def test_raised_prices_cost_the_same_and_never_more(seed: int) -> None:
    """Any assignment costs what it cost before; with places to spare it may cost less, never more."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(2, 7))
    m = n + (seed % 3 if seed % 2 else 0)
    flow, distance = draw(rng, n, m, symmetric=seed % 4 > 1, whole=seed % 5 > 0)
    linear = rng.integers(0, 50, (n, m)).astype(float)
    forbidden = np.zeros((n, m), bool)
    forbidden[0, : m // 2] = seed % 6 > 2
    problem = problem_of(flow, distance, linear, None, forbidden, [])
    upper = problem.cost(some_assignment(problem.allowed))
    plain, raised = problem.tables(), raised_tables(problem, upper, lambda: False)
    assert raised.constant >= gilmore_lawler(problem) * (1 - 1e-6) - 1e-6 * upper
    assert raised.unary.min() >= 0
    assert raised.pair.min() >= 0
    place = problem.place_of_spot()
    for _ in range(20):
        spots = rng.integers(raised.first[:-1], raised.first[1:])
        known = problem.cost(place[spots]) if len(set(place[spots].tolist())) == n else math.inf
        assert plain.cost(spots) == pytest.approx(known, rel=1e-6)
        if m == n or math.isinf(known):
            assert raised.cost(spots) == pytest.approx(known, rel=1e-6, abs=1e-6 * upper)
        else:
            assert raised.cost(spots) <= known + 1e-6 * upper


@pytest.mark.parametrize("symmetric", [True, False])
@pytest.mark.parametrize(("n", "m"), [(1, 3), (2, 2), (5, 8), (12, 12), (30, 40)])
def test_prices_of_exchanges_stay_right(n: int, m: int, symmetric: bool) -> None:
    """After every exchange, what each further one would change is what it does change."""
    rng = np.random.default_rng(n * m)
    flow, distance = draw(rng, n, m, symmetric, whole=True)
    np.fill_diagonal(flow, 0)
    np.fill_diagonal(distance, 0)
    linear = rng.integers(0, 50, (n, m)).astype(float)
    state = rng.permutation(m).astype(np.int32)
    matrices = matrices_of(flow.astype(float), distance, linear, not symmetric)
    table = delta_table(matrices, state)
    for _ in range(8):
        r = int(rng.integers(n))
        s = int(rng.integers(r + 1, m)) if r + 1 < m else r
        if r == s:
            continue
        make_exchange(matrices, table, state, r, s)
        now = cost_of(flow, distance, linear, state)
        for u in range(n):
            for v in range(u + 1, m):
                after = state.copy()
                after[u], after[v] = state[v], state[u]
                assert table.price[u, v] == cost_of(flow, distance, linear, after) - now


def test_a_forbidden_place_is_left_by_the_search() -> None:
    """From a state on forbidden places, the search comes to one without."""
    rng = np.random.default_rng(3)
    flow, distance = draw(rng, 10, 10, symmetric=True, whole=True)
    forbidden = np.eye(10, dtype=bool)
    matrices, penalty = prepared(problem_of(flow, distance, None, None, forbidden, []))
    state = np.arange(10, dtype=np.int32)
    best = state.copy()
    cost = robust_tabu(matrices, state, 200, np.array([1], np.uint64), best)
    assert cost < penalty
    assert not (best == np.arange(10)).any()


@pytest.mark.parametrize("symmetric", [True, False])
def test_same_seed_same_answer_with_one_and_two_processes(symmetric: bool) -> None:
    rng = np.random.default_rng(7)
    flow, distance = draw(rng, 16, 18, symmetric, whole=False)
    one, two, again = (
        footwork.assign(flow, distance, iterations=15_000, seed=4, processes=p) for p in (1, 2, 2)
    )
    assert one.places == two.places == again.places
    assert (one.cost, one.bound) == (two.cost, two.bound) == (again.cost, again.bound)


def test_fixed_things_stay_and_their_places_are_theirs() -> None:
    flow, distance = draw(np.random.default_rng(1), 5, 6, symmetric=False, whole=True)
    found = footwork.assign(flow, distance, fixed={0: 3, 4: 0}, iterations=2000)
    orders = (o for o in itertools.permutations(range(6), 5) if o[0] == 3 and o[4] == 0)
    assert (found.places[0], found.places[4]) == (3, 0)
    assert found.cost == min(price(flow, distance, np.zeros((5, 6)), o) for o in orders)
    assert found.status == "proven"


def test_flows_from_a_thing_to_itself_count() -> None:
    """Only the diagonals: 5 at the place of 1, 2 at the place of 10 costs 25, the other way 52."""
    found = footwork.assign(np.diag([5.0, 2.0]), np.diag([1.0, 10.0]), iterations=10)
    assert (found.places, found.cost, found.status) == ((0, 1), 25.0, "proven")


def test_a_target_ends_the_search() -> None:
    flow, distance = draw(np.random.default_rng(2), 30, 30, symmetric=True, whole=True)
    seen: list[float] = []
    found = footwork.assign(
        flow, distance, iterations=10**9, target=1e12, processes=1, progress=lambda p: seen.append(p.best)
    )
    assert found.cost <= 1e12
    assert len(seen) <= 3


def test_by_seconds_small_problems_end_proven_and_early() -> None:
    flow, distance = draw(np.random.default_rng(9), 6, 6, symmetric=True, whole=True)
    found = footwork.assign(flow, distance, seconds=300.0)
    assert found.status == "proven"
    assert found.gap == 0.0


def test_interrupted_it_gives_the_best_so_far() -> None:
    flow, distance = draw(np.random.default_rng(5), 12, 12, symmetric=True, whole=True)

    def interrupt(progress: object) -> None:
        if progress.phase == "search":  # type: ignore[attr-defined]
            raise KeyboardInterrupt

    found = footwork.assign(flow, distance, seconds=300.0, progress=interrupt)
    assert found.cost == price(flow, distance, np.zeros((12, 12)), found.places)
    assert 0 < found.bound <= found.cost
    assert found.status in ("bounded", "proven")


def test_no_cost_at_all_is_proven() -> None:
    found = footwork.assign(np.zeros((3, 3)), np.ones((4, 4)), iterations=10)
    assert (found.cost, found.bound, found.gap, found.status) == (0.0, 0.0, 0.0, "proven")


def test_what_it_gives_back_is_frozen_and_plain() -> None:
    found = footwork.assign([[0, 1], [1, 0]], [[0, 2], [2, 0]], iterations=10)
    assert found.to_dict() == {
        "places": list(found.places), "cost": 4.0, "bound": 4.0, "gap": 0.0, "status": "proven",
        "seconds": found.seconds, "seed": 1,
    }  # fmt: skip
    with pytest.raises(AttributeError):
        found.cost = 3.0  # type: ignore[misc]


GOOD = np.ones((3, 3))


@pytest.mark.parametrize(
    ("arguments", "lines"),
    [
        ({"flow": np.ones((2, 3))}, ["flow must be square, not of shape (2, 3)"]),
        ({"flow": [1, 2]}, ["flow must be a matrix, not of shape (2,)"]),
        ({"flow": "ab"}, ["flow must be a matrix of numbers"]),
        ({"flow": [[0, 1], [1]]}, ["flow must be a matrix of numbers"]),
        ({"flow": np.ones((0, 0))}, ["flow must have at least one thing, not shape (0, 0)"]),
        ({"distance": -GOOD}, ["distance[0, 0] must be 0 or more, not -1, and 8 more"]),
        ({"distance": [[0, math.nan], [1, 0]], "flow": [[1]]}, ["distance[0, 1] must be finite, not nan"]),
        (
            {"flow": np.ones((4, 4))},
            ["there must be a place for each thing: flow has 4 things, distance 3 places"],
        ),
        ({"linear": np.ones((2, 3))}, ["linear must have shape (things, places) = (3, 3), not (2, 3)"]),
        ({"linear": GOOD * math.inf}, ["linear[0, 0] must be finite, not inf, and 8 more"]),
        (
            {"forbidden": GOOD},
            ["forbidden must be true or false in shape (things, places) = (3, 3), not float64 (3, 3)"],
        ),
        ({"fixed": {0: 3}}, ["fixed: thing 0 at place 3: things are 0 to 2, places 0 to 2"]),
        ({"fixed": {0: 1, 2: 1}}, ["fixed: things 0 and 2 cannot both have place 1"]),
        (
            {"fixed": {0: 1}, "forbidden": np.eye(3, k=1, dtype=bool)},
            ["fixed: thing 0 is forbidden at place 1"],
        ),
        (
            {"seconds": 0, "iterations": 0, "seed": -1, "processes": 0, "target": math.nan, "flow": [[-1]]},
            [
                "seconds must be greater than 0, not 0",
                "iterations must be at least 1, not 0",
                "target must be a number, not nan",
                "seed must be 0 or more, not -1",
                "processes must be at least 1, not 0",
                "flow[0, 0] must be 0 or more, not -1",
            ],
        ),
    ],
)
def test_bad_arguments_are_all_named(arguments: dict[str, object], lines: list[str]) -> None:
    with pytest.raises(UsageError) as caught:
        footwork.assign(**{"flow": GOOD, "distance": GOOD, **arguments})  # type: ignore[arg-type]
    assert list(caught.value.lines) == lines


def test_too_few_places_names_who_is_short() -> None:
    forbidden = np.zeros((4, 4), bool)
    forbidden[[0, 2, 3], :2] = True
    with pytest.raises(NoLayoutError, match=r"things 0, 2, 3 have only places 2, 3 left") as caught:
        footwork.assign(np.ones((4, 4)), np.ones((4, 4)), forbidden=forbidden)
    assert len(caught.value.lines) == 1
    with pytest.raises(NoLayoutError, match="thing 1 has no place left"):
        footwork.assign(np.ones((2, 2)), np.ones((2, 2)), forbidden=[[False, False], [True, True]])


@pytest.mark.parametrize("seed", range(30))
def test_a_way_to_assign_is_found_when_there_is_one(seed: int) -> None:
    rng = np.random.default_rng(seed)
    allowed = rng.random((5, 6)) < 0.35
    orders = itertools.permutations(range(6), 5)
    possible = any(all(allowed[i, p] for i, p in enumerate(o)) for o in orders)
    if not possible:
        with pytest.raises(NoLayoutError):
            some_assignment(allowed)
        return
    found = some_assignment(allowed)
    assert allowed[np.arange(5), found].all()
    assert len(set(found.tolist())) == 5
