"""The instance that one run works on: spots, pair table, visits and the judge of true costs."""

from __future__ import annotations

import math
from dataclasses import dataclass

from footwork.arrange.core.arrays import Floats, Ints
from footwork.arrange.core.options import Options
from footwork.arrange.core.pairwise import Tables
from footwork.arrange.core.stop import NEVER, After, Stop
from footwork.arrange.core.visit_variables import Visits
from footwork.arrange.levels import PAIRS_TRIED_PER_SECOND, Level
from footwork.arrange.pair_table.prices import Prices
from footwork.arrange.pair_table.table import DETOUR_PAIRS, PairTable
from footwork.arrange.pair_table.visit_walks import ENTRIES, VisitWalks
from footwork.arrange.spots.conflicts import SpotRings
from footwork.arrange.spots.enumerate import SpotList, placed, spots_of
from footwork.arrange.true_cost.judge import Judge
from footwork.floor.plan import Plan
from footwork.model.scenario import Layout, Scenario

PAIRS_PER_SECOND = 350_000
"""Ways round that one core searches for the pair table, about."""
ENTRIES_PER_SECOND = 250_000
"""Entries of visits' blocks that a second of the whole time can make use of, about."""
DETOUR_SHARE = 0.1
"""Part of the time that the table may take to search ways round."""
VISITS_PART = 4
"""One in so many of the ways round that the table searches is searched for visits on top."""


@dataclass(frozen=True)
class Instance:
    """What search and bound work on.

    A *choice* is a spot for each thing, (things,), in the numbering of ``tables``.  ``at`` (spots, 2) is
    where each spot stands, metres; ``base_spots`` the base's spot of each thing, -1 where it has none that
    the room allows.
    """

    scenario: Scenario
    base: Layout | None
    options: Options
    lists: tuple[SpotList, ...]
    visit_walks: VisitWalks
    tables: Tables
    visits: Visits
    at: Floats
    judge: Judge
    prices: Prices
    base_spots: Ints

    @property
    def rings(self) -> SpotRings:
        """The footprints of all spots."""
        return self.visit_walks.table.shapes.spots

    @property
    def base_choice(self) -> Ints | None:
        """The base as a choice, where all of it stands on spots."""
        return self.base_spots if (self.base_spots >= 0).all() else None

    @property
    def most_moves(self) -> int:
        """How many things may leave the base."""
        return len(self.lists) if self.options.moves is None else self.options.moves

    def layout(self, choice: Ints, name: str = "suggestion") -> Layout:
        """The layout of a choice."""
        return placed(name, self.lists, self.tables.first, choice)

    def moved(self, choice: Ints) -> int:
        """How many things do not stand where the base has them."""
        return int((choice != self.base_spots).sum())

    def true_cost(self, choice: Ints) -> float:
        """Metres a year that a choice costs; infinite where two things clash or nobody could walk."""
        return math.inf if self.tables.clashes(choice) else self.judge(choice)


def make_instance(scenario: Scenario, base: Layout | None, level: Level) -> Instance:
    """Fill the pair table of a level's spots."""
    lists, options = level.lists, level.options
    any_layout = Layout("spots", {s.thing.name: s.placements[0] for s in lists})
    table = PairTable(scenario, lists, options.strict, Plan(scenario, any_layout).building)
    visit_walks = VisitWalks(table, _entries(options))
    detours = _detours(options, level.size)
    tables = table.build(options.processes, detours, _late(options))
    return Instance(
        scenario=scenario,
        base=base,
        options=options,
        lists=lists,
        visit_walks=visit_walks,
        tables=tables,
        visits=visit_walks.visits(
            tables, detours // VISITS_PART, options.processes, _late(options, VISITS_PART)
        ),
        at=table.stamps.at,
        judge=Judge(table),
        prices=table.prices,
        base_spots=spots_of(base, lists, tables.first),
    )


def _detours(options: Options, size: int) -> int:
    """Pairs of spots for which the table searches ways round: ``DETOUR_SHARE`` of the time's worth.

    What the table takes without them comes off twice, so that a short run is left time to search.
    """
    if options.iterations is not None:
        return DETOUR_PAIRS
    core_seconds = options.seconds * options.processes - size**2 / PAIRS_TRIED_PER_SECOND
    return int(DETOUR_SHARE * max(0.0, core_seconds) * PAIRS_PER_SECOND)


def _late(options: Options, part: int = 1) -> Stop:
    """When the time for ways round, or one in so many parts of it, is over: a busy core searches fewer."""
    return NEVER if options.iterations is not None else After(DETOUR_SHARE * options.seconds / part)


def _entries(options: Options) -> int:
    """Entries that visits may take as variables of the bound: as many as the time is long enough for."""
    if options.iterations is not None:
        return ENTRIES
    return int(min(ENTRIES, ENTRIES_PER_SECOND * options.seconds))
