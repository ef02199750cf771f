"""Sparks, dust, noise, fumes: how far what gives them stands from what minds them.

Distances are straight lines between footprints.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from footwork.checks.case import Case
from footwork.checks.ground import Fault, Ground, Placed
from footwork.checks.result import CheckResult
from footwork.checks.rule import COMMON_PRACTICE, Rule, published
from footwork.floor.overlap import distance
from footwork.model.scenario import TOLERANCE, Station, Vehicle

SPARKS, FLAMMABLE = "sparks", "flammable"


def _near(ground: Ground, rule: Rule, giver: Placed, minder: Placed, note: str) -> Iterator[Fault]:
    """``minder`` stands nearer to ``giver`` than the rule's figure."""
    figure = ground.under(rule).figure or 0.0
    gap = distance(giver.body.pieces, minder.body.pieces)
    if gap < figure - TOLERANCE:
        yield Fault(minder.name, giver.name, figure, gap, note=note)


def _gives(placed: Placed) -> tuple[str, ...]:
    return placed.thing.gives if isinstance(placed.thing, Station) else ()


def _minds(placed: Placed) -> tuple[str, ...]:
    return placed.thing.minds if isinstance(placed.thing, Station) else ()


def _results(
    case: Case,
    minders: list[str],
    pair: Callable[[Ground, Placed, Placed], Iterator[Fault]],
    bad: Callable[[Fault], str],
    good: Callable[[str], str],
) -> Iterator[CheckResult]:
    figure = case.rule.figure
    yield from case.results(minders, case.gather(None, pair), bad, good, lambda _: figure, lambda _: None)


# --- sparks-flammables

SPARKS_FLAMMABLES = Rule(
    "sparks-flammables",
    "what gives sparks stands 10.7 m (35 ft) from flammables, or is shielded, or watched for fire",
    "should",
    published("29 CFR 1910.252(a)(2)(vii) and NFPA 51B, hot work (from a secondary text)"),
    10.668,
)


def sparks_flammables_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    for giver, minder in ((a, b), (b, a)):
        if SPARKS in _gives(giver) and FLAMMABLE in _minds(minder):
            yield from _near(ground, SPARKS_FLAMMABLES, giver, minder, SPARKS)


def sparks_flammables(case: Case) -> Iterator[CheckResult]:
    say = case.say

    def bad(fault: Fault) -> str:
        return (
            f"{fault.other} gives sparks {say(fault.actual)} from {fault.subject}, "
            f"{say(fault.required - fault.actual)} short of {say(fault.required)}: move the flammables "
            "out, put a shield between, or keep a fire watch"
        )

    sparking = any(SPARKS in _gives(p) for p in case.placed)
    stores = [p.name for p in case.placed if sparking and FLAMMABLE in _minds(p)]
    yield from _results(
        case, stores, sparks_flammables_pair, bad, lambda s: f"{s} is far from everything that gives sparks"
    )


# --- gives-minds

GIVES_MINDS = Rule(
    "gives-minds",
    "what gives dust, noise, fumes, heat, spray or sparks stands 2 m from what minds them",
    "should",
    COMMON_PRACTICE,
    2.0,
)


def gives_minds_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    for giver, minder in ((a, b), (b, a)):
        shared = [word for word in _gives(giver) if word in _minds(minder)]
        if shared:
            yield from _near(ground, GIVES_MINDS, giver, minder, " and ".join(shared))


def gives_minds(case: Case) -> Iterator[CheckResult]:
    say = case.say

    def bad(fault: Fault) -> str:
        return (
            f"{fault.other} gives {fault.note} {say(fault.actual)} from {fault.subject}; "
            f"{say(fault.required)} apart is better: move them {say(fault.required - fault.actual)} "
            "further apart, or screen one off"
        )

    given = {word for p in case.placed for word in _gives(p)}
    minders = [p.name for p in case.placed if given.intersection(_minds(p))]
    yield from _results(
        case, minders, gives_minds_pair, bad, lambda s: f"{s} is clear of everything it minds"
    )


# --- vehicle-sparks

VEHICLE_SPARKS = Rule(
    "vehicle-sparks",
    "a vehicle that is in while something within 10.7 m (35 ft) gives sparks is covered or moved",
    "should",
    published("29 CFR 1910.252(a)(2)(vii) and NFPA 51B, hot work (from a secondary text)"),
    10.668,
)


def vehicle_sparks_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    for giver, minder in ((a, b), (b, a)):
        station, vehicle = giver.thing, minder.thing
        if (
            not isinstance(station, Station)
            or not isinstance(vehicle, Vehicle)
            or SPARKS not in station.gives
        ):
            continue
        if ground.used_beside(station, vehicle):
            yield from _near(ground, VEHICLE_SPARKS, giver, minder, SPARKS)


def vehicle_sparks(case: Case) -> Iterator[CheckResult]:
    say = case.say

    def bad(fault: Fault) -> str:
        return (
            f"{fault.other} gives sparks {say(fault.actual)} from {fault.subject}, "
            f"{say(fault.required - fault.actual)} short of {say(fault.required)}: cover {fault.subject} "
            f"or take it out while {fault.other} is used"
        )

    sparking = any(SPARKS in _gives(p) for p in case.placed)
    vehicles = [p.name for p in case.placed if sparking and isinstance(p.thing, Vehicle)]
    yield from _results(
        case, vehicles, vehicle_sparks_pair, bad, lambda s: f"no sparks fly near {s} while it is in"
    )
