"""Things that may change places without anything changing: one layout of theirs stands for all.

Of alike things nothing tells one from the other, so a layout costs what it costs with the two changed over.
Among layouts that differ in that alone the bound looks at the one in which they stand in order: spots of two
alike things out of order clash, where each could take the other's.  Every layout comes to such a one by
changing over two things at a time, which puts a lower spot first each time and so comes to an end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from footwork.arrange.core.arrays import Bools, Ints
from footwork.arrange.core.pairwise import Tables
from footwork.arrange.spots.enumerate import SpotList
from footwork.arrange.spots.layers import Thing
from footwork.model.scenario import Placement, Scenario, Station


def alike(scenario: Scenario, lists: Sequence[SpotList]) -> tuple[tuple[int, ...], ...]:
    """Groups of things, by number, of which the file says the same of each and names none alone."""
    by_group: dict[str, list[int]] = {}
    named = _named_alone(scenario)
    for number, spots in enumerate(lists):
        thing = spots.thing
        if isinstance(thing, Station) and thing.use == "nearest" and thing.name not in named:
            by_group.setdefault(thing.group, []).append(number)
    return tuple(
        tuple(group)
        for group in by_group.values()
        if len(group) > 1 and len({_but_for_the_name(lists[i].thing) for i in group}) == 1
    )


def _but_for_the_name(thing: Thing) -> Thing:
    return replace(thing, name="")


def _named_alone(scenario: Scenario) -> set[str]:
    """Names of things that the file says something of, and not of all of their group."""
    named = {v.members[0] for job in scenario.jobs for v in job.route if len(v.members) == 1}
    named |= {word for job in scenario.jobs for carry in job.carry for word in (carry.start, carry.end)}
    named |= {word for job in scenario.jobs for word in job.outside}
    named |= {name for job in scenario.jobs for name, _ in job.minutes}
    for wish in scenario.prefer:
        named |= {wish.station, wish.near or "", wish.apart_from or ""}
    return named | {name for spot in scenario.spots for name in spot.takes}


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
