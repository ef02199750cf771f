"""Cases of a study: in processes on this machine, one a core, or on a cluster; finished ones are kept.

A case is a function of a module and its arguments, all of which can be pickled; it gives plain JSON.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing
from dataclasses import dataclass, field, replace
from multiprocessing.connection import wait as wait_for
from pathlib import Path
from typing import Any

from footwork.compiled.signals import undisturbed
from footwork.model.errors import FootworkError
from footwork.study.case import Case, timed
from footwork.study.journal import Journal

TRIES = 3
"""How often a case is begun whose process was killed, before the study gives up."""


@dataclass(frozen=True, slots=True)
class Done:
    """How far a study is: ``name`` is the case finished last, ``kept`` those found finished."""

    name: str
    finished: int
    of: int
    kept: int
    seconds: float


@dataclass(frozen=True)
class Engine:
    """How cases are run.

    ``processes`` at a time, by default one a core; or where ``cluster`` is given, an address such as
    ``tcp://shed:8786``, on the workers of the dask.distributed scheduler there.  ``journal`` is the file that
    finished cases are kept in, None for none.  ``progress`` is told of each that is finished.
    """

    processes: int | None = None
    journal: Path | None = None
    progress: Callable[[Done], None] | None = None
    cluster: str | None = None
    over: threading.Event = field(default_factory=threading.Event, init=False, repr=False, compare=False)
    """Set where Ctrl-C has ended a study: it begins no further cases."""

    def begun(self) -> Engine:
        """The same for a study that begins."""
        return replace(self)

    @property
    def at_a_time(self) -> int:
        return self.processes or os.cpu_count() or 1


class StudyError(FootworkError):
    """A study that could not be finished; what was is kept."""


def run_cases(cases: Sequence[Case], engine: Engine, *, at_hand: bool = False) -> list[Any]:
    """What each case gives, in their order; those that are in the journal are not reckoned again.

    Ctrl-C ends it with None for what is not finished, and goes through where nothing is, unless the study
    has something ``at_hand`` that it can show.  Raises what a case raises, UsageError for a journal or a
    cluster that cannot be used, and StudyError where a process was killed ``TRIES`` times at the same work;
    what was finished is kept in each case.
    """
    journal = Journal(engine.journal)
    by_digest = {case.digest: case for case in cases if case.digest not in journal}
    kept = finished = len(cases) - len(by_digest)
    left = [] if engine.over.is_set() else list(by_digest.values())
    try:
        _tell(engine, Done("", finished, len(cases), kept, 0.0))
        with closing(_finished(left, engine)) as each:
            for case, result, seconds in each:
                journal.add(case.digest, case.name, result, seconds)
                finished += 1
                _tell(engine, Done(case.name, finished, len(cases), kept, seconds))
    except KeyboardInterrupt:
        engine.over.set()
        if not finished and not at_hand:
            raise
    return [journal.get(case.digest) for case in cases]


def _tell(engine: Engine, done: Done) -> None:
    if engine.progress is not None:
        engine.progress(done)


_Finished = Iterator[tuple[Case, Any, float]]


def _finished(cases: Sequence[Case], engine: Engine) -> Any:
    """Cases as they are finished, what they gave, and the seconds it took."""
    if engine.cluster is not None and cases:
        from footwork.study.cluster import finished_there

        return finished_there(cases, engine.cluster)
    if min(engine.at_a_time, len(cases)) <= 1:
        return _one_by_one(cases)
    return _in_processes(cases, min(engine.at_a_time, len(cases)))


def _one_by_one(cases: Sequence[Case]) -> _Finished:
    for case in cases:
        yield (case, *timed(case.work, case.arguments))


def _in_processes(cases: Sequence[Case], processes: int) -> _Finished:
    """Each process is a fresh interpreter that loads compiled code from the disk once."""
    left, tries = [*cases], 0
    while left:
        try:
            for case, result, seconds in _pooled(left, processes):
                left = [other for other in left if other is not case]
                yield case, result, seconds
        except BrokenProcessPool:
            tries += 1
            if tries == TRIES:
                raise StudyError(
                    f"a process was killed {TRIES} times at {left[0].name} or beside it, perhaps for want of "
                    "memory; finished cases are kept: try again with fewer processes",
                    'a script of your own has to begin a study below `if __name__ == "__main__":`',
                ) from None


def _pooled(cases: Sequence[Case], processes: int) -> _Finished:
    before = set(multiprocessing.active_children())
    pool = ProcessPoolExecutor(processes, multiprocessing.get_context("spawn"), _settle_in)
    try:
        with undisturbed():  # a process whose begin is broken off says so at length
            pool.submit(_nothing)
        futures: dict[Future[tuple[Any, float]], Case] = {
            pool.submit(timed, case.work, case.arguments): case for case in cases
        }
        open_ = set(futures)
        while open_:
            ready, open_ = wait(open_, return_when=FIRST_COMPLETED)
            broken = None
            for future in ready:
                fault = future.exception()
                if isinstance(fault, BrokenProcessPool):
                    broken = fault
                elif fault is not None:
                    raise fault
                else:
                    yield (futures[future], *future.result())
            if broken is not None:
                raise broken
    except BaseException:
        for child in set(multiprocessing.active_children()) - before:
            child.terminate()
        raise
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _nothing() -> None:
    """The first thing a pool does: with what comes back it takes note of the processes that were begun since,
    and misses none of them that is killed."""


def _settle_in() -> None:
    """What a process does first: leave Ctrl-C to the one that began it, and not outlive that."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    wait_for([sentinel])
    os._exit(1)
