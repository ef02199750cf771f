"""Carrying the changes of a scenario into its file, leaving everything else as it was typed.

Works on a tomlkit document; lengths are compared in metres and written in the file's units.  What
differs between two scenarios is found by the names in them: stations and vehicles that went or
came, the room's size and its yards, times, shares, and places.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Mapping, MutableMapping, Sequence
from dataclasses import dataclass
from typing import Any

import tomlkit
from tomlkit.items import InlineTable

from footwork.model import spelling
from footwork.model.build_room import SOUTH
from footwork.model.lines import KeyPath, without_elements, without_table
from footwork.model.places import TOLD
from footwork.model.scenario import Layout, Placement, Point, Scenario, Station
from footwork.model.units import (
    format_facing,
    in_units,
    parse_facing,
    parse_length,
    parse_times,
)

Node = MutableMapping[str, Any]
SAME = 1e-7
"""Metres: far below what the file holds; a length closer than this is left as typed."""


@dataclass(frozen=True)
class Words:
    """What became of the words for stations and vehicles: gone, or renamed."""

    gone: frozenset[str]
    renamed: Mapping[str, str]

    def now(self, word: str) -> str | None:
        """The word as it is now, or None where its thing is gone."""
        return None if word in self.gone else self.renamed.get(word, word)


def words_between(before: Scenario, after: Scenario) -> Words:
    """Names that went, and members of alike stations that close up: bench-1, bench-3 become 1 and 2."""
    old = {t.name for t in before.things} | {s.group for s in before.stations}
    left = {t.name for t in after.things} | {s.group for s in after.stations}
    renamed: dict[str, str] = {}
    for group in {s.group for s in before.stations if s.group != s.name}:
        members = [s.name for s in after.stations if s.group == group]
        if len(members) < len(before.group(group)):
            names = [group] if len(members) == 1 else [f"{group}-{i + 1}" for i in range(len(members))]
            renamed |= {m: n for m, n in zip(members, names, strict=True) if m != n}
    return Words(frozenset(old - left), renamed)


def carry_over(doc: Node, before: Scenario, after: Scenario) -> list[str]:
    """Edit the document in place; tables to put at its end are returned as text."""
    units = after.units
    words = words_between(before, after)
    _room(doc, before, after, units)
    added = _stations(doc, before, after)
    _vehicles(doc, before, after, units)
    _jobs(doc, before, after, words)
    _spots(doc, before, after, words, units)
    _prefer(doc, words)
    as_read = {layout.name: layout for layout in before.layouts}
    for layout in after.layouts:
        changed = layout != as_read.get(layout.name)  # the others stay as the file has them by now
        if changed and layout.name in doc.get("layouts", {}):
            put_layout(doc, layout, after, words, before)
    return added


def reword(doc: Node, words: Words) -> None:
    """Say the words for stations and vehicles as they are now, wherever the document has them."""
    for job in doc.get("jobs", {}).values():
        _reword_job(job, words)
    for spot in doc.get("spots", ()):
        _reword_list(spot, "takes", words)
    _prefer(doc, words)
    for layout in doc.get("layouts", {}).values():
        for word in list(layout):
            if (now := words.now(word)) is not None and now != word:
                layout[now] = layout.pop(word)


def without_gone(text: str, before: Scenario, after: Scenario) -> str:
    """The text without what went: tables, wishes, spots, stops of routes and loads; comments stay.

    What is written in another way than with a header, or is no element of an array, is left to
    ``carry_over``.
    """
    words = words_between(before, after)
    if words.gone:
        text = without_elements(text, _gone_elements(tomllib.loads(text), words))
        text = _without_listed(text, before, after, words)
    return _without_tables(text, before, after)


def _gone_elements(raw: Mapping[str, Any], words: Words) -> Iterator[KeyPath]:
    for name, job in raw.get("jobs", {}).items():
        here: KeyPath = ("jobs", name)
        yield from _gone_stops(job["route"], (*here, "route"), words)
        carry = job.get("carry", ())
        gone = [i for i, c in enumerate(carry) if {c["from"], c["to"]} & words.gone]
        if len(gone) < len(carry):
            yield from ((*here, "carry", i) for i in gone)


def _gone_stops(route: Sequence[Any], path: KeyPath, words: Words) -> list[KeyPath]:
    """Paths of the stops that went, or of the repeats that have no other."""
    found: list[KeyPath] = []
    for i, item in enumerate(route):
        if isinstance(item, str):
            found += [(*path, i)] if _stop(item, words) is None else []
            continue
        inner = _gone_stops(item["route"], (*path, i, "route"), words)
        found += [(*path, i)] if len(inner) == len(item["route"]) else inner
    return found


def _stop(item: str, words: Words) -> str | None:
    """A stop of a route as it is now, or None."""
    name, colon, side = item.partition(":")
    now = name if name == "door" else words.now(name)
    return None if now is None else f"{now}{colon}{side}"


def _without_listed(text: str, before: Scenario, after: Scenario, words: Words) -> str:
    raw = tomllib.loads(text)
    names = {s.name for s in before.spots} - {s.name for s in after.spots}
    for table, gone in (
        ("spots", [i for i, s in enumerate(raw.get("spots", ())) if s.get("name", f"spot-{i + 1}") in names]),
        ("prefer", [i for i, w in enumerate(raw.get("prefer", ())) if words.gone & set(_wish_words(w))]),
    ):
        for i in reversed(gone):
            text = without_table(text, (table, i))
    return text


def _wish_words(wish: Mapping[str, Any]) -> list[str]:
    return [str(wish[key]) for key in ("station", "near", "apart_from") if key in wish]


def _without_tables(text: str, before: Scenario, after: Scenario) -> str:
    left = {
        "stations": {s.group for s in after.stations},
        "vehicles": {v.name for v in after.vehicles},
        "jobs": {j.name for j in after.jobs if j.route},
    }
    old = [("stations", s.group) for s in before.stations]
    old += [("vehicles", v.name) for v in before.vehicles] + [("jobs", j.name) for j in before.jobs]
    for table, name in dict.fromkeys(old):
        if name not in left[table]:
            text = without_table(text, (table, name))
    return text


def put_layout(doc: Node, layout: Layout, scenario: Scenario, words: Words, before: Scenario) -> str:
    """Write a layout over the one of its name, in place; where there is none, give it as text.

    ``before`` is how the document reads: what was measured from walls and still stands there stays as told.
    """
    placements = {
        words.renamed.get(thing.name, thing.name): layout.placements[thing.name]
        for thing in scenario.things
        if getattr(thing, "fixed", None) is None
    }
    layouts = doc.get("layouts")
    if layouts is None or (layout.name not in layouts and not isinstance(layouts, InlineTable)):
        return spelling.layout(layout.name, placements, scenario.units)
    if layout.name not in layouts:
        layouts[layout.name] = tomlkit.inline_table()
    table = layouts[layout.name]
    fixed = {s.name for s in scenario.stations if s.fixed is not None}
    for word in list(table):
        now = words.now(word)
        if now is None or (now not in placements and now not in fixed):
            del table[word]
        elif now != word:
            table[now] = table.pop(word)
    for name, place in placements.items():
        if name in table and "at" not in table[name] and _stays(name, place, layout.name, before, scenario):
            continue
        if name in table:
            _put_placement(table[name], place, scenario.units)
        else:
            table[name] = _value(spelling.placement(place, scenario.units))
    return ""


def _stays(name: str, place: Placement, layout: str, before: Scenario, after: Scenario) -> bool:
    """Whether what a file measured from walls is true still: of this thing, in this room."""
    then = next((each.placements.get(name) for each in before.layouts if each.name == layout), None)
    one, other = (next((t for t in s.things if t.name == name), None) for s in (before, after))
    shapes = [None if thing is None else thing.outline for thing in (one, other)]
    return then == place and shapes[0] == shapes[1] and before.room.walls == after.room.walls


def _value(text: str) -> Any:
    """A TOML value from its spelling."""
    return tomlkit.value(text)


def _put_placement(table: Node, place: Placement, units: str) -> None:
    if "at" not in table:
        _say_at(table, place.at, units)
        table["facing"] = format_facing(place.facing)
        return
    _put_point(table["at"], place.at, units)
    turn = (parse_facing(_plain(table["facing"])) - place.facing + 180.0) % 360.0 - 180.0
    if abs(turn) > 1e-9:
        table["facing"] = format_facing(place.facing)


def _say_at(table: Node, at: Point, units: str) -> None:
    """Say by its middle where something stands that was measured from walls."""
    for key in TOLD:
        table.pop(key, None)
    table["at"] = _value(spelling.lengths(at, units))


def _put_point(array: Any, point: Sequence[float], units: str) -> None:
    for i, metres in enumerate(point):
        if abs(parse_length(_plain(array[i]), units) - metres) > SAME:
            array[i] = in_units(metres, units)


def _plain(value: Any) -> Any:
    """The Python value of a TOML item."""
    return value.unwrap() if hasattr(value, "unwrap") else value


def _room(doc: Node, before: Scenario, after: Scenario, units: str) -> None:
    if after.room.size is not None and after.room.size != before.room.size:
        _put_point(doc["room"]["size"], after.room.size, units)
    for i, (was, now) in enumerate(zip(before.room.fixtures, after.room.fixtures, strict=True)):
        table = doc["room"]["fixtures"][i]
        if "at" not in table and (was.at != now.at or before.room.outline != after.room.outline):
            _say_at(table, now.at, units)
            if now.facing != SOUTH:
                table["facing"] = format_facing(now.facing)
        elif was.at != now.at:
            _put_point(table["at"], now.at, units)
    for i, (old, new) in enumerate(zip(before.room.yards, after.room.yards, strict=True)):
        if old.outline != new.outline:
            for point in doc["room"]["yards"][i]["outline"]:
                _put_point(point, new.outline[_corner(old.outline, point, units)], units)


def _corner(ring: Sequence[Point], point: Any, units: str) -> int:
    """Which corner of the ring a point of the file is: the reader may have turned the ring round."""
    at = [parse_length(_plain(v), units) for v in point]
    return min(range(len(ring)), key=lambda i: math.dist(ring[i], at))


def _stations(doc: Node, before: Scenario, after: Scenario) -> list[str]:
    table = doc.get("stations")
    if table is None:  # its tables have all gone
        table = {}
    for group in dict.fromkeys(s.group for s in before.stations):
        old, left = len(before.group(group)), len([s for s in after.stations if s.group == group])
        if left == 0:
            table.pop(group, None)
        elif left < old:
            _put_count(table[group], left, next(s for s in after.stations if s.group == group))
    _move_own(table, before, after)
    known = {s.name for s in before.stations}
    added = []
    for station in after.stations:
        if station.name not in known:
            text = spelling.station(station, after.walker, after.units)
            if isinstance(table, InlineTable):
                body = ", ".join(text.splitlines()[1:])
                table[station.name] = _value(f"{{ {body} }}")
            else:
                added.append(text)
    return added


def _put_count(table: Node, left: int, member: Station) -> None:
    """So many are left of a group of alike stations, and shared among people as ``member`` says."""
    if left == 1:
        del table["count"]
    else:
        table["count"] = left
    if member.use == "nearest":
        table.pop("use", None)
    elif "use" in table and _plain(table["use"]) != member.use:
        table["use"] = member.use


def _move_own(table: Node, before: Scenario, after: Scenario) -> None:
    """Places that stations have in their own tables: fixed, and parked."""
    now = {s.name: s for s in after.stations}
    for old in before.stations:
        new = now.get(old.name)
        for key in ("fixed", "parked"):
            place = None if new is None else getattr(new, key)
            if place is not None and place != getattr(old, key):
                _put_placement(table[old.group][key], place, after.units)


def _vehicles(doc: Node, before: Scenario, after: Scenario, units: str) -> None:
    now = {v.name: v for v in after.vehicles}
    for old in before.vehicles:
        new = now.get(old.name)
        if new is None:
            doc.get("vehicles", {}).pop(old.name, None)
            continue
        table = doc["vehicles"][old.name]
        if (new.inside, new.inside_by) != (old.inside, old.inside_by):
            table["inside"] = _number(new.inside)
        for spot, place in zip(table.get("spots", ()), new.spots, strict=False):
            _put_placement(spot, place, units)
    if "vehicles" in doc and not after.vehicles:
        del doc["vehicles"]


def _number(value: float) -> float | int:
    return int(value) if value == int(value) else round(value, 6)


def _jobs(doc: Node, before: Scenario, after: Scenario, words: Words) -> None:
    now = {j.name: j for j in after.jobs}
    for old in before.jobs:
        new = now.get(old.name)
        if new is None or not new.route:  # no stop is left of it
            doc.get("jobs", {}).pop(old.name, None)
            continue
        table = doc["jobs"][old.name]
        if new.times_per_year != old.times_per_year:
            table["times"] = _times(new.times, new.times_per_year / new.part)
        if "times_range" in table and new.times_range is None:
            del table["times_range"]
        _reword_job(table, words)
    if "jobs" in doc and not any(j.route for j in after.jobs):
        del doc["jobs"]


def _times(text: str, per_year: float) -> str | float:
    try:
        if abs(parse_times(text) - per_year) < 1e-6:
            return text
    except ValueError:
        pass
    return f"{_number(per_year)} per year"


def _reword_job(table: Node, words: Words) -> None:
    """Take out the words that are gone and rename those that changed, wherever a job has them."""
    _reword_route(table["route"], words)
    minutes = table.get("minutes", {})
    if any(words.now(word) != word for word in minutes):
        pairs = [(now, v) for word, v in minutes.items() if (now := words.now(word)) is not None]
        kept = ", ".join(f"{spelling.key(word)} = {_plain(v)!r}" for word, v in pairs)
        table["minutes"] = _value(f"{{ {kept} }}" if kept else "{}")
    _keep(table, "carry", lambda c: words.now(c["from"]) is not None and words.now(c["to"]) is not None)
    for carry in table.get("carry", ()):
        for end in ("from", "to"):
            _reword_value(carry, end, words)
    _reword_list(table, "outside", words)
    _drop_empty(table, "minutes", "carry", "outside")


def _reword_route(route: Any, words: Words) -> None:
    for i in reversed(range(len(route))):
        item = route[i]
        if isinstance(item, str):
            now = _stop(item, words)
            if now is None:
                del route[i]
            elif now != item:
                route[i] = now
        else:
            _reword_route(item["route"], words)
            if not item["route"]:
                del route[i]


def _reword_value(table: Node, key: str, words: Words) -> None:
    now = words.now(str(table[key]))
    if now is not None and now != table[key]:
        table[key] = now


def _reword_list(table: Node, key: str, words: Words) -> None:
    names = table.get(key, ())
    for i in reversed(range(len(names))):
        now = words.now(str(names[i]))
        if now is None:
            del names[i]
        elif now != names[i]:
            names[i] = now


def _keep(table: Node, key: str, wanted: Any) -> None:
    """Delete the members of the list at ``key`` that are not wanted."""
    members = table.get(key, ())
    for i in reversed(range(len(members))):
        if not wanted(members[i]):
            del members[i]


def _drop_empty(table: Node, *keys: str) -> None:
    for key in keys:
        if key in table and not len(table[key]):
            del table[key]


def _spots(doc: Node, before: Scenario, after: Scenario, words: Words, units: str) -> None:
    tables = doc.get("spots", ())
    now = {s.name: s for s in after.spots}
    names = [s.name for s in before.spots]
    if len(tables) < len(names):  # those that went are out of the text already
        names = [name for name in names if name in now]
    for i in reversed(range(len(tables))):
        spot = now.get(names[i])
        if spot is None:
            del tables[i]
            continue
        _put_placement(tables[i], spot.placement, units)
        _reword_list(tables[i], "takes", words)
    _drop_empty(doc, "spots")


def _prefer(doc: Node, words: Words) -> None:
    keys = ("station", "near", "apart_from")
    _keep(doc, "prefer", lambda wish: all(words.now(str(wish[k])) is not None for k in keys if k in wish))
    for wish in doc.get("prefer", ()):
        for key in keys:
            if key in wish:
                _reword_value(wish, key, words)
    _drop_empty(doc, "prefer")
