"""Which few things of a layout, where they stand, make it impossible whatever the others do.

A way that is shut is still shut when more is put on the floor.  So things are taken off one after the other,
and those are left without which it would be open: the set is minimal, though not always the smallest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import islice, pairwise

import numpy as np

from footwork import checks
from footwork.floor.plan import Plan
from footwork.floor.routes import Walks, job_states
from footwork.floor.scene import Scene
from footwork.floor.variants import widths
from footwork.model.scenario import Layout, Scenario, Visit

Names = frozenset[str]

MOST = 8
"""Shut ways of one layout that are looked into."""


@dataclass(frozen=True)
class Sparse(Plan):
    """A plan without some things on its floor."""

    gone: Names = frozenset()

    def scene(self, present: Names = frozenset()) -> Scene:
        return Scene(tuple(o for o in super().scene(present).obstacles if o.name not in self.gone))


@dataclass(frozen=True)
class _Shut:
    """A way that is shut: the things at its ends, and whether it is with some others off the floor."""

    ends: Names
    still: Callable[[Names], bool]


def at_fault(scenario: Scenario, layout: Layout, strict: bool) -> tuple[Names, ...]:
    """Sets of things each of which shuts a way by itself: of a leg, or one out that a must wants; some.

    All things where none is shut: what else refuses a layout may hang on all of it.
    """
    names = frozenset(thing.name for thing in scenario.things)
    ways = islice(_ways(scenario, layout, strict), MOST)
    return tuple(dict.fromkeys(_least(shut, names) for shut in ways)) or (names,)


def _least(shut: _Shut, names: Names) -> Names:
    gone: Names = frozenset()
    for name in sorted(names - shut.ends):
        if shut.still(gone | {name}):
            gone |= {name}
    return names - gone


def _ways(scenario: Scenario, layout: Layout, strict: bool) -> Iterator[_Shut]:
    things = frozenset(thing.name for thing in scenario.things)
    walks = Walks(Plan(scenario, layout))
    for job in scenario.jobs:
        for state in job_states(scenario, job):
            route = state.variant.route
            for ends, width in zip(pairwise(route), widths(scenario, job, route), strict=True):
                if not np.isfinite(walks.matrix(state.present, *ends, width)).any():
                    names = things.intersection((*ends[0].members, *ends[1].members))
                    yield _Shut(names, _leg(scenario, layout, state.present, ends, width))
    for name in checks.shut_in(Plan(scenario, layout), strict):
        yield _Shut(frozenset((name,)), _out(scenario, layout, name, strict))


def _leg(
    scenario: Scenario, layout: Layout, present: Names, ends: tuple[Visit, Visit], width: float
) -> Callable[[Names], bool]:
    def still(gone: Names) -> bool:
        walks = Walks(Sparse(scenario, layout, gone=gone))
        return not np.isfinite(walks.matrix(present, *ends, width)).any()

    return still


def _out(scenario: Scenario, layout: Layout, name: str, strict: bool) -> Callable[[Names], bool]:
    return lambda gone: name in checks.shut_in(Sparse(scenario, layout, gone=gone), strict)
