"""Layout problems of the textbooks, through the package's own solver: the published best is found and proven.

P: read in the primary text, S: in a secondary text, C: computed here from a closed form, M: from memory.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

import footwork
from footwork.model.read import loads


def rectilinear(at: np.ndarray) -> np.ndarray:
    """Distances along both axes between points, shape (n, 2) to (n, n)."""
    return np.abs(at[:, None] - at[None]).sum(axis=2)


def squares(wide: int, deep: int, side: float = 1.0) -> np.ndarray:
    """Middles of the squares of a grid, row by row, shape (wide x deep, 2)."""
    return np.array([(x, y) for y in range(deep) for x in range(wide)]) * side


def held(flow: np.ndarray, distance: np.ndarray, places: list[int]) -> float:
    """What it costs when every thing has its place."""
    return footwork.assign(flow, distance, fixed=dict(enumerate(places)), iterations=1, processes=1).cost


def best(flow: np.ndarray, distance: np.ndarray) -> footwork.Assignment:
    return footwork.assign(flow, distance, iterations=10_000, processes=1)


def by_trying_all(flow: np.ndarray, distance: np.ndarray) -> float:
    """The least cost of all orders, with nothing of the package in it."""
    orders = itertools.permutations(range(len(flow)))
    return min(float((flow * distance[np.ix_(order, order)]).sum()) for order in orders)


# --- Six areas of a job shop on a 2 x 3 grid of 20 ft squares, rectilinear.

AREAS = ("material", "weld", "drill", "lathe", "grind", "bend")
LOADS = {
    ("material", "weld"): 100, ("material", "drill"): 50, ("material", "bend"): 50, ("weld", "material"): 25,
    ("weld", "lathe"): 50, ("drill", "material"): 25, ("drill", "grind"): 50, ("lathe", "weld"): 25,
    ("lathe", "grind"): 20, ("grind", "material"): 50, ("grind", "drill"): 100, ("bend", "material"): 10,
    ("bend", "drill"): 20,
}  # fmt: skip
"""Loads from area to area: an operations-management textbook problem, attributed to J. Heizer and B. Render,
"Operations Management" (M); the costs follow from the loads (C)."""


def six_areas() -> tuple[np.ndarray, np.ndarray]:
    """One-way loads, and feet."""
    flow = np.zeros((6, 6))
    for (here, there), count in LOADS.items():
        flow[AREAS.index(here), AREAS.index(there)] = count
    return flow, rectilinear(squares(3, 2, 20.0))


def test_six_areas_of_a_job_shop() -> None:
    flow, distance = six_areas()
    assert held(flow, distance, list(range(6))) == 20_900
    found = best(flow, distance)
    assert (found.cost, found.bound, found.status) == (13_000, 13_000, "proven")
    assert by_trying_all(flow, distance) == 13_000


# --- Six departments, where only what does not touch costs more.

DEPARTMENTS = {
    (1, 2): 50, (1, 3): 100, (1, 6): 20, (2, 3): 30, (2, 4): 50, (2, 5): 10, (3, 4): 20, (3, 6): 100,
    (4, 5): 50,
}  # fmt: skip
"""Loads a week between six departments: J. Heizer and B. Render, "Operations Management" (S), with the costs
of the listed order, of the swap of 1 and 2, and of the best."""


def six_departments() -> tuple[np.ndarray, np.ndarray]:
    """Cost 1 a load where two rooms of the 2 x 3 grid touch, corners included, else 2."""
    flow = np.zeros((6, 6))
    for (here, there), count in DEPARTMENTS.items():
        flow[here - 1, there - 1] = count
    at = squares(3, 2)
    return flow, np.abs(at[:, None] - at[None]).max(axis=2)


def test_six_departments() -> None:
    flow, distance = six_departments()
    assert held(flow, distance, [0, 1, 2, 3, 4, 5]) == 570
    assert held(flow, distance, [1, 0, 2, 3, 4, 5]) == 480
    found = best(flow, distance)
    assert (found.cost, found.bound, found.status) == (430, 430, "proven")
    assert by_trying_all(flow, distance) == 430


# --- One new machine among five: J. A. Tompkins et al., "Facilities Planning", ch. 10 (S), costs (C).

MACHINES = ((1, 1), (6, 2), (2, 8), (3, 6), (8, 4))
WEIGHTS = (10, 20, 25, 20, 25)
MEDIAN, MEDIAN_COST = (3, 4), 440
GEOMETRIC, GEOMETRIC_COST = (3.7030, 5.4468), 342.848


def test_a_new_machine_rectilinear() -> None:
    """The five stand at their places on a grid of 0 to 9 both ways; the sixth may go to any other."""
    at = squares(10, 10)
    flow = np.zeros((6, 6))
    flow[5, :5] = WEIGHTS
    here = {k: int(np.flatnonzero((at == machine).all(axis=1))[0]) for k, machine in enumerate(MACHINES)}
    found = footwork.assign(flow, rectilinear(at), fixed=here, iterations=100, processes=1)
    assert tuple(at[found.places[5]]) == MEDIAN
    assert (found.cost, found.bound, found.status) == (MEDIAN_COST, MEDIAN_COST, "proven")


def shop(spots: list[tuple[float, float]]) -> footwork.Scenario:
    """The five as points of a room, and wishes that draw the new one to them, each with its weight.

    A wish counts the straight line between middles; no job is walked, so nothing else costs.
    """
    size = "size = [0.02, 0.02]\nstand = []\nheight = 1.0\n"
    machines = "".join(
        f"[stations.m{k}]\n{size}fixed = {{ at = [{x}, {y}], facing = 'south' }}\n"
        for k, (x, y) in enumerate(MACHINES)
    )
    wishes = "".join(
        f"[[prefer]]\nstation = 'new'\nnear = 'm{k}'\nweight = {w}\n" for k, w in enumerate(WEIGHTS)
    )
    places = "".join(
        f"[[spots]]\nat = [{x:.6f}, {y:.6f}]\nfacing = 'south'\ntakes = ['new']\n" for x, y in spots
    )
    return loads(
        f"[room]\nsize = [10, 10]\n[[room.doors]]\nname = 'door'\nwall = 'south'\nfrom = 1\nwidth = 1\n"
        f"{machines}[stations.new]\n{size}{wishes}{places}"
    )


def around(x: float, y: float, half: float, count: int) -> list[tuple[float, float]]:
    """A square of ``count`` x ``count`` spots about a point, ``half`` metres to each side."""
    return [(float(a), float(b)) for a in np.linspace(x - half, x + half, count)
            for b in np.linspace(y - half, y + half, count)]  # fmt: skip


def test_a_new_machine_in_a_straight_line() -> None:
    """The optimum is no point of a grid: spots ever closer together close in on it from above."""
    x, y, half = 5.0, 5.0, 4.5
    costs = []
    for _ in range(5):
        found = footwork.suggest(shop(around(x, y, half, 13)), iterations=20, processes=1)
        layout = found.layouts[0]
        x, y = layout.placements["new"].at
        assert layout.cost == pytest.approx(
            sum(w * math.dist((x, y), m) for w, m in zip(WEIGHTS, MACHINES, strict=True))
        )
        assert found.status == "proven"
        costs.append(layout.cost)
        half /= 5.0
    assert costs == sorted(costs, reverse=True)
    assert costs[-1] == pytest.approx(GEOMETRIC_COST, abs=5e-4)
    assert min(costs) >= GEOMETRIC_COST - 5e-4
    assert (x, y) == pytest.approx(GEOMETRIC, abs=3e-3)
