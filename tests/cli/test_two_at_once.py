"""Several processes save into one file at once: each has its layout in it, or says that it has not."""

from __future__ import annotations

import multiprocessing
import os
import signal
from pathlib import Path

import pytest

import footwork
from box import write_box
from footwork.compiled.signals import undisturbed
from footwork.model.errors import UsageError
from footwork.model.scenario import Layout
from footwork.model.whole import alone_in, put_whole

AT_ONCE = 6


def save(path: Path, name: str, gate: object, told: object) -> None:
    scenario = footwork.load(path)
    gate.wait()  # type: ignore[attr-defined]
    try:
        footwork.save(scenario, Layout(name, scenario.layouts[0].placements), name)
        told.put((name, ""))  # type: ignore[attr-defined]
    except UsageError as fault:
        told.put((name, fault.lines[0]))  # type: ignore[attr-defined]


def test_nothing_is_lost_unsaid(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    spawn = multiprocessing.get_context("spawn")
    gate, told = spawn.Barrier(AT_ONCE), spawn.Queue()
    names = [f"by-{k}" for k in range(AT_ONCE)]
    savers = [spawn.Process(target=save, args=(path, name, gate, told)) for name in names]
    for saver in savers:
        saver.start()
    said = dict(told.get(timeout=60) for _ in names)
    for saver in savers:
        saver.join()
    there = {layout.name for layout in footwork.load(path).layouts}
    assert there & set(names) == {name for name, fault in said.items() if not fault}
    assert there & set(names)
    assert all("save again" in fault for fault in said.values() if fault)
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def test_a_lock_that_is_held_is_waited_for_no_longer_than_bearable(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("footwork.model.whole.PATIENCE", 0.1)
    with alone_in(tmp_path), alone_in(tmp_path):
        put_whole(tmp_path / "a", b"written")
    assert (tmp_path / "a").read_bytes() == b"written"


def test_a_signal_waits_until_a_file_is_written(tmp_path: Path) -> None:
    path = tmp_path / "a"

    def stopped() -> None:
        with undisturbed():
            os.kill(os.getpid(), signal.SIGINT)
            put_whole(path, b"part")
            put_whole(path, b"all of it")

    with pytest.raises(KeyboardInterrupt):
        stopped()
    assert path.read_bytes() == b"all of it"
    assert [p.name for p in tmp_path.iterdir()] == ["a"]
