"""All of the work once, on something small, so that everything compiled is loaded or compiled.

``python -m footwork.arrange.practice search`` does so in a process of its own: it writes ``search`` when what
finds layouts is ready, and goes on with the rest when it is told that the tree is.  With ``tree`` in place of
``search`` the tree alone is compiled, on a plain assignment, which needs no pair table.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache, partial

from footwork.arrange.assignment import assign
from footwork.arrange.core.options import Options
from footwork.arrange.core.progress import Report
from footwork.arrange.instance import make_instance
from footwork.arrange.levels import Levels
from footwork.arrange.ready import follow_parent
from footwork.arrange.run import Run
from footwork.model.scenario import Door, Job, Room, Scenario, Station, Visit, Wall


def smallest(outdoors: bool = False) -> Scenario:
    """Two stools, worked from two sides, one loud, and a door in a square room of 4 m; a job visits all.

    Between stools that may stand ``outdoors`` there may be a wall.
    """
    ring = ((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0))
    inward = ((0.0, 1.0), (-1.0, 0.0), (0.0, -1.0), (1.0, 0.0))
    names = ("south", "east", "north", "west")
    walls = tuple(Wall(name, ring[k], ring[(k + 1) % 4], inward[k]) for k, name in enumerate(names))
    door = Door("door", "south", (1.5, 0.0), (2.5, 0.0), (0.0, 1.0))
    stool = ((-0.2, -0.2), (0.2, -0.2), (0.2, 0.2), (-0.2, 0.2))

    stool_of = partial(
        Station, size=(0.4, 0.4), outline=stool, placing="wall", stand=("front", "left"), outdoors=outdoors
    )
    stations = (stool_of("one", "one", gives=("noise",)), stool_of("two", "two", minds=("noise",)))
    route = (Visit("door", "door", ("door",)), *(Visit(s.name, "station", (s.name,)) for s in stations))
    return Scenario("smallest", Room(ring, walls, (door,)), stations, jobs=(Job("round", 1.0, route),))


@lru_cache(maxsize=1)
def practise(before_tree: Callable[[], object] = lambda: None) -> None:
    """Once in a process; ``before_tree`` is called when all that finds layouts is ready."""
    # Strictly, so that distances between things are asked for; once with prices in place of that, which walls
    # may save, and without time for ways round others.
    options, report = Options(1.0, 8, 1.0, 4, 1, (), None, 0, True, 1), Report(None)
    hurried = replace(options, seconds=1e-9, iterations=None, strict=False)
    make_instance(smallest(True), None, Levels(smallest(True), None, hurried).first)
    run = Run(make_instance(smallest(), None, Levels(smallest(), None, options).first), report)
    run.before_tree = before_tree
    run.practise()


def main(stage: str) -> None:
    """Compile whatever is not on disk."""
    tree_is_ready = follow_parent()

    def before_tree() -> None:
        print("search", flush=True)
        tree_is_ready.wait()

    if stage == "tree":
        assign.practise_tree()
    else:
        practise(before_tree)


if __name__ == "__main__":
    main(sys.argv[1])
