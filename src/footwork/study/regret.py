"""Costs of layouts when nobody knows how often each job is done: figures over a box of frequencies.

A layout costs so many metres for each time a job is done, and some that do not depend on that (wishes,
failed checks).  So what one layout costs more than another is linear in the frequencies, and over a box of
ranges its greatest value lies where each job is done most often if the one layout is longer for it, and least
often if it is shorter: the linear program over the box is solved by looking at each job by itself.  The
regret of a layout is what it costs more than the best of the set, once the frequencies are known; the
greatest regret is that at the worst of all frequencies in the box, which is the greatest over the rivals, so
it is exact for the set.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Costs:
    """Layouts under frequencies that are not known.

    ``each`` (layouts, jobs): metres that a job costs each time it is done; ``plain`` (layouts,): metres a
    year whatever is done.  ``low``, ``told`` and ``high`` (jobs,): times a year.
    """

    each: Floats
    plain: Floats
    low: Floats
    told: Floats
    high: Floats

    def at(self, times: Floats) -> Floats:
        """Metres a year of each layout when jobs are done so often."""
        found: Floats = self.plain + self.each @ times
        return found

    @property
    def worst(self) -> Floats:
        """Metres a year of each layout when every job is done most often."""
        return self.at(self.high)

    @property
    def middle(self) -> Floats:
        """Metres a year to be expected of each layout where every frequency of a range is as likely."""
        return self.at((self.low + self.high) / 2)

    def behind(self) -> Floats:
        """(layouts, layouts): the most that the first may cost more than the second."""
        more = self.each[:, None, :] - self.each[None, :, :]
        found: Floats = self._plainly() + np.maximum(more * self.low, more * self.high).sum(axis=2)
        return found

    def _plainly(self) -> Floats:
        found: Floats = self.plain[:, None] - self.plain[None, :]
        return found

    def regrets(self) -> Floats:
        """The greatest regret of each layout, metres a year."""
        found: Floats = self.behind().max(axis=1)
        return found

    def rival(self, layout: int) -> int:
        """The layout that would have been best where this one is regretted most."""
        return int(np.argmax(self.behind()[layout]))

    def worst_times(self, layout: int) -> Floats:
        """The frequencies at which this layout is regretted most."""
        more = self.each[layout] - self.each[self.rival(layout)]
        return np.where(more > 0, self.high, np.where(more < 0, self.low, self.told))

    def flips(self) -> list[tuple[int, int]]:
        """Pairs of layouts of which the first costs less as told and may cost more within the ranges."""
        told, behind = self.at(self.told), self.behind()
        count = len(self.plain)
        pairs = [(a, b) for a in range(count) for b in range(count) if a != b]
        return [(a, b) for a, b in pairs if told[a] < told[b] and behind[a, b] > 0.0]

    def even_at(self, first: int, second: int, job: int) -> float | None:
        """Times a year of one job, the others as told, at which two layouts cost the same; None where that is
        not within its range."""
        more = self.each[first, job] - self.each[second, job]
        rest = self.at(self.told)[first] - self.at(self.told)[second] - more * self.told[job]
        if more == 0.0:
            return None
        times = float(-rest / more)
        return times if self.low[job] <= times <= self.high[job] else None

    def if_counted(self, job: int) -> float:
        """The least greatest regret that is left once one job's frequency is known, at the worst it may be.

        For each frequency that is the least of the greatest of lines: its top lies at an end of the range or
        where two of the lines cross.
        """
        more = self.each[:, None, :] - self.each[None, :, :]
        others = np.delete(np.maximum(more * self.low, more * self.high), job, axis=2).sum(axis=2)
        height, slope = self._plainly() + others, more[:, :, job]
        times = np.array([*_crossings(height.ravel(), slope.ravel(), self.low[job], self.high[job])])
        best = np.full(len(times), np.inf)
        for layout in range(len(self.plain)):
            lines = height[layout][:, None] + slope[layout][:, None] * times
            best = np.minimum(best, lines.max(axis=0))
        return float(best.max())


def _crossings(height: Floats, slope: Floats, low: float, high: float) -> Sequence[float]:
    """Both ends of a range, and where any two lines cross within it."""
    lines = np.unique(np.column_stack((height, slope)), axis=0)
    steeper = lines[:, None, 1] - lines[None, :, 1]
    with np.errstate(divide="ignore", invalid="ignore"):
        at = -(lines[:, None, 0] - lines[None, :, 0]) / steeper
    inside = at[np.isfinite(at) & (at > low) & (at < high)]
    return [low, high, *np.unique(inside).tolist()]
