"""The JSON Schema of a scenario file, for editors that complete keys and underline slips.

Tables and keys come from ``schema.py``, the values from what its readers accept, so that a file that can be
read is never refused.  What one value cannot show (is there such a station?) is left to ``footwork check``.
It is draft 7, which editors of TOML know.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from footwork.model import schema
from footwork.model.catalogue import CATALOGUE, called
from footwork.model.json_values import NAME, NOT_NEGATIVE, SEASONS, SHARED, TEXT, Schema
from footwork.model.places import COMPASS, TOLD
from footwork.model.rules import RULE_IDS, RULES_WITH_FIGURE

FILE = "footwork.schema.json"
"""What `footwork new` calls the schema that it writes beside a scenario."""

DIALECT = "http://json-schema.org/draft-07/schema#"

_PLACE = "Middle of the footprint, [x, y]: x runs east, y north."
_MEASURED = {
    "wall": "The wall that its back is to; instead of at, with from.",
    "from": "From the wall's west or south end (with an outline, its first point) to the nearer end.",
    "off": "How far its back is off that wall.",
    **{
        side: f"Clear distance from it to the wall in the {side}; instead of at, with one across to it."
        for side in ("south", "east", "north", "west")
    },
}
_DESCRIPTIONS: Mapping[str, Mapping[str, str]] = {
    "HeadTable": {
        "name": "What plans and tables call it.",
        "units": "The unit of every bare length.",
    },
    "WalkerTable": {
        "profile": "standing: 0.60 m wide; wheelchair: 0.915 m, with its own strips and turning circle.",
        "width": "Clear width that one person takes.",
        "speed": "Metres a second.",
        "step": "Length of a step; 0.75 m.",
        "setting_off": "What each leg longer than a step counts beside its length, for setting off.",
    },
    "RoomTable": {
        "size": "Inside, [east to west, south to north].",
        "outline": "Inside corners of a room that is no rectangle; walls are numbered from 1 along it.",
    },
    "DoorTable": {
        "name": 'What routes call it: "door:NAME".',
        "wall": "The wall it is in.",
        "from": "From the wall's west or south end; with an outline, from the wall's first point.",
        "width": "Clear width of the opening.",
        "vehicle": "Vehicles come in here.",
        "swing": "in: its leaf sweeps the room's floor.",
        "hinge": "The end of the opening where it hangs; start is where from counts from.",
        "height": "Clear height of the opening.",
        "leaf": "How far the open leaf of an overhead door reaches into the room, at that height.",
        "used": "false: nobody opens it, and things may stand before it.",
        "exit": "true: a way out in an emergency; the way to it stays open.",
    },
    "WindowTable": {
        "name": "What wishes call it.",
        "wall": "The wall it is in.",
        "from": "From the wall's west or south end; with an outline, from the wall's first point.",
        "width": "Its width.",
        "sill": "How high its sill is; what stands before it should be no taller.",
    },
    "FixtureTable": {
        "name": "What within and wishes call it.",
        "at": _PLACE,
        "size": "[along the front, front to back]; without it, a point on a wall, such as a socket.",
        "facing": "Where its front looks.",
        "ignition_height": "Height of its burner, pilot light or motor above the floor.",
        "shield": "A screen or wall that does not burn, 1.524 m (5 ft) high or more.",
        "kind": "What it is, where something is asked of the floor round it.",
        **_MEASURED,
    },
    "KeepClearTable": {
        "name": "What checks call it.",
        "at": _PLACE,
        "size": "[along the front, front to back]",
        "facing": "Where its front looks.",
        "kind": "Whose floor it is.",
    },
    "YardTable": {
        "name": "What plans call it.",
        "outline": "Ground outside that a door opens to.",
    },
    "StationTable": {
        "like": "A usual station of the catalogue (footwork stations); keys beside it win.",
        "size": "[along the front, front to back]",
        "outline": "Corners about its own centre, drawn as it stands when it faces south.",
        "placing": "wall: its back within 0.10 m of a wall; island: a walker's width from every wall.",
        "stand": "Sides it is worked from.",
        "strip": "Depth of the floor kept clear before each of these sides.",
        "along": "A standing place every 0.6 m along the side, not only at its middle.",
        "service": "Floor kept for access, by side.",
        "stock": "Space kept for long material.",
        "height": "Top of the thing; without it, it is taken as tall.",
        "work_height": "Long material passes above anything lower.",
        "castors": "It can be rolled out of a vehicle's way.",
        "weight": "Kilograms.",
        "gives": "What it gives off.",
        "minds": "What it must be kept from.",
        "outdoors": "It may stand in a yard.",
        "within": "Length of lead, hose or duct to the nearest fixture, window or door of that name.",
        "ignition_height": "Height of its lowest flame, spark, hot surface or open motor above the floor.",
        "holds": "Gas cylinders it stores.",
        "work": "How fine the work is, for advice on light.",
        "from_floor": "Underside of a thing that hangs; lower things stand below it.",
        "reach": "How far one reaches over what stands below it, to a thing that hangs.",
        "shield": "A screen that does not burn, 1.524 m (5 ft) high or more.",
        "needs": "What a lead or hose brings to it.",
        "lead": "How long that lead or hose is; 3 m.",
        "parked": "Where it stands while no job uses it; it has castors.",
        "use": "How a counted group is shared: nearest, evenly, or by so many people at once.",
        "fixed": "Where it stands and stays.",
        "count": "So many alike: bench-1, bench-2.",
    },
    "StockTable": {
        **dict.fromkeys(("front", "back", "left", "right"), "How far material reaches out of this side."),
        "width": "How wide the material is; without it, as wide as the side.",
    },
    "PlacementTable": {
        "at": _PLACE,
        "facing": "Where its front looks; of a vehicle, its nose. Back to a wall it looks away from that.",
        **_MEASURED,
    },
    "VehicleTable": {
        "size": "[width, length]",
        "door": "The door it comes in by; may be left out where only one is for vehicles.",
        "around": "Working space by side when a job visits it; it is worked from these sides.",
        "along": "A standing place every 0.6 m along its sides.",
        "inside": "Share of the time it is in when no job says, 0 to 1; or one a season: { winter = 0.8 }.",
        "height": "Its top.",
        "spots": "The only places where it may stand.",
        "driver": "The side where one gets out; the floor beside that door stays free.",
    },
    "JobTable": {
        "times": "How often it is done.",
        "route": "The stations in the order they are visited.",
        "minutes": "Standing time per job, by station.",
        "carry": "Legs that need a clear width.",
        "outside": "Vehicles that must be out.",
        "times_range": "Least and most often; for the study of how sure the figures are.",
        "weeks": "Weeks of the year in which it is done; 52.",
        "season": "The season in which it is done, or a list of some; times is while these last.",
    },
    "CarryTable": {
        "from": "The stop where the load is taken up.",
        "to": "The stop where it is put down.",
        "width": "Clear width it needs.",
        "weight": "Kilograms: its metres then count by the work of carrying.",
    },
    "SpotTable": {
        "name": "What it is called.",
        "at": _PLACE,
        "facing": "Where the front of the station looks.",
        "takes": "Stations that may stand here; they may then stand on such spots alone.",
    },
    "PreferTable": {
        "station": "The station that the wish is about.",
        "near": "The station, fixture, door or window that it should be near.",
        "apart_from": "The station, fixture, door or window that it should be away from.",
        "by": "The distance it should be away.",
        "weight": "Metres of walking a year for each metre of distance.",
    },
    "CheckTable": {
        "figure": "The length that the check asks for.",
        "severity": "must: a layout that fails it is never suggested.",
        "price": "What failing it costs, in metres of walking a year; feet in a file of feet or inches.",
    },
}

_ROUTE: Schema = {
    "type": "array",
    "minItems": 1,
    "items": {
        "anyOf": [
            {
                "description": 'A station, vehicle or counted group; "bench:back" names a side, '
                '"door:side" a door.',
                "type": "string",
                "pattern": "\\S",
            },
            {
                "description": "A stretch that is walked several times.",
                "type": "object",
                "properties": {
                    "repeat": {"type": "integer", "minimum": 1},
                    "route": {"$ref": "#/definitions/route"},
                },
                "required": ["repeat", "route"],
                "additionalProperties": False,
            },
        ]
    },
}


def json_schema() -> dict[str, Any]:
    """The schema as plain dictionaries and lists, new each time."""
    tables: dict[str, Any] = {}
    head = _table(schema.HeadTable, tables)
    room = _table(schema.RoomTable, tables)
    room["oneOf"] = [{"required": ["size"]}, {"required": ["outline"]}]
    parts: list[type[schema.Table]] = [
        schema.DoorTable, schema.WindowTable, schema.FixtureTable, schema.KeepClearTable, schema.YardTable
    ]  # fmt: skip
    for part, model in zip(schema.ROOM_PARTS, parts, strict=True):
        room["properties"][part] = {"type": "array", "items": _refer(model, tables)}
    station, vehicle, job, place = (
        _refer(schema.StationTable, tables),
        _refer(schema.VehicleTable, tables),
        _refer(schema.JobTable, tables),
        _refer(schema.PlacementTable, tables),
    )
    wishes = {"type": "array", "items": _refer(schema.PreferTable, tables)}
    checks = _checks(_refer(schema.CheckTable, tables))
    top = {
        **head["properties"],
        "walker": _refer(schema.WalkerTable, tables),
        "seasons": SEASONS,
        "room": room,
        "stations": {**_named(station), "minProperties": 1},
        "vehicles": _named(vehicle),
        "jobs": _named(job),
        "spots": {"type": "array", "items": _refer(schema.SpotTable, tables)},
        "prefer": wishes,
        "checks": checks,
        "layouts": _named({"type": "object", "additionalProperties": place}),
    }
    _finish(tables)
    whole = {
        "title": "Footwork scenario",
        "description": "A room, what stands in it, the jobs done there, and layouts.",
        "type": "object",
        "properties": top,
        "required": ["room", "stations"],
        "additionalProperties": False,
        "definitions": {**tables, "route": _ROUTE},
    }
    shared: Any = _shared(whole)
    shared["definitions"].update({name: _shared(dict(value), but=name) for name, value in SHARED.items()})
    return {"$schema": DIALECT, **shared}


def _named(value: Schema) -> dict[str, Any]:
    """A table of things by name."""
    return {"type": "object", "propertyNames": NAME, "additionalProperties": value}


def _refer(model: type[schema.Table], tables: dict[str, Any]) -> dict[str, Any]:
    """A reference to a table, which is put among the definitions."""
    if model.__name__ not in tables:
        tables[model.__name__] = _table(model, tables)
    return {"$ref": f"#/definitions/{model.__name__}"}


def _table(model: type[schema.Table], tables: dict[str, Any]) -> dict[str, Any]:
    """One table of the file, without what pydantic adds for its own ends."""
    said = model.model_json_schema(ref_template="#/definitions/{model}")
    for name, inner in said.pop("$defs", {}).items():
        tables.setdefault(name, _plain(inner, name))
    return _plain(said, model.__name__)


def _plain(said: dict[str, Any], name: str) -> dict[str, Any]:
    keys = {
        key: _key(value, _DESCRIPTIONS.get(name, {}).get(key, ""))
        for key, value in said["properties"].items()
    }
    table = {"type": "object", "properties": keys, "additionalProperties": False}
    return {**table, "required": said["required"]} if said.get("required") else table


def _key(said: dict[str, Any], description: str) -> dict[str, Any]:
    """A key's value and what it means.  TOML knows no null, and a default of length would be in metres."""
    value = {k: v for k, v in said.items() if k not in ("title", "default", "description")}
    options = value.get("anyOf", [])
    if {"type": "null"} in options:
        value = next(option for option in options if option != {"type": "null"})
    elif value.keys() != said.keys() - {"title", "default"}:
        value = {k: v for k, v in said.items() if k not in ("title", "default")}
    plain = said.get("default")
    default = {"default": plain} if isinstance(plain, (str, bool)) else {}
    if "$ref" in value or value in SHARED.values():  # draft 7 reads nothing beside a reference
        return {"description": description, "allOf": [value], **default}
    return {**value, "description": description, **default}


def _finish(tables: dict[str, Any]) -> None:
    """What holds between the keys of one table."""
    tables["StationTable"]["properties"]["like"] = {
        "description": _DESCRIPTIONS["StationTable"]["like"],
        "enum": [*CATALOGUE, *(name for e in CATALOGUE.values() for name in e.also if called(name) == (e,))],
    }
    tables["StationTable"].update(
        {
            "anyOf": [{"required": [key]} for key in ("like", "size", "outline")],
            "not": {"required": ["size", "outline"]},
        }
    )
    tables["JobTable"]["properties"]["route"]["allOf"] = [{"$ref": "#/definitions/route"}]
    tables["PreferTable"]["oneOf"] = [
        {"required": ["near"], "not": {"anyOf": [{"required": ["apart_from"]}, {"required": ["by"]}]}},
        {"required": ["apart_from", "by"], "not": {"required": ["near"]}},
    ]
    tables["SpotTable"]["properties"]["takes"]["minItems"] = 1
    for name, facing in (("PlacementTable", ["facing"]), ("FixtureTable", [])):
        tables[name]["oneOf"] = [
            {"required": ["at", *facing], "not": _any_of(*TOLD)},
            {"required": ["wall", "from"], "not": _any_of("at", *COMPASS)},
            {
                "allOf": [_any_of("east", "west"), _any_of("south", "north")],
                "required": facing,
                "not": _any_of("at", "wall", "from", "off"),
            },
        ]


def _any_of(*keys: str) -> dict[str, Any]:
    """That one of the keys is there, at least."""
    return {"anyOf": [{"required": [key]} for key in keys]}


def _checks(entry: Schema) -> dict[str, Any]:
    """Checks by id: a figure, or figure and severity; severity alone where there is no figure."""
    alone = {"allOf": [entry, {"not": {"required": ["figure"]}}]}
    either = {"anyOf": [NOT_NEGATIVE, entry]}
    keys = {rule: either if rule in RULES_WITH_FIGURE else alone for rule in RULE_IDS}
    accepted = {
        "description": "Checks that are not asked, and why.",
        "type": "object",
        "propertyNames": {"enum": list(RULE_IDS)},
        "additionalProperties": TEXT,
    }
    return {"type": "object", "properties": {**keys, "accepted": accepted}, "additionalProperties": False}


def _shared(value: Any, but: str = "") -> Any:
    """The same with references in the place of what is written once."""
    for name, known in SHARED.items():
        if value == known and name != but:
            return {"$ref": f"#/definitions/{name}"}
    if isinstance(value, dict):
        return {key: _shared(inner) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [_shared(inner) for inner in value]
    return value
