"""The figures of the page are those of ``score``, to the last digit and word."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from footwork.checks.memory import Memory
from footwork.model.read import load
from footwork.model.scenario import Layout, Scenario
from footwork.page.figures import Superseded, failed_checks, walk_of, walked
from footwork.page.reckoning import Found, Reckoner, Wanted
from footwork.scoring import score

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))


def crowded(scenario: Scenario) -> Layout:
    """The first layout with two things moved to where they fail something."""
    layout = scenario.layouts[0]
    names = [s.name for s in scenario.stations if s.fixed is None][:2]
    places = {n: layout.placements[n] for n in names}
    return layout.moved({n: replace(p, x=p.x + 0.35, y=p.y - 0.3) for n, p in places.items()})


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_they_are_those_of_score(path: Path) -> None:
    scenario = load(path)
    memory = Memory(scenario)
    for layout in (scenario.layouts[0], crowded(scenario)):
        said = score(scenario, layout)
        found = walked(scenario, layout)
        assert (found.metres, found.hours) == (said.metres_per_year, said.hours_per_year)
        assert found.squeezed == pytest.approx(said.squeezed_per_year)
        for mine, theirs in zip(found.jobs, said.jobs, strict=True):
            assert (mine.job.name, mine.metres, mine.blocked) == (
                theirs.name,
                theirs.metres_each,
                theirs.blocked,
            )
            assert found.metres_per_year(mine) == theirs.metres_per_year
        failed = tuple(check for check in said.checks if not check.ok)
        assert failed_checks(found, memory, lambda: False) == failed
        quick = failed_checks(found, memory)
        same = ("id", "subject", "severity", "required", "actual", "price")
        assert [[getattr(c, s) for s in same[:3]] for c in quick] == [
            [getattr(c, s) for s in same[:3]] for c in failed
        ]
        assert found.cost + sum(c.price for c in quick) == pytest.approx(said.cost)


def test_the_walk_is_the_one_that_is_counted() -> None:
    scenario = load(next(path for path in SCENARIOS if path.stem == "gate-shed"))
    said = score(scenario)
    found = walked(scenario, scenario.layouts[0])
    for theirs in said.jobs:
        mine = walk_of(found, theirs.name)
        assert mine is not None
        assert [(leg.start, leg.end, leg.path) for leg in mine.legs] == [
            (leg.start, leg.end, leg.path) for leg in theirs.legs
        ]
    assert walk_of(found, "no such job") is None


def test_words_are_given_up_when_the_hand_moves_on() -> None:
    scenario = load(next(path for path in SCENARIOS if path.stem == "gate-shed"))
    found = walked(scenario, crowded(scenario))
    asked = 0

    def newer() -> bool:
        nonlocal asked
        asked += 1
        return asked > 50

    with pytest.raises(Superseded):
        failed_checks(found, Memory(scenario), newer)
    assert asked == 51


def reckoned(scenario: Scenario, ask: Callable[[Reckoner], None], last: int) -> list[Found]:
    """What is told until the words of the revision ``last`` are there."""
    told: list[Found] = []
    done = threading.Event()

    def tell(found: Found) -> None:
        told.append(found)
        if found.words and found.wanted.revision == last:
            done.set()

    reckoner = Reckoner(scenario, tell, lambda fault: done.set())
    try:
        ask(reckoner)
        assert done.wait(60.0)
    finally:
        reckoner.end()
    return told


def test_stages_are_told_in_turn_and_the_newest_wins() -> None:
    scenario = load(next(path for path in SCENARIOS if path.stem == "frame-nook"))
    layout = scenario.layouts[0]

    def ask(reckoner: Reckoner) -> None:
        for revision in range(100):
            reckoner.ask(Wanted(layout, revision))

    told = reckoned(scenario, ask, last=99)
    revisions = [found.wanted.revision for found in told]
    assert revisions == sorted(revisions)
    assert len(set(revisions)) < 20
    last = [(found.failed is not None, found.words) for found in told if found.wanted.revision == 99]
    assert last == [(False, False), (True, False), (True, True)]


def test_a_fault_is_told_and_the_next_is_reckoned() -> None:
    scenario = load(next(path for path in SCENARIOS if path.stem == "frame-nook"))
    faults: list[BaseException] = []
    failed, done = threading.Event(), threading.Event()

    def fault(found: BaseException) -> None:
        faults.append(found)
        failed.set()

    reckoner = Reckoner(scenario, lambda found: done.set(), fault)
    try:
        reckoner.ask(Wanted(Layout("broken", {}), 1))
        assert failed.wait(60.0)
        reckoner.ask(Wanted(scenario.layouts[0], 2))
        assert done.wait(60.0)
    finally:
        reckoner.end()
    assert "has no place for" in str(faults[0])


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_what_is_remembered_is_what_would_be_found_anew(path: Path) -> None:
    """Things go here and there, one after the other and several at once, screens too; also back again."""
    scenario = load(path)
    layout = scenario.layouts[0]
    movable = [s.name for s in scenario.stations if s.fixed is None]
    random = Random(5)
    memory, last = Memory(scenario), walked(scenario, layout)
    for turn in range(12):
        names = random.sample(movable, 1 if turn % 4 else min(3, len(movable)))
        places = {n: layout.placements[n] for n in names}
        by = [random.uniform(-0.8, 0.8) for _ in range(2)]
        moved = {n: replace(p, x=p.x + by[0], y=p.y + by[1]) for n, p in places.items()}
        before, layout = layout, layout.moved(moved)
        for each in (layout, before, layout):
            found, last = walked(scenario, each), walked(scenario, each, last)
            assert last.jobs == found.jobs
            assert failed_checks(last, memory) == failed_checks(found, Memory(scenario))
