"""``suggest``: a better layout, and how good it is."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import replace

from footwork.arrange import practice
from footwork.arrange.core.options import USUAL_PITCH, Options, base_layout, checked
from footwork.arrange.core.progress import Observer, Report
from footwork.arrange.core.results import Suggestion
from footwork.arrange.early import Early
from footwork.arrange.every_position.stage import ON_SPOTS, off_the_spots
from footwork.arrange.instance import make_instance
from footwork.arrange.outcome import leaving, outcome
from footwork.arrange.ready import Ready, compile_apart
from footwork.arrange.run import Run
from footwork.model.scenario import Layout, Scenario


def suggest(
    scenario: Scenario,
    base: Layout | str | None = None,
    *,
    seconds: float = 30.0,
    iterations: int | None = None,
    pitch: float | None = None,
    facings: int = 4,
    seed: int = 1,
    keep: Sequence[str] = (),
    moves: int | None = None,
    alternatives: int = 0,
    strict: bool = False,
    processes: int | None = None,
    anywhere: bool = False,
    progress: Observer | None = None,
) -> Suggestion:
    """Suggest a layout of ``scenario`` that costs less walking, with a bound on what any could cost.

    base          a layout, or the name of one in the file; by default the file's first, if it has one
    seconds       time for all of it, compiling on first use left out; ``iterations`` (moves tried on the
                  true cost) instead makes the answer depend on ``seed`` alone
    pitch         metres between spots along walls and over the floor; by default 0.25, or more where that
                  gives more spots than fit in memory (a note says so); ``facings`` 4 or 8 a turn
    keep          stations that stay where the base has them; ``moves`` the most that may leave it
    alternatives  further layouts that differ from all before by three stations or more
    strict        should-checks count as must-checks
    processes     threads, by default one a core
    anywhere      refine the best layout off the spots, and bound every position (``Suggestion.anywhere``)
    progress      called with a ``Progress`` now and then; only watches

    Never returns a layout that fails a must-check or costs more than a base that passes them.  Ctrl-C
    (KeyboardInterrupt) ends it with the best so far, and goes through when there is none yet.
    Raises UsageError for a bad argument and NoLayoutError, naming the station and what refuses it, when
    no layout was found.
    """
    options = checked(
        scenario,
        Options(
            seconds,
            iterations,
            USUAL_PITCH if pitch is None else pitch,
            facings,
            seed,
            tuple(keep),
            moves,
            alternatives,
            strict,
            (os.cpu_count() or 1) if processes is None else processes,
            anywhere,
            coarsen=pitch is None,
        ),
    )
    start = base_layout(scenario, base, needed=bool(keep) or moves is not None)
    report, ready = Report(progress), compile_apart(practice.__name__)
    early = Early(scenario, start, options, report)
    work = _Work(scenario, start, options, report)
    try:
        early.work(ready)
        work.work(ready, early)
    except KeyboardInterrupt:
        if work.run is None or work.run.pool.choice is None:
            stopped = early.suggestion()
            if stopped is None:
                raise
            return stopped
        work.run.switch.throw()
    finally:
        ready.close()
    return work.found()


class _Work:
    """The search of one call of ``suggest``, once its code is ready, and what it found."""

    def __init__(self, scenario: Scenario, base: Layout | None, options: Options, report: Report) -> None:
        self.scenario, self.base, self.options, self.report = scenario, base, options, report
        self.run: Run | None = None

    def work(self, ready: Ready, early: Early) -> None:
        """Search and bound; what has to be compiled first counts as no time."""
        options, report = self.options, self.report
        if options.iterations is not None:
            ready.wait()
        compiled = ready.reached("tree")
        if compiled:
            practice.practise()
        report.restart()
        on_spots = replace(options, seconds=options.seconds * (ON_SPOTS if options.anywhere else 1.0))
        instance = make_instance(
            self.scenario, self.base, on_spots, lambda phase: report.tell(phase, early.cost)
        )
        self.run = Run(instance, report, early.layout)
        if not compiled:
            self.run.while_compiling(ready)
            practice.practise()
            report.restart()
        self.run.work()
        self.run.tell("search" if options.anywhere else "done")

    def found(self) -> Suggestion:
        """The best layouts in full; an interrupt meanwhile ends all that is not needed for that."""
        run = self.run
        assert run is not None
        ranked = run.pool.ranked()
        try:
            found = outcome(run, ranked)
        except KeyboardInterrupt:
            if run.switch():  # the second time, somebody doesn't want to see it
                raise
            run.switch.throw()
            found = outcome(run, ranked)
        if not self.options.anywhere or run.switch():
            return found
        return off_the_spots(found, leaving(run.instance, ranked, self.options.seconds, self.report))
