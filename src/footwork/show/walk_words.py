"""One job, gone through leg by leg as the person walks it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich.console import Console

from footwork.floor.plan import WALLS
from footwork.model.scenario import Point, Scenario
from footwork.model.units import format_length
from footwork.scoring import JobScore, Leg, Score
from footwork.show import text
from footwork.show.places import direction, looking, side_words, turn_words, units_of
from footwork.show.squeezed import at_the_pinch, how, squeezed_each_words
from footwork.show.walked import seasonal, walked_in

_DETOUR = 0.05  # metres longer than straight from which something is in the way


def walk(result: Score, job: JobScore, console: Console, scenario: Scenario | None = None) -> None:
    """Go through ``job``: where to stand, which way to turn, how far, and what is in the way."""
    units = units_of(scenario)
    text.heading(console, f"{result.scenario}, layout {result.layout}: {job.name}")
    text.line(console, _opening(job))
    if not job.legs:
        text.line(console, "Nothing is walked: the job stays at one place.")
        return
    text.line(console)
    start = job.legs[0].start
    text.item(console, " 1.", f"Stand at {side_words(start.name, start.side)}.")
    k = 0
    while k < len(job.legs):
        period, times = repeated(job.legs[k:])
        for j in range(k, k + period):
            text.item(console, f"{j + 2:2}.", leg_words(job.legs[j], result, units))
        if times > 1:
            again = f"{k + 2} to {k + 1 + period}" if period > 1 else f"{k + 2}"
            more = "once more" if times == 2 else f"{times - 1} more times"
            text.item(console, "   ", f"Then {again} again, {more}.")
        k += period * times
    text.line(console)
    text.line(console, _total(result, job, units))
    if job.blocked:
        text.line(console, _why_squeezed(result, job, units), style="bold red")
    text.line(console, _costliest(job, units))


def repeated(legs: Sequence[Leg]) -> tuple[int, int]:
    """How many legs at the beginning come again at once, and how often in all; (1, 1) if they do not."""
    ways = [(leg.start, leg.end) for leg in legs]
    for period in range(1, len(ways) // 2 + 1):
        times = 1
        while ways[:period] == ways[period * times : period * (times + 1)]:
            times += 1
        if times > 1:
            return period, times
    return 1, 1


def _opening(job: JobScore) -> str:
    said = f"{job.times_per_year:,.4g} times a year{seasonal(job)}"
    shares = [s for s in job.states if s.share > 0]
    if not shares:
        return said
    main = max(shares, key=lambda s: s.share)
    if len(shares) > 1:
        inside = f"{text.listed(main.vehicles_in)} in" if main.vehicles_in else "no vehicle in"
        return f"{said}; told with {inside}, as it is {text.percent(main.share)} of the time"
    return f"{said}; {text.listed(main.vehicles_in)} in" if main.vehicles_in else said


def leg_words(leg: Leg, result: Score, units: str) -> str:
    """One leg in a few sentences."""
    goal = side_words(leg.end.name, leg.end.side)
    steps = max(1, round(leg.metres / result.step))
    timed = f"{text.plural(steps, 'step')}, {leg.metres / result.speed:.1f} s"
    if leg.squeezed is not None:
        far = format_length(leg.metres, units)
        said = f"No way {format_length(leg.width, units)} wide leads to {goal}: {far}, {how(leg, units)}"
        return f"{said}. {timed}.{'' if at_the_pinch(leg) else _narrow(leg, units)}"
    if leg.metres < 1e-9:
        return f"Stay where you are for {goal}."
    turn = turn_words(looking(leg.start.side, result.placements.get(leg.start.name)), _first(leg))
    arrive = turn_words(_last(leg), looking(leg.end.side, result.placements.get(leg.end.name)))
    begin = {"": "Walk", "straight on": "Walk straight on", "about": "Turn about and walk"}.get(
        turn, f"Turn {turn} and walk"
    )
    said = f"{begin} {format_length(leg.metres, units)} to {goal}"
    if leg.round:
        said += _round(leg, units)
    if arrive in ("left", "right", "about"):
        said += f"; turn {arrive} to face it"
    said += f". {timed}."
    return said + _narrow(leg, units)


def _round(leg: Leg, units: str) -> str:
    """What is in the way, and what going round it costs."""
    straight = math.dist(leg.start.at, leg.end.at)
    extra = leg.metres - straight
    cost = f", {format_length(extra, units)} more than straight" if extra >= _DETOUR else ""
    names = ["the walls" if name == WALLS else name for name in leg.round]
    return f", round {text.listed(names)}{cost}"


def _narrow(leg: Leg, units: str) -> str:
    said = ""
    if leg.narrowest is not None:
        between = text.listed(leg.narrowest.between)
        said = f" Narrowest {format_length(leg.narrowest.width, units)}, between {between}."
    return said


def _first(leg: Leg) -> Point | None:
    found = (direction(leg.path[0], p) for p in leg.path[1:])
    return next((d for d in found if d is not None), None)


def _last(leg: Leg) -> Point | None:
    if len(leg.path) < 2:
        return None
    found = (direction(p, leg.path[-1]) for p in reversed(leg.path[:-1]))
    return next((d for d in found if d is not None), None)


def _total(result: Score, job: JobScore, units: str) -> str:
    total = math.fsum(leg.metres for leg in job.legs)
    shown = format_length(total, units)
    said = f"In all {shown}, {round(total / result.step):,} steps, {total / result.speed:.0f} s"
    shares = [s for s in job.states if s.share > 0]
    if len(shares) > 1 and abs(job.metres_each - total) >= 0.005:
        said += f"; {format_length(job.metres_each, units)} in the mean over the vehicles' comings and goings"
    return f"{said}; {walked_in(units).a_year(job.metres_per_year)}."


def _why_squeezed(result: Score, job: JobScore, units: str) -> str:
    """How much of a job has no way wide enough, and what the check says of that."""
    # the check names the gap that would have to open, and by how much
    named = [c.message for c in result.checks if c.id == "reachable" and c.subject == job.name and not c.ok]
    why = ": " + named[0].removeprefix(f"{job.name}: ") if named else ""
    return f"Of each time {squeezed_each_words(job, walked_in(units))}{why}."


def _costliest(job: JobScore, units: str) -> str:
    # the same leg walked again and again counts as often as it is walked
    walked: dict[tuple[str, str], float] = {}
    for leg in job.legs:
        key = (leg.start.name, leg.end.name)
        walked[key] = walked.get(key, 0.0) + leg.metres
    (start, end), most = max(walked.items(), key=lambda pair: pair[1])
    total = math.fsum(walked.values())
    if total <= 0:
        return "No leg costs anything."
    count = sum((leg.start.name, leg.end.name) == (start, end) for leg in job.legs)
    times = f", {count} times" if count > 1 else ""
    share = text.percent(most / total)
    return f"The leg that costs most: {start} to {end}{times}, {format_length(most, units)} ({share})."
