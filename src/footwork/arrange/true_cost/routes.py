"""The jobs of a scenario as flat arrays, for the compiled true cost (``evaluate``)."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from footwork.arrange.core.arrays import Bools, Longs
from footwork.arrange.pair_table.legs import legs_of, times_of
from footwork.arrange.pair_table.prices import Prices
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.spots.stamps import sides_of
from footwork.compiled.records import record
from footwork.floor import shapes
from footwork.floor.routes import job_states
from footwork.floor.shapes import FloatArray
from footwork.floor.variants import comes_and_goes, fixed_place
from footwork.floor.wishes import wish_terms
from footwork.model.scenario import Placement, Scenario, Visit


@record
class RouteSlots(NamedTuple):
    """Standing places: ``thing`` (-1: a door) and which of its places; a door's is ``door_at``, ``door_out``
    at its own slot.  Thing i has slots ``of_thing[i]:of_thing[i + 1]``."""

    thing: Longs
    place: Longs
    door_at: FloatArray
    door_out: FloatArray
    of_thing: Longs


@record
class Blocks(NamedTuple):
    """Tables of distances between the slots of two visits in one state at one width.

    Block l has entries ``first[l]`` onwards, ``rows[l]`` x ``columns[l]``, and is used by tasks
    ``used_by[user[l]:user[l + 1]]``.
    """

    first: Longs
    rows: Longs
    columns: Longs
    width: FloatArray
    state: Longs
    user: Longs
    used_by: Longs


@record
class Entries(NamedTuple):
    """Entry e is from slot ``start[e]`` to ``end[e]``, of ``block[e]``; thing i's places are ends of entries
    ``own[owned[i]:owned[i + 1]]``."""

    start: Longs
    end: Longs
    block: Longs
    owned: Longs
    own: Longs


@record
class Tasks(NamedTuple):
    """Task t walks steps ``first[t]:first[t + 1]`` in a state; step k uses block ``step[k]``, turned round
    where ``turned[k]``, and its metres count ``factor[k]`` times; what task t counts weighs ``weight[t]``."""

    first: Longs
    step: Longs
    turned: Bools
    factor: FloatArray
    weight: FloatArray
    state: Longs


@record
class Routes(NamedTuple):
    """All routes of all jobs in all states; ``inside`` (states, things): what of that which ``comes`` and
    goes is there.  A walk longer than a ``pace`` counts ``setting_off`` metres more (``floor.effort``)."""

    slots: RouteSlots
    blocks: Blocks
    entries: Entries
    tasks: Tasks
    inside: Bools
    comes: Bools
    walker: float
    setting_off: float
    pace: float


@record
class Wishes(NamedTuple):
    """Wishes between things: subject, the others (CSR), near or apart_from, by, weight."""

    subject: Longs
    other: Longs
    start: Longs
    near: Bools
    by: FloatArray
    weight: FloatArray


@record
class PairPrices(NamedTuple):
    """What failed checks of two things cost: pair p is of things ``one[p]`` and ``two[p]``; their spots, k
    and l from ``first`` of each, cost ``metres[start[p] + k * columns[p] + l]``."""

    one: Longs
    two: Longs
    start: Longs
    columns: Longs
    first: Longs
    metres: FloatArray


def pair_prices(prices: Prices) -> PairPrices:
    """Flatten the prices of pairs."""
    things, blocks = list(prices.pairs), list(prices.pairs.values())
    return PairPrices(
        one=np.array([i for i, _ in things], np.int64),
        two=np.array([j for _, j in things], np.int64),
        start=np.cumsum([0, *(block.size for block in blocks)]),
        columns=np.array([block.shape[1] for block in blocks], np.int64),
        first=prices.first.astype(np.int64),
        metres=np.concatenate([np.empty(0), *(block.ravel() for block in blocks)]),
    )


def make_routes(table: PairTable) -> Routes:
    """Flatten the jobs of a table's scenario."""
    return _Flattener(table).routes()


class _Task(NamedTuple):
    """A route in a state: its blocks, which of them turned round, and how often a metre of each counts."""

    state: int
    weight: float
    steps: list[tuple[int, bool]]
    factor: list[float]


class _Flattener:
    """Collects slots, blocks and tasks; see ``Routes``."""

    def __init__(self, table: PairTable) -> None:
        self.scenario: Scenario = table.scenario
        self.things = [spots.thing for spots in table.lists]
        self.slots: dict[tuple[str, str | None, int], int] = {}
        self.slot_rows: list[tuple[int, int, float, float, float, float]] = []
        self.thing_slot = [0]
        origin = Placement(0.0, 0.0, 0.0)
        walker = self.scenario.walker.width
        for number, thing in enumerate(self.things):
            found = shapes.standing_places(thing, origin, walker, sides_of(self.scenario, thing))
            for k, place in enumerate(found):
                self.slots[thing.name, place.side, k] = len(self.slot_rows)
                self.slot_rows.append((number, k, 0.0, 0.0, 0.0, 0.0))
            self.thing_slot.append(len(self.slot_rows))
        self.blocks: dict[tuple[int, Longs | tuple[int, ...], tuple[int, ...], float], int] = {}

    def members(self, visit: Visit) -> tuple[int, ...]:
        """Slots that may serve a visit."""
        found: list[int] = []
        for name in visit.members:
            if visit.kind in ("door", "parked"):
                key = (name, None, -1)
                if key not in self.slots:
                    place = fixed_place(self.scenario, name)
                    self.slots[key] = len(self.slot_rows)
                    self.slot_rows.append((-1, 0, *place.at, *place.outward))
                found.append(self.slots[key])
                continue
            sides = self.scenario.thing(name).stand if visit.side is None else (visit.side,)
            found += [s for (owner, side, _), s in self.slots.items() if owner == name and side in sides]
        return tuple(found)

    def routes(self) -> Routes:
        scenario = self.scenario
        states: dict[frozenset[str], int] = {}
        tasks: list[_Task] = []
        for job in scenario.jobs:
            for state in job_states(scenario, job):
                route = state.variant.route
                ends = [self.members(v) for v in route]
                number = states.setdefault(state.present, len(states))
                legs = legs_of(scenario, job, route)
                steps = [
                    self.leg(number, *pair, leg.width) for pair, leg in zip(pairwise(ends), legs, strict=True)
                ]
                factor = [leg.factor for leg in legs]
                tasks.append(_Task(number, state.share * times_of(job), steps, factor))
        names = [t.name for t in self.things]
        inside = np.array([[n in state for n in names] for state in states], bool).reshape(
            len(states), len(names)
        )
        return self._flat(tasks, inside)

    def leg(self, state: int, a: tuple[int, ...], b: tuple[int, ...], width: float) -> tuple[int, bool]:
        """The block of a leg, and whether the leg runs from its columns to its rows."""
        if (state, b, a, width) in self.blocks:
            return self.blocks[state, b, a, width], True
        return self.blocks.setdefault((state, a, b, width), len(self.blocks)), False

    def _flat(self, tasks: Sequence[_Task], inside: Bools) -> Routes:
        blocks = list(self.blocks)
        sizes = [len(a) * len(b) for _, a, b, _ in blocks]
        entries = [(p, q) for _, a, b, _ in blocks for p in a for q in b]
        steps = [step for task in tasks for step in task.steps]
        rows = np.array(self.slot_rows, dtype=np.float64).reshape(-1, 6)
        things = [{int(rows[p, 0]), int(rows[q, 0])} for p, q in entries]
        own = [[e for e, ends in enumerate(things) if i in ends] for i in range(len(self.things))]
        users = [
            [t for t, task in enumerate(tasks) if any(step == k for step, _ in task.steps)]
            for k in range(len(blocks))
        ]
        user, used_by = _csr(users)
        owned, own_entries = _csr(own)
        return Routes(
            slots=RouteSlots(
                thing=rows[:, 0].astype(np.int64),
                place=rows[:, 1].astype(np.int64),
                door_at=np.ascontiguousarray(rows[:, 2:4]),
                door_out=np.ascontiguousarray(rows[:, 4:6]),
                of_thing=np.array(self.thing_slot),
            ),
            blocks=Blocks(
                first=np.cumsum([0, *sizes]),
                rows=np.array([len(a) for _, a, _, _ in blocks], np.int64),
                columns=np.array([len(b) for _, _, b, _ in blocks], np.int64),
                width=np.array([w for *_, w in blocks], np.float64),
                state=np.array([state for state, *_ in blocks], np.int64),
                user=user,
                used_by=used_by,
            ),
            entries=Entries(
                start=np.array([p for p, _ in entries], np.int64),
                end=np.array([q for _, q in entries], np.int64),
                block=np.repeat(np.arange(len(blocks)), sizes).astype(np.int64),
                owned=owned,
                own=own_entries,
            ),
            tasks=Tasks(
                first=np.cumsum([0, *(len(task.steps) for task in tasks)]),
                step=np.array([s for s, _ in steps], np.int64),
                turned=np.array([t for _, t in steps], np.bool_),
                factor=np.array([f for task in tasks for f in task.factor], np.float64),
                weight=np.array([task.weight for task in tasks], np.float64),
                state=np.array([task.state for task in tasks], np.int64),
            ),
            inside=inside,
            comes=np.array([comes_and_goes(t) for t in self.things], np.bool_),
            walker=self.scenario.walker.width,
            setting_off=self.scenario.walker.setting_off,
            pace=self.scenario.walker.step,
        )


def _csr(lists: Sequence[Sequence[int]]) -> tuple[Longs, Longs]:
    """Where each list begins, and all of them in one."""
    starts = np.cumsum([0, *map(len, lists)])
    return starts, np.array([x for one in lists for x in one], np.int64)


def make_wishes(table: PairTable) -> Wishes:
    """Flatten the wishes between things."""
    scenario = table.scenario
    terms = [
        (w, table.number[name], [table.number[o] for o in others])
        for w in scenario.prefer
        for name, others in wish_terms(scenario, w)
        if others
    ]
    return Wishes(
        np.array([s for _, s, _ in terms], np.int64),
        np.array([o for *_, os in terms for o in os], np.int64),
        np.cumsum([0, *(len(os) for *_, os in terms)]),
        np.array([w.near is not None for w, *_ in terms], np.bool_),
        np.array([w.by for w, *_ in terms], np.float64),
        np.array([w.weight for w, *_ in terms], np.float64),
    )
