"""A small room for the tests of studies: few stations, doors in the west and south walls only.

Its corner is at the origin, so a wall that moves takes no door along: what is walked in a room can be walked
in a larger one.
"""

from __future__ import annotations

from footwork.model.read import loads
from footwork.model.scenario import Scenario
from footwork.study.effort import Effort

QUICK = Effort(iterations=60, pitch=0.5, seed=3)

NOOK = """\
name = "Nook"

[room]
size = [3.0, 2.6]
doors = [{ name = "door", wall = "west", from = 0.3, width = 0.9 }]

[stations]
bench = { size = [1.4, 0.6], placing = "wall" }
saw = { size = [0.6, 0.5] }
rack = { size = [1.0, 0.4], placing = "wall" }

[jobs]
frame = { times = "3 per week", route = ["rack", "saw", "bench"], times_range = ["1 per week", "9 per week"] }
mend = { times = "1 per week", route = ["door:door", "bench", "door:door"] }

[layouts.today]
bench = { at = [0.9, 2.3], facing = "south" }
saw = { at = [2.75, 1.5], facing = "west" }
rack = { at = [2.4, 0.2], facing = "north" }
"""


def nook(text: str = NOOK) -> Scenario:
    return loads(text)
