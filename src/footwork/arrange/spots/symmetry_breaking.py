"""Of the layouts that differ in nothing but which of alike things stands where, one stands for all.

The bound looks at the one in which they stand in order: spots of two alike things out of order clash, where
each could take the other's.  Every layout comes to such a one by changing over two things at a time, which
puts a lower spot first each time and so comes to an end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from footwork.arrange.core.arrays import Bools, Ints
from footwork.arrange.core.pairwise import Tables
from footwork.arrange.spots.enumerate import SpotList
from footwork.model.scenario import Placement


def in_order(tables: Tables, lists: Sequence[SpotList], groups: Sequence[Sequence[int]]) -> Tables:
    """``tables`` in which alike things clash where they stand out of order."""
    pair = tables.pair.copy()
    for group in groups:
        for i, j in combinations(group, 2):
            a, b = (slice(*tables.first[k : k + 2].tolist()) for k in (i, j))
            wrong = _out_of_order(lists[i].placements, lists[j].placements)
            pair[a, b][wrong] = tables.clash
            pair[b, a][wrong.T] = tables.clash
    return replace(tables, pair=pair)


def _out_of_order(one: Sequence[Placement], other: Sequence[Placement]) -> Bools:
    """(spots of one, spots of the other): whether the first is the greater, and each has the other's."""
    ranks = {at: k for k, at in enumerate(sorted({*one, *other}, key=_key))}
    both = set(one) & set(other)
    p, q = (np.array([ranks[at] for at in spots]) for spots in (one, other))
    swap_p, swap_q = (np.array([at in both for at in spots]) for spots in (one, other))
    found: Bools = (p[:, None] > q[None]) & swap_p[:, None] & swap_q[None]
    return found


def _key(at: Placement) -> tuple[float, float, float]:
    return at.x, at.y, at.facing


def ordered(choice: Ints, tables: Tables, lists: Sequence[SpotList], groups: Sequence[Sequence[int]]) -> Ints:
    """The choice with alike things changed over until none are out of order."""
    found = choice.copy()
    for group in groups:
        changed = True
        while changed:
            changed = False
            for i, j in combinations(group, 2):
                p, q = (lists[k].placements[int(found[k] - tables.first[k])] for k in (i, j))
                if _key(p) > _key(q) and q in lists[i].placements and p in lists[j].placements:
                    found[i] = tables.first[i] + lists[i].placements.index(q)
                    found[j] = tables.first[j] + lists[j].placements.index(p)
                    changed = True
    return found
