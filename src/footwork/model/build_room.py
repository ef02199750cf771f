"""The room of a scenario from its tables: walls, openings, fixtures, yards."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, cast

from footwork.model.faults import Faults
from footwork.model.lines import KeyPath
from footwork.model.names import hint, nearest
from footwork.model.outlines import (
    bounds,
    box,
    contains,
    counter_clockwise,
    nearest_on,
    overlap,
    shared,
    turned,
)
from footwork.model.places import NOWHERE, Where, placed
from footwork.model.scenario import (
    TOLERANCE,
    Door,
    Fixture,
    KeepClear,
    Point,
    Ring,
    Room,
    Wall,
    Window,
    Yard,
)
from footwork.model.schema import (
    ROOM_PARTS,
    DoorTable,
    FixtureTable,
    KeepClearTable,
    RoomTable,
    WindowTable,
    YardTable,
)
from footwork.model.units import format_length

SOUTH = 180.0
POINT_SIZE = (TOLERANCE, TOLERANCE)
"""The footprint of a fixture without a size: on the wall's line it takes no floor."""


def build_room(faults: Faults) -> Room | None:
    """The room, or None after noting why there is none.

    A part with a fault is noted and left out, so that the rest of the file can still be checked.
    """
    raw = faults.table(("room",))
    if "room" not in faults.raw:
        faults.add((), "there is no room", "add a [room] table with size = [east, north]")
        return None
    head = faults.read(RoomTable, _shape(raw), ("room",))
    faults.unknown_keys(("room",), raw, ("size", "outline", *ROOM_PARTS))
    walls, outline = _walls(head, faults) if head is not None else ((), ())
    yards = _yards(faults)
    doors = _doors(walls, yards, faults)
    windows = _windows(walls, faults)
    fixtures = _fixtures(walls, outline, faults)
    clear = {**_keep_clear(faults), **_panels(fixtures)}
    if not outline or head is None:
        return None
    _check_yards(yards, doors, outline, faults)
    _check_inside([("fixtures", fixtures), ("keep_clear", clear)], outline, yards, faults)
    return Room(
        outline,
        walls,
        tuple(doors.values()),
        tuple(windows.values()),
        tuple(fixtures.values()),
        tuple(clear.values()),
        tuple(yards.values()),
        head.size,
    )


def _shape(raw: Mapping[str, Any]) -> dict[str, Any]:
    """The room's size or outline, even misspelt: that is noted, and the rest of the file still checked."""
    shape = {k: v for k, v in raw.items() if k in ("size", "outline")}
    for key in raw:
        if not shape and key not in ROOM_PARTS and (meant := nearest(key, ("size", "outline"))):
            shape[meant] = raw[key]
    return shape


def part_names(part: str, faults: Faults) -> list[str]:
    """The names of the members of ``room.doors`` and the like; those without one are numbered."""
    stem = {"keep_clear": "keep-clear"}.get(part, part.removesuffix("s"))
    given = [t.get("name") if isinstance(t, dict) else None for _, t in faults.tables(("room", part))]
    taken = {name for name in given if isinstance(name, str)}
    names: list[str] = []
    number = 0
    for name in given:
        if not isinstance(name, str):
            number += 1
            while f"{stem}-{number}" in taken:
                number += 1
            name = f"{stem}-{number}"
        names.append(name)
    return names


def _walls(head: RoomTable, faults: Faults) -> tuple[tuple[Wall, ...], Ring]:
    if (head.size is None) == (head.outline is None):
        what = "it has no size" if head.size is None else "it has both a size and an outline"
        faults.add(("room",), what, "give size = [east, north], or outline = [[x, y], ...]")
        return (), ()
    if head.size is not None:
        w, d = head.size
        return (
            Wall("south", (0.0, 0.0), (w, 0.0), (0.0, 1.0)),
            Wall("east", (w, 0.0), (w, d), (-1.0, 0.0)),
            Wall("north", (0.0, d), (w, d), (0.0, -1.0)),
            Wall("west", (0.0, 0.0), (0.0, d), (1.0, 0.0)),
        ), ((0.0, 0.0), (w, 0.0), (w, d), (0.0, d))
    ring = cast(Ring, head.outline)
    return outline_walls(ring), counter_clockwise(ring)


def outline_walls(ring: Ring) -> tuple[Wall, ...]:
    """The walls of a room told by its corners, with the numbers and the direction of the file."""
    turn = 1.0 if counter_clockwise(ring) == ring else -1.0
    walls = []
    for i, start in enumerate(ring):
        end = ring[(i + 1) % len(ring)]
        length = math.dist(start, end)
        inward = (turn * (start[1] - end[1]) / length + 0.0, turn * (end[0] - start[0]) / length + 0.0)
        walls.append(Wall(str(i + 1), start, end, inward))
    return tuple(walls)


def _opening(
    table: DoorTable | WindowTable, walls: tuple[Wall, ...], path: KeyPath, faults: Faults
) -> tuple[Wall, Point, Point] | None:
    """The wall and the two ends of a door or window."""
    if not walls:
        return None
    wall = next((w for w in walls if w.name == table.wall), None)
    if wall is None:
        faults.add(
            (*path, "wall"), f"there is no wall '{table.wall}'", hint(table.wall, [w.name for w in walls])
        )
        return None
    length = math.dist(wall.start, wall.end)
    end = table.from_ + table.width
    if end > length + TOLERANCE:
        text = f"it ends {_show(end, faults)} along the wall, which is {_show(length, faults)} long"
        faults.add(path, text, "lessen from or width")
        return None
    ends = []
    for s in (table.from_, min(end, length)):
        t = s / length
        ends.append(
            (
                wall.start[0] + t * (wall.end[0] - wall.start[0]),
                wall.start[1] + t * (wall.end[1] - wall.start[1]),
            )
        )
    return wall, ends[0], ends[1]


def _doors(walls: tuple[Wall, ...], yards: dict[KeyPath, Yard], faults: Faults) -> dict[KeyPath, Door]:
    doors: dict[KeyPath, Door] = {}
    taken: dict[str, list[tuple[float, float, str]]] = {}
    for (path, raw), name in zip(faults.tables(("room", "doors")), part_names("doors", faults), strict=True):
        table = faults.read(DoorTable, raw, path)
        found = _opening(table, walls, path, faults) if table is not None else None
        if table is None or found is None:
            continue
        wall, start, end = found
        span = (table.from_, table.from_ + table.width)
        other = next(
            (o for a, b, o in taken.get(wall.name, []) if min(b, span[1]) - max(a, span[0]) > TOLERANCE), None
        )
        if other is not None:
            faults.add(path, f"it overlaps the door '{other}' in the same wall", "move one of them")
        taken.setdefault(wall.name, []).append((*span, name))
        yard = next((y.name for y in yards.values() if shared(y.outline, start, end) > 0.01), None)
        doors[path] = Door(
            name,
            wall.name,
            start,
            end,
            wall.inward,
            table.vehicle,
            cast(Any, table.swing),
            cast(Any, table.hinge),
            yard,
            table.height,
            table.leaf,
            table.used,
            table.exit,
        )
        if table.exit and not table.used:
            faults.add(
                (*path, "exit"), "an exit that nobody uses is no exit", "leave out used = false, or exit"
            )
        if table.leaf > 0 and table.height is None:
            faults.add((*path, "leaf"), "nobody can tell how high its open leaf hangs", "give its height")
    return doors


def _windows(walls: tuple[Wall, ...], faults: Faults) -> dict[KeyPath, Window]:
    windows: dict[KeyPath, Window] = {}
    names = part_names("windows", faults)
    for (path, raw), name in zip(faults.tables(("room", "windows")), names, strict=True):
        table = faults.read(WindowTable, raw, path)
        found = _opening(table, walls, path, faults) if table is not None else None
        if table is not None and found is not None:
            wall, start, end = found
            windows[path] = Window(name, wall.name, start, end, wall.inward, table.sill)
    return windows


def _fixtures(walls: tuple[Wall, ...], ring: Ring, faults: Faults) -> dict[KeyPath, Fixture]:
    fixtures: dict[KeyPath, Fixture] = {}
    names = part_names("fixtures", faults)
    for (path, raw), name in zip(faults.tables(("room", "fixtures")), names, strict=True):
        table = faults.read(FixtureTable, raw, path)
        if table is None:
            continue
        there = placed(table, Where(box(table.size or POINT_SIZE), walls, ring, path, faults), SOUTH)
        if there is NOWHERE:
            continue
        at, size = there.at, table.size
        if size is None:
            size = POINT_SIZE
            on_walls = [nearest_on(w.start, w.end, at) for w in walls]
            on_wall = min(on_walls, key=lambda p: math.dist(p, at), default=at)
            if math.dist(on_wall, at) > 0.1:
                text = "a fixture without a size takes no floor, so it hangs on a wall; no wall is near"
                faults.add(path, text, "give its size, or a place on a wall")
                continue
            at = on_wall
        outline = turned(box(size), at, there.facing)
        kind = cast(Any, table.kind)
        fixtures[path] = Fixture(
            name, at, size, there.facing, outline, table.ignition_height, table.shield, kind
        )
    return fixtures


def _keep_clear(faults: Faults) -> dict[KeyPath, KeepClear]:
    areas: dict[KeyPath, KeepClear] = {}
    names = part_names("keep_clear", faults)
    for (path, raw), name in zip(faults.tables(("room", "keep_clear")), names, strict=True):
        table = faults.read(KeepClearTable, raw, path)
        if table is not None:
            outline = turned(box(table.size), table.at, table.facing)
            kind = cast(Any, table.kind)
            areas[path] = KeepClear(name, outline, table.at, table.size, table.facing, kind)
    return areas


def _panels(fixtures: Mapping[KeyPath, Fixture]) -> dict[KeyPath, KeepClear]:
    """The floor before fixtures that are electrical panels, as far as they are drawn."""
    return {
        path: KeepClear(f.name, f.outline, f.at, f.size, f.facing, "electrical panel")
        for path, f in fixtures.items()
        if f.kind == "panel"
    }


def _yards(faults: Faults) -> dict[KeyPath, Yard]:
    yards: dict[KeyPath, Yard] = {}
    names = part_names("yards", faults)
    for (path, raw), name in zip(faults.tables(("room", "yards")), names, strict=True):
        table = faults.read(YardTable, raw, path)
        if table is not None:
            yards[path] = Yard(name, table.outline)
    return yards


def _check_yards(
    yards: dict[KeyPath, Yard], doors: dict[KeyPath, Door], outline: Ring, faults: Faults
) -> None:
    all_doors_read = len(doors) == len(faults.tables(("room", "doors")))
    earlier: list[Yard] = []
    for path, yard in yards.items():
        if overlap(yard.outline, outline):
            faults.add(path, "it lies partly inside the room", "a yard begins at the inside face of the wall")
            continue
        for other in earlier:
            if overlap(yard.outline, other.outline):
                faults.add(path, f"it overlaps the yard '{other.name}'", "draw them side by side")
        earlier.append(yard)
        touching = any(shared(yard.outline, d.start, d.end) > 0.01 for d in doors.values())
        if not touching and all_doors_read:
            text = "no door opens to it, so nobody can walk there"
            faults.add(path, text, "let an edge of its outline run along a door's opening")


def _check_inside(
    parts: list[tuple[str, Any]], outline: Ring, yards: dict[KeyPath, Yard], faults: Faults
) -> None:
    """A fixture may stand in the thickness of a wall, not further out."""
    if len(yards) < len(faults.tables(("room", "yards"))):
        return
    grounds = [bounds(outline), *(bounds(y.outline) for y in yards.values())]
    for _, things in parts:
        for path, thing in things.items():
            near = any(
                x0 - 0.5 <= x <= x1 + 0.5 and y0 - 0.5 <= y <= y1 + 0.5
                for x0, y0, x1, y1 in grounds
                for x, y in (thing.at, *(p for p in thing.outline if contains(outline, p)))
            )
            if not near:
                faults.add((*path, "at"), "it lies outside the room", "check x (east) and y (north)")


def _show(metres: float, faults: Faults) -> str:
    return format_length(metres, faults.units)
