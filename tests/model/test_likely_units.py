"""A file whose bare numbers look like another unit is asked about; one that is merely large is not."""

from __future__ import annotations

from pathlib import Path

import pytest

from footwork.model.likely_units import question
from footwork.model.read import load, loads

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))


def asked(room: str, things: str, units: str = "m") -> str:
    return question(loads(f'units = "{units}"\n[room]\nsize = {room}\n{things}'))


BENCH = "[stations.bench]\nsize = [6, 2.5]\n"
GARAGE = f"""
doors = [{{ wall = "south", from = 2, width = 16, vehicle = true }}, {{ wall = "east", from = 2, width = 3 }}]
{BENCH}
[stations.saw]
size = [3, 3]
[stations.drill]
size = [1.5, 2]
[stations.shelf]
size = [8, 1]
[vehicles.car]
size = [6, 15]
"""
METRIC = """
doors = [{ wall = "south", from = 1, width = 3, vehicle = true }, { wall = "east", from = 1, width = 0.9 }]
[stations.bench]
size = [1.5, 0.75]
[stations.saw]
size = [0.9, 0.9]
"""
HALL = """
doors = [{ wall = "south", from = 2, width = 5, vehicle = true }, { wall = "east", from = 2, width = 1.2 }]
[stations.booth]
size = [7, 4]
[stations.laser]
size = [6, 2.4]
[stations.press]
size = [3, 2]
[stations.bench]
size = [2.0, 0.8]
[stations.bins]
size = [1.2, 0.4]
"""


def test_a_garage_in_feet_read_as_metres() -> None:
    assert asked("[20, 24]", BENCH) == (
        'the room is 20 x 24 m and bench 6 x 2.5 m: are these feet? Then write units = "ft"; if not, write '
        'the room\'s size with its unit, as in "20 m", and this is not asked again'
    )
    assert "are these feet?" in asked("[20, 24]", GARAGE)


def test_a_shed_in_metres_read_as_feet() -> None:
    told = asked("[7, 5]", METRIC, "ft")
    assert told.startswith("the room is 7 x 5 ft and bench 1.5 x 0.75 ft: are these metres?")


def test_a_side_beside_one_in_inches() -> None:
    """Six by 30 inches: nobody has a bench six metres long and measures its depth in inches."""
    told = asked("[20, 24]", '[stations.bench]\nsize = [6, "30 in"]')
    assert told.startswith("the room is 20 x 24 m and bench 6 m: are these feet?")
    assert asked("[20, 24]", '[stations.bench]\nsize = [6, "750 mm"]') == ""
    assert asked("[20, 24]", '[stations.bench]\nsize = [6, "30 in"]', "ft") == ""


@pytest.mark.parametrize(
    ("room", "things", "units"),
    [
        ("[20, 24]", HALL, "m"),  # large machines, and a bench, bins and a door as anywhere
        ("[40, 25]", HALL, "m"),
        ("[20, 24]", '[stations.a]\nlike = "workbench"', "m"),  # nothing speaks for either
        (
            "[20, 24]",
            'doors = [{ wall = "south", from = 2, width = 3 }]\n[stations.a]\nlike = "workbench"',
            "m",
        ),
        ("[20, 24]", "[stations.bench]\nsize = [6, 0.8]", "m"),  # a long bench, no deeper than an arm
        ('["20 m", 24]', BENCH, "m"),  # the unit is written
        ("[7, 5]", METRIC, "m"),
        ("[20, 24]", GARAGE, "ft"),
        (
            "[12, 8]",
            'doors = [{ wall = "east", from = 2, width = 3 }]\n[stations.shelf]\nsize = [4, 0.8]',
            "ft",
        ),
    ],
)
def test_what_is_as_it_says_is_not_asked_about(room: str, things: str, units: str) -> None:
    assert asked(room, things, units) == ""


def test_centimetres_and_millimetres() -> None:
    assert "600 x 400 m and a 150 x 75 m: are these centimetres?" in asked(
        "[600, 400]", "[stations.a]\nsize = [150, 75]"
    )
    assert "are these metres?" in asked("[7, 5]", "[stations.a]\nsize = [1.5, 0.8]", "mm")
    assert asked("[7000, 5000]", "[stations.a]\nsize = [1500, 800]", "mm") == ""


def test_an_outline_has_a_size_too() -> None:
    text = "[room]\noutline = [[0, 0], [24, 0], [24, 20], [0, 20]]\n"
    assert "the room is 24 x 20 m and bench" in question(loads(text + BENCH))


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_no_example_is_asked_about(path: Path) -> None:
    assert question(load(path)) == ""
