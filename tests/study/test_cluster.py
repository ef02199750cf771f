"""Cases on a real scheduler with two workers on this machine, one of which is killed on the way."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from cli.run import footwork
from footwork.model.errors import UsageError
from footwork.study.case import Case
from footwork.study.cases import Done, Engine, run_cases
from footwork.study.sizes import sizes
from study import work
from study.rooms import NOOK, QUICK, nook

pytest.importorskip("distributed")
TESTS = Path(__file__).parents[1]
PATIENCE = 60.0


class Cluster:
    """A scheduler and its workers, each a process of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.processes: list[subprocess.Popen[bytes]] = []
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.address = f"tcp://127.0.0.1:{free.getsockname()[1]}"
        self._start("scheduler", "--host", "127.0.0.1", "--port", self.address.rpartition(":")[2])

    def worker(self) -> subprocess.Popen[bytes]:
        return self._start("worker", self.address, "--nthreads", "1", "--no-nanny", "--death-timeout", "30")

    def _start(self, what: str, *words: str) -> subprocess.Popen[bytes]:
        paths = os.pathsep.join([str(TESTS.parent / "src"), str(TESTS)])
        process = subprocess.Popen(
            [sys.executable, "-m", f"distributed.cli.dask_{what}", "--no-dashboard", *words],
            cwd=self.folder,
            env={**os.environ, "PYTHONPATH": paths},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        self.processes.append(process)
        return process


@contextmanager
def cluster(folder: Path, workers: int) -> Iterator[tuple[Cluster, list[subprocess.Popen[bytes]]]]:
    found = Cluster(folder)
    try:
        begun = [found.worker() for _ in range(workers)]
        wait_for(found.address, workers)
        yield found, begun
    finally:
        for process in reversed(found.processes):
            process.kill()
            process.wait()


def wait_for(address: str, workers: int) -> None:
    from distributed import Client

    until = time.monotonic() + PATIENCE
    while True:
        try:
            with Client(address, timeout=2, set_as_default=False) as client:
                if workers:
                    client.wait_for_workers(workers, timeout=until - time.monotonic())
                return
        except OSError:
            if time.monotonic() > until:
                raise


def test_a_worker_is_killed_on_the_way_and_the_figures_are_the_same(tmp_path: Path) -> None:
    begun = tmp_path / "begun"
    cases = [Case(f"square {k}", work.square, (k, str(begun), 0.2)) for k in range(10)]
    told = list[Done]()
    with cluster(tmp_path, 2) as (found, workers):

        def on_the_way(done: Done) -> None:
            told.append(done)
            if done.finished == 3:
                workers[0].send_signal(signal.SIGKILL)

        engine = Engine(cluster=found.address, journal=tmp_path / "cases.jsonl", progress=on_the_way)
        gave = run_cases(cases, engine)
        assert workers[0].wait(PATIENCE) == -signal.SIGKILL
        assert workers[1].poll() is None
    assert [each["square"] for each in gave] == [k * k for k in range(10)]
    assert told[-1].finished == 10
    assert len((tmp_path / "cases.jsonl").read_text().splitlines()) == 10
    # the one in work where it was killed, and what that worker had finished and not handed on yet
    assert 10 <= len(begun.read_text().split()) <= 13


def test_a_study_on_a_cluster_gives_what_it_gives_here(tmp_path: Path) -> None:
    wanted = [(2.0, 2.6), (3.0, 2.6)]
    here = sizes(nook(), wanted, effort=QUICK, engine=Engine(1))
    with cluster(tmp_path, 1) as (found, _):
        there = sizes(nook(), wanted, effort=QUICK, engine=Engine(cluster=found.address))
    assert there.rooms == here.rooms


def test_a_cluster_that_is_not_there_is_one_line_and_keeps_what_was_finished(tmp_path: Path) -> None:
    path, journal = tmp_path / "nook.toml", tmp_path / "cases.jsonl"
    path.write_text(NOOK)
    short = ("--iterations", 30, "--pitch", 0.5, "--quiet", "--journal", journal)
    assert footwork("sizes", path, "--width", "3", *short, "--processes", 1).status == 0
    kept = journal.read_text()
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))  # nobody listens there
        address = f"tcp://127.0.0.1:{free.getsockname()[1]}"
        began = time.monotonic()
        done = footwork("sizes", path, "--width", "2:3", *short, "--cluster", address)
        took = time.monotonic() - began
    assert (done.status, done.out) == (2, "")
    assert done.err.count("\n") == 1
    assert f"the cluster at {address} cannot be reached" in done.err
    assert took < 30.0  # ten seconds on a machine that is not busy
    assert journal.read_text() == kept
    both = footwork("sizes", path, "--width", "3", "--cluster", address, "--processes", 2)
    assert (both.status, both.err.count("exclude each other")) == (2, 1)


def test_a_cluster_without_workers_says_so(tmp_path: Path) -> None:
    with cluster(tmp_path, 0) as (found, _), pytest.raises(UsageError, match="has no worker"):
        run_cases([Case("one", work.square, (1, str(tmp_path / "b")))], Engine(cluster=found.address))


def test_what_answers_and_is_no_scheduler_is_told_as_that(tmp_path: Path) -> None:
    """Something else of the network, whose words would be taken for sizes."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        address = f"tcp://127.0.0.1:{other.getsockname()[1]}"
        threading.Thread(target=_answer, args=(other,), daemon=True).start()
        with pytest.raises(
            UsageError, match=r"is no dask\.distributed scheduler|cannot be reached"
        ) as caught:
            run_cases([Case("one", work.square, (1, str(tmp_path / "b")))], Engine(cluster=address))
    assert len(caught.value.lines) == 1


def _answer(other: socket.socket) -> None:
    try:
        while True:
            other.accept()[0].sendall(b"HTTP/1.1 400 Bad Request\r\nContent-Length: 0\r\n\r\n" * 9)
    except OSError:  # the test is over
        return
