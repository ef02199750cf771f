"""A process beside the page's own that works on what it is asked, and tells lines of JSON.

What is asked goes in as pickled objects.  The process ends when its input does, so that none is left behind
whatever becomes of the other.
"""

from __future__ import annotations

import contextlib
import json
import os
import pickle
import subprocess
import sys
import threading
import time
import traceback
import warnings
from collections.abc import Callable, Iterator, Mapping
from typing import IO, Any

from footwork.model.errors import FootworkError

PATIENCE = 0.4
"""Seconds in which a process is to end by itself when nothing more is asked of it."""


class Process:
    """A module run as a program of its own; ``hear`` is given each line that it tells, from a thread.

    ``gone`` is called, from that thread, when it ends without having been told to.
    """

    def __init__(self, module: str, hear: Callable[[str], None], gone: Callable[[], None]) -> None:
        self._hear, self._gone = hear, gone
        self._ended, self._until = False, 0.0
        self.child = subprocess.Popen(
            [sys.executable, "-m", module],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            start_new_session=True,  # Ctrl-C is for the page's own process, which then ends this one
        )
        threading.Thread(target=self._read, name=module.rpartition(".")[2], daemon=True).start()

    def send(self, what: object) -> None:
        """Give it something to work on; what it still works on is its own matter."""
        with contextlib.suppress(OSError, ValueError):  # it has gone, which is told where it is read
            if self.child.stdin is not None:
                pickle.dump(what, self.child.stdin)
                self.child.stdin.flush()

    def dismiss(self) -> None:
        """Nothing more is asked; where several are to end, none waits for another to hear of it."""
        if self._ended:
            return
        self._ended, self._until = True, time.monotonic() + PATIENCE
        with contextlib.suppress(OSError):
            if self.child.stdin is not None:
                self.child.stdin.close()

    def end(self) -> None:
        """It has ended: by itself, or else it is made to."""
        self.dismiss()
        try:
            self.child.wait(timeout=max(0.0, self._until - time.monotonic()))
        except subprocess.TimeoutExpired:
            self.child.kill()
            self.child.wait()

    def _read(self) -> None:
        if self.child.stdout is not None:
            for line in self.child.stdout:
                self._hear(line.decode())
        if not self._ended:
            self._gone()


# in the process itself

Tell = Callable[[Mapping[str, Any]], None]


def asked(source: IO[bytes]) -> Iterator[Any]:
    """What comes in, until nothing more does."""
    with contextlib.suppress(EOFError):
        while True:
            yield pickle.load(source)


def teller(out: IO[bytes]) -> Tell:
    """Writes messages as lines; from any thread."""
    lock = threading.Lock()

    def tell(message: Mapping[str, Any]) -> None:
        line = json.dumps(message).encode() + b"\n"
        with lock:
            out.write(line)
            out.flush()

    return tell


def fault_words(what: BaseException) -> str:
    """A fault in one line; with FOOTWORK_DEBUG set all of it goes to the terminal too."""
    if os.environ.get("FOOTWORK_DEBUG"):
        traceback.print_exception(what, file=sys.stderr)
    return "; ".join(what.lines) if isinstance(what, FootworkError) else f"{type(what).__name__}: {what}"


GIVES_WAY = 5
"""How much nicer a process is that goes after the hand."""


def run(main: Callable[[IO[bytes], Tell], None], gives_way: bool = False) -> None:
    """Work as such a process until nothing more is asked; one that ``gives_way`` holds up no other."""
    warnings.simplefilter("ignore")
    if gives_way and hasattr(os, "nice"):
        os.nice(GIVES_WAY)
    out = sys.stdout.buffer
    sys.stdout = sys.stderr  # nothing but messages may get between them
    with contextlib.suppress(OSError):  # nobody reads any more
        main(sys.stdin.buffer, teller(out))
    os._exit(0)  # whatever is being worked on: nobody waits for it
