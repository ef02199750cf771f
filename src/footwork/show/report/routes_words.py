"""Routes in words: stations in order, what is repeated said once."""

from __future__ import annotations

from collections.abc import Sequence

from footwork.model.scenario import Job
from footwork.scoring import JobScore
from footwork.show.report.picture import walk_stops

_LONGEST = 12  # stops of a part that is told as repeated
_MOST = 40  # parts of a route that are told


def route_words(job: Job) -> str:
    """The route of a job: ``rack, saw, 4 times (drill, bench), bench``."""
    stops = [f"{visit.name} {visit.side}" if visit.side else visit.name for visit in job.route]
    parts = folded(stops)
    if len(parts) > _MOST:
        parts = [*parts[:_MOST], f"and {len(parts) - _MOST} more"]
    return ", ".join(parts)


def folded(stops: Sequence[str]) -> list[str]:
    """Stops in order, with parts that follow each other again and again folded into one."""
    parts: list[str] = []
    k = 0
    while k < len(stops):
        size, times = _repeat(stops, k)
        part = ", ".join(stops[k : k + size])
        parts.append(
            part if times == 1 else f"{times} times ({part})" if size > 1 else f"{times} times {part}"
        )
        k += size * times
    return parts


def _repeat(stops: Sequence[str], start: int) -> tuple[int, int]:
    """The size of the part at ``start`` and how often it comes: the one that covers most."""
    best = (1, 1)
    for size in range(1, min(_LONGEST, (len(stops) - start) // 2) + 1):
        part, times = stops[start : start + size], 1
        while stops[start + size * times : start + size * (times + 1)] == part:
            times += 1
        if times > 1 and size * times > best[0] * best[1]:
            best = (size, times)
    return best


def stops_words(job: JobScore) -> str:
    """The stops by their numbers on the plan."""
    return ", ".join(f"{k} {stop}" for k, stop in enumerate(walk_stops(job), start=1))
