"""Who is in while somebody is at a place: what a check asks with a vehicle in, it asks only then.

The more there is on the floor, the less of it is free: of states that are part of another the other alone is
looked at.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from footwork.checks.ground import Ground, members
from footwork.checks.result import listed
from footwork.floor.routes import job_states
from footwork.model.scenario import Job

State = frozenset[str]
"""Names of all that comes and goes and is there: vehicles that are in, parked things that a job has out."""


def states_at(ground: Ground, name: str) -> tuple[State, ...]:
    """The greatest states that hold while somebody is at a station or vehicle.

    At one that jobs use these are the states of those jobs; at one that no job uses somebody may always be.
    """
    key = ("states", name)
    if key not in ground.kept:
        jobs = [job for job in ground.scenario.jobs if name in members(job)]
        mine = (state for job in jobs for state in _of_job(ground, job))
        ground.kept[key] = _greatest(mine) if jobs else states_ever(ground)
    known: tuple[State, ...] = ground.kept[key]
    return known


def states_ever(ground: Ground) -> tuple[State, ...]:
    """The greatest states that hold at any time: in a job, or while none is done."""
    if "states" not in ground.kept:
        names = [season.name for season in ground.scenario.seasons] or [""]
        vehicles = ground.scenario.vehicles
        idle = [frozenset(v.name for v in vehicles if v.inside_in(name) > 0) for name in names]
        jobs = (state for job in ground.scenario.jobs for state in _of_job(ground, job))
        ground.kept["states"] = _greatest([*idle, *jobs])
    known: tuple[State, ...] = ground.kept["states"]
    return known


def _of_job(ground: Ground, job: Job) -> Iterator[State]:
    yield from (state.present for state in job_states(ground.scenario, job))


def _greatest(states: Iterable[State]) -> tuple[State, ...]:
    """Those that are no part of another, in order."""
    found = list(dict.fromkeys(states))
    return tuple(state for state in found if not any(state < other for other in found))


def vehicles_in(ground: Ground, state: State) -> list[str]:
    """The vehicles of a state, in the order of the file."""
    return [v.name for v in ground.scenario.vehicles if v.name in state]


def without_vehicles(ground: Ground, state: State) -> State:
    """The same with every vehicle out."""
    return state.difference(vehicles_in(ground, state))


def while_in(names: Iterable[str]) -> str:
    """``while car and van are in``, or "" where none is."""
    known = list(names)
    if not known:
        return ""
    return f"while {listed(known)} {'is' if len(known) == 1 else 'are'} in"
