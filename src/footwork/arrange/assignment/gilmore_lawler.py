"""The bound of Gilmore and Lawler: quick at any size, and the floor under what the tree proves.

P. Gilmore, "Optimal and suboptimal algorithms for the quadratic assignment problem", SIAM Journal on
Applied Mathematics 10 (1962), 305-313; E. Lawler, "The quadratic assignment problem", Management
Science 9 (1963), 586-599.
"""

from __future__ import annotations

import numpy as np

from footwork.arrange.assignment.hungarian import reduce_by_assignment
from footwork.arrange.assignment.problem import Problem
from footwork.arrange.core.arrays import Floats
from footwork.arrange.core.slack import SUMS_DOWN


def gilmore_lawler(problem: Problem) -> float:
    """What no assignment of ``problem`` costs less than.

    Thing i at place a costs at least ``linear[i, a]`` and the least that its flows can come to from there:
    the greatest flow over the shortest way, and so on down.  The least linear assignment at those prices is
    the bound; flows out of and into each thing count half each.
    """
    prices = problem.linear.copy()
    for flow, distance in ((problem.flow, problem.distance), (problem.flow.T, problem.distance.T)):
        prices += 0.5 * _least_products(flow, distance)
    prices[~problem.allowed] = np.inf
    return reduce_by_assignment(prices) * (1 - SUMS_DOWN)


def _least_products(flow: Floats, distance: Floats) -> Floats:
    """(things, places): the least sum of products of a thing's flows with as many distances from a place."""
    n, m = len(flow), len(distance)
    others = ~np.eye(n, dtype=np.bool_)
    elsewhere = ~np.eye(m, dtype=np.bool_)
    flows = -np.sort(-flow[others].reshape(n, n - 1), axis=1)
    ways = np.sort(distance[elsewhere].reshape(m, m - 1), axis=1)[:, : n - 1]
    return np.asarray(flows @ ways.T)
