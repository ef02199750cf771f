"""What is worked out beside the search, and asked for when that is over."""

from __future__ import annotations

import time
from collections.abc import Callable
from threading import Thread
from typing import Generic, TypeVar

_Found = TypeVar("_Found")


class Later(Generic[_Found]):
    """``work`` in a thread of its own that keeps no process alive; calling it waits, and gives what it gave.

    What was raised is raised there again.
    """

    def __init__(self, work: Callable[[], _Found]) -> None:
        self._work = work
        self._found: list[_Found] = []
        self._raised: BaseException | None = None
        self.took = 0.0
        """Seconds that it took; 0 before it is done."""
        self._thread = Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        began = time.monotonic()
        try:
            self._found.append(self._work())
        except BaseException as error:
            self._raised = error
        self.took = time.monotonic() - began

    def __call__(self) -> _Found:
        self._thread.join()
        if self._raised is not None:
            raise self._raised
        return self._found[0]
