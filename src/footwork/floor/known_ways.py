"""What is known of walking in one scenario, from one layout to the next: distances between standing places.

After a move only what it can have changed is searched anew (``again``).  Metres, in the room's frame.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from footwork.floor import again
from footwork.floor.plan import Plan
from footwork.floor.scene import Obstacle
from footwork.floor.shapes import StandingPlace, stepped_out
from footwork.model.scenario import Placement, Point, Visit

Floats = NDArray[np.float64]
Key = tuple[object, ...]


@dataclass(frozen=True)
class Ends:
    """What a matrix of distances is between: the places of two visits, for a walker with a load ``width``."""

    start: Visit
    end: Visit
    width: float

    def places(self, plan: Plan) -> tuple[Sequence[StandingPlace], Sequence[StandingPlace]]:
        """The standing places of both visits."""
        return plan.visit_places(self.start), plan.visit_places(self.end)

    def points(self, plan: Plan) -> tuple[list[Point], list[Point]]:
        """Where a way begins and ends: a wide load keeps further off."""
        walker = plan.scenario.walker.width
        a, b = ([stepped_out(place, walker, self.width) for place in places] for places in self.places(plan))
        return a, b

    def shape(self, plan: Plan) -> tuple[int, int]:
        """How many places there are at each end."""
        a, b = self.places(plan)
        return len(a), len(b)

    def pairs(self, plan: Plan) -> Floats:
        """All pairs of points as ``again`` has them, row after row of the matrix: (n * m, 5)."""
        a, b = self.points(plan)
        rows = [(*p, *q, self.width / 2) for p in a for q in b]
        return np.array(rows, dtype=np.float64).reshape(-1, 5)

    def walked(self, plan: Plan, lengths: Floats) -> Floats:
        """Distances from place to place, of the ``lengths`` between all points; a new array (n, m)."""
        found: Floats = lengths.reshape(self.shape(plan)) + (self.width - plan.scenario.walker.width)
        if not set(self.start.members).isdisjoint(self.end.members):
            a, b = self.places(plan)
            for i, x in enumerate(a):
                for j, y in enumerate(b):
                    if x == y:
                        found[i, j] = 0.0
        return found


class _Floor:
    """What is known of the floor in one state: matrices of distances, and what they rest on."""

    def __init__(self) -> None:
        self.ends: dict[Key, Ends] = {}
        self._matrices: dict[Key, Floats] = {}
        self._obstacles: tuple[Obstacle, ...] = ()
        self._placements: Mapping[str, Placement] = {}
        self._parts: list[slice] = []
        self._pairs = np.empty((0, 5))
        self._tracks: again.Tracks | None = None

    def after(self, plan: Plan, present: frozenset[str]) -> dict[Key, Floats]:
        """The matrices for another layout; one that has not changed is the same object as before."""
        scene = plan.scene(present)
        tracks = self._tracks
        if tracks is None or len(self._parts) != len(self.ends):
            tracks = self._tracks = self._begin(plan, len(scene.obstacles))
        moved = {name for name, place in plan.placements.items() if self._placements.get(name) != place}
        fresh = np.zeros(len(self._pairs), np.int64)
        for ends, part in zip(self.ends.values(), self._parts, strict=True):
            if not moved.isdisjoint((*ends.start.members, *ends.end.members)):
                fresh[part] = 1
                self._pairs[part] = ends.pairs(plan)
        stood = {id(obstacle) for obstacle in self._obstacles}
        shifted = np.array([id(obstacle) not in stood for obstacle in scene.obstacles], np.int64)
        changed = again.measure_again(scene.arrays, self._pairs, scene.tolerance, shifted, fresh, tracks)
        for (key, ends), part in zip(self.ends.items(), self._parts, strict=True):
            if changed[part].any():
                self._matrices[key] = ends.walked(plan, tracks.length[part])
        self._obstacles, self._placements = scene.obstacles, plan.placements
        return dict(self._matrices)

    def _begin(self, plan: Plan, obstacles: int) -> again.Tracks:
        """Nothing is known yet of how far it is: everything counts as moved."""
        self._placements, self._obstacles, self._matrices = {}, (), {}
        counts = [ends.shape(plan)[0] * ends.shape(plan)[1] for ends in self.ends.values()]
        stops = np.cumsum([0, *counts]).tolist()
        self._parts = [slice(a, b) for a, b in pairwise(stops)]
        count = stops[-1]
        self._pairs = np.empty((count, 5))
        for ends, part in zip(self.ends.values(), self._parts, strict=True):
            self._pairs[part] = ends.pairs(plan)
        return again.Tracks(
            length=np.full(count, np.nan),
            joined=np.zeros((count, obstacles), np.int64),
            edges=np.zeros(count, np.int64),
            edge=np.zeros((count, again.MOST_EDGES, again.EDGE)),
        )


class KnownWays:
    """What is known of one scenario; it goes along from one layout to the next."""

    def __init__(self) -> None:
        self._floors: dict[frozenset[str], _Floor] = {}

    def add(self, present: frozenset[str], key: Key, ends: Ends) -> None:
        """Have this measured in layouts to come."""
        self._floors.setdefault(present, _Floor()).ends[key] = ends

    def after(self, plan: Plan, present: frozenset[str]) -> dict[Key, Floats]:
        """All that was added for a state, in another layout of the scenario."""
        floor = self._floors.get(present)
        return {} if floor is None else floor.after(plan, present)
