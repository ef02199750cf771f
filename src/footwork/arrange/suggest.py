"""``suggest``: a better layout, and how good it is."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import replace

from footwork.arrange.core.options import USUAL_PITCH, Options, base_layout, checked
from footwork.arrange.core.progress import Observer, Progress, Report
from footwork.arrange.core.results import Suggestion
from footwork.arrange.every_position.stage import ON_SPOTS, off_the_spots
from footwork.arrange.instance import make_instance
from footwork.arrange.outcome import leaving, outcome
from footwork.arrange.ready import make_ready
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
    Report(progress).tell("getting ready")
    make_ready(_practise)
    on_spots = replace(options, seconds=options.seconds * (ON_SPOTS if anywhere else 1.0))
    report, run = Report(progress), None
    try:
        run = Run(make_instance(scenario, start, on_spots, report.tell), report)
        run.work()
        run.tell("search" if anywhere else "done")
    except KeyboardInterrupt:
        if run is None or run.pool.choice is None:
            raise
        run.switch.throw()
    ranked = run.pool.ranked()
    try:
        found = outcome(run, ranked)
    except KeyboardInterrupt:
        if run.switch():  # the second time, somebody doesn't want to see it
            raise
        run.switch.throw()
        found = outcome(run, ranked)
    if not anywhere or run.switch():
        return found
    return off_the_spots(found, leaving(run.instance, ranked, options.seconds, report))


def _practise(scenario: Scenario, before_tree: Callable[[], object]) -> None:
    """All of the work once, on something small, so that everything compiled is loaded."""
    options = Options(1.0, 8, 1.0, 4, 1, (), None, 0, False, 1)

    def observe(progress: Progress) -> None:
        if progress.phase == "bound":
            before_tree()

    report = Report(observe)
    Run(make_instance(scenario, None, options, report.tell), report).practise()
