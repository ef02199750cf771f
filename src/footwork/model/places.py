"""Where something stands, as people measure it: by its middle, along a wall, or clear of walls.

Metres, in the room's frame.  ``{ wall = "north", from = 1.2, off = 0.02 }`` is back to that wall, its end
nearest the wall's first corner at ``from``; ``{ south = 1.2, east = 0.35, facing = "west" }`` are clear
distances from its sides to the walls they face.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from footwork.model.faults import Faults
from footwork.model.lines import KeyPath
from footwork.model.names import hint
from footwork.model.outlines import bounds, contains, turned
from footwork.model.scenario import Placement, Point, Ring, Room, Wall
from footwork.model.schema import PlacementTable
from footwork.model.units import format_facing, format_length

TAPE = 0.01
"""Metres that two measures of one thing may differ by: as well as a tape is read."""
SQUARE = 1e-9
COMPASS: Mapping[str, tuple[int, float]] = {
    "south": (1, 1.0), "north": (1, -1.0), "west": (0, 1.0), "east": (0, -1.0),
}  # fmt: skip
"""Sides by the axis they are measured along, 0 east and 1 north, and the way from their wall inwards."""
TOLD = ("wall", "from", "off", *COMPASS)
"""Keys that say where something stands otherwise than ``at``."""
NOWHERE = Placement(0.0, 0.0, 180.0)


@dataclass(frozen=True)
class Where:
    """What a place is asked for: an ``outline`` in the thing's own frame, and whom to tell of faults."""

    outline: Ring
    walls: tuple[Wall, ...]
    ring: Ring
    path: KeyPath
    faults: Faults

    def fault(self, what: str, mend: str, key: str = "") -> Placement:
        """Note a fault; the place that is given then is not looked at."""
        self.faults.add((*self.path, key) if key else self.path, what, mend)
        return NOWHERE

    def told(self, metres: float) -> str:
        return format_length(metres, self.faults.units)


def place(
    table: PlacementTable, outline: Ring, room: Room | None, path: KeyPath, faults: Faults
) -> Placement:
    """Where a thing of that outline stands; what contradicts itself is noted in ``faults``."""
    walls, ring = ((), ()) if room is None else (room.walls, room.outline)
    return placed(table, Where(outline, walls, ring, path, faults))


def placed(table: PlacementTable, where: Where, facing: float | None = None) -> Placement:
    """As ``place``; ``facing`` is the usual one of what does not say it."""
    sides = {side: metres for side in COMPASS if (metres := getattr(table, side)) is not None}
    ways = [table.at is not None, table.wall is not None, bool(sides)]
    looks = table.facing if table.facing is not None else facing
    if sum(ways) > 1:
        return where.fault(
            "it says in two ways where it stands", "keep at, or wall and from, or distances to walls"
        )
    if table.wall is None and (table.from_ is not None or table.off is not None):
        return where.fault("'from' and 'off' need the wall they are measured at", 'add wall = "north"')
    if table.wall is not None:
        return _at_wall(table, table.wall, where)
    if table.at is None and not sides:
        return where.fault("'at' is missing", "add it")
    if looks is None:
        return where.fault("'facing' is missing", "add it")
    if table.at is not None:
        return Placement(*table.at, looks)
    return _clear(sides, looks, where)


def _at_wall(table: PlacementTable, name: str, where: Where) -> Placement:
    """Back to the wall of that name."""
    if not where.walls:
        return NOWHERE
    wall = next((each for each in where.walls if each.name == name), None)
    if wall is None:
        return where.fault(f"there is no wall '{name}'", hint(name, [w.name for w in where.walls]), "wall")
    if table.from_ is None:
        return where.fault("'from' is missing", "add it: how far its end is from the wall's first corner")
    facing = math.degrees(math.atan2(*wall.inward)) % 360.0
    facing = round(facing, 6) % 360.0
    if table.facing is not None and abs((table.facing - facing + 180.0) % 360.0 - 180.0) > 0.1:
        what = f"its back is to wall {name}, so it faces {_words(facing)}, not {_words(table.facing)}"
        return where.fault(what, "leave out facing, or say at", "facing")
    length = math.dist(wall.start, wall.end)
    along = ((wall.end[0] - wall.start[0]) / length, (wall.end[1] - wall.start[1]) / length)
    corners = turned(where.outline, (0.0, 0.0), facing)
    runs = [x * along[0] + y * along[1] for x, y in corners]
    least = min(x * wall.inward[0] + y * wall.inward[1] for x, y in corners)
    wide = max(runs) - min(runs)
    if table.from_ + wide > length + TAPE:
        ends, told = where.told(table.from_ + wide), where.told(length)
        return where.fault(f"it ends {ends} along wall {name}, which is {told} long", "lessen from", "from")
    out, run = (table.off or 0.0) - least, table.from_ - min(runs)
    x, y = (wall.start[k] + run * along[k] + out * wall.inward[k] for k in (0, 1))
    return Placement(x, y, facing)


def _words(facing: float) -> str:
    word = format_facing(facing)
    return word if isinstance(word, str) else f"{word:g}°"


def _clear(sides: Mapping[str, float], facing: float, where: Where) -> Placement:
    """Clear of walls: one distance along each axis, and of two along one that they agree."""
    if not where.walls:
        return NOWHERE
    for axis, words in ((0, "east or the west"), (1, "south or the north")):
        if not any(COMPASS[side][0] == axis for side in sides):
            return where.fault(f"it does not say how far it is from the {words} wall", "add that, or say at")
    box = bounds(turned(where.outline, (0.0, 0.0), facing))
    found = list(dict.fromkeys(_fitting(sides, box, where)))
    if len(found) == 1:
        return Placement(*found[0], facing)
    if found:
        some = " and ".join(f"at [{where.told(x)}, {where.told(y)}]" for x, y in found[:2])
        return where.fault(f"it could stand in {len(found)} places: {some}", "say at, or wall and from")
    return where.fault(*_contradiction(sides, box, where))


def _fitting(sides: Mapping[str, float], box: tuple[float, ...], where: Where) -> Iterator[Point]:
    """Every place in the room at which each side is so far from the first wall that it faces."""
    by_axis = [[side for side in sides if COMPASS[side][0] == axis] for axis in (0, 1)]
    across, deep = (_tried(by_axis[axis][0], sides, box, where) for axis in (0, 1))
    for x, y in product(across, deep):
        if contains(where.ring, (x + (box[0] + box[2]) / 2, y + (box[1] + box[3]) / 2)) and all(
            (gap := _gap(side, (x, y), box, where.walls)) is not None and abs(gap - metres) <= TAPE
            for side, metres in sides.items()
        ):
            yield (x, y)


def _tried(side: str, sides: Mapping[str, float], box: tuple[float, ...], where: Where) -> list[float]:
    """Coordinates of the middle that are so far from one of the walls on that side."""
    axis, way = COMPASS[side]
    edge = box[axis] if way > 0 else box[axis + 2]
    walls = (wall.start[axis] for wall in where.walls if _faces(wall, side))
    return [line + way * sides[side] - edge for line in dict.fromkeys(walls)]


def _faces(wall: Wall, side: str) -> bool:
    """Whether a thing's side looks squarely at a wall."""
    axis, way = COMPASS[side]
    return abs(wall.inward[axis] - way) <= SQUARE


def _gap(side: str, at: Point, box: tuple[float, ...], walls: tuple[Wall, ...]) -> float | None:
    """Metres from a side to the nearest wall before any of its length; None where there is none."""
    axis, way = COMPASS[side]
    other = 1 - axis
    low, high = at[other] + box[other], at[other] + box[other + 2]
    edge = at[axis] + (box[axis] if way > 0 else box[axis + 2])
    gaps = []
    for wall in walls:
        ends = sorted((wall.start[other], wall.end[other]))
        if _faces(wall, side) and min(high, ends[1]) - max(low, ends[0]) > TAPE:
            gap = way * (edge - wall.start[axis])
            gaps += [gap] if gap > -TAPE else []
    return min(gaps, default=None)


def _contradiction(sides: Mapping[str, float], box: tuple[float, ...], where: Where) -> tuple[str, str]:
    """What no place fits, in words: two distances that do not add up, or none so far from a wall."""
    for low, high in (("south", "north"), ("west", "east")):
        if low in sides and high in sides:
            axis = COMPASS[low][0]
            own = box[axis + 2] - box[axis]
            lines = [{w.start[axis] for w in where.walls if _faces(w, side)} for side in (low, high)]
            spans = sorted(b - a for a in lines[0] for b in lines[1] if b > a)
            total = sides[low] + own + sides[high]
            if spans and all(abs(total - span) > TAPE for span in spans):
                told = f"{where.told(sides[low])} + {where.told(own)} + {where.told(sides[high])}"
                what = f"{low} and {high} do not add up: {told} is {where.told(total)}, and from wall to wall"
                return f"{what} it is {where.told(spans[-1])}", "measure again, and leave one of them out"
    told = ", ".join(f"{side} {where.told(metres)}" for side, metres in sides.items())
    return (
        f"nowhere in the room is it so far from its walls ({told})",
        "measure again, or say at, or wall and from",
    )
