"""A first scenario written down: commented TOML that is valid as it stands.

Lengths come in metres and are written in the file's units, "m" or "ft": the room as it was given, what the
reader will replace anyway rounded to 50 mm or a quarter of a foot.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from footwork.model import spelling
from footwork.model.catalogue import CATALOGUE
from footwork.model.starter_kinds import Kind, Route
from footwork.model.units import in_units

NO_CAR = "the car, for there is no room to walk past it; its jobs go to the door instead"

DOOR = 0.9
"""Metres: the width of the door."""

WINDOW = 1.2
"""Metres: the width of the window."""

SETTING_OFF = 1.0
"""Metres that setting off counts: about what is walked while one turns round (common practice)."""


SILL = 1.0
"""Metres: the height a window begins at; benches go below it."""

BESIDE_DOOR, WITH_EXTINGUISHER = 0.45, 12.0
"""Metres from a door's end to an extinguisher, and the square metres from which a room has one."""

BESIDE_THE_CAR = 3.2
"""Metres: a row of stations, a way past them, and room to get out of the car."""

TAP = 1.0
"""Metres from the east wall to the tap in the north wall."""


@dataclass(frozen=True, slots=True)
class Gate:
    """The opening for the car: its wall, metres from the wall's west or south end, metres wide."""

    wall: str
    start: float
    width: float


@dataclass(frozen=True, slots=True)
class Plan:
    """What a starter holds.

    ``width`` (east to west) and ``depth`` are in metres; ``gate`` is None where no car is in it;
    ``stations`` are by name, each with its catalogue entry and comment; ``left_out`` are catalogue names.
    """

    kind: Kind
    width: float
    depth: float
    gate: Gate | None
    stations: dict[str, tuple[str, str]]
    left_out: tuple[str, ...]


def write(plan: Plan, units: str) -> str:
    """The text of a starter, its lengths in ``units``."""
    has_car = plan.gate is not None
    parts = [
        _head(plan, units),
        _openings(plan, units),
        _stations(plan, units),
        _car(plan, units) if has_car else "",
        _left_out(plan),
        _jobs(plan.kind, {*plan.stations, *(["car"] if has_car else []), "door:door"}, has_car),
        _tail(units),
    ]
    return "".join(_aligned(line) for line in "\n".join(part for part in parts if part).splitlines())


def _aligned(line: str) -> str:
    """The line with the comment after a key in one column with those of other lines."""
    key, mark, comment = line.partition(" # ")
    return f"{line}\n" if not key or key[0] == "#" or not mark else f"{key.rstrip():24}  # {comment}\n"


def _exact(metres: float, units: str) -> str:
    return f"{in_units(metres, units):.10g}"


def _about(metres: float, units: str) -> str:
    """A length that nobody measured, rounded to what a tape reads easily."""
    step = {"m": 0.05, "ft": 0.25}[units]
    value = in_units(metres, units)
    return f"{round(round(value / step) * step, 2):g}"


def _head(plan: Plan, units: str) -> str:
    title = plan.kind.title
    width, depth = _exact(plan.width, units), _exact(plan.depth, units)
    walker = _WALKER.format(setting_off=_about(SETTING_OFF, units))
    return _HEAD.format(title=title, units=units, width=width, depth=depth) + walker


def _openings(plan: Plan, units: str) -> str:
    gate, door = plan.gate, _about(DOOR, units)
    if gate is None:
        text, wall, start = "", "south", 0.5
    else:
        opening = {"start": _about(gate.start, units), "width": _about(gate.width, units)}
        text, wall = _GATE.format(wall=gate.wall, **opening), "east"
        # away from the car, which stands along the west wall or along the south wall
        start = max(0.3, min(1.0, plan.depth - 1.5)) if gate.wall == "south" else plan.depth - DOOR - 0.4
    sizes = {"start": plan.width / 2 - WINDOW / 2, "width": WINDOW, "sill": SILL}
    window = _WINDOW.format(**{key: _about(size, units) for key, size in sizes.items()})
    text += _DOOR.format(wall=wall, start=_about(start, units), width=door)
    text += (_EXIT if _roomy(plan) else "") + window
    return text + _fixtures(plan, wall, start, units)


def _roomy(plan: Plan) -> bool:
    """Whether a way out stays wide enough with the car in, wherever that stands."""
    if plan.gate is None or plan.kind.car is None:
        return True
    side = plan.width if plan.gate.wall == "south" else plan.depth
    return side - plan.kind.car[0] >= BESIDE_THE_CAR


def _fixtures(plan: Plan, wall: str, door: float, units: str) -> str:
    """An extinguisher beside the door, which begins at ``door``, and a tap where there is a sink."""
    text = ""
    if plan.width * plan.depth >= WITH_EXTINGUISHER:
        side = plan.width if wall == "south" else plan.depth
        after, before = door + DOOR + BESIDE_DOOR, door - BESIDE_DOOR
        along = _about(after if after <= side - BESIDE_DOOR else before, units)
        at = f"{along}, 0" if wall == "south" else f"{_exact(plan.width, units)}, {along}"
        text += _EXTINGUISHER.format(at=at)
    if "sink" in plan.stations:
        text += _TAP.format(at=f"{_about(plan.width - TAP, units)}, {_exact(plan.depth, units)}")
    return text


def _stations(plan: Plan, units: str) -> str:
    text = [_STATIONS.format(along=_about(1.2, units), deep=_about(0.6, units))]
    longest = max(plan.width, plan.depth)
    for name, (like, comment) in plan.stations.items():
        line = f"like = {spelling.string(like)}"
        text.append(f"[stations.{name}]\n{line} # {comment}\n{_shorter_stock(like, longest, units)}")
    return "\n".join(text)


def _shorter_stock(like: str, longest: float, units: str) -> str:
    """A line that lessens the stock room to what the longer wall allows, or nothing."""
    keys = CATALOGUE[like].keys()
    stock: dict[str, float] = dict(keys.get("stock", {}))
    shortened = False
    for ends, own in ((("left", "right"), keys["size"][0]), (("front", "back"), keys["size"][1])):
        wanted = sum(stock.get(side, 0.0) for side in ends)
        room = 0.75 * longest - own
        if wanted > room:
            shortened = True
            for side in ends:
                if side in stock:
                    stock[side] = max(stock[side] * room / wanted, 0.1)
    if not shortened:
        return ""
    inner = ", ".join(f"{side} = {_about(value, units)}" for side, value in stock.items())
    return f"stock = {{ {inner} }} # less than usual: the room is short\n"


def _car(plan: Plan, units: str) -> str:
    assert plan.kind.car is not None
    width, length = (_about(side, units) for side in plan.kind.car)
    return _CAR.format(width=width, length=length, around=_about(0.6, units))


def _left_out(plan: Plan) -> str:
    lines = []
    if plan.kind.car is not None and plan.gate is None:
        lines.append(f"# Left out: {NO_CAR}.")
    if plan.left_out:
        lines.append(f"# Left out, because the floor is taken: {', '.join(plan.left_out)}.")
        lines.append("# Add one as above, and `footwork suggest` says whether it still goes in.")
    return "".join(_wrapped(line) for line in lines)


def _wrapped(line: str, width: int = 100) -> str:
    words, rows = line.removeprefix("# ").split(" "), ["#"]
    for word in words:
        if len(rows[-1]) + len(word) + 1 > width:
            rows.append("#")
        rows[-1] += f" {word}"
    return "\n".join(rows) + "\n"


def _jobs(kind: Kind, names: set[str], has_car: bool) -> str:
    text = [_JOBS]
    for name, times, comment, route in kind.jobs:
        left = _route(route, names, has_car)
        if len(set(_stops(left))) > 1:
            head = f"[jobs.{name}] # {comment}"
            rows = f"times = {spelling.string(times)}\nroute = {_spell(left, wide=True)}\n"
            text.append(f"{head}\n{rows}")
    return "\n".join(text)


def _route(route: Route, names: set[str], has_car: bool) -> list[Any]:
    """The route without the stops that are not there, and without one stop twice running.

    A car that is not in is worked on outside: one goes to the door.
    """
    left: list[Any] = []
    for item in route:
        if isinstance(item, tuple):
            inner = _route(item[1], names, has_car)
            if len(set(_stops(inner))) > 1:
                left.append((item[0], inner))
            else:
                item = inner[0] if inner else ""
        if item == "car" and not has_car:
            item = "door:door"
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


def _tail(units: str) -> str:
    return _TAIL.format(x=_about(2.0, units), y=_about(1.5, units))


_HEAD = """\
# {title}: a scenario for Footwork.  Change what is not so in your shed.
#
#   footwork check FILE                   says everything that is wrong with the file
#   footwork suggest FILE --save first    arranges it and writes the layout into this file
#   footwork score FILE --layout first    says what it costs you to walk
#   footwork draw FILE --layout first --out plan.png
#
# Bare numbers are in `units`; a text carries its own: "2400 mm", "7 ft 6 in".  x runs east, y north.

name = "{title}"
units = "{units}"

[room]
size = [{width}, {depth}] # inside: east to west, south to north
"""

_WALKER = """
[walker]
setting_off = {setting_off} # what turning round and setting off counts on each walk longer than a step
"""

_GATE = """\
[[room.doors]]
name = "gate"
wall = "{wall}"
from = {start} # from the wall's west or south end
width = {width}
vehicle = true # the car comes in here

"""

_DOOR = """\
[[room.doors]]
name = "door"
wall = "{wall}"
from = {start} # from the wall's west or south end
width = {width}
swing = "out" # "in" keeps the floor of its swing free
"""

_EXIT = """\
exit = true # a way out in an emergency: the way to it stays open
"""

_WINDOW = """
[[room.windows]]
name = "window"
wall = "north"
from = {start}
width = {width}
sill = {sill} # the height it begins at: nothing taller should stand before it
"""

_EXTINGUISHER = """
[[room.fixtures]]
name = "extinguisher"
at = [{at}] # on a wall: nothing may stand before it
kind = "extinguisher"
"""

_TAP = """
[[room.fixtures]]
name = "tap"
at = [{at}] # on a wall: the sink should be within its hose
kind = "tap"
"""

_STATIONS = """\
# What stands in the room.  `like` takes size, standing room, stock room and hazards from the
# catalogue (`footwork stations`); write any key below it that is otherwise with yours, such as
# size = [{along}, {deep}]: along the front, front to back.
"""

_CAR = """\
[vehicles.car]
size = [{width}, {length}] # width, length
door = "gate"
around = {{ front = {around}, left = {around} }} # working space, and the sides it is worked from
inside = 0.2 # share of the time it is in while other work goes on
driver = "left" # the side one gets out at: the floor beside that door stays free
"""

_JOBS = """\
# What you do there: the stops in the order you make them, and how often.
"""

_TAIL = """\
# Where the sockets are, on the walls: then what needs one should have it within its lead.
#
# [[room.fixtures]]
# name = "socket-1"
# at = [0, {y}]
# kind = "socket"

# A wish: metres of walking a year that a metre nearer is worth to you.
#
# [[prefer]]
# station = "bench"
# near = "door"
# weight = 100

# How it stands today, to compare with: a place for every station, at its middle.
#
# [layouts.today]
# bench = {{ at = [{x}, {y}], facing = "south" }}
"""
