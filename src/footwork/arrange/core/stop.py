"""When to stop: one rule a class, made fresh for each run."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Protocol, TypeVar

BETWEEN = 0.5
"""Seconds between two times that somebody is told."""


class Stop(Protocol):
    """A rule that says when the work is over."""

    def __call__(self) -> bool: ...


class Never:
    """Only the work itself has an end."""

    def __call__(self) -> bool:
        return False


NEVER = Never()


class After:
    """So many seconds from now."""

    def __init__(self, seconds: float) -> None:
        self._end = time.monotonic() + seconds

    def __call__(self) -> bool:
        return time.monotonic() >= self._end


class Switch:
    """Once thrown (Ctrl-C), for good; safe to ask from any thread."""

    def __init__(self) -> None:
        self._thrown = threading.Event()

    def throw(self) -> None:
        self._thrown.set()

    def __call__(self) -> bool:
        return self._thrown.is_set()


class Any:
    """As soon as one of several rules says so."""

    def __init__(self, *rules: Stop) -> None:
        self._rules = rules

    def __call__(self) -> bool:
        return any(rule() for rule in self._rules)


class Telling:
    """The same rule, which tells how things stand now and then when it is asked."""

    def __init__(self, rule: Stop, tell: Callable[[], None]) -> None:
        self._rule, self._tell = rule, tell
        self._last = time.monotonic()

    def __call__(self) -> bool:
        if time.monotonic() - self._last > BETWEEN:
            self._last = time.monotonic()
            self._tell()
        return self._rule()


PART = 20_000
"""Entries of a table that compiled code fills between two looks at a switch: some 60 ms."""


def in_parts(first: int, last: int, entries: int, switch: Stop) -> Iterator[tuple[int, int]]:
    """Spans of rows of so many ``entries`` each, ``first`` to ``last``, until ``switch`` is thrown."""
    rows = max(1, PART // max(entries, 1))
    for low in range(first, last, rows):
        if switch():
            return
        yield low, min(low + rows, last)


_Item = TypeVar("_Item")
_Done = TypeVar("_Done")


def in_threads(
    work: Callable[[_Item], _Done], items: Iterable[_Item], threads: int, switch: Switch
) -> list[_Done]:
    """``work`` of every item, in their order.

    An interrupt throws ``switch`` and goes through once the items in work have looked at it; no other begins.
    """
    with ThreadPoolExecutor(threads) as pool:
        try:
            return list(pool.map(work, items))
        except BaseException:
            switch.throw()
            pool.shutdown(cancel_futures=True)
            raise
