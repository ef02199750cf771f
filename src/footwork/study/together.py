"""Which things cannot all be there together: the least such set, by CP-SAT.

A boolean variable for each spot of each thing, and one for each thing that says it is there: then it has a
spot.  Two spots that clash in the pair table exclude each other; of all footprints that cover one point of
the floor at most one is there, which follows, but lets the solver count floor.  The things are assumptions:
where all of them cannot hold, the solver names some of them that cannot.  From these things are left out
for as long as the rest cannot hold.  That the set is the smallest of all is shown by hitting sets (A.
Ignatiev and others, "Smallest MUS extraction with minimal hitting set dualization", CP 2015): each set that
can hold leaves some things out, and every set that cannot hold has one of these.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from ortools.sat.python import cp_model

from footwork.applying import without
from footwork.arrange.core.solver import cp_solver
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.spots.enumerate import SpotList, find_spots
from footwork.arrange.spots.packing_points import floor_cover
from footwork.floor.plan import Plan
from footwork.model.errors import NoLayoutError
from footwork.model.scenario import Layout, Placement, Scenario
from footwork.scoring import sound

MOST_SPOTS = 1500
"""Spots in all: the model has a literal for each pair of them that clashes."""
PITCHES = (0.25, 0.3, 0.4, 0.5, 0.75, 1.0)
"""Metres between spots, the finest first."""
EFFORT = 30.0
"""Deterministic time of all solves of one model, which is about as many seconds."""
TRIES = 20
"""Layouts of one set that are tried on the checks."""


@dataclass(frozen=True, slots=True)
class Core:
    """Things that cannot all be there together, on spots every ``pitch`` metres.

    ``least``: no smaller set of the scenario's things is like that.  ``confirmed`` are those of them without
    which the others have a layout that passes every must-check: it is in ``layouts``, in the same order.
    """

    things: tuple[str, ...]
    least: bool
    pitch: float
    confirmed: tuple[str, ...]
    layouts: tuple[Layout, ...]

    def to_dict(self) -> dict[str, object]:
        return {
            "things": list(self.things),
            "least": self.least,
            "pitch": self.pitch,
            "confirmed": list(self.confirmed),
        }


class _TooHard(Exception):
    """The solves of a model did not end within their time."""


def clashing_core(
    scenario: Scenario, base: Layout | None = None, pitch: float | None = None, strict: bool = False
) -> Core | None:
    """The least set of things of a scenario that cannot all be there together; None where nothing that
    concerns two things at a time forbids all of them, or that is too hard to tell.

    ``pitch`` is how far apart spots lie at least, more where that makes more of them than the model bears.
    Raises NoLayoutError where a thing has no spot at all, even alone.
    """
    lists, at = _spots(scenario, base, pitch, strict)
    for spots in lists:
        if not spots.placements:
            raise NoLayoutError(f"{spots.thing.name} finds no spot: {spots.why()}")
    model = Together(scenario, lists, strict)
    try:
        found = model.core()
        if found is None:
            return None
        smallest = model.smallest(found)
    except _TooHard:
        return None
    best = smallest or found
    shown = [(name, _layout_without(scenario, model, best, name, strict)) for name in best]
    there = [(name, layout) for name, layout in shown if layout is not None]
    return Core(
        tuple(thing.name for thing in scenario.things if thing.name in best),
        smallest is not None,
        at,
        tuple(name for name, _ in there),
        tuple(layout for _, layout in there),
    )


def fewest_moved(
    scenario: Scenario, base: Layout, pitch: float | None = None, strict: bool = False
) -> Layout | None:
    """The layout that passes every must-check with the fewest things moved from a base, as far as what
    concerns two things at a time tells: CP-SAT gives layouts in that order until one passes.

    None where none of the first ``TRIES`` does, or that is too hard.
    """
    lists, _ = _spots(scenario, base, pitch, strict)
    if not all(spots.placements for spots in lists):
        return None
    model = Together(scenario, lists, strict)
    tried: list[dict[str, Placement]] = []
    try:
        while len(tried) < TRIES:
            places = model.places(model.names, tried, base)
            if places is None:
                return None
            layout = Layout(base.name, places)
            if sound(scenario, layout, strict):
                return layout
            tried.append(places)
    except _TooHard:
        return None
    return None


def _spots(
    scenario: Scenario, base: Layout | None, pitch: float | None, strict: bool
) -> tuple[tuple[SpotList, ...], float]:
    for at in PITCHES if pitch is None else (pitch, *(each for each in PITCHES if each > pitch)):
        lists = find_spots(scenario, at, 4, base, strict=strict)
        if sum(len(spots.placements) for spots in lists) <= MOST_SPOTS:
            break
    return lists, at


class Together:
    """Which of some things can be there together, each on one of its spots."""

    def __init__(self, scenario: Scenario, lists: Sequence[SpotList], strict: bool = False) -> None:
        self._left = EFFORT
        self.names = [spots.thing.name for spots in lists]
        self.lists = lists
        any_layout = Layout("spots", {s.thing.name: s.placements[0] for s in lists})
        tables = PairTable(scenario, lists, strict, Plan(scenario, any_layout).building).build(1, 0)
        self._first = tables.first
        clash = (tables.pair >= tables.clash) | np.isinf(tables.pair)
        self._model = cp_model.CpModel()
        self._spot = [self._model.new_bool_var("") for _ in range(tables.size)]
        self._there = {name: self._model.new_bool_var(name) for name in self.names}
        for i, name in enumerate(self.names):
            own = self._spot[self._first[i] : self._first[i + 1]]
            self._model.add_at_most_one(own)
            self._model.add_bool_or(own).only_enforce_if(self._there[name])
        for k in np.flatnonzero(tables.unary >= tables.clash).tolist():
            self._model.add(self._spot[k] == 0)
        upper = np.triu(clash)
        for k in range(tables.size):
            others = [self._spot[m].negated() for m in np.flatnonzero(upper[k]).tolist()]
            if others:
                self._model.add_bool_and(others).only_enforce_if(self._spot[k])
        self._count_floor()

    def _count_floor(self) -> None:
        cover = floor_cover(self.lists)
        by_point: list[list[int]] = [[] for _ in cover.capacity]
        for spot in range(len(self._spot)):
            for point in cover.points[cover.start[spot] : cover.start[spot + 1]].tolist():
                by_point[point].append(spot)
        for spots in by_point:
            if len(spots) > 1:
                self._model.add_at_most_one(self._spot[k] for k in spots)

    def core(self) -> frozenset[str] | None:
        """Things that cannot be there together, none of which can be left out; None where all can."""
        found = self._solve(self.names)
        if not isinstance(found, frozenset):
            return None
        kept = set(found)
        for name in sorted(found, key=self.names.index):
            fewer = self._solve(kept - {name})
            if isinstance(fewer, frozenset):
                kept = set(fewer)
        return frozenset(kept)

    def smallest(self, found: frozenset[str]) -> frozenset[str] | None:
        """The smallest set that cannot be there together, knowing one; None where that is too hard."""
        left_out: list[frozenset[str]] = []
        try:
            while True:
                tried = self._hitting(left_out)
                if len(tried) >= len(found):
                    return found
                there = self._solve(tried, range(len(self._spot)))
                if isinstance(there, frozenset):
                    return there
                left_out.append(frozenset(self.names) - there.keys())
        except _TooHard:
            return None

    def places(
        self, names: Iterable[str], but: Sequence[dict[str, Placement]] = (), near: Layout | None = None
    ) -> dict[str, Placement] | None:
        """Places for some things in which no two clash, other than those given; None where there are none.

        With as many of them where ``near`` has them as there can be.
        """
        wanted = set(names)
        kept = () if near is None else self._numbers(near.placements)
        found = self._solve(wanted, kept, but)
        if isinstance(found, frozenset):
            return None
        return {name: place for name, place in found.items() if name in wanted}

    def _solve(
        self, names: Iterable[str], best: Sequence[int] = (), but: Sequence[Mapping[str, Placement]] = ()
    ) -> frozenset[str] | dict[str, Placement]:
        """Places for these and perhaps others, with as many as there can be of the ``best`` spots; or those
        of these things, as the solver names them, that cannot be there together.

        Raises ``_TooHard`` where that is not known in time.
        """
        names = sorted(names)
        model = self._model.clone() if best or but else self._model
        model.clear_assumptions()
        there = [self._in(model, self._there[name]) for name in names]
        if best:  # the solver names no assumptions where it weighs something
            model.add_bool_and(there)
            model.maximize(sum(self._in(model, self._spot[k]) for k in best))
        else:
            model.add_assumptions(there)
        for places in but:
            model.add_bool_or(self._in(model, self._spot[k]).negated() for k in self._numbers(places))
        solver = cp_solver(max(0.01, self._left))
        status = solver.solve(model)
        self._left -= solver.response_proto.deterministic_time
        if status == cp_model.INFEASIBLE:
            if best:
                return frozenset(names)
            named = {self._there[name].index: name for name in self.names}
            return frozenset(named[k] for k in solver.sufficient_assumptions_for_infeasibility())
        if status != cp_model.OPTIMAL and (best or status != cp_model.FEASIBLE):
            raise _TooHard
        return {
            name: spots.placements[k]
            for i, (name, spots) in enumerate(zip(self.names, self.lists, strict=True))
            for k in range(len(spots.placements))
            if solver.boolean_value(self._spot[int(self._first[i]) + k])
        }

    @staticmethod
    def _in(model: cp_model.CpModel, variable: cp_model.IntVar) -> cp_model.IntVar:
        """A variable of the model as one of its copy."""
        return model.get_bool_var_from_proto_index(variable.index)

    def _numbers(self, places: Mapping[str, Placement]) -> list[int]:
        """The spots that some things stand on, as far as they stand on any."""
        at = {name: i for i, name in enumerate(self.names)}
        return [
            int(self._first[at[name]]) + self.lists[at[name]].placements.index(place)
            for name, place in places.items()
            if place in self.lists[at[name]].placements
        ]

    def _hitting(self, sets: Sequence[frozenset[str]]) -> frozenset[str]:
        """The fewest things of which each of the sets has one."""
        for size in range(len(self.names) + 1):
            for chosen in combinations(self.names, size):
                if all(each.intersection(chosen) for each in sets):
                    return frozenset(chosen)
        raise AssertionError("an empty set cannot be hit")


def _layout_without(
    scenario: Scenario, model: Together, core: frozenset[str], name: str, strict: bool
) -> Layout | None:
    """A layout of a core less one thing that passes every must-check, the rest of the scenario left out."""
    left = core - {name}
    rest = without(scenario, tuple(thing.name for thing in scenario.things if thing.name not in left))
    rest = rest.with_(jobs=tuple(job for job in rest.jobs if job.route))
    tried: list[dict[str, Placement]] = []
    try:
        while left and len(tried) < TRIES:
            places = model.places(left, tried)
            if places is None:
                return None
            layout = Layout(f"without {name}", places)
            if sound(rest, layout, strict):
                return layout
            tried.append(places)
    except _TooHard:
        return None
    return None if left else Layout(f"without {name}", {})
