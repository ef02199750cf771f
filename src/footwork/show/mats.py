"""Where a mat to stand on pays.

Occupational-health guidance counts standing as prolonged when it is over an hour without moving, or over
four hours a day.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from footwork.scoring import Standing

STRETCH_MINUTES = 60.0
HOURS_A_DAY = 4.0
WORKING_DAYS = 260.0
"""Five days in each of 52 weeks: hours a year are spread over these."""


def mat_reason(place: Standing) -> str:
    """Why a mat pays at a standing place, or an empty string."""
    if place.stretch_minutes > STRETCH_MINUTES:
        return "a mat pays: over 1 h at a stretch"
    if place.hours_per_year / WORKING_DAYS > HOURS_A_DAY:
        return "a mat pays: over 4 h a working day"
    return ""


def by_side(places: Iterable[Standing]) -> tuple[Standing, ...]:
    """The standing along one side of a station joined, most hours first; ``at`` is of its first place."""
    joined: dict[tuple[str, str | None], Standing] = {}
    for place in places:
        key = (place.station, place.side)
        known = joined.get(key)
        joined[key] = (
            place
            if known is None
            else replace(
                known,
                hours_per_year=known.hours_per_year + place.hours_per_year,
                stretch_minutes=max(known.stretch_minutes, place.stretch_minutes),
            )
        )
    return tuple(sorted(joined.values(), key=lambda place: -place.hours_per_year))
