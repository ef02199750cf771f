"""Discs that would lie on each other, moved apart as little as it takes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from footwork.show.board import Points

_ROUNDS = 200


def spread(centres: Points, radii: Sequence[float], gap: float) -> Points:
    """``centres`` (millimetres, shape (n, 2)) moved until discs of ``radii`` are ``gap`` apart.

    Two discs share the way by their size, the larger moving less.  The same input gives the same result.
    """
    at = np.array(centres, float).reshape(-1, 2)
    for _ in range(_ROUNDS):
        moved = False
        for i in range(len(at)):
            for j in range(i + 1, len(at)):
                need = radii[i] + radii[j] + gap
                between = at[j] - at[i]
                far = float(np.hypot(*between))
                if far >= need - 1e-6:
                    continue
                way = between / far if far > 1e-6 else np.array([1.0, 0.0])
                share = radii[j] / (radii[i] + radii[j]) if radii[i] + radii[j] > 0 else 0.5
                at[i] -= way * (need - far) * share
                at[j] += way * (need - far) * (1 - share)
                moved = True
        if not moved:
            break
    return at
