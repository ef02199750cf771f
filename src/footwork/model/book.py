"""Who is who in one file: what each name means, and which names belong to a table with a fault.

A name whose own table could not be read is known all the same, so that one fault is not reported
again at every place that uses the name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from footwork.model.build_room import part_names
from footwork.model.faults import Faults
from footwork.model.lines import KeyPath
from footwork.model.names import alike, hint, name_fault
from footwork.model.scenario import Door, Room, Station, Vehicle

KIND_WORDS = ("window", "door")
"""What ``near`` may say for the nearest one."""


@dataclass(frozen=True)
class Book:
    """Names to things.  ``groups`` maps each word for stations to the members it means."""

    stations: Mapping[str, Station]
    vehicles: Mapping[str, Vehicle]
    doors: Mapping[str, Door]
    windows: tuple[str, ...]
    fixtures: tuple[str, ...]
    door_names: tuple[str, ...]
    groups: Mapping[str, tuple[str, ...]]
    broken: frozenset[str] = field(default_factory=frozenset)

    def is_broken(self, word: str) -> bool:
        """Whether the word names a station or vehicle whose table has a fault."""
        return any(alike(b, (word,)) for b in self.broken)

    @property
    def station_words(self) -> tuple[str, ...]:
        return tuple(self.groups)

    @property
    def places(self) -> tuple[str, ...]:
        """Names of the parts of the building that can be near: fixtures, windows, doors."""
        return (*self.fixtures, *self.windows, *self.door_names)


def make_book(
    stations: Iterable[Station],
    vehicles: Iterable[Vehicle],
    room: Room | None,
    faults: Faults,
) -> Book:
    """The names of a file, from what could be read and, for the rest, from its raw tables."""
    stations, vehicles = tuple(stations), tuple(vehicles)
    groups: dict[str, list[str]] = {}
    for s in stations:
        groups.setdefault(s.group, []).append(s.name)
    for s in stations:
        groups.setdefault(s.name, [s.name])
    known = {s.group for s in stations} | {v.name for v in vehicles}
    raw = [*faults.table(("stations",)), *faults.table(("vehicles",))]
    return Book(
        {s.name: s for s in stations},
        {v.name: v for v in vehicles},
        {d.name: d for d in room.doors} if room else {},
        tuple(part_names("windows", faults)),
        tuple(part_names("fixtures", faults)),
        tuple(part_names("doors", faults)),
        {word: tuple(members) for word, members in groups.items()},
        frozenset(name for name in raw if name not in known),
    )


def check_names(book: Book, faults: Faults) -> None:
    """Every name can be one, and none means two things."""
    owner: dict[str, str] = {}
    for kind, path, name, words in _named(book, faults):
        wrong = name_fault(name)
        if wrong:
            faults.add(path, wrong, "choose another name")
        elif name in KIND_WORDS and kind not in KIND_WORDS:
            faults.add(path, f"'{name}' is kept for the nearest {name}", "choose another name")
        for word in words:
            if word in owner:
                again = "is given twice" if owner[word] == kind else f"is also that of a {owner[word]}"
                faults.add(path, f"the name '{word}' {again}", f"give each its own name, such as {name}-2")
            owner.setdefault(word, kind)
    for part in ("keep_clear", "yards"):
        _check_twice(part_names(part, faults), ("room", part), faults)
    for table in ("seasons", "jobs", "layouts"):
        for name in faults.table((table,)):
            wrong = name_fault(name)
            if wrong:
                faults.add((table, name), wrong, "choose another name")


def _named(book: Book, faults: Faults) -> Iterable[tuple[str, KeyPath, str, tuple[str, ...]]]:
    """Kind, path, name, and every word that means it, for all things that share one set of names."""
    for part in ("doors", "windows", "fixtures"):
        for i, name in enumerate(part_names(part, faults)):
            yield part.removesuffix("s"), ("room", part, i), name, (name,)
    for table in ("stations", "vehicles"):
        for name in faults.table((table,)):
            members = book.groups.get(name, ()) if table == "stations" else ()
            yield table.removesuffix("s"), (table, name), name, tuple(dict.fromkeys((name, *members)))


def _check_twice(names: list[str], path: KeyPath, faults: Faults) -> None:
    for i, name in enumerate(names):
        if name in names[:i]:
            faults.add((*path, i), f"the name '{name}' is given twice", "give each its own name")
        elif name_fault(name):
            faults.add((*path, i), name_fault(name), "choose another name")


def unknown(word: str, known: Iterable[str], path: KeyPath, faults: Faults, *, one: str, many: str) -> None:
    """Note a word that names nothing, with the nearest name that does."""
    faults.add(path, f"there is no {one} '{word}'", hint(word, known, many))
