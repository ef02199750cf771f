"""One small scenario file, and variants that change one thing in it.

The base is kept short: most keys have their defaults, and a test puts in the one it is about.
"""

from __future__ import annotations

from footwork.model.errors import ScenarioError
from footwork.model.read import loads
from footwork.model.scenario import Scenario

BASE = """\
name = "Base"
units = "m"
[walker]
[room]
size = [6, 5]
[[room.doors]]
name = "gate"
wall = "south"
from = 0.5
width = 2.5
vehicle = true
[stations.bench]
size = [1.5, 0.7]
[stations.rack]
size = [1.0, 0.5]
count = 2
[vehicles.van]
size = [1.8, 4.0]
[jobs.mend]
times = "1 per week"
route = ["bench", "rack", "bench"]
[layouts.today]
bench = { at = [1, 4], facing = "south" }
rack-1 = { at = [4, 4], facing = "south" }
rack-2 = { at = [5.5, 2], facing = 270 }
van = { at = [1.75, 2.5], facing = "north" }
"""


def variant(*changes: tuple[str, str]) -> str:
    """The base file with each first text, which must be in it, replaced by the second."""
    text = BASE
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def read(*changes: tuple[str, str]) -> Scenario:
    """The scenario of a variant."""
    return loads(variant(*changes))


def after(header: str, *lines: str) -> tuple[str, str]:
    """The change that puts lines below a table's header."""
    return f"{header}\n", "\n".join((header, *lines, ""))


def above(header: str, *lines: str) -> tuple[str, str]:
    """The change that puts lines above a table's header."""
    return f"{header}\n", "\n".join((*lines, header, ""))


def faults(*changes: tuple[str, str]) -> list[str]:
    """What is wrong with a variant, line by line; empty when nothing is."""
    try:
        read(*changes)
    except ScenarioError as error:
        return list(error.lines)
    return []
