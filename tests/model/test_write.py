"""Saving: what was saved loads again and scores the same, and the rest of the file stays as typed."""

from __future__ import annotations

import difflib
import os
import random
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

import footwork
from footwork.model import whole, write
from footwork.model.compare import differing
from footwork.model.errors import FootworkError, UsageError
from footwork.model.lines import without_elements
from footwork.model.read import loads
from footwork.model.scenario import CheckSetting, Layout, Placement, Scenario
from model.variants import BASE, above, after, variant

SCENARIOS = Path(__file__).parents[2] / "scenarios"
EXAMPLES = sorted(path.stem for path in SCENARIOS.glob("*.toml"))
TENTH = 1e-4
"""Metres: the file holds lengths to 0.1 mm."""


@pytest.fixture(params=EXAMPLES)
def example(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A copy of each example."""
    return Path(shutil.copy(SCENARIOS / f"{request.param}.toml", tmp_path))


def base(folder: Path, *changes: tuple[str, str]) -> Path:
    """A variant of the base file, written."""
    path = folder / "base.toml"
    path.write_text(variant(*changes), encoding="utf-8")
    return path


def saved(path: Path, *moves: str, name: str = "tried") -> tuple[footwork.Score, footwork.Score]:
    """The score of what the moves make of the file, and that of what is read back after saving it."""
    scenario, layout = footwork.apply(footwork.load(path), None, *moves)
    footwork.save(scenario, layout, name)
    return footwork.score(scenario, layout), footwork.score(footwork.load(path), name)


def same(before: footwork.Score, after: footwork.Score) -> None:
    """Two scores agree to what rounding to 0.1 mm can do over a year."""
    assert after.cost == pytest.approx(before.cost, rel=1e-4)
    assert after.ok == before.ok
    assert sorted((c.id, c.ok) for c in after.checks) == sorted((c.id, c.ok) for c in before.checks)
    costs = {job.name: job.metres_per_year for job in after.jobs}
    for job in before.jobs:
        assert costs.get(job.name, 0.0) == pytest.approx(job.metres_per_year, rel=1e-4, abs=1e-9)


def changed_lines(old: str, new: str) -> tuple[list[str], list[str]]:
    """The lines that went and the lines that came."""
    diff = list(difflib.ndiff(old.splitlines(), new.splitlines()))
    return [d[2:] for d in diff if d.startswith("- ")], [d[2:] for d in diff if d.startswith("+ ")]


def comments(text: str) -> list[str]:
    return [line.partition("#")[2] for line in text.splitlines() if "#" in line]


def test_a_new_layout_is_added_and_nothing_else_changes(example: Path) -> None:
    text = example.read_text(encoding="utf-8")
    scenario = footwork.load(example)
    footwork.save(scenario, scenario.layouts[0], "as it was")
    new = example.read_text(encoding="utf-8")
    gone, come = changed_lines(text, new)
    assert gone == []
    assert come[:2] == ["", '[layouts."as it was"]'] or come[0] == '[layouts."as it was"]'
    again = footwork.load(example)
    assert [each.name for each in again.layouts] == [*(each.name for each in scenario.layouts), "as it was"]
    for name, place in scenario.layouts[0].placements.items():
        found = again.layouts[-1].placements[name]
        assert found.at == pytest.approx(place.at, abs=TENTH)
        assert found.facing == pytest.approx(place.facing)


def test_a_new_layout_has_one_line_a_station(tmp_path: Path) -> None:
    path = base(tmp_path)
    footwork.save(*footwork.apply(footwork.load(path), None, "turn bench 45"), "tried")
    assert path.read_text(encoding="utf-8") == BASE + (
        "\n[layouts.tried]\n"
        "bench  = { at = [1.0, 4.0], facing = 225.0 }\n"
        'rack-1 = { at = [4.0, 4.0], facing = "south" }\n'
        'rack-2 = { at = [5.5, 2.0], facing = "west" }\n'
        'van    = { at = [1.75, 2.5], facing = "north" }\n'
    )


@pytest.mark.parametrize("units", ["m", "mm", "cm", "ft", "in"])
def test_a_layout_is_written_in_the_units_of_the_file(tmp_path: Path, units: str) -> None:
    sized = f"units = \"{units}\"\n[room]\nsize = ['6 m', '5 m']\n[stations.a]\nsize = ['1 m', '1 m']\n"
    path = tmp_path / "shed.toml"
    path.write_text(sized, encoding="utf-8")
    place = Placement(1.23456, 2.34567, 12.345678)
    footwork.save(footwork.load(path), Layout("x", {"a": place}), "x")
    found = footwork.load(path).layouts[0].placements["a"]
    assert found.at == pytest.approx(place.at, abs=TENTH / 2 + 1e-9)
    assert found.facing == pytest.approx(place.facing, abs=1e-4)


def test_a_layout_of_the_same_name_is_written_over_in_place(tmp_path: Path) -> None:
    rows = BASE.partition("[layouts.today]\n")[2]
    path = base(tmp_path, ("bench = { at", "# the old bench\nbench = { at"))
    path.write_text(f"{path.read_text(encoding='utf-8')}[layouts.other]\n{rows}", encoding="utf-8")
    text = path.read_text(encoding="utf-8")
    saved(path, "move bench to 2,3.5", name="today")
    gone, come = changed_lines(text, path.read_text(encoding="utf-8"))
    assert gone == ['bench = { at = [1, 4], facing = "south" }']
    assert come == ['bench = { at = [2.0, 3.5], facing = "south" }']
    assert [each.name for each in footwork.load(path).layouts] == ["today", "other"]


MOVES: dict[str, tuple[tuple[str, ...], ...]] = {
    "gate-shed": (
        ("move drill by 0.1,0", "turn trestles 90"),
        ("swap shear grinder",),
        ("remove bender",),
        ("remove grinder",),
        ("remove trestles",),
        ("remove paint", "remove compressor", "remove skip"),
        ("remove van",),
        ("add press 0.6x0.5 wall at 4,6.7 facing south",),
        ('add second like "pillar drill" at 4,5 facing south',),
        ("room 11x7.5",),
        (
            "room 11x7.5",
            "add press 0.6x0.5 wall at 4,6.7 facing south",
            "remove saw",
            "times brackets 9 per week",
        ),
        ("times gate_frame 5 per week", "times railing 1.5 per month", "bring van in"),
        ("take van out",),
    ),
    "cabinet-garage": (
        ("move drill by 0.3,0", "turn assembly 90"),
        ("remove planer", "take car out"),
        ("room 25x23",),
        ("remove car",),
    ),
    "frame-nook": (
        ("swap join mat",),
        ("remove glass",),
        ("remove mat", "remove moulding"),
        ("room 450x330",),
        ("add shelf 60x30 wall at 350,305 facing south",),
    ),
}


@pytest.mark.parametrize(
    ("example", "moves"),
    [(name, moves) for name, many in MOVES.items() for moves in many],
    indirect=["example"],
    ids=[f"{name}: {'; '.join(moves)}" for name, many in MOVES.items() for moves in many],
)
def test_what_moves_changed_is_saved_with_the_layout(example: Path, moves: tuple[str, ...]) -> None:
    text = example.read_text(encoding="utf-8")
    before, after_ = saved(example, *moves)
    same(before, after_)
    if not any(move.startswith("remove") for move in moves):
        lost = [c for c in comments(text) if c not in comments(example.read_text(encoding="utf-8"))]
        assert lost == []


def test_comments_stay_when_things_go(tmp_path: Path) -> None:
    """All but those that stand beside what goes: in its table, or alone with it in a line."""
    path = Path(shutil.copy(SCENARIOS / "gate-shed.toml", tmp_path))
    before = comments(path.read_text(encoding="utf-8"))
    saved(path, "remove bench", "remove skip", "remove compressor", "remove van", "remove trestles")
    lost = [c.strip() for c in before if c not in comments(path.read_text(encoding="utf-8"))]
    assert lost == [
        "marking out, filing, fitting: most jobs come back to it",
        "finished work lies here to be primed and painted",
        "to drain it and check the belt",
        "scrap skip: the lorry can only lift it here",
        "width, length; it faces where its nose looks",
        "kept free when a job is done on it",
        "share of the rest of the time that it stands inside",
        "the side one gets out at: 0.60 m stays free beside that door",
        "3 m bars want elbow room",
        "a whole gate, in kg",
        "only while the van is out of the way",
        "the nearest of them",
    ]


ROUTE = """\
[a]
r = [
    "x", "y",   # one
    "x",        # two
    # three
    "y", { r = ["x", "y"] }, "x"
]
s = ["x", "y", "x"]   # four
"""


def test_elements_are_cut_from_arrays() -> None:
    paths = [("a", "r", 0), ("a", "r", 2), ("a", "r", 4, "r", 0), ("a", "r", 5), ("a", "s", 0), ("a", "s", 2)]
    assert without_elements(ROUTE, paths) == (
        '[a]\nr = [\n    "y",   # one\n    # three\n    "y", { r = ["y"] }\n]\ns = ["y"]   # four\n'
    )
    gone = [("a", "r", 1), ("a", "r", 3), ("a", "r", 4), ("a", "s", 0), ("a", "s", 1), ("a", "s", 2)]
    assert without_elements(ROUTE, gone) == (
        '[a]\nr = [\n    "x",   # one\n    "x",        # two\n    # three\n    "x"\n]\ns = []   # four\n'
    )


def test_a_session_saves_again_and_again(example: Path) -> None:
    """What an earlier save wrote is no surprise to a later one."""
    scenario = footwork.load(example)
    rng = random.Random(example.stem)
    session = footwork.Session(scenario, scenario.layouts[0])
    names = [s.name for s in scenario.stations if s.fixed is None]
    gone = rng.choice(names)
    names.remove(gone)
    first, second = names[:2]
    for number, move in enumerate(
        (
            f"turn {first} 180",
            f"remove {gone}",
            f"swap {first} {second}",
            "add extra 0.4x0.3 at 2,2",
            f"turn {second} 90",
        )
    ):
        if move.startswith("add") and scenario.units != "m":
            move = {"ft": "add extra 1.2x1 at 6,6", "cm": "add extra 40x30 at 200,200"}[scenario.units]
        session.do(move)
        state = session.state
        footwork.save(state.scenario, state.layout, f"save {number}")
        again = footwork.load(example)
        same(state.score, footwork.score(again, f"save {number}"))
    kept = [each.name for each in footwork.load(example).layouts]
    assert kept == [*(each.name for each in scenario.layouts), *(f"save {number}" for number in range(5))]


def test_what_hangs_on_a_wall_goes_with_it(tmp_path: Path) -> None:
    socket = ("[[room.fixtures]]", 'name = "socket"', "at = [6, 2]   # 32 A")
    path = base(tmp_path, above("[[room.doors]]", *socket))
    same(*saved(path, "room 5.9x5", name="smaller"))
    same(*saved(path, "room 7.5x5"))
    assert footwork.load(path).room.fixtures[0].at == (7.5, 2)
    assert "at = [7.5, 2]   # 32 A" in path.read_text(encoding="utf-8")


def test_a_layout_saved_over_stays_so_at_the_next_save(tmp_path: Path) -> None:
    path = base(tmp_path)
    scenario, layout = footwork.apply(footwork.load(path), None, "move bench to 2,4")
    footwork.save(scenario, layout, "today")
    scenario, layout = footwork.apply(scenario, layout, "move bench to 3,4")
    footwork.save(scenario, layout, "tried")
    first, second = footwork.load(path).layouts
    assert first.placements["bench"].at == (2, 4)
    assert second.placements["bench"].at == (3, 4)


@pytest.mark.parametrize("gone", ["rack-1", "rack-2"])
def test_a_member_of_alike_stations_goes(tmp_path: Path, gone: str) -> None:
    more = ("minutes = { rack = 5 }", 'carry = [{ from = "bench", to = "rack", width = 0.8 }]')
    spots = ("[[spots]]", "at = [4, 4]", 'facing = "south"', 'takes = ["rack-1", "rack-2"]')
    path = base(tmp_path, after("[jobs.mend]", *more), above("[jobs.mend]", *spots))
    same(*saved(path, f"remove {gone}"))
    again = footwork.load(path)
    assert [s.name for s in again.stations] == ["bench", "rack"]
    assert [each.name for each in again.layouts] == ["today", "tried"]
    assert again.spots[0].takes == ("rack",)


def test_the_last_of_three_closes_up(tmp_path: Path) -> None:
    path = base(
        tmp_path,
        ("count = 2", "count = 3"),
        ("van = { at", "rack-3 = { at = [3, 1], facing = 0 }\nvan = { at"),
        (
            'route = ["bench", "rack", "bench"]',
            'route = ["bench", "rack-3:front", "rack-2", "bench", "rack"]',
        ),
    )
    same(*saved(path, "remove rack-2"))
    again = footwork.load(path)
    assert [s.name for s in again.stations] == ["bench", "rack-1", "rack-2"]
    assert [v.name for v in again.jobs[0].route] == ["bench", "rack-2", "bench", "rack"]
    assert again.layouts[0].placements["rack-2"].at == (3, 1)


def edited_meanwhile(folder: Path, *edits: tuple[str, str]) -> tuple[Scenario, Layout, Path]:
    """What moves made of a file, which somebody has edited since it was read."""
    path = base(folder)
    scenario, layout = footwork.apply(footwork.load(path), None, "move bench to 2,4")
    path.write_text(variant(*edits), encoding="utf-8")
    return scenario, layout, path


def test_comments_and_layouts_edited_meanwhile_are_kept(tmp_path: Path) -> None:
    rows = BASE.partition("[layouts.today]\n")[2]
    scenario, layout, path = edited_meanwhile(
        tmp_path,
        ('times = "1 per week"', 'times = "1 per week"   # since May'),
        ("bench = { at = [1, 4]", "bench = { at = [1.1, 4]"),
        ("[layouts.today]", f"[layouts.mine]\n{rows}[layouts.today]"),
    )
    footwork.save(scenario, layout, "tried")
    assert "# since May" in path.read_text(encoding="utf-8")
    places = {each.name: each.placements["bench"].at for each in footwork.load(path).layouts}
    assert places == {"mine": (1, 4), "today": (1.1, 4), "tried": (2, 4)}


@pytest.mark.parametrize(
    ("edits", "parts"),
    [
        ([("size = [6, 5]", "size = [6.5, 5]")], "room"),
        ([('times = "1 per week"', 'times = "3 per week"')], "jobs.mend"),
        ([("[walker]", "[walker]\nspeed = 1")], "walker"),
        ([('wall = "south"', 'wall = "south"\nexit = true')], "room"),
        ([("count = 2", "count = 2\nuse = 2")], "stations.rack-1, stations.rack-2"),
        (
            [
                ("size = [6, 5]", "size = [6.5, 5]"), ("[walker]", "[walker]\nstep = 0.7"),
                ("size = [1.5, 0.7]", "size = [1.4, 0.7]"), ("count = 2", "count = 2\nheight = 2"),
                ("size = [1.8, 4.0]", "size = [1.8, 3.9]"),
            ],
            "walker, room, stations.bench, stations.rack-1 and 2 more",
        ),
    ],
)  # fmt: skip
def test_anything_else_edited_meanwhile_is_said(
    tmp_path: Path, edits: list[tuple[str, str]], parts: str
) -> None:
    """The layout belongs to what was read: nothing is written."""
    scenario, layout, path = edited_meanwhile(tmp_path, *edits)
    (line,) = refused(scenario, layout, path)
    assert line == (
        f"{path}: it was edited after it was read ({parts}): a layout of what was read is not written "
        "into it; read it again, or save into another file"
    )
    footwork.save(scenario, layout, "tried", tmp_path / "new.toml")
    assert footwork.load(tmp_path / "new.toml").layouts[1].placements["bench"].at == (2, 4)


def test_a_file_of_another_shed_takes_no_layout_of_this_one(tmp_path: Path) -> None:
    scenario = footwork.load(base(tmp_path))
    other = tmp_path / "other.toml"
    other.write_text(variant(("size = [6, 5]", "size = [7, 5]")), encoding="utf-8")
    with pytest.raises(UsageError, match="it says otherwise than was read"):
        footwork.save(scenario, scenario.layouts[0], "tried", other)


def test_an_edit_after_moves_were_saved_is_said(tmp_path: Path) -> None:
    """The file has the moves by now, so what was read cannot be compared with it any more."""
    path = base(tmp_path)
    scenario, layout = footwork.apply(footwork.load(path), None, "times mend 2 per week")
    footwork.save(scenario, layout, "often")
    path.write_text(f"# mine\n{path.read_text(encoding='utf-8')}", encoding="utf-8")
    (line,) = refused(scenario, layout, path)
    assert line.startswith(f"{path}: it was edited after moves were saved in it; nothing is written: ")


def test_a_file_written_between_the_draft_and_the_save_is_left_alone(tmp_path: Path) -> None:
    path = base(tmp_path)
    scenario = footwork.load(path)
    made = write.draft(scenario, scenario.layouts[0], "tried")
    path.write_text(f"{BASE}# mine\n", encoding="utf-8")
    with pytest.raises(UsageError, match="somebody else has just written it; nothing is written: save again"):
        made.write()
    assert path.read_text(encoding="utf-8") == f"{BASE}# mine\n"
    new = write.draft(scenario, scenario.layouts[0], "tried", tmp_path / "new.toml")
    (tmp_path / "new.toml").write_text("mine", encoding="utf-8")
    with pytest.raises(UsageError, match="somebody else has just written it"):
        new.write()


def changes(path: Path, *moves: str) -> tuple[str, ...]:
    """What a draft says would change for every layout."""
    scenario, layout = footwork.apply(footwork.load(path), None, *moves)
    return write.draft(scenario, layout, "tried").changes


def test_what_would_change_is_told_in_words(tmp_path: Path) -> None:
    path = base(
        tmp_path,
        after("[jobs.mend]", "times_range = [20, 60]", "minutes = { rack = 5 }"),
        above("[jobs.mend]", "[[prefer]]", 'station = "bench"', 'near = "rack-2"', "weight = 3"),
        above("[layouts.today]", "[jobs.wash]", "times = 40", 'route = ["van", "van:left"]', "[jobs.go]",
              "times = 10", 'route = ["bench", "rack"]', 'outside = ["van"]'),
    )  # fmt: skip
    assert changes(path, "move bench to 2,4", "swap bench rack-1") == ()
    assert changes(path, "times mend 2 per month", "times mend 1 per week") == ()
    assert changes(path, "times mend 3 per week", "bring van in") == (
        "van: in, instead of out",
        "job mend: 3 per week instead of 1 per week; without its times_range",
    )
    assert changes(path, "remove van") == (
        "van: taken away",
        "job wash: gone, for no stop of its route is left",
        "job go: van need not be out",
    )
    assert changes(path, "remove rack-1", "times wash 2 per week") == (
        "rack: 1 of them instead of 2",
        "job mend: fewer of rack to go to",
        "job wash: 2 per week instead of 40 per year",
        "job go: fewer of rack to go to",
        "[[prefer]]: changed",
    )
    assert changes(path, "remove rack") == (
        "rack: taken away",
        "job mend: without rack",
        "job go: without rack",
        "[[prefer]]: 0 instead of 1",
    )
    assert changes(path, "room 6.5x5", "add press 0.5x0.4 at 3,3") == (
        "the room: 6.50 m x 5.00 m instead of 6.00 m x 5.00 m",
        "press: a new station, 0.50 m x 0.40 m",
    )


def test_what_would_change_is_told_in_the_units_of_the_file(tmp_path: Path) -> None:
    path = Path(shutil.copy(SCENARIOS / "cabinet-garage.toml", tmp_path))
    told = changes(path, "add press 2x1.5 at 10,10")
    assert told == ("press: a new station, 2' 0\" x 1' 6\"",)


ROOM = "[room]\nsize = [6, 5]\n"
PLACE = "{ at = [1, 1], facing = 0 }"
FORMS = {
    "inline": f"layouts = {{ today = {{ a = {PLACE} }} }}\n{ROOM}[stations]\na = {{ size = [1, 1] }}\n",
    "dotted": f"layouts.today.a = {PLACE}\n{ROOM}[stations]\na.size = [1, 1]\n",
    "one table": f"{ROOM}[stations]\na = {{ size = [1, 1] }}\n[layouts]\ntoday = {{ a = {PLACE} }}\n",
    "long": f"[layouts.today.a]\nat = [\n  1, # east\n  1,\n]\nfacing = 0\n{ROOM}[stations.a]\nsize = [1, 1]",
    "none": f"{ROOM}[stations.a]\nsize = [1, 1]",
    "scattered": f"[layouts.today]\na = {PLACE}\n{ROOM}[layouts.b]\na = {PLACE}\n[stations.a]\nsize = [1, 1]",
}


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("name", ["today", "tried", "two words", "é", "1.5"])
def test_any_way_to_write_the_tables(tmp_path: Path, form: str, end: str, name: str) -> None:
    path = tmp_path / "shed.toml"
    path.write_bytes(FORMS[form].replace("\n", end).encode())
    scenario = footwork.load(path)
    footwork.save(scenario, Layout("x", {"a": Placement(3, 2.5, 90)}), name)
    again = footwork.load(path)
    assert next(each for each in again.layouts if each.name == name).placements == {
        "a": Placement(3, 2.5, 90)
    }
    data = path.read_bytes()
    assert data.count(b"\n") == data.count(end.encode())
    same(*saved(path, "add b 1x0.5 at 4.5,4.5", "room 6x6", name="more"))


def test_a_byte_order_mark_and_the_permissions_stay(tmp_path: Path) -> None:
    path = base(tmp_path)
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    path.chmod(0o640)
    saved(path)
    assert path.read_bytes().startswith(b"\xef\xbb\xbfname")
    assert path.stat().st_mode & 0o777 == 0o640


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    path = base(tmp_path)
    (tmp_path / "links").mkdir()
    link = tmp_path / "links" / "shed.toml"
    link.symlink_to(path)
    saved(link)
    assert link.is_symlink()
    assert "[layouts.tried]" in path.read_text(encoding="utf-8")
    assert os.listdir(tmp_path / "links") == ["shed.toml"]


def refused(scenario: Scenario, layout: Layout, path: Path, name: str = "tried") -> tuple[str, ...]:
    """The lines of the error; the file and its folder are as they were."""
    before = {p.name: p.read_bytes() for p in path.parent.iterdir() if p.is_file()}
    with pytest.raises(FootworkError) as caught:
        footwork.save(scenario, layout, name)
    assert {p.name: p.read_bytes() for p in path.parent.iterdir() if p.is_file()} == before
    return caught.value.lines


def test_what_cannot_be_saved(tmp_path: Path) -> None:
    path = base(tmp_path)
    scenario = footwork.load(path)
    layout = scenario.layouts[0]
    assert refused(scenario, layout, path, "a:b")[0].startswith("layout 'a:b': a name cannot hold")
    assert "have no place in it" in refused(scenario, Layout("x", {}), path)[0]
    nowhere = layout.moved({"bench": Placement(float("nan"), 1, 0)})
    assert "bench" in refused(scenario, nowhere, path)[0]
    with pytest.raises(UsageError, match="not read from a file"):
        footwork.save(scenario.with_(path=None), layout, "x")


def test_a_file_that_went_or_broke_meanwhile(tmp_path: Path) -> None:
    path = base(tmp_path)
    scenario = footwork.load(path)
    path.write_text("size = [", encoding="utf-8")
    assert len(refused(scenario, scenario.layouts[0], path)) == 1
    path.unlink()
    assert "there is no such file" in refused(scenario, scenario.layouts[0], path)[0]
    path.mkdir()
    assert "it is a folder" in refused(scenario, scenario.layouts[0], path)[0]


def test_a_file_marked_read_only_is_left_alone(tmp_path: Path) -> None:
    path = base(tmp_path)
    scenario = footwork.load(path)
    path.chmod(0o444)
    (line,) = refused(scenario, scenario.layouts[0], path)
    assert line == f"{path}: you have no permission to write it; nothing is written"


@pytest.mark.parametrize("step", ["mkstemp", "fsync", "replace", "chmod"])
def test_a_disk_that_fails_leaves_the_file_and_no_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    path = base(tmp_path)
    scenario = footwork.load(path)

    def fail(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(whole.tempfile if step == "mkstemp" else whole.os, step, fail)
    (line,) = refused(scenario, scenario.layouts[0], path)
    assert line == f"{path}: it cannot be written: no space left on device; nothing is written"


def test_ctrl_c_leaves_the_file_and_no_other(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = base(tmp_path)
    scenario = footwork.load(path)

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(whole.os, "fsync", stop)
    with pytest.raises(KeyboardInterrupt):
        footwork.save(scenario, scenario.layouts[0], "tried")
    assert os.listdir(tmp_path) == ["base.toml"]
    assert path.read_text(encoding="utf-8") == BASE


NEW_KEYS = (
    ("width = 2.5\n", "width = 2.5\nexit = true\n"),
    after("[walker]", "setting_off = 0.5"),
    after("[stations.bench]", "castors = true", "parked = { at = [6.8, 1], facing = 0 }   # away"),
    after("[stations.rack]", "use = 2", 'needs = ["socket"]', "lead = 2.5"),
    after("[vehicles.van]", 'driver = "left"'),
    after(
        "[jobs.mend]",
        "weeks = 39",
        "times_range = [10, 300]",
        'carry = [{ from = "bench", to = "rack", weight = 20 }]',
    ),
    above("[stations.bench]", "[[room.doors]]", 'name = "old"', 'wall = "east"', "from = 1", "width = 1"),
    above("[stations.bench]", "used = false", "[[room.fixtures]]", "at = [6, 4]", 'kind = "tap"'),
    above("[stations.bench]", "[[room.windows]]", 'wall = "north"', "from = 1", "width = 1", "sill = 1.0"),
    above("[stations.bench]", "[stations.screen]", "size = [1, 0.1]", "shield = true"),
    above("[stations.bench]", "[stations.shelf]", "size = [1, 0.3]", "from_floor = 1.4", "reach = 0.1"),
    above("[layouts.today]", "[checks]", "placing = { price = 30 }"),
    above("[layouts.today]", "[checks.accepted]", 'gives-minds = "nobody minds"'),
    after("[layouts.today]", "screen = { at = [3, 1], facing = 0 }", "shelf = { at = [2, 4], facing = 0 }"),
)
"""What the file has learned to say of late, each put into the base file."""


def test_keys_of_the_file_stay_when_moves_are_saved(tmp_path: Path) -> None:
    """All that moves leave alone stays, and what they change is compared with what reads back."""
    path = base(tmp_path, *NEW_KEYS)
    text, scenario = path.read_text(encoding="utf-8"), footwork.load(path)
    moves = (
        "room 6.5x5", "add press 0.5x0.4 at 3,3", "times mend 5 per week", "bring van in", "remove rack-2",
    )  # fmt: skip
    same(*saved(path, *moves))
    again = footwork.load(path)
    gone, come = changed_lines(text, path.read_text(encoding="utf-8").partition("\n[layouts.tried]")[0])
    assert [line for line in gone if not line.startswith("rack-")] == [
        "size = [6, 5]",
        "at = [6, 4]",
        "parked = { at = [6.8, 1], facing = 0 }   # away",
        "use = 2",
        "count = 2",
        'times = "1 per week"',
    ]
    assert "parked = { at = [7.3, 1], facing = 0 }   # away" in come
    assert 'times = "5 per week"' in come
    (job,) = again.jobs
    assert (job.times_per_year, job.weeks, job.carry[0].weight) == (195.0, 39.0, 20.0)
    assert again.station("rack").use == "nearest"
    assert again.station("screen").shield
    assert again.checks == scenario.checks
    assert again.checks["gives-minds"].accepted == "nobody minds"
    assert again.room.door("gate").exit
    assert not again.room.door("old").used
    assert again.room.windows[0].sill == 1.0
    assert (again.room.fixtures[0].kind, again.room.fixtures[0].at) == ("tap", (6.5, 4))
    assert again.walker.setting_off == 0.5


def test_a_job_of_some_weeks_is_written_in_its_own_words(tmp_path: Path) -> None:
    """Times a year that no words say so go into the file as if done all year: 195 in 39 weeks are 260."""
    path = base(tmp_path, after("[jobs.mend]", "weeks = 39"))
    scenario = footwork.load(path)
    often = scenario.with_(jobs=(replace(scenario.jobs[0], times_per_year=195.0),))
    footwork.save(often, scenario.layouts[0], "often")
    assert 'times = "260 per year"' in path.read_text(encoding="utf-8")
    assert footwork.load(path).jobs[0].times_per_year == 195.0


@pytest.mark.parametrize(("part", "old", "new"), [
    ("room", "exit = true", "exit = false"),
    ("room", "used = false", "used = true"),
    ("room", "sill = 1.0", "sill = 1.1"),
    ("room", 'kind = "tap"', 'kind = "socket"'),
    ("walker", "setting_off = 0.5", "setting_off = 0.6"),
    ("stations.bench", "at = [6.8, 1]", "at = [6.8, 1.5]"),
    ("stations.rack-1", "use = 2", 'use = "evenly"'),
    ("stations.rack-1", 'needs = ["socket"]', 'needs = ["tap"]'),
    ("stations.rack-1", "lead = 2.5", "lead = 2.6"),
    ("stations.screen", "shield = true", "shield = false"),
    ("stations.shelf", "from_floor = 1.4", "from_floor = 1.5"),
    ("stations.shelf", "reach = 0.1", "reach = 0.2"),
    ("vehicles.van", 'driver = "left"', 'driver = "right"'),
    ("jobs.mend", "weight = 20", "weight = 21"),
    ("jobs.mend", "weeks = 39\n", ""),
    ("checks", "price = 30", "price = 31"),
    ("checks", '"nobody minds"', '"nobody is there"'),
    ("units", 'units = "m"', 'units = "ft"'),
])  # fmt: skip
def test_every_key_is_compared(part: str, old: str, new: str) -> None:
    text = variant(*NEW_KEYS)
    assert old in text
    assert part in differing(loads(text), loads(text.replace(old, new)))
    assert differing(loads(text), loads(text)) == []


def test_a_station_made_by_a_program_is_spelt_with_every_key(tmp_path: Path) -> None:
    path = base(tmp_path)
    scenario = footwork.load(path)
    hoist = replace(
        scenario.station("bench"), name="hoist", group="hoist", from_floor=1.5, height=2.0, reach=0.2,
        needs=("socket",), lead=4.0,
    )  # fmt: skip
    screen = replace(
        scenario.station("bench"), name="screen", group="screen", shield=True, castors=True,
        parked=Placement(1, 1, 90),
    )  # fmt: skip
    grown = scenario.with_(
        stations=(*scenario.stations, hoist, screen),
        layouts=tuple(
            each.moved({"hoist": Placement(2, 2, 0), "screen": Placement(3, 3, 0)})
            for each in scenario.layouts
        ),
    )
    footwork.save(grown, grown.layouts[0], "grown")
    again = footwork.load(path)
    for made in (hoist, screen):
        assert again.station(made.name) == made


def test_what_no_move_can_change_is_refused(tmp_path: Path) -> None:
    """A file is never written that says something else than what was to be saved."""
    path = base(tmp_path)
    scenario = footwork.load(path)
    bench, *others = scenario.stations
    for part, other in (
        ("stations.bench", scenario.with_(stations=(replace(bench, castors=True), *others))),
        ("stations.bench", scenario.with_(stations=(replace(bench, strip=1.0), *others))),
        ("walker", scenario.with_(walker=replace(scenario.walker, speed=2.0))),
        ("jobs.mend", scenario.with_(jobs=(replace(scenario.jobs[0], outside=("van",)),))),
        ("checks", scenario.with_(checks={"way-out": CheckSetting(0.9)})),
    ):
        (line,) = refused(other, scenario.layouts[0], path)
        assert line == f"{path}: the change to {part} cannot be written into it; nothing is written"
