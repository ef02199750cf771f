"""Random workshops with whatever a file may say of how one walks, for figures held against the judge.

``random_shops`` draws a small workshop; here its file is changed, one thing after the other, each by chance.
"""

from __future__ import annotations

import importlib
import re
from collections.abc import Callable

import numpy as np

shops = importlib.import_module("arrange.random_shops")

DRAWN = ("along", "alike", "vehicle", "carry", "wishes", "shoulds", "effort", "evenly", "parked")
"""Features that ``random_shops`` knows."""


def workshop_file(
    rng: np.random.Generator, stations: tuple[int, int], spots: int, without: tuple[str, ...] = ()
) -> tuple[str, set[str]]:
    """The file of a random workshop with each feature in one of three, but for some; and which it has."""
    chosen = {feature: bool(rng.random() < 1 / 3) and feature not in without for feature in DRAWN}
    chosen["evenly"] &= chosen["alike"]
    asked = shops.Asked(int(rng.integers(*stations)), spots, **chosen)
    return shops.shop_file(rng, asked), {feature for feature, has in chosen.items() if has}


def varied(rng: np.random.Generator, file: str) -> tuple[str, set[str]]:
    """The file with each change in one of three, and the names of those that found something to change."""
    made = set()
    for name, change in CHANGES.items():
        if rng.random() < 1 / 3:
            changed = change(rng, file)
            if changed != file:
                made.add(name)
                file = changed
    return file, made


def _size(file: str) -> tuple[float, float]:
    """Of the room, which has a size as yet."""
    found = re.search(r"\[room\]\nsize = \[(\S+), (\S+)\]", file)
    assert found
    return float(found[1]), float(found[2])


def _names(file: str) -> list[str]:
    return re.findall(r"^\[stations\.(\w+)\]$", file, re.M)


def _of_some(rng: np.random.Generator, file: str, lines: Callable[[], str]) -> str:
    """With more keys at one station or several."""
    for name in _names(file):
        if rng.random() < 0.5:
            file = file.replace(f"[stations.{name}]\n", f"[stations.{name}]\n{lines()}")
    return file


def _corner_off(rng: np.random.Generator, file: str) -> str:
    """An L-shaped room: its walls are numbered."""
    width, depth = _size(file)
    x, y = width - round(float(rng.uniform(0.8, 2.0)), 2), depth - round(float(rng.uniform(0.8, 1.6)), 2)
    corners = [(0, 0), (width, 0), (width, y), (x, y), (x, depth), (0, depth)]
    outline = [[round(a, 2), round(b, 2)] for a, b in corners]
    file = re.sub(r"\[room\]\nsize = .*", f"[room]\noutline = {outline}", file)
    for wall, number in (("south", 1), ("east", 2), ("north", 5)):
        file = file.replace(f'wall = "{wall}"', f"wall = {number}")
    return file


def _yard(rng: np.random.Generator, file: str) -> str:
    """A yard before the gate, where one station has some of its places."""
    depth = round(float(rng.uniform(1.6, 3.0)), 2)
    name = _names(file)[-1]
    spots = "".join(
        f'[[spots]]\nat = [{x:.2f}, {y:.2f}]\nfacing = "{rng.choice(shops.FACINGS)}"\ntakes = ["{name}"]\n'
        for x, y in rng.uniform((0.8, 0.5 - depth), (3.2, -0.5), (6, 2))
    )
    yard = f'[[room.yards]]\nname = "drive"\noutline = [[0, 0], [4, 0], [4, -{depth}], [0, -{depth}]]\n'
    file = file.replace(f"[stations.{name}]\n", f"[stations.{name}]\noutdoors = true\n")
    return f"{file}\n{yard}{spots}"


def _outlines(rng: np.random.Generator, file: str) -> str:
    """Stations of five or six corners, one of them pointing inwards."""

    def outline(found: re.Match[str]) -> str:
        if rng.random() < 0.5:
            return found[0]
        x, y = float(found[1]) / 2, float(found[2]) / 2
        notch = round(float(rng.uniform(-0.4, 0.7)), 2)
        corners = [(-x, -y), (x, -y), (x, notch * y), (notch * x, notch * y), (notch * x, y), (-x, y)]
        return f"outline = [{', '.join(f'[{a:.3f}, {b:.3f}]' for a, b in corners)}]\nstrip"

    return re.sub(r"^size = \[(\S+), (\S+)\]\nstrip", outline, file, flags=re.M)


def _repeats(rng: np.random.Generator, file: str) -> str:
    """A part of each route walked over and over, and a part of that again."""

    def route(found: re.Match[str]) -> str:
        stops = found[1].split(", ")
        begin = int(rng.integers(0, len(stops) - 3))
        once, twice = (int(n) for n in rng.integers(1, 4, 2))
        inner = f"{{ repeat = {twice}, route = [{', '.join(stops[begin + 1 : begin + 3])}] }}"
        outer = f"{{ repeat = {once}, route = [{stops[begin]}, {inner}] }}"
        return f"route = [{', '.join([*stops[:begin], outer, *stops[begin + 3 :]])}]"

    return re.sub(r"^route = \[(.*)\]$", route, file, flags=re.M)


def _sides(rng: np.random.Generator, file: str) -> str:
    """Some stops say at which side of the station."""
    both = re.findall(r'^\[stations\.(\w+)\]\n(?:(?!\[).*\n)*?stand = \["front", "back"\]', file, re.M)

    def route(found: re.Match[str]) -> str:
        line = found[0]
        for name in both:
            if rng.random() < 0.7:
                line = line.replace(f"'{name}'", f"'{name}:{rng.choice(['front', 'back'])}'")
        return line

    return re.sub(r"^route = .*$", route, file, flags=re.M)


def _all_round(rng: np.random.Generator, file: str) -> str:
    """Stations that are worked at from every side."""
    return file.replace('stand = ["front", "back"]', 'stand = ["front", "left", "right", "back"]')


def _hanging(rng: np.random.Generator, file: str) -> str:
    """Some things hang, low enough to be in the way or not; one reaches over what is below them."""
    low, high = (round(float(v), 2) for v in (rng.uniform(1.0, 2.0), rng.uniform(2.05, 2.4)))
    file = file.replace("height = 0.9", "height = 2.6")
    reach = round(float(rng.uniform(0.0, 0.6)), 2)
    return _of_some(rng, file, lambda: f"from_floor = {rng.choice([low, high])}\nreach = {reach}\n")


def _walker(rng: np.random.Generator, file: str) -> str:
    """Somebody wider or narrower, slower or faster, of a longer or shorter step."""
    keys = [
        f"width = {round(float(rng.uniform(0.4, 0.8)), 2)}",
        f"speed = {round(float(rng.uniform(0.6, 1.8)), 2)}",
        f"step = {round(float(rng.uniform(0.4, 1.0)), 2)}",
    ]
    if "[walker]" in file:
        return file.replace("[walker]\n", "[walker]\n" + "\n".join(keys) + "\n")
    return file + "\n[walker]\n" + "\n".join(keys) + "\n"


def _weeks(rng: np.random.Generator, file: str) -> str:
    """Jobs that are not done all the year."""
    return re.sub(r"^times = ", lambda _: f"weeks = {int(rng.integers(1, 52))}\ntimes = ", file, flags=re.M)


def _askew(rng: np.random.Generator, file: str) -> str:
    """Places turned by any angle."""
    return re.sub(
        r'^facing = "\w+"', lambda _: f"facing = {round(float(rng.uniform(0, 360)), 1)}", file, flags=re.M
    )


def _posts(rng: np.random.Generator, file: str) -> str:
    """More posts, turned by any angle."""
    width, depth = _size(file) if "\nsize = " in file.split("doors")[0] else (4.0, 3.0)
    least, most = (1.0, 1.0, 0.1, 0.1, 0.0), (width - 1.0, depth - 1.0, 0.5, 0.3, 360.0)
    more = "".join(
        f", {{ at = [{x:.2f}, {y:.2f}], size = [{a:.2f}, {b:.2f}], facing = {f:.1f} }}"
        for x, y, a, b, f in rng.uniform(least, most, (int(rng.integers(1, 4)), 5))
    )
    return file.replace("size = [0.2, 0.2] }", "size = [0.2, 0.2] }" + more)


def _groups(rng: np.random.Generator, file: str) -> str:
    """Three alike of which two are used at once."""
    return re.sub(r'count = 2(\nuse = "evenly")?', f"count = 3\nuse = {int(rng.integers(1, 3))}", file)


CHANGES: dict[str, Callable[[np.random.Generator, str], str]] = {
    "more posts": _posts,
    "L-shaped room": _corner_off,
    "yard": _yard,
    "outlines": _outlines,
    "sides named": _sides,
    "every side": _all_round,
    "repeats": _repeats,
    "hanging": _hanging,
    "walker": _walker,
    "weeks": _weeks,
    "any angle": _askew,
    "so many at once": _groups,
}
"""What is done to a file, in this order."""
