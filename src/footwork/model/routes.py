"""Routes: from the words of a job to its visits, repeats written out."""

from __future__ import annotations

from typing import Any

from footwork.model.book import Book, unknown
from footwork.model.faults import Faults
from footwork.model.lines import KeyPath
from footwork.model.names import hint, nearest
from footwork.model.scenario import SIDES, Side, Visit
from footwork.model.units import shown

_HELP = 'write ["rack", "bench:back", { repeat = 4, route = ["drill", "bench"] }]'


def read_route(raw: Any, path: KeyPath, book: Book, faults: Faults) -> tuple[Visit, ...] | None:
    """The visits of a route in order, or None where a word of it is wrong (noted, or a fault elsewhere).

    That they are not too many to be written out has been seen before (``sizes.py``).
    """
    reader = _Reader(book, faults)
    visits = reader.route(raw, path)
    return None if reader.failed or not visits else tuple(visits)


class _Reader:
    """Reads one route; ``failed`` tells that something in it could not be read."""

    def __init__(self, book: Book, faults: Faults) -> None:
        self.book = book
        self.faults = faults
        self.failed = False
        self._known: dict[str, Visit | None] = {}

    def route(self, raw: Any, path: KeyPath) -> list[Visit]:
        if not isinstance(raw, list):
            return self._wrong(path, f"{shown(raw)} is not a route", _HELP)
        if not raw:
            return self._wrong(path, "the route is empty", "name the stations in the order they are visited")
        visits: list[Visit] = []
        for i, item in enumerate(raw):
            visits += self._item(item, (*path, i))
        return visits

    def _item(self, item: Any, path: KeyPath) -> list[Visit]:
        if isinstance(item, dict):
            return self._repeat(item, path)
        if not isinstance(item, str):
            return self._wrong(path, f"{shown(item)} is not a stop", _HELP)
        if item not in self._known:
            self._known[item] = self._visit(item, path)
        visit = self._known[item]
        if visit is None:
            self.failed = True
        return [visit] if visit is not None else []

    def _repeat(self, item: dict[str, Any], path: KeyPath) -> list[Visit]:
        self.faults.unknown_keys(path, item, ("repeat", "route"))
        times = item.get("repeat")
        inner = self.route(item["route"], (*path, "route")) if "route" in item else []
        if "route" not in item:
            return self._wrong(path, "'route' is missing", _HELP)
        if not isinstance(times, int) or isinstance(times, bool) or times < 1:
            if times is None and nearest("repeat", [k for k in item if k != "route"]):
                self.failed = True  # misspelt, and named as unknown
                return []
            what = "'repeat' is missing" if times is None else f"{shown(times)} is not a number of repeats"
            return self._wrong((*path, "repeat"), what, "give a whole number, 1 or more")
        return inner * times if inner else []  # of nothing no number is too many, and some are too large

    def _visit(self, word: str, path: KeyPath) -> Visit | None:
        book = self.book
        name, _, side = word.partition(":")
        if name == "door" and name not in book.groups:
            if side in book.door_names:
                return Visit(word, "door", (side,))
            what = f"there is no door '{side}'" if side else "'door' does not say which door"
            near = hint(side, book.door_names, "doors") if side else 'write "door:" and its name'
            self.faults.add(path, what, near)
            return None
        if book.is_broken(name):
            return None
        sides: tuple[Side, ...]
        if name in book.groups:
            first = book.stations[book.groups[name][0]]
            kind, members, sides = "station", book.groups[name], first.stand
        elif name in book.vehicles:
            kind, members, sides = "vehicle", (name,), book.vehicles[name].stand
        else:
            self._unknown(word, name, path)
            return None
        if not sides:
            stand: KeyPath = ("stations", book.stations[members[0]].group, "stand")
            what = "a job visits it and there is no side to stand at"
            self.faults.add(stand, what, 'write stand = ["front"], or leave it out')
            return None
        if ":" not in word:
            return Visit(name, "station" if kind == "station" else "vehicle", members)
        if side not in SIDES:
            self.faults.add(path, f"'{side}' is not a side", hint(side, SIDES, "sides"))
            return None
        if side not in sides:
            where = "stand" if kind == "station" else "around"
            what = f"'{name}' is not worked from the {side}, only from the {', '.join(sides)}"
            self.faults.add(path, what, f"add {side} to its {where}")
            return None
        chosen = next(s for s in SIDES if s == side)
        return Visit(name, "station" if kind == "station" else "vehicle", members, chosen)

    def _unknown(self, word: str, name: str, path: KeyPath) -> None:
        book = self.book
        if name in book.door_names:
            self.faults.add(path, f"'{name}' is a door", f'write "door:{name}" for the door')
            return
        known = (
            *book.station_words,
            *book.vehicles,
            *sorted(book.broken),
            *(f"door:{d}" for d in book.door_names),
        )
        unknown(name, known, path, self.faults, one="station or vehicle", many="stations and vehicles")

    def _wrong(self, path: KeyPath, what: str, mend: str) -> list[Visit]:
        self.failed = True
        self.faults.add(path, what, mend)
        return []
