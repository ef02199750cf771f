"""What may come next in a line typed at the prompt of ``whatif``."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING

from footwork.model.units import FACINGS, PER_YEAR
from footwork.moves import FORMS, PLACINGS

if TYPE_CHECKING:
    from footwork.model.scenario import Scenario
    from footwork.whatif import Session

_TOKEN = re.compile(r"\"[^\"]*\"?|'[^']*'?|\S+")


def candidates(text: str, session: Session) -> tuple[str, list[str]]:
    """The word being typed at the end of ``text`` and what may stand in its place, in order.

    Names with blanks in them come in quotes.
    """
    words = _TOKEN.findall(text)
    word = "" if not words or text[-1:].isspace() else words.pop()
    begun = word.lower().lstrip("\"'")
    found = [name for name in _next(words, session) if name.lower().lstrip('"').startswith(begun)]
    return word, found


def _next(before: list[str], session: Session) -> list[str]:
    scenario = session.state.scenario
    if not before:
        own = ("undo", "redo", "score", "plan", "save", "draw", "help", "quit")
        return list(dict.fromkeys([*(form.verb for form in FORMS), *own]))
    verb, rest = before[0].lower(), before[1:]
    if verb == "add":
        return _in_add(rest, scenario)
    if verb == "save":
        names = _quoted(layout.name for layout in session.scenario.layouts)
        return [names, ["--replace", "all", "to"], ["all", "to"]][len(rest)] if len(rest) < 3 else []
    steps = _steps(verb, scenario)
    if len(rest) < len(steps):
        return steps[len(rest)]
    if verb == "move" and rest[1].lower() == "to":
        return _facing(rest)
    return []


def _steps(verb: str, scenario: Scenario) -> list[list[str]]:
    """What each word after the verb may be, as far as that is known beforehand."""
    things = _quoted(thing.name for thing in scenario.things)
    vehicles = _quoted(vehicle.name for vehicle in scenario.vehicles)
    steps: dict[str, list[list[str]]] = {
        "move": [things, ["to", "by"]],
        "turn": [things, ["90", "180", "270", *FACINGS]],
        "swap": [things, things],
        "remove": [things],
        "times": [_quoted(job.name for job in scenario.jobs), [], ["per"], [*PER_YEAR]],
        "take": [vehicles, ["out"]],
        "bring": [vehicles, ["in"]],
    }
    return steps.get(verb, [])


def _in_add(rest: list[str], scenario: Scenario) -> list[str]:
    if not rest:
        return []
    if rest[-1].lower() == "like":
        from footwork.model.catalogue import CATALOGUE

        return _quoted(CATALOGUE)
    if "at" in (word.lower() for word in rest):
        return _facing(rest)
    options = ["at", *PLACINGS]
    return ["like", *options] if len(rest) == 1 else options


def _facing(rest: list[str]) -> list[str]:
    if rest[-1].lower() == "facing":
        return list(FACINGS)
    return ["facing"] if "facing" not in rest and re.search(r"\d", rest[-1]) else []


def _quoted(names: Iterable[str]) -> list[str]:
    return [f'"{name}"' if " " in name or "'" in name else name for name in names]
