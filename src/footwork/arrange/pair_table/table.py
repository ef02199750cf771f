"""The pair table: for two things on two spots, clash or not, and the least walking between them.

The walk of a leg leads round the building and those two footprints jointly, so it never exceeds the true
one.  Carry widths count as in ``floor.routes``: straight out, at the load's width, straight in.
A pair whose standing places cannot reach each other clashes.  Where there are too many pairs of spots
for the time, straight lines stand for the walks of the least walked blocks: below both.
Memory: 4 bytes a pair of spots.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from functools import cached_property

import numpy as np

from footwork.arrange.core.arrays import Bools, Floats, Ints, Longs, Singles
from footwork.arrange.core.pairwise import Tables, assemble, floor_single
from footwork.arrange.core.slack import DOUBLES_DOWN
from footwork.arrange.core.stop import NEVER, Stop, Switch, in_parts, in_threads
from footwork.arrange.pair_table.legs import (
    End,
    LegKey,
    OwnLeg,
    PairLeg,
    Things,
    out_of_all_proportion,
    pair_legs,
    sorted_legs,
)
from footwork.arrange.pair_table.prices import Prices, prices
from footwork.arrange.pair_table.walks import LegEnd, Load, own_walks, straight_block, walk_block
from footwork.arrange.pair_table.wishes import wish_costs
from footwork.arrange.spots.conflicts import Shapes, apart_block, clash_block, spot_shapes
from footwork.arrange.spots.enumerate import SpotList, first_spots, models
from footwork.arrange.spots.layers import Thing, forbidden_layers
from footwork.arrange.spots.stamps import (
    Places,
    SlotScene,
    Stamps,
    copied,
    make_places,
    make_scene,
    make_stamps,
    place_numbers,
)
from footwork.checks.apart import least_apart
from footwork.checks.ground import Ground
from footwork.floor.effort import felt
from footwork.floor.scene import Obstacle, Scene
from footwork.floor.shapes import stepped_out
from footwork.floor.variants import fixed_place
from footwork.model.scenario import Scenario

LEAST_WEIGHT = 1e-9
"""Times a year that a block counts as at least, so that its pairs of spots can be divided by them."""
WALK_WORK = 20
"""Times as long as its clashes that a leg of a block takes, about."""

DETOUR_PAIRS = 4_000_000
"""Pairs of spots for which ways round are searched when nobody says how many: some 3 microseconds each."""


class PairTable:
    """Builds ``Tables`` from a scenario and its spots."""

    def __init__(
        self, scenario: Scenario, lists: Sequence[SpotList], strict: bool, building: Sequence[Obstacle]
    ) -> None:
        self.scenario, self.lists, self.strict = scenario, lists, strict
        self.building = tuple(building)
        self.ground = Ground(scenario)
        self.number = {spots.thing.name: k for k, spots in enumerate(lists)}
        self.first: Ints = first_spots(lists)
        self.models = models(scenario, lists)
        self.stamps: Stamps = make_stamps(lists)
        self.places: Places = make_places(scenario, lists)
        self.legs = pair_legs(scenario)
        self._halt: Switch = Switch()
        self._late: Stop = NEVER
        self.walks: dict[LegKey, Singles] = {}
        """Metres, (spots of the thing that comes first, spots of the other), infinite where the two clash."""
        self.fixed: dict[LegKey, Singles] = {}
        """Metres, (spots,), of legs to doors and between a thing's own sides."""

    @cached_property
    def shapes(self) -> Shapes:
        """The shapes of every spot."""
        return spot_shapes(self.scenario, self.lists, self.models, self.strict)

    @cached_property
    def prices(self) -> Prices:
        """What failed should-checks cost."""
        return prices(self.ground, self.lists, self.shapes.spots, self.model_of, self.strict)

    def model_of(self, ij: Things) -> Things:
        """Two things whose blocks are those of things i and j: the same, or others that these are alike with.

        The first of them is what i is alike with, the second what j is; alike things follow one another in
        the file, so they come in the same order as i and j.
        """
        i, j = ij
        one, two = self.models[i], self.models[j]
        if one != two:
            return one, two
        return one, self.models.index(one, one + 1)  # two of one group: its first two

    def build(self, processes: int, detours: int = DETOUR_PAIRS, late: Stop = NEVER) -> Tables:
        """Fill the table with ``processes`` threads; the metres of all legs stay in ``walks`` and ``fixed``.

        Ways round are searched for about ``detours`` pairs of spots, where most is walked first, until it is
        ``late``; the others count straight lines.  An interrupt goes through at once, but for the parts of
        blocks in work.
        """
        self._halt, self._late = Switch(), late
        size = int(self.first[-1])
        pair: Singles = np.zeros((size, size), np.float32)
        unary, wishes = wish_costs(self.scenario, self.lists)
        unary = unary + self.prices.unary
        for ij, block in self.prices.pairs.items():
            wishes[ij] = wishes[ij] + block if ij in wishes else block
        legs = sorted_legs(self.legs, self.number)
        constant = sum((leg.weight * self._door_to_door(leg) for leg in legs.doors), 0.0)
        alike: dict[tuple[int, str | None], list[OwnLeg]] = defaultdict(list)
        for own in legs.own:
            alike[own.thing, own.door].append(own)
        for same in alike.values():
            self._own(same, unary)
        every = [(i, j) for i in range(len(self.lists)) for j in range(i + 1, len(self.lists))]
        like = {ij: self.model_of(ij) for ij in every if self._same(ij, legs.shared, wishes)}
        jobs = [ij for ij in every if ij not in like]
        jobs.sort(key=lambda ij: -self._pairs(ij) * (1 + WALK_WORK * len(legs.shared.get(ij, ()))))
        searched = self._searched(legs.shared, detours)
        if late is not NEVER:  # what is worth most first; else the largest, which none then waits for
            jobs = [*searched, *(ij for ij in jobs if ij not in searched)]

        def fill(ij: Things) -> None:
            self._clashes(ij, self.shapes, pair)
            self._costs(ij, legs.shared.get(ij, []), wishes.get(ij), pair, ij in searched)

        in_threads(fill, jobs, processes, self._halt)
        for (i, j), (one, two) in like.items():
            pair[self.span(i), self.span(j)] = pair[self.span(one), self.span(two)]
            pair[self.span(j), self.span(i)] = pair[self.span(two), self.span(one)]
        names = tuple(spots.thing.name for spots in self.lists)
        return assemble(names, self.first, unary, pair, constant, out_of_all_proportion(self.scenario))

    def _same(
        self, ij: Things, shared: Mapping[Things, list[PairLeg]], wishes: Mapping[Things, Floats]
    ) -> bool:
        """Whether two things cost what other two do that they are alike with, and these are worked out."""
        model = self.model_of(ij)
        if model == ij or ij in shared or model in shared:
            return False
        mine, theirs = wishes.get(ij), wishes.get(model)
        return mine is theirs if mine is None or theirs is None else np.array_equal(mine, theirs)

    def _searched(self, shared: Mapping[Things, list[PairLeg]], detours: int) -> dict[Things, None]:
        """Blocks whose ways round are searched: those with the most times a year for their size first."""
        left, found = detours, dict[Things, None]()
        weight = {ij: sum(leg.weight for leg in legs) for ij, legs in shared.items()}
        for ij in sorted(shared, key=lambda ij: (self._pairs(ij) / max(weight[ij], LEAST_WEIGHT), ij)):
            if self._pairs(ij) <= left:
                left -= self._pairs(ij)
                found[ij] = None
        return found

    def _pairs(self, ij: Things) -> int:
        """How many pairs of spots two things have."""
        return self._count(ij[0]) * self._count(ij[1])

    def _count(self, i: int) -> int:
        return int(self.first[i + 1] - self.first[i])

    def span(self, i: int) -> slice:
        """The spots of thing i."""
        return slice(int(self.first[i]), int(self.first[i + 1]))

    def _things(self, ij: Things) -> tuple[Thing, Thing]:
        return self.lists[ij[0]].thing, self.lists[ij[1]].thing

    def clashing(self, i: int) -> Bools:
        """Which spots of thing i clash with which of the other things, on the first spot of each.

        (spots of thing i, things)
        """
        size, others = int(self.first[-1]), [k for k in range(len(self.lists)) if k != i]
        pair: Singles = np.zeros((size, size), np.float32)
        found = np.zeros((self._count(i), len(self.lists)), np.bool_)
        for k in others:
            self._clashes((min(i, k), max(i, k)), self.shapes, pair)
            found[:, k] = np.isinf(pair[self.span(i), self.first[k]])
        return found

    def _clashes(self, ij: Things, shapes: Shapes, pair: Singles) -> None:
        """Write infinity where two things clash."""
        (i, j), (one, two) = ij, self._things(ij)
        a, b = self.span(i), self.span(j)
        forbidden_a = forbidden_layers(self.ground, one, two, self.strict)
        forbidden_b = forbidden_layers(self.ground, two, one, self.strict)
        clash_block(shapes, i, j, forbidden_a, forbidden_b, pair)
        gap = least_apart(self.ground, one, two, self.strict)
        if gap > 0.0:
            for low, high in in_parts(a.start, a.stop, b.stop - b.start, self._halt):
                apart_block(shapes.spots, low, high, b.start, b.stop, gap, pair)

    def _costs(
        self, ij: Things, legs: list[PairLeg], wish: Floats | None, pair: Singles, detours: bool
    ) -> None:
        """Write what two things cost each other; ``detours``: search ways round, else straight lines."""
        if not legs and wish is None:
            return
        a, b = (self.span(i) for i in ij)
        block = pair[a, b].astype(np.float64)
        for leg in legs:
            metres = np.where(np.isinf(block), np.inf, 0.0)
            self._walk_leg(ij, leg, detours, metres)
            self.walks[leg.key] = floor_single(metres * DOUBLES_DOWN)
            block += leg.weight * metres
        if wish is not None:
            block += wish
        singles = floor_single(block * DOUBLES_DOWN)
        pair[a, b] = singles
        pair[b, a] = singles.T

    def _walk_leg(self, ij: Things, leg: PairLeg, detours: bool, metres: Floats) -> None:
        """Add the metres of a leg from the first thing to ``metres``, infinite where it cannot be walked."""
        i, j = ij
        floor = self.scene(self._things(ij)) if detours else None
        one, two, load = self.leg_end(leg.start), self.leg_end(leg.end), self.load(leg.width)
        p, q = (self._stepped_out(k, end, load.step) for k, end in ((i, leg.start), (j, leg.end)))
        for low, high in in_parts(0, len(metres), metres.shape[1], self._halt):
            if floor is None or self._late():
                straight_block(p[low:high], q, 2.0 * load.step, load.setting_off, load.pace, metres[low:high])
            else:
                part = one._replace(begin=one.begin + low, end=one.begin + high)
                walk_block(floor, part, two, load, metres[low:high])

    def scene(self, things: Sequence[Thing]) -> SlotScene:
        """A scene of its own with the building and a slot for each of some things."""
        arrays, slots = make_scene(self.building, things)
        return SlotScene(copied(arrays), slots, self.stamps)

    def leg_end(self, end: End) -> LegEnd:
        """An end of legs, on all spots of its thing, or at its door."""
        if end[0] in self.number:
            span = self.span(self.number[end[0]])
            return LegEnd(self.places, self.place_numbers(end), span.start, span.stop)
        place = fixed_place(self.scenario, end[0])
        alone = Places(np.array([place.at]), np.array([place.outward]), np.array([0, 1], np.int64))
        return LegEnd(alone, self.place_numbers(end), 0, 1)

    def load(self, width: float) -> Load:
        """Who walks a leg that needs a clear ``width``."""
        walker = self.scenario.walker
        return Load(0.5 * width, self.step(width), walker.setting_off, walker.step)

    def step(self, width: float) -> float:
        """Metres that somebody with a load of ``width`` starts further out than without one."""
        return 0.5 * (width - self.scenario.walker.width)

    def _stepped_out(self, i: int, end: End, step: float) -> Floats:
        """Where legs begin: ``step`` metres out from each place of ``end``, (spots of thing i, places, 2)."""
        which = self.places.start[self.first[i] : self.first[i + 1]][:, None] + self.place_numbers(end)
        return np.ascontiguousarray(self.places.at[which] + step * self.places.out[which])

    def _own(self, legs: list[OwnLeg], unary: Floats) -> None:
        """Add what legs of one thing to one door, or between its sides, cost."""
        i, floor = legs[0].thing, self.scene((self.lists[legs[0].thing].thing,))
        for own in legs:
            found, leg = np.zeros(self._count(i)), own.leg
            one, two = self.leg_end(own.here), self.leg_end(own.there)
            own_walks(floor, one, two, own.door is None, self.load(leg.width), found)
            self.fixed[leg.key] = floor_single(found)
            unary[self.span(i)] += leg.weight * found

    def place_numbers(self, end: End) -> Longs:
        """Which of a thing's places serve an end; one for a door."""
        if end[0] not in self.number:
            return np.zeros(1, np.int64)
        return place_numbers(self.scenario, self.lists[self.number[end[0]]].thing, end[1])

    def _door_to_door(self, leg: PairLeg) -> float:
        walker = self.scenario.walker
        ends = [fixed_place(self.scenario, name) for name, _ in (leg.start, leg.end)]
        p, q = (stepped_out(end, walker.width, leg.width) for end in ends)
        metres = Scene(self.building).length(p, q, leg.width / 2) + 2 * self.step(leg.width)
        return float(felt(np.array(metres), walker)) if math.isfinite(metres) else 0.0
