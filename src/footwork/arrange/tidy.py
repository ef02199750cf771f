"""Of layouts that cost the same, the tidier: what a person would rather look at and sweep."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from footwork import checks
from footwork.arrange.core.arrays import Ints
from footwork.arrange.core.stop import Stop
from footwork.arrange.instance import Instance
from footwork.arrange.pair_table.prices import beside
from footwork.checks.ground import Ground, Placed, is_shield
from footwork.floor import shapes
from footwork.floor.headroom import overhead, share_floor
from footwork.floor.overlap import distance
from footwork.floor.shapes import Pieces
from footwork.floor.walls import wall_segments
from footwork.model.scenario import Placement, Scenario, Station, Vehicle
from footwork.scoring import failures

FLUSH, SLIVER = 0.005, 0.30
"""Metres: gaps up to the first count as flush; from there to the second they are slivers,
too narrow to use."""
TRIED = 3
"""Spots of a thing that the whole check of a layout is asked about, at most, in one round."""
ROUNDS = 5


@dataclass(frozen=True, order=True)
class Rank:
    """How a layout goes among those of the same cost; the least is shown."""

    shoulds: int
    """Should-checks that it fails."""
    moves: bool
    """Whether anything at all leaves the base: nothing moves for tidiness alone."""
    slivers: float
    moved: int
    """Things that leave the base: none for nothing."""
    carried: int
    """Whole metres that they are carried, in straight lines: what is in no job stays as near as it can."""


class Own(NamedTuple):
    """How one thing stands, the less the better: what it fails, its slivers, whether it has left the base,
    and by how many whole metres."""

    faults: int
    slivers: float
    moved: bool
    carried: int


class Tidier:
    """Ranks the choices of one instance, and looks for better ones that cost no more than ``limit``."""

    def __init__(self, instance: Instance, limit: float) -> None:
        self._instance, self._limit = instance, limit
        self._walls = [wall.pieces for wall in wall_segments(instance.scenario.room)]
        self._things = [spots.thing for spots in instance.lists]
        self._ground = Ground(instance.scenario)

    def rank(self, choice: Ints) -> Rank | None:
        """None where the layout may not be offered at all, or costs more than the limit as a whole."""
        instance = self._instance
        failed = failures(instance.scenario, instance.layout(choice))
        if failed.musts or (failed.shoulds and instance.options.strict):
            return None
        beyond = 0.0 if instance.options.strict else beside(failed.metres, instance.prices.of(choice))
        if beyond and instance.judge(choice) + beyond > self._limit:
            return None
        placements = instance.layout(choice).placements
        moved = instance.moved(choice)
        lost = slivers(instance.scenario, placements)
        return Rank(failed.shoulds, moved > 0, lost, moved, sum(map(self._carried, choice.tolist())))

    def tidied(self, choice: Ints, rank: Rank, stop: Stop) -> Ints:
        """The choice after things moved, one at a time, to spots where it ranks better for the same cost.

        What stands where the base has it only moves for a should-check.
        """
        now, best = choice, rank
        for _ in range(ROUNDS):
            before = best
            for i in range(len(now)):
                for other in self._better(now, i, stop):
                    if stop():
                        return now
                    found = self.rank(other)
                    if found is not None and found < best:
                        now, best = other, found
                        break
            if best == before:
                break
        return now

    def _better(self, choice: Ints, i: int, stop: Stop) -> list[Ints]:
        """The best few choices in which thing i stands on another spot.

        It has fewer faults of its own there, or as many and fewer slivers, or is back where the base has it,
        or nearer to there.
        """
        instance = self._instance
        first = instance.tables.first
        placements = self._placements(choice)
        others = [(k, placement) for k, placement in enumerate(placements) if k != i]
        beside = [
            (k, placement) for k, placement in others if leave_slivers(self._things[i], self._things[k])
        ]
        bodies = [_body(self._things[k], placement) for k, placement in beside] + self._walls
        stand = [Placed(self._things[k], placement) for k, placement in others]
        ground = replace(self._ground, screens=tuple(p for p in stand if is_shield(p.thing)))

        def own(spot: int) -> Own:
            placement = instance.lists[i].placements[spot - first[i]]
            placed = Placed(self._things[i], placement)
            faults = sum(1 for _ in checks.faults_alone(ground, placed, True))
            faults += sum(1 for other in stand for _ in checks.faults_pair(ground, placed, other, True))
            lost = _slivers(_body(self._things[i], placement), bodies)
            return Own(faults, lost, bool(spot != instance.base_spots[i]), self._carried(spot))

        here, at_base = own(int(choice[i])), choice[i] == instance.base_spots[i]
        if at_base and here.faults == 0:
            return []
        found = []
        for after in self._as_cheap(choice, i, stop):
            there = own(int(after[i]))
            if there.faults < here.faults or (there < here and not at_base):
                found.append((there, instance.judge(after), after))
        found.sort(key=lambda f: f[:2])
        return [after for _, _, after in found[:TRIED]]

    def _as_cheap(self, choice: Ints, i: int, stop: Stop) -> Iterator[Ints]:
        """Choices in which thing i alone stands elsewhere, and that cost no more than the limit."""
        instance = self._instance
        tables = instance.tables
        low, high = tables.first[i : i + 2]
        added = tables.unary[low:high] + tables.pair[low:high][:, np.delete(choice, i)].sum(1, np.float64)
        rest = tables.cost(choice) - added[choice[i] - low]
        for k in np.flatnonzero(rest + added <= self._limit):
            after = choice.copy()
            after[i] = low + k
            if after[i] == choice[i] or instance.moved(after) > instance.most_moves:
                continue
            if stop():
                return
            if instance.judge(after, self._limit) <= self._limit:
                yield after

    def _carried(self, spot: int) -> int:
        """Whole metres from where the base has a spot's thing."""
        instance = self._instance
        i = int(np.searchsorted(instance.tables.first, spot, side="right")) - 1
        before = instance.base_spots[i]
        return 0 if before < 0 else int(math.dist(instance.at[spot], instance.at[before]))

    def _placements(self, choice: Ints) -> list[Placement]:
        layout = self._instance.layout(choice)
        return [layout.placements[thing.name] for thing in self._things]


def slivers(scenario: Scenario, placements: Mapping[str, Placement]) -> float:
    """What is lost in gaps too narrow to use, between stations and to walls: 1 and the metres for each."""
    walls = [wall.pieces for wall in wall_segments(scenario.room)]
    stations = scenario.stations
    bodies = [_body(station, placements[station.name]) for station in stations]
    beside = (
        [bodies[k] for k in range(i) if leave_slivers(station, stations[k])]
        for i, station in enumerate(stations)
    )
    return sum(_slivers(body, [*near, *walls]) for body, near in zip(bodies, beside, strict=True))


def leave_slivers(one: Station | Vehicle, other: Station | Vehicle) -> bool:
    """Whether a narrow gap between two things is lost: not where one hangs above the other, or overhead."""
    return not (overhead(one) or overhead(other) or share_floor(one, other))


def _body(thing: Station | Vehicle, placement: Placement) -> Pieces:
    """What leaves slivers: a vehicle drives away."""
    return shapes.pieces(thing, placement) if isinstance(thing, Station) else ()


def _slivers(body: Pieces, others: Sequence[Pieces]) -> float:
    """``slivers`` from one footprint to others and walls."""
    gaps = np.array([distance(body, other) for other in others])
    lost = gaps[(gaps > FLUSH) & (gaps < SLIVER)]
    return float(len(lost) + lost.sum())
