"""Jobs, spots, wishes, checks and layouts of a scenario from their tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import pairwise
from typing import Any, cast

from footwork.model.book import KIND_WORDS, Book, unknown
from footwork.model.build_seasons import part_of_year
from footwork.model.faults import Faults
from footwork.model.lines import KeyPath
from footwork.model.names import alike, hint, nearest, text_fault
from footwork.model.places import place
from footwork.model.routes import read_route
from footwork.model.rules import ACCEPTED, RULE_IDS, RULES_WITH_FIGURE, SEVERE
from footwork.model.scenario import (
    Carry,
    CheckSetting,
    Job,
    Layout,
    Placement,
    Prefer,
    Room,
    Season,
    Spot,
    Station,
    Vehicle,
    Visit,
)
from footwork.model.schema import CheckTable, JobTable, PlacementTable, PreferTable, SpotTable
from footwork.model.units import walking_unit


def build_jobs(book: Book, seasons: tuple[Season, ...], faults: Faults) -> tuple[Job, ...]:
    """Every job that can be read, its route written out."""
    jobs = []
    for name, raw in faults.table(("jobs",)).items():
        job = _job(name, raw, ("jobs", name), book, seasons, faults)
        if job is not None:
            jobs.append(job)
    return tuple(jobs)


def _job(
    name: str, raw: Any, path: KeyPath, book: Book, seasons: tuple[Season, ...], faults: Faults
) -> Job | None:
    table = faults.read(JobTable, raw, path)
    given = raw.get("route") if isinstance(raw, dict) else None
    route = read_route(given, (*path, "route"), book, faults) if given is not None else None
    if table is None:
        return None
    share = part_of_year(table.season, table.weeks, seasons, path, faults)
    outside = _known(
        table.outside, book.vehicles, book, (*path, "outside"), faults, one="vehicle", many="vehicles"
    )
    if route is None:
        return None
    times, text = table.times
    _check_minutes(table, route, path, faults)
    carry = _carry(table, route, book, path, faults)
    for vehicle in outside:
        if any(vehicle in visit.members for visit in route):
            what = f"the job visits '{vehicle}', which has to be in for it"
            faults.add((*path, "outside"), what, "take it out of the route or out of outside")
    return Job(
        name,
        times * share,
        route,
        text,
        table.minutes,
        carry,
        outside,
        None if table.times_range is None else (table.times_range[0] * share, table.times_range[1] * share),
        table.weeks,
        table.season,
        share,
    )


def _words(visits: Iterable[Visit]) -> tuple[str, ...]:
    """Every word that means a stop of the route."""
    return tuple(dict.fromkeys(word for visit in visits for word in (visit.name, *visit.members)))


def _check_minutes(table: JobTable, route: tuple[Visit, ...], path: KeyPath, faults: Faults) -> None:
    words = _words(route)
    for word, _ in table.minutes:
        if word not in words:
            faults.add(
                (*path, "minutes", word), f"the route does not visit '{word}'", hint(word, words, "stops")
            )


def _carry(
    table: JobTable, route: tuple[Visit, ...], book: Book, path: KeyPath, faults: Faults
) -> tuple[Carry, ...]:
    """What is carried; noted where it is on no leg of the route, or depends on who serves a stop."""
    found = []
    for i, given in enumerate(table.carry):
        here = (*path, "carry", i)
        if given.width is None and not given.weight:
            faults.add(
                here, "it says neither how wide nor how heavy", "give width = 1.2, weight = 20, or both"
            )
        words = (given.from_, given.to)
        ends = [book.groups.get(word, (word.removeprefix("door:"),)) for word in words]
        carry = Carry(given.from_, given.to, given.width or 0.0, given.weight, *ends)
        _check_carry(carry, route, book, here, faults)
        found.append(carry)
    return tuple(found)


def _check_carry(carry: Carry, route: tuple[Visit, ...], book: Book, here: KeyPath, faults: Faults) -> None:
    words = _words(route)
    ends = (("from", carry.start, carry.starts), ("to", carry.end, carry.ends))
    missing = [(key, word) for key, word, names in ends if not set(names) & set(words)]
    for key, word in missing:
        faults.add((*here, key), f"the route does not visit '{word}'", hint(word, words, "stops"))
    if missing:
        return
    legs = [(a, b) for a, b in dict.fromkeys(pairwise(route)) if _may_serve(a, carry.starts, b, carry.ends)]
    if not legs:
        back = any(_may_serve(a, carry.ends, b, carry.starts) for a, b in pairwise(route))
        mend = "it goes the other way: swap from and to" if back else "name two stops that follow each other"
        faults.add(here, f"the route has no leg from '{carry.start}' to '{carry.end}'", mend)
    stops = dict.fromkeys(stop for leg in legs for stop in zip(ends, leg, strict=True))
    for (key, word, names), visit in stops:
        if not set(visit.members) <= set(names) and book.stations[visit.members[0]].use == "nearest":
            what = f"any of {len(visit.members)} alike stations may serve the stop '{visit.name}'"
            mend = f'write "{word}" in the route, or {key} = "{visit.name}"'
            faults.add((*here, key), what, mend)


def _may_serve(a: Visit, starts: tuple[str, ...], b: Visit, ends: tuple[str, ...]) -> bool:
    return bool(set(a.members) & set(starts) and set(b.members) & set(ends))


def _known(
    words: tuple[str, ...],
    known: Mapping[str, Any],
    book: Book,
    path: KeyPath,
    faults: Faults,
    *,
    one: str,
    many: str,
) -> tuple[str, ...]:
    """The words of a list that are known; the others are noted."""
    good = []
    for i, word in enumerate(words):
        if word in known:
            good.append(word)
        elif not book.is_broken(word):
            unknown(word, known, (*path, i), faults, one=one, many=many)
    return tuple(good)


def build_spots(book: Book, faults: Faults) -> tuple[Spot, ...]:
    """The user's own spots; ``takes`` names every station, groups written out."""
    spots: list[Spot] = []
    names: set[str] = set()
    for i, (path, raw) in enumerate(faults.tables(("spots",))):
        table = faults.read(SpotTable, raw, path)
        if table is None:
            continue
        name = table.name or f"spot-{i + 1}"
        if name in names:
            faults.add(path, f"the name '{name}' is given twice", "give each spot its own name")
        names.add(name)
        if not table.takes:
            faults.add((*path, "takes"), "the spot takes no station", 'write takes = ["lathe"]')
        words = _known(
            table.takes, book.groups, book, (*path, "takes"), faults, one="station", many="stations"
        )
        takes = tuple(dict.fromkeys(member for word in words for member in book.groups[word]))
        spots.append(Spot(name, Placement(table.at[0], table.at[1], table.facing), takes))
    return tuple(spots)


def build_prefer(book: Book, faults: Faults) -> tuple[Prefer, ...]:
    """The wishes; one for each member where a wish names a group of alike stations."""
    wishes: list[Prefer] = []
    for path, raw in faults.tables(("prefer",)):
        table = faults.read(PreferTable, raw, path)
        if table is None:
            continue
        if (table.near is None) == (table.apart_from is None):
            faults.add(path, "a wish says either near or apart_from", "give one of the two")
            continue
        if (table.apart_from is None) != (table.by is None):
            what = "apart_from needs by" if table.by is None else "by belongs to apart_from"
            faults.add(path, what, "give by = 3.0 with apart_from" if table.by is None else "leave out by")
            continue
        stations = _prefer_stations(table.station, (*path, "station"), book, faults)
        if table.near is not None:
            _check_near(table.near, (*path, "near"), book, faults)
            wishes += [Prefer(s, table.weight, near=table.near) for s in stations]
        else:
            others = _prefer_stations(str(table.apart_from), (*path, "apart_from"), book, faults, places=True)
            if set(stations) & set(others) and stations and len(set(stations) | set(others)) == 1:
                faults.add((*path, "apart_from"), "a station cannot stand apart from itself", "name another")
            pairs = dict.fromkeys((s, o) for s in stations for o in others if s != o)
            by = table.by or 0.0
            wishes += [Prefer(s, table.weight, apart_from=o, by=by) for s, o in pairs]
    return tuple(wishes)


def _prefer_stations(
    word: str, path: KeyPath, book: Book, faults: Faults, *, places: bool = False
) -> tuple[str, ...]:
    if word in book.groups:
        return book.groups[word]
    if places and (word in KIND_WORDS or alike(word, book.places)):
        return (word,)
    if not book.is_broken(word):
        unknown(word, book.station_words, path, faults, one="station", many="stations")
    return ()


def _check_near(word: str, path: KeyPath, book: Book, faults: Faults) -> None:
    if word in KIND_WORDS:
        names = book.windows if word == "window" else book.door_names
        if not names:
            faults.add(path, f"the room has no {word}", f"add one under [[room.{word}s]]")
        return
    if word not in book.groups and not alike(word, book.places) and not book.is_broken(word):
        known = (*book.station_words, *book.places, *KIND_WORDS)
        what = "station, fixture, window or door"
        unknown(word, known, path, faults, one=what, many="known")


def build_checks(faults: Faults) -> Mapping[str, CheckSetting]:
    """Figures in metres, and severities, that the file changes, by the check's id."""
    settings: dict[str, CheckSetting] = {}
    for name, raw in faults.table(("checks",)).items():
        path: KeyPath = ("checks", name)
        if name == ACCEPTED:
            continue
        if name not in RULE_IDS:
            faults.add(path, "unknown check", hint(name, RULE_IDS, "checks"))
            continue
        entry = _check_entry(raw, path, faults)
        if entry is None:
            continue
        if entry.figure is not None and name not in RULES_WITH_FIGURE:
            mend = 'write { severity = "should" } or "must"; footwork check --rules shows which have one'
            faults.add(path, "this check has no figure of its own", mend)
            continue
        price = None if entry.price is None else entry.price / walking_unit(faults.units)[1]
        settings[name] = CheckSetting(entry.figure, cast(Any, entry.severity), price)
    for name, why in _accepted(settings, faults).items():
        settings[name] = replace(settings.get(name, CheckSetting()), accepted=why)
    return settings


def _accepted(settings: Mapping[str, CheckSetting], faults: Faults) -> Mapping[str, str]:
    """Why checks are not asked, by their id."""
    found = {}
    for name, why in faults.table(("checks", ACCEPTED)).items():
        path: KeyPath = ("checks", ACCEPTED, name)
        if name not in RULE_IDS:
            faults.add(path, "unknown check", hint(name, RULE_IDS, "checks"))
        elif not isinstance(why, str) or not why.strip():
            faults.add(path, "it does not say why", 'write the reason in quotes: "fire watch kept"')
        elif wrong := text_fault(why):
            faults.add(path, wrong, "write the reason in plain letters")
        elif severity(name, settings) == "must":
            what = "a must cannot be accepted"
            faults.add(path, what, f'let {name} be severity = "should", or leave this out')
        else:
            found[name] = why
    return found


def severity(name: str, settings: Mapping[str, CheckSetting]) -> str:
    """Whether a check is a must in this file."""
    own = settings[name].severity if name in settings else None
    return own or ("must" if name in SEVERE else "should")


def _check_entry(raw: Any, path: KeyPath, faults: Faults) -> Any:
    if isinstance(raw, dict):
        return faults.read(CheckTable, raw, path)
    return faults.read(CheckTable, {"figure": raw}, path)


def build_layouts(book: Book, room: Room | None, faults: Faults) -> tuple[Layout, ...]:
    """Every layout, with a placement for each station and vehicle, fixed ones included."""
    layouts = []
    for name in faults.table(("layouts",)):
        placements = _layout(name, book, room, faults)
        if placements is not None:
            layouts.append(Layout(name, placements))
    return tuple(layouts)


def _layout(name: str, book: Book, room: Room | None, faults: Faults) -> Mapping[str, Placement] | None:
    path: KeyPath = ("layouts", name)
    raw = faults.table(path)
    if not isinstance(faults.table(("layouts",))[name], dict):
        return None
    things: dict[str, Station | Vehicle] = {**book.stations, **book.vehicles}
    placed: dict[str, Placement] = {}
    meant: set[str] = set()
    for word, value in raw.items():
        here = (*path, word)
        if word not in things and not book.is_broken(word):
            meant |= _misnamed(word, list(things), book, here, faults)
            continue
        table = faults.read(PlacementTable, value, here)
        if word in things and table is not None:
            placed[word] = place(table, things[word].outline, room, here, faults)
    for station in book.stations.values():
        if station.fixed is None:
            continue
        if placed.setdefault(station.name, station.fixed) != station.fixed:
            what = f"'{station.name}' is fixed elsewhere, by stations.{station.group}.fixed"
            faults.add((*path, station.name), what, "leave it out here")
    missing = [t for t in things if t not in raw and t not in placed and t not in meant]
    if missing:
        kind = "has no place" if len(missing) == 1 else "have no place"
        some = ", ".join(missing[:8]) + (f" and {len(missing) - 8} more" if len(missing) > 8 else "")
        faults.add(path, f"{some} {kind}", f'add {missing[0]} = {{ at = [x, y], facing = "south" }}')
    return {t: placed[t] for t in things if t in placed} if all(t in placed for t in things) else None


def _misnamed(word: str, things: list[str], book: Book, path: KeyPath, faults: Faults) -> set[str]:
    """Note a name in a layout that nothing has; gives the names that were meant, as far as can be told."""
    members = book.groups.get(word, ())
    if len(members) > 1:
        faults.add(
            path, f"'{word}' is {len(members)} alike stations", f"place {', '.join(members)} one by one"
        )
        return set(members)
    unknown(word, things, path, faults, one="station or vehicle", many="stations and vehicles")
    return {nearest(word, things) or ""}
