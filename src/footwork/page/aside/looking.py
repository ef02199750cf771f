"""The process that goes through the spots of one thing: what the year would cost there, or why it can't.

It works on what was asked last, and answers between two squares what is asked about one.
"""

from __future__ import annotations

import math
import queue
import threading
from dataclasses import asdict
from typing import IO, Any

from footwork.elsewhere.pricing import Pricing
from footwork.elsewhere.results import Spot, Square, Where
from footwork.elsewhere.where import PITCH, filling_in
from footwork.elsewhere.why import why
from footwork.floor.plan import Plan
from footwork.floor.shapes import footprint
from footwork.floor.walls import limits
from footwork.model.outlines import contains
from footwork.model.scenario import Layout, Placement
from footwork.page.aside.process import Tell, asked, fault_words, run
from footwork.page.aside.questions import Asked, At, Rest
from footwork.show import ink
from footwork.show.naming import shown_name
from footwork.show.places import place_words
from footwork.show.report.svg_board import SvgBoard
from footwork.show.spots import Looks, draw_square, samples
from footwork.show.text import plural
from footwork.show.walked import Walked, walked

Message = dict[str, Any]
SQUARES = 5000
"""Squares at most: where the usual pitch gives more it is doubled."""
LISTED = 5
"""Spots that are listed beside the plan."""


class Looker:
    """Works in a thread of its own on what is asked."""

    def __init__(self, tell: Tell) -> None:
        self._tell = tell
        self._queue: queue.SimpleQueue[Asked | At | Rest] = queue.SimpleQueue()
        self._next: Asked | Rest | None = None
        self._now: _Looking | None = None
        self._at: At | None = None
        threading.Thread(target=self._run, name="looking", daemon=True).start()

    def ask(self, what: Asked | At | Rest) -> None:
        """Work on this; what was asked before is given up."""
        self._queue.put(what)

    def _run(self) -> None:
        while True:
            what = self._next or self._take(self._queue.get())
            self._next = None
            if isinstance(what, Asked):
                try:
                    self._look(what)
                except Exception as fault:
                    self._fault(what, fault)
            elif isinstance(what, Rest):
                self._now = None
            self._answer()

    def _take(self, what: Asked | At | Rest) -> Asked | Rest | None:
        if isinstance(what, At):
            self._at = what
            return None
        return what

    def _over(self) -> bool:
        """Whether something else is asked for; what is asked about one square is answered meanwhile."""
        while not self._queue.empty():
            self._next = self._take(self._queue.get()) or self._next
        self._answer()
        return self._next is not None

    def _answer(self) -> None:
        at, self._at = self._at, None
        if at is None or self._now is None:
            return
        try:
            self._tell(self._now.told_of(at))
        except Exception as fault:
            self._fault(self._now.asked, fault)

    def _fault(self, what: Asked, fault: Exception) -> None:
        """Told to the page; the next question may do."""
        self._tell({"say": "spots", "question": what.question, "fault": fault_words(fault)})

    def _look(self, asked: Asked) -> None:
        self._now = None
        for found in filling_in(asked.made.scenario, asked.layout, asked.name, _pitch(asked), self._over):
            if self._now is None:
                self._now = _Looking(asked, found)
            self._now.found = found
            self._tell(self._now.told())


def _pitch(asked: Asked) -> float:
    """The usual pitch, or twice that and so on in a large room."""
    west, south, east, north = limits(asked.made.scenario.room, indoors=False)
    pitch = PITCH
    while (east - west) * (north - south) / pitch**2 > SQUARES:
        pitch *= 2.0
    return pitch


class _Looking:
    """One question and what is known of it, in messages for the page."""

    def __init__(self, asked: Asked, found: Where) -> None:
        self.asked, self.found = asked, found
        scenario = asked.made.scenario
        self._pricing = Pricing(scenario, Layout(asked.layout.name, Plan(scenario, asked.layout).placements))
        self._figures: Walked = walked(scenario)
        here = asked.layout.placements[asked.name]
        corners = footprint(scenario.thing(asked.name), here).tolist()
        self._own = tuple((x, y) for x, y in corners)

    def told(self) -> Message:
        """All squares as they are known, and the best of them."""
        found, figures = self.found, self._figures
        squares, possible = len(found.squares), len(found.spots)
        saved = found.change(found.spots[0]) if found.spots else math.nan
        name = shown_name(found.thing)
        said = f"{name} may stand on {possible:,} of {plural(squares, 'square')} of floor"
        if not possible and found.done:
            said = f"there is no spot for {name} while all else stays"
        elif saved < -0.5:
            said += f"; the best saves {figures.a_year(-saved)}"
        elif found.done:
            said += "; none saves anything"
        return {
            "say": "spots",
            "question": self.asked.question,
            "thing": found.thing,
            "done": found.done,
            "words": said if found.done else f"{said}, so far",
            "svg": self._svg(),
            "grid": self._grid(),
            "best": [self._listed(square) for square in self._best()],
            "legend": [{"svg": _sample(each.draw), "words": each.words} for each in samples(found, figures)],
        }

    def _best(self) -> list[Square]:
        squares = [square for square in self.found.squares if square.best is not None]
        return sorted(squares, key=lambda s: s.best.cost if s.best else math.inf)[:LISTED]

    def _svg(self) -> str:
        sheet = self.asked.made.sheet
        board, looks = SvgBoard(sheet.width, sheet.height), Looks.of(self.found)
        for square in self.found.squares:
            if square.refused is None:
                kind = "own" if contains(self._own, square.middle) else None
                place = f"{square.column} {square.row}"
                with board.group(ink.Z_STANDING, data_square=place, class_=kind):
                    draw_square(board, sheet, looks, square)
        return board.markup()

    def _grid(self) -> Message:
        """Where squares lie on the sheet: the corner in the south-west, the side of one, and how many."""
        pitch, one = self.found.pitch, self.found.squares[0]
        sheet = self.asked.made.sheet
        corner = [one.middle[k] - (number + 0.5) * pitch for k, number in enumerate((one.column, one.row))]
        x, y = sheet.mm(corner).tolist()
        return {
            "x": x,
            "y": sheet.height - y,
            "side": pitch * sheet.factor,
            "columns": 1 + max(square.column for square in self.found.squares),
            "rows": 1 + max(square.row for square in self.found.squares),
        }

    def _listed(self, square: Square) -> Message:
        assert square.best is not None
        units = self.asked.made.scenario.units
        return {
            "column": square.column,
            "row": square.row,
            "where": place_words(square.best.placement, units),
            **self._cost(square.best),
            **self._place(square.best.placement),
        }

    def _cost(self, spot: Spot) -> Message:
        change = self.found.change(spot)
        word = "as much as now"
        if abs(change) > 0.5:
            less = "less" if change < 0 else "more"
            word = f"{self._figures.total(abs(change))} {less} than now"
        return {"cost": spot.cost, "words": f"{self._figures.a_year(spot.cost)}, {word}"}

    def _place(self, placement: Placement) -> Message:
        return {
            "place": [placement.x, placement.y, placement.facing],
            "at": self.asked.made.at(placement),
        }

    def told_of(self, at: At) -> Message:
        """One square: the spot in it, or why there is none."""
        message: Message = {"say": "spot", "question": self.asked.question, **asdict(at)}
        square = next((s for s in self.found.squares if (s.column, s.row) == (at.column, at.row)), None)
        if square is None:
            return message | {"possible": False, "words": "no floor of the room"}
        if square.best is not None:
            return message | {"possible": True} | self._listed(square)
        if square.refused is None:
            return message | {"possible": False, "words": "still to be reckoned"}
        words = f"not here: {'; '.join(why(self._pricing, self.asked.name, square.refused))}"
        return message | {"possible": False, "words": words, **self._place(square.refused.placement)}


def _sample(draw: Any) -> str:
    """A sample of the legend, on a board of its own of 6 by 4 millimetres."""
    board = SvgBoard(6.0, 4.0)
    draw(board, (1.0, 0.0, 5.0, 4.0))
    return board.markup()


def main(source: IO[bytes], tell: Tell) -> None:
    """Look for what comes in until nothing more does."""
    looker = Looker(tell)
    for what in asked(source):
        looker.ask(what)


if __name__ == "__main__":
    run(main, gives_way=True)
