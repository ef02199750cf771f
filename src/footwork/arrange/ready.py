"""Compiled code made ready before the clock starts.

The first call on a machine compiles for a minute or so and keeps the result on disk; later ones load
it in a second.  Neither is to be taken from the time a person gives the search.  Compiling holds Python's
lock, so a second core serves only another process: that one compiles the tree while this one compiles
the pair table and the search.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from functools import lru_cache

from footwork.arrange.branch_and_bound import node
from footwork.compiled.functions import is_kept
from footwork.model.scenario import Door, Job, Room, Scenario, Station, Visit, Wall


def smallest() -> Scenario:
    """Two stools, worked from two sides, and a door in a square room of 4 m; a job that visits all three."""
    ring = ((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0))
    inward = ((0.0, 1.0), (-1.0, 0.0), (0.0, -1.0), (1.0, 0.0))
    names = ("south", "east", "north", "west")
    walls = tuple(Wall(name, ring[k], ring[(k + 1) % 4], inward[k]) for k, name in enumerate(names))
    door = Door("door", "south", (1.5, 0.0), (2.5, 0.0), (0.0, 1.0))
    stool = ((-0.2, -0.2), (0.2, -0.2), (0.2, 0.2), (-0.2, 0.2))
    stations = tuple(
        Station(n, n, (0.4, 0.4), stool, placing="wall", stand=("front", "left")) for n in ("one", "two")
    )
    route = (Visit("door", "door", ("door",)), *(Visit(s.name, "station", (s.name,)) for s in stations))
    return Scenario("smallest", Room(ring, walls, (door,)), stations, jobs=(Job("round", 1.0, route),))


_TREE = "from footwork.arrange.assignment.assign import make_ready; make_ready()"
"""Plain assignment works the same tree on a problem that needs no pair table."""


def _compile_tree_apart() -> subprocess.Popen[bytes] | None:
    """A process that compiles the tree, where that is still to do and a core is free for it."""
    if is_kept(node.make_passes) or (os.cpu_count() or 1) < 2 or not sys.executable:
        return None
    quiet = subprocess.DEVNULL
    try:
        return subprocess.Popen([sys.executable, "-c", _TREE], stdin=quiet, stdout=quiet, stderr=quiet)
    except OSError:
        return None


Practice = Callable[[Scenario, Callable[[], object]], object]
"""Does all of the work once on a scenario, and calls what it is given before it comes to the tree."""


@lru_cache(maxsize=1)
def make_ready(practise: Practice) -> None:
    """Practise on the smallest scenario, the first time in this process."""
    apart = _compile_tree_apart()
    try:
        # Whatever the other process could not do is compiled here.
        practise(smallest(), lambda: apart is None or apart.wait())
    finally:
        if apart is not None:
            apart.kill()
