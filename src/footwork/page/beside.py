"""The process beside the page's own, which reckons: the hand is answered at once, however long figures take.

Each has one interpreter to itself; in one process a thread that reckons holds up every answer.  What is asked
goes in as pickled objects, what is known comes out as lines of JSON, ready for the page.  The process ends
when its input does, so that none is left behind whatever becomes of the other.
"""

from __future__ import annotations

import contextlib
import json
import os
import pickle
import subprocess
import sys
import threading
import traceback
import warnings
from collections.abc import Callable
from typing import IO

from footwork.model.errors import FootworkError
from footwork.page import messages
from footwork.page.figures import Walked, walked
from footwork.page.reckoning import Found, Reckoner, Subject, Wanted

GONE = "the figures are no longer reckoned: save, close, and open the file again"


class Beside:
    """Has what is asked last reckoned in a process of its own; ``hear`` is given each message for the page.

    ``hear`` is called from a thread that reads.
    """

    def __init__(self, subject: Subject, hear: Callable[[str], None]) -> None:
        self._hear = hear
        self._ended = False
        self._process = subprocess.Popen(
            [sys.executable, "-m", "footwork.page.beside"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            start_new_session=True,  # Ctrl-C is for the page's own process, which then ends this one
        )
        self._send(subject)
        threading.Thread(target=self._read, name="figures", daemon=True).start()

    def turn_to(self, subject: Subject) -> None:
        """From now on reckon about this; what was asked about another is dropped."""
        self._send(subject)

    def ask(self, wanted: Wanted) -> None:
        """Reckon this next, whatever else was asked."""
        self._send(wanted)

    def end(self) -> None:
        """Reckon nothing more."""
        self._ended = True
        with contextlib.suppress(OSError):
            if self._process.stdin is not None:
                self._process.stdin.close()
        try:
            self._process.wait(timeout=2)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()

    def _send(self, what: object) -> None:
        with contextlib.suppress(OSError, ValueError):  # it has gone, which is told where it is read
            if self._process.stdin is not None:
                pickle.dump(what, self._process.stdin)
                self._process.stdin.flush()

    def _read(self) -> None:
        if self._process.stdout is not None:
            for line in self._process.stdout:
                self._hear(line.decode())
        if not self._ended:
            self._hear(json.dumps(messages.told(GONE)))


class Reckoning:
    """The other side: reckons what comes in about one subject after the other, and writes what is known."""

    def __init__(self, known: IO[bytes]) -> None:
        self._known = known
        self._turn = threading.Lock()
        self._reckoner: Reckoner | None = None

    def hear(self, what: Subject | Wanted) -> None:
        """Take up a subject, or reckon what is wanted of it."""
        if isinstance(what, Wanted):
            if self._reckoner is not None:
                self._reckoner.ask(what)
            return
        with self._turn:
            if self._reckoner is not None:
                self._reckoner.end()
            self._reckoner = self._about(what)

    def _about(self, subject: Subject) -> Reckoner:
        first: list[Walked] = []

        def found(what: Found) -> None:
            if not first:
                as_opened = what.wanted.layout.placements == subject.opened.placements
                first.append(what.walked if as_opened else walked(subject.made.scenario, subject.opened))
            self._tell(messages.figures(what, subject.made, first[0]), reckoner)

        def fault(what: BaseException) -> None:
            if os.environ.get("FOOTWORK_DEBUG"):
                traceback.print_exception(what, file=sys.stderr)
            lines = what.lines if isinstance(what, FootworkError) else (f"{type(what).__name__}: {what}",)
            self._tell(messages.told(f"the figures cannot be reckoned: {'; '.join(lines)}"), reckoner)

        reckoner = Reckoner(subject.made.scenario, found, fault)
        return reckoner

    def _tell(self, message: messages.Message, teller: Reckoner) -> None:
        """Write it, unless it is about a subject that is over."""
        with self._turn:
            if teller is self._reckoner:
                self._known.write(json.dumps(message).encode() + b"\n")
                self._known.flush()


def main(asked: IO[bytes], known: IO[bytes]) -> None:
    """Reckon what comes in until nothing more does: first a subject, then each thing ``Wanted`` of it."""
    reckoning = Reckoning(known)
    with contextlib.suppress(EOFError):
        while True:
            reckoning.hear(pickle.load(asked))


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    with contextlib.suppress(OSError):  # nobody reads any more
        main(sys.stdin.buffer, sys.stdout.buffer)
    os._exit(0)  # whatever is being reckoned: nobody waits for it
