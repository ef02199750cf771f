"""Assignment problems from the literature: the figures that others found, found here."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

import footwork
from published.qaplib import BEST, directory, read

NUG12_FLOWS = (
    (5, 2, 4, 1, 0, 0, 6, 2, 1, 1, 1),
    (3, 0, 2, 2, 2, 0, 4, 5, 0, 0),
    (0, 0, 0, 0, 5, 5, 2, 2, 2),
    (5, 2, 2, 10, 0, 0, 5, 5),
    (10, 0, 0, 0, 5, 1, 1),
    (5, 1, 1, 5, 4, 0),
    (10, 5, 2, 3, 3),
    (0, 0, 5, 0),
    (0, 10, 10),
    (5, 0),
    (2,),
)
"""Upper triangle of nug12, row by row: C. Nugent, T. Vollmann and J. Ruml, "An experimental comparison of
techniques for the assignment of facilities to locations", Operations Research 16 (1968), 150-173; as in
QAPLIB."""


def grid(wide: int, deep: int, pitch: float = 1.0) -> np.ndarray:
    """Rectilinear distances between the squares of a grid, numbered row by row."""
    at = np.array([(x, y) for y in range(deep) for x in range(wide)]) * pitch
    return np.abs(at[:, None] - at[None]).sum(axis=2)


def nug12() -> tuple[np.ndarray, np.ndarray]:
    flow = np.zeros((12, 12))
    flow[np.triu_indices(12, 1)] = [f for row in NUG12_FLOWS for f in row]
    return flow + flow.T, grid(4, 3)


def held(flow: np.ndarray, distance: np.ndarray, places: list[int]) -> footwork.Assignment:
    """The assignment when every thing has its place."""
    return footwork.assign(flow, distance, fixed=dict(enumerate(places)), iterations=1, processes=1)


def test_nug12_by_hand() -> None:
    flow, distance = nug12()
    assert held(flow, distance, list(range(12))).cost == 724
    thing_at = np.array([12, 7, 9, 3, 4, 8, 11, 1, 5, 6, 10, 2]) - 1  # by place, as QAPLIB prints it
    assert held(flow, distance, np.argsort(thing_at).tolist()).cost == 578
    found = footwork.assign(flow, distance, iterations=20_000, processes=1)
    assert found.cost == 578
    assert 0 < found.bound <= 578


def test_nug12_by_hand_is_the_file() -> None:
    distance, flow = read("nug12")
    ours = nug12()
    assert (flow == ours[0]).all()
    assert (distance == ours[1]).all()


def test_files_hold_two_matrices_of_the_size_in_their_name() -> None:
    """So the reader is right about where one matrix ends and the next begins."""
    if directory() is None:
        pytest.skip("QAPLIB's files are not installed: see tests/published/qaplib.py")
    for name in BEST:
        flow, distance = read(name)
        assert flow.shape == distance.shape == (len(flow), len(flow)), name
        assert str(len(flow)) in name


ENOUGH = {
    "chr12a": 40_000, "scr12": 40_000, "rou12": 40_000, "had14": 40_000, "tai15a": 80_000, "esc16a": 20_000,
    "nug20": 80_000, "els19": 80_000, "chr12c": 100_000, "nug30": 400_000, "kra30a": 400_000,
    "tai25a": 600_000, "bur26a": 1_000_000, "ste36a": 800_000, "sko42": 1_500_000,
}  # fmt: skip
"""Exchanges within which the best value is to be found, from any seed."""


@pytest.mark.parametrize("name", ENOUGH)
def test_qaplib_best_value_is_reached(name: str) -> None:
    first, second = read(name)
    found = footwork.assign(first, second, iterations=ENOUGH[name], target=BEST[name], processes=1)
    assert found.cost == BEST[name]
    assert found.bound <= BEST[name]


def least(flow: np.ndarray, distance: np.ndarray) -> float:
    """The optimum by trying every order."""
    n = len(flow)
    orders = np.array(list(itertools.permutations(range(len(distance)), n)))
    cost = np.zeros(len(orders))
    for i in range(n):
        for j in range(n):
            if flow[i, j]:
                cost += flow[i, j] * distance[orders[:, i], orders[:, j]]
    return float(cost.min())


@pytest.mark.parametrize("n", [5, 6, 7, 8])
def test_minors_of_nug12_are_proven_optimal(n: int) -> None:
    """nug5 to nug8 as the leading minors of nug12, on the first places of its grid."""
    flow, distance = (matrix[:n, :n] for matrix in nug12())
    found = footwork.assign(flow, distance, iterations=10_000, processes=1)
    assert found.cost == least(flow, distance)
    assert found.status == "proven"
    assert found.bound == found.cost
