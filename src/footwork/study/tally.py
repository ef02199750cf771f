"""From a sheet of visits to jobs with frequencies, and how sure they are."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Container, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import chain, count, pairwise
from pathlib import Path
from typing import Any

from footwork.model.cells import APOSTROPHE, text_cell
from footwork.model.errors import UsageError
from footwork.model.limits import LONGEST_NAME
from footwork.model.names import name_fault
from footwork.model.read import loads
from footwork.model.recount import Recount, recounted
from footwork.model.scenario import Job, Scenario, Visit
from footwork.model.showing import Shown
from footwork.model.telling import shortened
from footwork.model.units import PER_YEAR, times_words
from footwork.study.poisson import interval
from footwork.study.visits import COLUMNS, Seen, Sheet, read_sheet

PAUSE = 4.0
"""Hours without a visit after which the next one begins anew: nobody walks from last night's to this."""
FEW_WEEKS = 2.0
"""Below so many weeks a sheet hardly tells a usual week from an odd one."""
Route = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Rate:
    """How often something was seen, and so many times a year that is; ``low`` to ``high`` is the exact
    interval of a Poisson count."""

    count: int
    per_year: float
    low: float
    high: float

    def to_dict(self) -> dict[str, Any]:
        return {"count": self.count, "per_year": self.per_year, "low": self.low, "high": self.high}


@dataclass(frozen=True, slots=True)
class Counted:
    """A job of the sheet.  ``route`` is the file's, or the commonest way it was done; ``otherwise`` how many
    times it was done in another way; ``known``: the file has it."""

    name: str
    route: Route
    rate: Rate
    otherwise: int
    known: bool


@dataclass(frozen=True)
class Tally(Shown):
    """What a sheet of visits says.

    ``weeks`` is how long it was kept, ``chart`` the from-to chart, greatest first; ``text`` the scenario's
    file with the frequencies and ranges in it, and ``scenario`` what that says.  ``unseen`` are jobs of the
    file that are not in the sheet: they stay as they are.
    """

    weeks: float
    level: float
    rows: int
    jobs: tuple[Counted, ...]
    chart: tuple[tuple[str, str, Rate], ...]
    unseen: tuple[str, ...]
    notes: tuple[str, ...]
    scenario: Scenario
    text: str

    def to_dict(self) -> dict[str, Any]:
        """The JSON of the command ``tally``; times a year."""
        return {
            "study": "tally",
            "weeks": self.weeks,
            "level": self.level,
            "rows": self.rows,
            "jobs": [
                {
                    "name": job.name,
                    "route": list(job.route),
                    "known": job.known,
                    "otherwise": job.otherwise,
                    **job.rate.to_dict(),
                }
                for job in self.jobs
            ],
            "chart": [{"from": a, "to": b, **rate.to_dict()} for a, b, rate in self.chart],
            "unseen": list(self.unseen),
            "notes": list(self.notes),
        }


def tally(
    scenario: Scenario,
    sheet: Path | str,
    *,
    weeks: float | None = None,
    pause: float = PAUSE,
    level: float = 0.95,
) -> Tally:
    """Count the visits in a CSV file: jobs with their frequencies, and a from-to chart.

    weeks   how long the sheet was kept; by default from its first day to its last, both counted, and needed
            where it has an order instead of times
    pause   hours without a visit after which the next begins anew
    level   of the exact Poisson intervals that go into ``times_range``

    Rows of one job that follow each other are one time that it was done; it begins anew where the job
    changes, after a pause, and where the route that the file has for it is through.  Rows without a job count
    as walks from one place to the next, each a job of its own.  A job's ``weeks`` in the file stay: it is
    counted as seen in these.

    Raises UsageError for a sheet that cannot be read, with every place that is not known and the nearest.
    """
    _check(weeks, pause, level)
    found = read_sheet(Path(sheet), scenario)
    kept = _weeks(found, weeks)
    known = {job.name: _words(job) for job in scenario.jobs}
    rounds = list(_rounds(found, known, timedelta(hours=pause)))
    rate = _rates(kept, level)
    ways = _ways(rounds)
    jobs = tuple(_counted(name, routes, known, rate) for name, routes in ways.items())
    jobs = tuple(sorted((job for job in jobs if job.route), key=lambda job: -job.rate.count))
    chart = Counter(leg for _, route in rounds for leg in pairwise(route))
    path = scenario.path
    text = recounted(scenario.text, [_recount(job, scenario) for job in jobs], path)
    return Tally(
        kept,
        level,
        found.rows,
        jobs,
        tuple((a, b, rate(count)) for (a, b), count in sorted(chart.items(), key=lambda x: (-x[1], x[0]))),
        tuple(name for name in known if name not in ways),
        tuple(_notes(jobs, ways, known, kept, weeks)),
        loads(text, path),
        text,
    )


def _check(weeks: float | None, pause: float, level: float) -> None:
    if weeks is not None and not (weeks > 0 and math.isfinite(weeks)):
        raise UsageError(f"weeks must be greater than 0, not {weeks:g}")
    if not (pause > 0 and math.isfinite(pause)):
        raise UsageError(f"pause must be greater than 0 hours, not {pause:g}")
    if not 0 < level < 1:
        raise UsageError(f"level must be between 0 and 1, not {level:g}")


def _weeks(sheet: Sheet, weeks: float | None) -> float:
    if weeks is not None:
        return weeks
    if not sheet.timed:
        raise UsageError("the sheet has no times: say for how many weeks it was kept")
    return sheet.days / 7


def _words(job: Job) -> Route:
    return tuple(_word(visit) for visit in job.route)


def _word(visit: Visit) -> str:
    return f"{visit.name}:{visit.side}" if visit.side else visit.name


def _base(word: str) -> str:
    """A place without the side: a sheet need not say at which side somebody stood."""
    return word if word.startswith("door:") else word.partition(":")[0]


def _rounds(sheet: Sheet, known: dict[str, Route], pause: timedelta) -> Iterator[tuple[str, Route]]:
    """Each time that a job was done and the way it took; "" for walks of no job."""
    route: list[str] = []
    before: Seen | None = None
    through = {name: tuple(map(_base, _once(words))) for name, words in known.items()}
    for visit in sheet.visits:
        if before is not None and _begins(before, visit, pause, route, through):
            yield before.job, tuple(route)
            route = []
        if not route or route[-1] != visit.place:
            route.append(visit.place)
        before = visit
    if before is not None:
        yield before.job, tuple(route)


def _begins(
    before: Seen, visit: Seen, pause: timedelta, route: Sequence[str], through: dict[str, Route]
) -> bool:
    """Whether a visit begins a round of its own."""
    if visit.job != before.job or visit.group != before.group or _between(before, visit) > pause:
        return True
    whole = through.get(visit.job)
    return whole is not None and len(route) == len(whole) and tuple(map(_base, route)) == whole


def _between(before: Seen, visit: Seen) -> timedelta:
    """The time between two visits; none where only their order is known."""
    if isinstance(visit.when, datetime) and isinstance(before.when, datetime):
        return visit.when - before.when
    return timedelta()


def _once(words: Iterable[str]) -> Route:
    """Without a place that follows itself."""
    found: list[str] = []
    for word in words:
        if not found or _base(found[-1]) != _base(word):
            found.append(word)
    return tuple(found)


def _ways(rounds: Iterable[tuple[str, Route]]) -> dict[str, Counter[Route]]:
    """Of each job the ways it was done; walks of no job are jobs of two stops."""
    found: dict[str, Counter[Route]] = defaultdict(Counter)
    walks: Counter[Route] = Counter()
    for job, route in rounds:
        if job:
            found[job][route] += 1
        else:
            for a, b in pairwise(route):
                walks[a, b] += 1
    for (a, b), times in walks.items():
        found[_walk_name(a, b, found)][a, b] += times
    return found


def _walk_name(a: str, b: str, taken: Container[str]) -> str:
    """A name for a walk that belongs to no job; where it has to be shortened, one of its own."""
    name = " to ".join(word.removeprefix("door:").replace(":", " ") for word in (a, b))
    if len(name) <= LONGEST_NAME:
        return name
    ends = chain([""], (f" {number}" for number in count(2)))
    names = (f"{shortened(name, LONGEST_NAME - len(end))}{end}" for end in ends)
    return next(each for each in names if each not in taken)


def _rates(weeks: float, level: float) -> Callable[[int], Rate]:
    made: dict[int, Rate] = {}
    scale = PER_YEAR["week"] / weeks

    def rate(count: int) -> Rate:
        if count not in made:
            low, high = interval(count, level)
            made[count] = Rate(count, count * scale, low * scale, high * scale)
        return made[count]

    return rate


def _counted(
    name: str, routes: Counter[Route], known: dict[str, Route], rate: Callable[[int], Rate]
) -> Counted:
    count = routes.total()
    if name in known:
        own = tuple(map(_base, _once(known[name])))
        as_told = sum(n for route, n in routes.items() if tuple(map(_base, route)) == own)
        return Counted(name, known[name], rate(count), count - as_told, True)
    walked = [(n, route) for route, n in routes.items() if len(route) > 1]
    if not walked:
        return Counted(name, (), rate(count), 0, False)
    most, route = max(walked)
    return Counted(name, route, rate(count), count - most, False)


def _recount(job: Counted, scenario: Scenario) -> Recount:
    if not job.known and (fault := name_fault(job.name)):
        raise UsageError(f"job {job.name!r}: {fault}")
    low, high = times_words(job.rate.low), times_words(job.rate.high)
    return Recount(job.name, times_words(job.rate.per_year), (low, high), None if job.known else job.route)


def _notes(
    jobs: Sequence[Counted],
    ways: dict[str, Counter[Route]],
    known: dict[str, Route],
    kept: float,
    weeks: float | None,
) -> Iterator[str]:
    if kept < FEW_WEEKS:
        yield (
            f"{kept:.1f} weeks are little to tell a usual week by: the intervals know of chance alone, "
            "not of an odd week"
        )
    if weeks is None:
        yield f"kept for {kept:.1f} weeks, from the first row to the last; say so if it was longer"
    for job in jobs:
        if job.otherwise:
            own = tuple(map(_base, _once(job.route)))
            others = [(n, way) for way, n in ways[job.name].items() if tuple(map(_base, way)) != own]
            told = f"most often {' - '.join(max(others)[1])}"
            told += "" if job.known else f"; taken as {' - '.join(job.route)}"
            yield f"{job.name}: {job.otherwise:,} of {job.rate.count:,} times another way, {told}"
    idle = [name for name in ways if name not in known and all(len(route) < 2 for route in ways[name])]
    if idle:
        yield f"left out, for nobody walked: {', '.join(idle)}"


def tick_sheet(scenario: Scenario, rows: int = 40) -> str:
    """An empty sheet as CSV: a row for each visit or job done, a column for each place to tick."""
    import csv
    import io

    groups = tuple(dict.fromkeys(station.group for station in scenario.stations))
    used = {visit.name for job in scenario.jobs for visit in job.route}
    members = {station.name: station.group for station in scenario.stations}
    used |= {members[name] for name in used if name in members}
    doors = [f"door:{door.name}" for door in scenario.room.doors if f"door:{door.name}" in used]
    places = [*(g for g in groups if g in used), *(v.name for v in scenario.vehicles if v.name in used)]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    words = [*(places or groups), *doors]
    writer.writerow(["time", "job", *map(_head, words)])
    writer.writerows([""] * (2 + len(places or groups) + len(doors)) for _ in range(rows))
    return out.getvalue()


def _head(word: str) -> str:
    """A place as the head of a column; one that is called as a column of another kind is marked as text."""
    return f"{APOSTROPHE}{word}" if word.casefold() in COLUMNS else text_cell(word)
