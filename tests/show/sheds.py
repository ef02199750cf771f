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


_WALLS = {
    # facing, the corner a row starts at, the way it runs
    "south": ("north", (0.3, 0.0), (1, 0)),
    "west": ("east", (0.0, 2.2), (0, 1)),
    "north": ("south", (0.3, 11.0), (1, 0)),
    "inner": ("south", (10.2, 6.0), (1, 0)),
    "east": ("west", (16.0, 1.7), (0, 1)),
    "step": ("west", (10.0, 7.0), (0, 1)),
}
_ROWS = {
    "south": [
        ("parcel shelf", 0.5, 0.4), ("hand tools", 0.9, 0.45), ("soldering bench", 1.5, 0.7),
        ("3D printer one", 0.55, 0.55), ("3D printer two", 0.55, 0.55), ("filament", 0.4, 0.3),
        ("laser cutter", 1.3, 0.9), ("fume filter", 0.45, 0.45),
    ],
    "west": [("timber rack", 3.0, 0.5), ("offcut bin", 0.6, 0.5), ("mitre saw", 1.2, 0.7),
             ("vacuum", 0.5, 0.5)],
    "north": [
        ("sheet store", 2.4, 0.4), ("band saw", 0.6, 0.6), ("router table", 0.9, 0.6),
        ("disc sander", 0.5, 0.5), ("pillar drill", 0.5, 0.6), ("glue and clamps", 1.0, 0.35),
    ],
    "inner": [("sewing table", 1.4, 0.7), ("overlocker", 0.5, 0.45), ("fabric rack", 1.2, 0.4)],
    "east": [("first aid and fire blanket", 0.3, 0.2), ("kettle", 0.4, 0.35), ("notice board", 0.9, 0.1)],
    "step": [("paint cupboard", 0.9, 0.45), ("spray booth", 1.2, 0.8)],
}  # fmt: skip
_ISLANDS = [
    ("joinery bench", 2.0, 0.9, 3.2, 5.0), ("assembly table", 2.4, 1.2, 6.6, 5.2),
    ("table saw", 1.5, 1.0, 4.4, 7.8), ("metal lathe", 1.4, 0.6, 11.3, 3.4),
    ("milling machine", 0.9, 0.9, 13.4, 3.4), ("welding table", 1.2, 0.8, 7.6, 3.0),
]  # fmt: skip


def busy() -> Scenario:
    """32 stations in an L-shaped room, small ones among them, as many people share it."""
    head = (
        'name = "Shared workshop"\n[room]\noutline = [[0, 0], [16, 0], [16, 6], [10, 6], [10, 11], [0, 11]]\n'
        'doors = [{ name = "main door", wall = 2, from = 0.3, width = 1.0, swing = "out" },\n'
        '  { name = "goods door", wall = 6, from = 9.0, width = 1.6 }]\n'
        'windows = [{ name = "window", wall = 5, from = 2, width = 3 }]\n'
        'fixtures = [{ name = "column", at = [10.0, 5.0], size = [0.3, 0.3] }]\n'
    )
    stations, places = ["[stations]"], ["[layouts.today]"]
    for wall, row in _ROWS.items():
        facing, (x, y), (dx, dy) = _WALLS[wall]
        for name, wide, deep in row:
            at = (x + dx * wide / 2, y + dy * wide / 2)
            inward = {"north": (0, 1), "south": (0, -1), "east": (1, 0), "west": (-1, 0)}[facing]
            at = (at[0] + inward[0] * deep / 2, at[1] + inward[1] * deep / 2)
            stations.append(f'"{name}" = {{ size = [{wide}, {deep}] }}')
            places.append(f'"{name}" = {{ at = [{at[0]:.4f}, {at[1]:.4f}], facing = "{facing}" }}')
            x, y = x + dx * (wide + 0.3), y + dy * (wide + 0.3)
    for name, wide, deep, x, y in _ISLANDS:
        stations.append(f'"{name}" = {{ size = [{wide}, {deep}], stand = ["front", "back"], along = true }}')
        places.append(f'"{name}" = {{ at = [{x}, {y}], facing = "south" }}')
    jobs = (
        '[jobs.shelf]\ntimes = "3 per week"\nroute = ["door:main door", "timber rack", "mitre saw",'
        ' "joinery bench",'
        ' { repeat = 4, route = ["pillar drill", "joinery bench"] }, "disc sander", "glue and clamps",'
        ' "assembly table", "paint cupboard", "spray booth", "door:main door"]\n'
        'minutes = { "joinery bench" = 90 }\n'
        '[jobs.print]\ntimes = "2 per day"\nroute = ["door:main door", "filament", "3D printer one",'
        ' "hand tools", "soldering bench", "door:main door"]\n'
        'minutes = { "soldering bench" = 75, "3D printer one" = 4 }\n'
        '[jobs.bag]\ntimes = "2 per week"\nroute = ["fabric rack", "laser cutter", { repeat = 3,'
        ' route = ["sewing table", "overlocker"] }, "kettle", "door:main door"]\n'
    )
    return loads("\n".join([head, *stations, jobs, *places]))
