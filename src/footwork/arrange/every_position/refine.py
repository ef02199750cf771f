"""A layout refined off the spots: rounds of the same search, on spots close round where everything stands.

Each round gives every thing a handful of spots of its own: slid a step each way, flush with or in line with
what stands near, turned a little.  Pair table, true cost and must-checks are those of the search on spots
(``pair_table/table.py``, ``true_cost/judge.py``, ``search/multistart.py``).  The step shrinks when a round
gains little.  Metres.
"""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints
from footwork.arrange.core.pairwise import Restriction
from footwork.arrange.core.slack import TURNED_FURTHER
from footwork.arrange.core.stop import After, Stop
from footwork.arrange.every_position.cells import TURN, Cells
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.search.multistart import WAVE, Pool, Search
from footwork.arrange.spots.alone import UnaryConsistency
from footwork.arrange.spots.enumerate import SpotList, consistent, placed, spots_of
from footwork.arrange.true_cost.beyond import beyond
from footwork.arrange.true_cost.judge import Judge
from footwork.floor import shapes
from footwork.floor.plan import Plan
from footwork.floor.walls import limits
from footwork.model.scenario import Layout, Placement, Scenario, Station

LEAST_STEP = 0.005
"""Metres: a step below this is no step that anyone marks out."""
FLUSH_WITHIN = 0.4
"""Metres that a thing slides at most to be flush with its neighbour, or in line with it."""
LEAST_SLIDE = 1e-6
"""Metres: what slides less is flush already."""
FLUSH_MOST = 8
"""Such slides a thing tries in a round, the shortest first."""
DRAWN, ABOUT = 6, 3.0
"""Positions drawn at random, and how far from where a thing stands, in steps: a way past what is near."""
TURNS = (-TURN, -TURN / 2, TURN / 2, TURN)
STEPS = 3000
"""Moves on the true cost that a start tries in a round."""
LEAST_TIME = 1.0
"""Seconds that a round's search gets at least, however late it is."""
GAIN = 5e-4
"""A round that gains less than this part of the cost is the last with its step."""


@dataclass
class Refinement:
    """What is refined, and under which restrictions.

    cells     by thing, all positions that it may take (``every_position/cells.py``); it never leaves them
    base      the layout that at most ``moves`` things may leave
    """

    scenario: Scenario
    cells: Sequence[Cells]
    strict: bool
    base: Layout | None
    moves: int
    seed: int
    processes: int
    steps: int = STEPS
    rounds: int = 0

    def run(
        self, layout: Layout, cost: float, step: float, ends: float = math.inf, most: int | None = None
    ) -> tuple[float, Layout]:
        """(cost, layout) after rounds from ``step`` down: never worse than ``cost``.

        At most ``most`` rounds, and none that may not be over at ``ends`` (``time.monotonic``) but the first.
        """
        begun, longest = self.rounds, 0.0
        while step >= LEAST_STEP and (most is None or self.rounds - begun < most):
            now = time.monotonic()
            if self.rounds > begun and now + longest > ends:
                break
            after, better = self._round(layout, cost, step, After(max(LEAST_TIME, ends - now)))
            longest = max(longest, time.monotonic() - now)
            if cost - after < GAIN * cost:
                step /= 2
            if after < cost:
                layout, cost = better, after
        return cost, layout

    def _round(self, layout: Layout, cost: float, step: float, stop: Stop) -> tuple[float, Layout]:
        """The best layout on spots close round one."""
        self.rounds += 1
        lists = list(self._near(layout, step))
        table = PairTable(self.scenario, lists, self.strict, Plan(self.scenario, layout).building)
        tables = table.build(self.processes)
        here: Ints = table.first[:-1].copy()  # the first spot of each is where it stands
        base = spots_of(self.base, lists, table.first)

        def uncounted(choice: Ints, limit: float) -> float:
            if int((choice != base).sum()) > self.moves:
                return math.inf
            changed = placed(layout.name, lists, table.first, choice)
            return beyond(self.scenario, changed, table.prices, choice, self.strict, limit)

        pool = Pool(uncounted)
        judge = Judge(table)
        if not tables.clashes(here):
            # Where it all began has been verified; the engine's own figure is what others are compared with.
            pool.best = min(cost, judge(here) + uncounted(here, math.inf))
        restriction = Restriction(base, self.moves)
        search = Search(
            tables, table.stamps.at, judge, restriction, pool, self.seed + self.rounds, self.processes
        )
        search.wave(self.steps, stop, [here] * WAVE)
        if pool.choice is None:
            return cost, layout
        return pool.best, placed(layout.name, lists, table.first, pool.choice)

    # -- spots close by

    def _near(self, layout: Layout, step: float) -> Iterator[SpotList]:
        """Spots of every thing close round a layout: where it stands first, then slides and turns."""
        alone = UnaryConsistency(self.scenario, self.strict)
        at_base = self._at_base(layout)
        full = len(self.cells) - len(at_base) >= self.moves
        boxes = self._boxes(layout)
        rng = np.random.default_rng([self.seed, self.rounds])
        for cells in self.cells:
            thing = cells.thing
            here = layout.placements[thing.name]
            still = (thing.name in at_base and full) or not self._may_slide(cells, here)
            tried = [] if still else list(self._candidates(cells, here, step, boxes, rng))
            kept, _ = consistent(thing, [p for p in tried if cells.holds(p).any()], alone)
            kept = [p for p in dict.fromkeys(kept) if p != here]
            yield SpotList(thing, (here, *kept), Counter(), 1 + len(kept))

    @property
    def _room(self) -> Box:
        x0, y0, x1, y1 = limits(self.scenario.room, True)
        return Box(np.array((x0, y0)), np.array((x1, y1)))

    def _at_base(self, layout: Layout) -> set[str]:
        if self.base is None:
            return set()
        return {n for n, p in layout.placements.items() if self.base.placements.get(n) == p}

    @staticmethod
    def _may_slide(cells: Cells, here: Placement) -> bool:
        """Whether a thing stands in a cell that is more than one placement."""
        mine = cells.holds(here)
        return bool((np.abs(cells.half[mine]).sum() > 0.0) if mine.any() else False)

    def _candidates(
        self, cells: Cells, here: Placement, step: float, boxes: dict[str, Box], rng: np.random.Generator
    ) -> Iterator[Placement]:
        u, v = shapes.front_axes(here.facing)
        for x, y in rng.normal(0.0, ABOUT * step, (DRAWN, 2)).tolist():
            yield _slid(here, x, y)
        for a in (-1.0, 0.0, 1.0):
            for b in (-1.0, 0.0, 1.0):
                yield _slid(here, step * (a * u[0] + b * v[0]), step * (a * u[1] + b * v[1]))
        for x, y in _flush(cells.thing.name, boxes, self._room):
            yield _slid(here, x, y)
        mine = cells.holds(here)
        free = mine & (cells.turn >= TURN - TURNED_FURTHER)
        if free.any() and isinstance(cells.thing, Station):
            facing = float(cells.facing[np.argmax(free)])
            for turn in (0.0, *TURNS):
                yield Placement(here.x, here.y, (facing + math.degrees(turn)) % 360.0)

    def _boxes(self, layout: Layout) -> dict[str, Box]:
        """The box round each footprint, fixtures too."""
        rings = {c.thing.name: shapes.footprint(c.thing, layout.placements[c.thing.name]) for c in self.cells}
        rings |= {f"fixture {f.name}": np.array(f.outline) for f in self.scenario.room.fixtures}
        return {name: Box(ring.min(axis=0), ring.max(axis=0)) for name, ring in rings.items()}


class Box(NamedTuple):
    """An upright box from its corner of least x and y to that of the greatest."""

    low: Floats
    high: Floats


def _slid(here: Placement, x: float, y: float) -> Placement:
    return Placement(here.x + x, here.y + y, here.facing)


def _flush(name: str, boxes: dict[str, Box], room: Box) -> list[tuple[float, float]]:
    """Slides along x or y that bring a thing flush with a wall or a neighbour, or in line with it."""
    mine = boxes[name]
    found: set[tuple[float, float]] = set()
    for axis in (0, 1):
        low, high = float(mine.low[axis]), float(mine.high[axis])
        slides = [float(room.low[axis]) - low, float(room.high[axis]) - high]
        for other, box in boxes.items():
            gap = np.maximum(box.low - mine.high, mine.low - box.high).max()
            if other != name and gap < FLUSH_WITHIN:
                near, far = float(box.low[axis]), float(box.high[axis])
                slides += [near - high, far - low, near - low, far - high]
        for slide in slides:
            if LEAST_SLIDE < abs(slide) < FLUSH_WITHIN:
                found.add((slide, 0.0) if axis == 0 else (0.0, slide))
    return sorted(found, key=lambda s: (abs(s[0]) + abs(s[1]), s))[:FLUSH_MOST]
