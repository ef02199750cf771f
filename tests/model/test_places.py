"""Placements as people measure them: along a wall, clear of walls; and measures that do not agree."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from footwork.model.errors import ScenarioError
from footwork.model.read import load, loads
from footwork.model.scenario import Placement, Scenario
from footwork.model.write import save
from footwork.whatif import apply

RECTANGLE = "size = [6, 4]"
ELL = "outline = [[0, 0], [7, 0], [7, 4], [4, 4], [4, 6.5], [0, 6.5]]"
CLOCKWISE = "outline = [[0, 0], [0, 4], [6, 4], [6, 0]]"
LOPSIDED = "outline = [[-0.8, -0.3], [0.2, -0.3], [0.2, 0.3], [0.8, 0.3], [0.8, 0.7], [-0.8, 0.7]]"


def text(told: str, room: str = RECTANGLE, shape: str = "size = [1.5, 0.8]", more: str = "") -> str:
    return f"{more}[room]\n{room}\n[stations.bench]\n{shape}\n[layouts.today]\nbench = {{ {told} }}\n"


def bench(scenario: Scenario) -> Placement:
    return scenario.layouts[0].placements["bench"]


@pytest.mark.parametrize(
    ("told", "place"),
    [
        ('wall = "north", from = 1.20, off = 0.02', (1.95, 3.58, 180.0)),
        ('wall = "south", from = 0', (0.75, 0.4, 0.0)),
        ('wall = "west", from = 1', (0.4, 1.75, 90.0)),
        ('wall = "east", from = "50 cm", facing = "west"', (5.6, 1.25, 270.0)),
        ('south = 1.20, east = 0.35, facing = "west"', (5.25, 1.95, 270.0)),
        ('north = 0, west = 0, facing = "south"', (0.75, 3.6, 180.0)),
        ('south = 0.5, north = 2.7, west = 1, facing = "north"', (1.75, 0.9, 0.0)),
        ('south = 0.5, north = 2.705, west = 1, facing = "north"', (1.75, 0.9, 0.0)),
    ],
)
def test_in_a_rectangle(told: str, place: tuple[float, float, float]) -> None:
    found = bench(loads(text(told)))
    assert (found.x, found.y, found.facing) == pytest.approx(place)


@pytest.mark.parametrize(
    ("told", "room", "place"),
    [
        ("wall = 3, from = 0.5", ELL, (5.75, 3.6, 180.0)),
        ("wall = 5, from = 1", ELL, (2.25, 6.1, 180.0)),
        ("wall = 1, from = 1", CLOCKWISE, (0.4, 1.75, 90.0)),
        ("wall = 2, from = 1", CLOCKWISE, (1.75, 3.6, 180.0)),
        (
            'east = 0.5, north = 0, facing = "south"',
            "outline = [[0, 0], [4, 0], [4, 5], [0, 5]]",
            (2.75, 4.6, 180.0),
        ),
        ('north = 0.2, west = 0.3, facing = "south"', ELL, (1.05, 5.9, 180.0)),
        ('north = 0.2, west = 4.5, facing = "south"', ELL, (5.25, 3.4, 180.0)),
    ],
)
def test_in_an_outline(told: str, room: str, place: tuple[float, float, float]) -> None:
    """A side is measured to the first wall that it faces."""
    found = bench(loads(text(told, room)))
    assert (found.x, found.y, found.facing) == pytest.approx(place)


def test_by_a_slanting_wall_it_stands_square_to_it() -> None:
    found = bench(loads(text("wall = 2, from = 1", "outline = [[0, 0], [4, 0], [7, 3], [0, 3]]")))
    assert found.facing == pytest.approx(315.0)
    back = (found.x + 0.4 * 2**-0.5, found.y - 0.4 * 2**-0.5)
    assert back[0] - back[1] == pytest.approx(4.0)


def test_of_a_footprint_that_is_not_symmetric_the_ends_are_measured() -> None:
    found = bench(loads(text('wall = "south", from = 0.5', shape=LOPSIDED)))
    assert (found.x, found.y) == pytest.approx((1.3, 0.7))
    found = bench(loads(text('south = 0.1, west = 0.2, facing = "north"', shape=LOPSIDED)))
    assert (found.x, found.y) == pytest.approx((1.0, 0.8))


def test_fixtures_vehicles_and_fixed_places_too() -> None:
    scenario = loads(
        """
        [room]
        size = [8, 6]
        doors = [{ wall = "south", from = 1, width = 3, vehicle = true }]
        fixtures = [
            { name = "post", south = 2, west = 3, size = [0.2, 0.2] },
            { name = "stove", wall = "north", from = 0.5, off = 0.1, size = [0.6, 0.5] },
            { name = "socket", wall = "east", from = 2, kind = "socket" },
        ]
        [stations.bin]
        size = [0.5, 0.4]
        fixed = { wall = "east", from = 0.3 }
        [vehicles.van]
        size = [1.9, 4]
        spots = [{ wall = "west", from = 0 }]
        [layouts.today]
        van = { west = 1.2, south = 1, facing = "north" }
        """
    )
    at = {fixture.name: fixture.at for fixture in scenario.room.fixtures}
    assert at["post"] == pytest.approx((3.1, 2.1))
    assert at["stove"] == pytest.approx((0.8, 5.65))
    assert at["socket"] == pytest.approx((8.0, 2.0), abs=1e-3)
    assert [fixture.facing for fixture in scenario.room.fixtures] == [180.0, 180.0, 270.0]
    assert scenario.station("bin").fixed == Placement(7.8, 0.55, 270.0)
    assert scenario.vehicle("van").spots[0].x == pytest.approx(2.0)
    van = scenario.layouts[0].placements["van"]
    assert (van.x, van.y) == pytest.approx((2.15, 3.0))


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ('at = [1, 1], facing = "south", wall = "north"', "in two ways where it stands"),
        ('at = [1, 1], facing = "south", south = 1', "in two ways where it stands"),
        ('wall = "north", from = 1, east = 2', "in two ways where it stands"),
        ('wall = "top", from = 1', "there is no wall 'top'"),
        ('wall = "north"', "'from' is missing"),
        ('from = 1, facing = "south"', "need the wall"),
        ('wall = "north", from = 1, facing = "east"', "so it faces south, not east"),
        ('wall = "north", from = 5', "it ends 6.50 m along wall north, which is 6.00 m long"),
        ('south = 1, facing = "south"', "east or the west wall"),
        ('east = 1, facing = "south"', "south or the north wall"),
        ("south = 1, east = 1", "'facing' is missing"),
        ('facing = "south"', "'at' is missing"),
        ("at = [1, 1]", "'facing' is missing"),
        (
            'south = 1.2, north = 2.5, east = 1, facing = "south"',
            "south and north do not add up: 1.20 m + 0.80 m + 2.50 m is 4.50 m, and from wall to wall",
        ),
        ('south = 3.9, east = 1, facing = "south"', "nowhere in the room"),
        ('south = -1, east = 1, facing = "south"', "0 or more"),
    ],
)
def test_what_contradicts_itself_is_named_with_its_line(told: str, words: str) -> None:
    with pytest.raises(ScenarioError) as fault:
        loads(text(told))
    assert len(fault.value.problems) == 1
    assert words in str(fault.value)
    assert fault.value.problems[0].line == 6
    assert fault.value.problems[0].mend


def test_where_two_places_fit_both_are_named() -> None:
    room = "outline = [[0, 0], [6, 0], [6, 4], [4, 4], [4, 2], [2, 2], [2, 4], [0, 4]]"
    with pytest.raises(ScenarioError, match="could stand in 2 places"):
        loads(text('north = 0, west = 0.1, facing = "south"', room, "size = [1, 0.5]"))


def test_what_stands_as_told_stays_as_typed_when_saved(tmp_path: Path) -> None:
    """What moved is told by its middle from then on."""
    path = tmp_path / "shed.toml"
    words = 'wall = "north", from = 1.20, off = 0.02'
    path.write_text(
        text(words, more="# mine\n").replace("[layouts", "[stations.vice]\nsize = [0.5, 0.5]\n[layouts")
        + 'vice = { south = 1, west = 1, facing = "east" }   # by the tape\n',
        encoding="utf-8",
    )
    scenario = load(path)
    moved = scenario.layouts[0].moved({"vice": Placement(3.0, 1.0, 90.0)})
    save(scenario, moved, "today")
    raw = tomllib.loads(path.read_text(encoding="utf-8"))["layouts"]["today"]
    assert raw["bench"] == {"wall": "north", "from": 1.2, "off": 0.02}
    assert raw["vice"] == {"at": [3.0, 1.0], "facing": "east"}
    assert "# by the tape" in path.read_text(encoding="utf-8")
    assert load(path).layouts[0].placements == moved.placements


def test_a_room_that_grows_tells_by_their_middles_what_was_measured_from_its_walls(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    path.write_text(text('wall = "north", from = 1.20'), encoding="utf-8")
    scenario = load(path)
    grown, layout = apply(scenario, None, "room 7x5")
    save(grown, layout, "today")
    assert bench(load(path)).at == pytest.approx(layout.placements["bench"].at)
