"""Rows of a sheet of visits: when, where, and for which job.

Two kinds of sheet are read.  In one each row names a place.  In the other the columns are the places, and a
row has a tick under one of them, or 1, 2, 3 ... under several in the order they were gone to.  There rows are
taken in the order they stand in where no time is written.  A word may have an apostrophe before it, as cells
of text have that a spreadsheet would take for a formula (``model/cells.py``).
"""

from __future__ import annotations

import csv
import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path

from footwork.model.cells import words_of
from footwork.model.errors import UsageError
from footwork.model.names import hint
from footwork.model.scenario import Scenario
from footwork.model.units import shown

LINES_TOLD = 8
"""Faults of a sheet that are told one by one."""
MOST_BYTES = 200_000_000
"""Of a sheet: ten million rows."""
COLUMNS = ("time", "order", "job", "place")


@dataclass(frozen=True, slots=True)
class Seen:
    """One visit.  ``when`` is the time, or the number in the order of which only greater and less count;
    ``group`` the number of a row with several visits, 0 for those that have a row of their own."""

    when: datetime | float
    place: str
    job: str
    group: int


@dataclass(frozen=True, slots=True)
class Sheet:
    """Visits in order, and whether their times are known."""

    visits: tuple[Seen, ...]
    timed: bool
    rows: int

    @property
    def days(self) -> int:
        """Calendar days from the first visit to the last, both counted; 0 where times are not known."""
        if not self.timed or not self.visits:
            return 0
        first, last = self.visits[0].when, self.visits[-1].when
        assert isinstance(first, datetime)
        assert isinstance(last, datetime)
        return (last.date() - first.date()).days + 1


class Words:
    """The words for places that a sheet may use, in large or small letters, and the file's word for each.

    A door may be written without ``door:`` where nothing else is of its name.
    """

    def __init__(self, scenario: Scenario) -> None:
        doors = {door.name: f"door:{door.name}" for door in scenario.room.doors}
        things = {name: name for s in scenario.stations for name in (s.group, s.name)}
        things |= {vehicle.name: vehicle.name for vehicle in scenario.vehicles}
        sides = {
            f"{word}:{side}": f"{word}:{side}"
            for thing in scenario.things
            for word in (thing.name, getattr(thing, "group", thing.name))
            for side in thing.stand
        }
        self._exact = {**doors, **{word: word for word in doors.values()}, **sides, **things}
        folded = Counter(word.casefold() for word in self._exact)
        self._folded = {w.casefold(): means for w, means in self._exact.items() if folded[w.casefold()] == 1}

    def find(self, cell: str) -> str | None:
        """The file's word for what a cell says; None where it is no place."""
        for word in words_of(cell):
            found = self._exact.get(word) or self._folded.get(word.casefold())
            if found is not None:
                return found
        return None

    def all(self) -> list[str]:
        """Every word of the file for a place, once."""
        return list(dict.fromkeys(self._exact.values()))


def read_sheet(path: Path, scenario: Scenario) -> Sheet:
    """The visits of a CSV file in their order.

    Raises UsageError: the columns that are missing, rows that cannot be read, or every place that is not
    known, with the nearest that is.
    """
    words = Words(scenario)
    rows = _rows(path, words)
    if not rows:
        raise UsageError(f"{path}: the sheet is empty; its first row names the columns: time,place,job")
    head = [cell.strip() for cell in rows[0]]
    columns = _columns(head)
    if not any(_cell(row, columns.get("time")) for row in rows[1:]):
        columns.pop("time", None)  # a sheet to tick, on which nobody wrote the time
    reader = _Reader(path, scenario, words, columns, head)
    for number, row in enumerate(rows[1:], start=2):
        if any(cell.strip() for cell in row):
            reader.row(number, row)
    return reader.sheet()


def _columns(head: Sequence[str]) -> dict[str, int]:
    """The columns that are no places: the first of each name, should a place be called so too."""
    found: dict[str, int] = {}
    for k, name in enumerate(head):
        if name.casefold() in COLUMNS:
            found.setdefault(name.casefold(), k)
    return found


def _rows(path: Path, words: Words) -> list[list[str]]:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise UsageError(f"{path}: it has more than {MOST_BYTES:,} bytes; tally it in parts")
        text = path.read_text(encoding="utf-8-sig")
    except OSError as fault:
        raise UsageError(f"{path}: {fault.strerror or fault}") from None
    except UnicodeDecodeError:
        raise UsageError(f"{path}: it is not UTF-8 text; save it as CSV in UTF-8") from None
    try:
        return list(csv.reader(text.splitlines(), delimiter=_delimiter(text.partition("\n")[0], words)))
    except csv.Error as fault:
        raise UsageError(f"{path}: it is not CSV: {fault}") from None


def _delimiter(head: str, words: Words) -> str:
    """What parts the columns: with that most of them are known.  A name may hold a semicolon."""

    def known(delimiter: str) -> tuple[int, int]:
        cells = [cell.strip() for cell in next(csv.reader([head], delimiter=delimiter), [])]
        return sum(c.casefold() in COLUMNS or words.find(c) is not None for c in cells), len(cells)

    return max(",;\t", key=known)


def _cell(row: Sequence[str], k: int | None) -> str:
    return row[k].strip() if k is not None and k < len(row) else ""


class _Reader:
    """Reads rows; faults are gathered, so that all of them are told at once."""

    def __init__(
        self, path: Path, scenario: Scenario, words: Words, columns: Mapping[str, int], head: list[str]
    ) -> None:
        self.path, self.head, self.words = path, head, words
        self.jobs = {job.name for job in scenario.jobs}
        self.time, self.order, self.job, self.place = (columns.get(name) for name in COLUMNS)
        self.ticked: dict[int, str] = {}
        if self.place is None:
            taken = set(_columns(head).values())
            self.ticked = self._places_ticked([k for k, name in enumerate(head) if name and k not in taken])
        elif self.time is None and self.order is None:
            raise UsageError(
                f"{path}: no column says when: {self._has()}; add time, or order, and fill it in"
            )
        self.seen: list[Seen] = []
        self.faults: list[str] = []
        self.unknown: Counter[str] = Counter()
        self.first: dict[str, int] = {}
        self.rows = 0
        self.day: date | None = None

    def _has(self) -> str:
        shown_ = ", ".join(name for name in self.head if name)[:120]
        return f"it has {shown_}" if shown_ else "its first row is empty"

    def _places_ticked(self, others: Sequence[int]) -> dict[int, str]:
        """The place of each column that is one."""
        found = {k: self.words.find(self.head[k]) for k in others}
        if not any(found.values()):
            raise UsageError(
                f"{self.path}: no column says where: {self._has()}; add place, or a column for each place"
            )
        for k, place in found.items():
            if place is None:
                near = hint(self.head[k], self.words.all())
                raise UsageError(f"{self.path}: column {shown(self.head[k])} is no place; {near}")
        return {k: place for k, place in found.items() if place is not None}

    def row(self, number: int, row: Sequence[str]) -> None:
        """Take a row in; ``number`` is its line."""
        self.rows += 1

        def cell(k: int | None) -> str:
            return _cell(row, k)

        when = self._when(number, cell(self.time), cell(self.order))
        places = self._places(number, cell) if self.ticked else (self._place(number, cell(self.place)),)
        if when is None or not places:
            return
        group = number if len(places) > 1 else 0
        job = self._job(cell(self.job))
        self.seen += (Seen(when, place, job, group) for place in places if place)

    def _job(self, cell: str) -> str:
        """The file's name for a job, else as it was most likely meant."""
        words = words_of(cell)
        return next((word for word in words if word in self.jobs), words[0])

    def _when(self, number: int, clock: str, order: str) -> datetime | float | None:
        try:
            if self.time is not None:
                return self._time(clock)
            value = float(order) if self.order is not None else float(number)
            if math.isfinite(value):
                return value
        except ValueError:
            pass
        if self.time is not None:
            self._fault(number, f"{shown(clock)} is no time; write it as 2026-03-01 14:05")
        else:
            self._fault(number, f"{shown(order)} is no number in an order")
        return None

    def _time(self, clock: str) -> datetime:
        """A time of day alone is on the day of the row before."""
        if self.day is not None and len(clock) <= len("00:00:00"):
            return datetime.combine(self.day, time.fromisoformat(clock))
        found = datetime.fromisoformat(clock).replace(tzinfo=None)
        self.day = found.date()
        return found

    def _places(self, number: int, cell: Callable[[int], str]) -> tuple[str, ...]:
        marks = {k: cell(k) for k in self.ticked if cell(k)}
        if len(marks) == 1:
            return (self.ticked[next(iter(marks))],)
        if not marks:
            self._fault(number, "nothing is ticked")
            return ()
        steps = [(float(step), k) for k, mark in marks.items() for step in mark.split() if _is_number(step)]
        if len(steps) < sum(len(mark.split()) for mark in marks.values()):
            self._fault(number, "several places are ticked; write 1, 2, 3 ... in the order they were gone to")
            return ()
        return tuple(self.ticked[k] for _, k in sorted(steps))

    def _place(self, number: int, word: str) -> str:
        found = self.words.find(word)
        if found is None:
            self.unknown[word] += 1
            self.first.setdefault(word, number)
            return ""
        return found

    def _fault(self, number: int, what: str) -> None:
        self.faults.append(f"{self.path}: line {number}: {what}")

    def sheet(self) -> Sheet:
        """What was read, in order.  Raises UsageError with what could not be."""
        lines = self.faults[:LINES_TOLD]
        if len(self.faults) > LINES_TOLD:
            lines.append(f"{self.path}: and {len(self.faults) - LINES_TOLD:,} more lines like these")
        for word, count in self.unknown.most_common():
            if len(lines) >= 3 * LINES_TOLD:
                lines.append(f"{self.path}: and other places that are not known, {len(self.unknown)} in all")
                break
            times = "once" if count == 1 else f"{count:,} times"
            where = f"line {self.first[word]}" if count == 1 else f"first in line {self.first[word]}"
            near = hint(word, self.words.all(), "places") if word else "a row without a place"
            lines.append(f"{self.path}: no place {shown(word)} ({times}, {where}); {near}")
        if lines:
            raise UsageError(*lines)
        if not self.seen:
            raise UsageError(f"{self.path}: no row under its columns; each is a visit")
        self.seen.sort(key=lambda visit: visit.when)
        return Sheet(tuple(self.seen), self.time is not None, self.rows)


def _is_number(text: str) -> bool:
    try:
        return math.isfinite(float(text))
    except ValueError:
        return False
