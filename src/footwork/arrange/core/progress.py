"""How a running search tells where it stands."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from footwork.model.scenario import Layout


def _nothing() -> Layout | None:
    return None


Found = Callable[[], "Layout | None"]


@dataclass(frozen=True, slots=True)
class Progress:
    """Where a running search stands: seconds since the start, cost of the best layout so far (infinite
    before there is one), the bound once there is one, and what is being done in a word or two.

    ``memory`` is told before tables are built: bytes of the whole program with them, and at most later on.
    ``found`` gives the best layout so far, None before there is one; it may be asked while this is told.
    """

    seconds: float
    best: float
    bound: float | None
    phase: str
    memory: tuple[int, int] | None = None
    found: Found = field(default=_nothing, compare=False, repr=False)


Observer = Callable[[Progress], None]


class Report:
    """Tells an observer, if any, how things stand; ``began`` (monotonic seconds) is when it was made.

    ``found`` is what gives the best layout so far.
    """

    def __init__(self, progress: Observer | None) -> None:
        self.progress = progress
        self.began = time.monotonic()
        self.found: Found = _nothing

    @property
    def elapsed(self) -> float:
        """Seconds since then."""
        return time.monotonic() - self.began

    def restart(self) -> None:
        """Count from now on."""
        self.began = time.monotonic()

    def tell(
        self,
        phase: str,
        best: float = math.inf,
        bound: float | None = None,
        memory: tuple[int, int] | None = None,
    ) -> None:
        if self.progress is not None:
            self.progress(Progress(self.elapsed, best, bound, phase, memory, self.found))
