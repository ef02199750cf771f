"""Unary consistency: spots that the building alone refuses are gone before any other thing stands.

The checks themselves decide (``checks.run.faults_alone``); compiled overlap tests over all positions of
one facing at once go first, refuse what surely fails (``layers.building_rules``), and leave to the checks
what is in doubt: stock that may pass an opening, the sliding space before a panel, whatever is no plain
overlap.
"""

from __future__ import annotations

from collections.abc import Sequence
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
from footwork.checks.case import Alone
from footwork.checks.doors import door_spaces, leaves, panel_spaces
from footwork.checks.fittings import LEAD_REACH, burns, heaters, needed
from footwork.checks.ground import Ground, Placed
from footwork.checks.openings import WINDOW_SILL, sills
from footwork.checks.rule import Rule
from footwork.checks.run import ALONE
from footwork.checks.standing import named
from footwork.checks.wheelchair import approaches
from footwork.floor import shapes
from footwork.floor.overlap import Flat, flatten
from footwork.floor.shapes import FloatArray
from footwork.model.scenario import TOLERANCE, Placement, Scenario, Station, Vehicle

SURE = frozenset(("in-room", "no-overlap", "keep-clear", "strips-clear", "service-clear", "wheelchair"))
"""Checks of a station against the building that the compiled tests decide for good."""


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
        doubt = through | self._doubtful(thing, parts, at)
        for number, (x, y) in enumerate(at.tolist()):
            if not names[number] and doubt[number]:
                placed = Placed(thing, Placement(x, y, facing))
                names[number] = self._in_doubt(placed, bool(through[number]))
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

    def _in_doubt(self, placed: Placed, through: bool) -> str:
        """The check that refuses a placement which the sure tests have passed, or ""."""
        settled = SURE if isinstance(placed.thing, Station) else frozenset[str]()
        for check, alone in self._musts:
            if check in settled or (check == "stock-clear" and settled and not through):
                continue
            if any(alone(self.ground, placed)):
                return check
        return ""

    @cached_property
    def _musts(self) -> list[tuple[str, Alone]]:
        """The checks of one thing that may refuse a placement here, each with its id."""
        return [(rule.id, alone) for rule, alone in ALONE if self._asked(rule)]

    def accepts(self, thing: Thing, placement: Placement) -> bool:
        """Whether no check against the building refuses a placement."""
        fault = next(checks.faults_alone(self.ground, Placed(thing, placement), self.strict), None)
        return fault is None

    def _doubtful(self, thing: Thing, parts: Sequence[tuple[str, FloatArray]], at: FloatArray) -> Bools:
        """Positions that the checks themselves must look at."""
        ground = self.ground
        doubt = np.zeros(len(at), np.bool_)
        if isinstance(thing, Vehicle) or thing.within or thing.placing != "any":
            doubt[:] = True
        if isinstance(thing, Station) and self._asked_by_distance(thing):
            doubt[:] = True
        if isinstance(thing, Station) and thing.ignition_height is not None:
            doubt[:] = True
        special = [space.sweep for space in (*panel_spaces(ground), *door_spaces(ground))]
        special += [floor for _, floor in leaves(ground)]
        special += [floor for _, floor in sills(ground)] if self._asked(WINDOW_SILL) else []
        return doubt | self._hits(parts, "body", at, flat(special))

    def _asked_by_distance(self, station: Station) -> bool:
        """Whether a check of the building may refuse a station for how far it stands from something."""
        here = Placed(station, Placement(0.0, 0.0, 180.0))
        heated = burns(here) and any(True for _ in heaters(self.ground))
        return heated or (self._asked(LEAD_REACH) and bool(needed(self.ground, station)))

    def _asked(self, rule: Rule) -> bool:
        """Whether a check that is a should by itself is a must here."""
        return self.strict or self.ground.under(rule).severity == "must"

    def _hits(
        self, parts: Sequence[tuple[str, FloatArray]], layer: str, at: FloatArray, against: Flat
    ) -> Bools:
        return hits([ring for kind, ring in parts if kind == layer], at, against)
