"""The walker, stations and vehicles of a scenario from their tables."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, cast

from footwork.model.build_seasons import inside_by_season
from footwork.model.catalogue import CATALOGUE, called, unknown
from footwork.model.faults import Faults
from footwork.model.lines import KeyPath
from footwork.model.names import alike, hint
from footwork.model.outlines import bounds, box, contains, fits
from footwork.model.places import NOWHERE, place
from footwork.model.rules import BARRIER, WALL_REACH
from footwork.model.scenario import (
    TOLERANCE,
    Door,
    Placement,
    Ring,
    Room,
    Season,
    Side,
    Station,
    Stock,
    Vehicle,
    Walker,
)
from footwork.model.schema import StationTable, VehicleTable, WalkerTable
from footwork.model.units import format_length, parse_length

WIDTHS = {"standing": 0.60, "wheelchair": 0.915}
"""Metres.  ADA Standards 2010, 403.5.1 for the wheelchair; 0.60 m passes the 95th percentile
breadth across the forearms less a turn of the shoulders (ANSUR II data)."""

STRIPS = {"standing": 0.75, "wheelchair": 0.76}
"""Metres.  Common practice; ADA Standards 2010, 305.3 for the wheelchair."""


def build_walker(faults: Faults) -> Walker:
    """The walker, as the file says or by default."""
    table = faults.read(WalkerTable, faults.table(("walker",)), ("walker",)) or WalkerTable()
    width = table.width if table.width is not None else WIDTHS[table.profile]
    return Walker(cast(Any, table.profile), width, table.speed, table.step, table.setting_off)


def build_stations(walker: Walker, room: Room | None, faults: Faults) -> tuple[Station, ...]:
    """Every station that can be read, groups of alike ones written out."""
    stations: list[Station] = []
    for name, raw in faults.table(("stations",)).items():
        path: KeyPath = ("stations", name)
        table = faults.read(StationTable, raw, path)
        if table is not None:
            table = _with_catalogue(table, path, faults)
        if table is None:
            continue
        outline = _outline(table, path, faults)
        if outline is None or not _station_fits(table, outline, room, path, faults):
            continue
        _check_back(table, path, faults)
        if table.fixed is not None and table.count > 1:
            faults.add(
                (*path, "fixed"), f"{table.count} stations cannot be fixed at one place", "name each one"
            )
            continue
        _check_hung(table, path, faults)
        _check_shield(table, path, faults)
        _check_parked(table, path, faults)
        _check_use(table, path, faults)
        names = [name] if table.count == 1 else [f"{name}-{i}" for i in range(1, table.count + 1)]
        given = frozenset(faults.table(path))
        places = {
            key: place(told, outline, room, (*path, key), faults)
            for key, told in (("fixed", table.fixed), ("parked", table.parked))
            if told is not None
        }
        _check_fixed(places.get("fixed"), table, room, path, faults)
        stations += [_station(n, name, table, outline, walker, given, places) for n in names]
    return tuple(stations)


def _with_catalogue(table: StationTable, path: KeyPath, faults: Faults) -> StationTable | None:
    """The table over what the catalogue says of ``like``: keys of the file win."""
    if table.like is None:
        return table
    found = called(table.like)
    if len(found) != 1:
        faults.add((*path, "like"), *unknown(table.like))
        return None
    catalogue = StationTable.model_validate(found[0].keys(), context={"units": "m"})
    given = {key: getattr(table, key) for key in table.model_fields_set} | {"like": found[0].name}
    shape = {"size", "outline"} & given.keys()
    if shape:  # the other way to say the shape does not hold any more
        given = {"size": None, "outline": None, **given}
    return catalogue.model_copy(update=given)


def catalogue_table(like: str | None, walker: Walker) -> StationTable:
    """What a station has by ``like`` alone, or by no key at all; ``strip`` written out."""
    values = CATALOGUE[like].keys() if like is not None else {}
    table = StationTable.model_validate(values, context={"units": "m"})
    return table.model_copy(update={"strip": _usual_strip(table.strip, walker)})


def _usual_strip(catalogue: float | None, walker: Walker) -> float:
    """Depth of strips where the file says nothing: a wheelchair needs its floor whatever is usual."""
    least = STRIPS[walker.profile]
    if catalogue is None:
        return least
    return max(catalogue, least) if walker.profile == "wheelchair" else catalogue


def _outline(table: StationTable, path: KeyPath, faults: Faults) -> Ring | None:
    if (table.size is None) == (table.outline is None):
        what = "it has no size" if table.size is None else "it has both a size and an outline"
        mend = "give size = [along the front, front to back]"
        faults.add(
            path, what, f"{mend}, or like = a name of the catalogue" if table.size is None else "keep one"
        )
        return None
    return box(table.size) if table.size is not None else table.outline


def _box_size(outline: Ring) -> tuple[float, float]:
    x0, y0, x1, y1 = bounds(outline)
    return (x1 - x0, y1 - y0)


def _station_fits(
    table: StationTable, outline: Ring, room: Room | None, path: KeyPath, faults: Faults
) -> bool:
    if room is None or (table.outdoors and room.yards):
        return True
    size = table.size or _box_size(outline)
    if fits(size, _box_size(room.outline)):
        return True
    key = next((k for k in ("size", "outline") if k in faults.table(path)), "like")
    faults.add((*path, key), f"it is larger than the room: {_by(size, faults)}", "check its unit")
    return False


def _check_fixed(
    fixed: Placement | None, table: StationTable, room: Room | None, path: KeyPath, faults: Faults
) -> None:
    if fixed is None or fixed is NOWHERE or room is None:
        return
    grounds = [room.outline, *(yard.outline for yard in room.yards if table.outdoors)]
    if not any(contains(ring, fixed.at) for ring in grounds):
        in_yard = any(contains(yard.outline, fixed.at) for yard in room.yards)
        where = "in a yard, and not outdoors = true" if in_yard else "outside the room"
        faults.add((*path, "fixed"), f"it is fixed {where}", "check its place, and its unit")


def _station(
    name: str,
    group: str,
    table: StationTable,
    outline: Ring,
    walker: Walker,
    given: frozenset[str],
    places: Mapping[str, Placement],
) -> Station:
    """One station; ``places`` are those that its table says: fixed, and parked."""
    stock = table.stock
    own = table.strip if "strip" in given else None
    return Station(
        name=name,
        group=group,
        size=table.size or _box_size(outline),
        outline=outline,
        placing=cast(Any, table.placing),
        stand=cast(tuple[Side, ...], table.stand),
        strip=own if own is not None else _usual_strip(table.strip, walker),
        along=table.along,
        service=_sides(table.service),
        stock=Stock(stock.front, stock.back, stock.left, stock.right, stock.width)
        if stock is not None and any((stock.front, stock.back, stock.left, stock.right))
        else None,
        height=table.height,
        work_height=table.work_height,
        castors=table.castors,
        weight=table.weight,
        gives=table.gives,
        minds=table.minds,
        outdoors=table.outdoors,
        within=table.within,
        fixed=places.get("fixed"),
        like=table.like,
        ignition_height=table.ignition_height,
        holds=table.holds,
        work=cast(Any, table.work),
        from_floor=table.from_floor,
        reach=table.reach,
        shield=table.shield,
        needs=table.needs,
        lead=table.lead,
        parked=places.get("parked"),
        use=cast(Any, table.use),
        given=given,
    )


def _sides(lengths: tuple[tuple[str, float], ...]) -> tuple[tuple[Side, float], ...]:
    return tuple((cast(Side, side), length) for side, length in lengths if length > 0)


def check_within(stations: tuple[Station, ...], places: tuple[str, ...], faults: Faults) -> None:
    """Every word of ``within`` names a fixture, window or door."""
    for station in stations:
        for word, _ in station.within:
            if not alike(word, places):
                path = ("stations", station.group, "within", word)
                what = f"there is no fixture, window or door '{word}'"
                faults.add(path, what, hint(word, places, "fixtures, windows and doors"))


def build_vehicles(room: Room | None, seasons: tuple[Season, ...], faults: Faults) -> tuple[Vehicle, ...]:
    """Every vehicle that can be read."""
    vehicles: list[Vehicle] = []
    for name, raw in faults.table(("vehicles",)).items():
        path: KeyPath = ("vehicles", name)
        table = faults.read(VehicleTable, raw, path)
        if table is None:
            continue
        door = _vehicle_door(table, room, path, faults)
        inside, inside_by = inside_by_season(table.inside, seasons, path, faults)
        if room is not None and not room.yards and not fits(table.size, _box_size(room.outline)):
            what = f"it is larger than the room: {_by(table.size, faults)}"
            faults.add((*path, "size"), what, "check its unit, or give the room a yard for it")
        vehicles.append(
            Vehicle(
                name,
                table.size,
                box(table.size),
                door,
                _sides(table.around),
                table.along,
                inside,
                table.height,
                tuple(
                    place(spot, box(table.size), room, (*path, "spots", k), faults)
                    for k, spot in enumerate(table.spots)
                ),
                cast(Any, table.driver),
                inside_by,
            )
        )
    return tuple(vehicles)


def _vehicle_door(table: VehicleTable, room: Room | None, path: KeyPath, faults: Faults) -> str:
    """The name of the vehicle's door: the one it gives, or the only vehicle door there is."""
    raw = [t for _, t in faults.tables(("room", "doors")) if isinstance(t, dict)]
    doors = {d.name: d for d in reversed(room.doors)} if room is not None else {}  # the first of a name
    gates = [d.name for d in doors.values() if d.vehicle]
    if table.door is None:
        if len(gates) == 1:
            _check_door(table, doors[gates[0]], path, faults)
            return gates[0]
        if room is not None and len(doors) == len(raw):
            mend = f"doors for vehicles: {', '.join(gates)}" if gates else "give a door vehicle = true"
            faults.add(path, "'door' is missing", mend)
        return ""
    door = doors.get(table.door)
    if door is not None:
        _check_door(table, door, path, faults)
    elif room is not None and not any(t.get("name") == table.door for t in raw):
        faults.add((*path, "door"), f"there is no door '{table.door}'", hint(table.door, doors, "doors"))
    return table.door


def _check_door(table: VehicleTable, door: Door, path: KeyPath, faults: Faults) -> None:
    if not door.vehicle:
        what = f"the door '{door.name}' is not for vehicles"
        faults.add((*path, "door"), what, f"give the door '{door.name}' vehicle = true")
    elif table.size[0] > door.width + TOLERANCE:
        wide, opening = format_length(table.size[0], faults.units), format_length(door.width, faults.units)
        what = f"it is {wide} wide and its door '{door.name}' {opening}"
        faults.add((*path, "size"), what, "a size is [width, length]; widen the door or name another")
    elif table.height is not None and door.height is not None and table.height > door.height + TOLERANCE:
        tall, opening = (format_length(h, faults.units) for h in (table.height, door.height))
        what = f"it is {tall} high and its door '{door.name}' {opening}"
        faults.add((*path, "height"), what, "measure both; a higher door, or another, would do")


def _check_back(table: StationTable, path: KeyPath, faults: Faults) -> None:
    """A station against a wall has no more room behind it than the check `placing` leaves it."""
    if table.placing != "wall":
        return
    most = wall_reach(faults)
    deep = dict(table.service).get("back", 0.0)
    if deep > most + TOLERANCE:
        free, near = (format_length(d, faults.units) for d in (deep, most))
        what = f"it needs {free} for service behind it, and a wall station stands within {near} of its wall"
        faults.add((*path, "service"), what, 'let placing be "any", or lessen back')
    if "back" in table.stand:
        key = next((k for k in ("stand", "placing") if k in faults.table(path)), "like")
        what = "it is worked from its back, which a wall station has at its wall"
        faults.add((*path, key), what, 'let placing be "any" or "island", or take "back" out of stand')


def _check_hung(table: StationTable, path: KeyPath, faults: Faults) -> None:
    """What hangs has its underside below its top, and is no thing on castors, nor a shield: sparks fly below.

    Nothing else is reached over.
    """
    if table.from_floor <= 0:
        if table.reach > 0:
            mend = "give from_floor, the height of its underside, or leave out reach"
            faults.add((*path, "reach"), "only what hangs is reached over something below", mend)
        return
    if table.shield:
        mend = "leave out shield, or from_floor for a screen that comes down to the floor"
        faults.add((*path, "shield"), "it hangs, and sparks fly below it", mend)
    if table.height is not None and table.height <= table.from_floor:
        low, top = (format_length(h, faults.units) for h in (table.from_floor, table.height))
        what = f"its underside is {low} up and its top {top}"
        faults.add((*path, "from_floor"), what, "height is its top above the floor")
    if table.castors:
        faults.add((*path, "castors"), "it hangs, and cannot roll", "leave out castors or from_floor")


def _check_shield(table: StationTable, path: KeyPath, faults: Faults) -> None:
    """A screen is so high that what flies does not go over it."""
    if table.shield and table.height is not None and round(table.height, 2) < round(BARRIER, 2):
        tall, least = (format_length(h, faults.units) for h in (table.height, BARRIER))
        mend = "have a higher one, or leave out shield"
        faults.add((*path, "height"), f"it is {tall} high, and a shield {least} or more", mend)


def _check_parked(table: StationTable, path: KeyPath, faults: Faults) -> None:
    """What is parked rolls, and is one thing."""
    if table.parked is None:
        return
    key = (*path, "parked")
    if not table.castors:
        faults.add(key, "a thing without castors stays where it is", "give it castors = true")
    if table.count > 1:
        faults.add(key, f"{table.count} stations cannot be parked at one place", "name each one")
    if table.fixed is not None:
        faults.add(key, "it is fixed, and cannot be parked elsewhere", "leave out one of the two")


def _check_use(table: StationTable, path: KeyPath, faults: Faults) -> None:
    """Only a group can be shared, among no more people than it has members."""
    if table.use == "nearest":
        return
    if table.count == 1:
        faults.add((*path, "use"), "one station is not shared out", "give count, or leave out use")
    elif isinstance(table.use, int) and table.use > table.count:
        what = f"{table.use} people cannot work at {table.count} stations at once"
        faults.add((*path, "use"), what, f"give at most {table.count}")


def wall_reach(faults: Faults) -> float:
    """Metres from its wall at which a wall station may stand, as `[checks]` sets it."""
    raw = faults.table(("checks",)).get("placing")
    value = raw.get("figure") if isinstance(raw, dict) else raw
    try:
        return WALL_REACH if value is None else parse_length(value, faults.units)
    except ValueError:  # noted where the checks are read
        return WALL_REACH


def _by(size: tuple[float, float], faults: Faults) -> str:
    unit = faults.units
    assert all(math.isfinite(s) for s in size)
    return f"{format_length(size[0], unit)} by {format_length(size[1], unit)}"
