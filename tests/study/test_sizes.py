"""Which room: on the nook of rooms.py, whose doors stay where they are whatever its size."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest

from cli.run import footwork
from footwork.floor.plan import Plan
from footwork.model.errors import UsageError
from footwork.model.read import loads
from footwork.model.scenario import Layout
from footwork.resizing import resized
from footwork.scoring import cost_if_sound, score
from footwork.show.size_tables import knee_words, sizes_csv
from footwork.study.cases import Engine
from footwork.study.sizes import Sized, Sizes, grid, sizes
from study.rooms import NOOK, QUICK, WANTED, nook

ANY = NOOK.replace(', placing = "wall"', "")
"""Nothing that has to stand against a wall: a layout of a smaller room is one of a larger as it stands."""


def test_each_room_has_a_sound_layout_of_the_cost_told(some_sizes: Sizes) -> None:
    assert len(some_sizes.rooms) == len(WANTED)
    for room in some_sizes.rooms:
        if room.layout is not None:
            changed, _ = resized(some_sizes.scenario, some_sizes.scenario.layouts[0], room.size)
            assert cost_if_sound(changed, room.layout) == pytest.approx(room.cost)
            assert score(changed, room.layout).metres_per_year == pytest.approx(room.metres)
            assert room.bound <= room.cost
            assert Plan(changed, room.layout).room.size == room.size
    assert some_sizes.room((3.0, 2.6)).cost <= score(some_sizes.scenario, "today").cost


def test_a_larger_room_is_never_reported_worse(some_sizes: Sizes) -> None:
    """Its doors are in the west wall, which stays, and nothing needs a wall behind it."""
    free = sizes(nook(ANY), WANTED, effort=QUICK, engine=Engine(1))
    for room in free.rooms:
        assert room.cost <= least_up_to(room, free) * (1 + 1e-6)
    for each in (free, some_sizes):
        assert [room.within for room in each.rooms] == [least_up_to(room, each) for room in each.rooms]


def least_up_to(room: Sized, among: Sizes) -> float:
    return min(o.cost for o in among.rooms if o.size[0] <= room.size[0] and o.size[1] <= room.size[1])


def test_what_fits_into_no_such_room_says_why(some_sizes: Sizes) -> None:
    tight = some_sizes.room((1.2, 2.6))
    assert (tight.layout, tight.to_dict()["cost"]) == (None, None)
    assert tight.why


def test_a_better_layout_of_a_smaller_room_is_gone_on_from() -> None:
    """The search of the larger room is so short that it stays with its base; the smaller one's is better."""
    good = sizes(nook(ANY), [(3.0, 2.6)], effort=QUICK, engine=Engine(1)).rooms[0].layout
    assert good is not None
    poor = replace(QUICK, iterations=1, pitch=2.5)
    small, large = sizes(nook(ANY), [(3.0, 2.6), (4.0, 3.6)], good, effort=poor, engine=Engine(1)).rooms
    assert large.cost <= small.cost * (1 + 1e-6)


def test_what_stands_by_a_door_that_moves_goes_along_where_that_is_better() -> None:
    """The door is in the east wall, and the larger room is hardly searched."""
    scenario = nook(ANY.replace('wall = "west"', 'wall = "east"'))
    good = sizes(scenario, [(3.0, 2.6)], effort=QUICK, engine=Engine(1)).rooms[0].layout
    assert good is not None
    poor = replace(QUICK, iterations=1, pitch=2.5)
    small, large = sizes(scenario, [(3.0, 2.6), (5.0, 2.6)], good, effort=poor, engine=Engine(1)).rooms
    assert large.cost <= small.cost * (1 + 1e-6)
    assert large.from_size == small.size


def room(width: float, cost: float) -> Sized:
    return Sized((width, 1.0), cost, cost, cost, 1.0, Layout("best", {}), within=cost)


def test_the_knee_is_where_more_floor_stops_paying() -> None:
    costs = {4.0: 1000.0, 5.0: 600.0, 6.0: 520.0, 7.0: 530.0, 8.0: 500.0}
    found = Sizes(nook(), "today", tuple(room(*each) for each in costs.items()))
    assert [each.size[0] for each in found.frontier] == [4.0, 5.0, 6.0, 8.0]
    # under the line from (4, 1000) to (8, 500): 5 m saves 0.8 of all for 0.25 of the floor, 6 m 0.96 for 0.5
    assert found.knee is not None
    assert found.knee.size == (5.0, 1.0)
    assert "80 % of what the largest that pays, 8.00 m x 1.00 m, would" in knee_words(found)
    straight = Sizes(nook(), "today", tuple(room(w, 1000 - 100 * w) for w in (1.0, 2.0, 3.0)))
    assert straight.knee is None


def test_as_csv(some_sizes: Sizes) -> None:
    rows = list(csv.DictReader(io.StringIO(sizes_csv(some_sizes))))
    assert len(rows) == len(WANTED)
    for row, each in zip(rows, some_sizes.rooms, strict=True):
        assert (float(row["width_m"]), float(row["depth_m"])) == each.size
        assert row["cost"] == ("" if each.layout is None else f"{each.cost:.4f}")


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        ([], "no size"),
        ([(0.0, 3.0)], "no size of a room"),
        (grid(range(1, 41), range(1, 41)), "larger steps"),
    ],
)
def test_wrong_sizes_are_refused(wanted: list[tuple[float, float]], said: str) -> None:
    with pytest.raises(UsageError, match=said):
        sizes(nook(), wanted)


def test_a_room_given_by_its_outline_has_no_other_sizes() -> None:
    text = NOOK.replace("size = [3.0, 2.6]", "outline = [[0, 0], [3, 0], [3, 2.6], [0, 2.6]]", 1)
    text = text.replace('wall = "west"', 'wall = "4"')
    with pytest.raises(UsageError, match="outline"):
        sizes(loads(text.replace('wall = "4"', "wall = 4")), [(3.0, 3.0)])


SHORT = ("--iterations", 60, "--pitch", 0.5, "--seed", 3, "--processes", 1)


def test_the_command(tmp_path: Path) -> None:
    path, journal = tmp_path / "nook.toml", tmp_path / "cases.jsonl"
    path.write_text(NOOK)
    words = ("sizes", path, "--width", "2:4", "--step", 1, *SHORT, "--journal", journal)
    first = footwork(*words, "--json")
    told = json.loads(first.out)
    assert first.status == 0
    assert [each["size"] for each in told["rooms"]] == [[2.0, 2.6], [3.0, 2.6], [4.0, 2.6]]
    assert "3 of 3 searched" in first.err
    for name, begins in (
        ("a.csv", b"width_m"),
        ("a.svg", b"<?xml"),
        ("a.png", b"\x89PNG"),
        ("a.pdf", b"%PDF"),
    ):
        done = footwork(*words, "--out", tmp_path / name)
        assert done.status == 0
        assert "3 of them before" in done.err  # nothing is searched again
        assert (tmp_path / name).read_bytes().startswith(begins)
    assert "3.00 m x 2.60 m" in done.out
    assert "as now" in done.out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--width", "8:5"], "begins above its end"),
        (["--width", "0:5"], "no length above 0"),
        (["--width", "1:inf"], "not a number"),
        (["--width", "wide"], "is not a length"),
        (["--width", "1:2", "--step", "0"], "is no step"),
        (["--width", "1:2", "--step", "-1"], "is no step"),
        (["--width", "1:900", "--depth", "1:900"], "are more than the 400"),
        (["--width", "1:999", "--step", "0.01"], "take a larger one"),
        (["--out", "plan.dxf"], "drawn as .svg, .png or .pdf"),
        (["--out", "nosuch/plan.svg"], "there is no folder"),
        (["--seconds", "1", "--iterations", "2"], "exclude each other"),
        (["--base", "tody"], "did you mean 'today'?"),
        (["--journal", "nook.toml"], "no file of finished cases"),
    ],
)
def test_wrong_usage_leaves_with_2(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    Path("nook.toml").write_text(NOOK)
    done = footwork("sizes", "nook.toml", *words)
    assert (done.status, done.out) == (2, "")
    assert said in done.err
    assert done.err.count("\n") == 1
