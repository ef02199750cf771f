"""``suggest``: a better layout, and how good it is."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import replace

from footwork.arrange import practice
from footwork.arrange.core.once import Once
from footwork.arrange.core.options import USUAL_PITCH, Options, base_layout, checked
from footwork.arrange.core.pairwise import bytes_of_open_nodes, bytes_with_tables
from footwork.arrange.core.progress import Observer, Report
from footwork.arrange.core.results import Suggestion
from footwork.arrange.early import Early
from footwork.arrange.every_position.stage import ON_SPOTS, off_the_spots
from footwork.arrange.instance import make_instance
from footwork.arrange.levels import Level, Levels
from footwork.arrange.outcome import leaving, outcome
from footwork.arrange.ready import Ready, compile_apart
from footwork.arrange.run import Run
from footwork.arrange.spots.enumerate import with_spots_of
from footwork.floor.plan import Plan
from footwork.model.errors import NoLayoutError
from footwork.model.scenario import Layout, Scenario
from footwork.scoring import score


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
    pitch         metres between spots along walls and over the floor; by default 0.25, less in a small
                  room, more where time or memory allow no less (a note says so); ``facings`` 4 or 8 a turn
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
    report = Report(progress)
    work = _Work(scenario, start, options, report)
    ready = compile_apart(practice.__name__)
    try:
        work.work(ready)
    except KeyboardInterrupt:
        if work.run is None or work.run.pool.choice is None:
            stopped = work.early.suggestion(work.base_score)
            if stopped is None:
                raise
            return stopped
        work.run.switch.throw()
    finally:
        ready.close()
    return work.found()


class _Work:
    """The search of one call of ``suggest`` and what it found.

    ``early`` works while the search is compiled; ``run`` is on the level that has been reached.
    """

    def __init__(self, scenario: Scenario, base: Layout | None, options: Options, report: Report) -> None:
        self.scenario, self.options, self.report = scenario, options, report
        report.found = self.best_layout
        self.early = Early(scenario, options, report)
        self.run: Run | None = None
        self.base = None if base is None else Layout(base.name, Plan(scenario, base).placements)
        self._measure()

    def _measure(self) -> None:
        """See how fast this machine is, for how finely spots lie and what the result takes."""
        options, scenario, base = self.options, self.scenario, self.base
        on_spots = replace(options, seconds=options.seconds * (ON_SPOTS if options.anywhere else 1.0))
        self.levels = Levels(scenario, base, on_spots)
        self.base_score = Once(lambda: None if base is None else score(scenario, base))

    def best_layout(self) -> Layout | None:
        """The best so far, if any."""
        if self.run is not None and self.run.pool.choice is not None:
            return self.run.instance.layout(self.run.pool.choice)
        return self.early.layout

    def work(self, ready: Ready) -> None:
        """Search and bound; what has to be compiled first counts as no time, to load it does."""
        report = self.report
        self.early.work(ready, lambda: (self.base, self.levels.first))
        if self.options.iterations is not None:
            ready.wait()
        compiled = ready.reached("tree")
        if compiled:
            practice.practise()
        if not ready.kept:
            self._start_anew()
        report.tell("spots", self.early.cost)
        level = self._first_level()
        self._begin(level, [])
        if not compiled:
            self._run.while_compiling(ready)
            practice.practise()
            self._start_anew()
            level = self._first_level()
            if level.options != self._run.options:
                self._begin(level, self._run.best_layouts())
        if not level.last:
            self._run.look_around()
            self.levels.gone = self.report.elapsed
            self._begin(self.levels.last, self._run.best_layouts())
        self._work_on(self.levels.last)
        self._run.tell("search" if self.options.anywhere else "done")

    def _start_anew(self) -> None:
        """Count the time from now on, and see anew how fast this machine is with nothing to compile."""
        self.report.restart()
        self._measure()

    def _first_level(self) -> Level:
        """The spots to begin with.

        How long a result takes is seen on the base first: beside other work both take several times as long.
        """
        self.levels.refuse_too_many()
        if self.options.iterations is None:
            self.base_score()
        self.levels.gone = self.report.elapsed
        return self.levels.first

    def _work_on(self, level: Level) -> None:
        """Raises NoLayoutError where nothing is found, nor on finer levels that there is time for."""
        while True:
            try:
                self._run.work()
                return
            except NoLayoutError:
                by_clock = self.options.iterations is None
                late = by_clock and self.report.elapsed > self.options.seconds
                finer = None if late or self._run.switch() else self.levels.finer(level)
                if finer is None:
                    raise
            level = finer
            self._begin(level, [])

    @property
    def _run(self) -> Run:
        assert self.run is not None
        return self.run

    def _begin(self, level: Level, found: Sequence[Layout]) -> None:
        """A run on a level that starts from what was found before, which are spots of it too."""
        early = self.early.layout
        found = found or ([] if early is None else [early])
        level = replace(level, lists=with_spots_of(self.scenario, found, level.lists))
        best = self.early.cost if self.run is None else self.run.pool.best
        tables = bytes_with_tables(level.size)
        most = tables + bytes_of_open_nodes(level.size)
        self.report.tell("pair table", best, memory=(tables, most))
        with self.early.beside(self.base, level, self.base_score.took):
            instance = make_instance(self.scenario, self.base, level)
        self.run = Run(instance, self.report, found)
        self.run.slow = self.levels.slow
        self.run.result_takes = lambda: self.base_score.took

    def found(self) -> Suggestion:
        """The best layouts in full; an interrupt meanwhile ends all that is not needed for that."""
        run = self._run
        ranked = run.pool.ranked()
        try:
            found = outcome(run, ranked, self.base_score())
        except KeyboardInterrupt:
            if run.switch():  # the second time, somebody doesn't want to see it
                raise
            run.switch.throw()
            found = outcome(run, ranked, self.base_score())
        if not self.options.anywhere or run.switch():
            return found
        begin = leaving(run.instance, ranked, self.options.seconds, self.report)
        self.report.found = found.best.as_layout
        self.run = None
        del run  # its tables and open nodes take as much memory as those of cells may
        return off_the_spots(found, begin)
