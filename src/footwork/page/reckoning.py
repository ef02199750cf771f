"""Reckoning beside the hand: one thread, one layout at a time, the newest first.

Each stage is told as soon as it is known.  The words of the checks wait until the hand rests, and are given
up when it moves on.
"""

from __future__ import annotations

import gc
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

from footwork.checks.memory import Memory
from footwork.checks.result import CheckResult
from footwork.model.scenario import Layout, Scenario
from footwork.page.drawing import Drawing
from footwork.page.figures import Superseded, Walked, failed_checks, practise, walked

OFTEN = 0.1
"""Seconds after which the checks are reckoned again while the hand moves on; the metres go before them."""
REST = 0.2
"""Seconds without a move after which the hand rests."""


@dataclass(frozen=True)
class Subject:
    """What there is to reckon about, as it is drawn, and the layout that changes are told from."""

    made: Drawing
    opened: Layout


@dataclass(frozen=True)
class Wanted:
    """What to reckon: ``revision`` is the desk's, by which the page knows what the figures are of.

    ``job`` is whose walk is drawn, while vehicles in ``out`` are away.
    """

    layout: Layout
    revision: int
    job: str | None = None
    out: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Found:
    """What is known so far: ``failed`` is None until checked, and in ``words`` only when that is so."""

    wanted: Wanted
    walked: Walked
    failed: tuple[CheckResult, ...] | None = None
    words: bool = False


class Reckoner:
    """Reckons what was asked last, and tells ``tell`` from its own thread."""

    def __init__(
        self, scenario: Scenario, tell: Callable[[Found], None], fault: Callable[[BaseException], None]
    ) -> None:
        self._scenario, self._tell, self._fault = scenario, tell, fault
        self._memory = Memory(scenario)
        self._last: Walked | None = None
        self._checked = -OFTEN
        self._wanted: Wanted | None = None
        self._ended = self._settled = False
        self._changed = threading.Condition()
        self._thread = threading.Thread(target=self._run, name="reckoning", daemon=True)
        self._thread.start()

    def ask(self, wanted: Wanted) -> None:
        """Reckon this next, whatever else was asked."""
        with self._changed:
            self._wanted = wanted
            self._changed.notify()

    def end(self) -> None:
        """Reckon nothing more; what is being reckoned is given up soon."""
        with self._changed:
            self._ended = True
            self._changed.notify()

    def _newer(self) -> bool:
        return self._wanted is not None or self._ended

    def _rests(self) -> bool:
        """Whether nothing is asked for a while."""
        with self._changed:
            return not self._changed.wait_for(self._newer, REST)

    def _run(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(self._newer)
                wanted, self._wanted = self._wanted, None
            if self._ended or wanted is None:
                return
            try:
                self._reckon(wanted)
            except Superseded:
                continue
            except Exception as fault:  # told to the page and in the terminal; the next move may do again
                self._fault(fault)

    def _reckon(self, wanted: Wanted) -> None:
        found = self._last = walked(self._scenario, wanted.layout, self._last)
        self._tell(Found(wanted, found))
        if self._newer() and time.monotonic() < self._checked + OFTEN:
            return
        self._tell(Found(wanted, found, failed_checks(found, self._memory)))
        self._checked = time.monotonic()
        if self._rests():
            self._tell(Found(wanted, found, failed_checks(found, self._memory, self._newer), words=True))
            self._settle(found)

    def _settle(self, found: Walked) -> None:
        """What is loaded for good is put aside: to look through it while the hand moves takes 0.1 s."""
        if not self._settled:
            self._settled = True
            practise(found)
            gc.collect()
            gc.freeze()
