"""The visibility graph that people see gives the lengths that the search finds."""

from __future__ import annotations

import math

import networkx as nx
import numpy as np
import pytest

from footwork.floor.graph import visibility_graph
from footwork.floor.scene import Obstacle, Scene

SQUARE = Obstacle.from_ring("bench", [(0, 0), (1, 0), (1, 1), (0, 1)])


def test_a_square_and_two_points() -> None:
    # A point walker sees the square's four edges; with (-1, .5) and (2, .5) each sees two corners: 4 + 4.
    assert visibility_graph(Scene((SQUARE,), 1e-9), 0.0).number_of_edges() == 4
    graph = visibility_graph(Scene((SQUARE,), 1e-9), 0.0, [(-1, 0.5), (2, 0.5)])
    assert graph.number_of_edges() == 8
    length = nx.dijkstra_path_length(graph, ("terminal", 0), ("terminal", 1), weight="length")
    assert length == pytest.approx(3.2360679775, abs=1e-9)


def test_nodes_have_positions_and_edges_kinds() -> None:
    graph = visibility_graph(Scene((SQUARE,)), 0.3, [(-1, 0.5), (2, 0.5)])
    assert {kind for *_, kind in graph.edges(data="kind")} == {"line", "arc"}
    assert all(len(pos) == 2 for _, pos in graph.nodes(data="pos"))
    assert {corner for _, corner in graph.nodes(data="corner")} == {None, "bench"}


@pytest.mark.parametrize("radius", [0.0, 0.1, 0.3])
@pytest.mark.parametrize("seed", range(12))
def test_dijkstra_on_the_graph_and_the_search_agree(seed: int, radius: float) -> None:
    rng = np.random.default_rng(seed)
    corners = [(0.0, 0.0), (8.0, 0.0), (8.0, 6.0), (3.0, 6.0), (3.0, 4.0), (0.0, 4.0)]
    things = [Obstacle.from_walls("walls", list(zip(corners, corners[1:] + corners[:1], strict=True)))]
    for k in range(7):
        (x, y), (w, d), turn = (
            rng.uniform([1, 0.5], [7, 5]),
            rng.uniform(0.2, 0.8, 2),
            rng.uniform(0, math.pi),
        )
        c, s = math.cos(turn), math.sin(turn)
        ring = [(-w, -d), (w, -d), (w, d), (-w, d)]
        things.append(Obstacle.from_ring(f"t{k}", [(x + c * a - s * b, y + s * a + c * b) for a, b in ring]))
    scene = Scene(tuple(things), 1e-4 if radius else 1e-9)
    points = [tuple(p) for p in rng.uniform([0.4, 0.4], [7.6, 3.6], (4, 2))]
    graph = visibility_graph(scene, radius, points)
    for i in range(4):
        lengths = nx.single_source_dijkstra_path_length(graph, ("terminal", i), weight="length")
        for j in range(i):
            found = scene.length(points[i], points[j], radius)
            assert lengths.get(("terminal", j), math.inf) == pytest.approx(found, abs=1e-8)
