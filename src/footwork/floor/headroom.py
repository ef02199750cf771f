"""What hangs, and what has its place below it: heights decide whether two footprints share the floor.

A thing hangs when its underside, ``from_floor``, is above the floor.  What is known to be no taller than
that stands, rolls or drives below it; people walk below what leaves them headroom.  Whatever hangs lower is
in a walker's way like anything else.  Metres.
"""

from __future__ import annotations

from footwork.model.scenario import TOLERANCE, Door, Station, Vehicle

HEADROOM = 2.03
"""6 ft 8 in, the least headroom on a way out: 29 CFR 1910.36(g)(1) (from a secondary text)."""


def underside(thing: Station | Vehicle) -> float:
    """How far a thing begins above the floor; 0 for what stands on it."""
    return thing.from_floor if isinstance(thing, Station) else 0.0


def hangs_above(thing: Station | Vehicle, height: float) -> bool:
    """Whether a thing hangs, all of it, at a height or above."""
    return underside(thing) > 0.0 and underside(thing) >= height - TOLERANCE


def overhead(thing: Station | Vehicle) -> bool:
    """Whether people walk below a thing, and work there."""
    return hangs_above(thing, HEADROOM)


def fits_below(lower: Station | Vehicle, upper: Station | Vehicle) -> bool:
    """Whether ``lower`` may stand below ``upper``: its top is known, and no higher than the underside."""
    return lower.height is not None and hangs_above(upper, lower.height)


def share_floor(one: Station | Vehicle, other: Station | Vehicle) -> bool:
    """Whether footprints of two things may overlap, as one of the two hangs above the other."""
    return fits_below(one, other) or fits_below(other, one)


def above_door(thing: Station | Vehicle, door: Door) -> bool:
    """Whether a door's leaf passes below a thing; one of no known height is as high as people need it."""
    return hangs_above(thing, HEADROOM if door.height is None else door.height)


def reach_over(thing: Station | Vehicle) -> float:
    """How far before its face a thing is worked from: what stands below a hanging one is reached over."""
    return thing.reach if isinstance(thing, Station) and thing.from_floor > 0.0 else 0.0
