"""Edits of stations and vehicles: made from the catalogue or by size, changed, deleted."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path

from footwork import moves
from footwork.applying import apply_move
from footwork.model import spelling
from footwork.model.catalogue import entry
from footwork.model.edits import Words, reword
from footwork.model.errors import UsageError
from footwork.model.scenario import SIDES, Layout, Placement, Scenario
from footwork.model.write import rewritten
from footwork.page.editing import asked
from footwork.page.editing.asked import Message
from footwork.page.editing.building import Changed, spelt_pair
from footwork.page.editing.document import IN_THE_FILE, has_room, raw, renamed, value, with_keys, with_new

PLACINGS = ("wall", "island", "any")


def station(scenario: Scenario, message: Message) -> Changed:
    """Make a station, or change the one of that name; a counted group is changed as one."""
    name, old = _name(scenario, message, "stations")
    units = scenario.units
    size = next((s.size for s in scenario.stations if s.group == name), None) if old is not None else None
    like = asked.word(message, "like")
    keys: dict[str, str | None] = {
        "like": value(entry(like).name) if like else None,
        "size": spelt_pair(message, ("wide", "deep"), units, size),
        "placing": _one_of(message, "placing", PLACINGS),
        "strip": asked.spelt_length(message, "strip", units, "its strip"),
        "height": asked.spelt_length(message, "height", units, "its height"),
        "along": "true" if message.get("along") is True else None,
    }
    stand = [side for side in asked.entries(message, "stand") if side in SIDES]
    keys["stand"] = None if "stand" not in message else value(stand)
    if old is None:
        if not (keys["like"] or keys["size"]):
            raise UsageError(f"{name}: choose what it is like, or give its size")
        return Changed(with_new(scenario.text, ("stations", name), keys), f"make {name}")
    given = {key: spelt for key, spelt in keys.items() if key in message}
    if keys["size"] is not None:
        given |= {"size": keys["size"], "outline": None}
    return _renamed(with_keys(scenario.text, ("stations", name), given), scenario, message, "stations")


def vehicle(scenario: Scenario, message: Message) -> Changed:
    """Make a vehicle, or change the one of that name."""
    name, old = _name(scenario, message, "vehicles")
    known = None if old is None else scenario.vehicle(name).size
    size = spelt_pair(message, ("wide", "deep"), scenario.units, known)
    door, inside = asked.word(message, "door"), asked.word(message, "inside")
    keys: dict[str, str | None] = {
        "size": size,
        "door": value(door) if door else None,
        "inside": _share(inside) if inside else None,
    }
    if old is None:
        if size is None:
            raise UsageError(f"{name}: give its width and its length")
        return Changed(with_new(scenario.text, ("vehicles", name), keys), f"make {name}")
    given = {key: spelt for key, spelt in keys.items() if key in message or (key == "size" and spelt)}
    return _renamed(with_keys(scenario.text, ("vehicles", name), given), scenario, message, "vehicles")


def _renamed(text: str, scenario: Scenario, message: Message, table: str) -> Changed:
    """The changed text; under another name where one is given, in every route, wish and layout too."""
    import tomlkit

    old, new = asked.word(message, "name"), asked.word(message, "new_name")
    if not new or new == old:
        return Changed(text, f"change {old}")
    _check_free(scenario, new)
    names = {old: new}
    if table == "stations" and scenario.group(old) != (old,):
        names |= {member: f"{new}{member.removeprefix(old)}" for member in scenario.group(old)}
    doc = tomlkit.parse(renamed(text, (table, old), new))
    reword(doc, Words(frozenset(), names))
    return Changed(tomlkit.dumps(doc), f"rename {old} to {new}", names=names)


def _check_free(scenario: Scenario, name: str) -> None:
    if name in {t.name for t in scenario.things} | {s.group for s in scenario.stations}:
        raise UsageError(f"there is a {name!r} already; give this one another name")


def _name(scenario: Scenario, message: Message, table: str) -> tuple[str, Mapping[str, object] | None]:
    """The name asked for and its table, or None of one that is new."""
    if not has_room(scenario.text):
        raise UsageError("there is no room yet: give the lengths of its walls first")
    name = asked.needed(message, "name", "its name")
    tables = raw(scenario.text).get(table, {})
    if message.get("new") is True:
        _check_free(scenario, name)
        return name, None
    if name not in tables:
        raise UsageError(f"there is nothing named {name!r} to change")
    return name, tables[name]


def _one_of(message: Message, key: str, known: tuple[str, ...]) -> str | None:
    given = asked.word(message, key)
    if given and given not in known:
        raise UsageError(f"{key}: {given!r} is none of {', '.join(known)}")
    return value(given) if given else None


def _share(text: str) -> str:
    """A share as the file has it, or the table of one a season, which is typed as in the file."""
    if text.startswith("{"):
        try:
            by_season = tomllib.loads(f"inside = {text}")["inside"].items()
            return f"{{ {', '.join(f'{spelling.key(name)} = {share:g}' for name, share in by_season)} }}"
        except (ValueError, TypeError):
            raise UsageError(f"{text!r} is no share a season; write {{ winter = 0.8 }}") from None
    try:
        return f"{float(text.removesuffix('%')) / (100 if text.endswith('%') else 1):.6g}"
    except ValueError:
        raise UsageError(f"{text!r} is no share; write 0.3 or 30 %") from None


def with_places(scenario: Scenario, places: Mapping[str, Placement]) -> str:
    """The text with what is new in every layout that it holds."""
    text = scenario.text
    for layout in raw(text).get("layouts", {}):
        keys = {name: spelling.placement(place, scenario.units) for name, place in places.items()}
        text = with_keys(text, ("layouts", layout), keys)
    return text


def without_thing(scenario: Scenario, message: Message) -> Changed:
    """Delete a station or vehicle, and with it all that the file says of it."""
    name = asked.needed(message, "name", "the name of what to delete")
    placed = {thing.name: Placement(0.0, 0.0, 0.0) for thing in scenario.things}
    outcome = apply_move(moves.Remove(name), scenario, Layout("", placed))
    kept = outcome.scenario
    text = rewritten(kept, scenario.path or Path("the file"))
    if name in {**raw(text).get("stations", {}), **raw(text).get("vehicles", {})}:
        raise UsageError(f"{name}: {IN_THE_FILE}")
    return Changed(text, f"delete {name}", outcome.notes)
