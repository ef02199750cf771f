"""The whole tangent visibility graph of a scene, for people and tests to look at.

The search in ``kernel`` never builds it.  Nodes are the points where straight lines touch the arcs about
corners, and the terminals; edges are clear lines and clear arcs with their true lengths.  A shortest
path in this graph is a shortest path of the walker.  Metres, in the room's frame.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

import networkx as nx
import numpy as np

from footwork.floor import contact
from footwork.floor.contact import Floats
from footwork.floor.scene import Scene
from footwork.model.scenario import Point

Node = tuple[str, int] | tuple[int, float]
_SLACK = 1e-9
_CORNERS_TURNED = ((1, 1), (1, -1), (-1, 1), (-1, -1))


def visibility_graph(scene: Scene, radius: float = 0.3, terminals: Sequence[Point] = ()) -> nx.Graph[Any]:
    """Everything that a disc of ``radius`` may walk along between corners and ``terminals``.

    Returns an undirected graph.  Node ("terminal", i) is the i-th terminal; node (k, angle) is the point
    of corner k's arc in that direction (radians, counter-clockwise from east).  Nodes have ``pos`` (x, y)
    and ``corner`` (the name of the obstacle, None for a terminal); edges have ``length`` in metres and
    ``kind`` ("line" or "arc").
    """
    graph: nx.Graph[Any] = nx.Graph()
    for i, at in enumerate(terminals):
        graph.add_node(("terminal", i), pos=(float(at[0]), float(at[1])), corner=None)
    owners = np.searchsorted(scene.arrays.first, np.arange(len(scene.arrays.corner)), side="right") - 1
    touching: defaultdict[int, set[float]] = defaultdict(set)
    for a, b in _lines(scene, radius, terminals):
        ends: list[Node] = []
        for k, (x, y) in (a, b):
            if k < 0:
                ends.append(("terminal", -1 - k))
                continue
            cx, cy = scene.arrays.corner[k, :2]
            angle = round(math.atan2(y - cy, x - cx), 12) if radius > 0 else 0.0
            touching[k].add(angle)
            ends.append((k, angle))
            graph.add_node((k, angle), pos=(x, y), corner=scene.obstacles[owners[k]].name)
        graph.add_edge(*ends, length=math.dist(a[1], b[1]), kind="line")
    for k, angles in touching.items():
        for low, high in _arcs(scene, k, radius, angles):
            graph.add_edge((k, low), (k, high), length=radius * ((high - low) % math.tau), kind="arc")
    return graph


def _lines(
    scene: Scene, radius: float, terminals: Sequence[Point]
) -> Iterator[tuple[tuple[int, Point], tuple[int, Point]]]:
    """Clear lines between terminals (numbered -1, -2, ...) and corners (0, 1, ...), each once."""
    corner = scene.arrays.corner
    ends = [(-1 - i, (float(x), float(y))) for i, (x, y) in enumerate(terminals)]
    ends += [(k, (float(c[0]), float(c[1]))) for k, c in enumerate(corner)]
    for j, (b, q) in enumerate(ends):
        for a, p in ends[:j]:
            for s, e in {line for line in _tangents(p, q, a >= 0, b >= 0, radius) if line}:
                if all(
                    k < 0 or _within(corner[k], (t[0] - c[0], t[1] - c[1]), s, e, t)
                    for k, c, t in ((a, p, s), (b, q, e))
                ) and (contact.segment_blocker(scene.arrays, *s, *e, radius, scene.tolerance) < 0):
                    yield (a, s), (b, e)


def _tangents(
    p: Point, q: Point, p_turns: bool, q_turns: bool, r: float
) -> Iterator[tuple[Point, Point] | None]:
    """Common tangents of the circles about p and q (a terminal has radius 0)."""
    dx, dy = q[0] - p[0], q[1] - p[1]
    d = math.hypot(dx, dy)
    if d < 1e-12:
        return
    for o, w in _CORNERS_TURNED:
        rp, rq = (r * o if p_turns else 0.0), (r * w if q_turns else 0.0)
        lift = rp - rq
        if abs(lift) > d:
            continue
        # The line's direction is d turned by the angle whose sine is lift / |d|.
        c, s = math.sqrt(d * d - lift * lift) / d, lift / d
        tx, ty = (dx * c - dy * s) / d, (dx * s + dy * c) / d
        yield (p[0] + rp * ty, p[1] - rp * tx), (q[0] + rq * ty, q[1] - rq * tx)


def _within(corner: Floats, out: Point, s: Point, e: Point, t: Point) -> bool:
    """Whether a line s e may touch a corner's arc at t: in its cone (for a point walker, past its edges)."""
    ax, ay, zx, zy = corner[2:]
    x, y = out
    length = math.hypot(x, y)
    if length > 1e-12:
        x, y = x / length, y / length
        return bool(ax * y - ay * x >= -_SLACK and x * zy - y * zx >= -_SLACK)
    # Without a radius the line itself must leave the corner on one side: one of its normals is in the cone.
    dx, dy = e[0] - s[0], e[1] - s[1]
    d = math.hypot(dx, dy)
    normals = ((dy / d, -dx / d), (-dy / d, dx / d))
    return any(ax * v - ay * u >= -_SLACK and u * zy - v * zx >= -_SLACK for u, v in normals)


def _arcs(scene: Scene, k: int, radius: float, angles: set[float]) -> Iterator[tuple[float, float]]:
    """Clear arcs between neighbouring touching points of corner k, counter-clockwise."""
    if radius <= 0 or len(angles) < 2:
        return
    cx, cy, ax, ay = scene.arrays.corner[k, :4]
    start = math.atan2(ay, ax)
    order = sorted(angles, key=lambda a: (a - start + 1e-9) % math.tau)
    for low, high in pairwise(order):
        u, w = (math.cos(low), math.sin(low)), (math.cos(high), math.sin(high))
        if contact.arc_blocker(scene.arrays, contact.Arc(cx, cy, *u, *w, 1.0), radius, scene.tolerance) < 0:
            yield low, high
