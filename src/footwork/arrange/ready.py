"""Compiled code made ready before the clock starts.

The first call on a machine compiles for a minute or so and keeps the result on disk; later ones load
it in a second.  Neither is to be taken from the time a person gives the search.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from footwork.model.scenario import Door, Job, Room, Scenario, Station, Visit, Wall


def smallest() -> Scenario:
    """Two stools and a door in a square room of 4 m, and a job that visits all three."""
    ring = ((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0))
    inward = ((0.0, 1.0), (-1.0, 0.0), (0.0, -1.0), (1.0, 0.0))
    names = ("south", "east", "north", "west")
    walls = tuple(Wall(name, ring[k], ring[(k + 1) % 4], inward[k]) for k, name in enumerate(names))
    door = Door("door", "south", (1.5, 0.0), (2.5, 0.0), (0.0, 1.0))
    stool = ((-0.2, -0.2), (0.2, -0.2), (0.2, 0.2), (-0.2, 0.2))
    stations = tuple(Station(n, n, (0.4, 0.4), stool, placing="wall") for n in ("one", "two"))
    route = (Visit("door", "door", ("door",)), *(Visit(s.name, "station", (s.name,)) for s in stations))
    return Scenario("smallest", Room(ring, walls, (door,)), stations, jobs=(Job("round", 1.0, route),))


@lru_cache(maxsize=1)
def _once(work: Callable[[Scenario], object]) -> None:
    work(smallest())


def make_ready(work: Callable[[Scenario], object]) -> None:
    """Run ``work`` on the smallest scenario, the first time in this process."""
    _once(work)
