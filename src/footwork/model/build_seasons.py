"""The seasons of a scenario, and what of jobs and vehicles belongs to some of them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from footwork.model.book import unknown
from footwork.model.faults import Faults
from footwork.model.lines import KeyPath
from footwork.model.names import name_fault
from footwork.model.scenario import Season
from footwork.model.units import parse_season, share_of_year

ROUNDED = 0.001 + 1e-9
"""By which the shares of the seasons may miss a year: 0.333 three times makes one up."""


def build_seasons(faults: Faults) -> tuple[Season, ...]:
    """The seasons in the order of the file; none where they make up no year, which is then noted."""
    found = []
    raw = faults.table(("seasons",))
    for name, value in raw.items():
        try:
            found.append(Season(name, parse_season(value)))
        except ValueError as fault:
            what, _, mend = str(fault).partition("; ")
            faults.add(("seasons", name), what, mend)
    if not found or len(found) < len(raw):
        return ()
    whole = math.fsum(season.share for season in found)
    if abs(whole - 1.0) > ROUNDED:
        last = found[-1].share + 1.0 - whole
        mend = f"let them make 1: {found[-1].name} = {last:.4g} would do" if last > 0 else "let them make 1"
        faults.add(("seasons",), f"together they are {whole:.4g} of the year, not all of it", mend)
        return ()
    return tuple(Season(season.name, season.share / whole) for season in found)


def part_of_year(
    names: Sequence[str], weeks: float | None, seasons: Sequence[Season], path: KeyPath, faults: Faults
) -> float:
    """The part of the year in which a job is done as often as its times say: its weeks, else its seasons."""
    places: list[KeyPath] = [("season", k) for k in range(len(names))] if len(names) > 1 else [("season",)]
    _check_known(names, places[: len(names)], path, faults)
    known = [season.share for season in seasons if season.name in names]
    lasts = math.fsum(known) if 0 < len(known) < len(seasons) else 1.0
    part = share_of_year(weeks) if weeks is not None else lasts
    if part > lasts + ROUNDED:
        held = " and ".join(names)
        most = math.floor(lasts / share_of_year(1.0) * 10) / 10
        faults.add((*path, "weeks"), f"{held} has fewer weeks", f"give {most:g} at most, or leave out weeks")
    return part


def inside_by_season(
    inside: float | tuple[tuple[str, float], ...], seasons: Sequence[Season], path: KeyPath, faults: Faults
) -> tuple[float, tuple[tuple[str, float], ...]]:
    """The share of the year in which a vehicle is in, and its share in each season; none where it is told for
    the year.  In a season that is not named it is out."""
    if isinstance(inside, float | int):
        return float(inside), ()
    names = [name for name, _ in inside]
    _check_known(names, [("inside", name) for name in names], path, faults)
    told = dict(inside)
    shares = tuple((season.name, told.get(season.name, 0.0)) for season in seasons)
    return math.fsum(season.share * told.get(season.name, 0.0) for season in seasons), shares


def _check_known(names: Sequence[str], places: Sequence[KeyPath], path: KeyPath, faults: Faults) -> None:
    """Note each name that is no season of the file."""
    known = faults.table(("seasons",))
    for name, place in zip(names, places, strict=True):
        if name in known:
            continue
        if known or name_fault(name):
            unknown(name, known, (*path, *place), faults, one="season", many="seasons")
        else:
            mend = f"write [seasons], and under it {name} = 0.4 and the rest of the year"
            faults.add((*path, *place), "the file has no seasons", mend)
