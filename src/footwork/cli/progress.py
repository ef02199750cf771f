"""Progress of a search on stderr: one line kept up to date on a terminal, a line now and then in a file."""

from __future__ import annotations

import math
import shutil
import sys
import time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from footwork.arrange.suggestion import Progress

REDRAW = 0.1
"""Seconds between two updates of the line on a terminal."""
EVERY = 5.0
"""Seconds between two lines where stderr is no terminal."""


class ProgressLine:
    """Called with each report of the search; only looks on, and never steers it."""

    def __init__(self, quiet: bool = False) -> None:
        self._quiet = quiet
        self._live = sys.stderr.isatty()
        self._shown = -math.inf
        self._drawn = False

    def __call__(self, progress: Progress) -> None:
        now = time.monotonic()
        if self._quiet or now - self._shown < (REDRAW if self._live else EVERY):
            return
        self._shown = now
        text = describe(progress)
        if self._live:
            columns = shutil.get_terminal_size().columns
            sys.stderr.write(f"\r\x1b[K{text[: columns - 1]}")
            self._drawn = True
        else:
            sys.stderr.write(f"{text}\n")
        sys.stderr.flush()

    def close(self) -> None:
        """Take the line away again, so that the result stands alone."""
        if self._drawn:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()
            self._drawn = False


def describe(progress: Progress) -> str:
    """One report in one line: seconds, what goes on, the best cost so far and what is proven."""
    parts = [f"{progress.seconds:4.0f} s  {progress.phase}"]
    if math.isfinite(progress.best):
        parts.append(f"best {progress.best:,.0f} m a year")
        if progress.bound is not None and progress.bound > 0:
            gap = max(0.0, 1.0 - progress.bound / progress.best) if progress.best > 0 else 0.0
            parts.append(f"at least {progress.bound:,.0f} (gap {gap:.1%})")
    else:
        parts.append("no layout yet")
    return "  ".join(parts)
