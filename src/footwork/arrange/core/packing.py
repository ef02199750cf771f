"""Packing constraints of a pairwise problem: what at most so many spots of a choice may share."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from footwork.arrange.core.arrays import Ints, Longs


@dataclass(frozen=True)
class Packing:
    """What at most so many spots of a choice may share, in CSR form over spots.

    ``points[start[s]:start[s + 1]]`` are the things spot s has a share in: points of the floor its
    footprint covers (``capacity`` 1), or the count of stations moved from a base (capacity K).
    """

    start: Ints
    points: Ints
    capacity: Longs

    @staticmethod
    def none(spots: int) -> Packing:
        return Packing(np.zeros(spots + 1, np.int32), np.zeros(0, np.int32), np.zeros(0, np.int64))

    def reordered(self, order: Ints) -> Packing:
        """The same for spots renumbered so that new spot k is old spot ``order[k]``."""
        lengths = np.diff(self.start)[order]
        start = np.concatenate(([0], np.cumsum(lengths))).astype(np.int32)
        parts = [self.points[self.start[s] : self.start[s + 1]] for s in order]
        points = np.concatenate(parts) if parts else self.points
        return Packing(start, points.astype(np.int32), self.capacity)

    def with_moved(self, base: Ints, moves: int) -> Packing:
        """One more shared thing: every spot but the base's counts against ``moves``."""
        extra = len(self.capacity)
        is_base = np.zeros(len(self.start) - 1, bool)
        is_base[base[base >= 0]] = True
        parts: list[Ints] = []
        for s in range(len(is_base)):
            own = self.points[self.start[s] : self.start[s + 1]]
            parts.append(own if is_base[s] else np.append(own, np.int32(extra)))
        start = np.concatenate(([0], np.cumsum([len(p) for p in parts]))).astype(np.int32)
        return Packing(
            start, np.concatenate(parts).astype(np.int32), np.append(self.capacity, np.int64(moves))
        )
