"""The cost of a layout, in metres a year: jobs by how often they are done, and soft wishes."""

from __future__ import annotations

import math
from typing import Any

from shapely.geometry import LineString, Point, Polygon

from judge.geometry import placed
from judge.routes import Walks


def wish_distance(scenario: Any, layout: Any, wish: Any, station: str) -> float:
    """Metres that one station of a wish counts: to the thing named, or what is missing from ``by``."""
    here = Point(placed(scenario, layout, station).at)
    if wish.near is not None:
        return min(here.distance(shape) for shape in named(scenario, layout, wish.near, station))
    return max(
        0.0, wish.by - min(here.distance(s) for s in named(scenario, layout, wish.apart_from, station))
    )


def named(scenario: Any, layout: Any, word: str, asking: str) -> list[Any]:
    """Shapes that a word of the file means: stations and vehicles by their centre, the rest by their
    outline."""
    room = scenario.room
    found: list[Any] = []
    for thing in (*scenario.stations, *scenario.vehicles):
        if word in (thing.name, getattr(thing, "group", thing.name)) and thing.name != asking:
            found.append(Point(placed(scenario, layout, thing.name).at))
    for opening, kind in [*((d, "door") for d in room.doors), *((w, "window") for w in room.windows)]:
        if word == kind or alike(word, opening.name):
            found.append(LineString([opening.start, opening.end]))
    found += [LineString([w.start, w.end]) for w in room.walls if w.name == word]
    for area in (*room.fixtures, *room.keep_clear, *room.yards):
        if alike(word, area.name):
            found.append(Polygon(area.outline))
    return found


def alike(word: str, name: str) -> bool:
    """Whether a word means a thing of that name: the name itself, or its stem where things are numbered."""
    stem, _, number = name.rpartition("-")
    return word == name or (number.isdigit() and word == stem)


def wishes(scenario: Any, layout: Any) -> float:
    """Σ prefer weight × metres; a wish about a group counts every member."""
    total = 0.0
    for wish in scenario.prefer:
        members = [s.name for s in scenario.stations if wish.station in (s.name, s.group)]
        total += sum(wish.weight * wish_distance(scenario, layout, wish, m) for m in members)
    return total


def cost(scenario: Any, layout: Any, walks: Walks | None = None) -> float:
    """Σ jobs times a year × what they count + Σ wishes, metres a year, without prices of failed checks."""
    walks = walks or Walks(scenario, layout)
    walked = sum(job.times_per_year * walks.counted(job) for job in scenario.jobs if job.times_per_year > 0)
    total = walked + wishes(scenario, layout)
    return math.inf if math.isnan(total) else total
