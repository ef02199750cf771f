"""What the commands of studies share: options, progress, where finished cases are kept."""

from __future__ import annotations

import math
import shutil
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypedDict, TypeVar

import click

from footwork.cli import output, signals
from footwork.cli.options import above_nothing, quiet_option, read_pitch, seed_option, strict_option
from footwork.cli.progress import EVERY

if TYPE_CHECKING:
    from footwork.model.scenario import Scenario
    from footwork.study.cases import Done, Engine
    from footwork.study.effort import Effort

_Command = TypeVar("_Command", bound=Callable[..., Any])


class _Study(TypedDict):
    effort: Effort
    engine: Engine


def study_options(command: _Command) -> _Command:
    """How each case is searched, on what, and where finished ones are kept: ``study_of`` reads them."""
    for option in reversed((*_EFFORT, strict_option, *_ENGINE, quiet_option)):
        command = option(command)
    return command


@contextmanager
def study_of(
    scenario: Scenario,
    *,
    processes: int | None,
    cluster: str | None,
    journal: Path | None,
    afresh: bool,
    quiet: bool,
    **effort: Any,
) -> Iterator[_Study]:
    """What ``study_options`` ask for, as a study takes it; how far it has come is told meanwhile."""
    line = StudyLine(quiet)
    try:
        yield {
            "effort": _effort(scenario, **effort),
            "engine": _engine(scenario, line, processes, cluster, journal, afresh),
        }
    finally:
        line.close()


chart_option = click.option(
    "--out",
    metavar="PATH",
    type=click.Path(path_type=Path),
    help="Also draw it into a .svg, .png or .pdf.",
)


def check_picture(out: Path | None) -> None:
    """Refuse, before any work is done, a file that a chart cannot be written into."""
    if out is not None:
        from footwork.show.charts import check_chart

        check_chart(out)


_EFFORT = (
    click.option(
        "--seconds",
        callback=above_nothing,
        metavar="S",
        help="How long to search for each layout, on one core.  [default: 10]",
    ),
    click.option(
        "--iterations",
        type=click.IntRange(min=1),
        metavar="N",
        help="Search so many steps for each instead: same seed, same answer.",
    ),
    click.option(
        "--pitch",
        metavar="LENGTH",
        help="Distance between the spots tried; in the file's units, or with its own.",
    ),
    seed_option,
)
_ENGINE = (
    click.option(
        "--processes",
        type=click.IntRange(min=1),
        metavar="N",
        help="Layouts searched for at a time.  [default: one a core]",
    ),
    click.option(
        "--cluster",
        metavar="ADDRESS",
        help="Search on the workers of a dask.distributed scheduler, such as tcp://shed:8786, instead.",
    ),
    click.option(
        "--journal",
        metavar="PATH",
        type=click.Path(path_type=Path),
        help="Keep finished parts in this file.  [default: one in your cache]",
    ),
    click.option("--afresh", is_flag=True, help="Begin again; what was finished before is not used."),
)


def _effort(
    scenario: Scenario,
    seconds: float | None,
    iterations: int | None,
    pitch: str | None,
    seed: int,
    strict: bool,
) -> Effort:
    """The effort that the options ask for; UsageError for two that exclude each other."""
    from footwork.model.errors import UsageError
    from footwork.study.effort import SECONDS, Effort

    if seconds is not None and iterations is not None:
        raise UsageError("--seconds and --iterations exclude each other; give one")
    return Effort(
        SECONDS if seconds is None else seconds,
        iterations,
        read_pitch(pitch, scenario.units),
        seed=seed,
        strict=strict,
    )


def _engine(
    scenario: Scenario,
    line: StudyLine,
    processes: int | None,
    cluster: str | None,
    journal: Path | None,
    afresh: bool,
) -> Engine:
    """The engine that the options ask for; an old journal is taken away where it is to begin afresh."""
    from footwork.model.errors import UsageError
    from footwork.study.cases import Engine
    from footwork.study.journal import Journal, usual_path

    if processes is not None and cluster is not None:
        raise UsageError("--processes and --cluster exclude each other; give one")
    path = usual_path(scenario) if journal is None else journal
    if path is not None:
        try:
            kept = Journal(path)
        except UsageError:
            if journal is not None:
                raise
            output.note("note: your cache cannot be written; what is finished is not kept")
            path, kept = None, Journal(None)
        if afresh:
            kept.clear()
    return Engine(processes, path, line, cluster)


class StudyLine:
    """Told of each case that is finished: one line kept up to date on a terminal, else one now and then."""

    def __init__(self, quiet: bool = False) -> None:
        self._quiet = quiet
        self._live = sys.stderr.isatty() and not quiet
        self._shown = -math.inf
        self._begun = time.monotonic()

    def __call__(self, done: Done) -> None:
        if done.finished:
            signals.result_at_hand()
        now = time.monotonic()
        if self._quiet or not (self._live or now - self._shown >= EVERY or done.finished == done.of):
            return
        self._shown = now
        text = described(done, now - self._begun)
        if self._live:
            self._put(f"\r\x1b[K{text[: shutil.get_terminal_size().columns - 1]}")
        else:
            self._put(f"{text}\n")

    def close(self) -> None:
        """Take the line away again, so that the result stands alone."""
        if self._live:
            self._put("\r\x1b[K")

    def _put(self, text: str) -> None:
        try:
            sys.stderr.write(text)
            sys.stderr.flush()
        except BrokenPipeError:  # nobody looks on any more: that is no reason to stop the study
            self._quiet, self._live = True, False
            output.nobody_reads(sys.stderr)


def described(done: Done, seconds: float) -> str:
    """``  12 s  3 of 12 searched, 2 of them before; last 7.50 m x 5.00 m``."""
    before = f", {done.kept} of them before" if done.kept else ""
    last = f"; last {done.name}" if done.name else ""
    return f"{seconds:4.0f} s  {done.finished} of {done.of} searched{before}{last}"


def read_range(option: str, text: str, units: str) -> tuple[float, float]:
    """``FROM:TO``, or one length, in metres.  UsageError where it is none, or the other way round."""
    from footwork.model.errors import UsageError
    from footwork.moves import read_length

    first, colon, last = text.partition(":")
    try:
        low = read_length(first.strip(), units)
        high = read_length(last.strip(), units) if colon else low
    except ValueError as fault:
        raise UsageError(f"{option}: {fault}; write FROM:TO, as in 5:8") from None
    if not (math.isfinite(low) and math.isfinite(high) and low > 0):
        raise UsageError(f"{option}: {text!r} has an end that is no length above 0")
    if low > high:
        raise UsageError(f"{option}: {text!r} begins above its end; write the lesser first")
    return low, high


def steps_between(option: str, ends: tuple[float, float], step: float) -> list[float]:
    """Every ``step`` metres from one end to the other, and that end.  UsageError for too many."""
    from footwork.model.errors import UsageError

    low, high = ends
    count = (high - low) / step
    if count > 1000:
        raise UsageError(f"{option}: a step of {step:g} m makes {count:,.0f} of them; take a larger one")
    found = [round(low + k * step, 6) for k in range(math.floor(count + 1e-9) + 1)]
    return found if high - found[-1] < 1e-6 else [*found, high]
