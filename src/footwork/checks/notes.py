"""What the program cannot check, in a line each: advice that follows from what the file says."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from footwork.checks.fire import WORD, extinguishers
from footwork.checks.ground import Ground, Placed
from footwork.checks.hazards import FLAMMABLE, HEAT, SPARKS
from footwork.checks.result import CheckResult
from footwork.checks.vehicles import first_rolled
from footwork.checks.walking import WAY_OUT
from footwork.floor.plan import Plan
from footwork.floor.routes import JobWalk
from footwork.model.likely_units import question
from footwork.model.scenario import TOLERANCE, Scenario, Station, Vehicle

LIGHT = (("fine", "750 lx"), ("ordinary", "300 to 500 lx"), ("rough", "200 lx"))
"""Light on the work by how fine it is: EN 12464-1 (from a secondary text)."""
MANY = 12
"""More places than this are counted, not named."""


def notes(
    scenario: Scenario,
    plan: Plan | None = None,
    results: Sequence[CheckResult] = (),
    walks: Sequence[JobWalk] = (),
) -> tuple[str, ...]:
    """Advice on one scenario; with a layout's ``plan``, check ``results`` and the ``walks`` of its jobs also
    what they leave to do."""
    there = () if plan is None else (*_unused(scenario, walks), *_rolled(plan), *_narrow(results))
    unit = filter(None, (question(scenario),))
    return (*unit, *there, *_extinguisher(scenario), *_ignition(scenario), *_light(scenario))


def _unused(scenario: Scenario, walks: Sequence[JobWalk]) -> Iterator[str]:
    """Stations that somebody could work at and no job does, and members of a group that no job uses."""
    if not scenario.jobs:
        return
    named = {m for job in scenario.jobs for visit in job.route for m in visit.members}
    idle = _groups(s for s in scenario.stations if s.stand and s.name not in named)
    if idle:
        are = "is in no job" if len(idle) == 1 else "are in no job"
        yield f"{_listed(idle)} {are}: checks and wishes alone decide where to stand"
    used = {stop.owner for walk in walks for state in walk.states for stop in state.stops}
    spare = [s.name for s in scenario.stations if s.name in named and s.name not in used]
    if spare and used:
        yield (
            f"{_listed(spare)} {'is' if len(spare) == 1 else 'are'} never used, as another of the group is "
            'nearer each time: `use = "evenly"` shares them out'
        )


def _rolled(plan: Plan) -> Iterator[str]:
    """Stations on castors that a vehicle's way in, or the work round it, needs out of the way."""
    ground = Ground(plan.scenario)
    placed = tuple(Placed(t, plan.placements[t.name]) for t in plan.scenario.things)
    for vehicle in placed:
        if isinstance(vehicle.thing, Vehicle):
            names = first_rolled(ground, vehicle, placed)
            if names:
                yield f"before {vehicle.name} comes in, roll {_listed(list(names))} away first"


def _narrow(results: Sequence[CheckResult]) -> Iterator[str]:
    """Ways out that are a little too narrow: no fault, but worth knowing."""
    for result in results:
        if result.id != WAY_OUT.id or not result.ok or result.actual is None or result.required is None:
            continue
        if result.actual < result.required - TOLERANCE:
            yield result.message


def _extinguisher(scenario: Scenario) -> Iterator[str]:
    stores = _groups(s for s in scenario.stations if FLAMMABLE in s.minds)
    if stores and not extinguishers(scenario):
        yield (
            f"flammables are kept ({', '.join(stores)}) and the file names no fire extinguisher: with a "
            f'fixture of kind = "{WORD}", the way to it is checked'
        )


def _ignition(scenario: Scenario) -> Iterator[str]:
    visited = {m for job in scenario.jobs for visit in job.route for m in visit.members}
    kept = [v.name for v in scenario.vehicles if v.inside > 0 or v.name in visited]
    hot = _groups(
        s
        for s in scenario.stations
        if s.ignition_height is None and not s.outdoors and (SPARKS in s.gives or HEAT in s.gives)
    )
    if kept and hot:
        give = "gives" if len(hot) == 1 else "give"
        yield (
            f"{_listed(hot)} {give} sparks or heat in a room with {_listed(kept)} in: with "
            "`ignition_height`, how high above the floor its lowest is, that is checked too"
        )


def _light(scenario: Scenario) -> Iterator[str]:
    """By the stations where a job spends minutes, or whose work the file calls rough, ordinary or fine."""
    timed = {word for job in scenario.jobs for word, _ in job.minutes}
    worked = [s for s in scenario.stations if s.work is not None or timed & {s.name, s.group}]
    parts = []
    for work, lux in LIGHT:
        names = _groups(s for s in worked if (s.work or "ordinary") == work)
        if names:
            where = _listed(names) if len(names) <= MANY else f"{len(names)} other places"
            parts.append(f"{lux} for {work} work at {where}")
    if parts:
        more = "" if all(s.work for s in worked) else "; `work` says what is rough or fine"
        yield f"light on the work, by EN 12464-1 (from a secondary text): {'; '.join(parts)}{more}"


def _groups(stations: Iterator[Station]) -> list[str]:
    """The names that the file has for stations, each once."""
    return list(dict.fromkeys(s.group for s in stations))


def _listed(names: list[str]) -> str:
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))
