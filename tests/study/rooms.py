"""A small room for the tests of studies: few stations, doors in the west and south walls only.

Its corner is at the origin, so a wall that moves takes no door along: what is walked in a room can be walked
in a larger one.
"""

from __future__ import annotations

import json

from footwork.model.read import loads
from footwork.model.scenario import Scenario
from footwork.study.effort import Effort
from footwork.study.sizes import grid

QUICK = Effort(iterations=60, pitch=0.5, seed=3)
TURN_QUICK = Effort(iterations=40, seed=3)
WANTED = grid([1.2, 2.0, 3.0], [2.6, 3.1])
"""Of rooms."""

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


TURN = """\
name = "Turn"

[seasons]
winter = "5 months"
summer = "7 months"

[room]
size = [4.0, 3.2]
doors = [{ name = "door", wall = "west", from = 0.3, width = 0.9 }]

[stations]
bench = { size = [1.4, 0.6], placing = "wall" }
saw = { size = [0.6, 0.5] }
rack = { size = [1.0, 0.4], placing = "wall", weight = 60 }

[jobs]
fetch = { times = "1 per week", route = ["door:door", "rack", "door:door"] }
frame = { times = "9 per week", season = "winter", route = ["rack", "saw", "bench"] }
mend = { times = "12 per week", season = "summer", route = ["door:door", "bench", "door:door"] }

[[prefer]]
station = "saw"
near = "door"
weight = 20

[layouts.today]
bench = { at = [0.9, 2.9], facing = "south" }
saw = { at = [3.75, 1.5], facing = "west" }
rack = { at = [3.4, 0.2], facing = "north" }
"""
SPOTS = [
    (0.9, 2.9, "south", ["bench", "rack"]),
    (3.1, 2.9, "south", ["bench", "rack"]),
    (3.4, 0.2, "north", ["rack"]),
    (2.1, 0.3, "north", ["bench"]),
    (3.75, 1.5, "west", ["saw"]),
    (1.6, 1.7, "west", ["saw"]),
]
TURN += "".join(
    f'[[spots]]\nat = [{x}, {y}]\nfacing = "{facing}"\ntakes = {json.dumps(takes)}\n'
    for x, y, facing, takes in SPOTS
)
"""A room whose jobs change with the season, and few spots: every layout can be tried."""


def turn(text: str = TURN) -> Scenario:
    return loads(text)
