"""Every key of a scenario file is read, and its lengths turned into metres."""

from __future__ import annotations

from pathlib import Path

import pytest

from footwork.model.errors import ScenarioError
from footwork.model.read import load, loads
from footwork.model.rules import RULE_IDS, RULES_WITH_FIGURE
from footwork.model.scenario import CheckSetting, Placement, Stock, Visit, Walker
from model.variants import BASE, above, after, read, variant

IN_FEET = ('units = "m"', 'units = "ft"')
FOOT = 0.3048
BENCH, RACK, VAN, JOB, ROOM = (
    "[stations.bench]", "[stations.rack]", "[vehicles.van]", "[jobs.mend]", "[room]",
)  # fmt: skip
DOOR = "[[room.doors]]"


def near(*values: float) -> object:
    return pytest.approx(values, abs=1e-12)


def test_what_the_base_file_says() -> None:
    s = read()
    assert (s.name, s.units, s.path) == ("Base", "m", None)
    assert s.walker == Walker()
    assert s.room.size == (6, 5)
    assert s.room.outline == ((0, 0), (6, 0), (6, 5), (0, 5))
    assert [w.name for w in s.room.walls] == ["south", "east", "north", "west"]
    assert [t.name for t in s.things] == ["bench", "rack-1", "rack-2", "van"]
    assert list(s.layouts[0].placements) == ["bench", "rack-1", "rack-2", "van"]
    assert s.layouts[0].placements["rack-2"] == Placement(5.5, 2, 270)


def test_the_name_of_a_file_without_one_is_that_of_the_file(tmp_path: Path) -> None:
    path = tmp_path / "my shed.toml"
    path.write_text(variant(('name = "Base"\n', "")), encoding="utf-8")
    assert load(path).name == "my shed"
    assert load(path).path == path


@pytest.mark.parametrize(
    ("units", "factor"), [("m", 1), ("mm", 0.001), ("cm", 0.01), ("ft", 0.3048), ("in", 0.0254)]
)
def test_units(units: str, factor: float) -> None:
    text = f'units = "{units}"\n[room]\nsize = [{9 / factor!r}, "7 ft 6 in"]\n[stations.a]\nsize = ["1 m", 9]'
    text = text.replace(", 9]", f", {0.9 / factor!r}]")
    s = loads(text)
    assert s.room.size == near(9, 2.286)
    assert s.stations[0].size == near(1, 0.9)


def test_walker() -> None:
    given = after("[walker]", 'profile = "standing"', "width = 2", "speed = 1.5", 'step = "30 in"')
    w = read(IN_FEET, given).walker
    assert (w.width, w.speed, w.step) == near(2 * FOOT, 1.5, 0.762)


def test_the_wheelchair_has_its_own_width_and_strips() -> None:
    s = read(after("[walker]", 'profile = "wheelchair"'))
    assert (s.walker.width, s.stations[0].strip) == (0.915, 0.76)
    assert read().stations[0].strip == 0.75


def test_a_room_by_its_outline_numbers_its_walls_as_drawn() -> None:
    """Clockwise here: wall 1 runs up the west side, and the outline is turned round."""
    s = read(
        ("size = [6, 5]", "outline = [[0, 0], [0, 5], [6, 5], [6, 0]]"),
        ('wall = "south"\nfrom = 0.5', "wall = 4\nfrom = 3.0"),
    )
    assert s.room.size is None
    assert s.room.outline == ((0, 0), (6, 0), (6, 5), (0, 5))
    assert [(w.name, w.start, w.inward) for w in s.room.walls] == [
        ("1", (0, 0), (1, 0)),
        ("2", (0, 5), (0, -1)),
        ("3", (6, 5), (-1, 0)),
        ("4", (6, 0), (0, 1)),
    ]
    assert (s.room.doors[0].start, s.room.doors[0].end) == ((3, 0), (0.5, 0))


def test_doors() -> None:
    more = f'{DOOR}\nwall = "east"\nfrom = 1\nwidth = 0.9\nswing = "in"\nhinge = "end"\n{DOOR}'
    s = read((DOOR, more))
    new, gate = s.room.doors
    assert (new.name, new.wall, new.start, new.end, new.inward) == (
        "door-1",
        "east",
        (6, 1),
        (6, 1.9),
        (-1, 0),
    )
    assert (new.swing, new.hinge, new.vehicle, new.yard) == ("in", "end", False, None)
    assert (gate.swing, gate.hinge, gate.vehicle) == ("none", "start", True)
    assert gate.width == pytest.approx(2.5)


def test_windows_fixtures_and_floor_to_keep_clear() -> None:
    s = read(
        (
            DOOR,
            """\
[[room.windows]]
wall = "north"
from = "100 cm"
width = 1.2
[[room.fixtures]]
name = "post"
at = [3, 2]
size = [0.4, 0.2]
facing = "east"
[[room.fixtures]]
name = "socket"
at = [6.05, 2.0]
[[room.keep_clear]]
name = "panel"
at = [5.5, 4]
size = [0.8, 0.9]
facing = "west"
kind = "electrical panel"
[[room.doors]]""",
        )
    )
    (window,) = s.room.windows
    assert (window.name, window.start, window.end) == ("window-1", (1, 5), (2.2, 5))
    post, socket = s.room.fixtures
    assert (post.at, post.size, post.facing) == ((3, 2), (0.4, 0.2), 90)
    assert sorted(post.outline) == [near(2.9, 1.8), near(2.9, 2.2), near(3.1, 1.8), near(3.1, 2.2)]
    assert socket.at == (6, 2), "a fixture without a size hangs on the wall"
    (panel,) = s.room.keep_clear
    assert (panel.name, panel.kind, panel.facing, panel.size) == (
        "panel",
        "electrical panel",
        270,
        (0.8, 0.9),
    )


def test_a_yard_is_reached_through_the_door_that_touches_it() -> None:
    s = read((DOOR, f'[[room.yards]]\nname = "lane"\noutline = [[0, -4], [6, -4], [6, 0], [0, 0]]\n{DOOR}'))
    assert s.room.yards[0].name == "lane"
    assert s.room.yards[0].outline == ((0, -4), (6, -4), (6, 0), (0, 0))
    assert s.room.doors[0].yard == "lane"


STATION_KEYS: list[tuple[str, str, object]] = [
    ('placing = "island"', "placing", "island"),
    ('stand = ["front", "back"]', "stand", ("front", "back")),
    ("stand = []", "stand", ()),
    ("strip = 3", "strip", pytest.approx(3 * FOOT)),
    ("along = true", "along", True),
    ("service = { back = 1, left = 0 }", "service", (("back", pytest.approx(FOOT)),)),
    ('stock = { left = 2, right = "1 m", width = 1 }', "stock", Stock(0, 0, 2 * FOOT, 1, FOOT)),
    ("stock = { front = 2 }", "stock", Stock(front=2 * FOOT)),
    ("height = 3", "height", pytest.approx(3 * FOOT)),
    ("work_height = 3", "work_height", pytest.approx(3 * FOOT)),
    ("castors = true", "castors", True),
    ("weight = 120", "weight", 120),
    ('gives = ["sparks", "dust", "noise", "fumes", "heat", "spray"]', "gives",
     ("sparks", "dust", "noise", "fumes", "heat", "spray")),
    ('minds = ["dust", "flammable"]', "minds", ("dust", "flammable")),
    ("outdoors = true", "outdoors", True),
    ("within = { gate = 3 }", "within", (("gate", pytest.approx(3 * FOOT)),)),
]  # fmt: skip


@pytest.mark.parametrize(("line", "key", "value"), STATION_KEYS, ids=[line for line, _, _ in STATION_KEYS])
def test_keys_of_a_station(line: str, key: str, value: object) -> None:
    job = ('route = ["bench", "rack", "bench"]', 'route = ["rack"]')
    s = read(IN_FEET, after(BENCH, line), job)
    assert getattr(s.station("bench"), key) == value


def test_a_station_by_its_outline() -> None:
    """An L about its own centre, drawn as it stands when it faces south; clockwise is turned round."""
    ell = "outline = [[-1, -1], [-1, 1], [0, 1], [0, 0], [1, 0], [1, -1]]"
    bench = read(("size = [1.5, 0.7]", ell)).station("bench")
    assert bench.size == (2, 2)
    assert bench.outline == ((-1, -1), (1, -1), (1, 0), (0, 0), (0, 1), (-1, 1))


def test_like_takes_everything_from_the_catalogue_and_keys_below_it_win() -> None:
    plain = read(("size = [1.5, 0.7]", 'like = "pillar drill"')).station("bench")
    other = read(
        ("size = [1.5, 0.7]", 'like = "pillar drill"\nsize = ["20 in", 0.7]\nheight = 1.234')
    ).station("bench")
    assert plain.like == "pillar drill"
    assert other.size == near(0.508, 0.7)
    assert other.height == 1.234
    assert (other.placing, other.stock, other.gives) == (plain.placing, plain.stock, plain.gives)


def test_a_fixed_station_is_in_every_layout() -> None:
    s = read(
        after(BENCH, 'fixed = { at = [2, 4], facing = "south" }'),
        ('bench = { at = [1, 4], facing = "south" }\n', ""),
    )
    assert s.station("bench").fixed == s.layouts[0].placements["bench"] == Placement(2, 4, 180)


def test_alike_stations() -> None:
    s = read()
    assert [(t.name, t.group) for t in s.stations] == [
        ("bench", "bench"),
        ("rack-1", "rack"),
        ("rack-2", "rack"),
    ]
    assert s.jobs[0].route[1] == Visit("rack", "station", ("rack-1", "rack-2"))


def test_keys_of_a_vehicle() -> None:
    s = read(
        after(VAN, 'door = "gate"', "around = { left = 0.9, front = 0.6, back = 0 }", "along = true",
              "inside = 0.3", "height = 2.1", 'spots = [{ at = [2, 2.5], facing = "south" }]'),
    )  # fmt: skip
    van = s.vehicle("van")
    assert (van.door, van.size, van.along, van.inside, van.height) == ("gate", (1.8, 4.0), True, 0.3, 2.1)
    assert van.around == (("front", 0.6), ("left", 0.9))
    assert van.stand == ("front", "left")
    assert van.spots == (Placement(2, 2.5, 180),)
    assert read().vehicle("van").door == "gate", "the only vehicle door there is"


def test_keys_of_a_job() -> None:
    route = 'route = ["door:gate", "bench:front", { repeat = 2, route = ["rack", "rack-2"] }]'
    carry = 'carry = [{ from = "bench", to = "rack", width = "36 in" }]'
    more = ("minutes = { bench = 20, rack = 0.5 }", carry, 'outside = ["van"]')
    s = read(
        ('times = "1 per week"', 'times = "2 per month"\ntimes_range = ["1 per month", 60]'),
        ('route = ["bench", "rack", "bench"]', "\n".join((route, *more))),
    )
    (job,) = s.jobs
    assert (job.times, job.times_per_year, job.times_range) == ("2 per month", 24, (12, 60))
    assert [v.name for v in job.route] == ["door:gate", "bench", "rack", "rack-2", "rack", "rack-2"]
    assert job.route[0] == Visit("door:gate", "door", ("gate",))
    assert job.route[1].side == "front"
    assert job.minutes == (("bench", 20), ("rack", 0.5))
    assert job.outside == ("van",)
    (carry,) = job.carry
    assert (carry.start, carry.end, carry.width) == ("bench", "rack", pytest.approx(0.9144))
    assert job.width_between(job.route[1], job.route[2], 0.6) == pytest.approx(0.9144)
    assert job.width_between(job.route[2], job.route[3], 0.6) == 0.6


def test_a_job_may_visit_a_vehicle_by_its_side() -> None:
    s = read(('"bench", "rack", "bench"', '"bench", "van:left", "van"'), after(VAN, "around = { left = 1 }"))
    assert s.jobs[0].route[1:] == (
        Visit("van", "vehicle", ("van",), "left"),
        Visit("van", "vehicle", ("van",)),
    )


def test_a_route_of_two_thousand_visits_is_read() -> None:
    s = read(
        ('"bench", "rack", "bench"', '{ repeat = 50, route = [{ repeat = 20, route = ["bench", "rack"] }] }')
    )
    assert len(s.jobs[0].route) == 2_000


def test_spots() -> None:
    one = ("[[spots]]", 'name = "N2"', "at = [1, 4]", "facing = 90", 'takes = ["rack", "bench"]')
    other = ("[[spots]]", "at = [2, 4]", 'facing = "south"', 'takes = ["rack-2"]')
    s = read(above(JOB, *one, *other))
    assert [(p.name, p.placement, p.takes) for p in s.spots] == [
        ("N2", Placement(1, 4, 90), ("rack-1", "rack-2", "bench")),
        ("spot-2", Placement(2, 4, 180), ("rack-2",)),
    ]


def test_wishes_are_written_out_for_alike_stations() -> None:
    near_door = ("[[prefer]]", 'station = "rack"', 'near = "door"', "weight = 300")
    apart = ("[[prefer]]", 'station = "bench"', 'apart_from = "rack"', 'by = "3 ft"', "weight = 2.5")
    s = read(above(JOB, *near_door, *apart))
    assert [(p.station, p.near, p.apart_from, p.by, p.weight) for p in s.prefer] == [
        ("rack-1", "door", None, 0, 300),
        ("rack-2", "door", None, 0, 300),
        ("bench", None, "rack-1", pytest.approx(0.9144), 2.5),
        ("bench", None, "rack-2", pytest.approx(0.9144), 2.5),
    ]


def test_checks() -> None:
    way_out = 'way-out = { figure = "0.8 m", severity = "must" }'
    panel = 'panel-space = { severity = "should" }'
    s = read(IN_FEET, above(JOB, "[checks]", "gives-minds = 10", way_out, panel))
    assert s.checks["gives-minds"] == CheckSetting(pytest.approx(10 * FOOT), None)
    assert s.checks["way-out"] == CheckSetting(0.8, "must")
    assert s.checks["panel-space"] == CheckSetting(None, "should")


@pytest.mark.parametrize("rule", RULE_IDS)
def test_every_check_can_be_named(rule: str) -> None:
    assert rule in read((JOB, f'[checks]\n{rule} = {{ severity = "should" }}\n{JOB}')).checks
    if rule in RULES_WITH_FIGURE:
        assert read((JOB, f"[checks]\n{rule} = 1.5\n{JOB}")).checks[rule].figure == 1.5


def test_layouts_come_in_the_order_of_the_file() -> None:
    rows = BASE.partition("[layouts.today]\n")[2]
    s = loads(f'{BASE}[layouts."as it was"]\n{rows}')
    assert [layout.name for layout in s.layouts] == ["today", "as it was"]
    assert s.layouts[0].placements == s.layouts[1].placements


def test_a_file_may_have_windows_line_ends_and_a_byte_order_mark(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    path.write_bytes(b"\xef\xbb\xbf" + BASE.replace("\n", "\r\n").encode())
    assert load(path).stations == loads(BASE).stations


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b'name = "x"\nroom = "caf\xe9"\n', "line 2: it is not UTF-8 text; save it as UTF-8"),
        (b"\xff\xfen\x00", "line 1: it is not UTF-8 text; save it as UTF-8"),
        (b"#" * 5_000_001, "the file is too large for a scenario; it may have 1,000,000 bytes"),
        (b"\x00", "line 1: column 1: invalid statement; the file is TOML: key = value, text in quotes"),
        (b"", "there is no room; add a [room] table with size = [east, north]"),
    ],
    ids=["latin-1", "utf-16", "huge", "nul", "empty"],
)
def test_files_that_are_no_scenario(tmp_path: Path, data: bytes, message: str) -> None:
    path = tmp_path / "shed.toml"
    path.write_bytes(data)
    with pytest.raises(ScenarioError) as caught:
        load(path)
    assert caught.value.lines[0] == f"{path}: {message}"


def test_paths_that_are_no_file(tmp_path: Path) -> None:
    for path, message in (
        (tmp_path, "it is a folder; name a scenario file in it"),
        (tmp_path / "no.toml", "there is no such file; `footwork new` writes one to start from"),
        (tmp_path / "x" / "no.toml", "there is no such file; `footwork new` writes one to start from"),
    ):
        with pytest.raises(ScenarioError) as caught:
            load(path)
        assert caught.value.lines == (f"{path}: {message}",)
    for odd in ("a\0b", "n" * 5000):
        with pytest.raises(ScenarioError, match="it cannot be read"):
            load(odd)
