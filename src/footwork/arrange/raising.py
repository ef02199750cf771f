"""Raising: what settled stations stand in the way of, told to a node after a few passes, compiled.

A walk to a door has a length for each label of its station.  What it is longer by, round the floor that is
certain to be covered, joins the price of that label, and a label from which nobody could walk to the door
dies.  That takes no copy of the prices and about as many walks as the node has spots, so it is done in large
nodes too, where lifting (``lifting.py``) would take too long.
"""

from __future__ import annotations

import math

import numpy as np

from footwork.arrange.fleet import copied, stamp
from footwork.arrange.lifting import nearest_walk, part_begins
from footwork.arrange.living import Living, Problem, State, Whole
from footwork.arrange.settled import OF_STATION, OF_VISIT, Ways, settle_floor, take_floor
from footwork.arrange.tables import Floats, Longs
from footwork.floor.compiled import bare, entry, inner
from footwork.floor.contact import Arrays
from footwork.floor.desk import Desk, new_desk


@bare
def charge(state: State, label: Whole, weight: float, more: float) -> None:
    """Add to a label what its walk is longer by, metres; without a walk the label dies."""
    if more == math.inf:
        state.alive[label] = False
    else:
        # Two units for the rounding of what was known: too little, never too much.
        state.theta[label] += np.int64(max(0.0, weight * more - 2.0))


@inner
def raise_own(
    root: Problem, live: Living, state: State, ways: Ways, scene: Arrays, around: Floats, w: int,
    numbers: Longs, joined: Longs, desk: Desk,
) -> None:  # fmt: skip
    """Charge labels for a way to a door, or between a station's own sides; ``numbers`` is ``Ways.origin``.

    A patch is charged the least that any of its spots is longer by: not what its least way is, as the spot of
    the least way to one door may not be that of the least way to another.
    """
    a = ways.a[w]
    ka = ways.numbers[ways.places_a[w, 0] : ways.places_a[w, 1]]
    kb = ways.numbers[ways.places_b[w, 0] : ways.places_b[w, 1]]
    each = len(ka) if ways.target[w] == OF_VISIT else 1
    label = live.label[ways.goal[w]]
    if ways.target[w] == OF_VISIT:
        label += part_begins(root, live.first, ways.part_a[w])
    for x in live.spots[live.first[a] : live.first[a + 1]]:
        for i in range(each):
            places = ka[i : i + 1] if ways.target[w] == OF_VISIT else ka
            more, walked = math.inf, False
            for k in range(ways.member[x], ways.member[x + 1]):
                m = ways.members[k]
                known = np.float64(ways.metres[ways.known[w] + (m - ways.first[a]) * each + i])
                if known == math.inf:
                    continue
                stamp(scene, ways.slots, a, ways.stamps, numbers[m])
                y = numbers[m] if ways.b[w] == a else -1
                new = nearest_walk(ways, scene, around, w, numbers[m], places, y, kb, known, joined, desk)
                more, walked = min(more, new - known), True
            if walked:
                charge(state, label, ways.weight[w], more)
            label += 1


@entry
def raise_labels(root: Problem, live: Living, state: State, ways: Ways) -> None:
    """Charge a node's labels for what is certain to stand in the way to a door."""
    scene = copied(ways.scene)
    n = len(ways.absent)
    around = np.empty((n, 4))
    for s in range(n):
        settle_floor(ways, scene, live, live.spots, s, around)
    numbers = ways.origin.astype(np.int64)
    joined, desk = np.zeros(len(scene.first) - 1, np.int64), new_desk(scene)
    for w in range(len(ways.a)):
        if ways.target[w] in (OF_STATION, OF_VISIT):
            # The station stands on the spot in question instead.
            take_floor(scene, ways.slots, n + ways.a[w])
            raise_own(root, live, state, ways, scene, around, w, numbers, joined, desk)
            settle_floor(ways, scene, live, live.spots, ways.a[w], around)
