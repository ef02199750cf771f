"""Should-checks that fail in the best layout and would in any: what the room itself makes impossible.

What is cheap to know for certain is told, and nothing else: that every spot of a thing fails a check of one
thing alone, or that no two spots of two things are as far apart as a check of distance asks.  Where a wall or
shield may come between the two, spots whose middles do not see each other count as far apart.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np

from footwork.arrange.core.arrays import Bools, Ints
from footwork.arrange.core.results import Unavoidable
from footwork.arrange.instance import Instance
from footwork.arrange.pair_table.prices import too_near
from footwork.checks.case import Pair
from footwork.checks.ground import Ground, Placed
from footwork.checks.hazards import APART, ORIGIN
from footwork.checks.rule import Rule
from footwork.checks.run import ALONE, BY_PLACE


def unavoidable(instance: Instance, choice: Ints) -> tuple[Unavoidable, ...]:
    """Those that a choice of spots fails."""
    if instance.options.strict:
        return ()
    ground = Ground(instance.scenario)
    placements = instance.layout(choice).placements
    things = [Placed(spots.thing, placements[spots.thing.name]) for spots in instance.lists]
    return (*_of_one(instance, ground, things), *_of_two(instance, ground, things))


def _asked(ground: Ground, given: Rule) -> Rule | None:
    """The rule as the file sets it, where it is a should that is not accepted."""
    rule = ground.under(given)
    return rule if rule.severity == "should" and not rule.accepted else None


def _of_one(instance: Instance, ground: Ground, things: Sequence[Placed]) -> Iterator[Unavoidable]:
    for given, alone in ALONE:
        rule = _asked(ground, given)
        if rule is None or rule.id not in BY_PLACE:
            continue
        for spots, thing in zip(instance.lists, things, strict=True):
            if any(alone(ground, thing)) and all(
                any(alone(ground, Placed(spots.thing, at))) for at in spots.placements
            ):
                yield Unavoidable(rule.id, thing.name, (), None, len(spots.placements))


def _of_two(instance: Instance, ground: Ground, things: Sequence[Placed]) -> Iterator[Unavoidable]:
    number = {thing.name: k for k, thing in enumerate(things)}
    for given, check in APART:
        rule = _asked(ground, given)
        if rule is None:
            continue
        failed = [f.subject for a, b in combinations(things, 2) for f in check(ground, a, b)]
        for subject in dict.fromkeys(failed):
            others = _asked_of(ground, check, things, subject)
            by = {name: _apart(instance, ground, rule, (number[subject], number[name])) for name in others}
            alone = [name for name, far in by.items() if not far.any()]
            if alone or not np.all([far.any(axis=1) for far in by.values()], axis=0).any():
                count = len(instance.lists[number[subject]].placements)
                yield Unavoidable(rule.id, subject, tuple(alone or by), rule.figure, count)


def _asked_of(ground: Ground, check: Pair, things: Sequence[Placed], subject: str) -> list[str]:
    """The things that one has to be far from by a check of distance, wherever they stand."""
    here = [Placed(thing.thing, ORIGIN) for thing in things]
    mine = next(thing for thing in here if thing.name == subject)
    faults = (f for other in here if other is not mine for f in check(ground, mine, other))
    return list(dict.fromkeys(fault.other for fault in faults if fault.subject == subject))


def _apart(instance: Instance, ground: Ground, rule: Rule, pair: tuple[int, int]) -> Bools:
    """Which spots of two things may be taken together, and are as far apart as a rule asks."""
    i, j = pair
    tables = instance.tables
    near = too_near(ground, instance.lists, instance.rings, pair, rule)
    mine, theirs = (slice(*tables.first[k : k + 2]) for k in (i, j))
    return np.asarray(~near & (tables.pair[mine, theirs] < tables.clash), np.bool_)
