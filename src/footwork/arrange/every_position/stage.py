"""``suggest --anywhere``: from the best layouts on spots to any position, and a bound for every position.

What "every position" is, ``every_position/cells.py`` says.  The refined layout never costs more than the
one on spots and passes the same checks; the bound holds for it and for every other layout in the same
positions.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from footwork.arrange.core.options import ALIKE, Options
from footwork.arrange.core.progress import Report
from footwork.arrange.core.results import Anywhere, Saving, Suggestion, savings
from footwork.arrange.core.stop import After
from footwork.arrange.every_position.cell_conflicts import possible
from footwork.arrange.every_position.cell_tree import Everywhere, covering
from footwork.arrange.every_position.cells import Cells, joined, make_cells, points
from footwork.arrange.every_position.refine import Refinement
from footwork.arrange.spots.enumerate import SpotList
from footwork.checks.ground import Ground
from footwork.floor.plan import Plan
from footwork.model.moved import has_moved
from footwork.model.scenario import Layout, Placement, Scenario
from footwork.scoring import Score, score

ON_SPOTS, REFINING = 0.45, 0.25
"""Parts of the seconds that the search on spots and the refinement get; the rest goes to the bound."""
BEST_SHARE, OTHERS_SHARE = 0.7, 0.5
"""Parts of the time left for refinement that the best layout gets, and then each of the others."""
ROUNDS, NODES = 6, 60
"""Rounds of refinement and nodes of each tree when iterations, not seconds, limit the work."""
LONG = 20.0
CELLS, CELLS_QUICK = 2000, 1200
"""Cells that the bound begins with; the fewer where there is less time than ``LONG`` seconds."""
ENTRIES = 4_000_000
"""Entries of the blocks of visits (``pair_table/visit_walks.py``)."""
LEAST_STAGE = 2.0
"""Seconds below which no further stage of the bound is begun."""
STRAIGHT = 1e-9
"""Degrees from a facing within which a thing is not turned: what adding turns up leaves of rounding."""
COARSE = 1.0
"""Metres: the cells that the covering begins with."""


@dataclass
class Leaving:
    """What leaving the spots begins with.

    ``lists`` are the spots of everything, ``starts`` (cost, layout) the best layouts on them, best first;
    ``report`` began when the whole call did; ``offered`` says whether a scored layout may be suggested.
    """

    scenario: Scenario
    base: Layout | None
    lists: Sequence[SpotList]
    starts: Sequence[tuple[float, Layout]]
    options: Options
    report: Report
    offered: Callable[[Score], bool]

    def tell(self, best: float, bound: float, phase: str) -> None:
        self.report.tell(phase, best, bound if bound > 0 else None)

    @property
    def moves(self) -> int:
        return len(self.lists) if self.options.moves is None else self.options.moves


def off_the_spots(found: Suggestion, leaving: Leaving) -> Suggestion:
    """``found`` with its best layout refined off the spots, and a bound for every position.

    Ctrl-C (KeyboardInterrupt) ends it with the best so far.
    """
    ground = Ground(leaving.scenario)
    cells = tuple(_positions(ground, leaving, spots) for spots in leaving.lists)
    if not any(c.half.any() for c in cells):
        same = Anywhere(found.best.cost, found.best.cost, found.bound, sum(map(len, cells)))
        note = "every station is kept, or has spots of its own: there is no other position to look at"
        return replace(found, anywhere=same, notes=(*found.notes, note))
    cost, best = found.best.cost, found.best
    quick = leaving.options.iterations is not None or leaving.options.seconds < LONG
    bound = Everywhere(
        leaving.scenario,
        cells,
        strict=leaving.options.strict,
        building=Plan(leaving.scenario, _layout(best)).building,
        base=None if leaving.base is None else dict(leaving.base.placements),
        moves=leaving.options.moves,
        budget=CELLS_QUICK if quick else CELLS,
        entries=ENTRIES,
    )
    try:
        best = _refined(found.best, cells, leaving)
        cost = best.cost
        _prove(bound, ground, cost, leaving)
    except KeyboardInterrupt:
        pass
    leaving.tell(cost, bound.bound, "done")
    anywhere = Anywhere(found.best.cost, cost, min(bound.bound, cost), bound.count)
    return replace(
        found,
        layouts=(best, *found.layouts[1:]),
        seconds=leaving.report.elapsed,
        moved=_savings(leaving, best),
        anywhere=anywhere,
    )


def _positions(ground: Ground, leaving: Leaving, spots: SpotList) -> Cells:
    """All positions of a thing in coarse cells, its placement in the base by itself where that is needed."""
    thing, options = spots.thing, leaving.options
    kept = thing.name in options.keep and leaving.base is not None
    cells = make_cells(ground, spots, COARSE, options.facings, kept, options.strict)
    here = None if leaving.base is None else leaving.base.placements[thing.name]
    if here is None or here not in spots.placements or not cells.half.any():
        return cells
    if options.moves is None and cells.holds(here).any():
        return cells
    return joined(thing, (points(thing, (here,)), cells))


def _layout(best: Score, name: str = "suggestion") -> Layout:
    return Layout(name, dict(best.placements))


# --- refinement


def _refined(best: Score, cells: tuple[Cells, ...], leaving: Leaving) -> Score:
    """The best layout off the spots, or ``best`` itself when there is none better."""
    options = leaving.options
    work = Refinement(
        leaving.scenario,
        cells,
        strict=options.strict,
        base=leaving.base,
        moves=leaving.moves,
        seed=options.seed,
        processes=options.processes,
    )
    ends = leaving.report.began + (ON_SPOTS + REFINING) * options.seconds
    cost, layout = best.cost, _layout(best)
    starts = [(best.cost, layout), *leaving.starts][: 1 if options.iterations is not None else 3]
    for number, (begin, start) in enumerate(starts):
        leaving.tell(cost, 0.0, "off the spots")
        if options.iterations is not None:
            work.steps = max(1, options.iterations // 8)
            after, other = work.run(start, begin, options.pitch / 2, most=ROUNDS)
        else:
            # The best gets most of the time, and the others what it leaves.
            now = time.monotonic()
            if number and ends - now < LEAST_STAGE:
                break
            after, other = work.run(
                start,
                begin,
                options.pitch / 2,
                now + (ends - now) * (BEST_SHARE if number == 0 else OTHERS_SHARE),
            )
        if after < cost:
            cost, layout = after, other
    return _straightened(best, score(leaving.scenario, layout), cells, leaving)


def _straightened(before: Score, after: Score, cells: tuple[Cells, ...], leaving: Leaving) -> Score:
    """The refined layout with nothing turned for next to nothing; ``before`` if that is no worse."""
    if not leaving.offered(after) or after.cost > before.cost:
        return before
    best, limit = after, min(before.cost, after.cost * (1.0 + ALIKE))
    for own in cells:
        name = own.thing.name
        here = best.placements[name]
        mine = own.holds(here)
        straight = float(own.facing[np.argmax(mine)]) if mine.any() else here.facing
        if abs((here.facing - straight + 180.0) % 360.0 - 180.0) < STRAIGHT:
            continue
        tried = score(leaving.scenario, _layout(best).moved({name: Placement(here.x, here.y, straight)}))
        if leaving.offered(tried) and tried.cost <= limit:
            best = tried
    return best


def _savings(leaving: Leaving, best: Score) -> tuple[Saving, ...]:
    """What each move from the base saves, as on spots."""
    base = leaving.base
    if base is None or leaving.options.moves is None:
        return ()

    def cost_after(made: Sequence[str]) -> float:
        return score(leaving.scenario, base.moved({n: best.placements[n] for n in made})).cost

    moves = sorted(n for n, p in best.placements.items() if has_moved(base.placements.get(n), p))
    return tuple(Saving(*saved) for saved in savings(moves, cost_after))


# --- the bound


def _prove(bound: Everywhere, ground: Ground, cost: float, leaving: Leaving) -> None:
    """Work the bound until the time is over, or the nodes are, or nothing is open."""
    options = leaving.options
    leaving.tell(cost, 0.0, "bound for every position")
    bound.cells = covering(
        leaving.scenario, bound.cells, bound.budget, lambda cells: possible(ground, cells, options.strict)
    )

    def tell() -> None:
        leaving.tell(cost, bound.bound, "bound for every position")

    if options.iterations is not None:
        bound.stage(cost, lambda: False, 1, NODES, tell)
        return
    ends = leaving.report.began + options.seconds
    while bound.stage(cost, After(max(1.0, ends - time.monotonic())), options.processes, None, tell):
        # Another stage needs its costs first: only while there is time for more than that.
        if time.monotonic() > ends - LEAST_STAGE or not bound.cut():
            return
