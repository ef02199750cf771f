"""Ctrl-C at every stage: the best so far with a bound that holds, or 130 where there is nothing yet."""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from arrange.every_layout import every_score, least_cost
from arrange.random_shops import Asked, random_shop
from cli.run import footwork
from footwork.arrange import outcome, run
from footwork.arrange.core.arrays import Ints
from footwork.arrange.core.progress import Progress
from footwork.arrange.core.results import Suggestion
from footwork.arrange.suggest import suggest
from footwork.cli.progress import ProgressLine
from footwork.model.read import load
from footwork.model.scenario import Layout, Scenario
from footwork.scoring import score

NOOK_FILE = Path(__file__).parents[2] / "scenarios" / "frame-nook.toml"
NOOK = load(NOOK_FILE)
BARE = NOOK.with_(layouts=())
"""Without a base, so that the search has to find its first layout."""
WAYS = [{"iterations": 400, "processes": 1}, {"iterations": 400, "processes": 2}, {"seconds": 300.0}]
"""By iterations on one thread and two, and against the clock: a proof ends that one long before."""
IDS = ["one thread", "two threads", "by the clock"]
PHASES = ["getting ready", "spots", "pair table", "search", "bound", "done"]
NOTHING_YET = 3
"""Phases before there can be a layout."""


@lru_cache
def optimum() -> float:
    return every_score(NOOK, base=NOOK.layouts[0])[0].cost


class Press:
    """Presses Ctrl-C at the first report of a phase in which, where asked for, there is a layout."""

    def __init__(self, phase: str, with_layout: bool = False) -> None:
        self.phase, self.with_layout, self.pressed = phase, with_layout, 0

    def __call__(self, state: Progress) -> None:
        if state.phase == self.phase and not self.pressed and (state.best < 1e18 or not self.with_layout):
            self.pressed += 1
            raise KeyboardInterrupt


def holds(result: Suggestion, scenario: Scenario) -> None:
    """The layout is sound and no worse than the base, the bound not above what any layout costs."""
    assert result.best.ok
    again = score(scenario, Layout("again", dict(result.best.placements)))
    assert again.ok
    assert again.cost == pytest.approx(result.best.cost, rel=1e-9)
    assert 0.0 <= result.bound <= optimum() * (1 + 1e-9)
    assert result.best.cost >= optimum() * (1 - 1e-9)
    if scenario.layouts:
        assert result.best.cost <= score(scenario, scenario.layouts[0]).cost * (1 + 1e-9)
    if result.status == "proven":
        assert result.best.cost == pytest.approx(optimum(), rel=1e-6)


@pytest.mark.parametrize("scenario", [NOOK, BARE], ids=["base", "no base"])
@pytest.mark.parametrize("how", WAYS, ids=IDS)
@pytest.mark.parametrize("phase", PHASES[NOTHING_YET:])
def test_interrupted_once_there_is_a_layout_it_is_given_with_a_bound_that_holds(
    phase: str, how: dict[str, float], scenario: Scenario
) -> None:
    press = Press(phase, with_layout=True)
    result = suggest(scenario, progress=press, **how)  # type: ignore[arg-type]
    assert press.pressed
    holds(result, scenario)
    if phase == "search":
        assert result.status == "none"


@pytest.mark.parametrize("how", WAYS, ids=IDS)
@pytest.mark.parametrize("phase", PHASES[:NOTHING_YET])
def test_interrupted_before_there_is_a_layout_it_goes_through(phase: str, how: dict[str, float]) -> None:
    press = Press(phase)
    with pytest.raises(KeyboardInterrupt):
        suggest(NOOK, progress=press, **how)  # type: ignore[arg-type]
    assert press.pressed


@pytest.mark.parametrize("how", WAYS, ids=IDS)
def test_interrupted_at_any_report_the_bound_holds(how: dict[str, float]) -> None:
    """At the fourth report, the fifth, ... until a run is over before."""
    number, phases = NOTHING_YET, set()
    while True:
        count = 0

        def press(state: Progress, number: int = number) -> None:
            nonlocal count
            count += 1
            if count == number + 1:
                phases.add(state.phase)
                raise KeyboardInterrupt

        result = suggest(NOOK, progress=press, **how)  # type: ignore[arg-type]
        holds(result, NOOK)
        if count <= number:
            break
        number += 1
    assert {"search", "bound", "done"} <= phases


@pytest.mark.parametrize("processes", [1, 2])
def test_interrupted_while_the_tree_measures_a_layout(
    processes: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a room where the tree comes to ten layouts: at the first, the second ... the last."""
    scenario = random_shop(np.random.default_rng([3, 7]), Asked(stations=5, spots=6))
    least = least_cost(scenario)
    leaf, calls, at = run.Run._leaf, 0, 0

    def interrupted(self: run.Run, choice: Ints) -> float:
        nonlocal calls
        calls += 1
        if calls == at:
            raise KeyboardInterrupt
        return leaf(self, choice)

    monkeypatch.setattr(run.Run, "_leaf", interrupted)
    while calls == at:
        calls, at = 0, at + 1
        result = suggest(scenario, iterations=8, processes=processes)
        assert result.best.ok
        assert result.bound <= least * (1 + 1e-9)
        assert result.best.cost >= least * (1 - 1e-9)
        assert result.status != "proven" or result.best.cost <= least * (1 + 1e-6)
    assert at > 5
    assert result.bound == pytest.approx(least, rel=1e-6)


# --- while the result is scored


def test_interrupted_while_the_result_is_scored_it_is_given_all_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    whole = score
    left = [1]

    def once(*words: object) -> object:
        if left:
            left.pop()
            raise KeyboardInterrupt
        return whole(*words)  # type: ignore[arg-type]

    monkeypatch.setattr(outcome, "score", once)
    result = suggest(NOOK, iterations=400, processes=1, alternatives=3)
    assert not left
    holds(result, NOOK)
    assert len(result.layouts) == 1


def test_interrupted_again_while_the_result_is_scored_it_goes_through(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def always(*words: object) -> object:
        raise KeyboardInterrupt

    monkeypatch.setattr(outcome, "score", always)
    with pytest.raises(KeyboardInterrupt):
        suggest(NOOK, iterations=400, processes=1)


def test_once_interrupted_no_layout_but_the_one_shown_is_scored(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever presses Ctrl-C wants to see it now; the base was scored before the search."""
    scored = []

    def counted(scenario: Scenario, layout: Layout) -> object:
        scored.append(layout.name)
        return score(scenario, layout)

    monkeypatch.setattr(outcome, "score", counted)
    monkeypatch.setattr(outcome.Tidier, "rank", lambda *words: pytest.fail("ranks layouts"))
    suggest(NOOK, iterations=400, processes=1, alternatives=3, progress=Press("search", with_layout=True))
    assert scored == ["suggestion"]


# --- the command


def pressing(monkeypatch: pytest.MonkeyPatch, phase: str) -> None:
    press = Press(phase, with_layout=phase in PHASES[NOTHING_YET:])
    monkeypatch.setattr(ProgressLine, "__call__", lambda self, progress: press(progress))


WORDS = ("suggest", NOOK_FILE, "--iterations", "400", "--processes", "1", "--quiet")


@pytest.mark.parametrize("phase", PHASES[NOTHING_YET:])
def test_the_command_shows_the_best_so_far_and_leaves_with_0(
    phase: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    pressing(monkeypatch, phase)
    done = footwork(*WORDS)
    assert (done.status, done.err) == (0, "")
    said = {"search": "no bound was found", "done": "Proven|can save more than another"}
    assert re.search(said.get(phase, "Proven|can save more than another|no bound was found"), done.out)


@pytest.mark.parametrize("phase", PHASES[:NOTHING_YET])
def test_the_command_leaves_with_130_where_there_is_nothing_yet(
    phase: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    pressing(monkeypatch, phase)
    done = footwork(*WORDS)
    assert (done.status, done.out) == (130, "")
    assert done.err == "footwork: stopped; nothing to show yet\n"
