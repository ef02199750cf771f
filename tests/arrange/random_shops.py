"""Random small workshops with a handful of spots for each station."""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass

import numpy as np

from footwork.model.read import loads
from footwork.model.scenario import Scenario

FACINGS = ("north", "east", "south", "west")


@dataclass(frozen=True)
class Asked:
    """What a random workshop has.  Each of the features makes walks harder to bound from below."""

    stations: int = 4
    spots: int = 4
    along: bool = False
    alike: bool = False
    vehicle: bool = False
    carry: bool = False
    wishes: bool = False
    shoulds: bool = False
    effort: bool = False
    evenly: bool = False
    parked: bool = False


def random_shop(rng: np.random.Generator, asked: Asked) -> Scenario:
    """A room of 4 to 6 m with a door, a post in the floor, stations with spots of their own, and jobs."""
    return loads(shop_file(rng, asked))


def shop_file(rng: np.random.Generator, asked: Asked) -> str:
    """Its file."""
    width, depth = (round(float(v), 2) for v in rng.uniform((5.0, 4.4), (6.5, 5.6)))
    names = [f"s{k}" for k in range(asked.stations)]
    group = names[0] if asked.alike else None
    parts = [_building(rng, asked, width, depth)]
    parts += [_station(rng, asked, name, name == group) for name in names]
    parts += [_spots(rng, asked, name, width, depth, 2 if name == group else 1) for name in names]
    if asked.vehicle:
        parts.append(_vehicle(rng))
    parts += [_job(rng, asked, number, names) for number in range(3)]
    if asked.wishes:
        parts.append(_wishes(rng, names))
    if asked.effort:
        parts[0] += f"\n[walker]\nsetting_off = {round(float(rng.uniform(0.5, 4.0)), 2)}\n"
        parts = [re.sub(r'(to = "\w+", )', r"\1weight = 25, ", part) for part in parts]
    if asked.evenly:
        parts = [part.replace("count = 2", 'count = 2\nuse = "evenly"') for part in parts]
    if asked.parked:
        keys = 'castors = true\nparked = { at = [3.4, 0.45], facing = "north" }\n'
        parts = [part.replace("[stations.s1]\n", f"[stations.s1]\n{keys}") for part in parts]
    if asked.shoulds:
        parts = _hazards(rng, names, parts)
    return "\n".join(parts)


def _building(rng: np.random.Generator, asked: Asked, width: float, depth: float) -> str:
    x, y = (float(v) for v in rng.uniform((2.0, 2.6), (width - 1.5, depth - 1.2)).round(2))
    text = f"""[room]
size = [{width}, {depth}]
doors = [
    {{ name = "side", wall = "east", from = 0.4, width = 0.8 }},
    {{ name = "gate", wall = "south", from = 0.2, width = 2.0, vehicle = true }},
]
windows = [{{ name = "window", wall = "north", from = 1.0, width = 1.2 }}]
fixtures = [{{ name = "post", at = [{x}, {y}], size = [0.2, 0.2] }}]
"""
    return text if asked.vehicle else text.replace(", vehicle = true", "")


def _station(rng: np.random.Generator, asked: Asked, name: str, alike: bool) -> str:
    size = [float(v) for v in rng.uniform((0.4, 0.35), (1.5, 0.8)).round(2)]
    if alike:
        size[0] = min(size[0], 0.9)
    lines = [f"[stations.{name}]", f"size = {size}", "strip = 0.6", "height = 0.9"]
    if rng.random() < 0.4:
        lines.append('stand = ["front", "back"]')
    if asked.along:
        lines.append("along = true")
    if alike:
        lines.append("count = 2")
    return "\n".join(lines) + "\n"


def _spots(rng: np.random.Generator, asked: Asked, name: str, width: float, depth: float, times: int) -> str:
    found = []
    for _ in range(asked.spots * times):
        x, y = (round(float(v), 2) for v in rng.uniform((0.8, 0.8), (width - 0.8, depth - 0.8)))
        wall = int(rng.integers(4))
        facing = FACINGS[wall]
        if rng.random() < 0.6:
            # Most look away from a wall near by, so that there are ways through.
            x, y = [(x, 0.5), (0.5, y), (x, depth - 0.5), (width - 0.5, y)][wall]
        found.append(f'[[spots]]\nat = [{x:.2f}, {y:.2f}]\nfacing = "{facing}"\ntakes = ["{name}"]\n')
    return "\n".join(found)


def _vehicle(rng: np.random.Generator) -> str:
    deep = [round(float(v), 2) for v in rng.uniform(1.5, 2.0, 2)]
    spots = ", ".join(
        f'{{ at = [1.2, {y}], facing = "{f}" }}' for y, f in zip(deep, FACINGS[::2], strict=True)
    )
    inside = round(float(rng.uniform(0.1, 0.9)), 2)
    return (
        f'[vehicles.cart]\nsize = [1.0, 1.7]\ndoor = "gate"\ninside = {inside}\n'
        f"around = {{ back = 0.6, left = 0.6 }}\nspots = [{spots}]\n"
    )


def _job(rng: np.random.Generator, asked: Asked, number: int, names: list[str]) -> str:
    stops = list(names) if number == 0 else []
    while len(stops) < 6:
        stops.append(names[int(rng.integers(len(names)))])
    rng.shuffle(stops)
    if rng.random() < 0.5:
        stops.append("door:side")
    lines = [f"[jobs.j{number}]", f'times = "{int(rng.integers(1, 9))} per week"']
    if asked.vehicle and number == 1:
        stops.append("cart")
    if asked.vehicle and number == 2:
        lines.append('outside = ["cart"]')
    lines.append(f"route = [{', '.join(map(repr, stops))}]")
    if asked.carry:
        one, two = next((a, b) for a, b in itertools.pairwise(stops) if a != b and "door" not in b)
        lines.append(
            f'carry = [{{ from = "{one}", to = "{two}", width = {round(float(rng.uniform(0.7, 0.9)), 2)} }}]'
        )
    return "\n".join(lines) + "\n"


def _hazards(rng: np.random.Generator, names: list[str], parts: list[str]) -> list[str]:
    """The same with a socket, a sill and perhaps a screen, and what stations give, mind and need."""
    sparks, store, fine = (str(name) for name in rng.permutation(names)[:3])
    screen = ', { name = "screen", at = [2.4, 3.0], size = [1.2, 0.05], shield = true }'
    building = (
        parts[0]
        .replace(
            "size = [0.2, 0.2] }",
            'size = [0.2, 0.2] }, { name = "socket", at = [0.0, 1.5], kind = "socket" }'
            + (screen if rng.random() < 0.5 else ""),
        )
        .replace("from = 1.0, width = 1.2 }", "from = 1.0, width = 1.2, sill = 0.8 }")
    )
    keys = {
        sparks: 'gives = ["sparks", "dust"]\nneeds = ["socket"]\nlead = 1.5\n',
        store: 'minds = ["flammable"]\n',
        fine: 'minds = ["dust"]\n',
    }
    prices = f"""[checks]
gives-minds = {{ price = {int(rng.integers(100, 40000))} }}
sparks-flammables = {{ figure = 3.5, price = {int(rng.integers(100, 40000))} }}
lead-reach = {{ price = {int(rng.integers(100, 20000))} }}
window-sill = {{ price = {int(rng.integers(100, 20000))} }}
"""
    rest = "\n".join(parts[1:])
    for name, more in keys.items():
        rest = rest.replace(f"[stations.{name}]\n", f"[stations.{name}]\n{more}")
    return [building, prices, rest]


def _wishes(rng: np.random.Generator, names: list[str]) -> str:
    one, two, three = rng.permutation(names)[:3]
    weights = rng.integers(50, 900, 3)
    return f"""[[prefer]]
station = "{one}"
near = "window"
weight = {weights[0]}
[[prefer]]
station = "{two}"
apart_from = "{one}"
by = 3.0
weight = {weights[1]}
[[prefer]]
station = "{three}"
near = "{two}"
weight = {weights[2]}
"""
