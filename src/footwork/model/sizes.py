"""Counting what a scenario file holds, before anything is made of it: repeats and counts not written out."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from footwork.model.faults import Faults
from footwork.model.limits import (
    MOST_ALIKE,
    MOST_CORNERS_IN_ALL,
    MOST_LISTED,
    MOST_PARTS,
    MOST_PLACES,
    MOST_STATIONS,
    MOST_STOPS,
    MOST_STOPS_IN_ALL,
    MOST_WISHES,
    PLACE_EVERY,
)
from footwork.model.lines import KeyPath
from footwork.model.scenario import Station


class Size(NamedTuple):
    """How many of what there are at a place of the file, how many there may be, and how to have fewer."""

    path: KeyPath
    what: str
    number: int
    most: int
    mend: str = ""

    def told(self) -> tuple[str, str]:
        """What is wrong and what would mend it, of a size that is too great."""
        number = f"{self.number:,}" if self.number < 10**12 else "over a million million"
        mend = f"{self.mend}, to " if self.mend else "give "
        return f"{number} {self.what} are too many", f"{mend}at most {self.most:,}"


def stops_of(route: Any) -> int:
    """Stops of a route as written in the file, repeats counted and not written out; 0 for what is none.

    The number may have any size.
    """
    if not isinstance(route, list):
        return 0
    return sum(1 if isinstance(item, str) else _repeated(item) for item in route)


def _repeated(item: Any) -> int:
    if not isinstance(item, dict):
        return 0
    times = item.get("repeat")
    inner = stops_of(item.get("route"))
    many = times if isinstance(times, int) and times > 0 else 1
    return min(many, 10**13) * min(inner, 10**13)


def check_sizes(faults: Faults) -> bool:
    """Whether the file holds no more than it may, before anything is made of it; each excess is noted."""
    before = len(faults.problems)
    for size in _sizes(faults.raw):
        if size.number > size.most:
            faults.add(size.path, *size.told())
    return len(faults.problems) == before


def check_places(stations: Iterable[Station], faults: Faults) -> None:
    """Note where one could stand in too many places along the sides of stations."""
    sides = (
        station.size[0 if side in ("front", "back") else 1]
        for station in stations
        if station.along
        for side in station.stand
    )
    number = sum(math.ceil(length / PLACE_EVERY) for length in sides)
    size = Size(("stations",), "standing places along their sides", number, MOST_PLACES, "leave out along")
    if number > MOST_PLACES:
        faults.add(size.path, *size.told())


def _sizes(raw: Any) -> Iterator[Size]:
    for path, most in MOST_PARTS.items():
        yield Size(path, _PARTS.get(path[-1], path[-1]), len(_at(raw, path)), most)
    stations = _tables(raw, ("stations",))
    yield Size(("stations",), "stations, counts written out,", sum(map(_count, stations)), MOST_STATIONS)
    yield Size((), "corners of outlines", _corners(raw), MOST_CORNERS_IN_ALL)
    for name, vehicle in _members(raw, ("vehicles",)):
        yield Size(("vehicles", name, "spots"), "spots", len(_at(vehicle, ("spots",))), MOST_LISTED)
    yield from _jobs(raw)
    wishes = sum(_wishes(wish, raw) for wish in _tables(raw, ("prefer",)))
    yield Size(("prefer",), "wishes, groups written out,", wishes, MOST_WISHES)


def _jobs(raw: Any) -> Iterator[Size]:
    fewer = "lessen repeat, and raise times"
    all_stops = 0
    for name, job in _members(raw, ("jobs",)):
        stops = stops_of(job.get("route"))
        all_stops += min(stops, MOST_STOPS)  # one that is too long is told by itself
        yield Size(("jobs", name, "route"), "stops, repeats written out,", stops, MOST_STOPS, fewer)
        for key in ("carry", "outside"):
            yield Size(("jobs", name, key), "entries", len(_at(job, (key,))), MOST_LISTED)
    what = "stops in all routes, repeats written out,"
    yield Size(("jobs",), what, all_stops, MOST_STOPS_IN_ALL, fewer)


_PARTS = {"keep_clear": "floors to keep clear", "prefer": "wishes"}


def _at(raw: Any, path: KeyPath) -> Any:
    """The list or table at a path; an empty one for anything else."""
    for part in path:
        raw = raw.get(part) if isinstance(raw, dict) else None
    return raw if isinstance(raw, (list, dict)) else ()


def _members(raw: Any, path: KeyPath) -> list[tuple[str, dict[str, Any]]]:
    """The tables in a table, with their names."""
    found = _at(raw, path)
    pairs = found.items() if isinstance(found, dict) else ()
    return [(name, table) for name, table in pairs if isinstance(table, dict)]


def _tables(raw: Any, path: KeyPath) -> list[dict[str, Any]]:
    """The tables in a table or a list."""
    found = _at(raw, path)
    members = found.values() if isinstance(found, dict) else found
    return [table for table in members if isinstance(table, dict)]


def _count(station: dict[str, Any]) -> int:
    """How many stations a table is; a wrong `count` is told where it is read."""
    count = station.get("count", 1)
    right = isinstance(count, int) and not isinstance(count, bool) and 1 <= count <= MOST_ALIKE
    return count if right else 1


def _corners(raw: Any) -> int:
    def ring(table: dict[str, Any]) -> int:
        return len(_at(table, ("outline",))) or 4

    yards = sum(ring(yard) for yard in _tables(raw, ("room", "yards")))
    stations = sum(ring(station) * _count(station) for station in _tables(raw, ("stations",)))
    boxes = len(_at(raw, ("vehicles",))) + len(_at(raw, ("room", "fixtures")))
    return ring({"outline": _at(raw, ("room", "outline"))}) + yards + stations + 4 * boxes


def _wishes(wish: dict[str, Any], raw: Any) -> int:
    """How many wishes one table is: one for each member, or for each pair."""
    number = 1
    for key in ("station", "apart_from"):
        word = wish.get(key)
        table = _at(raw, ("stations", word)) if isinstance(word, str) else ()
        number *= _count(table) if isinstance(table, dict) else 1
    return number
