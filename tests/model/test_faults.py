"""What is wrong with a file, in the words a person reads: all of it at once, one line for each cause."""

from __future__ import annotations

import pytest

from footwork.model.errors import Problem, ScenarioError
from footwork.model.read import loads
from model.variants import BASE, above, after, faults, variant

BENCH, RACK, VAN, JOB, ROOM, DOOR, TODAY = (
    "[stations.bench]",
    "[stations.rack]",
    "[vehicles.van]",
    "[jobs.mend]",
    "[room]",
    "[[room.doors]]",
    "[layouts.today]",
)
SIZE = "size = [1.5, 0.7]"
ROUTE = 'route = ["bench", "rack", "bench"]'
TIMES = 'times = "1 per week"'

CASES: list[tuple[tuple[str, str], str]] = [
    # keys
    (("[walker]", "[waker]"), "line 3: waker: unknown key; did you mean 'walker'?"),
    (after("[walker]", "sped = 1"), "line 4: walker.sped: unknown key; did you mean 'speed'?"),
    (("wall = ", "wal = "), "line 8: room.doors.gate.wal: unknown key; did you mean 'wall'?"),
    (after(ROOM, "ouline = 1"), "line 5: room.ouline: unknown key; did you mean 'outline'?"),
    (
        after(BENCH, 'plasing = "wall"'),
        "line 13: stations.bench.plasing: unknown key; did you mean 'placing'?",
    ),
    (
        after(BENCH, "q = 1"),
        (
            "line 13: stations.bench.q: unknown key; keys here: like, size, outline, placing, "
            "stand, strip, along, service, stock, height, work_height, castors, ..."
        ),
    ),
    (
        after(BENCH, "stock = { lft = 1 }"),
        "line 13: stations.bench.stock.lft: unknown key; did you mean 'left'?",
    ),
    (
        after(BENCH, "service = { bak = 1 }"),
        "line 13: stations.bench.service: 'bak' is not a side; did you mean 'back'?",
    ),
    (after(JOB, "time = 5"), "line 20: jobs.mend.time: unknown key; did you mean 'times'?"),
    (
        above(JOB, "[checks]", "gives-mind = 3"),
        "line 20: checks.gives-mind: unknown check; did you mean 'gives-minds'?",
    ),
    # kinds of value
    (
        ("from = 0.5", "from = true"),
        'line 9: room.doors.gate.from: true is not a length; write a number, or a string such as "2400 mm"',
    ),
    (("from = 0.5", "from = -0.5"), "line 9: room.doors.gate.from: -0.5 is negative; give 0 or more"),
    (("from = 0.5", "from = nan"), "line 9: room.doors.gate.from: nan is not a number that can be used"),
    (("size = [6, 5]", "size = [inf, 5]"), "line 5: room.size: inf is not a number that can be used"),
    (("size = [6, 5]", "size = [0, 5]"), "line 5: room.size: 0 is not more than 0; give a length above 0"),
    (
        ("size = [6, 5]", "size = [6000, 5]"),
        "line 5: room.size: 6000 is 6,000 m; check its unit, bare numbers are in m",
    ),
    (
        (SIZE, "size = 1.5"),
        "line 13: stations.bench.size: 1.5 is not two lengths; write [along the front, front to back]",
    ),
    (
        (SIZE, "size = [1, 2, 3]"),
        (
            "line 13: stations.bench.size: a list of 3 is not two lengths; "
            "write [along the front, front to back]; decimals go after a point: [1.2, 3] or [1, 2.3]"
        ),
    ),
    (
        ("vehicle = true", 'vehicle = "yes"'),
        "line 11: room.doors.gate.vehicle: 'yes' is not true or false; write true or false, without quotes",
    ),
    (
        ("count = 2", "count = 2.0"),
        "line 16: stations.rack.count: 2.0 is not a whole number; give one from 1 to 100",
    ),
    (
        ("count = 2", "count = 0"),
        "line 16: stations.rack.count: 0 is out of range; give a whole number from 1 to 100",
    ),
    (
        after(VAN, "inside = 1.5"),
        "line 18: vehicles.van.inside: 1.5 is out of range; give a number from 0 to 1",
    ),
    (
        after("[walker]", "speed = 0"),
        "line 4: walker.speed: 0 is out of range; give a number of metres a second from 0.01 to 20",
    ),
    (
        after(BENCH, "weight = true"),
        "line 13: stations.bench.weight: true is not a number; write a number of kilograms",
    ),
    (
        after(BENCH, 'gives = ["noize"]'),
        (
            "line 13: stations.bench.gives: 'noize' is not known here; "
            "did you mean 'noise'? use sparks, dust, noise, fumes, heat or spray"
        ),
    ),
    (
        after(BENCH, 'minds = "dust"'),
        "line 13: stations.bench.minds: 'dust' is not a list; write a list, such as [\"sparks\"]",
    ),
    (
        (BENCH, "[[stations.bench]]"),
        "line 12: stations.bench: a list is not a table; write it as { key = value }",
    ),
    (
        ('units = "m"', 'units = "metres"'),
        "line 2: units: 'metres' is not known here; use m, mm, cm, ft or in",
    ),
    (('name = "Base"', "name = 5"), "line 1: name: 5 is not a text; write it in quotes"),
    (
        ('facing = "south"', 'facing = "sout"'),
        "line 23: layouts.today.bench.facing: 'sout' is not a facing; did you mean 'south'?",
    ),
    (
        (TIMES, 'times = "often"'),
        (
            "line 20: jobs.mend.times: 'often' is not a frequency; "
            'write it as "3 per week" (day, week, month or year)'
        ),
    ),
    ((TIMES, "times = -1"), "line 20: jobs.mend.times: -1 is negative; a job is done 0 times or more"),
    (
        after(JOB, "times_range = [9, 3]"),
        "line 20: jobs.mend.times_range: its first figure is above its second; write the lower one first",
    ),
    # the room
    (
        ("wall = ", "wall = 7 #"),
        "line 8: room.doors.gate.wall: there is no wall '7'; known: south, east, north, west",
    ),
    (
        ("from = 0.5", "from = 4.5"),
        (
            "line 6: room.doors.gate: it ends 7.00 m along the wall, "
            "which is 6.00 m long; lessen from or width"
        ),
    ),
    (
        above(DOOR, "[[room.windows]]", 'wall = "west"', "from = 4", 'width = "4 ft"'),
        "line 6: room.windows[1]: it ends 5.22 m along the wall, which is 5.00 m long; lessen from or width",
    ),
    (
        above(BENCH, "[[room.doors]]", 'wall = "south"', "from = 2", "width = 1"),
        "line 12: room.doors[2]: it overlaps the door 'gate' in the same wall; move one of them",
    ),
    (
        ("size = [6, 5]", "outline = [[0, 0], [6, 0]]"),
        "line 5: room.outline: its outline has 2 corners, it needs three or more",
    ),
    (
        above(DOOR, "[[room.yards]]", 'name = "y"', "outline = [[0, -4], [6, 0], [6, -4], [0, 0]]"),
        "line 8: room.yards.y.outline: its outline crosses itself near (3, -2)",
    ),
    (
        above(DOOR, "[[room.yards]]", 'name = "y"', "outline = [[9, 0], [9, 5], [8, 5]]"),
        (
            "line 6: room.yards.y: no door opens to it, so nobody can walk there; "
            "let an edge of its outline run along a door's opening"
        ),
    ),
    (
        above(DOOR, "[[room.fixtures]]", "at = [60, 2]", "size = [1, 1]"),
        "line 7: room.fixtures[1].at: it lies outside the room; check x (east) and y (north)",
    ),
    # stations and vehicles
    (
        (SIZE, "size = [15, 0.7]"),
        "line 13: stations.bench.size: it is larger than the room: 15.00 m by 0.70 m; check its unit",
    ),
    (
        (SIZE, ""),
        (
            "line 12: stations.bench: it has no size; give size = [along the front, front to back], "
            "or like = a name of the catalogue"
        ),
    ),
    (
        (SIZE, 'like = "pillar dril"'),
        "line 13: stations.bench.like: 'pillar dril' is not in the catalogue; did you mean 'pillar drill'?",
    ),
    (
        after(BENCH, "stand = []"),
        (
            "line 13: stations.bench.stand: a job visits it and there is no side to stand at; "
            'write stand = ["front"], or leave it out'
        ),
    ),
    (
        after(BENCH, "within = { sockt = 3 }"),
        (
            "line 13: stations.bench.within.sockt: there is no fixture, window "
            "or door 'sockt'; fixtures, windows and doors: gate"
        ),
    ),
    (
        after(RACK, 'fixed = { at = [1, 1], facing = "south" }'),
        "line 15: stations.rack.fixed: 2 stations cannot be fixed at one place; name each one",
    ),
    (
        ("vehicle = true", "vehicle = false"),
        "line 17: vehicles.van: 'door' is missing; give a door vehicle = true",
    ),
    (after(VAN, 'door = "gat"'), "line 18: vehicles.van.door: there is no door 'gat'; did you mean 'gate'?"),
    (
        (
            "vehicle = true",
            '[[room.doors]]\nname = "back"\nwall = "east"\nfrom = 1\nwidth = 1\nvehicle = true',
        ),
        (
            "line 23: vehicles.van.size: it is 1.80 m wide and its door 'back' 1.00 m; "
            "a size is [width, length]; widen the door or name another"
        ),
    ),
    (
        ("size = [1.8, 4.0]", "size = [1.8, 14]"),
        (
            "line 18: vehicles.van.size: it is larger than the room: "
            "1.80 m by 14.00 m; check its unit, or give the room a yard for it"
        ),
    ),
    # jobs
    (
        (ROUTE, 'route = ["bensh", "rack"]'),
        "line 21: jobs.mend.route[1]: there is no station or vehicle 'bensh'; did you mean 'bench'?",
    ),
    (
        (ROUTE, 'route = ["bench:back", "rack"]'),
        (
            "line 21: jobs.mend.route[1]: 'bench' is not worked from the back, "
            "only from the front; add back to its stand"
        ),
    ),
    (
        (ROUTE, 'route = ["door:gat", "rack"]'),
        "line 21: jobs.mend.route[1]: there is no door 'gat'; did you mean 'gate'?",
    ),
    (
        (ROUTE, 'route = ["gate", "rack"]'),
        "line 21: jobs.mend.route[1]: 'gate' is a door; write \"door:gate\" for the door",
    ),
    (
        (ROUTE, "route = []"),
        "line 21: jobs.mend.route: the route is empty; name the stations in the order they are visited",
    ),
    (
        (ROUTE, 'route = ["bench", { repeat = 5000, route = ["rack", "bench"] }]'),
        (
            "line 21: jobs.mend.route: 10,001 stops, repeats written out, are too many; "
            "lessen repeat, and raise times, to at most 2,000"
        ),
    ),
    (
        (ROUTE, 'route = [{ repeat = true, route = ["rack"] }]'),
        "line 21: jobs.mend.route[1].repeat: true is not a number of repeats; give a whole number, 1 or more",
    ),
    (
        (ROUTE, 'route = [{ repeet = 2, route = ["rack"] }]'),
        "line 21: jobs.mend.route[1].repeet: unknown key; did you mean 'repeat'?",
    ),
    (
        after(JOB, "minutes = { bech = 5 }"),
        "line 20: jobs.mend.minutes.bech: the route does not visit 'bech'; did you mean 'bench'?",
    ),
    (
        after(JOB, 'carry = [{ from = "rack", to = "rack", width = 1 }]'),
        (
            "line 20: jobs.mend.carry[1]: the route has no leg from 'rack' to 'rack'; "
            "name two stops that follow each other"
        ),
    ),
    (
        after(JOB, 'outside = ["vann"]'),
        "line 20: jobs.mend.outside[1]: there is no vehicle 'vann'; did you mean 'van'?",
    ),
    # wishes, spots, checks, layouts
    (
        above(JOB, "[[prefer]]", 'station = "bench"', 'near = "window"', "weight = 1"),
        "line 21: prefer[1].near: the room has no window; add one under [[room.windows]]",
    ),
    (
        above(JOB, "[[prefer]]", 'station = "bench"', 'apart_from = "rack"', "weight = 1"),
        "line 19: prefer[1]: apart_from needs by; give by = 3.0 with apart_from",
    ),
    (
        above(JOB, "[[spots]]", 'name = "N2"', "at = [1, 1]", "facing = 0", 'takes = ["bnch"]'),
        "line 23: spots.N2.takes[1]: there is no station 'bnch'; did you mean 'bench'?",
    ),
    (
        above(JOB, "[checks]", "in-room = 3"),
        (
            'line 20: checks.in-room: this check has no figure of its own; write { severity = "should" } or '
            '"must"; footwork check --rules shows which have one'
        ),
    ),
    (
        ("rack-2 = { at = [5.5, 2], facing = 270 }\n", ""),
        'line 22: layouts.today: rack-2 has no place; add rack-2 = { at = [x, y], facing = "south" }',
    ),
    (
        ("bench = { at", "bensh = { at"),
        "line 23: layouts.today.bensh: there is no station or vehicle 'bensh'; did you mean 'bench'?",
    ),
    (
        ("rack-1 = { at", "rack = { at"),
        "line 24: layouts.today.rack: 'rack' is 2 alike stations; place rack-1, rack-2 one by one",
    ),
    (
        (TODAY, f"[layouts]\nbefore = 5\n{TODAY}"),
        "line 23: layouts.before: 5 is not a table; write it as [layouts.before]",
    ),
    # names
    (
        (RACK, "[stations.gate]\nsize = [1, 1]\n[stations.rack]"),
        (
            "line 14: stations.gate: the name 'gate' is also that of a door; "
            "give each its own name, such as gate-2"
        ),
    ),
    # TOML
    (
        ('units = "m"', "units = m"),
        'line 2: column 9: text goes in quotes; write units = "m"',
    ),
    ((RACK, BENCH), "line 14: column 16: [stations.bench] is given twice; keep one of the two"),
    (("count = 2", "size = [1, 1]"), "line 16: column 14: 'size' is given twice; keep one of the two"),
    (
        ("count = 2", "count = 1" + "0" * 5000),
        "line 16: a number has thousands of digits; give one that a workshop has use for",
    ),
]


@pytest.mark.parametrize(("change", "message"), CASES, ids=[message.split(": ")[1] for _, message in CASES])
def test_one_fault_one_line(change: tuple[str, str], message: str) -> None:
    found = faults(change)
    if message.startswith("line 14: stations.gate"):  # it also has no place, which is another fault
        found = found[:1]
    assert found == [message]


def test_every_problem_is_told_in_one_go_in_the_order_of_the_file() -> None:
    found = faults(
        after("[walker]", "sped = 1"),
        ("from = 0.5", "from = -1"),
        (SIZE, 'size = [1.5, "x"]\nplasing = "wall"\nstrip = 0'),
        (TIMES, 'times = "seldom"'),
        ('"rack", "bench"]', '"rak", "bench"]'),
        ("[5.5, 2]", "[5.5]"),
    )
    assert [line.split(": ")[:2] for line in found] == [
        ["line 4", "walker.sped"],
        ["line 10", "room.doors.gate.from"],
        ["line 14", "stations.bench.size"],
        ["line 15", "stations.bench.plasing"],
        ["line 16", "stations.bench.strip"],
        ["line 23", "jobs.mend.times"],
        ["line 24", "jobs.mend.route[2]"],
        ["line 28", "layouts.today.rack-2.at"],
    ]


def test_a_station_with_a_fault_is_not_also_unknown_where_it_is_named() -> None:
    extra = above(
        JOB,
        "[[spots]]",
        "at = [1, 1]",
        "facing = 0",
        'takes = ["bench"]',
        "[[prefer]]",
        'station = "bench"',
        'near = "bench"',
        "weight = 1",
    )
    assert faults((SIZE, "size = [0, 1]"), extra) == [
        "line 13: stations.bench.size: 0 is not more than 0; give a length above 0"
    ]


def test_a_word_used_many_times_is_told_where_it_is_first_used() -> None:
    assert (
        len(faults((ROUTE, 'route = ["bench", { repeat = 9, route = ["rak", "bench", "rak"] }, "rak"]'))) == 1
    )


def test_what_cannot_be_seen_is_spelt_out() -> None:
    assert faults((ROUTE, r'route = ["bench", "ra\nck"]')) == [
        r"line 21: jobs.mend.route[2]: there is no station or vehicle 'ra\nck'; did you mean 'rack'?"
    ]


def test_a_file_without_room_and_stations_says_both() -> None:
    with pytest.raises(ScenarioError) as caught:
        loads("")
    assert caught.value.lines == (
        "there is no room; add a [room] table with size = [east, north]",
        'there are no stations; add one: [stations.bench], like = "workbench"',
    )


def test_lines_are_those_of_the_file_with_windows_line_ends_and_comments() -> None:
    text = variant(("units", "# a word\n# more\nunits"), ("count = 2", "count = 0")).replace("\n", "\r\n")
    with pytest.raises(ScenarioError, match=r"line 18: stations\.rack\.count: 0 is out of range"):
        loads(text)


def test_lengths_in_messages_are_in_the_units_of_the_file() -> None:
    text = BASE.replace('units = "m"', 'units = "ft"').replace("[6, 5]", "[20, 16]")
    with pytest.raises(ScenarioError) as caught:
        loads(text.replace("from = 0.5", 'from = "18 ft 6 in"'))
    assert "it ends 21' 0\" along the wall, which is 20' 0\" long" in caught.value.lines[0]


def test_a_problem_says_where_what_and_what_would_mend_it() -> None:
    assert str(Problem("a.b", "wrong", "mend it", 3)) == "line 3: a.b: wrong; mend it"
    assert str(Problem("a.b", "wrong")) == "a.b: wrong"
    assert str(Problem("", "wrong", line=3)) == "line 3: wrong"
    assert str(Problem("", "wrong")) == "wrong"
