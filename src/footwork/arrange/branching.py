"""Where a node of the tree is split, compiled: on which station, and its spots into which groups.

A station's spots are split by where they stand into at most four groups.  Each group has a bound
already: the least min-marginal of its spots.  The station whose groups' bounds rise most on average
is taken: its children are worked with the least left of the gap.  (Measured against the station whose
decoded spot is most disputed: with standing places and lifting in play the disputed one is often a
station that hardly matters, and the tree grew three times as large.)
"""

from __future__ import annotations

import numpy as np

from footwork.arrange.tables import Bytes, Floats, Ints, Longs
from footwork.floor.compiled import entry, inner

SINGLES = 4
"""Spots up to which each is a group of its own."""


@inner
def halve(places: Floats, members: Longs, group: Bytes, low: int, high: int) -> None:
    """Give the half of ``members`` that lies lower along the longer way the number low, the others high."""
    width = np.ptp(places[members, 0])
    depth = np.ptp(places[members, 1])
    along = places[members, 0] if width >= depth else places[members, 1]
    ranked = members[np.argsort(along, kind="mergesort")]
    middle = len(ranked) // 2
    group[ranked[:middle]] = low
    group[ranked[middle:]] = high


@inner
def groups(places: Floats) -> Bytes:
    """The group of each of some spots: near one another, at most four; singles when four or fewer.

    ``places`` (k, 2) says where each stands.  Halved at the median along the longer way, twice.
    """
    k = len(places)
    group = np.zeros(k, np.uint8)
    if k <= SINGLES:
        for x in range(k):
            group[x] = x
        return group
    halve(places, np.arange(k), group, 0, 2)
    for low in (0, 2):
        halve(places, np.nonzero(group == low)[0], group, low, low + 1)
    return group


@entry
def choose(
    places: Floats, spots: Ints, first: Ints, marginal: Longs, paid: Longs, key: int, limit: int
) -> tuple[int, Bytes]:
    """The station to split a node on, and the group of each of its spots.

    places    (k, 2) where each spot of the problem stands; ``spots`` the node's
    marginal  by the node's spots; ``paid`` what each station's decoded spot paid, which breaks ties
    key       the node's bound, ``limit`` the price of no use

    The last station, the hub, comes first of all.
    """
    n = len(first) - 1
    if first[n] - first[n - 1] > 1:
        return n - 1, groups(places[spots[first[n - 1] : first[n]]])
    best, station = -np.inf, -1
    for i in range(n):
        count = first[i + 1] - first[i]
        if count < 2:
            continue
        group = groups(places[spots[first[i] : first[i + 1]]])
        number = np.max(group) + 1
        least = np.full(number, limit, np.int64)
        for x in range(count):
            least[group[x]] = min(least[group[x]], max(marginal[first[i] + x], key))
        score = np.mean((least - key).astype(np.float64)) + 1e-3 * paid[i] / np.log2(count + 1.0)
        if score > best:
            best, station = score, i
    return station, groups(places[spots[first[station] : first[station + 1]]])
