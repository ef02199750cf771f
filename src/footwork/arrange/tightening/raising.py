"""Raising: what settled stations stand in the way of, told to a node after a few passes, compiled.

A walk to a door has a length for each label of its station.  What it is longer by, round the floor that is
certain to be covered, joins the price of that label, and a label from which nobody could walk to the door
dies.  That takes no copy of the prices and about as many walks as the node has spots, so it is done in large
nodes too, where lifting (``tightening/tighten.py``) would take too long.
"""

from __future__ import annotations

import math

import numpy as np

from footwork.arrange.relaxation.model import Living, Problem, State
from footwork.arrange.spots.stamps import copied
from footwork.arrange.tightening.compulsory import OF_STATION, OF_VISIT, Ways, settle_floor, take_floor
from footwork.arrange.tightening.tighten import charge, longer_own, own_labels
from footwork.floor.compiled import entry
from footwork.floor.desk import new_desk


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
            label = own_labels(root, live, ways, w)
            for more in longer_own(live, ways, scene, around, live.spots, w, numbers, joined, desk):
                if more == math.inf:
                    state.alive[label] = False
                else:
                    state.theta[label] += charge(ways.weight[w], more)
                label += 1
            settle_floor(ways, scene, live, live.spots, ways.a[w], around)
