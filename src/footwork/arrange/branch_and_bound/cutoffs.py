"""What the bound's tree sets out to prove: a cost below the incumbent's first, then higher ones.

Costs are integers as in ``relaxation/scaling.py``.  A tree that is to show that nothing costs less than its
*cutoff* drops every spot that no layout below the cutoff can use, and every node that reaches it.  The lower
the cutoff, the less is left to look at.  So the tree is grown anew for each artificial cutoff (destructive
bounds; Klein and Scholl 1999), which pays where a proof of the incumbent is out of reach.
"""

from __future__ import annotations

import math
import time

FIRST_NODES = 100
"""Nodes worked with the incumbent's cost as the cutoff before lower ones are tried."""
FIRST_PART = 0.05
"""Part of the time that this may take."""
PARTS = 8
"""The first step of the cutoff is one of so many parts of the gap."""
TIMES = 3.5
"""How many times the work of the cutoff before a cutoff is to take."""
EARLY_TIMES = 60.0
"""The same at most where that had few nodes, from which little can be told."""
SURE = 0.7
"""Part of the time left that cutoffs are to take: one that is not reached was for little."""
STEEPNESS = 40.0
"""Rise of the logarithm of a cutoff's nodes over one incumbent's cost, at the least: half more for a
hundredth of it.  Rooms rise by 18 to 50, most by more where cutoffs are high than on the way there."""
LONGER, SHORTER = 2.5, 0.3
"""By how much a step is greater or less than the one before, at most."""
LAST_PART = 0.25
"""Part of a step by which the incumbent may be beyond the next cutoff and be the next cutoff itself."""
LEAST_SECONDS = 1e-9
"""Seconds that a cutoff counts as having taken at the least, to be divided by."""


class Cutoffs:
    """The artificial cutoff and how it rises.

    ``artificial`` is the cutoff, infinite where it is the incumbent's cost; ``proved`` what no layout
    undercuts for sure, by earlier cutoffs; ``nodes`` how many were worked for this one.
    """

    def __init__(self, staged: bool) -> None:
        self.artificial = math.inf
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
        """Whether the first try at the incumbent's cost has taken its nodes, or its time."""
        if not self._staged or self._step > 0.0 or self.nodes == 0:
            return False
        spent, left = self._times()
        return self.nodes >= FIRST_NODES or spent > FIRST_PART * (spent + left)

    def lower(self, least: int, incumbent: int) -> None:
        """Begin with a lower cutoff: ``least`` is proven, ``incumbent`` the best layout's cost."""
        self._step = (incumbent - least) / PARTS
        self._begin(least, incumbent)

    def rise(self, incumbent: int) -> None:
        """The cutoff is proven: on to the next one."""
        spent, left = self._times()
        most, rise = SURE * left / max(spent, LEAST_SECONDS), STEEPNESS * self._step / incumbent
        if self.nodes <= FIRST_NODES:
            # In large problems so few nodes take seconds.
            self._step *= _change(min(most, EARLY_TIMES), rise)
        elif self._before:
            # Two more cutoffs, or one that takes all of the time.
            times = TIMES if most > TIMES + TIMES * TIMES else most
            self._step *= _change(times, max(math.log(self.nodes / self._before), rise))
        self._before = self.nodes
        self._begin(int(self.artificial), incumbent)

    def _times(self) -> tuple[float, float]:
        """Seconds spent on this cutoff, and left for it and later ones."""
        now = time.monotonic()
        return self._spent + now - self._since, self._until - now

    def _begin(self, proved: int, incumbent: int) -> None:
        self.proved, self.nodes = proved, 0
        self._spent, self._since = 0.0, time.monotonic()
        self.artificial = proved + max(1, int(self._step))
        if self.artificial + LAST_PART * self._step >= incumbent:
            self.artificial = math.inf


def _change(times: float, rise: float) -> float:
    """Factor of a step, over which the logarithm of nodes rises by ``rise``, for so many times the work."""
    return min(LONGER, max(SHORTER, math.log(max(times, 1.1)) / rise))
