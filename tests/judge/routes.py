"""How far a job makes a person walk, over every choice of standing places.

A job's distance in one state (which vehicles are in) is the least over one standing place for each visit;
over states it is the mean by share.  ``by_trying_all`` tries every combination; ``by_steps`` is the plain
dynamic programme.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from judge import geometry
from judge.geometry import Place
from judge.paths import PARTS, Roads


@dataclass(frozen=True)
class Walked:
    """A job in one state: metres (inf when it cannot be walked), the place of each visit, what it counts."""

    metres: float
    places: tuple[Place, ...]
    effort: float = math.inf


class Walks:
    """Distances in one layout.  Roads are built once for each state and width, legs once for each pair of
    places."""

    def __init__(self, scenario: Any, layout: Any, parts: int = PARTS) -> None:
        self.scenario, self.layout, self.parts = scenario, layout, parts
        self._roads: dict[tuple[frozenset[str], float], Roads] = {}
        self._legs: dict[tuple, float] = {}

    @cached_property
    def width(self) -> float:
        return float(self.scenario.walker.width)

    def roads(self, vehicles_in: Iterable[str], width: float) -> Roads:
        """The visibility graph for a state and a clear width."""
        key = (frozenset(vehicles_in), width)
        if key not in self._roads:
            ground = geometry.ground(self.scenario, self.layout, vehicles_in)
            self._roads[key] = Roads(
                ground.floor, ground.things.values(), ground.walls, radius=width / 2, parts=self.parts
            )
        return self._roads[key]

    def choices(self, visit: Any) -> list[Place]:
        """Every standing place that can serve a visit: each member, each side (or the side named), each
        part."""
        if visit.kind == "door":
            doors = [d for d in self.scenario.room.doors if d.name in visit.members]
            return [geometry.door_place(door, self.width) for door in doors]
        things = [*self.scenario.stations, *self.scenario.vehicles]
        found = []
        for thing in things:
            if thing.name in visit.members:
                placement = geometry.placed(self.scenario, self.layout, thing.name)
                found += geometry.places(thing, placement, self.width, visit.side)
        return found

    def needed(self, job: Any, start: Any, end: Any) -> float:
        """Clear width of a leg: the walker's, or more where the job carries something wider there."""
        widths = [self.width]
        for carry in job.carry:
            if self.carried(carry, start, end):
                widths.append(carry.width)
        return max(widths)

    def carried(self, carry: Any, start: Any, end: Any) -> bool:
        """Whether something is carried on a leg: a name of several alike stations means each of them."""

        def means(word: str, visit: Any) -> bool:
            groups = {s.name: s.group for s in self.scenario.stations}
            name = word.removeprefix("door:")
            return all(name in (member, groups.get(member)) for member in visit.members)

        return means(carry.start, start) and means(carry.end, end)

    def effort(self, job: Any, start: Any, end: Any, metres: float) -> float:
        """What a leg counts: with setting off where it is no mere step, times the work of its load.

        Pandolf, Givoni and Goldman (1977) for 80 kg on the level: see tests/published/test_carrying.py.
        """
        walker = self.scenario.walker
        loads = [carry.weight for carry in job.carry if self.carried(carry, start, end)]
        load = max([0.0, *loads])
        free = 80 * (1.5 + 1.5 * walker.speed**2)
        work = 120 + (80 + load) * (2 * (load / 80) ** 2 + 1.5 * walker.speed**2)
        return (metres + (walker.setting_off if metres > walker.step + 1e-4 else 0.0)) * work / free

    def leg(self, start: Place, end: Place, width: float, vehicles_in: frozenset[str]) -> float:
        """Metres from one standing place to another, stepping straight out and in where the load is wide."""
        if start == end:
            return 0.0
        key = (start.at, start.outward, end.at, end.outward, width, vehicles_in)
        if key not in self._legs:
            step = (width - self.width) / 2
            length, _ = self.roads(vehicles_in, width).shortest(
                start.stepped_out(step), end.stepped_out(step)
            )
            self._legs[key] = self._legs[key[2:4] + key[:2] + key[4:]] = 2 * step + length
        return self._legs[key]

    def _widths(self, job: Any, route: Any) -> list[float]:
        return [self.needed(job, a, b) for a, b in itertools.pairwise(route)]

    def by_trying_all(self, job: Any, vehicles_in: frozenset[str]) -> Walked:
        """The least over every combination of standing places."""
        widths = self._widths(job, job.route)
        best = Walked(math.inf, ())
        for chosen in itertools.product(*(self.choices(v) for v in job.route)):
            legs = zip(chosen, chosen[1:], widths, strict=False)
            lengths = [self.leg(a, b, width, vehicles_in) for a, b, width in legs]
            ends = itertools.pairwise(job.route)
            effort = sum(self.effort(job, *pair, length) for pair, length in zip(ends, lengths, strict=True))
            if effort < best.effort:
                best = Walked(sum(lengths), chosen, effort)
        return best

    def by_steps(self, job: Any, vehicles_in: frozenset[str], route: Any = None) -> Walked:
        """The same by going along the route, the job's or one that serves it, and keeping the least walk to
        each place."""
        route = job.route if route is None else route
        reached = {place: Walked(0.0, (place,), 0.0) for place in self.choices(route[0])}
        for (before, visit), width in zip(itertools.pairwise(route), self._widths(job, route), strict=True):
            nearer = {}
            for place in self.choices(visit):
                ways = []
                for last, so_far in reached.items():
                    length = self.leg(last, place, width, vehicles_in)
                    effort = so_far.effort + self.effort(job, before, visit, length)
                    ways.append(Walked(so_far.metres + length, (*so_far.places, place), effort))
                nearer[place] = min(ways, key=lambda way: way.effort)
            reached = nearer
        return min(reached.values(), key=lambda way: way.effort)

    def states(self, job: Any) -> list[tuple[frozenset[str], float, Walked]]:
        """Every state a job is done in: vehicles in, share of the time, and the walk.

        Where alike stations take turns, each turn is a state of its own.
        """
        routes = geometry.routes(self.scenario, job)
        return [
            (inside, share / len(routes), self.by_steps(job, inside, route))
            for inside, share in geometry.states(self.scenario, job)
            for route in routes
        ]

    def counted(self, job: Any) -> float:
        """What a job counts: the mean over its states by share."""
        return sum(share * walked.effort for _, share, walked in self.states(job))

    def metres(self, job: Any) -> float:
        """A job's distance: the mean over its states by share."""
        return sum(share * walked.metres for _, share, walked in self.states(job))
