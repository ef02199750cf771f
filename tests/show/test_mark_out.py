"""The marking-out list: whoever follows its printed figures with a tape gets every footprint back."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.console import Console

from footwork.floor.plan import Plan
from footwork.model.read import load, loads
from footwork.model.scenario import Point, Room, Scenario
from footwork.model.units import FACTORS, parse_length
from footwork.show.mark_out import AT_WALL, FIXED, FLOOR, OUTSIDE, VEHICLES, corner_letter, mark_out, to_dict
from footwork.show.mark_pdf import _tables, as_pdf
from footwork.show.mark_tables import as_csv, marking_list, tape
from show.sheds import busy, crowded

EXAMPLES = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
REACH = 0.002
"""Metres: what following the list may miss a corner by."""

AWKWARD = """
name = "Awkward"
units = "{units}"
[room]
outline = {outline}
doors = [{{ name = "gate", wall = 1, from = "1 m", width = "2 m", vehicle = true }}]
yards = [{{ name = "court", outline = [["0 m", "-4 m"], ["7 m", "-4 m"], ["7 m", "0 m"], ["0 m", "0 m"]] }}]
[stations]
turned = {{ size = ["1.237 m", "0.611 m"] }}
wedge = {{ outline = [["-0.4 m", "-0.3 m"], ["0.5 m", "-0.3 m"], ["0 m", "0.6 m"]] }}
ell = {{ outline = [["-1 m", "0.5 m"], ["-1 m", "-0.5 m"], ["1 m", "-0.5 m"], ["1 m", "0 m"], ["0 m", "0 m"],
  ["0 m", "0.5 m"]] }}
pile = {{ size = ["1 m", "0.7 m"], outdoors = true }}
post = {{ size = ["0.3 m", "0.3 m"], fixed = {{ at = ["2.5 m", "2.5 m"], facing = 30 }} }}
[vehicles.cart]
size = ["0.913 m", "1.777 m"]
[layouts.today]
turned = {{ at = ["3.3337 m", "1.2221 m"], facing = 203.7 }}
wedge = {{ at = ["1.011 m", "4.0507 m"], facing = 77 }}
ell = {{ at = ["5.1003 m", "1.0209 m"], facing = "west" }}
pile = {{ at = ["4.4 m", "-2.03 m"], facing = 11 }}
cart = {{ at = ["2 m", "-1.3331 m"], facing = "north" }}
"""
OUTLINES = {
    "L": '[["0 m", "0 m"], ["7 m", "0 m"], ["7 m", "3 m"], ["4 m", "3 m"], ["4 m", "6 m"], ["0 m", "6 m"]]',
    "clockwise L": '[["7 m", "0 m"], ["0 m", "0 m"], ["0 m", "6 m"], ["4 m", "6 m"], ["4 m", "3 m"],'
    ' ["7 m", "3 m"]]',
    "skewed": '[["0 m", "0 m"], ["7 m", "0 m"], ["6.2 m", "5 m"], ["-0.7 m", "6.1 m"]]',
}


def scenarios() -> Iterator[object]:
    for path in EXAMPLES:
        scenario = load(path)
        for layout in scenario.layouts:
            yield pytest.param(scenario, layout.name, id=f"{path.stem}-{layout.name}")
    for units in FACTORS:
        for shape, outline in OUTLINES.items():
            scenario = loads(AWKWARD.format(units=units, outline=outline))
            yield pytest.param(scenario, "today", id=f"{shape}-{units}")
    yield pytest.param(crowded(), "today", id="crowded")
    yield pytest.param(busy(), "today", id="busy")


EVERY = pytest.mark.parametrize(("scenario", "layout"), list(scenarios()))


def read(length: str, units: str) -> float:
    """Metres in a printed length."""
    return parse_length(length) if units in ("ft", "in") else float(length) * float(FACTORS[units])


def wall_named(room: Room, words: str) -> tuple[Point, Point, Point]:
    name = words.removesuffix(", outside").removesuffix(" wall").removeprefix("wall ")
    wall = next(w for w in room.walls if w.name == name)
    return wall.start, wall.end, wall.inward


def marked(room: Room, wall: str, corner: str, along: float, out: float) -> Point:
    """Where a tape ends that is laid along a wall from its corner with another, then square out from it."""
    start, end, inward = wall_named(room, wall)
    other = wall_named(room, corner)[:2]
    if min(math.dist(end, p) for p in other) < min(math.dist(start, p) for p in other):
        start, end = end, start
    length = math.dist(start, end)
    sign = -1.0 if wall.endswith(", outside") else 1.0
    return tuple(  # type: ignore[return-value]
        s + along * (e - s) / length + sign * out * n for s, e, n in zip(start, end, inward, strict=True)
    )


def check(scenario: Scenario, layout: str, rebuilt: Mapping[str, list[Point]]) -> None:
    plan = Plan(scenario, next(each for each in scenario.layouts if each.name == layout))
    assert sorted(rebuilt) == sorted(plan.things)
    for name, corners in rebuilt.items():
        true = plan.footprint(name)
        assert len(corners) == len(true), name
        turns = [np.roll(true, -k, axis=0) for k in range(len(true))]
        miss = min(float(np.hypot(*(np.array(corners) - ring).T).max()) for ring in turns)
        assert miss <= REACH, f"{name}: {1000 * miss:.2f} mm off"


@EVERY
def test_csv_rebuilds_every_footprint_from_either_wall(scenario: Scenario, layout: str) -> None:
    rows = list(csv.DictReader(io.StringIO(as_csv(mark_out(scenario, layout)))))
    unit = "" if scenario.units in ("ft", "in") else f" ({scenario.units})"
    for before in ("", "second "):
        rebuilt: dict[str, list[Point]] = {}
        for row in rows:
            lengths = [read(row[f"{before}{word}{unit}"], scenario.units) for word in ("along", "out")]
            at = marked(scenario.room, row[f"{before}wall"], row[f"{before}from"], *lengths)
            rebuilt.setdefault(row["station"], []).append(at)
        check(scenario, layout, rebuilt)
    for name in {row["station"] for row in rows}:
        mine = [row for row in rows if row["station"] == name]
        corners = {row["corner"]: at for row, at in zip(mine, rebuilt[name], strict=True)}
        across = [row for row in mine if row["across to"]]
        assert len(across) == 2
        for row in across:
            length = math.dist(corners[row["corner"]], corners[row["across to"]])
            assert read(row[f"across{unit}"], scenario.units) == pytest.approx(length, abs=2 * REACH)


@given(
    shape=st.sampled_from(sorted(OUTLINES)),
    units=st.sampled_from(sorted(FACTORS)),
    x=st.floats(0.0, 7.0),
    y=st.floats(-4.0, 6.0),
    facing=st.floats(0.0, 360.0),
)
@settings(max_examples=60, deadline=None)
def test_wherever_a_station_stands(shape: str, units: str, x: float, y: float, facing: float) -> None:
    """Inside, outside, in a corner, across a wall: the figures bring it back."""
    text = AWKWARD.format(units=units, outline=OUTLINES[shape])
    where = f'turned = {{ at = ["{x:.4f} m", "{y:.4f} m"], facing = {facing:.3f} }}'
    scenario = loads(re.sub(r"(?m)^turned = \{ at.*$", where, text))
    rows = [row for row in csv.reader(io.StringIO(as_csv(mark_out(scenario)))) if row[2] == "turned"]
    true = Plan(scenario, scenario.layouts[0]).footprint("turned")
    for wall, corner, along, out in ((6, 7, 8, 9), (10, 11, 12, 13)):
        lengths = [[read(row[k], units) for k in (along, out)] for row in rows]
        found = [
            marked(scenario.room, r[wall], r[corner], *two) for r, two in zip(rows, lengths, strict=True)
        ]
        assert float(np.hypot(*(np.array(found) - true).T).max()) <= REACH


_LENGTH = r"-?[\d.]+(?:' (?:\d+(?:-\d+/\d+)?|\d+/\d+)\")?\"?|-?\d+(?:-\d+/\d+)?\"|-?\d+/\d+\""
_CORNER = re.compile(
    rf"^(?P<station>\d* .*?)?\s{{2,}}(?P<letter>[a-z]{{1,2}})(?: (?:front|back) (?:left|right))?\s{{2,}}"
    rf"(?:(?P<wall>\S+?(?:, outside)?)\s{{2,}}(?P<corner>\S+)\s+)?(?P<along>{_LENGTH})\s+(?P<out>{_LENGTH})$"
)


def from_text(lines: list[str], room: Room, units: str) -> dict[str, list[Point]]:
    """Footprints as the table gives them: a number begins one, a wall goes for the lines below it."""
    rebuilt: dict[str, list[Point]] = {}
    name = wall = corner = ""
    seen: set[str] = set()
    for line in lines:
        found = _CORNER.match(line)
        if not found:
            continue
        begun = re.match(r"(\d+) (.+)", found["station"] or "")
        if begun:
            name, seen = begun[2].strip(), set()
        if found["wall"]:
            wall, corner = found["wall"], found["corner"]
        at = marked(room, wall, corner, read(found["along"], units), read(found["out"], units))
        if found["letter"] not in seen:  # the second wall says the same again
            rebuilt.setdefault(name, []).append(at)
        else:
            first = rebuilt[name][sorted(seen, key=lambda w: (len(w), w)).index(found["letter"])]
            assert math.dist(first, at) <= 2 * REACH, f"{name}: its two walls disagree"
        seen.add(found["letter"])
    return rebuilt


@EVERY
def test_the_table_rebuilds_every_footprint(scenario: Scenario, layout: str) -> None:
    console = Console(file=io.StringIO(), width=120)
    marking_list(mark_out(scenario, layout), console)
    assert isinstance(console.file, io.StringIO)
    lines = console.file.getvalue().splitlines()
    check(scenario, layout, from_text(lines, scenario.room, scenario.units))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_pages_hold_the_same_figures(path: Path) -> None:
    scenario = load(path)
    texts = [text.get_text() for board in _tables(mark_out(scenario)) for text in board.axes.texts]
    rows = list(csv.DictReader(io.StringIO(as_csv(mark_out(scenario)))))
    unit = "" if scenario.units in ("ft", "in") else f" ({scenario.units})"
    wanted = [row[f"{word}{unit}"] for row in rows for word in ("along", "out")]
    figures = [text for text in texts if text in set(wanted)]
    assert len(figures) >= len(wanted)
    assert [figure for figure in wanted if figure not in texts] == []
    assert sum(bool(re.fullmatch(r"\d+ \S.*", text)) for text in texts) == len(scenario.things)


def test_the_pdf_is_the_same_each_time() -> None:
    scenario = crowded()
    pages = as_pdf(mark_out(scenario))
    assert pages == as_pdf(mark_out(scenario))
    assert pages.startswith(b"%PDF")
    assert b"CreationDate" not in pages


def test_a_tape_is_read_to_a_millimetre_or_a_sixteenth() -> None:
    assert [tape(1.23456, units) for units in ("m", "cm", "mm")] == ["1.235", "123.5", "1235"]
    assert tape(2.0, "ft") == "6' 6-3/4\""
    assert tape(2.0, "in") == '78-3/4"'
    assert [tape(-1e-9, unit) for unit in ("m", "mm", "cm", "ft", "in")] == ["0.000", "0", "0.0", '0"', '0"']


def test_letters_go_on_after_z() -> None:
    assert [corner_letter(k) for k in (0, 25, 26, 27, 51, 52)] == ["a", "z", "aa", "ab", "az", "ba"]


def test_the_order_is_fixed_then_round_the_walls_then_floor_outside_and_vehicles() -> None:
    scenario = loads(AWKWARD.format(units="m", outline=OUTLINES["L"]))
    assert [(mark.name, mark.group) for mark in mark_out(scenario).marks][:1] == [("post", FIXED)]
    groups = [group for group, _ in mark_out(scenario).groups]
    assert groups[-3:] == [FLOOR, OUTSIDE, VEHICLES]
    for path in EXAMPLES:
        found = mark_out(load(path))
        round_the_room = [wall.name for wall in found.scenario.room.walls]
        walls = [group for group, _ in found.groups if group in round_the_room]
        assert walls == [wall for wall in round_the_room if wall in walls]
        for mark in found.marks:
            if mark.group in walls:
                assert mark.offsets[0, :, 1].min() <= AT_WALL + 1e-4
        assert [mark.number for mark in found.marks] == list(range(1, len(found.scenario.things) + 1))


def test_in_a_rectangular_room_two_lengths_say_all() -> None:
    found = mark_out(load(next(path for path in EXAMPLES if path.stem == "frame-nook")))
    assert all(mark.square and len(mark.shown) == 1 for mark in found.marks)


def test_by_hand() -> None:
    scenario = loads(
        'name = "Hand"\n[room]\nsize = [5, 4]\n[stations]\nbench = { size = [2, 0.8] }\n'
        '[layouts.today]\nbench = { at = [3.5, 3.6], facing = "south" }\n'
    )
    (mark,) = mark_out(scenario).marks
    assert (mark.group, mark.bases[0].wall, mark.bases[0].corner) == ("north", "north", "east")
    # a and b at the front, 0.8 m out from the north wall; a on the left, which is west: 5.0 - 2.5 m
    assert mark.offsets[0].tolist() == pytest.approx(np.array([[2.5, 0.8], [0.5, 0.8], [0.5, 0], [2.5, 0]]))
    assert [d.metres for d in mark.diagonals] == pytest.approx([math.hypot(2, 0.8)] * 2)
    station = to_dict(mark_out(scenario))["stations"][0]
    assert station["corners"][0] == {
        "corner": "a",
        "which": "front left",
        "at": [2.5, 3.2],
        "offsets": [{"along": 2.5, "out": 0.8}, {"along": 0.8, "out": 2.5}],
    }


def test_a_sliver_of_a_room_is_marked_out_all_the_same() -> None:
    scenario = loads(
        'name = "Sliver"\n[room]\noutline = [[0, 0], [20, 0], [10, 1]]\n'
        "[stations]\nbin = { size = [0.3, 0.3] }\n"
        '[layouts.today]\nbin = { at = [10, 0.4], facing = "south" }\n'
    )
    (mark,) = mark_out(scenario).marks
    assert len({base.wall for base in mark.bases}) == 2
