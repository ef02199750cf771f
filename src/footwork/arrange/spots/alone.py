"""Unary consistency: spots that the building alone refuses are gone before any other thing stands.

The checks themselves decide (``checks.run.faults_alone``); compiled overlap tests over all positions of
one facing at once go first, refuse what surely fails (``layers.building_rules``), and leave to each check
what it has to look at itself: stock that may pass an opening, the sliding space before a panel, whatever is
no plain overlap.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from footwork import checks
from footwork.arrange.core.arrays import Bools
from footwork.arrange.spots.layers import (
    Thing,
    building_rules,
    is_must,
    layers,
    openings,
    wheelchair_must,
)
from footwork.arrange.spots.overlaps import flat, hits
from footwork.checks.beside import DOOR_SHUT, DRIVER_DOOR, VEHICLE_MARGIN
from footwork.checks.case import Alone
from footwork.checks.doors import (
    DOOR_SWING,
    DOOR_WAY,
    KEEP_CLEAR,
    OPEN_LEAF,
    PANEL_SPACE,
    door_spaces,
    leaves,
    panel_spaces,
)
from footwork.checks.fittings import (
    EXTINGUISHER_CLEAR,
    HEATER_CLEAR,
    LEAD_REACH,
    TAP_REACH,
    burns,
    heaters,
    needed,
)
from footwork.checks.ground import Body, Ground, Placed
from footwork.checks.hazards import IGNITION_HEIGHT
from footwork.checks.openings import OPENING_CLEAR, VEHICLE_OPENING, WINDOW_SILL, sills
from footwork.checks.parking import PARKED
from footwork.checks.rule import Rule
from footwork.checks.run import ALONE
from footwork.checks.standing import IN_ROOM, NO_OVERLAP, PLACING, WITHIN, named
from footwork.checks.strips import SERVICE_CLEAR, STOCK_CLEAR, STRIPS_CLEAR
from footwork.checks.vehicles import DRIVE_IN, VEHICLE_AROUND
from footwork.checks.wheelchair import WHEELCHAIR, approaches
from footwork.floor import shapes
from footwork.floor.overlap import Flat, flatten
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import TOLERANCE, Placement, Scenario, Station, Vehicle

SURE = frozenset(
    rule.id
    for rule in (
        *(IN_ROOM, NO_OVERLAP, KEEP_CLEAR, STRIPS_CLEAR, SERVICE_CLEAR, WHEELCHAIR, DOOR_SWING),
        *(OPENING_CLEAR, VEHICLE_OPENING, EXTINGUISHER_CLEAR, PARKED),
    )
)
"""Checks of a station against the building that the compiled tests decide for good."""

OF_VEHICLES = frozenset(
    rule.id for rule in (DRIVE_IN, VEHICLE_AROUND, DOOR_SHUT, VEHICLE_MARGIN, DRIVER_DOOR)
)
"""Checks of one thing alone that have nothing to say of a station."""


@dataclass(frozen=True)
class UnaryConsistency:
    """Refuses the positions of a thing that the building alone forbids."""

    scenario: Scenario
    strict: bool
    ground: Ground = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "ground", Ground(self.scenario))

    def refusals(self, thing: Thing, facing: float, at: FloatArray) -> list[str]:
        """For each position (n, 2) of a thing in one facing the check that refuses it, or ""."""
        parts = layers(thing, Placement(0.0, 0.0, facing))
        names = [""] * len(at)
        for rule in building_rules(self.ground, thing, self.strict):
            layer = f"{rule.layer} rooted" if rule.rooted else rule.layer
            for k in np.nonzero(self._hits(parts, layer, at, flat(rule.bodies)))[0]:
                names[k] = names[k] or rule.check
        through = self._hits(parts, "stock rooted", at, flatten(tuple(openings(self.ground))))
        if is_must(self.scenario, "stock-clear", self.strict):
            hard = flat([*self.ground.building(), *self.ground.swings])
            for k in np.nonzero(self._hits(parts, "stock rooted", at, hard) & ~through)[0]:
                names[k] = names[k] or "stock-clear"
        if isinstance(thing, Station) and is_must(self.scenario, "within", self.strict):
            for k in np.nonzero(self._out_of_reach(thing, facing, at))[0]:
                names[k] = names[k] or "within"
        if isinstance(thing, Station) and wheelchair_must(self.scenario, self.strict):
            for k in np.nonzero(self._shut_off(thing, facing, at))[0]:
                names[k] = names[k] or "wheelchair"
        placed: dict[int, Placed] = {}
        for check, alone, doubt in self._doubts(thing, parts, at, through):
            for number, asked in enumerate(doubt.tolist()):
                if asked and not names[number]:
                    if number not in placed:
                        x, y = at[number].tolist()
                        placed[number] = Placed(thing, Placement(x, y, facing))
                    names[number] = check if any(True for _ in alone(self.ground, placed[number])) else ""
        return names

    def _out_of_reach(self, station: Station, facing: float, at: FloatArray) -> Bools:
        """Positions from which a lead is surely too long: too far even from box to box."""
        far = np.zeros(len(at), np.bool_)
        ring = shapes.footprint(station, Placement(0.0, 0.0, facing))
        low, high = at + ring.min(axis=0), at + ring.max(axis=0)
        for name, longest in station.within:
            near = np.zeros(len(at), np.bool_)
            for target in named(self.ground, name):
                corners = np.concatenate(target.pieces)
                gap = np.maximum(0.0, np.maximum(low - corners.max(axis=0), corners.min(axis=0) - high))
                near |= np.hypot(gap[:, 0], gap[:, 1]) <= longest + TOLERANCE
            far |= ~near
        return far

    def _shut_off(self, station: Station, facing: float, at: FloatArray) -> Bools:
        """Positions at which the building leaves no wheelchair the floor at a station."""
        hard, shut = self.ground.hard.flat, np.full(len(at), bool(station.stand))
        for approach in approaches(Placed(station, Placement(0.0, 0.0, facing))):
            shut &= hits(approach.pieces, at, hard)
        return shut

    @cached_property
    def _musts(self) -> list[tuple[str, Alone]]:
        """The checks of one thing that may refuse a placement here, each with its id."""
        return [(rule.id, alone) for rule, alone in ALONE if self._asked(rule)]

    def accepts(self, thing: Thing, placement: Placement) -> bool:
        """Whether no check against the building refuses a placement."""
        fault = next(checks.faults_alone(self.ground, Placed(thing, placement), self.strict), None)
        return fault is None

    def _doubts(
        self, thing: Thing, parts: Sequence[tuple[str, FloatArray]], at: FloatArray, through: Bools
    ) -> list[tuple[str, Alone, Bools]]:
        """The checks that must look at some positions themselves, in the order in which they are asked.

        Each with its id and which positions these are; ``through`` are those where stock may pass an opening.
        """
        every = np.ones(len(at), np.bool_)
        if isinstance(thing, Vehicle):
            return [(check, alone, every) for check, alone in self._musts]
        never, over = SURE | OF_VEHICLES, self._over(thing, parts, at) | {STOCK_CLEAR.id: through}
        found = [(check, alone, over.get(check, every)) for check, alone in self._musts if check not in never]
        return [one for one in found if one[2].any()]

    def _over(
        self, station: Station, parts: Sequence[tuple[str, FloatArray]], at: FloatArray
    ) -> dict[str, Bools]:
        """Positions at which a check of a station may fail, by its id: those over the floor that it asks
        about, or all or none by what the station is."""
        ground, here = self.ground, Placed(station, Placement(0.0, 0.0, 180.0))
        floors: dict[str, Iterable[Body]] = {
            PANEL_SPACE.id: (space.sweep for space in panel_spaces(ground)),
            DOOR_WAY.id: (space.sweep for space in door_spaces(ground)),
            OPEN_LEAF.id: (floor for _, floor in leaves(ground)),
            WINDOW_SILL.id: (floor for _, floor in sills(ground)),
        }
        concerned = {
            PLACING.id: station.placing != "any",
            WITHIN.id: bool(station.within),
            IGNITION_HEIGHT.id: station.ignition_height is not None,
            HEATER_CLEAR.id: burns(here) and any(True for _ in heaters(ground)),
            LEAD_REACH.id: "socket" in needed(ground, station),
            TAP_REACH.id: "tap" in needed(ground, station),
        }
        musts = {check for check, _ in self._musts}
        found = {
            check: self._hits(parts, "body", at, flat(floor))
            for check, floor in floors.items()
            if check in musts
        }
        return found | {check: np.full(len(at), asked) for check, asked in concerned.items()}

    def _asked(self, rule: Rule) -> bool:
        """Whether a check that is a should by itself is a must here."""
        return self.strict or self.ground.under(rule).severity == "must"

    def _hits(
        self, parts: Sequence[tuple[str, FloatArray]], layer: str, at: FloatArray, against: Flat
    ) -> Bools:
        return hits([ring for kind, ring in parts if kind == layer], at, against)
