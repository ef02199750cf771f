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
from footwork.page.drawing import Drawing
from footwork.page.figures import Walked
from footwork.page.reckoning import Found, Reckoner, Wanted

GONE = "the figures are no longer reckoned: save, close, and open the file again"


class Beside:
    """Has what is asked last reckoned in a process of its own; ``hear`` is given each message for the page.

    ``hear`` is called from a thread that reads.
    """

    def __init__(self, made: Drawing, hear: Callable[[str], None]) -> None:
        self._hear = hear
        self._ended = False
        self._process = subprocess.Popen(
            [sys.executable, "-m", "footwork.page.beside"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            start_new_session=True,  # Ctrl-C is for the page's own process, which then ends this one
        )
        self._send(made)
        threading.Thread(target=self._read, name="figures", daemon=True).start()

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


def main(asked: IO[bytes], known: IO[bytes]) -> None:
    """Reckon what comes in until nothing more does: first the drawing, then each thing ``Wanted``."""
    made: Drawing = pickle.load(asked)
    first: list[Walked] = []

    def tell(message: messages.Message) -> None:
        known.write(json.dumps(message).encode() + b"\n")
        known.flush()

    def found(what: Found) -> None:
        if not first:
            first.append(what.walked)
        tell(messages.figures(what, made, first[0]))

    def fault(what: BaseException) -> None:
        if os.environ.get("FOOTWORK_DEBUG"):
            traceback.print_exception(what, file=sys.stderr)
        lines = what.lines if isinstance(what, FootworkError) else (f"{type(what).__name__}: {what}",)
        tell(messages.told(f"the figures cannot be reckoned: {'; '.join(lines)}"))

    reckoner = Reckoner(made.scenario, found, fault)
    with contextlib.suppress(EOFError):
        while True:
            reckoner.ask(pickle.load(asked))


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    with contextlib.suppress(OSError):  # nobody reads any more
        main(sys.stdin.buffer, sys.stdout.buffer)
    os._exit(0)  # whatever is being reckoned: nobody waits for it
