"""What the bound's tree sets out to prove: a price below the best layout's first, then higher ones.

Prices are integers as in ``relaxation/scaling.py``.  A tree that is to show that nothing costs less than
its *aim* drops every spot that no layout below the aim can use, and every node that reaches it.  The lower
the aim, the less is left to look at.  So the tree is grown anew for each aim, which pays where a proof of
the best layout is out of reach (iterative deepening, as in the search of game trees).
"""

from __future__ import annotations

import math
import time

FIRST_NODES = 100
"""Nodes worked with the best layout's price as the aim before lower ones are tried."""
FIRST_PART = 0.05
"""Part of the time that this may take."""
PARTS = 8
"""The first step of the aim is one of so many parts of the gap."""
TIMES = 3.5
"""How many times the work of the aim before an aim is to take."""
EARLY_TIMES = 60.0
"""The same at most where that had few nodes, from which little can be told."""
SURE = 0.7
"""Part of the time left that aims are to take: one that is not reached was for little."""
STEEPNESS = 40.0
"""Rise of the logarithm of an aim's nodes over one best layout's price, at the least: half more for a
hundredth of it.  Rooms rise by 18 to 50, most by more where aims are high than on the way there."""
FASTER, SLOWER = 2.5, 0.3
"""By how much a step is greater or less than the one before, at most."""


class Aims:
    """The aim and how it rises.

    ``price`` is the aim, infinite where it is the best layout's price; ``proved`` what no layout undercuts
    for sure, by earlier aims; ``nodes`` how many were worked for this one.
    """

    def __init__(self, staged: bool) -> None:
        self.price = math.inf
        self.proved = 0
        self.nodes = 0
        self._staged = staged
        self._step = 0.0
        self._before = 0
        self._spent, self._since, self._until = 0.0, 0.0, math.inf

    def start_clock(self, seconds: float) -> None:
        """Work begins or goes on, and may count on so many seconds, some of them in later turns."""
        self._since = time.monotonic()
        self._until = self._since + seconds

    def stop_clock(self) -> None:
        self._spent += time.monotonic() - self._since

    def too_far(self) -> bool:
        """Whether the first try at the best layout's price has taken its nodes, or its time."""
        if not self._staged or self._step > 0.0 or self.nodes == 0:
            return False
        spent, left = self._times()
        return self.nodes >= FIRST_NODES or spent > FIRST_PART * (spent + left)

    def lower(self, least: int, limit: int) -> None:
        """Aim lower for a start: ``least`` is proven, ``limit`` the best layout's price."""
        self._step = (limit - least) / PARTS
        self._begin(least, limit)

    def raise_aim(self, limit: int) -> None:
        """The aim is proven: on to the next one."""
        spent, left = self._times()
        most, rise = SURE * left / max(spent, 1e-9), STEEPNESS * self._step / limit
        if self.nodes <= FIRST_NODES:
            # In large problems so few nodes take seconds.
            self._step *= _change(min(most, EARLY_TIMES), rise)
        elif self._before:
            # Two more aims, or one that takes all of the time.
            times = TIMES if most > TIMES + TIMES * TIMES else most
            self._step *= _change(times, max(math.log(self.nodes / self._before), rise))
        self._before = self.nodes
        self._begin(int(self.price), limit)

    def _times(self) -> tuple[float, float]:
        """Seconds spent on this aim, and left for it and later ones."""
        now = time.monotonic()
        return self._spent + now - self._since, self._until - now

    def _begin(self, proved: int, limit: int) -> None:
        self.proved, self.nodes = proved, 0
        self._spent, self._since = 0.0, time.monotonic()
        self.price = proved + max(1, int(self._step))
        if self.price + 0.25 * self._step >= limit:
            self.price = math.inf


def _change(times: float, rise: float) -> float:
    """Factor of a step, over which the logarithm of nodes rises by ``rise``, for so many times the work."""
    return min(FASTER, max(SLOWER, math.log(max(times, 1.1)) / rise))
