"""Small sheds for the tests of plans and tables, each written to be awkward in one way."""

from __future__ import annotations

from footwork.model.read import loads
from footwork.model.scenario import Scenario

CROWDED = """
name = "Crowded corner"
[room]
outline = [[0, 0], [6, 0], [6, 2.5], [3.5, 2.5], [3.5, 5], [0, 5]]
[[room.doors]]
name = "big door"
wall = 1
from = 0.4
width = 2.4
vehicle = true
[[room.doors]]
name = "side"
wall = 6
from = 0.4
width = 0.8
swing = "in"
hinge = "end"
[[room.windows]]
wall = 2
from = 0.5
width = 1.2
[[room.fixtures]]
name = "post"
at = [1.9, 2.0]
size = [0.12, 0.12]
[[room.keep_clear]]
name = "panel"
at = [0.45, 3.6]
size = [0.9, 0.8]
facing = "east"
kind = "electrical panel"
[[room.yards]]
name = "yard"
outline = [[0, -2.5], [6, -2.5], [6, -0.0], [0, 0]]

[stations.bench]
size = [1.5, 0.7]
stand = ["front"]
along = true
[stations.tiny_parts_drawer_with_a_long_name]
size = [0.3, 0.2]
[stations.another_small_thing]
size = [0.3, 0.2]
[stations.post_drill]
size = [0.4, 0.4]
[stations.corner_table]
outline = [[-0.5, -0.4], [0.5, -0.4], [0.5, 0.0], [0.0, 0.4], [-0.5, 0.4]]
stock = { left = 0.6, right = 0.6, width = 0.2 }

[vehicles.barrow]
size = [0.8, 1.4]
door = "big door"
around = { left = 0.6 }

[jobs.sort]
times = "2 per week"
route = [{ repeat = 3, route = ["bench", "post_drill"] }, "another_small_thing", "bench", "door:side"]
minutes = { bench = 200, post_drill = 4 }
[jobs.haul]
times = "10 per year"
route = ["barrow", "bench"]

[layouts.today]
bench = { at = [2.2, 4.6], facing = "south" }
tiny_parts_drawer_with_a_long_name = { at = [3.3, 3.2], facing = "west" }
another_small_thing = { at = [3.3, 2.95], facing = "west" }
post_drill = { at = [5.7, 2.2], facing = 235 }
corner_table = { at = [5.2, 0.6], facing = "west" }
barrow = { at = [1.5, 1.2], facing = "north" }
"""


def crowded() -> Scenario:
    """An L-shaped room: long names on small things, a turned station, a yard, a vehicle."""
    return loads(CROWDED)
