"""All checks: which there are, and how a layout fares."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from footwork.checks import (
    beside,
    doors,
    fire,
    fittings,
    hazards,
    openings,
    parking,
    standing,
    strips,
    vehicles,
    walking,
    wheelchair,
)
from footwork.checks.case import Alone, Arranged, Case, Pair
from footwork.checks.ground import Fault, Ground, Placed
from footwork.checks.mending import Failed
from footwork.checks.result import CheckResult
from footwork.checks.rule import Rule
from footwork.floor.plan import Plan
from footwork.floor.routes import JobWalk, Walks
from footwork.model.scenario import CheckSetting, Station, Vehicle

Check = Callable[[Case], Iterator[CheckResult]]

CHECKS: tuple[tuple[Rule, Check], ...] = (
    (standing.WITHIN, standing.within),
    (standing.IN_ROOM, standing.in_room),
    (standing.NO_OVERLAP, standing.no_overlap),
    (strips.STRIPS_CLEAR, strips.strips_clear),
    (strips.SERVICE_CLEAR, strips.service_clear),
    (strips.STOCK_CLEAR, strips.stock_clear),
    (walking.REACHABLE, walking.reachable),
    (standing.PLACING, standing.placing),
    (doors.DOOR_SWING, doors.door_swing),
    (doors.KEEP_CLEAR, doors.keep_clear),
    (vehicles.DRIVE_IN, vehicles.drive_in),
    (vehicles.VEHICLE_AROUND, vehicles.vehicle_around),
    (doors.PANEL_SPACE, doors.panel_space),
    (walking.WAY_OUT, walking.way_out),
    (wheelchair.WHEELCHAIR, wheelchair.wheelchair),
    (hazards.SPARKS_FLAMMABLES, hazards.sparks_flammables),
    (hazards.SPRAY_SPARKS, hazards.spray_sparks),
    (hazards.GIVES_MINDS, hazards.gives_minds),
    (hazards.VEHICLE_SPARKS, hazards.vehicle_sparks),
    (hazards.OXYGEN_FUEL, hazards.oxygen_fuel),
    (hazards.IGNITION_HEIGHT, hazards.ignition_height),
    (fire.EXTINGUISHER, fire.extinguisher),
    (fire.EXTINGUISHER_FLAMMABLES, fire.extinguisher_flammables),
    (strips.STOCK_VEHICLE, strips.stock_vehicle),
    (doors.OPEN_LEAF, doors.open_leaf),
    (beside.DOOR_SHUT, beside.door_shut),
    (doors.DOOR_WAY, doors.door_way),
    (openings.OPENING_CLEAR, openings.opening_clear),
    (openings.VEHICLE_OPENING, openings.vehicle_opening),
    (openings.WINDOW_SILL, openings.window_sill),
    (walking.EXIT_WAY, walking.exit_way),
    (fittings.EXTINGUISHER_CLEAR, fittings.extinguisher_clear),
    (fittings.HEATER_CLEAR, fittings.heater_clear),
    (fittings.LEAD_REACH, fittings.lead_reach),
    (fittings.TAP_REACH, fittings.tap_reach),
    (fittings.LEAD_ACROSS, fittings.lead_across),
    (beside.VEHICLE_MARGIN, beside.vehicle_margin),
    (beside.DRIVER_DOOR, beside.driver_door),
    (parking.PARKED, parking.parked_clear),
)
"""Every check with its rule, in the order they are listed to the user."""

RULES: tuple[Rule, ...] = tuple(rule for rule, _ in CHECKS)

BY_PLACE: Mapping[str, tuple[Callable[[Ground, Station | Vehicle], bool], Alone]] = {
    beside.DOOR_SHUT.id: (lambda _, thing: isinstance(thing, Vehicle), beside.door_shut_alone),
    hazards.IGNITION_HEIGHT.id: (
        lambda _, thing: isinstance(thing, Station) and thing.ignition_height is not None,
        hazards.ignition_height_alone,
    ),
    openings.WINDOW_SILL.id: (lambda ground, _: bool(openings.sills(ground)), openings.window_sill_alone),
    fittings.LEAD_REACH.id: (
        lambda ground, thing: "socket" in fittings.needed(ground, thing),
        fittings.lead_reach_alone,
    ),
    fittings.TAP_REACH.id: (
        lambda ground, thing: "tap" in fittings.needed(ground, thing),
        fittings.tap_reach_alone,
    ),
}
"""Should-checks that are sums over the places of single things: whom each is about, and its faults."""

ALONE: tuple[tuple[Rule, Alone], ...] = (
    (standing.IN_ROOM, standing.in_room_alone),
    (standing.NO_OVERLAP, standing.no_overlap_alone),
    (standing.PLACING, standing.placing_alone),
    (doors.DOOR_SWING, doors.door_swing_alone),
    (doors.KEEP_CLEAR, doors.keep_clear_alone),
    (doors.PANEL_SPACE, doors.panel_space_alone),
    (strips.STRIPS_CLEAR, strips.strips_clear_alone),
    (strips.SERVICE_CLEAR, strips.service_clear_alone),
    (strips.STOCK_CLEAR, strips.stock_clear_alone),
    (standing.WITHIN, standing.within_alone),
    (vehicles.DRIVE_IN, vehicles.drive_in_alone),
    (vehicles.VEHICLE_AROUND, vehicles.vehicle_around_alone),
    (wheelchair.WHEELCHAIR, wheelchair.wheelchair_alone),
    (doors.OPEN_LEAF, doors.open_leaf_alone),
    (beside.DOOR_SHUT, beside.door_shut_alone),
    (doors.DOOR_WAY, doors.door_way_alone),
    (hazards.IGNITION_HEIGHT, hazards.ignition_height_alone),
    (openings.OPENING_CLEAR, openings.opening_clear_alone),
    (openings.VEHICLE_OPENING, openings.vehicle_opening_alone),
    (openings.WINDOW_SILL, openings.window_sill_alone),
    (fittings.EXTINGUISHER_CLEAR, fittings.extinguisher_clear_alone),
    (fittings.HEATER_CLEAR, fittings.heater_clear_alone),
    (fittings.LEAD_REACH, fittings.lead_reach_alone),
    (fittings.TAP_REACH, fittings.tap_reach_alone),
    (beside.VEHICLE_MARGIN, beside.vehicle_margin_alone),
    (beside.DRIVER_DOOR, beside.driver_door_alone),
    (parking.PARKED, parking.parked_alone),
)
"""What the building alone says of one thing at one placement; the cheap and frequent refusals first."""

PAIRS: tuple[tuple[Rule, Pair], ...] = (
    (standing.NO_OVERLAP, standing.no_overlap_pair),
    (strips.STRIPS_CLEAR, strips.strips_clear_pair),
    (strips.SERVICE_CLEAR, strips.service_clear_pair),
    (strips.STOCK_CLEAR, strips.stock_clear_pair),
    (vehicles.DRIVE_IN, vehicles.drive_in_pair),
    (vehicles.VEHICLE_AROUND, vehicles.vehicle_around_pair),
    (doors.PANEL_SPACE, doors.panel_space_pair),
    (wheelchair.WHEELCHAIR, wheelchair.wheelchair_pair),
    (hazards.SPARKS_FLAMMABLES, hazards.sparks_flammables_pair),
    (hazards.SPRAY_SPARKS, hazards.spray_sparks_pair),
    (hazards.GIVES_MINDS, hazards.gives_minds_pair),
    (hazards.VEHICLE_SPARKS, hazards.vehicle_sparks_pair),
    (hazards.OXYGEN_FUEL, hazards.oxygen_fuel_pair),
    (strips.STOCK_VEHICLE, strips.stock_vehicle_pair),
    (beside.VEHICLE_MARGIN, beside.vehicle_margin_pair),
    (beside.DRIVER_DOOR, beside.driver_door_pair),
)
"""What two things say of each other."""

BY_TOUCH = frozenset(
    rule.id for rule in (standing.NO_OVERLAP, strips.STRIPS_CLEAR, strips.SERVICE_CLEAR, strips.STOCK_CLEAR)
)
"""Of these, what has nothing to say unless footprints or claims meet."""

BY_VEHICLE = frozenset(
    rule.id
    for rule in (
        *(vehicles.DRIVE_IN, vehicles.VEHICLE_AROUND, hazards.VEHICLE_SPARKS, strips.STOCK_VEHICLE),
        *(beside.VEHICLE_MARGIN, beside.DRIVER_DOOR),
    )
)
"""What has nothing to say of two stations."""


def run(plan: Plan, walks: Sequence[JobWalk]) -> tuple[CheckResult, ...]:
    """Every check on one layout: failed ones first, and `must` before `should`; otherwise in order.

    ``walks`` are the walks of the scenario's jobs on the same plan.
    """
    arranged = Arranged(plan, tuple(walks), musts, failing=failing)
    found = [
        result for rule, check in CHECKS for result in check(Case(arranged, rule.under(plan.scenario.checks)))
    ]
    return tuple(sorted(found, key=lambda r: (r.ok, r.severity != "must")))


def failing(plan: Plan) -> Iterator[tuple[tuple[str, str], float]]:
    """Must-checks that a layout fails, (check, subject), and how much is missing each time; wordless, lazy.

    Of what cannot be walked that is how many legs.
    """
    walks = Walks(plan)
    jobs = tuple(walks.job(job) for job in plan.scenario.jobs)
    arranged = Arranged(plan, jobs, musts, silent=True)
    for walk in jobs:
        blocked = sum(state.blocked for state in walk.states)
        if blocked:
            yield (walking.REACHABLE.id, walk.job.name), float(blocked)
    for rule, check in ((rule.under(plan.scenario.checks), check) for rule, check in CHECKS):
        if rule.severity == "must" and rule.id != walking.REACHABLE.id:
            for result in check(Case(arranged, rule)):
                if not result.ok:
                    told = result.required is not None and result.actual is not None
                    missing = abs((result.required or 0.0) - (result.actual or 0.0)) if told else 1.0
                    yield (rule.id, result.subject), missing


def passes(plan: Plan, walks: Sequence[JobWalk], strict: bool = False) -> bool:
    """Whether a layout passes every must-check, and every check when ``strict``; wordless and quick."""
    arranged = Arranged(plan, tuple(walks), musts, silent=True)
    rules_set = ((rule.under(plan.scenario.checks), check) for rule, check in CHECKS)
    return all(
        result.ok
        for rule, check in rules_set
        if strict or rule.severity == "must"
        for result in check(Case(arranged, rule))
    )


def price_if_passed(plan: Plan, walks: Sequence[JobWalk], strict: bool = False) -> float:
    """Metres a year that the failed should-checks count; infinite unless the layout ``passes``.  Wordless."""
    arranged = Arranged(plan, tuple(walks), musts, silent=True)
    total = []
    for rule, check in ((rule.under(plan.scenario.checks), check) for rule, check in CHECKS):
        fatal = strict or rule.severity == "must"
        if not fatal and not rule.price:
            continue
        for result in check(Case(arranged, rule)):
            if fatal and not result.ok:
                return math.inf
            total.append(result.price)
    return math.fsum(total)


def shut_in(plan: Plan, strict: bool = False) -> list[str]:
    """Stations without a way out, or to an exit, as wide as a must-check wants; wordless."""
    arranged, found = Arranged(plan, (), musts, silent=True), list[str]()
    for rule in (given.under(plan.scenario.checks) for given in (walking.EXIT_WAY, walking.WAY_OUT)):
        if strict or rule.severity == "must":
            found += walking.too_narrow(Case(arranged, rule))
    return found


OF_A_WHOLE = (strips.STOCK_VEHICLE, fire.EXTINGUISHER, fire.EXTINGUISHER_FLAMMABLES, fittings.LEAD_ACROSS)
"""Besides ways out: what no table of the search holds, what is quickly told first."""


def price_at_least(
    plan: Plan, walks: Callable[[], Sequence[JobWalk]], limit: float, apart: float, strict: bool = False
) -> float:
    """No more than ``price_if_passed`` beyond what is counted already, and where that reaches ``limit`` some
    of it, at a fraction of the work.

    ``walks`` gives the walks of the jobs; ``apart`` is what is counted of the checks of distances.
    """
    total = 0.0
    for price in _prices(plan, walks, apart, strict):
        total += price
        if total >= limit:
            break
    return total


def _prices(
    plan: Plan, walks: Callable[[], Sequence[JobWalk]], apart: float, strict: bool
) -> Iterator[float]:
    """One after the other, quickly told ones first; infinite where a must fails."""
    arranged = Arranged(plan, (), musts, silent=True)

    def asked(rules_asked: Iterable[Rule]) -> Iterator[tuple[Rule, bool]]:
        for rule in (given.under(plan.scenario.checks) for given in rules_asked):
            fatal = strict or rule.severity == "must"
            if fatal or rule.cost(None, None):
                yield rule, fatal

    wide = 0.0
    for rule, fatal in asked((walking.EXIT_WAY, walking.WAY_OUT)):
        if (rule.figure or 0.0) > wide:  # who gets to an exit gets out
            narrow = list(walking.too_narrow(Case(arranged, rule)))
            yield from (math.inf if fatal else rule.cost(1.0, 1.0) for _ in narrow)
            wide = 0.0 if narrow or not any(door.exit for door in plan.room.doors) else rule.figure or 0.0
    check_of = {rule.id: check for rule, check in CHECKS}

    def results(given: Iterable[Rule], of: Arranged) -> Iterator[float]:
        for rule, fatal in asked(given):
            for result in check_of[rule.id](Case(of, rule)):
                yield math.inf if fatal and not result.ok else result.price

    yield max(0.0, math.fsum(results([rule for rule, _ in hazards.APART], arranged)) - apart)
    yield from results(OF_A_WHOLE[:-1], arranged)
    if any(asked(OF_A_WHOLE[-1:])):
        yield from results(OF_A_WHOLE[-1:], Arranged(plan, tuple(walks()), musts, silent=True))


class Failures(NamedTuple):
    """How many must-checks and should-checks a layout fails, and the metres a year that the latter count."""

    musts: int
    shoulds: int
    metres: float


def failures(plan: Plan, walks: Sequence[JobWalk]) -> Failures:
    """What a layout fails; wordless."""
    arranged = Arranged(plan, tuple(walks), musts, silent=True)
    failed = [
        result
        for rule, check in ((rule.under(plan.scenario.checks), check) for rule, check in CHECKS)
        for result in check(Case(arranged, rule))
        if not result.ok
    ]
    severe = sum(result.severity == "must" for result in failed)
    return Failures(severe, len(failed) - severe, math.fsum(result.price for result in failed))


def rules(settings: Mapping[str, CheckSetting]) -> tuple[Rule, ...]:
    """Every rule as a file's ``[checks]`` sets it; as published with an empty mapping."""
    return tuple(rule.under(settings) for rule in RULES)


def faults_alone(ground: Ground, placed: Placed, strict: bool = False) -> Iterator[tuple[str, Fault]]:
    """What the building says against a thing where it stands, by the check's id: its musts alone.

    ``strict`` takes `should` for `must`.  Lazy: ``next(..., None)`` stops at the first.
    """
    for rule, alone in ALONE:
        if strict or ground.under(rule).severity == "must":
            for fault in alone(ground, placed):
                yield rule.id, fault


def faults_pair(ground: Ground, a: Placed, b: Placed, strict: bool = False) -> Iterator[tuple[str, Fault]]:
    """What two things say against each other where they stand; as ``faults_alone``."""
    touch, vehicle = a.may_touch(b), isinstance(a.thing, Vehicle) or isinstance(b.thing, Vehicle)
    for rule, pair in PAIRS:
        if (rule.id in BY_TOUCH and not touch) or (rule.id in BY_VEHICLE and not vehicle):
            continue
        if strict or ground.under(rule).severity == "must":
            for fault in pair(ground, a, b):
                yield rule.id, fault


def musts(ground: Ground, placed: Placed, others: tuple[Placed, ...]) -> Failed:
    """The must-checks that one thing fails among others where it stands, those of two things at both.

    Against which wall a thing stands is asked whatever the file says of ``placing``.
    """
    alone = ((rule, f.subject, f.other) for rule, f in faults_alone(ground, placed))
    wall = ((standing.PLACING.id, f.subject, f.other) for f in standing.placing_alone(ground, placed))
    pairs = ((rule, f.subject, f.other) for other in others for rule, f in faults_pair(ground, placed, other))
    return frozenset((*alone, *wall, *pairs))


def faults_building(ground: Ground, strict: bool = False) -> Iterator[tuple[str, Fault]]:
    """What no layout can mend: a fixture in a door's swing, a panel without room before it."""
    for rule, building in (
        (doors.DOOR_SWING, doors.door_swing_building),
        (doors.PANEL_SPACE, doors.panel_space_building),
        (hazards.IGNITION_HEIGHT, hazards.ignition_height_building),
        (parking.PARKED, parking.parked_building),
        (openings.OPENING_CLEAR, openings.opening_clear_building),
        (openings.VEHICLE_OPENING, openings.vehicle_opening_building),
    ):
        if strict or ground.under(rule).severity == "must":
            for fault in building(ground):
                yield rule.id, fault
