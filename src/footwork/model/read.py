"""Reading a scenario file: everything that is wrong with it in one go, or the scenario."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from footwork.model.book import check_names, make_book
from footwork.model.build_room import build_room
from footwork.model.build_seasons import build_seasons
from footwork.model.build_things import build_stations, build_vehicles, build_walker, check_within
from footwork.model.build_work import build_checks, build_jobs, build_layouts, build_prefer, build_spots
from footwork.model.errors import Problem, ScenarioError
from footwork.model.faults import Faults, TooManyFaults
from footwork.model.limits import LONGEST_TEXT, MOST_BYTES, MOST_PROBLEMS
from footwork.model.lines import key_lines
from footwork.model.scenario import Scenario
from footwork.model.schema import TOP_TABLES, HeadTable
from footwork.model.sizes import check_places, check_sizes
from footwork.model.slips import in_toml
from footwork.model.telling import shortened, spelt
from footwork.model.units import UNITS


def load(path: str | Path) -> Scenario:
    """Read the scenario file at ``path``.

    Lengths of the result are metres, bearings degrees clockwise from north.  Raises ScenarioError
    with every problem of the file, or with the one reason why it cannot be opened.
    """
    return loads(read_text(path), Path(path))


def loads(text: str, path: Path | None = None, *, unfinished: bool = False) -> Scenario:
    """Read a scenario from TOML text; ``path`` is where it came from, for messages and saving.

    An ``unfinished`` one may have no stations yet.  Raises ScenarioError with every problem at once.
    """
    where = str(path) if path is not None else ""
    try:
        size = len(text.encode())
    except UnicodeEncodeError:
        raise ScenarioError((Problem("", "it is not UTF-8 text", "save it as UTF-8"),), where) from None
    if size > MOST_BYTES:
        raise ScenarioError((_too_large(),), where)
    try:
        raw = tomllib.loads(text.replace("\r\n", "\n"))
    except RecursionError:
        raise ScenarioError(
            (Problem("", "brackets are nested too deeply", "write it flatter"),), where
        ) from None
    except ValueError as error:
        raise ScenarioError((_syntax_problem(str(error), text),), where) from None
    faults = Faults(raw, key_lines(text))
    try:
        scenario = _build(raw, faults, path, text, unfinished)
    except TooManyFaults:
        rest = Problem("", f"more than {MOST_PROBLEMS} things are wrong", "mend these first")
        raise ScenarioError((*faults.problems, rest), where) from None
    except RecursionError:
        raise ScenarioError(
            (Problem("", "repeats are nested too deeply", "write it flatter"),), where
        ) from None
    if faults.problems or scenario is None:
        raise ScenarioError(faults.problems, where)
    return scenario


def read_text(path: str | Path) -> str:
    """The text of a file; ScenarioError, in one line, when it cannot be read."""
    try:
        with open(path, "rb") as file:
            data = file.read(MOST_BYTES + 1)
        if len(data) > MOST_BYTES:
            raise ScenarioError((_too_large(),), str(path))
        return data.decode("utf-8-sig")
    except FileNotFoundError:
        problem = Problem("", "there is no such file", "`footwork new` writes one to start from")
    except IsADirectoryError:
        problem = Problem("", "it is a folder", "name a scenario file in it")
    except PermissionError:
        problem = Problem("", "you have no permission to read it")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        problem = Problem("", "it is not UTF-8 text", "save it as UTF-8", line)
    except (OSError, ValueError) as error:
        problem = Problem("", f"it cannot be read: {getattr(error, 'strerror', None) or error}")
    raise ScenarioError((problem,), str(path))


def _too_large() -> Problem:
    return Problem("", "the file is too large for a scenario", f"it may have {MOST_BYTES:,} bytes")


def _build(
    raw: dict[str, Any], faults: Faults, path: Path | None, text: str, unfinished: bool
) -> Scenario | None:
    """The scenario, or None; ``faults`` then says why."""
    if not check_sizes(faults):
        return None
    faults.unknown_keys((), raw, ("name", "units", *TOP_TABLES))
    head = faults.read(HeadTable, {k: raw[k] for k in ("name", "units") if k in raw}, ())
    if raw.get("units") in UNITS:
        faults.units = raw["units"]
    elif "units" in raw:
        return None  # every length would be read in the wrong unit
    walker = build_walker(faults)
    room = build_room(faults)
    stations = build_stations(walker, room, faults)
    check_places(stations, faults)
    seasons = build_seasons(faults)
    vehicles = build_vehicles(room, seasons, faults)
    book = make_book(stations, vehicles, room, faults)
    check_names(book, faults)
    check_within(stations, book.places, faults)
    if not faults.table(("stations",)) and not unfinished:
        faults.add((), "there are no stations", 'add one: [stations.bench], like = "workbench"')
    jobs = build_jobs(book, seasons, faults)
    spots = build_spots(book, faults)
    prefer = build_prefer(book, faults)
    checks = build_checks(faults)
    layouts = build_layouts(book, room, faults)
    if faults.problems or room is None or head is None:
        return None
    name = head.name or (shortened(spelt(path.stem), LONGEST_TEXT) if path is not None else "workshop")
    return Scenario(
        name,
        room,
        stations,
        walker,
        vehicles,
        jobs,
        spots,
        prefer,
        checks,
        layouts,
        faults.units,
        path,
        text,
        seasons,
    )


_AT = re.compile(r"^(.*) \(at (?:line (\d+), column (\d+)|end of document)\)$", re.DOTALL)


def _syntax_problem(message: str, text: str) -> Problem:
    """A message of the TOML parser as a problem of the file."""
    found = _AT.match(message)
    what = " ".join((found[1] if found else message).split())
    line = int(found[2]) if found and found[2] else text.count("\n") + 1
    where = f"column {found[3]}" if found and found[3] else "end of file"
    what = what[0].lower() + what[1:]
    mend = "the file is TOML: key = value, text in quotes"
    if any(word in what for word in ("overwrite a value", "twice", "duplicate")):
        what, mend = f"{_given_twice(what, text, line)} is given twice", "keep one of the two"
    elif "integer string conversion" in what:
        what, mend, where = "a number has thousands of digits", "give one that a workshop has use for", ""
        digits = re.search(r"\d{4000}", text)
        line = text.count("\n", 0, digits.start() if digits else None) + 1
    elif slip := in_toml(text.split("\n"), line):
        what, mend = slip
    return Problem(where, what[:120], mend, line)


def _given_twice(what: str, text: str, line: int) -> str:
    """What the parser says is there already: a table by its name, a key by what its line begins with."""
    names = re.findall(r"'([^']*)'", what)
    if names:
        return f"[{'.'.join(names)}]" if "twice" in what else f"'{names[-1]}'"
    rows = text.splitlines()
    found = re.match(r"\s*([\w.\" -]{1,60}?)\s*=", rows[line - 1]) if line <= len(rows) else None
    return f"'{found[1]}'" if found else "a key"
