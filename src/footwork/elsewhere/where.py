"""Through the floor, coarse to fine: what the year would cost with one thing on every spot of it."""

from __future__ import annotations

import math
import time
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from footwork.arrange.core.stop import NEVER, Stop
from footwork.arrange.true_cost.evaluate import take_back, try_move
from footwork.arrange.true_cost.judge import Judge
from footwork.checks.walking import REACHABLE
from footwork.elsewhere.pricing import Pricing
from footwork.elsewhere.results import Refusal, Spot, Square, Where
from footwork.elsewhere.spots import Candidates, candidates, refused_untried, thing_named
from footwork.floor.plan import Plan
from footwork.floor.walls import limits
from footwork.model.errors import UsageError
from footwork.model.outlines import contains
from footwork.model.scenario import Layout, Placement, Point, Scenario, Station, Vehicle
from footwork.model.units import format_length
from footwork.scoring import cost_as_it_is

PITCH = 0.25
"""Metres of a side of a square where nobody says."""
OFTEN = 0.15
"""Seconds after which what is known so far is told again."""
COARSEST = 3
"""Squares are gone through by the power of two of them that they lie apart, up to this one."""
HAIR = 1e-6
"""Squares by which a spot on the line between two may fall short of it for rounding."""
MOST = 40_000
"""Squares of floor that are looked at, at most."""
Cell = tuple[int, int]
"""Column and row of a square."""


def exact(scenario: Scenario, layout: Layout, found: Where, spots: Sequence[Spot]) -> tuple[Spot, ...]:
    """Spots with their costs summed in the very order of ``score``: equal to its own to the last digit.

    As they are found they may differ from that in the twelfth.
    """
    return tuple(
        replace(s, cost=cost_as_it_is(scenario, layout.moved({found.thing: s.placement}))) for s in spots
    )


def filling_in(
    scenario: Scenario, layout: Layout, name: str, pitch: float = PITCH, stop: Stop = NEVER
) -> Iterator[Where]:
    """What is known of all spots as it becomes so: first what is refused, then square by square.

    The last is complete, unless ``stop`` says so before.  Raises UsageError as ``where``.
    """
    plan = Plan(scenario, layout)
    layout = Layout(layout.name, plan.placements)
    grid = _Grid.of(scenario, thing_named(scenario, name)[1], pitch)
    pricing = Pricing(scenario, layout)
    found = candidates(scenario, plan, name, pitch)
    floor = _Floor(scenario, layout, found, grid)
    told = time.monotonic()
    yield floor.told(pricing.cost)
    walks = _Walks(found)
    for cell in floor.in_order():
        if stop():
            return
        floor.know(cell, _best(name, found, walks, pricing, floor.spots[cell]))
        if time.monotonic() - told > OFTEN:
            yield floor.told(pricing.cost)
            told = time.monotonic()
    yield floor.told(pricing.cost)


class _Walks:
    """What walks and wishes cost with the thing on each spot, and with what is charged by table at least."""

    def __init__(self, found: Candidates) -> None:
        table, which = found.table, found.which
        judge, spots = Judge(table), range(len(found.placements))
        state, out = np.array(found.choice(0), np.int32), np.array([which], np.int32)
        self.least = np.full(len(spots), math.inf)
        self.walked = np.full(len(spots), math.inf)
        judge(state)
        for spot in spots:
            after = np.array(found.choice(spot), np.int32)
            cost = float(try_move(judge.evaluation, state, after, out, 1, math.inf))
            take_back(judge.evaluation, state, out, 1)
            self.least[spot], self.walked[spot] = cost, cost - table.prices.of(after)


def _best(
    name: str, found: Candidates, walks: _Walks, pricing: Pricing, spots: Sequence[int]
) -> Spot | Refusal:
    """The cheapest of some spots: no other is looked at once what it costs at least is more."""
    best: Spot | None = None
    refused: Refusal | None = None

    def least(spot: int) -> float:
        # What cannot be walked is squeezed where that is so now: nothing is known of that yet.
        return float(walks.least[spot]) if pricing.walkable or math.isfinite(walks.least[spot]) else -math.inf

    for spot in sorted(spots, key=least):
        place, walked = found.placements[spot], float(walks.walked[spot])
        if best is not None and least(spot) >= best.cost:
            break
        if math.isinf(walked) and pricing.walkable:
            refused = refused or Refusal(place, REACHABLE.id)
            continue
        there = pricing.at(name, place, walked)
        if isinstance(there, Refusal):
            refused = refused or there
        elif best is None or there.cost < best.cost:
            best = there
    if best is not None:
        return best
    assert refused is not None
    return refused


@dataclass(frozen=True)
class _Grid:
    """The squares that floor is told in, from its south-west corner."""

    x: float
    y: float
    columns: int
    rows: int
    pitch: float

    @classmethod
    def of(cls, scenario: Scenario, thing: Station | Vehicle, pitch: float) -> _Grid:
        """Those of the room, with its yards for what may stand there.  Raises UsageError for too many."""
        x, y, east, north = limits(scenario.room, _indoors(thing))
        columns, rows = (max(1, math.ceil(span / pitch - HAIR)) for span in (east - x, north - y))
        if columns * rows > MOST:
            told = format_length(pitch, scenario.units)
            raise UsageError(
                f"a pitch of {told} gives {columns * rows:,} squares of floor, more than the {MOST:,} that "
                "are looked at: give a greater one"
            )
        return cls(x, y, columns, rows, pitch)

    def cell(self, at: Point) -> Cell:
        column, row = (math.floor(span / self.pitch + HAIR) for span in (at[0] - self.x, at[1] - self.y))
        return (column, row)

    def middle(self, cell: Cell) -> Point:
        return (self.x + (cell[0] + 0.5) * self.pitch, self.y + (cell[1] + 0.5) * self.pitch)


def _indoors(thing: Station | Vehicle) -> bool:
    return isinstance(thing, Station) and not thing.outdoors


@dataclass(eq=False)
class _Floor:
    """The squares of the floor: ``spots`` are those still to be priced in each."""

    scenario: Scenario
    layout: Layout
    found: Candidates
    grid: _Grid
    spots: dict[Cell, list[int]] = field(default_factory=dict)
    squares: dict[Cell, Square] = field(default_factory=dict)

    def __post_init__(self) -> None:
        grid, thing = self.grid, self.scenario.things[self.found.which]
        spots, refused = defaultdict(list), defaultdict(list)
        for number, place in enumerate(self.found.placements):
            spots[grid.cell(place.at)].append(number)
        for refusal in self.found.refused:
            refused[grid.cell(refusal.placement.at)].append(refusal)
        self.spots = dict(spots)
        facing = self.layout.placements[thing.name].facing
        for cell in sorted({*self._floor(_indoors(thing)), *spots, *refused}):
            middle, why = grid.middle(cell), None
            if cell not in spots:
                untried = Refusal(Placement(*middle, facing), refused_untried(self.scenario, thing))
                why = min(refused[cell], key=_severity, default=untried)
            self.squares[cell] = Square(*cell, middle, refused=why)

    def _floor(self, indoors: bool) -> list[Cell]:
        """Squares whose middle is in the room, or in a yard where that counts."""
        room, grid = self.scenario.room, self.grid
        grounds = [room.outline] if indoors else [room.outline, *(yard.outline for yard in room.yards)]
        cells = [(column, row) for column in range(grid.columns) for row in range(grid.rows)]
        return [cell for cell in cells if any(contains(ring, grid.middle(cell)) for ring in grounds)]

    def in_order(self) -> list[Cell]:
        """Squares to price: those that lie far apart first, then the ones between them."""

        def apart(cell: Cell) -> int:
            power = 0
            while power < COARSEST and all(value % 2 ** (power + 1) == 0 for value in cell):
                power += 1
            return power

        return sorted(self.spots, key=lambda cell: (-apart(cell), cell))

    def know(self, cell: Cell, what: Spot | Refusal) -> None:
        square = self.squares[cell]
        best, refused = (what, None) if isinstance(what, Spot) else (None, what)
        self.squares[cell] = replace(square, best=best, refused=refused)

    def told(self, cost: float) -> Where:
        name = self.scenario.things[self.found.which].name
        return Where(
            self.scenario.name,
            self.layout.name,
            name,
            self.layout.placements[name],
            cost,
            self.grid.pitch,
            tuple(self.squares.values()),
        )


def _severity(refusal: Refusal) -> tuple[bool, int]:
    """What is nearest to being possible first: clashes with few things, then what the building refuses."""
    return (not refusal.by, len(refusal.by))
