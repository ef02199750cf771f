"""What lies on the desk while the page is open: where everything stands, the moves that led there, the hand.

The desk decides where things come to stand; the page asks and shows.  Metres, in the room's frame; bearings
in degrees clockwise from north.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from footwork.floor.routes import vehicle_states
from footwork.model.errors import UsageError
from footwork.model.scenario import Layout, Placement, Scenario, Side, Station
from footwork.model.spelling import held
from footwork.model.units import format_facing
from footwork.moves import read_length
from footwork.page.clearances import Clear, at_distance, clear_distances
from footwork.page.flush import flush, wall_bearing
from footwork.page.ground import Standing

INCH = 0.0254
NUDGES: Mapping[bool, tuple[float, float]] = {False: (0.05, 0.25), True: (INCH, 6 * INCH)}
"""Metres that an arrow key moves things by, alone and with shift; of files in feet or inches: True."""
WAYS: Mapping[str, tuple[float, float]] = {
    "east": (1.0, 0.0),
    "west": (-1.0, 0.0),
    "north": (0.0, 1.0),
    "south": (0.0, -1.0),
}


@dataclass(frozen=True)
class Step:
    """One move that can be undone, in words: what there was and where it stood, before and after.

    ``on`` is the file, as it was read or written last, that what there was is a change of; ``onto`` after.
    """

    words: str
    before: Layout
    after: Layout
    was: Scenario
    now: Scenario
    on: Scenario
    onto: Scenario


@dataclass(frozen=True)
class Hand:
    """A thing in the hand, or several: from where they were taken up."""

    kind: Literal["drag", "turn"]
    names: tuple[str, ...]
    start: Layout


class Desk:
    """One layout in work.  ``revision`` counts whatever changes the figures or what is drawn of them.

    ``opened`` is the layout that changes are told from; ``saved`` and ``written`` are what the file holds of
    the layout and of all else.
    """

    def __init__(self, scenario: Scenario, layout: Layout) -> None:
        self.scenario = self.written = scenario
        self.layout = _with_fixed(scenario, layout)
        self.opened = self.layout
        self.saved = self.layout
        self.out: frozenset[str] = frozenset()
        self.job: str | None = None
        self.chosen: tuple[str, ...] = ()
        self.hand: Hand | None = None
        self.past: list[Step] = []
        self.future: list[Step] = []
        self.revision = 0

    @property
    def standing(self) -> Standing:
        return Standing(self.scenario, self.layout.placements, self.out)

    @property
    def unsaved(self) -> bool:
        """Whether anything is or stands otherwise than the file says."""
        return self.otherwise(self.layout)

    def otherwise(self, layout: Layout) -> bool:
        """Whether the file says otherwise, if things stand as in ``layout``."""
        return layout.placements != self.saved.placements or self.scenario.text != self.written.text

    @property
    def clear(self) -> Mapping[Side, Clear]:
        """The clear distances of the thing chosen; none where it is not one alone, or is away."""
        if len(self.chosen) != 1 or self.chosen[0] in self.out:
            return {}
        return clear_distances(self.standing, self.chosen[0])

    # what is chosen and shown

    def choose(self, names: Iterable[str]) -> None:
        """Choose things by name; the distances shown are theirs."""
        known = {thing.name for thing in self.scenario.things}
        self.chosen = tuple(dict.fromkeys(name for name in names if name in known))

    def take_out(self, name: str, out: bool) -> None:
        """Show a vehicle out or in.  The figures are over all its states, whichever is shown."""
        if name not in {v.name for v in self.scenario.vehicles}:
            raise UsageError(f"there is no vehicle {name!r}")
        self.out = self.out | {name} if out else self.out - {name}

    def show_job(self, name: str | None) -> None:
        """Show the walk of a job, with the vehicles in as it is mostly walked; None: of none."""
        job = next((each for each in self.scenario.jobs if each.name == name), None)
        self.job = None if job is None else job.name
        if job is not None:
            inside = vehicle_states(self.scenario, job)[0][0]
            self.out = frozenset(v.name for v in self.scenario.vehicles) - inside
        self.revision += 1

    # moves

    def drag(self, names: Sequence[str], by: tuple[float, float], free: bool) -> None:
        """Things in the hand, ``by`` metres from where they were taken up; ``free``: flush with nothing."""
        hand = self._take("drag", names)
        self._put(_shifted(hand.start, hand.names, by), free)

    def turn_towards(self, name: str, bearing: float, free: bool) -> None:
        """A thing in the hand, turned to look along ``bearing``: that of a wall where it is near one."""
        hand = self._take("turn", (name,))
        place = hand.start.placements[name]
        facing = round(bearing, 1) % 360.0 if free else wall_bearing(self.standing, bearing)
        self._put({name: Placement(place.x, place.y, facing)}, free)

    def drop(self) -> None:
        """Let go of what is in the hand: one move, unless nothing has changed."""
        hand, self.hand = self.hand, None
        if hand is not None and self.layout.placements != hand.start.placements:
            word = "move" if hand.kind == "drag" else "turn"
            self._did(f"{word} {_told(hand.names)}", hand.start)

    def give_up(self) -> None:
        """Put what is in the hand back to where it was taken up."""
        if self.hand is not None:
            self.layout, self.hand = self.hand.start, None
            self.revision += 1

    def turn(self, names: Sequence[str], degrees: float, free: bool = False) -> None:
        """Turn things clockwise, each about its own middle."""
        before = self._free_hand(names)
        turned = {n: before.placements[n] for n in names}
        places = {n: Placement(p.x, p.y, (p.facing + degrees) % 360.0) for n, p in turned.items()}
        self._put(places, free, turned=True)
        self._did(f"turn {_told(names)}", before)

    def nudge(self, names: Sequence[str], way: str, far: bool) -> None:
        """Move things a little east, west, north or south."""
        before = self._free_hand(names)
        if way not in WAYS:
            raise UsageError(f"there is no way {way!r}")
        metres = NUDGES[self.scenario.units in ("ft", "in")][far]
        by = (metres * WAYS[way][0], metres * WAYS[way][1])
        self._put(_shifted(before, names, by), free=True)
        self._did(f"move {_told(names)} {way}", before)

    def measure(self, name: str, side: str, text: str) -> None:
        """Put a thing so that the clear distance on one side is what ``text`` says, in the file's units."""
        before = self._free_hand((name,))
        sides: Mapping[str, Side] = {"front": "front", "back": "back", "left": "left", "right": "right"}
        if side not in sides:
            raise UsageError(f"there is no side {side!r}")
        try:
            metres = read_length(text, self.scenario.units)
        except ValueError as fault:
            raise UsageError(str(fault)) from None
        self._put({name: at_distance(self.standing, name, sides[side], metres)}, free=True)
        self._did(f"move {name}: {side} {text.strip()}", before)

    def stand(self, places: Mapping[str, Placement]) -> None:
        """Put things where they are told to stand, flush with nothing: one move."""
        before = self._free_hand(tuple(places))
        self._put(places, free=True)
        self._did(f"move {_told(tuple(places))}", before)

    def land(self, place: Placement) -> None:
        """Put the one thing in the hand down somewhere else than where it is: one move with the drag."""
        if self.hand is not None and len(self.hand.names) == 1:
            self._put({self.hand.names[0]: place}, free=True)
        self.drop()

    def undo(self) -> None:
        """Take back the last move."""
        self.give_up()
        if self.past:
            step = self.past.pop()
            self.future.append(step)
            self._show(step.before, step.was)
            self.written = step.on

    def redo(self) -> None:
        """Do again what was taken back last."""
        self.give_up()
        if self.future:
            step = self.future.pop()
            self.past.append(step)
            self._show(step.after, step.now)
            self.written = step.onto

    def change(self, words: str, scenario: Scenario, layout: Layout, onto: Scenario | None = None) -> None:
        """Another scenario on the desk, as one move: something was made, changed or deleted.

        ``onto``: it is a change of another file than what there was, read from there.
        """
        self.drop()
        was, before, on = self.scenario, self.layout, self.written
        self._show(_with_fixed(scenario, layout), scenario)
        self.written = onto or on
        self._did(words, before, was, on)

    def keep(self, scenario: Scenario) -> None:
        """The file says now what the desk does; it reads as ``scenario``, the same but for layouts."""
        old, self.scenario = self.scenario, scenario
        self.written, self.saved = scenario, self.layout
        self.past = [_read_anew(step, old, scenario) for step in self.past]
        self.future = [_read_anew(step, old, scenario) for step in self.future]

    # how

    def _show(self, layout: Layout, scenario: Scenario | None = None) -> None:
        self.layout = layout
        self.revision += 1
        if scenario is not None and scenario is not self.scenario:
            self.scenario = scenario
            self.choose(self.chosen)
            self.out &= {vehicle.name for vehicle in scenario.vehicles}
            if self.job not in {job.name for job in scenario.jobs}:
                self.job = None

    def _did(
        self, words: str, before: Layout, was: Scenario | None = None, on: Scenario | None = None
    ) -> None:
        was, on = was or self.scenario, on or self.written
        if self.layout.placements != before.placements or was.text != self.scenario.text:
            self.past.append(Step(words, before, self.layout, was, self.scenario, on, self.written))
            self.future.clear()

    def _take(self, kind: Literal["drag", "turn"], names: Sequence[str]) -> Hand:
        if self.hand is None or (self.hand.kind, self.hand.names) != (kind, tuple(names)):
            self.hand = Hand(kind, tuple(names), self._free_hand(names))
        return self.hand

    def _free_hand(self, names: Sequence[str]) -> Layout:
        """The layout before a new move of things that can be moved; what was in the hand is let go."""
        self.drop()
        for name in names:
            thing = next((t for t in self.scenario.things if t.name == name), None)
            if thing is None:
                raise UsageError(f"there is nothing named {name!r}")
            if isinstance(thing, Station) and thing.fixed is not None:
                raise UsageError(f"{name} does not move: the file says that it is fixed")
        return self.layout

    def _put(self, places: Mapping[str, Placement], free: bool, turned: bool = False) -> None:
        """Put things somewhere: flush with what is near unless ``free``, and as the file can hold it."""
        if not all(math.isfinite(v) for p in places.values() for v in (p.x, p.y, p.facing)):
            raise UsageError("that is no place")
        found = places if free else flush(self.standing.with_(places), tuple(places), turned)
        self._show(self.layout.moved({n: held(p, self.scenario.units) for n, p in found.items()}))


def _with_fixed(scenario: Scenario, layout: Layout) -> Layout:
    return layout.moved({s.name: s.fixed for s in scenario.stations if s.fixed is not None})


def _read_anew(step: Step, old: Scenario, new: Scenario) -> Step:
    """The step, with ``new`` wherever it spoke of ``old``, as a change of the file that ``new`` is."""
    was, now = (new if each is old else each for each in (step.was, step.now))
    return replace(step, was=was, now=now, on=new, onto=new)


def _shifted(layout: Layout, names: Sequence[str], by: tuple[float, float]) -> dict[str, Placement]:
    places = {name: layout.placements[name] for name in names}
    return {n: Placement(p.x + by[0], p.y + by[1], p.facing) for n, p in places.items()}


def _told(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{len(names)} things"


def facing_words(degrees: float) -> str:
    """``south``, or ``30° from north``."""
    word = format_facing(degrees)
    return word if isinstance(word, str) else f"{word:g}° from north"
