"""Being told to stop: Ctrl-C, SIGTERM, and a terminal that is closed all end a command the same way."""

from __future__ import annotations

import contextlib
import signal
import threading
from collections.abc import Iterator
from types import FrameType

ENDING = tuple(getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name))


NOTHING_YET = "stopped; nothing to show yet"
"""What is said where a command was stopped before it had a result."""


class Ended(KeyboardInterrupt):
    """The system asks the program to end: as at a Ctrl-C, but nothing is begun after it."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.number = number


@contextlib.contextmanager
def heeded() -> Iterator[None]:
    """``Ended`` is raised where a signal asks the program to end; one that is ignored (nohup) stays so."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    ours = [number for number in ENDING if signal.getsignal(number) == signal.SIG_DFL]
    for number in ours:
        signal.signal(number, _end)
    try:
        yield
    finally:
        for number in ours:
            signal.signal(number, signal.SIG_DFL)


def behind(fault: BaseException) -> KeyboardInterrupt | None:
    """The interrupt that a fault comes of: a library that is stopped while it is read says it is broken."""
    seen: BaseException | None = fault
    while seen is not None and not isinstance(seen, KeyboardInterrupt):
        seen = seen.__cause__ or seen.__context__
    return seen


def _end(number: int, frame: FrameType | None) -> None:
    raise Ended(number)


def status(stop: BaseException) -> int:
    """The exit status of a program that was stopped, as shells count it: 128 and the signal's number."""
    return 128 + (stop.number if isinstance(stop, Ended) else signal.SIGINT)
