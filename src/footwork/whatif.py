"""What-if questions: apply moves to a layout and say what each does to the walking and the checks."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from footwork.applying import apply_move
from footwork.checks.result import CheckResult
from footwork.model.errors import UsageError
from footwork.model.scenario import Layout, Scenario
from footwork.model.showing import Shown
from footwork.moves import parse, tidy
from footwork.scoring import JobScore, Score, find_layout, score


def apply(scenario: Scenario, layout: Layout | str | None = None, *moves: str) -> tuple[Scenario, Layout]:
    """Apply moves, one line of text each, one after the other.

    ``layout`` is a layout, the name of one in the file, or None for the file's first.  A bare
    length in a move is in the file's units.  Both results are new; the arguments stay as they are.
    Raises UsageError at the first move that cannot be read or applied.
    """
    state = State(scenario, find_layout(scenario, layout))
    for text in moves:
        state = state.after(text)
    return state.scenario, state.layout


@dataclass(frozen=True)
class State:
    """A scenario and a layout at one moment of a session, with the notes of the move that led here."""

    scenario: Scenario
    layout: Layout
    text: str = ""
    notes: tuple[str, ...] = ()

    def after(self, text: str) -> State:
        """The state that one move leads to."""
        outcome = apply_move(parse(text, self.scenario.units), self.scenario, self.layout)
        return State(outcome.scenario, outcome.layout, tidy(text), outcome.notes)

    @cached_property
    def score(self) -> Score:
        """The figures of this state, reckoned once."""
        return score(self.scenario, self.layout)


@dataclass(frozen=True, slots=True)
class JobChange:
    """One job before and after a move; metres and times a year, metres each time.

    ``change`` is the difference in metres a year; what cannot be walked is squeezed, before and after.
    """

    name: str
    before: float
    after: float
    before_each: float
    after_each: float
    before_times: float
    after_times: float

    @property
    def change(self) -> float:
        return difference(self.before, self.after)


@dataclass(frozen=True, slots=True)
class Turned:
    """A check that a move turned: ``ok`` says which way, ``result`` is its outcome after the move
    (or before it, when the move took its subject away)."""

    ok: bool
    result: CheckResult

    def to_dict(self) -> dict[str, Any]:
        check = self.result
        return {
            "id": check.id,
            "subject": check.subject,
            "severity": check.severity,
            "ok": self.ok,
            "message": check.message,
        }


@dataclass(frozen=True)
class Change(Shown):
    """What one move did: ``text`` as it was given, the figures before and after, the notes of the move."""

    text: str
    before: Score
    after: Score
    notes: tuple[str, ...] = ()

    @property
    def metres_per_year(self) -> float:
        """The difference in metres a year, negative when the move saves walking."""
        return difference(self.before.metres_per_year, self.after.metres_per_year)

    @property
    def cost(self) -> float:
        """The difference in cost: walking and wishes, metres a year."""
        return difference(self.before.cost, self.after.cost)

    @cached_property
    def jobs(self) -> tuple[JobChange, ...]:
        """Every job of the file, in its order."""
        before = {job.name: job for job in self.before.jobs}
        return tuple(_job_change(before.get(job.name, job), job) for job in self.after.jobs)

    @cached_property
    def turned(self) -> tuple[Turned, ...]:
        """The checks that turned: those that now fail first, then those that now hold."""
        before, after = _outcomes(self.before), _outcomes(self.after)
        failed = [
            Turned(False, result) for key, result in after.items() if not result.ok and _held(before, key)
        ]
        mended = []
        for key, result in before.items():
            if not result.ok and _held(after, key):
                mended.append(Turned(True, after.get(key, result)))
        return (*failed, *mended)

    def to_dict(self) -> dict[str, Any]:
        """The change as JSON: infinite numbers are None."""
        return {
            "move": self.text,
            "cost": _pair(self.before.cost, self.after.cost),
            "metres_per_year": _pair(self.before.metres_per_year, self.after.metres_per_year),
            "squeezed_metres_per_year": _pair(self.before.squeezed_per_year, self.after.squeezed_per_year),
            "jobs": [{"name": job.name, **_pair(job.before, job.after)} for job in self.jobs],
            "turned": [turned.to_dict() for turned in self.turned],
            "notes": list(self.notes),
        }


@dataclass
class Session(Shown):
    """A row of moves with undo and redo.  The states in it are never changed, only left and come back to."""

    scenario: Scenario
    layout: Layout | str | None = None
    _past: list[State] = field(default_factory=list, init=False, repr=False)
    _future: list[State] = field(default_factory=list, init=False, repr=False)

    def __post_init__(self) -> None:
        self._past.append(State(self.scenario, find_layout(self.scenario, self.layout)))

    @property
    def state(self) -> State:
        """Where the session stands."""
        return self._past[-1]

    @property
    def moves(self) -> tuple[str, ...]:
        """The moves that led here, undone ones left out."""
        return tuple(state.text for state in self._past[1:])

    def do(self, text: str) -> Change:
        """Apply one move.  Raises UsageError, and stays where it is, when it cannot be."""
        before = self.state
        after = before.after(text)
        change = Change(after.text, before.score, after.score, after.notes)
        self._past.append(after)
        self._future.clear()
        return change

    def undo(self) -> Change:
        """Go back before the last move."""
        if len(self._past) == 1:
            raise UsageError("nothing to undo")
        undone = self._past.pop()
        self._future.append(undone)
        return Change(f"undo: {undone.text}", undone.score, self.state.score)

    def redo(self) -> Change:
        """Do the move again that was undone last."""
        if not self._future:
            raise UsageError("nothing to redo")
        before = self.state
        self._past.append(self._future.pop())
        return Change(f"redo: {self.state.text}", before.score, self.state.score, self.state.notes)


MOST_LAYOUTS = 12
"""Layouts of which it is said what a change that they share does to them."""


def shared(before: Scenario, after: Scenario, name: str) -> tuple[tuple[Change, ...], int]:
    """What becomes of the layouts of a file when it says ``after`` instead of ``before``, but for ``name``.

    Also how many layouts that leaves out, where there are very many.
    """
    now = {layout.name: layout for layout in after.layouts}
    others = [layout for layout in before.layouts if layout.name != name]
    changes = (
        Change(old.name, score(before, old), score(after, now[old.name])) for old in others[:MOST_LAYOUTS]
    )
    return tuple(changes), max(0, len(others) - MOST_LAYOUTS)


def difference(before: float, after: float) -> float:
    """``after - before``, 0 where both are infinite."""
    return 0.0 if math.isinf(before) and before == after else after - before


def _job_change(before: JobScore, after: JobScore) -> JobChange:
    return JobChange(
        after.name,
        before.metres_per_year,
        after.metres_per_year,
        before.metres_each,
        after.metres_each,
        before.times_per_year,
        after.times_per_year,
    )


_Key = tuple[str, str]


def _outcomes(score: Score) -> dict[_Key, CheckResult]:
    """One result for each check and subject: a failed one where there are several."""
    found: dict[_Key, CheckResult] = {}
    for result in score.checks:
        key = (result.id, result.subject)
        if key not in found or (found[key].ok and not result.ok):
            found[key] = result
    return found


def _held(outcomes: Mapping[_Key, CheckResult], key: _Key) -> bool:
    """A check that was not made did not fail."""
    return key not in outcomes or outcomes[key].ok


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _pair(before: float, after: float) -> dict[str, float | None]:
    return {
        "before": _finite(before),
        "after": _finite(after),
        "change": _finite(difference(before, after)),
    }
