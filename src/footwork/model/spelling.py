"""Parts of a scenario spelt as TOML, lengths in the file's units."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from typing import Any

from footwork.model.build_things import catalogue_table
from footwork.model.outlines import box
from footwork.model.scenario import Layout, Placement, Scenario, Station, Walker
from footwork.model.units import format_facing, in_units, parse_facing, parse_length

Pairs = list[tuple[str, str]]


def string(text: str) -> str:
    """A TOML string; its escapes are those of JSON."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def key(name: str) -> str:
    """A TOML key, in quotes where it must be."""
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else string(name)


def length(metres: float, units: str) -> str:
    """A length as a number of the file's units, to 0.1 mm or finer."""
    return repr(in_units(metres, units))


def lengths(metres: Iterable[float], units: str) -> str:
    """``[x, y]``."""
    return f"[{', '.join(length(m, units) for m in metres)}]"


def facing(degrees: float) -> str:
    """A word where one fits, else degrees."""
    word = format_facing(degrees)
    return string(word) if isinstance(word, str) else repr(word)


def placement(place: Placement, units: str) -> str:
    """``{ at = [x, y], facing = "south" }``."""
    return f"{{ at = {lengths(place.at, units)}, facing = {facing(place.facing)} }}"


def held(place: Placement, units: str) -> Placement:
    """A placement as it is read back from a file in ``units``: lengths to 0.1 mm or finer."""
    x, y = (held_length(metres, units) for metres in place.at)
    return Placement(x, y, parse_facing(format_facing(place.facing)))


def held_layout(layout: Layout, scenario: Scenario) -> Layout:
    """A layout as it is read back from the scenario's file, which has what is fixed elsewhere."""
    fixed = {station.name: station.fixed for station in scenario.stations if station.fixed is not None}
    there = {name: held(place, scenario.units) for name, place in layout.placements.items()}
    return Layout(layout.name, {name: fixed.get(name, place) for name, place in there.items()})


def held_length(metres: float, units: str) -> float:
    """A length as it is read back from a file in ``units``."""
    return parse_length(in_units(metres, units), units)


def layout(name: str, placements: Mapping[str, Placement], units: str) -> str:
    """A ``[layouts.NAME]`` table, its equals signs in line."""
    widest = max((len(key(n)) for n in placements), default=0)
    rows = [f"{key(n):{widest}} = {placement(p, units)}\n" for n, p in placements.items()]
    return f"[layouts.{key(name)}]\n{''.join(rows)}"


def station(thing: Station, walker: Walker, units: str) -> str:
    """A ``[stations.NAME]`` table with the keys that differ from the catalogue and the defaults."""
    rows = [f"{k} = {v}\n" for k, v in _station_keys(thing, walker, units)]
    return f"[stations.{key(thing.name)}]\n{''.join(rows)}"


def _station_keys(thing: Station, walker: Walker, units: str) -> Pairs:
    usual = catalogue_table(thing.like, walker)
    keys: Pairs = [("like", string(thing.like))] if thing.like is not None else []
    if thing.outline != (usual.outline or (box(usual.size) if usual.size else None)):
        if thing.outline == box(thing.size):
            keys.append(("size", lengths(thing.size, units)))
        else:
            points = ", ".join(lengths(point, units) for point in thing.outline)
            keys.append(("outline", f"[{points}]"))
    for name in ("placing", "along", "castors", "outdoors", "shield", "weight", "work"):
        if getattr(thing, name) != getattr(usual, name):
            keys.append((name, _plain(getattr(thing, name))))
    for name in ("strip", "height", "work_height", "ignition_height", "from_floor", "reach", "lead"):
        value = getattr(thing, name)
        if value is not None and value != getattr(usual, name):
            keys.append((name, length(value, units)))
    for name in ("stand", "gives", "minds", "holds", "needs"):
        if getattr(thing, name) != getattr(usual, name):
            keys.append((name, f"[{', '.join(string(word) for word in getattr(thing, name))}]"))
    for name in ("service", "within"):
        if getattr(thing, name) != getattr(usual, name):
            keys.append((name, _table(getattr(thing, name), units)))
    if thing.stock is not None and not _same_stock(thing.stock, usual.stock):
        sides = [(s, thing.stock.length(s)) for s in ("front", "back", "left", "right")]
        width = [("width", thing.stock.width)] if thing.stock.width is not None else []
        keys.append(("stock", _table([*((s, m) for s, m in sides if m), *width], units)))
    for name in ("fixed", "parked"):
        if getattr(thing, name) is not None:
            keys.append((name, placement(getattr(thing, name), units)))
    return keys


def _same_stock(stock: Any, usual: Any) -> bool:
    names = ("front", "back", "left", "right", "width")
    return usual is not None and all(getattr(stock, n) == getattr(usual, n) for n in names)


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return string(value) if isinstance(value, str) else repr(value)


def _table(pairs: Iterable[tuple[str, float]], units: str) -> str:
    return f"{{ {', '.join(f'{key(k)} = {length(v, units)}' for k, v in pairs)} }}"
