"""The process beside the page's own, which reckons: the hand is answered at once, however long figures take.

Each has one interpreter to itself; in one process a thread that reckons holds up every answer.
"""

from __future__ import annotations

import json
import threading
from collections.abc import Callable
from typing import IO

from footwork.page import messages
from footwork.page.aside.process import Process, Tell, asked, fault_words, run
from footwork.page.figures import Walked, walked
from footwork.page.reckoning import Found, Reckoner, Subject, Wanted

GONE = "the figures are no longer reckoned: save, close, and open the file again"


class Beside:
    """Has what is asked last reckoned in a process of its own; ``hear`` is given each message for the page.

    ``hear`` is called from a thread that reads.
    """

    def __init__(self, subject: Subject, hear: Callable[[str], None]) -> None:
        self._process = Process("footwork.page.beside", hear, lambda: hear(json.dumps(messages.told(GONE))))
        self._process.send(subject)

    def turn_to(self, subject: Subject) -> None:
        """From now on reckon about this; what was asked about another is dropped."""
        self._process.send(subject)

    def ask(self, wanted: Wanted) -> None:
        """Reckon this next, whatever else was asked."""
        self._process.send(wanted)

    def dismiss(self) -> None:
        """Reckon nothing more."""
        self._process.dismiss()

    def end(self) -> None:
        """Reckon nothing more; when this is done, nothing is left of it."""
        self._process.end()


class Reckoning:
    """The other side: reckons what comes in about one subject after the other, and tells what is known."""

    def __init__(self, tell: Tell) -> None:
        self._out = tell
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
            words = f"the figures cannot be reckoned: {fault_words(what)}"
            self._tell(messages.told(words), reckoner)

        reckoner = Reckoner(subject.made.scenario, found, fault)
        return reckoner

    def _tell(self, message: messages.Message, teller: Reckoner) -> None:
        """Tell it, unless it is about a subject that is over."""
        with self._turn:
            if teller is self._reckoner:
                self._out(message)


def main(source: IO[bytes], tell: Tell) -> None:
    """Reckon what comes in until nothing more does: first a subject, then each thing ``Wanted`` of it."""
    reckoning = Reckoning(tell)
    for what in asked(source):
        reckoning.hear(what)


if __name__ == "__main__":
    run(main)
