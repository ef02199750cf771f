"""In which order to move things, what has to be set aside for it, and where it stands meanwhile: by CP-SAT.

No two footprints share the floor at any moment, but where one hangs above the other.  Each thing is lifted
once, or twice if it is set aside in between.  First the least weight is set aside, then the least weight is
carried the least far, in straight lines.  Vehicles are out meanwhile.  The way that a thing is carried is not
looked at, nor is what people need to walk and work: only where things stand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, permutations
from typing import Any, Literal

import numpy as np
import shapely
from ortools.sat.python import cp_model

from footwork.arrange.core.solver import cp_solver
from footwork.floor import shapes
from footwork.floor.headroom import share_floor
from footwork.floor.overlap import overlaps
from footwork.floor.plan import Plan
from footwork.floor.shapes import Pieces
from footwork.model.moved import has_moved
from footwork.model.scenario import TOLERANCE, Layout, Placement, Scenario, Station, Vehicle

KG_PER_SQUARE_METRE = 100.0
"""Of footprint, for a thing whose weight the file does not give: a loaded bench of two by three quarters of a
metre is some 150 kg.  What rolls counts a tenth."""
ROLLS = 0.1
PITCH = 0.25
"""Metres between the places tried for what is set aside."""
PLACES = 12
"""Of these, how many each thing may take, the nearest of those ``APART`` metres from each other: half of them
where nothing else ever stands, half where something does at times."""
APART = 0.5
EFFORT = 20.0
"""Deterministic time of the solver at most, which is about as many seconds."""


@dataclass(frozen=True, slots=True)
class Carry:
    """One thing carried: ``to`` its place, or ``aside`` to where it stands meanwhile, in metres.

    ``after`` None means out of the room, where there is no floor for it in it.
    """

    name: str
    kind: Literal["to its place", "aside"]
    before: Placement | None
    after: Placement | None
    kilograms: float

    @property
    def metres(self) -> float:
        """How far its centre goes, in a straight line; 0 where that leads out of the room."""
        if self.before is None or self.after is None:
            return 0.0
        return math.dist(self.before.at, self.after.at)

    def to_dict(self) -> dict[str, Any]:
        def place(at: Placement | None) -> dict[str, Any] | None:
            return None if at is None else {"at": [at.x, at.y], "facing": at.facing}

        return {
            "thing": self.name,
            "kind": self.kind,
            "from": place(self.before),
            "to": place(self.after),
            "metres": self.metres,
            "kilograms": self.kilograms,
        }


@dataclass(frozen=True, slots=True)
class Order:
    """What is carried, in order.  ``least``: no order sets less weight aside, nor carries it less far with
    the places for what is set aside that were tried."""

    carries: tuple[Carry, ...]
    least: bool

    @property
    def aside(self) -> tuple[Carry, ...]:
        """What is set aside."""
        return tuple(carry for carry in self.carries if carry.kind == "aside")

    def to_dict(self) -> dict[str, Any]:
        return {"carries": [carry.to_dict() for carry in self.carries], "least": self.least}


def kilograms(thing: Station | Vehicle) -> float:
    """What a thing counts when it is lifted; see ``KG_PER_SQUARE_METRE``."""
    if isinstance(thing, Station) and thing.weight is not None:
        weight = thing.weight
    else:
        weight = KG_PER_SQUARE_METRE * math.prod(thing.size)
    return weight * ROLLS if isinstance(thing, Station) and thing.castors else weight


def moving_order(scenario: Scenario, before: Layout, after: Layout) -> Order:
    """The order in which to move what stands elsewhere in ``after`` than in ``before``."""
    return _Problem(scenario, before, after).solved()


class _Problem:
    """Things that move, where each was and goes, and where each could stand meanwhile."""

    def __init__(self, scenario: Scenario, before: Layout, after: Layout) -> None:
        self.scenario = scenario
        old, new = Plan(scenario, before), Plan(scenario, after)
        self.old, self.new = old.placements, new.placements
        stations = [station.name for station in scenario.stations]
        self.moving = [name for name in stations if has_moved(self.old[name], self.new[name])]
        self.things = {station.name: station for station in scenario.stations}
        self._still = [(self.things[name], old.pieces(name)) for name in stations if name not in self.moving]
        self._at_old = {name: old.pieces(name) for name in self.moving}
        self._at_new = {name: new.pieces(name) for name in self.moving}
        self._floor = shapely.union_all(
            [
                shapely.Polygon(ring)
                for ring in (scenario.room.outline, *(y.outline for y in scenario.room.yards))
            ]
        ).buffer(TOLERANCE)
        shapely.prepare(self._floor)
        fixtures = [shapely.Polygon(f.outline) for f in scenario.room.fixtures if min(f.size) > TOLERANCE]
        self._fixtures = shapely.union_all(fixtures) if fixtures else shapely.Polygon()

    def solved(self) -> Order:
        """The best order.  Raises nothing: with everything set aside there always is one."""
        model = cp_model.CpModel()
        last = 2 * len(self.moving)
        leaves = {n: model.new_int_var(0, last, f"{n} leaves") for n in self.moving}
        arrives = {n: model.new_int_var(0, last, f"{n} arrives") for n in self.moving}
        places = {n: self._places(n) for n in self.moving}
        takes = {n: [model.new_bool_var("") for _ in places[n]] for n in self.moving}
        for name in self.moving:
            aside = sum(takes[name])
            model.add(aside <= 1)
            for take in takes[name]:
                model.add(arrives[name] > leaves[name]).only_enforce_if(take)
            model.add(arrives[name] == leaves[name]).only_enforce_if([take.negated() for take in takes[name]])
        for one, other in permutations(self.moving, 2):
            model.add(leaves[one] != leaves[other])
            model.add(leaves[one] != arrives[other])
            model.add(arrives[one] != arrives[other])
            if self._clash(one, self._at_new[one], other, self._at_old[other]):
                model.add(leaves[other] < arrives[one])
            self._meanwhile(model, one, other, (leaves, arrives), places[one], takes[one])
        for one, other in combinations(self.moving, 2):
            self._both_aside(model, one, other, (leaves, arrives), places, takes)
        solver, least = self._least(model, places, takes)
        return Order(self._carries(solver, leaves, arrives, places, takes), least)

    def _clash(self, one: str, here: Pieces, other: str, there: Pieces) -> bool:
        return not share_floor(self.things[one], self.things[other]) and overlaps(here, there)

    def _meanwhile(
        self,
        model: cp_model.CpModel,
        one: str,
        other: str,
        times: tuple[dict[str, Any], dict[str, Any]],
        places: Sequence[Placement | None],
        takes: Sequence[cp_model.IntVar],
    ) -> None:
        """What ``other`` has to have left, and must not have come to, while ``one`` stands aside."""
        leaves, arrives = times
        for place, take in zip(places, takes, strict=True):
            if place is None:
                continue
            here = shapes.pieces(self.things[one], place)
            if self._clash(one, here, other, self._at_old[other]):
                model.add(leaves[other] < leaves[one]).only_enforce_if(take)
            if self._clash(one, here, other, self._at_new[other]):
                model.add(arrives[other] > arrives[one]).only_enforce_if(take)

    def _both_aside(
        self,
        model: cp_model.CpModel,
        one: str,
        other: str,
        times: tuple[dict[str, Any], dict[str, Any]],
        places: dict[str, list[Placement | None]],
        takes: dict[str, list[cp_model.IntVar]],
    ) -> None:
        """Where two would stand on the same floor aside, one has left before the other comes."""
        leaves, arrives = times
        first = model.new_bool_var("")
        used = False
        for here, mine in zip(places[one], takes[one], strict=True):
            for there, theirs in zip(places[other], takes[other], strict=True):
                if here is None or there is None:
                    continue
                pieces = shapes.pieces(self.things[one], here), shapes.pieces(self.things[other], there)
                if self._clash(one, pieces[0], other, pieces[1]):
                    used = True
                    model.add(arrives[one] < leaves[other]).only_enforce_if([mine, theirs, first])
                    model.add(arrives[other] < leaves[one]).only_enforce_if([mine, theirs, first.negated()])
        if not used:
            model.add(first == 1)

    def _least(
        self,
        model: cp_model.CpModel,
        places: dict[str, list[Placement | None]],
        takes: dict[str, list[cp_model.IntVar]],
    ) -> tuple[cp_model.CpSolver, bool]:
        """Solve for the least weight set aside, then for the least carried; whether both are proven."""
        grams = {name: max(1, round(10 * kilograms(self.things[name]))) for name in self.moving}
        lifted = sum(grams[name] * (1 + (place is None)) * take for name in self.moving
                     for place, take in zip(places[name], takes[name], strict=True))  # fmt: skip
        solver = cp_solver(EFFORT)
        model.minimize(lifted)
        proven = solver.solve(model) == cp_model.OPTIMAL
        model.add(lifted <= round(solver.objective_value))
        far = sum(
            round(grams[name] * self._way_round(name, place)) * take
            for name in self.moving
            for place, take in zip(places[name], takes[name], strict=True)
        )
        model.minimize(far)
        second = cp_solver(EFFORT)
        status = second.solve(model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return solver, False
        return second, proven and status == cp_model.OPTIMAL

    def _way_round(self, name: str, place: Placement | None) -> float:
        """Metres that a thing is carried farther by way of a place aside."""
        if place is None:
            return 0.0
        old, new = self.old[name].at, self.new[name].at
        return math.dist(old, place.at) + math.dist(place.at, new) - math.dist(old, new)

    def _places(self, name: str) -> list[Placement | None]:
        """Where a thing could stand aside, the shortest way round first; last, out of the room."""
        thing = self.things[name]
        facings = list(dict.fromkeys((self.old[name].facing % 360.0, self.new[name].facing % 360.0)))
        x0, y0, x1, y1 = self._floor.bounds
        grid = [
            Placement(float(x), float(y), facing)
            for x in np.arange(x0 + TOLERANCE, x1, PITCH)
            for y in np.arange(y0 + TOLERANCE, y1, PITCH)
            for facing in facings
        ]
        grid.sort(key=lambda place: (round(self._way_round(name, place), 6), place.x, place.y))
        found: list[Placement] = []
        for always in (True, False):
            most = len(found) + PLACES // 2
            for place in grid:
                if len(found) == most:
                    break
                near = any(math.dist(at.at, place.at) < APART for at in found)
                if not near and self._free(thing, place, always):
                    found.append(place)
        return [*found, None]

    def _free(self, thing: Station, place: Placement, always: bool) -> bool:
        """Whether a place is free of what stands still, or ``always``: of all else as it was and will be."""
        ring = shapely.Polygon(shapes.footprint(thing, place))
        if not self._floor.contains(ring) or ring.intersection(self._fixtures).area > TOLERANCE:
            return False
        here = shapes.pieces(thing, place)
        others = [
            (self.things[name], pieces)
            for at in (self._at_old, self._at_new)
            for name, pieces in at.items()
            if name != thing.name
        ]
        return all(
            share_floor(thing, other) or not overlaps(here, there)
            for other, there in (*self._still, *(others if always else ()))
        )

    def _carries(
        self,
        solver: cp_model.CpSolver,
        leaves: dict[str, Any],
        arrives: dict[str, Any],
        places: dict[str, list[Placement | None]],
        takes: dict[str, list[cp_model.IntVar]],
    ) -> tuple[Carry, ...]:
        events: list[tuple[int, Carry]] = []
        for name in self.moving:
            weight = kilograms(self.things[name])
            old, new = self.old[name], self.new[name]
            aside = [p for p, take in zip(places[name], takes[name], strict=True) if solver.value(take)]
            begun, done = solver.value(leaves[name]), solver.value(arrives[name])
            for place in aside:
                events.append((begun, Carry(name, "aside", old, place, weight)))
            start = aside[0] if aside else old
            events.append((done, Carry(name, "to its place", start, new, weight)))
        return tuple(carry for _, carry in sorted(events, key=lambda event: event[0]))
