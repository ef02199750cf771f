"""A shed for the tests of what-if and of the command, whose every distance can be checked with a pencil.

bench at (2.0, 5.7) facing south: stand at (2.0, 5.1)
drill at (5.0, 5.7) facing south: stand at (5.0, 5.1)
rack  at (5.0, 0.3) facing north: stand at (5.0, 0.9)

hang   52 a year: bench, drill, bench   3.0 + 3.0 =  6.0 m    312.0 m a year
fetch 104 a year: rack, drill, rack     4.2 + 4.2 =  8.4 m    873.6 m a year
"""

from __future__ import annotations

from pathlib import Path

BOX = """\
# the box shed
name = "Box"
units = "m"

[room]
size = [8.0, 6.0]
doors = [{ name = "gate", wall = "west", from = 1.0, width = 2.5, vehicle = true }]
windows = [{ name = "window", wall = "north", from = 6.0, width = 1.0 }]
fixtures = [{ name = "stove", at = [7.7, 5.7], size = [0.4, 0.4] }]
yards = [{ name = "lane", outline = [[-6.0, 0.0], [0.0, 0.0], [0.0, 6.0], [-6.0, 6.0]] }]

[stations]                      # what stands here
bench = { size = [1.6, 0.6], placing = "wall" }
drill = { size = [0.6, 0.6] }
rack = { size = [1.2, 0.6], placing = "wall", height = 1.0 }
sink = { size = [0.4, 0.4], fixed = { at = [7.8, 3.0], facing = "west" } }

[vehicles.van]
size = [1.6, 3.0]
inside = 0.0

[jobs]
hang = { times = "1 per week", route = ["bench", "drill", "bench"] }   # doors
fetch = { times = "2 per week", route = ["rack", "drill", "rack"], times_range = [52, 156] }

[layouts.today]
bench = { at = [2.0, 5.7], facing = "south" }
drill = { at = [5.0, 5.7], facing = "south" }
rack = { at = [5.0, 0.3], facing = "north" }
van = { at = [1.7, 2.25], facing = "east" }

[layouts.closer]
bench = { at = [2.0, 5.7], facing = "south" }
drill = { at = [4.0, 5.7], facing = "south" }
rack = { at = [5.0, 0.3], facing = "north" }
van = { at = [1.7, 2.25], facing = "east" }
"""


def write_box(folder: Path, text: str = BOX) -> Path:
    """The file of the box shed in ``folder``."""
    path = folder / "box.toml"
    path.write_text(text, encoding="utf-8")
    return path
