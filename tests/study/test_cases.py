"""Cases of studies: in processes, kept in a file, gone on with."""

from __future__ import annotations

import json
import multiprocessing
import os
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import pytest

from box import BOX
from footwork.model.errors import UsageError
from footwork.model.read import loads
from footwork.study.case import Case
from footwork.study.cases import Done, Engine, StudyError, run_cases
from footwork.study.journal import Journal, digest_of, usual_path
from study import work


def squares(begun: Path, count: int = 6, seconds: float = 0.0) -> list[Case]:
    return [Case(f"square {k}", work.square, (k, str(begun), seconds)) for k in range(count)]


def begun_cases(begun: Path) -> Counter[str]:
    return Counter(begun.read_text().split()) if begun.exists() else Counter()


@pytest.mark.parametrize("processes", [1, 2])
def test_cases_give_the_same_in_one_process_and_in_two(tmp_path: Path, processes: int) -> None:
    gave = run_cases(squares(tmp_path / "begun"), Engine(processes))
    assert gave == [{"square": k * k, "infinite": float("inf")} for k in range(6)]


def test_what_is_in_the_journal_is_not_reckoned_again(tmp_path: Path) -> None:
    begun, told = tmp_path / "begun", list[Done]()
    engine = Engine(1, journal=tmp_path / "cases.jsonl", progress=told.append)
    first = run_cases(squares(begun, 3), engine)
    both = run_cases(squares(begun, 6), engine)
    assert both[:3] == first
    assert set(begun_cases(begun).values()) == {1}
    assert [(done.finished, done.of, done.kept) for done in told[4:]] == [
        (3, 6, 3), (4, 6, 3), (5, 6, 3), (6, 6, 3)
    ]  # fmt: skip


def test_a_line_cut_off_in_the_middle_is_reckoned_again_and_others_are_not(tmp_path: Path) -> None:
    begun, path = tmp_path / "begun", tmp_path / "cases.jsonl"
    run_cases(squares(begun, 3), Engine(1, journal=path))
    path.write_bytes(path.read_bytes()[:-9])
    run_cases(squares(begun, 3), Engine(1, journal=path))
    assert begun_cases(begun) == {"0": 1, "1": 1, "2": 2}
    whole = Journal(path)
    assert all(case.digest in whole for case in squares(begun, 3))


@pytest.mark.parametrize("text", ["[room]\nsize = [3, 4]\n", '{"other": 1}\n', "[1, 2]\n"])
def test_a_file_that_is_something_else_is_refused_and_left_alone(tmp_path: Path, text: str) -> None:
    path = tmp_path / "shed.toml"
    path.write_text(text)
    with pytest.raises(UsageError, match="another"):
        run_cases(squares(tmp_path / "begun", 1), Engine(1, journal=path))
    assert path.read_text() == text


def test_a_case_whose_process_is_killed_is_begun_again(tmp_path: Path) -> None:
    begun, mark = tmp_path / "begun", tmp_path / "mark"
    cases = [Case(f"{k}", work.killed_once, (k, str(begun), str(mark))) for k in range(4)]
    assert run_cases(cases, Engine(2, journal=tmp_path / "cases.jsonl")) == [0, 1, 2, 3]
    assert begun_cases(begun)["1"] == 2


def test_a_case_that_is_killed_each_time_ends_the_study_with_what_was_finished(tmp_path: Path) -> None:
    begun, path = tmp_path / "begun", tmp_path / "cases.jsonl"
    run_cases(squares(begun, 2), Engine(1, journal=path))
    cases = [*squares(begun, 2), *(Case(f"doomed {k}", work.always_killed, ()) for k in (1,))]
    doomed = [*cases, Case("other", work.square, (9, str(begun), 6.0))]
    with pytest.raises(StudyError, match="killed 3 times"):
        run_cases(doomed, Engine(2, journal=path))
    assert len(path.read_text().splitlines()) == 2


def test_a_study_killed_twice_reckons_no_case_again(tmp_path: Path) -> None:
    """The whole process, not a worker: with SIGKILL, once two more cases are in the file."""
    begun, path = tmp_path / "begun", tmp_path / "cases.jsonl"
    code = (
        "import sys; from pathlib import Path\n"
        "from study.test_cases import squares; from footwork.study.cases import Engine, run_cases\n"
        "print([gave['square'] for gave in run_cases(squares(Path(sys.argv[1]), 8, 0.15), "
        "Engine(1, journal=Path(sys.argv[2])))])"
    )
    here = Path(__file__).parent.parent
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(here), str(here.parent / "src")])}
    command = [sys.executable, "-c", code, str(begun), str(path)]

    def lines() -> int:
        return path.read_text().count("\n") if path.exists() else 0

    reckoned = []
    for more in (2, 5):
        study = subprocess.Popen(command, env=environment)
        while lines() < more:
            assert study.poll() is None
            time.sleep(0.01)
        os.kill(study.pid, signal.SIGKILL)
        study.wait()
        reckoned.append(lines())
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
    assert json.loads(done.stdout) == [k * k for k in range(8)]
    kept = [json.loads(line)["case"] for line in path.read_text().splitlines()]
    assert len(kept) == len(set(kept)) == 8
    assert 2 <= reckoned[0] < reckoned[1] < 8
    # only what was under way when it was killed was begun twice
    assert sum(begun_cases(begun).values()) <= 8 + 2


@pytest.mark.parametrize("processes", [1, 2])
def test_an_interrupt_gives_what_was_finished_and_leaves_no_process(tmp_path: Path, processes: int) -> None:
    before = set(multiprocessing.active_children())

    def interrupt(done: Done) -> None:
        if done.finished == 2:
            os.kill(os.getpid(), signal.SIGINT)

    cases = squares(tmp_path / "begun", 6, 0.3)
    gave = run_cases(cases, Engine(processes, tmp_path / "cases.jsonl", interrupt))
    finished = [each for each in gave if each is not None]
    assert 2 <= len(finished) < 6
    assert len((tmp_path / "cases.jsonl").read_text().splitlines()) == len(finished)
    assert set(multiprocessing.active_children()) <= before


def test_an_interrupt_before_anything_is_finished_goes_through(tmp_path: Path) -> None:
    def interrupt(done: Done) -> None:
        if not done.finished:
            os.kill(os.getpid(), signal.SIGINT)

    with pytest.raises(KeyboardInterrupt):
        run_cases(squares(tmp_path / "begun", 2, 0.3), Engine(1, progress=interrupt))


def test_an_interrupt_after_the_last_of_some_cases_ends_the_study(tmp_path: Path) -> None:
    def interrupt(done: Done) -> None:
        if done.finished == done.of:
            os.kill(os.getpid(), signal.SIGINT)

    engine = Engine(1, progress=interrupt)
    assert None not in run_cases(squares(tmp_path / "begun", 2, 0.01), engine)
    assert run_cases(squares(tmp_path / "more", 3, 0.01), engine, at_hand=True) == [None] * 3
    assert not (tmp_path / "more").exists()
    with pytest.raises(KeyboardInterrupt):
        run_cases([], engine.begun())  # another study: it is interrupted by itself


def test_an_interrupt_where_there_is_something_to_show_already_ends_it(tmp_path: Path) -> None:
    def interrupt(done: Done) -> None:
        os.kill(os.getpid(), signal.SIGINT)

    engine = Engine(1, progress=interrupt)
    assert run_cases(squares(tmp_path / "begun", 2, 0.3), engine, at_hand=True) == [None, None]


def test_digests_know_what_a_scenario_says_not_where_it_lies(tmp_path: Path) -> None:
    one, two = loads(BOX, tmp_path / "a.toml"), loads("# hello\n" + BOX, tmp_path / "b.toml")
    assert digest_of("sizes", one, 1.0) == digest_of("sizes", two, 1.0)
    assert digest_of("sizes", one, 1.0) != digest_of("sizes", one, 2.0)
    assert digest_of("sizes", one) != digest_of("sizes", one.with_(jobs=one.jobs[:1]))


def test_each_file_has_a_journal_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    one, two = (usual_path(loads(BOX, tmp_path / name)) for name in ("a.toml", "b.toml"))
    assert one is not None
    assert one.parent == tmp_path / "cache" / "footwork" / "studies"
    assert one != two
    assert usual_path(loads(BOX).with_(path=None)) is None
