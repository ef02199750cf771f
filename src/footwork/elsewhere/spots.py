"""The spots of one thing while everything else stays: which there are, and what keeps it from the others.

Along walls they lie closer than over the floor, for a gap that a thing fits into is seldom where a step of
the pitch ends.  What the building and single other things refuse is told by the same compiled tests as for a
search (``arrange/spots``).  Metres, the room's frame.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.spots.alone import UnaryConsistency
from footwork.arrange.spots.enumerate import SpotList, consistent, tried_spots
from footwork.arrange.spots.frames import own_spots
from footwork.arrange.spots.layers import is_must
from footwork.checks.standing import PLACING
from footwork.elsewhere.results import Refusal
from footwork.floor.plan import Plan
from footwork.model.errors import UsageError
from footwork.model.scenario import Placement, Scenario, Station, Vehicle

ALONG_WALLS = 5
"""Steps along a wall to one over the floor."""
FACINGS = 4
"""Ways round that a thing is tried."""


AT_ONCE = 4000
"""Spots that are tried for clashes at once: so many squared are written down."""


@dataclass(frozen=True, eq=False)
class Candidates:
    """Spots that nothing refuses by itself, and the refusals of the rest.

    ``table`` has one list of spots a thing, of the others where they stand; spot k of the thing number
    ``which`` is ``placements[k]``.
    """

    table: PairTable
    which: int
    placements: tuple[Placement, ...]
    refused: tuple[Refusal, ...]

    def choice(self, spot: int) -> list[int]:
        """A choice in the numbering of ``table``: all where they stand, the thing on a spot of its own."""
        first = self.table.first.tolist()
        return [first[k] + (spot if k == self.which else 0) for k in range(len(self.table.lists))]


def thing_named(scenario: Scenario, name: str) -> tuple[int, Station | Vehicle]:
    """A thing that can be moved, and its number.  Raises UsageError in one line where there is none."""
    from footwork.model.names import hint

    names = [thing.name for thing in scenario.things]
    if name not in names:
        if group := scenario.group(name):
            raise UsageError(f"{name} is {len(group)} stations: name one of them, such as {group[0]}")
        raise UsageError(f"there is no station or vehicle {name!r}; {hint(name, names, 'stations')}")
    thing = scenario.thing(name)
    if isinstance(thing, Station) and thing.fixed is not None:
        raise UsageError(f"{name} does not move: the file says that it is fixed")
    return names.index(name), thing


def candidates(scenario: Scenario, plan: Plan, name: str, pitch: float) -> Candidates:
    """The spots of one thing of a layout; where it stands now is one of them."""
    which, thing = thing_named(scenario, name)
    here = plan.placements[name]
    tried = list(dict.fromkeys([here, *_tried(scenario, thing, pitch)]))
    kept, by_building = consistent(thing, tried, UnaryConsistency(scenario, False))
    refused = [Refusal(p, check=check) for p, check in zip(tried, by_building, strict=True) if check]
    free = []
    for start in range(0, len(kept), AT_ONCE):
        for place, others in _clashes(scenario, plan, which, kept[start : start + AT_ONCE]):
            if others:
                refused.append(Refusal(place, by=others))
            else:
                free.append(place)
    return Candidates(_table(scenario, plan, which, free or [here]), which, tuple(free), tuple(refused))


def _table(scenario: Scenario, plan: Plan, which: int, placements: Sequence[Placement]) -> PairTable:
    """A table, still to be filled, of some spots of one thing and the others where they stand."""
    lists = [
        SpotList(thing, tuple(placements) if k == which else (plan.placements[thing.name],))
        for k, thing in enumerate(scenario.things)
    ]
    return PairTable(scenario, lists, False, plan.building)


def _clashes(
    scenario: Scenario, plan: Plan, which: int, placements: Sequence[Placement]
) -> Iterator[tuple[Placement, tuple[str, ...]]]:
    """Each placement with the names of what it clashes with."""
    clashing = _table(scenario, plan, which, placements).clashing(which)
    for place, clash in zip(placements, clashing, strict=True):
        yield place, tuple(scenario.things[k].name for k in np.flatnonzero(clash))


def _tried(scenario: Scenario, thing: Station | Vehicle, pitch: float) -> list[Placement]:
    if isinstance(thing, Vehicle) or own_spots(scenario, thing):
        return tried_spots(scenario, thing, pitch, FACINGS)
    placing = thing.placing if is_must(scenario, "placing", False) else "any"
    found: list[Placement] = []
    if placing != "island":
        found += tried_spots(scenario, replace(thing, placing="wall"), pitch / ALONG_WALLS, FACINGS)
    if placing != "wall":
        found += tried_spots(scenario, replace(thing, placing="island"), pitch, FACINGS)
    return found


def refused_untried(scenario: Scenario, thing: Station | Vehicle) -> str:
    """The check that keeps a thing from floor on which no spot of it lies, "" where none does by itself."""
    walls_alone = isinstance(thing, Station) and thing.placing == "wall" and not own_spots(scenario, thing)
    return PLACING.id if walls_alone else ""
