"""What the checks said of pairs of things that have not moved since.

A fault of one thing or of two depends on the building, on the screens, and on where these stand.  While one
thing is in the hand, only what touches it is asked anew: every check is still the one that ``score`` asks.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations

from footwork.checks.case import Alone, Arranged, Case, Pair
from footwork.checks.ground import Fault, Ground, Placed, is_shield
from footwork.model.scenario import Placement, Scenario, Station, Vehicle

Where = tuple[int, ...]
"""Places in the list of things: of one, or of two."""


@dataclass(eq=False)
class _Told:
    """The faults that one function found, by whom they are about, when things stood so."""

    stood: tuple[Placed, ...]
    faults: dict[Where, tuple[Fault, ...]]


class Memory:
    """What is known of one scenario: things where they stood last, and faults found then."""

    def __init__(self, scenario: Scenario) -> None:
        self._scenario = scenario
        self._placed: dict[str, Placed] = {}
        self._ground: tuple[tuple[Placed, ...], Ground] | None = None
        self._told: dict[object, _Told] = {}
        self._between: tuple[object, object, frozenset[int]] = (None, None, frozenset())

    def placed(self, thing: Station | Vehicle, placement: Placement) -> Placed:
        """A thing at a placement; with its shapes known, where it stood there before."""
        known = self._placed.get(thing.name)
        if known is None or known.placement != placement:
            known = self._placed[thing.name] = Placed(thing, placement)
        return known

    def ground(self, placed: tuple[Placed, ...]) -> Ground:
        """The building with the screens that stand in it; where one has moved, nothing else is known."""
        screens = tuple(p for p in placed if is_shield(p.thing))
        if self._ground is None or self._ground[0] != screens:
            self._ground = (screens, Ground(self._scenario, screens=screens))
            self._told.clear()
        return self._ground[1]

    def _moved(self, then: tuple[Placed, ...], now: tuple[Placed, ...]) -> frozenset[int]:
        """Which things stand elsewhere now: the same for one check after the other."""
        if self._between[0] is not then or self._between[1] is not now:
            moved = (k for k, (a, b) in enumerate(zip(then, now, strict=True)) if a is not b)
            self._between = (then, now, frozenset(moved))
        return self._between[2]

    def faults(
        self, what: Callable[..., Iterable[Fault]], ground: Ground, placed: tuple[Placed, ...], count: int
    ) -> Iterable[Fault]:
        """What ``what`` says of every ``count`` things, in their order."""
        told = self._told.get(what)
        moved = frozenset(range(len(placed)))
        faults: dict[Where, tuple[Fault, ...]] = {}
        if told is not None and len(told.stood) == len(placed):
            moved = self._moved(told.stood, placed)
            faults = {where: found for where, found in told.faults.items() if moved.isdisjoint(where)}
        for where in _touching(moved, len(placed), count):
            found = tuple(what(ground, *(placed[k] for k in where)))
            if found:
                faults[where] = found
        if getattr(what, "__closure__", None) is None:  # else it is made anew each time, and never met again
            self._told[what] = _Told(placed, faults)
        return [fault for where in sorted(faults) for fault in faults[where]]


def _touching(moved: frozenset[int], things: int, count: int) -> Iterable[Where]:
    """Every ``count`` of so many things that have one of ``moved`` among them."""
    if count == 1:
        return [(k,) for k in sorted(moved)]
    if len(moved) * 2 > things:
        return [pair for pair in combinations(range(things), 2) if not moved.isdisjoint(pair)]
    return {(min(k, other), max(k, other)) for k in moved for other in range(things) if other != k}


@dataclass(frozen=True, eq=False)
class RememberedLayout(Arranged):
    """A layout ready for the checks, with what is known from the one before."""

    memory: Memory = field(kw_only=True, repr=False)

    @cached_property
    def placed(self) -> tuple[Placed, ...]:
        """Stations, then vehicles, in the order of the file."""
        return tuple(self.memory.placed(t, self.plan.placements[t.name]) for t in self.plan.scenario.things)

    @cached_property
    def ground(self) -> Ground:
        return self.memory.ground(self.placed)


@dataclass(frozen=True, eq=False)
class RememberedCase(Case):
    """One rule on a layout of which something is known."""

    memory: Memory = field(kw_only=True, repr=False)

    def gather(
        self,
        alone: Alone | None = None,
        pair: Pair | None = None,
        pairs: Iterable[tuple[Placed, Placed]] = (),
    ) -> Mapping[str, list[Fault]]:
        """All faults by subject, the worst first; what is remembered needs no choosing of pairs."""
        del pairs
        found: defaultdict[str, list[Fault]] = defaultdict(list)
        for what, count in ((alone, 1), (pair, 2)):
            if what is not None:
                for fault in self.memory.faults(what, self.ground, self.placed, count):
                    found[fault.subject].append(fault)
        for faults in found.values():
            faults.sort(key=lambda f: -abs(f.required - f.actual))
        return found
