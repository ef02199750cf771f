"""Being told to stop: Ctrl-C, SIGTERM, and a terminal that is closed all end a command the same way."""

from __future__ import annotations

import contextlib
import os
import select
import signal
import threading
from collections.abc import Iterator
from types import FrameType

from footwork.compiled.signals import STOPPING, compiling, sent_again

ENDING = tuple(getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name))


NOTHING_YET = "stopped; nothing to show yet"
"""What is said where a command was stopped before it had a result."""


IMPATIENT = 0.6
"""Seconds after which nobody who has stopped the program waits for the compiler any more."""


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
    heard, told = os.pipe()
    os.set_blocking(told, False)
    before = signal.set_wakeup_fd(told, warn_on_full_buffer=False)
    watch = _Watch(heard)
    try:
        with sent_again():
            yield
    finally:
        signal.set_wakeup_fd(before)
        os.close(told)
        watch.join()
        os.close(heard)
        for number in ours:
            signal.signal(number, signal.SIG_DFL)


class _Watch(threading.Thread):
    """Ends the program where it is stopped while it compiles and has nothing to show.

    The compiler works for seconds on end in which no handler of a signal is called.  Nothing is lost: what
    other functions were compiled to lies on disk, and processes that compile end with this one.
    """

    def __init__(self, heard: int) -> None:
        super().__init__(name="signals", daemon=True)
        self._heard = heard
        _at_hand.clear()
        self.start()

    def run(self) -> None:
        while number := os.read(self._heard, 1):
            if number[0] not in STOPPING or select.select([self._heard], [], [], IMPATIENT)[0]:
                continue
            if compiling() and not _at_hand.is_set():
                os.write(2, f"footwork: {NOTHING_YET}\n".encode())
                os._exit(128 + number[0])


_at_hand = threading.Event()


def result_at_hand() -> None:
    """There is something to show by now, and it is shown however long that takes."""
    _at_hand.set()


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
