"""Help before the search can: single moves, judged as ``score`` does, while it is being compiled, once on a
machine, and while its tables are built."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from footwork.arrange.core.options import Options
from footwork.arrange.core.progress import Report
from footwork.arrange.core.results import Suggestion
from footwork.arrange.levels import Level
from footwork.arrange.ready import Ready, share_kept
from footwork.arrange.search.single_moves import SingleMoves
from footwork.model.scenario import Layout, Scenario
from footwork.scoring import Score, score

GO_ON = 3.0
"""Seconds for which moves are tried after the first better layout; then compiling has the cores alone."""
BESIDE = 0.2
"""Part of the time in which moves are tried while tables are built, at most: they slow that down."""
SOON = 2.0
"""Seconds that tables take before moves are tried: where they take no more, the search helps as soon."""
MOST_SCORING = 0.3
"""Part of that which scoring one layout may take."""
TELL = 1.0
"""Seconds between two reports of how much is compiled."""


class Early:
    """What is found before the search is ready.

    ``layout`` is the best so far, where it is better than the base.
    """

    def __init__(self, scenario: Scenario, options: Options, report: Report) -> None:
        self._scenario, self._options, self._report = scenario, options, report
        self._moves: SingleMoves | None = None
        self._told = -math.inf

    @property
    def layout(self) -> Layout | None:
        return self._moves.layout if self._moves is not None and self._moves.better else None

    @property
    def cost(self) -> float:
        """Metres a year of the best sound layout so far, the base too; infinite where none is known yet."""
        return math.inf if self._moves is None else self._moves.cost

    def work(self, ready: Ready, begin: Callable[[], tuple[Layout | None, Level]]) -> None:
        """Until the search is ready; ``begin`` tells the base and the spots.  Raises as that does."""
        self._report.tell("getting ready")
        if ready.reached("search"):
            return
        self._tell()
        if self._options.iterations is None:  # by iterations the answer is to depend on the seed alone
            self._begin(*begin())
        ready.begin()
        found_at = math.inf
        while not ready.reached("search"):
            moves = self._moves
            if moves is None or time.monotonic() - found_at > GO_ON:
                time.sleep(0.1)
            else:
                moves.step()
                found_at = time.monotonic() if moves.better and math.isinf(found_at) else found_at
            if time.monotonic() - self._told > TELL:
                self._tell()

    @contextmanager
    def beside(self, base: Layout | None, level: Level, scoring: float) -> Iterator[None]:
        """While something else is done, in a thread of its own until one move made it better, or for a while.

        Not where anything was tried before, nor by iterations: there the answer depends on the seed alone.
        Nor where ``scoring`` a layout takes so many seconds that only the other work would take longer.
        """
        most = BESIDE * self._options.seconds
        few = scoring > MOST_SCORING * most
        if self._moves is not None or base is None or few or self._options.iterations is not None:
            yield
            return
        over, until = threading.Event(), time.monotonic() + most
        raised: list[BaseException] = []

        def work() -> None:
            if over.wait(SOON):
                return
            self._begin(base, level)
            while self._moves is not None and not self._moves.better:
                if over.is_set() or time.monotonic() > until:
                    return
                self._moves.step()
            try:
                self._report.tell("pair table", self.cost)
            except BaseException as stop:  # of who looks on: it goes through where it is waited for
                raised.append(stop)

        thread = threading.Thread(target=work, daemon=True)
        thread.start()
        try:
            yield
        finally:
            over.set()
            thread.join()
        if raised:
            raise raised[0]

    def _begin(self, base: Layout | None, level: Level) -> None:
        if base is None:
            return
        options, lists = self._options, level.lists
        most = len(lists) if options.moves is None else options.moves
        self._moves = SingleMoves(self._scenario, base, lists, most, options.strict, options.seed)

    def _tell(self) -> None:
        self._told = time.monotonic()
        self._report.tell(compiling(), self.cost)

    def suggestion(self, base: Callable[[], Score | None]) -> Suggestion | None:
        """What to give where the work is stopped before the search is ready; None where there is nothing.

        A base that was told of as the best so far is given too: somebody who saw it is not told of nothing.
        """
        if self._moves is None or math.isinf(self.cost):
            return None
        base_score = base()
        return Suggestion(
            self._scenario.name,
            None if base_score is None else base_score.layout,
            base_score,
            (score(self._scenario, self._moves.layout),),
            0.0,
            0,
            self._report.elapsed,
            self._options.seed,
            notes=("stopped before the search itself had begun",),
        )


def compiling() -> str:
    """How far that is, in words."""
    return f"compiling, once on a machine: {share_kept():.0%} done"
