"""Progress of a search on stderr: one line kept up to date on a terminal, a line now and then in a file."""

from __future__ import annotations

import math
import shutil
import sys
import threading
import time
from dataclasses import replace
from typing import TYPE_CHECKING

from footwork.cli import output, signals
from footwork.model.units import walking_unit

if TYPE_CHECKING:
    from footwork.arrange.core.progress import Progress

REDRAW = 0.25
"""Seconds between two updates of the line on a terminal."""
EVERY = 5.0
"""Seconds between two lines where stderr is no terminal."""


class ProgressLine:
    """Called with each report of the search; only looks on, and never steers it.

    On a terminal the seconds go on counting between two reports, however long the search is silent.
    """

    def __init__(self, quiet: bool = False, units: str = "m") -> None:
        self._quiet, self._units = quiet, units
        self._live = sys.stderr.isatty() and not quiet
        self._shown = -math.inf
        self._last: Progress | None = None
        self._heard = 0.0
        self._closed = threading.Event()
        self._ticker = threading.Thread(target=self._tick, daemon=True)

    def __call__(self, progress: Progress) -> None:
        now = time.monotonic()
        if math.isfinite(progress.best):
            signals.result_at_hand()
        self._last, self._heard = progress, now
        if self._live:
            if not self._ticker.is_alive() and not self._closed.is_set():
                self._ticker.start()
        elif not self._quiet and now - self._shown >= EVERY:
            self._shown = now
            self._put(f"{describe(progress, self._units)}\n")

    def close(self) -> None:
        """Take the line away again, so that the result stands alone."""
        self._closed.set()
        if self._ticker.is_alive():
            self._ticker.join()
            self._put("\r\x1b[K")

    def _put(self, text: str) -> None:
        try:
            sys.stderr.write(text)
            sys.stderr.flush()
        except BrokenPipeError:  # nobody looks on any more: that is no reason to stop the search
            self._quiet = True
            output.nobody_reads(sys.stderr)

    def _tick(self) -> None:
        while True:
            last, since = self._last, time.monotonic() - self._heard
            if last is not None:
                text = describe(replace(last, seconds=last.seconds + since), self._units)
                self._put(f"\r\x1b[K{text[: shutil.get_terminal_size().columns - 1]}")
            if self._closed.wait(REDRAW):
                return


def describe(progress: Progress, units: str = "m") -> str:
    """One report in one line: seconds, what goes on, the best cost so far and what is proven.

    Costs are metres a year, and are told as walking is in a file of ``units``.
    """
    parts = [f"{progress.seconds:4.0f} s  {progress.phase}"]
    if math.isfinite(progress.best):
        unit, per_metre = walking_unit(units)
        parts.append(f"best {progress.best * per_metre:,.0f} {unit} a year")
        if progress.bound is not None and progress.bound > 0:
            gap = max(0.0, 1.0 - progress.bound / progress.best) if progress.best > 0 else 0.0
            parts.append(f"at least {progress.bound * per_metre:,.0f} (gap {gap:.1%})")
    else:
        parts.append("no layout yet")
    if progress.memory is not None:
        now, most = (f"{size / 1e9:.1f} GB" for size in progress.memory)
        parts.append(f"{now} of memory, {most} at most")
    return "  ".join(parts)
