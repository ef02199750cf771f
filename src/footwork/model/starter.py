"""A first scenario to start from: a room, names out of the catalogue, three jobs, comments throughout."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from footwork.model import spelling
from footwork.model.catalogue import CATALOGUE
from footwork.model.errors import UsageError
from footwork.model.names import hint
from footwork.model.starter_kinds import KINDS, Kind, Route

SMALLEST = (3.0, 2.4)
"""Metres: below this no starter makes sense."""

LARGEST = 100.0
"""Metres: above this it is no home workshop."""

PITCHES = (0.25, 0.5, 1.0)
"""Metres; the first is what `footwork suggest` takes by itself."""

QUICK_SPOTS = 10_500
"""Spots, as ``usual_pitch`` counts them, that are arranged in about five seconds on two cores."""

FILL = 0.85
"""Share of the floor that stations and the floor before them may take; the rest is for walking.
Common practice, and what `footwork suggest` arranges in rooms from 4 x 3 m to 15 x 10 m."""


def starter(kind: str = "metalwork", room: tuple[float, float] | None = None) -> str:
    """The text of a small commented scenario that is valid as it stands.

    ``kind`` is metalwork, woodwork, vehicle or mixed; ``room`` is (east to west, south to north) in
    metres.  Stations that the room has no floor for are left out, and the text says which.  Raises
    UsageError on an unknown kind and on a room that is too small or too large to be one.
    """
    plan, width, depth = _sized(kind, room)
    has_car = plan.car is not None and _car_fits(plan.car, width, depth)
    chosen, left_out = _choose(plan, width, depth, has_car)
    names = {*chosen, *(["car"] if has_car else []), "door:door"}
    parts = [
        _head(plan, width, depth, has_car, usual_pitch(kind, room)),
        _stations(chosen, max(width, depth)),
        _car(plan) if has_car else "",
        _left_out(left_out, plan.car is not None and not has_car),
        _jobs(plan, names),
        _TAIL,
    ]
    return "\n".join(part for part in parts if part)


def usual_pitch(kind: str = "metalwork", room: tuple[float, float] | None = None) -> float:
    """Metres between spots with which `footwork suggest` arranges that starter in a few seconds.

    Arguments and errors are those of ``starter``.
    """
    plan, width, depth = _sized(kind, room)
    has_car = plan.car is not None and _car_fits(plan.car, width, depth)
    chosen, _ = _choose(plan, width, depth, has_car)
    at_wall = sum(CATALOGUE[like].keys().get("placing") == "wall" for like, _ in chosen.values())
    free = len(chosen) - at_wall + has_car
    middle = (width - 1.4) * (depth - 1.4)  # where the middle of a station of usual size can be
    for pitch in PITCHES:
        at_walls = 2 * (width + depth) / pitch * at_wall
        in_the_room = 4 * middle / pitch**2 * free  # four facings
        if at_walls + in_the_room <= QUICK_SPOTS:
            return pitch
    return PITCHES[-1]


def _sized(kind: str, room: tuple[float, float] | None) -> tuple[Kind, float, float]:
    """The kind and the size of its room in metres, or UsageError."""
    if kind not in KINDS:
        raise UsageError(f"no starter of kind '{kind}'; {hint(kind, KINDS, 'kinds')}")
    plan = KINDS[kind]
    width, depth = room or plan.room
    size = f"a room of {width:g} x {depth:g} m"
    if min(width, depth) < SMALLEST[1] or max(width, depth) < SMALLEST[0]:
        raise UsageError(f"{size} is too small to work in; give {SMALLEST[0]:g} x {SMALLEST[1]:g} m or more")
    if max(width, depth) > LARGEST:
        raise UsageError(f"{size} is no workshop; give at most {LARGEST:g} m a side")
    return plan, width, depth


def _car_fits(car: tuple[float, float], width: float, depth: float) -> bool:
    """The car drives in from the south, with room to pass on one side and at its nose."""
    return depth >= car[1] + 1.2 and width >= car[0] + 2.6


def _choose(
    plan: Kind, width: float, depth: float, has_car: bool
) -> tuple[dict[str, tuple[str, str]], list[str]]:
    """Stations by name, each with its catalogue entry and comment, as long as there is floor for them."""
    small = width * depth < 24.0
    floor = FILL * width * depth
    if has_car and plan.car is not None:
        floor -= (plan.car[0] + 0.8) * (plan.car[1] + 0.6) * 0.9
    chosen: dict[str, tuple[str, str]] = {}
    left_out: list[str] = []
    for number, (name, like, little, comment) in enumerate(plan.stations):
        like = little if small and little else like
        size = CATALOGUE[like].keys()["size"]
        floor -= _floor(like)
        fits = max(size) <= max(width, depth) - 0.8
        if number < 3 or (floor >= 0 and fits):
            chosen[name] = (like, comment)
        else:
            floor += _floor(like)
            left_out.append(like)
    return chosen, left_out


def _floor(like: str) -> float:
    """Square metres of a station with the floor before it."""
    keys = CATALOGUE[like].keys()
    sides = len(keys.get("stand", ["front"]))
    around = 1.2 if keys.get("placing") == "island" else 0.0
    return float((keys["size"][0] + 0.2 + around) * (keys["size"][1] + 0.75 * min(sides, 2)))


def _head(plan: Kind, width: float, depth: float, has_car: bool, pitch: float) -> str:
    option = "" if pitch == PITCHES[0] else f" --pitch {pitch:g}"
    head = _HEAD if not option else _HEAD_LARGE
    size = [spelling.length(side, "m") for side in (width, depth)]
    text = head.format(title=plan.title, option=option, width=size[0], depth=size[1])
    if has_car:
        start = round(min(0.6, (width - 2.6) / 2), 2)
        return text + _GATE.format(start=start) + _DOOR.format(wall="east", start=_door_start(depth))
    return text + _DOOR.format(wall="south", start=0.5) + _WINDOW.format(start=round(width / 2 - 0.6, 2))


def _door_start(depth: float) -> float:
    return round(max(0.3, min(1.0, depth - 1.5)), 2)


def _stations(chosen: dict[str, tuple[str, str]], longest: float) -> str:
    text = [_STATIONS]
    for name, (like, comment) in chosen.items():
        line = f"like = {spelling.string(like)}"
        text.append(f"[stations.{name}]\n{line:26}# {comment}\n{_shorter_stock(like, longest)}")
    return "\n".join(text)


def _shorter_stock(like: str, longest: float) -> str:
    """A line that lessens the stock room to what the longer wall allows, or nothing."""
    keys = CATALOGUE[like].keys()
    stock: dict[str, float] = dict(keys.get("stock", {}))
    if not stock:
        return ""
    shortened = False
    for ends, own in ((("left", "right"), keys["size"][0]), (("front", "back"), keys["size"][1])):
        wanted = sum(stock.get(side, 0.0) for side in ends)
        room = 0.75 * longest - own
        if wanted > room:
            shortened = True
            for side in ends:
                if side in stock:
                    stock[side] = round(max(stock[side] * room / wanted, 0.1), 1)
    if not shortened:
        return ""
    inner = ", ".join(f"{side} = {value}" for side, value in stock.items())
    return f"stock = {{ {inner} }}   # less than usual: the room is short\n"


def _car(plan: Kind) -> str:
    assert plan.car is not None
    return _CAR.format(width=plan.car[0], length=plan.car[1])


def _left_out(names: Sequence[str], no_car: bool) -> str:
    lines = []
    if no_car:
        lines.append("# Left out: the car, for it does not fit in with room to walk past it.\n")
    if names:
        words = ", ".join(names)
        lines += [
            "# Left out, because the floor is taken: " + words + ".\n"
            "# Add one as above, and `footwork suggest` says whether it still goes in.\n"
        ]
    return "".join(_wrapped(line) for line in "".join(lines).splitlines()) if lines else ""


def _wrapped(line: str, width: int = 100) -> str:
    words, rows = line.removeprefix("# ").split(" "), ["#"]
    for word in words:
        if len(rows[-1]) + len(word) + 1 > width:
            rows.append("#")
        rows[-1] += f" {word}"
    return "\n".join(rows) + "\n"


def _jobs(plan: Kind, names: set[str]) -> str:
    text = [_JOBS]
    for name, times, comment, route in plan.jobs:
        left = _route(route, names)
        if len(set(_stops(left))) > 1:
            head = f"[jobs.{name}]"
            rows = f"times = {spelling.string(times)}\nroute = {_spell(left, wide=True)}\n"
            text.append(f"{head:26}# {comment}\n{rows}")
    return "\n".join(text)


def _route(route: Route, names: set[str]) -> list[Any]:
    """The route without the stops that are not there, and without one stop twice running."""
    left: list[Any] = []
    for item in route:
        if isinstance(item, tuple):
            inner = _route(item[1], names)
            if len(set(_stops(inner))) > 1:
                left.append((item[0], inner))
            else:
                item = inner[0] if inner else ""
        if isinstance(item, str) and item in names and (not left or left[-1] != item):
            left.append(item)
    return left


def _stops(route: Sequence[Any]) -> list[str]:
    return [s for item in route for s in (_stops(item[1]) if isinstance(item, tuple) else [item])]


def _spell(route: Sequence[Any], *, wide: bool = False) -> str:
    """A route as a TOML list; a ``wide`` one goes over several lines where it is long."""
    parts = [
        f"{{ repeat = {item[0]}, route = {_spell(item[1])} }}"
        if isinstance(item, tuple)
        else spelling.string(item)
        for item in route
    ]
    text = f"[{', '.join(parts)}]"
    if not wide or len(text) < 90:
        return text
    rows = [""]
    for part in parts:
        if len(rows[-1]) + len(part) > 84:
            rows.append("")
        rows[-1] += f" {part},"
    return "[\n" + "".join(f"   {row}\n" for row in rows) + "]"


_HEAD = """\
# {title}: a scenario for Footwork.  Change what is not so in your shed.
#
#   footwork check FILE                   says everything that is wrong with the file
#   footwork suggest FILE --save first    arranges it and writes the layout into this file
#   footwork score FILE --layout first    says what it costs you to walk
#
# Bare numbers are in `units`; a text carries its own: "2400 mm", "7 ft 6 in".  x runs east, y north.

name = "{title}"
units = "m"

[room]
size = [{width}, {depth}]         # inside: east to west, south to north

"""

_HEAD_LARGE = _HEAD.replace(
    "#   footwork score",
    "#                                         (a large room: add{option} for an answer in seconds)\n"
    "#   footwork score",
)

_GATE = """\
[[room.doors]]
name = "gate"
wall = "south"
from = {start}                # from the west end of the wall
width = 2.6
vehicle = true            # the car comes in here

"""

_DOOR = """\
[[room.doors]]
name = "door"
wall = "{wall}"
from = {start}                # from the wall's west or south end
width = 0.9
swing = "out"             # "in" keeps the floor of its swing free
"""

_WINDOW = """
[[room.windows]]
name = "window"
wall = "north"
from = {start}
width = 1.2
"""

_STATIONS = """\
# What stands in the room.  `like` takes size, standing room, stock room and hazards from the
# catalogue (`footwork stations`); write any key below it that is otherwise with yours, such as
# size = [1.2, 0.6]: along the front, front to back.
"""

_CAR = """\
[vehicles.car]
size = [{width}, {length}]         # width, length
door = "gate"
around = {{ front = 0.6, left = 0.6 }}   # working space, and the sides it is worked from
inside = 0.2              # share of the time it is in while other work goes on
"""

_JOBS = """\
# What you do there: the stops in the order you make them, and how often.
"""

_TAIL = """\
# A wish: metres of walking a year that a metre nearer is worth to you.
#
# [[prefer]]
# station = "bench"
# near = "door"
# weight = 100

# How it stands today, to compare with: a place for every station, at its middle.
#
# [layouts.today]
# bench = {{ at = [2.0, 1.5], facing = "south" }}
""".replace("{{", "{").replace("}}", "}")
