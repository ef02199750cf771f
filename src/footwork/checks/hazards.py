"""Sparks, dust, noise, fumes, gas: how far what gives them stands from what minds them.

Distances are straight lines between footprints; where a wall of the room or a shield cuts off every line
between the two, nothing is asked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import shapely

from footwork.checks.case import Case, either
from footwork.checks.ground import Fault, Ground, Placed, Thing
from footwork.checks.result import CheckResult
from footwork.checks.rule import COMMON_PRACTICE, Rule, published
from footwork.floor.shapes import convex_pieces
from footwork.floor.walls import wall_segments
from footwork.model.rules import BARRIER
from footwork.model.scenario import TOLERANCE, Placement, Station, Vehicle

SPARKS, HEAT, SPRAY, FLAMMABLE = "sparks", "heat", "spray", "flammable"
OXYGEN, FUEL_GAS = "oxygen", "fuel gas"


def _near(
    ground: Ground, rule: Rule, giver: Placed, minder: Placed, note: str, past: str = ""
) -> Iterator[Fault]:
    """``minder`` stands nearer to ``giver`` than the rule's figure.

    ``note`` says what is given; ``past`` what of it comes round a shield, "" when nothing does.
    """
    figure = ground.under(rule).figure or 0.0
    gap = giver.body.distance(minder.body)
    if gap >= figure - TOLERANCE:
        return
    said = past if shielded(ground, giver, minder) else note
    if said:
        yield Fault(minder.name, giver.name, figure, gap, note=said)


def shielded(ground: Ground, a: Placed, b: Placed) -> bool:
    """Whether no straight line from any point of one footprint to any of the other misses walls and shields.

    All such lines lie in the convex hull of the two.  Cut by walls and shields, it has the two in different
    parts just when none of the lines goes through.  Of the shields that are stations neither of the two is
    one; where nobody knows where they stand, one may come between.
    """
    if ground.screens is None and _other_screens(ground, a.thing, b.thing):
        return True
    one, two = (_outline(x) for x in (a, b))
    hull = shapely.union_all([one, two]).convex_hull
    left = hull.difference(_shields(ground))
    for screen in ground.screens or ():
        if screen.name not in (a.name, b.name):
            left = left.difference(_outline(screen).buffer(TOLERANCE))
    return not any(part.intersects(one) and part.intersects(two) for part in shapely.get_parts(left))


def _outline(placed: Placed) -> shapely.Geometry:
    return shapely.union_all([shapely.Polygon(p) for p in placed.body.pieces])


def _shields(ground: Ground) -> shapely.Geometry:
    """The walls and the shields that are fixtures, in one; kept with the ground."""
    if "shields" not in ground.kept:
        shields = [shapely.Polygon(f.outline) for f in ground.room.fixtures if f.shield]
        walls = [w for w in wall_segments(ground.room) if not w.name.startswith("yard ")]
        lines = [shapely.LineString([wall.start, wall.end]) for wall in walls]
        ground.kept["shields"] = shapely.union_all([*shields, *lines]).buffer(TOLERANCE)
    return ground.kept["shields"]


def _other_screens(ground: Ground, one: Thing, two: Thing) -> bool:
    """Whether some station besides two things is a shield."""
    return any(s.shield and s.name not in (one.name, two.name) for s in ground.scenario.stations)


def may_be_shielded(ground: Ground, one: Thing, two: Thing) -> bool:
    """Whether walls or shields could come between two things at all."""
    room = ground.room
    if any(fixture.shield for fixture in room.fixtures) or len(convex_pieces(room.outline)) > 1:
        return True
    if _other_screens(ground, one, two):
        return True
    return any(t.outdoors if isinstance(t, Station) else bool(t.spots) for t in (one, two))


def _further(case: Case, fault: Fault) -> str:
    """A short move of either thing that brings the two as far apart as they should be, or ""."""
    by_name = {p.name: p for p in case.placed}

    def missing(placed: Placed) -> float:
        other = by_name[fault.other if placed.name == fault.subject else fault.subject]
        return fault.required - placed.body.distance(other.body)

    return case.shift((fault.subject, fault.other), missing)


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
    faults = case.gather(None, pair, case.layout.pairs_within(figure or 0.0))
    yield from case.results(minders, faults, bad, good, lambda _: figure, lambda _: None)


# --- sparks-flammables

SPARKS_FLAMMABLES = Rule(
    "sparks-flammables",
    "what gives sparks stands {figure} from stores of flammables, or is shielded, or watched for fire",
    "should",
    published("29 CFR 1910.252(a)(2)(vii) and NFPA 51B, hot work (from a secondary text)"),
    10.668,
    price=3000.0,
)


def sparks_flammables_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    for giver, minder in ((a, b), (b, a)):
        if SPARKS in _gives(giver) and FLAMMABLE in _minds(minder):
            yield from _near(ground, SPARKS_FLAMMABLES, giver, minder, SPARKS)


def sparks_flammables(case: Case) -> Iterator[CheckResult]:
    say = case.say

    def bad(fault: Fault) -> str:
        ways = either(
            _further(case, fault),
            "move the flammables out",
            "put a shield between",
            f"keep a fire watch while {fault.other} is used",
        )
        return (
            f"{fault.other} gives sparks {say(fault.actual)} from {fault.subject}, "
            f"{say(fault.required - fault.actual)} short of {say(fault.required)}: {ways}"
        )

    sparking = any(SPARKS in _gives(p) for p in case.placed)
    stores = [p.name for p in case.placed if sparking and FLAMMABLE in _minds(p)]
    yield from _results(
        case,
        stores,
        sparks_flammables_pair,
        bad,
        lambda s: f"{s} is far or shielded from everything that gives sparks",
    )


# --- spray-sparks: paint and varnish in the air burn.

SPRAY_SPARKS = Rule(
    "spray-sparks",
    "what gives sparks or heat stands {figure} from spraying, or behind a partition",
    "should",
    published("29 CFR 1910.107(c)(2), spray finishing (from memory)"),
    6.096,
    price=3000.0,
)


def spray_sparks_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    for giver, sprayer in ((a, b), (b, a)):
        words = [word for word in (SPARKS, HEAT) if word in _gives(giver)]
        if words and SPRAY in _gives(sprayer):
            yield from _near(ground, SPRAY_SPARKS, giver, sprayer, " and ".join(words))


def spray_sparks(case: Case) -> Iterator[CheckResult]:
    say = case.say

    def bad(fault: Fault) -> str:
        ways = either(
            _further(case, fault),
            "put a partition between",
            f"never spray while {fault.other} is used or still hot",
        )
        return (
            f"{fault.other} gives {fault.note} {say(fault.actual)} from the spraying at {fault.subject}, "
            f"{say(fault.required - fault.actual)} short of {say(fault.required)}: {ways}"
        )

    hot = any(word in _gives(p) for p in case.placed for word in (SPARKS, HEAT))
    sprayers = [p.name for p in case.placed if hot and SPRAY in _gives(p)]
    yield from _results(
        case,
        sprayers,
        spray_sparks_pair,
        bad,
        lambda s: f"nothing gives sparks or heat near the spraying at {s}",
    )


# --- oxygen-fuel

OXYGEN_FUEL = Rule(
    "oxygen-fuel",
    "oxygen in store stands {figure} from fuel gas and other flammables, or behind a barrier {1.524} high "
    "that does not burn",
    "should",
    published("29 CFR 1910.253(b)(4)(iii), oxygen-fuel gas (from a secondary text)"),
    6.096,
    price=3000.0,
)


def oxygen_fuel_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    """A station that holds both gases is a set in use on its trolley, which is not a store."""
    for oxygen, fuel in ((a, b), (b, a)):
        if _stores(oxygen, OXYGEN) and (_stores(fuel, FUEL_GAS) or FLAMMABLE in _minds(fuel)):
            yield from _near(ground, OXYGEN_FUEL, fuel, oxygen, FUEL_GAS)


def _stores(placed: Placed, gas: str) -> bool:
    return isinstance(placed.thing, Station) and placed.thing.holds == (gas,)


def oxygen_fuel(case: Case) -> Iterator[CheckResult]:
    say = case.say

    def bad(fault: Fault) -> str:
        ways = either(_further(case, fault), f"put a wall {say(BARRIER)} high that does not burn between")
        return (
            f"oxygen at {fault.subject} is {say(fault.actual)} from {fault.other}, "
            f"{say(fault.required - fault.actual)} short of {say(fault.required)}: {ways}"
        )

    fuel = any(_stores(p, FUEL_GAS) or FLAMMABLE in _minds(p) for p in case.placed)
    stores = [p.name for p in case.placed if fuel and _stores(p, OXYGEN)]
    yield from _results(
        case, stores, oxygen_fuel_pair, bad, lambda s: f"the oxygen at {s} is far from everything that burns"
    )


# --- ignition-height: vapours of fuel lie low.

IGNITION_HEIGHT = Rule(
    "ignition-height",
    "where a vehicle is kept, what may light a vapour is {figure} or more above the floor",
    "should",
    published("IRC M1307.3, elevation of ignition source (from a secondary text)"),
    0.457,
    price=1000.0,
)


def _garage(ground: Ground) -> bool:
    """Whether a vehicle is ever in."""
    return any(ground.ever_in(v) for v in ground.scenario.vehicles)


def ignition_height_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    """A station in the room whose lowest source of ignition is too low, wherever it stands there."""
    low = placed.thing.ignition_height if isinstance(placed.thing, Station) else None
    least = ground.under(IGNITION_HEIGHT).figure or 0.0
    if low is not None and low < least - TOLERANCE and _garage(ground) and placed.body.meets(ground.floor):
        yield Fault(placed.name, "", least, low)


def ignition_height_building(ground: Ground) -> Iterator[Fault]:
    """Fixtures, such as a water heater, whose burner or motor is too low."""
    least = ground.under(IGNITION_HEIGHT).figure or 0.0
    for fixture in ground.room.fixtures:
        low = fixture.ignition_height
        if low is not None and low < least - TOLERANCE and _garage(ground):
            yield Fault(fixture.name, "", least, low)


def ignition_height(case: Case) -> Iterator[CheckResult]:
    say = case.say
    if not _garage(case.ground):
        return
    faults = dict(case.gather(ignition_height_alone))
    for fault in ignition_height_building(case.ground):
        faults.setdefault(fault.subject, []).append(fault)
    heights = {f.name: f.ignition_height for f in case.ground.room.fixtures}
    heights |= {
        p.name: station.ignition_height for p, station in case.stations if p.body.meets(case.ground.floor)
    }
    known = {name: height for name, height in heights.items() if height is not None}

    def bad(fault: Fault) -> str:
        return (
            f"{fault.subject} may light a vapour {say(fault.actual)} above the floor, where a vehicle "
            f"is in; {say(fault.required)} is the least: raise it by {say(fault.required - fault.actual)}"
        )

    yield from case.results(
        known,
        faults,
        bad,
        lambda s: f"{s} is high enough above the floor to light no vapour",
        lambda _: case.rule.figure,
        known.get,
    )


# --- gives-minds

GIVES_MINDS = Rule(
    "gives-minds",
    "what gives dust, noise, fumes, heat, spray or sparks stands {figure} from what minds them",
    "should",
    COMMON_PRACTICE,
    2.0,
    price=1500.0,
)


def gives_minds_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    for giver, minder in ((a, b), (b, a)):
        shared = [word for word in _gives(giver) if word in _minds(minder)]
        if shared:
            past = " and ".join(word for word in shared if word in ("noise", "fumes"))
            yield from _near(ground, GIVES_MINDS, giver, minder, " and ".join(shared), past)


def gives_minds(case: Case) -> Iterator[CheckResult]:
    say = case.say

    def bad(fault: Fault) -> str:
        ways = either(_further(case, fault), "screen one off")
        return (
            f"{fault.other} gives {fault.note} {say(fault.actual)} from {fault.subject}, "
            f"{say(fault.required - fault.actual)} short of {say(fault.required)}: {ways}"
        )

    given = {word for p in case.placed for word in _gives(p)}
    minders = [p.name for p in case.placed if given.intersection(_minds(p))]
    yield from _results(
        case, minders, gives_minds_pair, bad, lambda s: f"{s} is clear of everything it minds"
    )


# --- vehicle-sparks

VEHICLE_SPARKS = Rule(
    "vehicle-sparks",
    "a vehicle that is in while something within {figure} gives sparks is covered or moved",
    "should",
    published("29 CFR 1910.252(a)(2)(vii) and NFPA 51B, hot work (from a secondary text)"),
    10.668,
    price=1000.0,
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
            f"{say(fault.required - fault.actual)} short of {say(fault.required)}: cover {fault.subject}, "
            f"or move it out while {fault.other} is used"
        )

    sparking = any(SPARKS in _gives(p) for p in case.placed)
    vehicles = [p.name for p in case.placed if sparking and isinstance(p.thing, Vehicle)]
    yield from _results(
        case, vehicles, vehicle_sparks_pair, bad, lambda s: f"no sparks fly near {s} while it is in"
    )


def least_apart(ground: Ground, one: Thing, two: Thing, strict: bool = False) -> float:
    """Metres that two things must stand apart because of hazards, wherever they stand; 0 where none must.

    What the ``..._pair`` functions of this module ask, as one number for the tables of spots; ``strict``
    takes `should` for `must`.  0 too where a wall or shield could come between them: what is asked then
    depends on where they stand, and the check of the whole layout tells.
    """
    if may_be_shielded(ground, one, two):
        return 0.0
    pair = (Placed(one, ORIGIN), Placed(two, ORIGIN))
    asked = [
        rule.figure or 0.0
        for rule, check in APART
        for rule in (ground.under(rule),)
        if (strict or rule.severity == "must") and next(check(ground, *pair), None) is not None
    ]
    return max(asked, default=0.0)


ORIGIN = Placement(0.0, 0.0, 0.0)
"""Two things at one place are nearer than any figure: what is asked there is asked anywhere."""

APART: tuple[tuple[Rule, Callable[[Ground, Placed, Placed], Iterator[Fault]]], ...] = (
    (SPARKS_FLAMMABLES, sparks_flammables_pair),
    (SPRAY_SPARKS, spray_sparks_pair),
    (GIVES_MINDS, gives_minds_pair),
    (VEHICLE_SPARKS, vehicle_sparks_pair),
    (OXYGEN_FUEL, oxygen_fuel_pair),
)
"""The checks of distance between two things."""
