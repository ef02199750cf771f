"""The instance that one run works on: spots, pair table, visits and the judge of true costs."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

from footwork.arrange.core.arrays import Floats, Ints
from footwork.arrange.core.options import Options
from footwork.arrange.core.pairwise import MEMORY_LIMIT_SPOTS, Tables
from footwork.arrange.core.slack import WHOLE
from footwork.arrange.core.visit_variables import Visits
from footwork.arrange.nowhere import every_station_has_one, kept_stand_together
from footwork.arrange.pair_table.prices import Prices
from footwork.arrange.pair_table.table import DETOUR_PAIRS, PairTable
from footwork.arrange.pair_table.visit_walks import ENTRIES, VisitWalks
from footwork.arrange.spots.conflicts import SpotRings
from footwork.arrange.spots.enumerate import SpotList, find_spots, placed, spots_of
from footwork.arrange.true_cost.judge import Judge
from footwork.floor.plan import Plan
from footwork.model.errors import UsageError
from footwork.model.scenario import Layout, Scenario
from footwork.model.units import format_length
from footwork.scoring import Score, score

PAIRS_PER_SECOND = 350_000
"""Ways round that one core searches for the pair table, about."""
PAIRS_TRIED_PER_SECOND = 12_000_000
"""Pairs of spots that one core tries for a clash and a straight way, about."""
ENTRIES_PER_SECOND = 250_000
"""Entries of visits' blocks that a second of the whole time can make use of, about."""
DETOUR_SHARE = 0.2
"""Part of the time that the table may take to search ways round."""
VISITS_PART = 4
"""One in so many of the ways round that the table searches is searched for visits on top."""
COARSER = (1.2, 1.4, 1.6, 1.8, 2.0, 2.4, 3.0, 4.0, 5.0, 6.0, 8.0)
"""Times the pitch that are tried where there are too many spots."""


@dataclass(frozen=True)
class Instance:
    """What search and bound work on.

    A *choice* is a spot for each thing, (things,), in the numbering of ``tables``.  ``at`` (spots, 2) is
    where each spot stands, metres; ``base_spots`` the base's spot of each thing, -1 where it has none that
    the room allows; ``base_score`` is worked out before the search, so that Ctrl-C needn't wait for it.
    """

    scenario: Scenario
    base: Layout | None
    base_score: Score | None
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


def make_instance(
    scenario: Scenario, base: Layout | None, options: Options, tell: Callable[[str], None]
) -> Instance:
    """Find the spots and fill the pair table; ``tell`` is called with the name of each step.

    Raises NoLayoutError when a station has no spot or kept ones clash, UsageError when there are more spots
    than fit in memory.
    """
    tell("spots")
    base_score = None
    if base is not None:
        base = Layout(base.name, Plan(scenario, base).placements)
        base_score = score(scenario, base)
    lists, options = find_lists(scenario, base, options)
    tell("pair table")
    any_layout = Layout("spots", {s.thing.name: s.placements[0] for s in lists})
    table = PairTable(scenario, lists, options.strict, Plan(scenario, any_layout).building)
    visit_walks = VisitWalks(table, _entries(options))
    detours = _detours(options, _size(lists))
    tables = table.build(options.processes, detours)
    return Instance(
        scenario=scenario,
        base=base,
        base_score=base_score,
        options=options,
        lists=lists,
        visit_walks=visit_walks,
        tables=tables,
        visits=visit_walks.visits(tables, detours // VISITS_PART, options.processes),
        at=table.stamps.at,
        judge=Judge(table),
        prices=table.prices,
        base_spots=spots_of(base, lists, tables.first),
    )


def find_lists(
    scenario: Scenario, base: Layout | None, options: Options
) -> tuple[tuple[SpotList, ...], Options]:
    """The spots of each thing, and options with the pitch at which they fit.  Raises as ``make_instance``."""
    lists = find_spots(scenario, options.pitch, options.facings, base, options.keep, options.strict)
    every_station_has_one(scenario, lists, options.strict)
    kept_stand_together(scenario, lists, options.strict)
    if _size(lists) > MEMORY_LIMIT_SPOTS:
        return _coarser(scenario, base, options, _size(lists))
    return lists, options


def _size(lists: tuple[SpotList, ...]) -> int:
    return sum(len(spots.placements) for spots in lists)


def _coarser(
    scenario: Scenario, base: Layout | None, options: Options, size: int
) -> tuple[tuple[SpotList, ...], Options]:
    """Spots that fit, and options with the greater pitch that gives them, where there are too many.

    Raises UsageError, with a pitch that works, where the pitch is not to be changed.
    """
    few = "keep some stations, or name spots in the file"
    say = partial(format_length, units=scenario.units)
    for factor in COARSER:
        # Spots fall no faster than with the square of the pitch: what surely does not help isn't tried.
        if size / factor**2 > 1.05 * MEMORY_LIMIT_SPOTS:
            continue
        pitch = math.ceil(20 * factor * options.pitch - WHOLE) / 20
        lists = find_spots(scenario, pitch, options.facings, base, options.keep, options.strict)
        if _size(lists) <= MEMORY_LIMIT_SPOTS:
            if options.coarsen and all(spots.placements for spots in lists):
                return lists, replace(options, pitch=pitch)
            few = f"a pitch of {say(pitch)} gives {_size(lists)}; or keep some stations"
            break
    raise UsageError(
        f"pitch {say(options.pitch)} gives {size} spots, more than the {MEMORY_LIMIT_SPOTS} that fit: {few}"
    )


def _detours(options: Options, size: int) -> int:
    """Pairs of spots for which the table searches ways round: ``DETOUR_SHARE`` of the time's worth.

    What the table takes without them comes off twice, so that a short run is left time to search.
    """
    if options.iterations is not None:
        return DETOUR_PAIRS
    core_seconds = options.seconds * options.processes - size**2 / PAIRS_TRIED_PER_SECOND
    return int(DETOUR_SHARE * max(0.0, core_seconds) * PAIRS_PER_SECOND)


def _entries(options: Options) -> int:
    """Entries that visits may take as variables of the bound: as many as the time is long enough for."""
    if options.iterations is not None:
        return ENTRIES
    return int(min(ENTRIES, ENTRIES_PER_SECOND * options.seconds))
