"""What to move in which order, so that each thing finds its new place free when its turn comes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from footwork.floor.headroom import share_floor
from footwork.floor.overlap import overlaps
from footwork.floor.plan import Plan
from footwork.model.moved import has_moved
from footwork.model.scenario import Layout, Placement, Scenario, Station, Vehicle
from footwork.show.mark_out import mark_out


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that moves.  ``aside`` are those that still stand in its new place at its turn and have to
    be set aside first; ``metres`` is how far its centre moves."""

    name: str
    before: Placement
    after: Placement
    aside: tuple[str, ...] = ()

    @property
    def metres(self) -> float:
        return math.dist(self.before.at, self.after.at)

    @property
    def turned(self) -> bool:
        """Whether it faces another way."""
        return abs((self.after.facing - self.before.facing + 180.0) % 360.0 - 180.0) > 0.05


def steps(scenario: Scenario, before: Layout, after: Layout, wanted: Sequence[str] = ()) -> tuple[Step, ...]:
    """What moves from ``before`` to ``after``: stations first, vehicles last, which are out meanwhile.

    The order is ``wanted`` where it is given; else that of marking out, except that what would find another
    in its place waits until that has gone.  Where things wait for each other in a ring, fewest are set
    aside, and of these what rolls or is small.
    """
    old, new = Plan(scenario, before), Plan(scenario, after)
    moved = [name for name in new.things if has_moved(old.placements[name], new.placements[name])]
    order = [mark.name for mark in mark_out(scenario, after).marks if mark.name in moved]
    vehicles = [name for name in order if isinstance(new.things[name], Vehicle)]
    left = [name for name in wanted if name in moved] or [n for n in order if n not in vehicles]
    left += [name for name in order if name not in left and name not in vehicles]
    blockers = {
        name: [other for other in left if other != name and _in_the_way(new, old, name, other)]
        for name in left
    }
    found: list[Step] = []
    gone: set[str] = set()  # from their old places: moved already, or set aside
    while left:
        waits = {name: [b for b in blockers[name] if b not in gone] for name in left}
        turn = left[0] if wanted else min(left, key=lambda n: _trouble(new, waits[n]))
        found.append(Step(turn, old.placements[turn], new.placements[turn], tuple(waits[turn])))
        gone.update((turn, *waits[turn]))
        left.remove(turn)
    found += [Step(n, old.placements[n], new.placements[n]) for n in vehicles if n not in wanted]
    return tuple(found)


def _in_the_way(new: Plan, old: Plan, name: str, other: str) -> bool:
    """Whether ``other`` as it stood takes the floor that ``name`` comes to."""
    if share_floor(new.things[name], old.things[other]):
        return False
    return overlaps(new.pieces(name), old.pieces(other))


def _trouble(plan: Plan, names: Sequence[str]) -> tuple[int, float]:
    """What it takes to set these aside: how many there are, and the floor they cover unless they roll."""
    things = [plan.things[name] for name in names]
    return len(things), sum(math.prod(t.size) for t in things if not (isinstance(t, Station) and t.castors))
