"""Three crowded sheds as they are found: what holds a person back in each can be told with a tape.

In the garden shed the mower was left before the bench.  In the garage 0.48 m are left between the freezer and
the saw, and all the work is behind.  In the brick shed a motorbike and a stack of boards stand across, each
with too little left at either wall.
"""

from __future__ import annotations

GARDEN = """\
name = "Garden shed"

[room]
size = [3.6, 2.4]
doors = [{ name = "door", wall = "south", from = 2.4, width = 0.85, swing = "out" }]

[stations]
bench = { size = [1.8, 0.6], placing = "wall", strip = 0.7 }
pegs = { size = [1.0, 0.2], placing = "wall", strip = 0.6 }
pots = { size = [0.9, 0.4], placing = "wall", strip = 0.6 }
mower = { size = [0.55, 1.1], stand = [] }
sacks = { size = [0.6, 0.4], stand = [] }

[jobs.sharpen]
times = "2 per month"
route = ["door:door", "bench", "pegs", "bench", "door:door"]

[jobs.pot_up]
times = "3 per week"
route = ["door:door", "pots", "bench", "pots", "door:door"]

[layouts.today]
bench = { at = [1.1, 2.1], facing = "south" }
pegs = { at = [0.1, 1.2], facing = "east" }
pots = { at = [3.4, 1.9], facing = "west" }
mower = { at = [1.2, 1.2], facing = "south" }
sacks = { at = [0.5, 0.2], facing = "north" }
"""
"""The mower's top is 0.05 m before the bench, 0.25 m inside where one would stand."""

GARAGE = """\
name = "Garage"

[room]
size = [6.0, 3.0]
doors = [{ name = "house door", wall = "west", from = 1.2, width = 0.85, swing = "out" }]

[stations]
freezer = { size = [1.4, 0.7], strip = 0.45 }
saw = { size = [0.9, 1.1], stand = ["right"], strip = 0.6 }
bench = { size = [1.8, 0.6], placing = "wall" }
drill = { size = [0.5, 0.5], strip = 0.6 }
grinder = { size = [0.5, 0.4], strip = 0.6 }
rack = { size = [1.2, 0.4], placing = "wall", strip = 0.6 }
bin = { size = [0.4, 0.4], stand = [] }

[jobs.frame]
times = "3 per week"
route = ["door:house door", "rack", "saw", "bench", "drill", "bench"]

[jobs.sharpen]
times = "1 per week"
route = ["door:house door", "grinder", "bench", "grinder"]

[layouts.today]
freezer = { at = [2.0, 2.65], facing = "south" }
saw = { at = [2.2, 1.27], facing = "south" }
bin = { at = [2.2, 0.3], facing = "south" }
bench = { at = [4.6, 2.7], facing = "south" }
drill = { at = [4.0, 0.25], facing = "north" }
grinder = { at = [5.0, 0.2], facing = "north" }
rack = { at = [5.8, 1.4], facing = "west" }
"""
"""Freezer from y 2.3 on, saw from 0.72 to 1.82, bin up to 0.5: the saw can go 0.22 m south, no further."""

BRICK = """\
name = "Brick shed"

[room]
size = [5.4, 2.6]
doors = [{ name = "door", wall = "west", from = 0.9, width = 0.9, swing = "out" }]

[stations]
bench = { size = [1.0, 0.6], placing = "wall", strip = 0.6 }
lathe = { size = [1.2, 0.5], placing = "wall", strip = 0.6 }
motorbike = { size = [LENGTH, 0.8], stand = [] }
boards = { size = [1.9, 0.5], stand = [] }

[jobs.turn]
times = "4 per week"
route = ["door:door", "lathe", "bench"]

[jobs.mend]
times = "1 per week"
route = ["door:door", "bench", "door:door"]

[layouts.today]
motorbike = { at = [1.9, 1.35], facing = "west" }
boards = { at = [3.2, 1.3], facing = "west" }
bench = { at = [4.8, 2.3], facing = "south" }
lathe = { at = [4.7, 0.25], facing = "north" }
"""
"""Across the shed of 2.6 m stand the motorbike, 1.9 m long (0.4 and 0.3 m left) or 2.2 m, and the boards,
1.9 m long (0.35 m left on either side)."""
