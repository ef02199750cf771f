"""The first run on a machine: all that is needed is compiled in practice, and help comes meanwhile."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from footwork.arrange import early, practice, ready
from footwork.arrange import suggest as suggesting
from footwork.arrange.branch_and_bound import node
from footwork.arrange.core.options import Options, base_layout, checked
from footwork.arrange.core.progress import Progress, Report
from footwork.arrange.ready import Compiling, Ready, Stage, needed
from footwork.arrange.suggest import suggest
from footwork.model.read import load
from footwork.scoring import score

SHED = load(Path(__file__).parents[2] / "scenarios" / "gate-shed.toml")
TODAY = score(SHED)


def test_practice_tightens_walks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise the first small node of a real search would wait for it to be compiled."""
    calls, on_tightened = [], node.on_tightened

    def watched(*args: Any) -> Any:
        calls.append(args)
        return on_tightened(*args)

    monkeypatch.setattr(node, "on_tightened", watched)
    practice.practise.cache_clear()
    practice.practise()
    assert calls


def test_practice_compiles_all_that_is_counted() -> None:
    """Else the share that is told would never be the whole, and every run would look for more to compile."""
    practice.practise()
    assert [f.__name__ for f in needed() if not f.overloads] == []  # type: ignore[attr-defined]


class Slow(Ready):
    """Compiled code that takes so many looks to be ready."""

    def __init__(self, looks: int) -> None:
        super().__init__()
        self.looks = looks

    def reached(self, stage: Stage) -> bool:
        self.looks -= 1
        return self.looks < 0


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> Slow:
    waited = Slow(300)
    monkeypatch.setattr(suggesting, "compile_apart", lambda module: waited)
    monkeypatch.setattr(early, "TELL", 0.0)
    return waited


def while_compiling(told: list[Progress]) -> list[Progress]:
    return [state for state in told if state.phase.startswith("compiling")]


def test_while_the_search_is_compiled_single_moves_find_better_layouts(slow: Slow) -> None:
    told: list[Progress] = []
    found = suggest(SHED, seconds=2.0, pitch=0.5, progress=told.append)
    best = [state.best for state in while_compiling(told)]
    assert min(best) < TODAY.cost
    assert best == sorted(best, reverse=True)
    assert found.best.cost <= min(best)
    assert "% done" in while_compiling(told)[0].phase


def test_what_took_long_while_compiling_is_measured_anew() -> None:
    """The cores were busy: else a first run would look at few spots, for a small part of its time."""
    options = checked(SHED, Options(2.0, None, 0.25, 4, 1, (), None, 0, False, 1, coarsen=True))
    work = suggesting._Work(SHED, base_layout(SHED, None, needed=False), options, Report(None))
    work.base_score()
    work.levels.slow = work.base_score.took = 1e6
    coarse = work.levels.first
    work.work(Slow(300))
    assert work.run is not None
    assert work.run.result_takes() < 100.0
    assert work.run.options.pitch < coarse.options.pitch
    assert work.found().best.cost < TODAY.cost


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch) -> list[Progress]:
    """What is told; tables are not built before a better layout is among it."""
    told, built = list[Progress](), suggesting.make_instance

    def slowly(*arguments: Any) -> Any:
        deadline = time.monotonic() + 60.0
        while not any(state.best < TODAY.cost for state in told) and time.monotonic() < deadline:
            time.sleep(0.05)
        return built(*arguments)

    monkeypatch.setattr(suggesting, "make_instance", slowly)
    monkeypatch.setattr(early, "BESIDE", 100.0)
    return told


def test_while_the_tables_are_built_single_moves_find_a_better_layout(told: list[Progress]) -> None:
    found = suggest(SHED, seconds=0.5, pitch=1.0, processes=1, progress=told.append)
    first = next(state for state in told if state.best < TODAY.cost)
    assert first.phase == "pair table"
    assert found.best.cost <= first.best < TODAY.cost


def test_stopped_while_the_tables_are_built_the_best_so_far_is_given(told: list[Progress]) -> None:
    def press(state: Progress) -> None:
        told.append(state)
        if state.best < TODAY.cost:
            raise KeyboardInterrupt

    found = suggest(SHED, seconds=0.5, pitch=1.0, processes=1, progress=press)
    assert found.best.ok
    assert found.best.cost < TODAY.cost
    assert "before the search" in " ".join(found.notes)


def test_stopped_meanwhile_the_best_so_far_is_given(slow: Slow) -> None:
    def press(state: Progress) -> None:
        if state.best < TODAY.cost:
            raise KeyboardInterrupt

    found = suggest(SHED, seconds=2.0, pitch=0.5, keep=["saw", "rack"], moves=2, progress=press)
    assert found.best.ok
    assert found.best.cost < TODAY.cost
    assert found.status == "none"
    assert "before the search" in " ".join(found.notes)
    moved = {name for name, at in found.best.placements.items() if at != TODAY.placements[name]}
    assert moved
    assert len(moved) <= 2
    assert not moved & {"saw", "rack"}


def test_stopped_before_anything_better_is_found_the_base_that_was_told_is_given(
    slow: Slow, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(early.SingleMoves, "step", lambda self: None)

    def press(state: Progress) -> None:
        if state.best == TODAY.cost:
            raise KeyboardInterrupt

    found = suggest(SHED, seconds=2.0, pitch=0.5, progress=press)
    assert dict(found.best.placements) == dict(TODAY.placements)
    assert (found.best.cost, found.status) == (TODAY.cost, "none")


def test_stopped_before_anything_is_found_it_goes_through(slow: Slow) -> None:
    def press(state: Progress) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        suggest(SHED, seconds=2.0, pitch=0.5, progress=press)


STAGES = """
import sys, time
if sys.argv[1] == "search":
    print("search", flush=True)
    sys.stdin.readline()
    time.sleep(0.2)
elif {long}:
    time.sleep(600)
"""


def processes(folder: Path, monkeypatch: pytest.MonkeyPatch, long: bool) -> Compiling:
    (folder / "stages.py").write_text(STAGES.format(long=long))
    monkeypatch.chdir(folder)
    return Compiling("stages")


def test_two_processes_compile_and_say_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    apart = processes(tmp_path, monkeypatch, long=False)
    assert not apart.reached("search")
    apart.begin()
    apart.wait()
    assert apart.reached("search")
    assert apart.reached("tree")
    apart.close()


def test_nobody_compiles_on_once_nobody_asks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    apart = processes(tmp_path, monkeypatch, long=True)
    apart.begin()
    while not apart.reached("search"):
        time.sleep(0.01)
    assert not apart.reached("tree")
    apart.close()
    apart.wait()  # there is nobody left to wait for
    assert all(process.poll() is not None for process in apart._processes)


def test_a_process_that_compiles_ends_with_the_one_that_started_it() -> None:
    program = (
        "from footwork.arrange.ready import follow_parent; follow_parent(); import time; time.sleep(600)"
    )
    process = subprocess.Popen([sys.executable, "-c", program], stdin=subprocess.PIPE)
    assert process.stdin is not None
    process.stdin.close()
    assert process.wait(timeout=60) == 1


def test_where_all_is_kept_nobody_compiles_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ready, "share_kept", lambda: 1.0)
    nothing = ready.compile_apart("nothing")
    assert type(nothing) is Ready
    assert nothing.kept


def test_where_nothing_is_compiled_at_all_nothing_is_left_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    """As when Numba is told to leave functions as they are."""
    monkeypatch.setattr(ready, "needed", list)
    assert ready.share_kept() == 1.0
