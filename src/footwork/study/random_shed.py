"""Workshops of any size by chance: scenario files to measure with, each with a sound layout in it."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from footwork.model.errors import UsageError
from footwork.model.limits import MOST_STATIONS
from footwork.model.read import loads
from footwork.model.scenario import Scenario

DEPTH = 6.0
"""Metres south to north of a shed without islands: two rows along its long walls, and room to walk."""
ISLAND_DEPTH = 3.0
"""Metres more for a row of islands in the middle."""
GAP = 0.35
"""Metres between neighbours along a wall, at least; as much again by chance."""
DOOR_END = 1.2
"""Metres at the west end that stay free before the door."""
STEP = 0.05
"""Sizes are multiples of so many metres."""
NAMES = (
    "bench", "saw", "drill", "rack", "press", "lathe", "sander", "mill", "grinder", "vice", "shear",
    "bender", "router", "planer", "bins", "shelf", "desk", "oven", "wash", "scale",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Thing:
    name: str
    width: float
    depth: float
    island: bool


def random_shed(
    stations: int,
    seed: int = 1,
    *,
    islands: float = 0.2,
    flow: Literal["hub", "flat"] = "hub",
    jobs: int | None = None,
) -> Scenario:
    """A workshop of so many stations in a long shed with a door in its west wall.

    seed     the same gives the same workshop, to the last letter
    islands  the part of the stations that stand free in the middle, 0 to 1
    flow     whether jobs come back to the first station between others, or go on from one to the next
    jobs     how many; by default one for two stations, three at least

    Its file is the scenario's ``text``: it has no fault, and its one layout, ``today``, passes every check
    that is a must.  Raises UsageError for a number that cannot be.
    """
    if not 2 <= stations <= MOST_STATIONS:
        raise UsageError(f"stations must be from 2 to {MOST_STATIONS}, not {stations}")
    if not 0.0 <= islands <= 1.0:
        raise UsageError(f"islands must be a part from 0 to 1, not {islands:g}")
    if jobs is not None and not 1 <= jobs <= 500:
        raise UsageError(f"jobs must be from 1 to 500, not {jobs}")
    rng = random.Random(f"{stations} {seed} {islands} {flow} {jobs}")
    things = [_thing(k, rng, islands, stations) for k in range(stations)]
    placed, length, depth = _placed(things, rng)
    count = max(3, stations // 2) if jobs is None else jobs
    text = "\n".join(
        [
            f'name = "Shed {stations}-{seed}"',
            "",
            "[room]",
            f"size = [{length:.2f}, {depth:.2f}]",
            f'doors = [{{ name = "door", wall = "west", from = {depth / 2 - 0.5:.2f}, width = 1.0 }}]',
            "",
            "[stations]",
            *(_row(thing) for thing in things),
            "",
            *(line for k in range(count) for line in _job(k, things, rng, flow)),
            "[layouts.today]",
            *placed,
            "",
        ]
    )
    return loads(text)


def _thing(number: int, rng: random.Random, islands: float, count: int) -> _Thing:
    word = NAMES[number % len(NAMES)]
    name = word if number < len(NAMES) else f"{word} {number // len(NAMES) + 1}"
    island = number > 0 and round(number * islands) > round((number - 1) * islands) and count > 2
    low, high = (0.9, 1.8) if island else (0.5, 1.8)
    return _Thing(name, _step(rng.uniform(low, high)), _step(rng.uniform(0.4, 0.9)), island)


def _step(length: float) -> float:
    return round(round(length / STEP) * STEP, 2)


def _row(thing: _Thing) -> str:
    placing, sides = ("island", ', stand = ["front", "back"]') if thing.island else ("wall", "")
    return f'"{thing.name}" = {{ size = [{thing.width}, {thing.depth}], placing = "{placing}"{sides} }}'


def _placed(things: Sequence[_Thing], rng: random.Random) -> tuple[list[str], float, float]:
    """Rows of a layout with everything in two rows along the long walls and one between them, by chance in
    which order; and the length and depth of the room that takes them."""
    free = [thing for thing in things if thing.island]
    walls = [thing for thing in things if not thing.island]
    depth = DEPTH + (ISLAND_DEPTH if free else 0.0)
    rng.shuffle(walls)
    rng.shuffle(free)
    ends = [DOOR_END, DOOR_END, DOOR_END + 0.6]
    rows = []
    for thing in (*walls, *free):
        row = 2 if thing.island else min((0, 1), key=lambda k: ends[k])
        gap = rng.uniform(GAP, 2 * GAP) if row < 2 else rng.uniform(1.0, 1.4)
        x = _step(ends[row] + gap + thing.width / 2)
        ends[row] = x + thing.width / 2
        y = (thing.depth / 2, depth - thing.depth / 2, depth / 2)[row]
        facing = "north" if row == 0 else "south"
        rows.append(f'"{thing.name}" = {{ at = [{x:.3f}, {y:.3f}], facing = "{facing}" }}')
    return rows, _step(max(ends) + 1.2), depth


def _job(number: int, things: Sequence[_Thing], rng: random.Random, flow: str) -> list[str]:
    others = rng.sample(things[1:], min(len(things) - 1, rng.randint(2, 5)))
    names = [thing.name for thing in others]
    hub = things[0].name
    if flow == "hub":
        names = [name for other in names for name in (other, hub)]
    stops = ", ".join(f'"{name}"' for name in names if name)
    often = rng.randint(1, 12)
    more = f"{often * 2} per week"
    less = f"{max(1, often // 2)} per week"
    return [
        f'[jobs."job {number + 1}"]',
        f'times = "{often} per week"',
        f"route = [{stops}]",
        f'times_range = ["{less}", "{more}"]',
        "",
    ]
