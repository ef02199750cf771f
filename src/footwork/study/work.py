"""The work of one case where it is done: in a process of this machine, or on a worker of a cluster."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any


def timed(work: Callable[..., Any], arguments: tuple[Any, ...]) -> tuple[Any, float]:
    """What a case gives, and the seconds it takes."""
    begun = time.monotonic()
    return work(*arguments), time.monotonic() - begun
