"""What is said of ways out: one figure for one gap, that of the tape, and figures that add up."""

from __future__ import annotations

import re

import pytest

from footwork.model.read import loads
from footwork.scoring import score

# Two cabinets leave a gap of 0.6436 m at x 3; three benches stand behind it, west of them the only door.
SHED = """
units = "{units}"
[room]
size = ["7 m", "4 m"]
doors = [{{ name = "door", wall = "west", from = "2 m", width = "0.9 m", swing = "out" }}]
[stations]
low = {{ size = ["0.5 m", "1.5 m"], stand = [] }}
high = {{ size = ["0.5 m", "1.8564 m"], stand = [] }}
bench = {{ size = ["1.5 m", "0.6 m"] }}
drill = {{ size = ["0.6 m", "0.6 m"] }}
saw = {{ size = ["0.8 m", "0.7 m"] }}
[layouts.now]
low = {{ at = ["3 m", "0.75 m"], facing = "south" }}
high = {{ at = ["3 m", "3.0718 m"], facing = "south" }}
bench = {{ at = ["5 m", "3.7 m"], facing = "south" }}
drill = {{ at = ["6.7 m", "2 m"], facing = "west" }}
saw = {{ at = ["4.5 m", "0.35 m"], facing = "north" }}
"""


def said(units: str) -> list[str]:
    found = score(loads(SHED.format(units=units)))
    messages = [c.message for c in found.checks if c.id == "way-out" and not c.ok]
    assert len(messages) == 3
    return messages


def test_one_gap_has_one_width_and_the_figures_add_up() -> None:
    """0.7112 - 0.6436 is 0.0676, but 0.711 - 0.644 is 0.067."""
    figures = {
        re.search(r"is (\S+) m wide; (\S+) m is the least for a way out, (\S+) m more", m) for m in said("m")
    }
    told = {found.groups() for found in figures if found}
    assert told == {("0.644", "0.711", "0.067")}
    for message in said("m"):
        assert re.search(
            "the gap between (low and high|high and low) is 0.644 m, 0.067 m too narrow", message
        )


@pytest.mark.parametrize(
    ("units", "wide", "more"), [("ft", "2' 1-5/16\"", '2-11/16"'), ("mm", "644 mm", "67 mm")]
)
def test_so_they_do_in_other_units(units: str, wide: str, more: str) -> None:
    """0.6436 m is 25.34 in, 405 sixteenths and a half; 2' 4" is 448: 43 are missing, 2-11/16"."""
    for message in said(units):
        assert f"is {wide} wide; " in message
        assert f", {more} more" in message
