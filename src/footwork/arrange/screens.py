"""Screens that may be moved, put where a layout's hazards ask for them.

What a screen cuts off hangs on three things at once, so that no table knows it and the search, which goes by
the table, has no reason to put a screen anywhere.  When a layout is looked at as a whole, each of its screens
is tried between the things that are too near to each other, and what fails least is offered as well.  The
best layout so far is looked at with single things moved too, the screens put up anew for each.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from footwork.arrange.core.arrays import Floats, Ints
from footwork.arrange.instance import Instance
from footwork.checks.ground import Ground, Placed, is_shield
from footwork.checks.hazards import APART
from footwork.checks.rule import Rule
from footwork.floor import shapes

TRIED = 24
"""Spots of a screen at which the checks themselves are asked, those across most first."""
BESIDE = 16
"""Spots of each thing that a layout's neighbours have it on."""
PARTED = 64
"""Pairs of spots on which they have two things that are too near to each other."""


@dataclass(frozen=True, order=True)
class Charge:
    """What is too near to each other: how many musts fail, then metres a year of failed shoulds."""

    musts: int = 0
    metres: float = 0.0

    def __add__(self, other: Charge) -> Charge:
        return Charge(self.musts + other.musts, self.metres + other.metres)


NOTHING = Charge()
Near = tuple[Placed, Placed]


class Screens:
    """Puts the movable screens of one instance up; ``any`` is False where there is none to move."""

    def __init__(self, instance: Instance) -> None:
        self._instance = instance
        self._ground = Ground(instance.scenario, screens=())
        self._screens = [
            i
            for i, spots in enumerate(instance.lists)
            if is_shield(spots.thing) and len(spots.placements) > 1
        ]
        self._rules = [rule for rule, _ in APART if self._asks(self._ground.under(rule))]
        self.judge = instance.judge.twin() if self.any else instance.judge
        """Tells what the layouts cost that ``put_up`` gives; one thread at a time."""

    @property
    def any(self) -> bool:
        return bool(self._screens and self._rules)

    def _asks(self, rule: Rule) -> bool:
        return rule.severity == "must" or self._instance.options.strict or bool(rule.cost(None, None))

    def put_up(self, choice: Ints) -> Ints | None:
        """The choice with screens where less of it is too near to each other; None where none helps."""
        now = choice.copy()
        near = self._near(self._placed(now))
        best = self._charged(now, near) if near else NOTHING
        for i in self._screens:
            if best == NOTHING:
                break
            for spot in self._across(now, i, near):
                after = now.copy()
                after[i] = spot
                charge = self._charged(after, near)
                if charge < best:
                    now, best = after, charge
        return None if (now == choice).all() else now

    def neighbours(self, choice: Ints, limit: float) -> Iterator[Ints]:
        """Choices with one thing, or two that a screen has to part, where the table likes them best, and the
        screens put up anew.  None that costs ``limit`` by the table.
        """
        for after in itertools.chain(self._moved(choice, BESIDE), self._parted(choice, PARTED)):
            if self._out_of_the_way(after) and self._instance.tables.cost(after) < limit:
                up = self.put_up(after)
                yield after if up is None else up

    def _moved(self, choice: Ints, most: int) -> Iterator[Ints]:
        """Choices with one thing elsewhere, screens left out of account."""
        for i in range(len(choice)):
            if i not in self._screens:
                low, added = self._added(choice, i, [i])
                for k in np.argsort(added, kind="stable")[:most].tolist():
                    if added[k] < self._instance.tables.clash and low + k != choice[i]:
                        after = choice.copy()
                        after[i] = low + k
                        yield after

    def _parted(self, choice: Ints, most: int) -> Iterator[Ints]:
        """Choices with two things elsewhere that are too near to each other where no screen parts them."""
        number = {of.thing.name: i for i, of in enumerate(self._instance.lists)}
        for a, b in self._near(self._placed(choice)):
            i, j = number[a.name], number[b.name]
            (low_i, of_i), (low_j, of_j) = (self._added(choice, k, [i, j]) for k in (i, j))
            block = self._instance.tables.pair[low_i : low_i + len(of_i), low_j : low_j + len(of_j)]
            added = (of_i[:, None] + of_j[None] + block).ravel()
            for k in np.argsort(added, kind="stable")[:most].tolist():
                if added[k] < self._instance.tables.clash:
                    after = choice.copy()
                    after[i], after[j] = low_i + k // len(of_j), low_j + k % len(of_j)
                    yield after

    def _added(self, choice: Ints, i: int, but: Sequence[int]) -> tuple[int, Floats]:
        """The first spot of a thing, and what each costs among all others but some and the screens."""
        tables = self._instance.tables
        low, high = (int(v) for v in tables.first[i : i + 2])
        others = np.delete(choice, [*but, *self._screens])
        pairs: Floats = tables.pair[low:high][:, others].sum(axis=1, dtype=np.float64)
        return low, tables.unary[low:high] + pairs

    def _out_of_the_way(self, choice: Ints) -> bool:
        """Put screens that clash on the first spots that are free; whether each finds one."""
        tables = self._instance.tables
        for i in self._screens:
            others = np.delete(choice, i)
            if (tables.pair[choice[i], others] >= tables.clash).any():
                low, high = tables.first[i : i + 2]
                free = np.flatnonzero((tables.pair[low:high][:, others] < tables.clash).all(axis=1))
                if not len(free):
                    return False
                choice[i] = low + free[0]
        return True

    def _placed(self, choice: Ints) -> list[Placed]:
        placements = self._instance.layout(choice).placements
        return [Placed(of.thing, placements[of.thing.name]) for of in self._instance.lists]

    def _near(self, placed: Sequence[Placed]) -> list[Near]:
        """Things that are too near to each other where no screen parts them."""
        return [
            pair
            for pair in itertools.combinations(placed, 2)
            if self._charge(self._ground, [pair]) != NOTHING
        ]

    def _charged(self, choice: Ints, near: Sequence[Near]) -> Charge:
        """What pairs fail with the screens where a choice has them."""
        placed = self._placed(choice)
        screens = tuple(p for p in placed if is_shield(p.thing))
        return self._charge(replace(self._ground, screens=screens), near)

    def _charge(self, ground: Ground, near: Sequence[Near]) -> Charge:
        total = NOTHING
        strict = self._instance.options.strict
        for rule, check in APART:
            if rule not in self._rules:
                continue
            own = ground.under(rule)
            must = strict or own.severity == "must"
            for a, b in near:
                for fault in check(ground, a, b):
                    metres = 0.0 if must else own.cost(fault.required, fault.actual)
                    total += Charge(int(must), metres)
        return total

    def _across(self, choice: Ints, i: int, near: Sequence[Near]) -> Iterator[int]:
        """Spots of a screen that clash with nothing and cut lines between the middles of near pairs, those
        that cut most first; of alike ones those that cost the table least."""
        instance = self._instance
        tables = instance.tables
        low, high = tables.first[i : i + 2]
        others = np.delete(choice, i)
        block = tables.pair[low:high][:, others]
        free = np.flatnonzero((block < tables.clash).all(axis=1))
        lines = [shapely.LineString([a.placement.at, b.placement.at]) for a, b in near]
        spots = instance.lists[i]
        rings = [shapes.footprint(spots.thing, spots.placements[k]) for k in free.tolist()]
        cuts = _cuts([shapely.Polygon(ring) for ring in rings], lines)
        added = tables.unary[low + free] + block[free].sum(axis=1, dtype=np.float64)
        order = np.lexsort((added, -cuts))
        for k in [k for k in order.tolist() if cuts[k] > 0][:TRIED]:
            spot = int(low + free[k])
            after = choice.copy()
            after[i] = spot
            if instance.moved(after) <= instance.most_moves:
                yield spot


def _cuts(screens: Sequence[shapely.Polygon], lines: Sequence[shapely.LineString]) -> Floats:
    """How many of the lines each screen lies across."""
    found: Floats = np.zeros(len(screens))
    for line in lines:
        found += shapely.intersects(np.array(screens, dtype=object), line)
    return found
