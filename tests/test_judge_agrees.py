"""Every leg, job and figure of every example, by the package and by the judge.

The judge draws its arcs outside the true ones, by less than 0.04 %: it may be that much above.  What is
asked for is 0.5 %; what is held here is tighter, so that a small fault shows.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import footwork
from engine import same
from footwork import Layout, Placement, Scenario, Score
from footwork.floor.plan import Plan
from footwork.floor.routes import Walks as Paths
from judge import figures
from judge.geometry import Place
from judge.routes import Walks

LARGE = 20
"""Stations above which a search takes too long for a test."""
EXAMPLES = sorted((Path(__file__).parent.parent / "scenarios").glob("*.toml"))


@cache
def scored(path: Path) -> tuple[Scenario, Layout, Score, Walks]:
    """An example's first layout: as read, scored, and judged."""
    scenario = footwork.load(path)
    layout = scenario.layouts[0]
    return scenario, layout, footwork.score(scenario, layout), Walks(scenario, layout)


@pytest.fixture(params=EXAMPLES, ids=lambda path: path.stem)
def case(request: pytest.FixtureRequest) -> tuple[Scenario, Layout, Score, Walks]:
    """Each example in turn."""
    return scored(request.param)


def place_of(walks: Walks, stop: object) -> Place:
    """The judge's standing place at a stop of the package's; it must be one of its own."""
    scenario = walks.scenario
    doors = {d.name for d in scenario.room.doors}
    kind = "door" if stop.name in doors and stop.side is None else "thing"
    visit = type("Visit", (), {"kind": kind, "members": (stop.name,), "side": stop.side})
    near = [p for p in walks.choices(visit) if math.dist(p.at, stop.at) < 1e-9]
    assert len(near) == 1, f"{stop} is not a standing place"
    return near[0]


def test_every_leg(case: tuple[Scenario, Layout, Score, Walks]) -> None:
    _, _, score, walks = case
    legs = 0
    for job in score.jobs:
        inside = frozenset(job.states[0].vehicles_in)
        for leg in job.legs:
            start, end = place_of(walks, leg.start), place_of(walks, leg.end)
            judged = walks.leg(start, end, leg.width, inside)
            assert same(leg.metres, judged, below=1e-4, above=5e-4), (job.name, leg.start, leg.end)
            legs += 1
    assert legs > 5


def test_every_job_in_every_state(case: tuple[Scenario, Layout, Score, Walks]) -> None:
    scenario, _, score, walks = case
    for job, found in zip(scenario.jobs, score.jobs, strict=True):
        # Where alike stations take turns there are several states with the same vehicles: in order of metres.
        judged = [(sorted(inside), walked.metres, share) for inside, share, walked in walks.states(job)]
        told = [(sorted(s.vehicles_in), s.metres_each, s.share) for s in found.states]
        for (inside, metres, share), (known, judge, its) in zip(sorted(told), sorted(judged), strict=True):
            assert inside == known
            assert share == pytest.approx(its)
            assert same(metres, judge, below=1e-3, above=5e-4), job.name
        assert same(found.metres_each, walks.metres(job), below=1e-3, above=5e-4)
        main = found.states[0]
        assert main.metres_each == pytest.approx(sum(leg.metres for leg in found.legs))


def test_the_whole_cost(case: tuple[Scenario, Layout, Score, Walks]) -> None:
    scenario, layout, score, walks = case
    assert score.prefer_metres == pytest.approx(figures.wishes(scenario, layout), abs=1e-6)
    assert same(score.cost - score.check_metres, figures.cost(scenario, layout, walks), below=1.0, above=5e-4)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_shaken_layout(path: Path, seed: int) -> None:
    """Every station up to 15 cm off and some a little turned: odd gaps, places that are shut in."""
    scenario = scored(path)[0]
    rng = np.random.default_rng(seed)
    today = scenario.layouts[0]
    moved = {
        name: Placement(*np.add(p.at, rng.uniform(-0.15, 0.15, 2)), p.facing + rng.choice([0, 0, 0, 7.5]))
        for name, p in today.placements.items()
    }
    layout = today.moved(moved, "shaken")
    walks, judge = Paths(Plan(scenario, layout)), Walks(scenario, layout)
    for job in scenario.jobs:
        judged = sorted((sorted(inside), walked.metres) for inside, _, walked in judge.states(job))
        told = sorted((sorted(state.vehicles_in), state.metres) for state in walks.job(job).states)
        for (inside, metres), (known, its) in zip(told, judged, strict=True):
            assert inside == known
            assert same(metres, its, below=1e-3, above=5e-4), (job.name, inside)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_suggested_layout(path: Path) -> None:
    """What the search hands back: things flush with walls and with each other, gaps as tight as allowed.

    A number of iterations, not of seconds, so that it is the same layout each time.  A large file holds what
    the search has found.
    """
    scenario = scored(path)[0]
    if len(scenario.stations) > LARGE:
        layouts = (footwork.score(scenario, "found"),)
    else:
        layouts = footwork.suggest(scenario, iterations=800, pitch=0.5, processes=1, alternatives=1).layouts
    for found in layouts:
        layout = Layout(found.layout, found.placements)
        judge = Walks(scenario, layout)
        legs = 0
        for job in found.jobs:
            inside = frozenset(job.states[0].vehicles_in)
            for leg in job.legs:
                judged = judge.leg(place_of(judge, leg.start), place_of(judge, leg.end), leg.width, inside)
                assert same(leg.metres, judged, below=1e-4, above=5e-4), (job.name, leg.start, leg.end)
                legs += 1
        assert legs > 5
        assert same(
            found.cost - found.check_metres, figures.cost(scenario, layout, judge), below=1.0, above=5e-4
        )
    assert layouts[0].cost < 0.97 * scored(path)[2].cost
