"""What the page and the program tell each other: plain objects, both ways.

The page sends ``{"do": WORD, ...}``; ``obey`` reads one and does it on the desk.  What it hears are objects
with ``say``: ``plan`` once, ``placed`` after all that it sends, ``figures`` as they are known, ``names`` when
the hand rests, ``told`` with a line for the person.  Every text in them is for the page to set as text; only
``svg`` is markup, made by the board that escapes what it writes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from footwork.checks.case import names as named
from footwork.checks.facts import fact
from footwork.checks.result import CheckResult, merged
from footwork.floor.routes import JobWalk
from footwork.floor.shapes import box
from footwork.model.errors import UsageError
from footwork.model.scenario import SIDES, TOLERANCE, Job, Layout, Placement, Scenario, Side, Station
from footwork.model.units import format_length
from footwork.page import drawing
from footwork.page.clearances import Clear
from footwork.page.desk import NUDGES, Desk, facing_words
from footwork.page.drawing import Drawing
from footwork.page.figures import Walked, walk_of
from footwork.page.reckoning import Found
from footwork.show import text
from footwork.show.naming import shown_name
from footwork.show.walked import seasonal
from footwork.show.walked import walked as told_in

Message = dict[str, Any]
MOST = 200
"""Names in one message."""


def obey(desk: Desk, message: Mapping[str, Any]) -> None:
    """Do what the page asks for.

    Raises UsageError, in one line, for what cannot be done, and for what is no message.
    """
    does = _DOES.get(_text(message, "do"))
    if does is None:
        raise UsageError("the page asked for something that the program does not know")
    does(desk, message)


def _drag(desk: Desk, message: Mapping[str, Any]) -> None:
    by = (_number(message, "dx"), _number(message, "dy"))
    desk.drag(_names(message), by, bool(message.get("free")))


def _turn_towards(desk: Desk, message: Mapping[str, Any]) -> None:
    desk.turn_towards(_text(message, "name"), _number(message, "bearing"), bool(message.get("free")))


def _nudge(desk: Desk, message: Mapping[str, Any]) -> None:
    desk.nudge(_names(message), _text(message, "way"), bool(message.get("far")))


_DOES: dict[str, Callable[[Desk, Mapping[str, Any]], None]] = {
    "choose": lambda desk, m: desk.choose(_names(m)),
    "drag": _drag,
    "turn towards": _turn_towards,
    "drop": lambda desk, m: desk.drop(),
    "give up": lambda desk, m: desk.give_up(),
    "turn": lambda desk, m: desk.turn(_names(m), _number(m, "degrees")),
    "nudge": _nudge,
    "measure": lambda desk, m: desk.measure(_text(m, "name"), _text(m, "side"), _text(m, "text")),
    "vehicle": lambda desk, m: desk.take_out(_text(m, "name"), bool(m.get("out"))),
    "job": lambda desk, m: desk.show_job(None if m.get("name") is None else _text(m, "name")),
    "undo": lambda desk, m: desk.undo(),
    "redo": lambda desk, m: desk.redo(),
}


def _text(message: Mapping[str, Any], key: str) -> str:
    value = message.get(key)
    if not isinstance(value, str) or len(value) > 1000:
        raise UsageError(f"the page sent no {key}")
    return value


def _number(message: Mapping[str, Any], key: str) -> float:
    value = message.get(key)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not abs(value) <= 1e6:
        raise UsageError(f"the page sent no number {key}")
    return float(value)


def _names(message: Mapping[str, Any]) -> list[str]:
    value = message.get("names")
    if not isinstance(value, list) or len(value) > MOST or not all(isinstance(n, str) for n in value):
        raise UsageError("the page sent no names")
    return list(dict.fromkeys(value))


# What the page hears


def plan(desk: Desk, made: Drawing) -> Message:
    """Everything that stays the same: the drawing, what can be moved, the jobs, the vehicles."""
    scenario = desk.scenario
    return {
        "say": "plan",
        "revision": desk.revision,
        "title": scenario.name,
        "file": scenario.path.name if scenario.path is not None else "",
        "layout": desk.layout.name,
        "layouts": [layout.name for layout in scenario.layouts],
        "svg": drawing.plan(made, desk.layout),
        "view_box": made.view_box,
        "per_metre": made.sheet.factor,
        "origin": made.at(Placement(0.0, 0.0, 0.0))[:2],
        "unit": told_in(scenario).unit,
        "things": [_thing(scenario, thing.name) for thing in scenario.things],
        "nudges": _nudges(scenario.units),
        "vehicles": [{"name": v.name, "shown": shown_name(v.name)} for v in scenario.vehicles],
        "jobs": [_job_row(job) for job in scenario.jobs],
    }


def _nudges(units: str) -> str:
    near, far = (format_length(metres, units) for metres in NUDGES[units in ("ft", "in")])
    return f"move by {near}, with Shift by {far}"


def _thing(scenario: Scenario, name: str) -> Message:
    thing = scenario.thing(name)
    fixed = isinstance(thing, Station) and thing.fixed is not None
    size = " x ".join(format_length(metres, scenario.units) for metres in thing.size)
    return {
        "name": name,
        "shown": shown_name(name),
        "fixed": fixed,
        "vehicle": not isinstance(thing, Station),
        "size": size,
        "front": -box(thing)[1],
    }


def _job_row(job: Job) -> Message:
    when = seasonal(job).removeprefix(", ")
    return {"name": job.name, "shown": shown_name(job.name), "times": _times(job), "when": when}


def _times(job: Any) -> str:
    return f"{job.times_per_year:,.4g}" if job.times_per_year < 1000 else text.whole(job.times_per_year)


def placed(desk: Desk, made: Drawing, heard: object = None) -> Message:
    """Where everything stands now, and the distances of what is chosen.

    ``heard`` is the number of the page's message that this answers.
    """
    clear = desk.clear
    return {
        "say": "placed",
        "heard": heard,
        "revision": desk.revision,
        "places": {name: made.at(place) for name, place in desk.layout.placements.items()},
        "out": sorted(desk.out),
        "job": desk.job,
        "chosen": list(desk.chosen),
        "facing": [facing_words(desk.layout.placements[name].facing) for name in desk.chosen],
        "clear": [_clear(side, clear.get(side), desk.scenario.units) for side in SIDES],
        "clear_svg": drawing.distances(made, clear.values()),
        "undo": desk.past[-1].words if desk.past else None,
        "redo": desk.future[-1].words if desk.future else None,
        "unsaved": desk.unsaved,
    }


def _clear(side: Side, clear: Clear | None, units: str) -> Message:
    if clear is None:
        return {"side": side, "text": "", "to": "", "overlaps": False}
    overlaps = clear.metres < -TOLERANCE
    return {"side": side, "text": format_length(clear.metres, units), "to": clear.to, "overlaps": overlaps}


def figures(found: Found, made: Drawing, at_first: Walked) -> Message:
    """What is known so far of one revision: the walking, and what fails once that is known too.

    ``at_first`` is how it was when the page was opened: changes are told from there.
    """
    scenario, now = made.scenario, found.walked
    told = told_in(scenario)
    message: Message = {
        "say": "figures",
        "revision": found.wanted.revision,
        "metres_per_year": now.metres,
        "hours_per_year": now.hours,
        "metres": told.whole(now.metres),
        "change": _change(told.signed(now.metres - at_first.metres), told.unit),
        "hours": text.tenths(now.hours),
        "squeezed": told.whole(now.squeezed) if now.squeezed > 0 else "",
        "jobs": [_job(told, now, job, first) for job, first in zip(now.jobs, at_first.jobs, strict=True)],
    }
    if found.failed is not None:
        cost = now.cost + math.fsum(result.price for result in found.failed)
        message["cost"] = told.whole(cost)
        message["words"] = found.words
        message["checks"] = _checks(scenario, found)
        job = None if found.wanted.job is None else walk_of(now, found.wanted.job)
        placements = now.plan.placements
        out = found.wanted.out
        message["walk_svg"] = drawing.walk(made, job, placements, out, found.words) if job else ""
    return message


def _change(signed: str, unit: str) -> str:
    return "" if signed == "0" else f"{signed} {unit}"


def _job(told: Any, now: Walked, job: JobWalk, first: JobWalk) -> Message:
    year, before = now.metres_per_year(job), now.metres_per_year(first)
    return {
        "each": told.each(job.metres),
        "year": told.whole(year),
        "metres_per_year": year,
        "change": _change(told.signed(year - before), told.unit),
        "blocked": job.blocked,
    }


def _checks(scenario: Scenario, found: Found) -> list[Message]:
    failed: Sequence[CheckResult] = found.failed or ()
    return [_check(scenario, r, found.words) for r in (merged(failed) if found.words else failed)]


def _check(scenario: Scenario, result: CheckResult, final: bool) -> Message:
    words = result.message if final else fact(scenario, result)
    about = [thing.name for thing in scenario.things if named(f"{result.subject} {words}", thing.name)]
    return {
        "id": result.id,
        "subject": result.subject,
        "severity": result.severity,
        "text": words,
        "about": about,
    }


def names(made: Drawing, layout: Layout, svg: str) -> Message:
    """The names, placed anew for where everything stands in ``layout``."""
    return {"say": "names", "places": {n: made.at(p) for n, p in layout.placements.items()}, "svg": svg}


def told(line: str, fault: bool = True) -> Message:
    """A line for the person at the page."""
    return {"say": "told", "text": line, "fault": fault}
