"""The page's side of what is worked out beside it: what it asks for, and what of the answers is stale."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from typing import Any

from footwork.model.errors import UsageError
from footwork.model.scenario import Layout, Placement, Station
from footwork.page.aside.process import Process
from footwork.page.aside.questions import Asked, At, Rest
from footwork.page.desk import Desk
from footwork.page.drawing import Drawing
from footwork.page.editing.asked import number

Message = Mapping[str, Any]
PRACTICE = 0
"""The question that a process begins with as soon as anything is chosen: what it needs takes a second or two
to load.  No page waits for the answer."""
GONE = "the spots are no longer looked for: switch it off and on again"


class Spots:
    """Where the thing chosen would go, as long as that is switched on: asked anew whenever anything moves.

    ``hear`` is given what the page is to be told, from any thread.
    """

    def __init__(self, hear: Callable[[str], None]) -> None:
        self._hear = hear
        self._process: Process | None = None
        self._on = False
        self._question = 0
        self._about: tuple[Drawing, Layout, str] | None = None
        self._stale = False

    def begin(self) -> None:
        """A page that has just been opened has it switched off."""
        self._on = False
        self._forget()

    def end(self) -> None:
        """Nothing more is asked."""
        if self._process is not None:
            self._process.end()

    def switch(self, message: Message) -> None:
        self._on = bool(message.get("on"))

    def at(self, message: Message) -> None:
        """What is known of one square."""
        column, row = number(message, "column"), number(message, "row")
        if self._process is not None and self._about is not None and column is not None and row is not None:
            self._process.send(At(column, row))

    def follow(self, desk: Desk, made: Drawing) -> None:
        """Ask what is to be asked now, and tell what has become stale."""
        name = desk.chosen[0] if len(desk.chosen) == 1 else None
        thing = next((t for t in desk.scenario.things if t.name == name), None)
        if thing is None or (isinstance(thing, Station) and thing.fixed is not None):
            name = None
        if name is not None and self._process is None:
            self._process = self._start()
            self._process.send(Asked(made, desk.layout, name, PRACTICE))
        if not self._on or name is None:
            self._forget()
            return
        about = self._about
        if about is not None and about[0] is made and about[2] == name:
            if about[1].placements == desk.layout.placements and not self._stale:
                return
            if desk.hand is not None:
                self._tell_stale()
                return
        self._about, self._stale = (made, desk.layout, name), False
        self._question += 1
        self._tell({"say": "spots asked", "question": self._question, "thing": name})
        if self._process is not None:
            self._process.send(Asked(made, desk.layout, name, self._question))

    def _start(self) -> Process:
        return Process("footwork.page.aside.looking", self._hear, self._gone)

    def _gone(self) -> None:
        self._process, self._about = None, None
        self._tell({"say": "spots", "question": self._question, "fault": GONE})

    def _tell_stale(self) -> None:
        if not self._stale:
            self._stale = True
            self._tell({"say": "spots asked", "question": self._question, "thing": None})

    def _forget(self) -> None:
        if self._about is not None:
            self._about, self._stale = None, False
            self._question += 1
            self._tell({"say": "spots over"})
            if self._process is not None:
                self._process.send(Rest())

    def _tell(self, message: Message) -> None:
        self._hear(json.dumps(message))


class Asides:
    """All that the page asks for beside the hand."""

    def __init__(self, hear: Callable[[str], None]) -> None:
        self.spots = Spots(hear)
        self.does: Mapping[str, Callable[[Desk, Message], None]] = {
            "spots": lambda desk, message: self.spots.switch(message),
            "spot": lambda desk, message: self.spots.at(message),
            "stand": stand,
        }

    def begin(self) -> None:
        """A page has been opened."""
        self.spots.begin()

    def follow(self, desk: Desk, made: Drawing) -> None:
        """After all that the page sends."""
        self.spots.follow(desk, made)

    def end(self) -> None:
        """The page is closed for good."""
        self.spots.end()


def stand(desk: Desk, message: Message) -> None:
    """Put things where an answer has them: ``places`` is x, y in metres and the bearing by name."""
    given = message.get("places")
    if not isinstance(given, dict) or not given:
        raise UsageError("the page sent no places")
    desk.stand({str(name): _placement(place) for name, place in given.items()})


def _placement(value: object) -> Placement:
    numbers = value if isinstance(value, list) and len(value) == 3 else ()
    if not numbers or not all(type(v) in (int, float) and math.isfinite(v) for v in numbers):
        raise UsageError("the page sent no place")
    return Placement(*map(float, numbers))
