"""What is worked out when it is first asked for, and how long that took."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Generic, TypeVar

_Found = TypeVar("_Found")


class Once(Generic[_Found]):
    """``work``, done at the first call that is not interrupted; what it gave is given at each."""

    def __init__(self, work: Callable[[], _Found]) -> None:
        self._work = work
        self._found: list[_Found] = []
        self.took = 0.0
        """Seconds that it took; 0 before it is done."""

    def __call__(self) -> _Found:
        if not self._found:
            began = time.monotonic()
            self._found.append(self._work())
            self.took = time.monotonic() - began
        return self._found[0]
