"""The process that searches for a better layout, and tells the best so far.

It stops as a command does at Ctrl-C, with the best so far.
"""

from __future__ import annotations

import _thread
import math
import os
import signal
import threading
from collections.abc import Mapping
from queue import SimpleQueue
from types import FrameType
from typing import IO, Any

from footwork.arrange.core.progress import Progress
from footwork.arrange.core.results import Suggestion
from footwork.arrange.suggest import suggest
from footwork.compiled.signals import sent_again
from footwork.floor.plan import Plan
from footwork.model.scenario import Layout, Placement
from footwork.page.aside.process import Tell, asked, fault_words, run
from footwork.page.aside.questions import Search, is_there
from footwork.scoring import cost_as_it_is
from footwork.show.naming import shown_name
from footwork.show.places import place_words
from footwork.show.suggest_tables import bound_words
from footwork.show.text import percent
from footwork.show.walked import walked

Message = dict[str, Any]

NOTHING = "stopped before anything was found"


class _Searching:
    """One search, in messages for the page."""

    def __init__(self, search: Search, tell: Tell) -> None:
        self._what, self._tell = search, tell
        self._scenario = search.made.scenario
        self._figures = walked(self._scenario)
        self._before: Mapping[str, Placement] = Plan(self._scenario, search.layout).placements
        self._cost = cost_as_it_is(self._scenario, search.layout)
        self._best = math.inf
        self._moved: list[Message] = []

    def search(self) -> Suggestion:
        """Search until the time is over or somebody interrupts."""
        search = self._what
        return suggest(
            self._scenario,
            Layout(search.layout.name, self._before),
            seconds=search.seconds,
            keep=search.keep,
            moves=search.moves,
            processes=max(1, (os.cpu_count() or 1) - 1),  # one is for the hand
            progress=self._progress,
        )

    def _progress(self, state: Progress) -> None:
        if state.best < self._best - 1e-6:
            layout = state.found()
            if layout is not None:
                self._best = state.best
                self._moved = self._told_moved(layout.placements)
        words = f"{state.phase}, {state.seconds:.0f} s"
        self._say(words, running=True, seconds=state.seconds, **self._told(state.best, state.bound))

    def done(self, found: Suggestion) -> None:
        """Tell what was found."""
        if not found.layouts:
            self._say("no layout that passes every must-check was found", running=False)
            return
        self._moved = self._told_moved(found.best.placements)
        words = bound_words(found, self._figures)
        self._say(words, running=False, **self._told(found.best.cost, found.bound))

    def ended(self, words: str, fault: bool = False) -> None:
        """Tell that it has found no more than what was told before."""
        self._say(words, running=False, fault=fault)

    def _told(self, best: float, bound: float | None) -> Message:
        """The best cost so far and what is proven, in words; empty where there is neither."""
        figures, message = self._figures, {"best": "", "bound": "", "gap": ""}
        if math.isfinite(best):
            less = self._cost - best
            change = f"{figures.total(abs(less))} {'less' if less > 0 else 'more'} than now"
            message["best"] = f"{figures.a_year(best)}, {change if abs(less) >= 0.5 else 'as much as now'}"
            if bound is not None and bound > 0.0:
                message["bound"] = figures.a_year(bound)
                message["gap"] = percent(max(0.0, 1.0 - bound / best)) if best > 0.0 else ""
        return message

    def _say(self, words: str, running: bool, seconds: float = 0.0, fault: bool = False, **more: Any) -> None:
        part = min(1.0, seconds / self._what.seconds) if running else 1.0
        self._tell(
            {
                "say": "search",
                "question": self._what.question,
                "running": running,
                "part": part,
                "words": words,
                "fault": fault,
                "moved": self._moved,
                **more,
            }
        )

    def _told_moved(self, places: Mapping[str, Placement]) -> list[Message]:
        """What stands elsewhere in a layout."""
        return [
            {
                "name": thing.name,
                "shown": shown_name(thing.name),
                "where": place_words(places[thing.name], self._scenario.units),
                "place": [places[thing.name].x, places[thing.name].y, places[thing.name].facing],
            }
            for thing in self._scenario.things
            if not is_there(self._before[thing.name], places[thing.name])
        ]


class _Searcher:
    """Searches in the main thread, where an interrupt reaches it at once, as Ctrl-C does in a terminal."""

    def __init__(self, tell: Tell) -> None:
        self._tell = tell
        self._asked: SimpleQueue[Any] = SimpleQueue()
        self._searching = False
        self._turns = threading.Lock()

    def hear(self, source: IO[bytes]) -> None:
        """Note what comes in, in a thread of its own; it ends the search that runs."""
        for what in asked(source):
            with self._turns:
                self._asked.put(what)
                if self._searching:
                    _thread.interrupt_main()
        os._exit(0)  # nothing more is asked, and nobody waits for what is being searched

    def work(self) -> None:
        """Search for one after the other."""
        signal.signal(signal.SIGINT, self._interrupt)
        while True:
            what = self._asked.get()
            if not isinstance(what, Search):
                continue
            searching = _Searching(what, self._tell)
            with self._turns:
                self._searching = self._asked.empty()
            if self._searching:
                self._search(searching)
            else:
                searching.ended(NOTHING)

    def _search(self, searching: _Searching) -> None:
        try:
            found = self._found(searching)
        except KeyboardInterrupt:
            searching.ended(NOTHING)
        except Exception as fault:
            searching.ended(fault_words(fault), fault=True)
        else:
            searching.done(found)

    def _found(self, searching: _Searching) -> Suggestion:
        try:
            return searching.search()
        finally:
            self._searching = False  # what is told of it now is told whole

    def _interrupt(self, number: int, frame: FrameType | None) -> None:
        if self._searching:
            raise KeyboardInterrupt


def main(source: IO[bytes], tell: Tell) -> None:
    """Search for what comes in; what comes meanwhile ends the search."""
    searcher = _Searcher(tell)
    threading.Thread(target=searcher.hear, args=(source,), name="asked", daemon=True).start()
    with sent_again():
        searcher.work()


if __name__ == "__main__":
    run(main, gives_way=True)
