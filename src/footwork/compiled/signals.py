"""Work that a signal must not break into: a file half written, a function half compiled.

An interrupt that reaches a callback of the compiler is swallowed there, and what was compiled is lost.
"""

from __future__ import annotations

import contextlib
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from types import FrameType
from typing import Any

STOPPING = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))
"""Signals that end a program, or what it is at."""

_waiting: list[tuple[int, Callable[..., Any] | int]] = []
"""Signals that came meanwhile, with what is to be done at each."""
_deep = 0
_compiling = 0


def compiling() -> bool:
    """Whether the main thread is at something that takes long and can be given up."""
    return _compiling > 0


@contextlib.contextmanager
def undisturbed(compiles: bool = False) -> Iterator[None]:
    """What is begun is finished before a signal that came meanwhile has its way.

    For a second's work at most, or with ``let_through`` where it may end meanwhile.  In threads other than
    the main one, which no signal interrupts, nothing changes.  What ``compiles`` can be given up.
    """
    global _deep, _compiling
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = {} if _deep else _take_over()
    _deep += 1
    _compiling += compiles
    try:
        yield
    finally:
        _deep -= 1
        _compiling -= compiles
        for number, then in before.items():
            signal.signal(number, then)
        if not _deep:
            let_through()


def _take_over() -> dict[int, Any]:
    """Note signals instead of obeying them; gives what was done at each, of those that are not ignored."""
    before: dict[int, Any] = {}

    def note(number: int, frame: FrameType | None) -> None:
        _waiting.append((number, before[number]))

    for number in STOPPING:
        then = signal.getsignal(number)
        if then not in (None, signal.SIG_IGN):
            before[number] = then
            signal.signal(number, note)
    return before


AGAIN = 0.02
"""Seconds after which an interrupt that was dropped comes again."""


@contextlib.contextmanager
def sent_again() -> Iterator[None]:
    """An interrupt that breaks into a destructor or a callback of a weak reference comes again soon after it.

    Python drops what is raised there.
    """
    before = sys.unraisablehook

    def dropped(what: sys.UnraisableHookArgs) -> None:
        if issubclass(what.exc_type, KeyboardInterrupt):
            number = getattr(what.exc_value, "number", signal.SIGINT)
            threading.Timer(AGAIN, signal.raise_signal, (number,)).start()
        else:
            before(what)

    sys.unraisablehook = dropped
    try:
        yield
    finally:
        sys.unraisablehook = before


def let_through() -> None:
    """Let a signal that waits have its way, where what was begun may be left as it is."""
    if not _waiting or threading.current_thread() is not threading.main_thread():
        return
    number, then = _waiting[0]
    _waiting.clear()
    if callable(then):
        then(number, None)
    else:
        signal.signal(number, then)
        signal.raise_signal(number)
