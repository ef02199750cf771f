"""Layouts of a room with few spots, one after the other until there is none left: CP-SAT.

Guided ejection finds a layout where there are many; here a room is decided that has next to none.  One
boolean variable a spot, exactly one a thing; for each spot and each other thing, one of the spots of that
thing which go with it.  What a whole layout is refused for is forbidden by a clause over the fewest spots
that are known to be at fault, so that the solver learns what nobody has to try again.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from ortools.sat.python import cp_model

from footwork.arrange.core.arrays import Bools, Ints
from footwork.arrange.core.pairwise import Restriction, Tables
from footwork.arrange.core.solver import cp_solver

MOST_SPOTS = 800
"""Spots up to which a room is decided so: a solve takes some 0.2 s there."""
EFFORT = 2.0
"""Deterministic time of a solve at most, which is about as many seconds: nobody waits long who interrupts."""


class Completion:
    """The choices of one problem without a clash.  ``none``: it is proven that no more are left."""

    def __init__(self, tables: Tables, restriction: Restriction, seed: int) -> None:
        self._tables = tables
        self._model = cp_model.CpModel()
        self._seed = seed
        self.none = False
        self._stands = [self._model.new_bool_var("") for _ in range(tables.size)]
        spans = [range(*tables.first[i : i + 2].tolist()) for i in range(tables.things)]
        for span in spans:
            self._model.add_exactly_one(self._stands[k] for k in span)
        for k in np.flatnonzero(tables.unary >= tables.clash).tolist():
            self._model.add(self._stands[k] == 0)
        goes = tables.pair < tables.clash
        for i, span in enumerate(spans):
            for other in (*spans[:i], *spans[i + 1 :]):
                self._support(goes, span, other)
        if restriction.moves < tables.things:
            kept = [self._stands[k] for k in restriction.base.tolist() if k >= 0]
            self._model.add(sum(kept) >= tables.things - restriction.moves)

    def _support(self, goes: Bools, span: range, other: range) -> None:
        """Each spot of one thing wants one of another that goes with it, unless all do."""
        for k in span:
            fit = np.flatnonzero(goes[k, other.start : other.stop])
            if len(fit) < len(other):
                beside = [self._stands[other.start + m] for m in fit.tolist()]
                self._model.add_bool_or([self._stands[k].negated(), *beside])

    def next(self) -> Ints | None:
        """A choice that is not forbidden; None where that is too hard to find, or there is ``none``."""
        solver = cp_solver(EFFORT, self._seed)
        # Plain clauses, solved anew with a few more each time: what prepares a hard problem takes longer.
        solver.parameters.cp_model_presolve = False
        solver.parameters.linearization_level = 0
        solver.parameters.symmetry_level = 0
        status = solver.solve(self._model)
        if status == cp_model.INFEASIBLE:
            self.none = True
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        stands = [k for k, variable in enumerate(self._stands) if solver.boolean_value(variable)]
        return np.array(stands, np.int32)

    def forbid(self, spots: Sequence[int]) -> None:
        """No choice with all of these spots any more."""
        self._model.add_bool_or([self._stands[k].negated() for k in spots])
