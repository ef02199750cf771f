"""One case of a study, and its work where it is done: in a process here, or on a worker of a cluster."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from footwork.study.journal import digest_of


@dataclass(frozen=True)
class Case:
    """One piece of work: ``work(*arguments)``.  ``name`` is for people."""

    name: str
    work: Callable[..., Any]
    arguments: tuple[Any, ...]

    @cached_property
    def digest(self) -> str:
        """Under which what it gives is kept."""
        return digest_of(self.work.__module__, self.work.__qualname__, *self.arguments)


def timed(work: Callable[..., Any], arguments: tuple[Any, ...]) -> tuple[Any, float]:
    """What a case gives, and the seconds it takes."""
    begun = time.monotonic()
    return work(*arguments), time.monotonic() - begun
