"""Shortest path of a disc's centre: grown obstacles, a full visibility graph, Dijkstra.

Every corner of an obstacle is replaced by the polyline that touches its arc from outside, ``parts`` pieces
a quarter turn: it lies at most r (1 / cos(pi / (4 parts)) - 1) outside the arc (0.054 % of r at 24 parts)
and is at most 0.036 % longer, so that a length found here is never below the true one by more than the
tolerance explains and never above it by more than 0.036 %.  Faces are offset by exactly r.

Corners are taken at the full radius; a line is blocked only where it comes nearer than the radius less a
slack to something.  A gap that lacks less than twice the slack of the walker's width is therefore open.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Any

import networkx as nx
import numpy as np
import scipy.sparse.csgraph
import shapely
from shapely.geometry import Polygon

PARTS = 24
SLACK = 9.95e-5
"""Metres on each side: a gap 0.10 mm too narrow is open and one 0.20 mm too narrow is closed."""
POINT_SLACK = 1e-10
"""Metres: the slack for a walker without width, who may slide along a face."""

Pair = tuple[float, float]


def ccw(ring: Any) -> np.ndarray:
    """A ring as (n, 2), counter-clockwise, without its closing point or repeats."""
    points = np.asarray(ring, dtype=float)
    points = points[np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1) > 1e-12]
    x, y = points.T
    area = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    return points[::-1] if area < 0 else points


def _bends(corner: np.ndarray, start: float, turn: float, radius: float, parts: int) -> np.ndarray:
    """Bends of the polyline round ``corner`` that touches the arc from outside at both its ends."""
    pieces = max(1, math.ceil(turn / (math.pi / 2) * parts - 1e-9))
    half = turn / pieces / 2
    middles = start + half * (2 * np.arange(pieces) + 1)
    return corner + radius / math.cos(half) * np.column_stack([np.cos(middles), np.sin(middles)])


def grow(ring: Any, radius: float, parts: int = PARTS) -> tuple[Any, list[np.ndarray]]:
    """A ring (or a wall: two points) grown by ``radius`` to the outside of its arcs.

    Returns the grown shape and, for each convex corner, the polyline round it: a point before, the bends, a
    point after.  With radius 0 each polyline is the corner between its two neighbours.
    """
    points = np.asarray(ring, dtype=float) if len(ring) == 2 else ccw(ring)
    n = len(points)
    ways = [math.atan2(*(points[(k + 1) % n] - points[k])[::-1]) for k in range(n)]
    outs = [radius * np.array([math.sin(way), -math.cos(way)]) for way in ways]
    pieces: list[Any] = [Polygon(points)] if n > 2 else []
    fans = []
    for k in range(n):
        corner, after = points[k], points[(k + 1) % n]
        turn = math.pi if n == 2 else math.remainder(ways[k] - ways[k - 1], 2 * math.pi)
        if turn > 1e-9:
            if radius == 0:
                fans.append(np.array([points[k - 1], corner, after]))
            else:
                bends = _bends(corner, ways[k - 1] - math.pi / 2, turn, radius, parts)
                fans.append(np.vstack([corner + outs[k - 1], bends, corner + outs[k]]))
                pieces.append(Polygon([corner, *fans[-1]]))
        if radius > 0:
            pieces.append(Polygon([corner, after, after + outs[k], corner + outs[k]]))
    return shapely.union_all(pieces), fans


def cross(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    return a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]


class Roads:
    """Every way a disc can go: a visibility graph over the corners of one scene, to which points are added.

    ``graph`` is the networkx.Graph: nodes are numbers, ``at`` their points, edges weigh metres.
    ``supporting`` keeps only the edges that touch the corners at their ends from outside, as every shortest
    path does; without it the graph has every pair that sees each other.
    """

    def __init__(
        self,
        floor: Any,
        rings: Iterable[Any],
        walls: Iterable[Any] = (),
        *,
        radius: float,
        parts: int = PARTS,
        slack: float | None = None,
        supporting: bool = True,
    ) -> None:
        rings, walls = list(rings), list(walls)
        if slack is None:
            slack = SLACK if radius > 2 * SLACK else POINT_SLACK
        self.supporting = supporting
        self.blocked = self._blocked(floor, rings, walls, radius, 4 * parts, slack)
        shapely.prepare(self.blocked)
        fans = [fan for thing in (*rings, *walls) for fan in grow(thing, radius, parts)[1]]
        bends = [fan[1:-1] for fan in fans]
        self.at = np.vstack([*bends, np.empty((0, 2))])
        before = np.vstack([*(fan[:-2] for fan in fans), np.empty((0, 2))])
        after = np.vstack([*(fan[2:] for fan in fans), np.empty((0, 2))])
        keep = (
            ~shapely.intersects(self.blocked, shapely.points(self.at)) if len(self.at) else np.zeros(0, bool)
        )
        self.at, self.before, self.after = self.at[keep], before[keep], after[keep]
        self.graph: nx.Graph = nx.Graph()
        self.graph.add_nodes_from(range(len(self.at)))
        self.number: dict[Pair, int] = {}
        for i in range(len(self.at)):
            self._link(i, i)

    @staticmethod
    def _blocked(
        floor: Any, rings: list[Any], walls: list[Any], radius: float, parts: int, slack: float
    ) -> Any:
        """Where the disc's centre may not be: outside the floor, or too near something (walls count from
        radius 0 up)."""
        if radius > slack:
            solid = [grow(thing, radius - slack, parts)[0] for thing in (*rings, *walls)]
        else:  # a point may be on a face: shrink what is solid by the slack
            solid = [Polygon(ring).buffer(-slack, join_style="mitre") for ring in rings]
            floor = floor.buffer(slack, join_style="mitre")
        x0, y0, x1, y1 = floor.bounds
        around = shapely.box(x0 - 9, y0 - 9, x1 + 9, y1 + 9)
        return shapely.union_all([around.difference(floor), *solid])

    def _supports(self, origin: np.ndarray, upto: int) -> np.ndarray:
        """Which of the first ``upto`` nodes a line from ``origin`` passes without cutting the corner
        there."""
        way = self.at[:upto] - origin
        a = cross(way, self.before[:upto] - self.at[:upto])
        b = cross(way, self.after[:upto] - self.at[:upto])
        return (a * b >= 0) | (np.minimum(np.abs(a), np.abs(b)) < 1e-12) | np.isnan(a)

    def _link(self, i: int, upto: int) -> None:
        """Edges between node ``i`` and the nodes before ``upto`` that it sees."""
        here = self.at[i]
        wanted = np.ones(upto, dtype=bool)
        if self.supporting:
            wanted &= self._supports(here, upto)
            way = self.at[:upto] - here
            a, b = cross(way, self.before[i] - here), cross(way, self.after[i] - here)
            wanted &= (a * b >= 0) | (np.minimum(np.abs(a), np.abs(b)) < 1e-12) | np.isnan(a)
        others = np.flatnonzero(wanted)
        if len(others) == 0:
            return
        lines = shapely.linestrings(
            np.stack([np.broadcast_to(here, (len(others), 2)), self.at[others]], axis=1)
        )
        seen = others[~shapely.intersects(self.blocked, lines)]
        lengths = np.linalg.norm(self.at[seen] - here, axis=1)
        self.graph.add_weighted_edges_from(
            (i, int(j), max(float(length), 1e-12)) for j, length in zip(seen, lengths, strict=True)
        )

    def add(self, point: Sequence[float]) -> int:
        """The node of a point, added to the graph when it is new; a point in something has no edges."""
        key = (float(point[0]), float(point[1]))
        if key not in self.number:
            node = len(self.at)
            self.number[key] = node
            self.graph.add_node(node)
            self.at = np.vstack([self.at, [key]])
            nothing = np.full((1, 2), np.nan)
            self.before, self.after = np.vstack([self.before, nothing]), np.vstack([self.after, nothing])
            if not shapely.intersects_xy(self.blocked, *key):
                self._link(node, node)
        return self.number[key]

    def shortest(self, start: Sequence[float], end: Sequence[float]) -> tuple[float, list[Pair]]:
        """Length in metres (inf when there is no way) and the points of the shortest path."""
        a, b = self.add(start), self.add(end)
        if shapely.intersects_xy(self.blocked, *start) or shapely.intersects_xy(self.blocked, *end):
            return math.inf, []
        try:
            length, nodes = nx.single_source_dijkstra(self.graph, a, b)
        except nx.NetworkXNoPath:
            return math.inf, []
        return float(length), [(float(x), float(y)) for x, y in self.at[nodes]]

    def table(self, starts: Sequence[Sequence[float]], ends: Sequence[Sequence[float]]) -> np.ndarray:
        """Shortest lengths from every start to every end, (len(starts), len(ends)), inf where there is no
        way."""
        a, b = [self.add(p) for p in starts], [self.add(p) for p in ends]
        weights = nx.to_scipy_sparse_array(self.graph, nodelist=range(len(self.at)), format="csr")
        # scipy below 1.15 takes numbers of 32 bits alone, of which networkx below 3.3 makes 64
        weights.indices, weights.indptr = weights.indices.astype("int32"), weights.indptr.astype("int32")
        lengths = scipy.sparse.csgraph.dijkstra(weights, directed=False, indices=a)[:, b]
        inside_a = np.array([shapely.intersects_xy(self.blocked, *p) for p in starts])
        inside_b = np.array([shapely.intersects_xy(self.blocked, *p) for p in ends])
        lengths[inside_a[:, None] | inside_b[None, :]] = math.inf
        return lengths


def length_of(points: Sequence[Pair]) -> float:
    return float(sum(math.dist(p, q) for p, q in pairwise(points)))
