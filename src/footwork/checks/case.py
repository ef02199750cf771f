"""One rule on one layout: gathers faults, finds a move that mends one, words the results."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import combinations
from typing import Any

import numpy as np

from footwork.checks.ground import Fault, Ground, Placed, is_shield
from footwork.checks.mending import Mover, Moves, Musts
from footwork.checks.result import CheckResult, Held, listed
from footwork.checks.rule import Rule, key_source, with_severity
from footwork.floor.plan import Plan
from footwork.floor.routes import JobWalk
from footwork.model.scenario import Station, Vehicle
from footwork.model.units import format_length

Alone = Callable[[Ground, Placed], Iterator[Fault]]
Pair = Callable[[Ground, Placed, Placed], Iterator[Fault]]
Failing = Callable[[Plan], Iterator[tuple[tuple[str, str], float]]]


@dataclass(frozen=True, eq=False)
class Arranged:
    """A layout ready for the checks: the building, everything placed, and the walks of its jobs."""

    plan: Plan
    walks: tuple[JobWalk, ...]
    musts: Musts
    silent: bool = False
    """Whether nobody will read the messages."""
    failing: Failing = lambda _: iter(())
    """Must-checks that another layout of the scenario fails, and how much is missing each time."""
    kept: dict[Any, Any] = field(default_factory=dict, repr=False)
    """What checks work out of the layout once and keep here."""
    _within: dict[float, tuple[tuple[Placed, Placed], ...]] = field(default_factory=dict, repr=False)

    @cached_property
    def ground(self) -> Ground:
        return Ground(self.plan.scenario, screens=tuple(p for p in self.placed if is_shield(p.thing)))

    @cached_property
    def placed(self) -> tuple[Placed, ...]:
        """Stations, then vehicles, in the order of the file."""
        return tuple(Placed(t, self.plan.placements[t.name]) for t in self.plan.scenario.things)

    def pairs_within(self, metres: float) -> tuple[tuple[Placed, Placed], ...]:
        """Pairs of things whose footprints and claims may be so near each other, in the file's order."""
        if metres not in self._within:
            low, high = np.array([p.box for p in self.placed]).reshape(-1, 2, 2).transpose(1, 0, 2)
            near = (low[:, None] <= high[None] + metres).all(axis=2)
            pairs = np.argwhere(np.triu(near & near.T, 1)).tolist()
            self._within[metres] = tuple((self.placed[i], self.placed[j]) for i, j in pairs)
        return self._within[metres]

    @cached_property
    def pairs_with_a_vehicle(self) -> tuple[tuple[Placed, Placed], ...]:
        """Pairs of things one of which at least is a vehicle, in the file's order."""
        vehicles = {p.name for p in self.placed if isinstance(p.thing, Vehicle)}
        pairs = combinations(self.placed, 2) if vehicles else ()
        return tuple((a, b) for a, b in pairs if a.name in vehicles or b.name in vehicles)

    @cached_property
    def mover(self) -> Mover:
        return Mover(self.ground, self.placed, self.musts, self.silent, self._failing)

    def _failing(self, placed: tuple[Placed, ...]) -> Iterator[tuple[tuple[str, str], float]]:
        return self.failing(self.with_placed(placed))

    def with_placed(self, placed: tuple[Placed, ...]) -> Plan:
        """The plan with things where they are then."""
        at = {p.name: p.placement for p in placed}
        return Plan(self.plan.scenario, self.plan.layout.moved(at))


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

    def gather(
        self,
        alone: Alone | None = None,
        pair: Pair | None = None,
        pairs: Iterable[tuple[Placed, Placed]] = (),
    ) -> Mapping[str, list[Fault]]:
        """All faults by subject, the worst first; ``pair`` is asked of ``pairs``, for it finds no others."""
        found: defaultdict[str, list[Fault]] = defaultdict(list)
        if alone is not None:
            for placed in self.placed:
                for fault in alone(self.ground, placed):
                    found[fault.subject].append(fault)
        if pair is not None:
            for a, b in pairs:
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
        source: Callable[[str], str] | None = None,
    ) -> Iterator[CheckResult]:
        """One result a subject.  A failed one words its worst fault, and names what else is in the way.

        ``source`` says where the subject's own figure is from, by default the rule's source.
        """
        for subject in subjects:
            said = self.rule.source if source is None else source(subject)
            mine = faults.get(subject, [])
            if not mine:
                yield self.result(subject, True, required(subject), actual(subject), good(subject), said)
                continue
            worst = mine[0]
            message = bad(replace(worst, also=tuple(f.clashes for f in mine[1:] if f.clashes)))
            others = dict.fromkeys(f.other for f in mine[1:] if f.other != worst.other)
            untold = [name for name in others if not names(message, name)]
            more = f" ({listed(untold)} too)" if untold else ""
            price = sum(self.rule.cost(f.required, f.actual) for f in mine)
            yield self.result(subject, False, worst.required, worst.actual, message + more, said, price)

    def result(
        self,
        subject: str,
        ok: bool,
        required: float | None,
        actual: float | None,
        message: str,
        source: str = "",
        price: float | None = None,
        held: tuple[Held, ...] = (),
    ) -> CheckResult:
        """``actual`` that is infinite, where nothing of the kind is there, comes out as None.

        ``price`` is that of all faults together, by default that of this one figure.
        """
        r = self.rule
        found = actual if actual is not None and math.isfinite(actual) else None
        source = source or r.source
        if ok:
            return CheckResult(r.id, subject, r.severity, ok, required, found, r.unit, source, message)
        if r.accepted:
            ok, message = True, f"{message} (accepted: {r.accepted})"
        elif price is None:
            price = r.cost(required, actual)
        return CheckResult(
            r.id, subject, r.severity, ok, required, found, r.unit, source, message, price or 0.0, r.accepted,
            held,
        )  # fmt: skip

    def from_key(self, name: str, key: str) -> str:
        """Where a station's own figure is from: the file, the catalogue, or what is usual."""
        source = key_source(self.ground.scenario.station(name), key)
        setting = self.ground.scenario.checks.get(self.rule.id)
        return source if setting is None or setting.severity is None else with_severity(source)

    def say(self, metres: float) -> str:
        """A length in the units of the file; in metres to the millimetre, as figures of rules need."""
        if self.ground.scenario.units != "m":
            return format_length(metres, self.ground.scenario.units)
        text = f"{metres + 0.0:.3f}"
        return f"{text.removesuffix('0')} m"

    def lacks(self, needed: float, there: float) -> str:
        """How much is missing, so that the three figures add up as they are told."""
        if self.ground.scenario.units in ("ft", "in"):
            sixteenths = round(needed / 0.0254 * 16) - round(there / 0.0254 * 16)
            return self.say(sixteenths * 0.0254 / 16)
        return self.say(float(f"{needed:.3f}") - float(f"{there:.3f}"))

    # -- what to do about it

    def mend(self, fault: Fault) -> str:
        """The shortest straight move that brings a clash apart, in words, or that there is none near."""
        return self.apart(fault) or NO_MOVE

    def apart(self, fault: Fault) -> str:
        """The same, or "" where there is none near."""
        return self.words_of(self.layout.mover.apart(fault.clashes, fault.also))

    def shift(self, names: Iterable[str], missing: Callable[[Placed], float]) -> str:
        """The shortest straight move of one of the things after which nothing is ``missing``, or "".

        ``missing`` gives metres for the thing where it would then stand, 0 or less when all is well; a
        move changes it by no more than its own length.
        """
        return self.words_of(self.layout.mover.until(names, missing))

    def words_of(self, moves: Moves) -> str:
        """``move drill 0.10 m east and bench 0.20 m north``, or "" without a move."""
        mover = self.layout.mover
        mover.told.extend(move for move in moves if move not in mover.told)
        told = [f"{name} {self.say(metres)} {way}" for name, way, metres in moves]
        return f"move {listed(told)}" if told else ""


NO_MOVE = "no short straight move mends it: look for another spot"


def names(message: str, name: str) -> bool:
    """Whether a message names a thing."""
    return re.search(rf"(?<![\w-]){re.escape(name)}(?![\w-])", message) is not None


def either(*ways: str) -> str:
    """``a, b, or c`` of what there is."""
    known = [way for way in ways if way]
    return ", or ".join(filter(None, (", ".join(known[:-1]), known[-1])))
