"""How CP-SAT is asked, wherever it is."""

from __future__ import annotations

from ortools.sat.python import cp_model


def cp_solver(effort: float, seed: int = 1) -> cp_model.CpSolver:
    """A solver of one thread, whose answer depends on the model, ``seed`` and ``effort`` alone.

    ``effort`` is its deterministic time at most, about as many seconds.  Ctrl-C is left to us: left to itself
    the solver takes it over, and once it is done the next one ends the program on the spot.
    """
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = effort
    solver.parameters.catch_sigint_signal = False
    return solver
