"""What the wishes cost, as sums over one thing or two: on spots, and at least on cells."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from footwork.arrange.core.arrays import Floats
from footwork.arrange.pair_table.legs import Things
from footwork.arrange.spots.enumerate import SpotList, first_spots
from footwork.floor.wishes import to_building, wish_terms
from footwork.model.scenario import Prefer, Scenario

WishTerm = tuple[Prefer, int, int | None]
"""A wish, the thing it is about, and the one it is measured to (None: the building)."""


def terms_of_wishes(scenario: Scenario, number: Mapping[str, int]) -> Iterator[WishTerm]:
    """The wishes as far as they are sums over one thing or two.

    A wish measured to the nearest of several alike stations is no such sum.  The nearest is no further than
    the first: where further costs less the first stands for all, elsewhere the wish is left out (0).
    """
    for wish in scenario.prefer:
        for name, others in wish_terms(scenario, wish):
            if not others:
                yield wish, number[name], None
            elif len(others) == 1 or (wish.near is None) == (wish.weight > 0):
                yield wish, number[name], number[others[0]]


def least_cost(wish: Prefer, least: Floats, most: Floats) -> Floats:
    """The least that a wish costs when its distance is from ``least`` to ``most`` metres."""
    if wish.near is not None:
        return wish.weight * (least if wish.weight >= 0 else most)
    return wish.weight * np.maximum(0.0, wish.by - (most if wish.weight >= 0 else least))


def to_building_cost(scenario: Scenario, wish: Prefer, at: Floats, reach: Floats | float = 0.0) -> Floats:
    """The least that a wish measured to the building costs within ``reach`` metres of each of the places
    ``at``; 0 where the building has nothing of that name."""
    target = wish.near or wish.apart_from or ""
    metres = np.array([to_building(scenario.room, (x, y), target) for x, y in at.tolist()], np.float64)
    known = np.isfinite(metres)  # None, where there is nothing of that name, has become nan
    metres = np.where(known, metres, 0.0)
    return np.where(known, least_cost(wish, np.maximum(metres - reach, 0.0), metres + reach), 0.0)


def wish_costs(scenario: Scenario, lists: Sequence[SpotList]) -> tuple[Floats, dict[Things, Floats]]:
    """What the wishes cost: by spot, and by pair of things (i < j) an array (spots of i, spots of j)."""
    number = {spots.thing.name: k for k, spots in enumerate(lists)}
    at = [np.array([p.at for p in spots.placements]).reshape(-1, 2) for spots in lists]
    first = first_spots(lists)
    unary = np.zeros(first[-1])
    pairs: dict[Things, Floats] = {}
    for wish, i, j in terms_of_wishes(scenario, number):
        if j is None:
            unary[first[i] : first[i + 1]] += to_building_cost(scenario, wish, at[i])
        else:
            low, high = min(i, j), max(i, j)
            metres = np.hypot(*(at[low][:, None] - at[high][None]).transpose(2, 0, 1))
            cost = least_cost(wish, metres, metres)
            pairs[low, high] = pairs.get((low, high), np.zeros(cost.shape)) + cost
    return unary, pairs
