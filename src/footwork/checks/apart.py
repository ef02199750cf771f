"""How far two things must stand apart wherever they stand, as one number for the tables of spots."""

from __future__ import annotations

from footwork.checks import hazards
from footwork.checks.beside import VEHICLE_MARGIN, kept_apart
from footwork.checks.ground import Ground, Thing


def least_apart(ground: Ground, one: Thing, two: Thing, strict: bool = False) -> float:
    """Metres that two things keep from each other because of hazards, or because one is a vehicle that is in.

    0 where none is asked, or where what is asked depends on where they stand.  ``strict`` takes `should` for
    `must`.
    """
    margin = (
        kept_apart(ground, one, two) if strict or ground.under(VEHICLE_MARGIN).severity == "must" else 0.0
    )
    return max(margin, hazards.least_apart(ground, one, two, strict))
