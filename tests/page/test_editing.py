"""Making and changing from the page: the text says it, comments stay, and the reader's word is the last."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from footwork.model.errors import UsageError
from footwork.model.read import load, loads
from footwork.model.scenario import Layout, Scenario
from footwork.page.editing.document import read
from footwork.page.editing.edits import edit
from footwork.page.editing.free_floor import placed
from footwork.scoring import score

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SHED = SCENARIOS / "gate-shed.toml"


class Work:
    """A scenario in work, edit by edit."""

    def __init__(self, scenario: Scenario, layout: Layout) -> None:
        self.scenario, self.layout = scenario, layout
        self.words: tuple[str, ...] = ()

    def do(self, kind: str, **message: Any) -> None:
        done = edit(self.scenario, self.layout, {"edit": kind, **message})
        self.scenario, self.layout = done.scenario, done.layout
        self.words = (done.words, *done.notes)

    @property
    def text(self) -> str:
        return self.scenario.text

    @property
    def raw(self) -> dict[str, Any]:
        return tomllib.loads(self.text)


def empty() -> Work:
    return Work(read("", Path("new.toml")), Layout("today", {}))


def shed() -> Work:
    scenario = load(SHED)
    return Work(scenario, scenario.layouts[0])


def walls(*pairs: tuple[str, str]) -> list[dict[str, str]]:
    return [{"length": length, "way": way} for length, way in pairs]


def opening(part: str, **given: Any) -> dict[str, Any]:
    return {"part": part, "from": "1", "width": "0.9", **given}


def test_from_nothing_to_a_measured_shed_that_scores() -> None:
    work = empty()
    work.do("walls", units="m", walls=walls(("6", "east"), ("4 m", "north")))
    work.do("opening", **opening("doors", wall="south", name="side", swing="in", exit=True))
    work.do("opening", **opening("windows", wall="north", sill="1.0"))
    work.do("fixture", name="post", wide="0.15", deep="15 cm", east="3", north="2")
    work.do("station", new=True, name="bench", like="workbench")
    work.do("station", new=True, name="saw bench", wide="0.9", deep="0.7", placing="island")
    work.do("job", name="box", times="2.5", route=["door:side", "bench", "saw bench", "bench"])
    assert work.scenario.room.size == (6.0, 4.0)
    assert work.raw["jobs"]["box"]["times"] == "2.5 per week"
    said = score(loads(work.text), work.layout)
    assert said.metres_per_year > 0
    assert said.jobs[0].times_per_year == pytest.approx(130.0)


def test_a_room_in_feet_is_written_in_feet() -> None:
    work = empty()
    work.do("walls", units="ft", walls=walls(("20", "east"), ("12 ft 6 in", "north")))
    assert work.raw == {"units": "ft", "room": {"size": [20, 12.5]}}


def test_comments_and_all_else_stay() -> None:
    """Only the lines of what was changed differ."""
    work = shed()
    work.do("station", name="saw", wide="0.65")
    work.do("job", name="brackets", times="5", route=work.raw["jobs"]["brackets"]["route"])
    before, after = SHED.read_text(encoding="utf-8").splitlines(), work.text.splitlines()
    changed = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert changed == [
        ("size = [0.6, 0.7]", "size = [0.65, 0.7]"),
        ('times = "4 per week"', 'times = "5 per week"'),
    ]


def test_stops_are_added_and_taken_out_without_touching_the_others() -> None:
    work = shed()
    old = work.raw["jobs"]["gate_frame"]["route"]
    work.do("job", name="gate_frame", times="2", route=[*old, "skip"])
    assert work.raw["jobs"]["gate_frame"]["route"] == [*old, "skip"]
    assert "# fetch, mark out, saw to length, deburr" in work.text
    work.do("job", name="gate_frame", times="2", route=old[1:])
    assert work.raw["jobs"]["gate_frame"]["route"] == old[1:]
    assert [c["from"] for c in work.raw["jobs"]["gate_frame"]["carry"]] == ["bench", "bench"]
    assert "# 3 m bars want elbow room" not in work.text
    work.do("job", name="gate_frame", times="2", route=[{"repeat": 2, "route": ["rack", "saw"]}, *old[3:]])
    assert [v.name for v in work.scenario.jobs[0].route][:4] == ["rack", "saw", "rack", "saw"]


def test_what_is_new_stands_somewhere_free_in_every_layout() -> None:
    work = shed()
    work.do("station", new=True, name="vice", wide="0.5", deep="0.5")
    place = work.layout.placements["vice"]
    assert [layout.placements["vice"] for layout in work.scenario.layouts] == [place]
    found = score(work.scenario, work.layout)
    assert not [
        c for c in found.checks if not c.ok and c.id in ("in-room", "no-overlap") and "vice" in c.message
    ]


def test_where_it_was_clicked_it_stands_back_to_the_wall() -> None:
    work = shed()
    work.do("station", new=True, name="vice", wide="0.5", deep="0.5", placing="wall", at=[0.3, 3.0])
    place = work.layout.placements["vice"]
    assert (place.x, place.facing) == (pytest.approx(0.25, abs=1e-4), 90.0)


def test_deleting_takes_it_out_of_routes_and_layouts() -> None:
    work = shed()
    work.do("delete thing", name="grinder")
    assert "grinder" not in work.layout.placements
    assert "grinder" not in {visit.name for job in work.scenario.jobs for visit in job.route}
    assert any("grinder is out of" in note for note in work.words)
    work.do("delete job", name="sweep_up")
    assert "sweep_up" not in work.raw["jobs"]


def test_doors_are_changed_and_deleted() -> None:
    work = shed()
    work.do("opening", part="doors", index=1, width="1.00")
    assert work.scenario.room.doors[1].width == pytest.approx(1.0)
    assert work.scenario.room.doors[1].exit
    work.do("delete part", part="windows", index=0)
    assert [window.name for window in work.scenario.room.windows] == ["east-window"]


def test_a_fixture_moves_one_way_and_keeps_the_other_as_typed() -> None:
    work = shed()
    work.do("fixture", index=0, east="8.2")
    assert work.raw["room"]["fixtures"][0]["at"] == [8.2, 6.97]


def test_a_longer_wall_keeps_the_openings_and_what_was_typed_of_the_others() -> None:
    """A rectangle stays told by its size."""
    work = shed()
    work.do("walls", walls=[{"length": "11", "way": "east"}, {"same": 1}, {"length": "11", "way": "west"}])
    assert work.raw["room"]["size"] == [11.0, 7.0]
    assert [door.wall for door in work.scenario.room.doors] == ["south", "east"]


def test_a_room_that_is_no_rectangle_any_more_keeps_openings_where_they_are() -> None:
    work = shed()
    before = {door.name: {door.start, door.end} for door in work.scenario.room.doors}
    work.do("walls", walls=walls(("10", "e"), ("7", "n"), ("8", "w"), ("1", "n")))
    after = {door.name: {door.start, door.end} for door in work.scenario.room.doors}
    for name, ends in before.items():
        assert sorted(after[name]) == [pytest.approx(end) for end in sorted(ends)]
    assert [door.wall for door in work.scenario.room.doors] == ["1", "2"]


def test_an_opening_that_fits_in_no_wall_is_told() -> None:
    work = shed()
    with pytest.raises(UsageError, match="window 'north-window' fits in no wall"):
        work.do("walls", walls=walls(("10", "e"), ("7", "n"), ("3", "w"), ("1", "n")))


@pytest.mark.parametrize(
    ("kind", "message", "words"),
    [
        ("station", {"new": True, "name": "x", "like": "piller drill"}, "did you mean 'pillar drill'"),
        ("station", {"new": True, "name": "x"}, "give its size"),
        ("station", {"new": True, "name": "x", "wide": "1"}, "deep is missing"),
        ("station", {"new": True, "name": "bench", "like": "workbench"}, "there is a 'bench' already"),
        ("station", {"new": True, "name": "x", "wide": "80", "deep": "1"}, "larger than the room"),
        ("station", {"new": True, "name": "a:b", "like": "workbench"}, ":"),
        ("station", {"name": "nothing"}, "nothing named 'nothing'"),
        ("opening", {"part": "doors", "wall": "south", "from": "1", "width": "1"}, "overlaps the door"),
        ("opening", {"part": "doors", "wall": "east", "from": "6.5", "width": "1"}, "along the wall"),
        ("opening", {"part": "doors", "wall": "east", "from": "far", "width": "1"}, "from"),
        ("opening", {"part": "doors", "wall": "top", "from": "1", "width": "1"}, "no wall 'top'"),
        ("job", {"name": "gate_frame", "times": "often", "route": ["rack"]}, "is not a frequency"),
        ("job", {"name": "gate_frame", "times": "1", "route": []}, "one stop has to stay"),
        ("job", {"name": "new", "times": "1", "route": ["nowhere"]}, "no station or vehicle 'nowhere'"),
        ("job", {"name": "", "times": "1", "route": ["rack"]}, "name is missing"),
        ("job", {"name": "new", "times": "1", "route": [3]}, "sent no route"),
        ("delete thing", {"name": "no such"}, "no such"),
        ("delete part", {"part": "doors", "index": 9}, "no part"),
        ("delete part", {"part": "walls", "index": 0}, "no part"),
        ("no such", {}, "does not know"),
    ],
)
def test_what_cannot_be_is_one_line_and_changes_nothing(
    kind: str, message: dict[str, Any], words: str
) -> None:
    work = shed()
    with pytest.raises(UsageError) as fault:
        work.do(kind, **message)
    assert len(fault.value.lines) == 1
    assert words in fault.value.lines[0]
    assert work.text == SHED.read_text(encoding="utf-8")


def test_a_file_with_other_line_ends_keeps_them() -> None:
    text = SHED.read_text(encoding="utf-8").replace("\n", "\r\n")
    scenario = loads(text, SHED)
    work = Work(scenario, scenario.layouts[0])
    work.do("station", new=True, name="vice", wide="0.5", deep="0.5")
    assert work.text.count("\n") == work.text.count("\r\n") > text.count("\r\n")


@pytest.mark.parametrize("name", ["gate-shed", "cabinet-garage", "frame-nook", "makerspace"])
def test_without_a_layout_everything_is_put_where_floor_is_free(name: str) -> None:
    """Nothing overlaps as far as there is room."""
    scenario = load(SCENARIOS / f"{name}.toml")
    places = placed(scenario, {})
    assert places.keys() == {thing.name for thing in scenario.things}
    found = score(scenario, Layout("first", places))
    overlapping = [c.message for c in found.checks if not c.ok and c.id in ("no-overlap", "in-room")]
    assert overlapping == []


def test_what_was_measured_from_walls_keeps_its_place_when_the_walls_are_others() -> None:
    work = shed()
    assert work.raw["layouts"]["today"]["compressor"] == {"wall": "west", "from": 1.3}
    before = work.scenario.layouts[0].placements
    work.do("walls", walls=walls(("10", "e"), ("7", "n"), ("8", "w"), ("1", "n")))
    assert work.raw["layouts"]["today"]["compressor"] == {"at": [0.25, 1.8], "facing": "east"}
    assert work.scenario.layouts[0].placements == before


def test_a_fixture_measured_from_walls_is_moved_by_its_middle() -> None:
    text = SHED.read_text(encoding="utf-8").replace("at = [8.10, 6.97]", 'wall = "north"\nfrom = 8.0')
    scenario = loads(text.replace('size = [0.20, 0.06]\nfacing = "south"', "size = [0.20, 0.06]"), SHED)
    work = Work(scenario, scenario.layouts[0])
    assert work.scenario.room.fixtures[0].at == pytest.approx((8.1, 6.97))
    work.do("fixture", index=0, east="8.3")
    assert work.scenario.room.fixtures[0].at == pytest.approx((8.3, 6.97))


IN_LINES = """
name = "My shed"
[room]
size = [5.4, 3.6]
doors = [{ name = "door", wall = "south", from = 0.4, width = 0.9 }]   # the only one
[stations]
bench = { size = [1.8, 0.7] }
saw = { size = [0.6, 0.6] }
[jobs]
shelf = { times = "1 per week", route = ["bench", "saw"] }
[layouts]
today = { bench = { wall = "north", from = 1 }, saw = { at = [1, 1], facing = "south" } }
"""


def test_a_file_that_writes_its_tables_in_lines_is_changed_too() -> None:
    scenario = loads(IN_LINES)
    work = Work(scenario, scenario.layouts[0])
    work.do("opening", **opening("doors", wall="east", name="back"))
    work.do("opening", **opening("windows", wall="north"))
    work.do("station", new=True, name="drill", wide="0.5", deep="0.5")
    work.do("station", name="bench", new_name="table", wide="2")
    work.do("job", name="box", times="2", route=["table", "drill"])
    work.do("job", name="shelf", new_name="rack", times="1", route=["table", "saw"])
    work.do("delete part", part="doors", index=0)
    work.do("delete job", name="box")
    work.do("delete thing", name="drill")
    raw = work.raw
    assert [door["name"] for door in raw["room"]["doors"]] == ["back"]
    assert raw["stations"] == {"table": {"size": [2.0, 0.7]}, "saw": {"size": [0.6, 0.6]}}
    assert raw["jobs"] == {"rack": {"times": "1 per week", "route": ["table", "saw"]}}
    assert raw["layouts"]["today"]["table"] == {"wall": "north", "from": 1}


def test_a_new_name_is_said_everywhere_and_comments_stay() -> None:
    work = shed()
    places = work.layout.placements
    work.do("station", name="bench", new_name="work bench")
    assert '"bench"' not in work.text
    assert '[stations."work bench"]            # marking out' in work.text
    assert work.layout.placements["work bench"] == places["bench"]
    assert work.scenario.layouts[0].placements["work bench"] == places["bench"]
    assert score(work.scenario, work.layout).cost == pytest.approx(score(load(SHED)).cost)
    work.do("vehicle", name="van", new_name="lorry")
    assert "van" not in {name for job in work.raw["jobs"].values() for name in job.get("outside", ())}
    work.do("job", name="repair", times="3", route=["rack"], new_name="mending")
    assert work.scenario.jobs[3].name == "mending"
    with pytest.raises(UsageError, match="there is a 'drill' already"):
        work.do("station", name="saw", new_name="drill")


def test_a_counted_group_is_renamed_with_its_members() -> None:
    scenario = load(SCENARIOS / "makerspace.toml")
    work = Work(scenario, scenario.layouts[0])
    group = next(s.group for s in scenario.stations if s.group != s.name)
    work.do("station", name=group, new_name="other")
    assert {name for name in work.layout.placements if name.startswith("other")} == {
        f"other{member.removeprefix(group)}" for member in scenario.group(group)
    }
