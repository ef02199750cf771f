"""The page's side of what is worked out beside it: what it asks for, and what of the answers is stale."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from typing import Any

from footwork.model.errors import UsageError
from footwork.model.scenario import Layout, Placement, Station
from footwork.page.aside.goals import outlines
from footwork.page.aside.process import Process
from footwork.page.aside.questions import Asked, At, Rest, Search, is_there
from footwork.page.desk import Desk
from footwork.page.drawing import Drawing
from footwork.page.editing.asked import entries, number

Message = Mapping[str, Any]
PRACTICE = 0
"""The question that a process begins with as soon as anything is chosen: what it needs takes a second or two
to load.  No page waits for the answer."""
USUAL, LONGEST = 60, 3600
"""Seconds to search where nobody says, and at most."""
NEAR = 0.3
"""Metres from where a search has a thing within which it comes to stand there when it is put down."""
ENDED = "the search has ended before its time: begin it again"
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

    def dismiss(self) -> None:
        """Nothing more will be."""
        if self._process is not None:
            self._process.dismiss()

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


class Better:
    """A search for a better layout: what is pinned, what is found, what of it does not stand there yet.

    ``hear`` is given what the page is to be told, from any thread.
    """

    def __init__(self, hear: Callable[[str], None]) -> None:
        self._hear = hear
        self._process: Process | None = None
        self._question = 0
        self._goals: dict[str, Placement] = {}
        self._left: list[str] | None = None
        self._made: Drawing | None = None
        self._before: Mapping[str, Placement] = {}
        self.pins: set[str] = set()

    def begin(self) -> None:
        """A page has been opened: it is told what is pinned; a search that runs is given up."""
        self._give_up()
        self._tell_pins()

    def end(self) -> None:
        """Nothing more is searched."""
        if self._process is not None:
            self._process.end()

    def dismiss(self) -> None:
        """Nothing more will be."""
        if self._process is not None:
            self._process.dismiss()

    def pin(self, desk: Desk, message: Message) -> None:
        """Have things stay in every search, or let them go again."""
        known = {thing.name for thing in desk.scenario.things}
        names = known.intersection(map(str, entries(message, "names")))
        self.pins = self.pins | names if message.get("on") else self.pins - names
        self._tell_pins()

    def search(self, desk: Desk, made: Drawing, message: Message) -> None:
        """Begin with where everything stands now."""
        moves, seconds = number(message, "moves"), number(message, "seconds")
        if moves == 0:
            raise UsageError("with no move there is nothing to search for: give 1 or more, or none for any")
        desk.drop()
        self._give_up()
        if self._process is None:
            self._process = Process("footwork.page.aside.suggesting", self._heard, self._gone)
        self._made, self._before = made, dict(desk.layout.placements)
        keep = tuple(t.name for t in desk.scenario.things if t.name in self.pins)
        limit = float(min(max(seconds or USUAL, 1), LONGEST))
        most = None if moves is None else min(moves, len(desk.scenario.things))
        self._process.send(Search(made, desk.layout, self._question, keep, most, limit))

    def stop(self) -> None:
        """With the best so far."""
        if self._process is not None:
            self._process.send(Rest())

    def forget(self) -> None:
        """What was found is of no use any more."""
        self._give_up()
        self._tell({"say": "search over", "words": ""})

    def drop(self, desk: Desk) -> None:
        """What is put down near to where the search has it stands there."""
        if desk.hand is None or desk.hand.kind != "drag" or len(desk.hand.names) != 1:
            return
        goal, place = self._goals.get(desk.hand.names[0]), desk.layout.placements[desk.hand.names[0]]
        if goal is not None and math.dist(goal.at, place.at) <= NEAR:
            desk.land(goal)

    def follow(self, desk: Desk, made: Drawing) -> None:
        """Tell which things do not stand yet where the search has them.

        What was searched in another room, or for other jobs, is forgotten.
        """
        if self._made is not None and self._made is not made:
            if not _alike(self._made, made):
                self.forget()
            else:
                self._made = made
                self._tell({"say": "search goals", "svg": outlines(made, self._before, self._goals)})
        at = desk.layout.placements
        left = [n for n, goal in self._goals.items() if n in at and not is_there(at[n], goal)]
        if left != self._left:
            self._left = left
            self._tell({"say": "search left", "names": left})

    def _give_up(self) -> None:
        self._question += 1
        self._goals, self._left, self._made = {}, None, None
        self.stop()

    def _heard(self, line: str) -> None:
        message = json.loads(line)
        made = self._made
        if message["question"] == self._question and made is not None:
            self._goals = {each["name"]: Placement(*each["place"]) for each in message["moved"]}
            self._left = None
            self._tell({**message, "svg": outlines(made, self._before, self._goals)})

    def _gone(self) -> None:
        self._process = None
        self._tell({"say": "search over", "words": ENDED})

    def _tell_pins(self) -> None:
        self._tell({"say": "pins", "names": sorted(self.pins)})

    def _tell(self, message: Message) -> None:
        self._hear(json.dumps(message))


class Asides:
    """All that the page asks for beside the hand."""

    def __init__(self, hear: Callable[[str], None]) -> None:
        self.spots, self.better = Spots(hear), Better(hear)
        self.does: Mapping[str, Callable[[Desk, Drawing, Message], None]] = {
            "spots": lambda desk, made, message: self.spots.switch(message),
            "spot": lambda desk, made, message: self.spots.at(message),
            "stand": lambda desk, made, message: stand(desk, message),
            "pin": lambda desk, made, message: self.better.pin(desk, message),
            "search": self.better.search,
            "stop search": lambda desk, made, message: self.better.stop(),
            "forget search": lambda desk, made, message: self.better.forget(),
        }

    def begin(self) -> None:
        """A page has been opened."""
        self.spots.begin()
        self.better.begin()

    def before(self, desk: Desk, does: str) -> None:
        """Before anything else that the page sends is done."""
        if does == "drop":
            self.better.drop(desk)

    def follow(self, desk: Desk, made: Drawing) -> None:
        """After all that the page sends."""
        self.spots.follow(desk, made)
        self.better.follow(desk, made)

    def end(self) -> None:
        """The page is closed for good."""
        self.dismiss()
        self.spots.end()
        self.better.end()

    def dismiss(self) -> None:
        """The processes may end, each at once."""
        self.spots.dismiss()
        self.better.dismiss()


def _alike(made: Drawing, other: Drawing) -> bool:
    """Whether two drawings are of the same, whatever layouts the file has, on whatever sheet."""
    one, two = (each.scenario.with_(layouts=(), path=None) for each in (made, other))
    return one == two


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
