"""The tables of a scenario file as pydantic models: every key, its type, its default.

Validate with the context ``{"units": ...}``; all lengths come out in metres.  Unknown keys are
errors.  What one table cannot know (does that door exist?) is checked in ``build_*.py``.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from footwork.model.fields import (
    FIXTURE_KINDS,
    GASES,
    HAZARDS,
    MINDED,
    NEEDS,
    PLACINGS,
    WORKS,
    At,
    Facing,
    Flag,
    Inside,
    Minutes,
    Name,
    Names,
    NotNegative,
    Outline,
    OutlineCcw,
    Positive,
    RoomSize,
    SeasonNames,
    Sides,
    Size,
    Text,
    Times,
    TimesRange,
    Use,
    WallName,
    Within,
    number,
    one_of,
    some_of,
    whole,
)
from footwork.model.limits import MOST_ALIKE
from footwork.model.scenario import SIDES
from footwork.model.units import UNITS

SideNames = Annotated[tuple[str, ...], some_of(*SIDES)]


class Table(BaseModel):
    """A table of the file."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class HeadTable(Table):
    """The keys outside any table; the tables themselves are read one by one."""

    name: Text | None = None
    units: Annotated[str, one_of(*UNITS)] = "m"


class WalkerTable(Table):
    profile: Annotated[str, one_of("standing", "wheelchair")] = "standing"
    width: Positive | None = None
    speed: Annotated[float, number(0.01, 20, " of metres a second")] = 1.2
    step: Positive = 0.75
    setting_off: NotNegative = 0.0


class PlacementTable(Table):
    """Where something stands: by its middle, along a wall, or clear of walls; ``places.py`` reads it."""

    at: At | None = None
    facing: Facing | None = None
    wall: WallName | None = None
    from_: Annotated[NotNegative | None, Field(alias="from")] = None
    off: NotNegative | None = None
    south: NotNegative | None = None
    east: NotNegative | None = None
    north: NotNegative | None = None
    west: NotNegative | None = None


class RoomTable(Table):
    """The room without its lists of parts."""

    size: RoomSize | None = None
    outline: Outline | None = None


class DoorTable(Table):
    name: Name | None = None
    wall: WallName
    from_: Annotated[NotNegative, Field(alias="from")]
    width: Positive
    vehicle: Flag = False
    swing: Annotated[str, one_of("in", "out", "none")] = "none"
    hinge: Annotated[str, one_of("start", "end")] = "start"
    height: Positive | None = None
    leaf: NotNegative = 0.0
    used: Flag = True
    exit: Flag = False


class WindowTable(Table):
    name: Name | None = None
    wall: WallName
    from_: Annotated[NotNegative, Field(alias="from")]
    width: Positive
    sill: NotNegative | None = None


class FixtureTable(PlacementTable):
    name: Name | None = None
    size: Size | None = None
    ignition_height: NotNegative | None = None
    shield: Flag = False
    kind: Annotated[str, one_of(*FIXTURE_KINDS)] | None = None


class KeepClearTable(Table):
    name: Name | None = None
    at: At
    size: Size
    facing: Facing = 180.0
    kind: Annotated[str, one_of("electrical panel", "door", "other")] = "other"


class YardTable(Table):
    name: Name | None = None
    outline: OutlineCcw


class StockTable(Table):
    front: NotNegative = 0.0
    back: NotNegative = 0.0
    left: NotNegative = 0.0
    right: NotNegative = 0.0
    width: Positive | None = None


class StationTable(Table):
    """A station; ``strip`` None means the default of the walker's profile."""

    like: Text | None = None
    size: Size | None = None
    outline: OutlineCcw | None = None
    placing: Annotated[str, one_of(*PLACINGS)] = "any"
    stand: SideNames = ("front",)
    strip: Positive | None = None
    along: Flag = False
    service: Sides = ()
    stock: StockTable | None = None
    height: Positive | None = None
    work_height: Positive | None = None
    castors: Flag = False
    weight: Annotated[float, number(0, 1e6, " of kilograms")] | None = None
    gives: Annotated[tuple[str, ...], some_of(*HAZARDS)] = ()
    minds: Annotated[tuple[str, ...], some_of(*MINDED)] = ()
    outdoors: Flag = False
    within: Within = ()
    ignition_height: NotNegative | None = None
    holds: Annotated[tuple[str, ...], some_of(*GASES)] = ()
    work: Annotated[str, one_of(*WORKS)] | None = None
    from_floor: NotNegative = 0.0
    reach: NotNegative = 0.0
    shield: Flag = False
    needs: Annotated[tuple[str, ...], some_of(*NEEDS)] = ()
    lead: Positive = 3.0
    parked: PlacementTable | None = None
    use: Use = "nearest"
    fixed: PlacementTable | None = None
    count: Annotated[int, whole(1, MOST_ALIKE)] = 1


class VehicleTable(Table):
    size: Size
    door: Text | None = None
    around: Sides = ()
    along: Flag = False
    inside: Inside = 0.0
    height: Positive | None = None
    spots: tuple[PlacementTable, ...] = ()
    driver: Annotated[str, one_of("left", "right")] | None = None


class CarryTable(Table):
    from_: Annotated[Text, Field(alias="from")]
    to: Text
    width: Positive | None = None
    weight: Annotated[float, number(0, 1000, " of kilograms")] = 0.0


class JobTable(Table):
    """A job; its route is read by ``routes.py``, which knows the names."""

    times: Times
    route: Any
    minutes: Minutes = ()
    carry: tuple[CarryTable, ...] = ()
    outside: Names = ()
    times_range: TimesRange | None = None
    weeks: Annotated[float, number(0.1, 52, " of weeks")] | None = None
    season: SeasonNames = ()


class SpotTable(Table):
    name: Name | None = None
    at: At
    facing: Facing
    takes: Names


class PreferTable(Table):
    station: Text
    near: Text | None = None
    apart_from: Text | None = None
    by: Positive | None = None
    weight: Annotated[float, number(0, 1e9, " of metres a year per metre")]


class CheckTable(Table):
    figure: NotNegative | None = None
    severity: Annotated[str, one_of("must", "should")] | None = None
    price: Annotated[float, number(0, 1e9, " of metres or feet a year")] | None = None


TOP_TABLES = (
    "walker",
    "seasons",
    "room",
    "stations",
    "vehicles",
    "jobs",
    "spots",
    "prefer",
    "checks",
    "layouts",
)
ROOM_PARTS = ("doors", "windows", "fixtures", "keep_clear", "yards")
