"""Descent by single moves on the whole score, before anything of the search is compiled.

One thing at a time is put on another of its spots, and stays there if the layout is sound and costs less.
Each layout is judged as ``score`` judges it, some tens of layouts a second: no match for the search, but in
most rooms a layout better than the base is found within seconds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from footwork.arrange.spots.enumerate import SpotList
from footwork.model.scenario import Layout, Placement, Scenario
from footwork.scoring import cost_if_sound


class SingleMoves:
    """A layout that gets better step by step.

    lists   spots of each thing; one that stays where it is has no other
    most    how many things may leave the base
    cost    metres a year of the best layout so far; infinite while it is not sound
    """

    def __init__(
        self, scenario: Scenario, base: Layout, lists: Sequence[SpotList], most: int, strict: bool, seed: int
    ) -> None:
        self._scenario, self._base, self._most, self._strict = scenario, dict(base.placements), most, strict
        self._lists = [spots for spots in lists if len(spots.placements) > 1]
        self._rng = np.random.default_rng(seed)
        self._now: dict[str, Placement] = dict(base.placements)
        self.cost = self.base_cost = cost_if_sound(scenario, base, strict)

    @property
    def better(self) -> bool:
        """Whether it is better than the base."""
        return self.cost < self.base_cost

    @property
    def layout(self) -> Layout:
        return Layout("suggestion", dict(self._now))

    def step(self) -> None:
        """Try one move."""
        if not self._lists:
            return
        spots = self._lists[int(self._rng.integers(len(self._lists)))]
        name, where = spots.thing.name, spots.placements[int(self._rng.integers(len(spots.placements)))]
        after = {**self._now, name: where}
        if sum(after[n] != at for n, at in self._base.items()) > self._most:
            return
        cost = cost_if_sound(self._scenario, Layout("suggestion", after), self._strict)
        if cost < self.cost and math.isfinite(cost):
            self._now, self.cost = after, cost
