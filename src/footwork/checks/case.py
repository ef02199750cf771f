"""One rule on one layout: gathers faults, finds a move that mends one, words the results."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np

from footwork.checks.ground import Body, Clash, Fault, Ground, Placed
from footwork.checks.result import CheckResult
from footwork.checks.rule import Rule
from footwork.floor.overlap import clear_after
from footwork.floor.plan import Plan
from footwork.floor.routes import JobWalk
from footwork.floor.shapes import Pieces
from footwork.floor.walls import outside_by
from footwork.model.scenario import TOLERANCE, Point, Station
from footwork.model.units import format_length

Alone = Callable[[Ground, Placed], Iterator[Fault]]
Pair = Callable[[Ground, Placed, Placed], Iterator[Fault]]

COMPASS: Mapping[str, Point] = {
    "east": (1.0, 0.0),
    "north": (0.0, 1.0),
    "west": (-1.0, 0.0),
    "south": (0.0, -1.0),
}
FAR = 6.0
"""Metres: no message tells anyone to move a thing further than this."""


@dataclass(frozen=True, eq=False)
class Arranged:
    """A layout ready for the checks: the building, everything placed, and the walks of its jobs."""

    plan: Plan
    walks: tuple[JobWalk, ...]

    @cached_property
    def ground(self) -> Ground:
        return Ground(self.plan.scenario)

    @cached_property
    def placed(self) -> tuple[Placed, ...]:
        """Stations, then vehicles, in the order of the file."""
        return tuple(Placed(t, self.plan.placements[t.name]) for t in self.plan.scenario.things)


@dataclass(frozen=True, eq=False)
class Case:
    """One rule, as the file sets it, on one layout."""

    layout: Arranged
    rule: Rule

    @property
    def ground(self) -> Ground:
        return self.layout.ground

    @property
    def placed(self) -> tuple[Placed, ...]:
        return self.layout.placed

    @property
    def stations(self) -> tuple[tuple[Placed, Station], ...]:
        return tuple((p, p.thing) for p in self.placed if isinstance(p.thing, Station))

    def gather(self, alone: Alone | None = None, pair: Pair | None = None) -> Mapping[str, list[Fault]]:
        """All faults by subject, the worst first."""
        found: defaultdict[str, list[Fault]] = defaultdict(list)
        if alone is not None:
            for placed in self.placed:
                for fault in alone(self.ground, placed):
                    found[fault.subject].append(fault)
        if pair is not None:
            for a, b in combinations(self.placed, 2):
                for fault in pair(self.ground, a, b):
                    found[fault.subject].append(fault)
        for faults in found.values():
            faults.sort(key=lambda f: -abs(f.required - f.actual))
        return found

    def results(
        self,
        subjects: Iterable[str],
        faults: Mapping[str, list[Fault]],
        bad: Callable[[Fault], str],
        good: Callable[[str], str],
        required: Callable[[str], float | None] = lambda _: 0.0,
        actual: Callable[[str], float | None] = lambda _: 0.0,
    ) -> Iterator[CheckResult]:
        """One result a subject.  A failed one words its worst fault, and names what else is in the way."""
        for subject in subjects:
            mine = faults.get(subject, [])
            if not mine:
                yield self.result(subject, True, required(subject), actual(subject), good(subject))
                continue
            worst = mine[0]
            others = dict.fromkeys(f.other for f in mine[1:] if f.other != worst.other)
            more = f" ({', '.join(others)} too)" if others else ""
            yield self.result(subject, False, worst.required, worst.actual, bad(worst) + more)

    def result(
        self, subject: str, ok: bool, required: float | None, actual: float | None, message: str
    ) -> CheckResult:
        r = self.rule
        return CheckResult(r.id, subject, r.severity, ok, required, actual, r.unit, r.source, message)

    def say(self, metres: float) -> str:
        """A length in the units of the file; in metres to the millimetre, as figures of rules need."""
        if self.ground.scenario.units != "m":
            return format_length(metres, self.ground.scenario.units)
        text = f"{metres + 0.0:.3f}"
        return f"{text.removesuffix('0')} m"

    def mend(self, fault: Fault) -> str:
        """The shortest straight move that brings a clash apart, in words, or that there is none near."""
        best: tuple[float, str, str] | None = None
        fixed = {s.name for _, s in self.stations if s.fixed is not None}
        for clash in fault.clashes:
            if clash.mover in fixed:
                continue
            for word, direction in COMPASS.items():
                metres = self._ceiling(clear_after(clash.moving, clash.standing, direction))
                if metres < (best[0] if best else FAR) and self._can_stand(clash, direction, metres):
                    best = (metres, clash.mover, word)
        if best is None:
            return "no short straight move mends it: look for another spot"
        return f"move {best[1]} {self.say(best[0])} {best[2]}"

    def _ceiling(self, metres: float) -> float:
        """Rounded up to a length that can be measured out: whole centimetres, or quarter inches."""
        step = 0.00635 if self.ground.scenario.units in ("ft", "in") else 0.01
        return math.ceil((metres - 1e-9) / step) * step

    def _can_stand(self, clash: Clash, direction: Point, metres: float) -> bool:
        """Whether the thing that moves is still in the room, and clear of fixtures and other footprints."""
        placed = next(p for p in self.placed if p.name == clash.mover)
        moved = Body(placed.name, shifted(placed.body.pieces, direction, metres))
        indoors = isinstance(placed.thing, Station) and not placed.thing.outdoors
        if outside_by(moved.pieces, self.ground.room, indoors) > TOLERANCE:
            return False
        others = [p.body for p in self.placed if p.name != placed.name]
        hard = others + list(self.ground.fixtures) + ([] if indoors else list(self.ground.segments))
        return not any(moved.meets(body) for body in hard)


def shifted(pieces: Pieces, direction: Point, metres: float) -> Pieces:
    """``pieces`` moved by ``metres`` along a unit vector."""
    return tuple(piece + metres * np.array(direction) for piece in pieces)
