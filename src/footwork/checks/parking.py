"""What is parked: a thing on castors takes floor where it waits, apart from where it is used."""

from __future__ import annotations

from collections.abc import Iterator

from footwork.checks.case import Case
from footwork.checks.doors import (
    KEEP_CLEAR,
    OPEN_LEAF,
    PANEL_SPACE,
    keep_clear_alone,
    open_leaf_alone,
    panel_space_alone,
)
from footwork.checks.fittings import (
    EXTINGUISHER_CLEAR,
    HEATER_CLEAR,
    extinguisher_clear_alone,
    heater_clear_alone,
)
from footwork.checks.ground import Body, Fault, Ground, Placed, Thing, overlap_fault
from footwork.checks.openings import kept_open
from footwork.checks.result import CheckResult
from footwork.checks.rule import COMMON_PRACTICE, Rule
from footwork.floor.headroom import share_floor
from footwork.model.scenario import Station

PARKED = Rule(
    "parked",
    "where a thing is parked it stands in the room, clear of everything else, of doors and of what has to "
    "stay clear",
    "must",
    COMMON_PRACTICE,
)


def parked(ground: Ground) -> tuple[tuple[Station, Body], ...]:
    """Stations that are parked, each with its footprint there; kept with the ground."""
    if "parked" not in ground.kept:
        ground.kept["parked"] = tuple(
            (station, Body(f"{station.name}, parked", Placed(station, station.parked).body.pieces))
            for station in ground.scenario.stations
            if station.parked is not None
        )
    known: tuple[tuple[Station, Body], ...] = ground.kept["parked"]
    return known


def parked_against(ground: Ground, thing: Thing) -> Iterator[tuple[Station, Body]]:
    """What is parked that a thing may not stand on: all but itself, and what has its place below it."""
    for station, body in parked(ground):
        if station.name != thing.name and not share_floor(station, thing):
            yield station, body


def parked_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    for station, body in parked_against(ground, placed.thing):
        if placed.body.meets(body):
            yield overlap_fault(station.name, placed, body)


def parked_building(ground: Ground) -> Iterator[Fault]:
    """Parked where the building has no room for it, or on each other: no layout mends that."""
    things = parked(ground)
    for number, (station, body) in enumerate(things):
        others = [other for _, other in things[:number]]
        doors = [floor for _, _, floor in kept_open(ground)]
        for other in (ground.around_all, *ground.segments, *ground.fixtures, *ground.swings, *doors, *others):
            if body.meets(other):
                yield Fault(station.name, other.name, 0.0, body.depth(other))
        yield from _kept_free(ground, station)


KEPT_FREE = (
    (KEEP_CLEAR, keep_clear_alone),
    (PANEL_SPACE, panel_space_alone),
    (OPEN_LEAF, open_leaf_alone),
    (EXTINGUISHER_CLEAR, extinguisher_clear_alone),
    (HEATER_CLEAR, heater_clear_alone),
)
"""What the building keeps free: a thing that waits there is in the way as one that is used there."""
NOT_HERE = "not here"


def _kept_free(ground: Ground, station: Station) -> Iterator[Fault]:
    assert station.parked is not None
    here = Placed(station, station.parked)
    for rule, alone in KEPT_FREE:
        if ground.under(rule).severity == "must":
            for fault in alone(ground, here):
                part = fault.other if fault.subject == station.name else fault.subject
                yield Fault(station.name, part, fault.required, fault.actual, note=NOT_HERE)


def parked_clear(case: Case) -> Iterator[CheckResult]:
    faults = {name: list(found) for name, found in case.gather(parked_alone).items()}
    for fault in parked_building(case.ground):
        faults.setdefault(fault.subject, []).append(fault)

    def bad(fault: Fault) -> str:
        if fault.note == NOT_HERE:
            return f"{fault.subject} is parked where {fault.other} has to stay clear: park it elsewhere"
        what = f"{fault.other} is {case.say(fault.actual)} in the place where {fault.subject} is parked"
        return f"{what}: {case.mend(fault)}" if fault.clashes else f"{what}: park {fault.subject} elsewhere"

    names = [station.name for station, _ in parked(case.ground)]
    yield from case.results(names, faults, bad, lambda s: f"there is room to park {s}")
