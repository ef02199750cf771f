"""Files with a slip in what the checks ask: one line each that says what, where, and what would mend it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cli.run import footwork

BASE = """name = "x"
[room]
size = [4, 3]
doors = [{ name = "d", wall = "south", from = 1, width = 2.2, vehicle = true }]
[stations]
bench = { size = [1.5, 0.6] }
drill = { like = "pillar drill" }
[jobs]
a = { times = "1 per week", route = ["bench", "drill"] }
"""
CAR = "[vehicles.car]\nsize = [1.8, 2.5]\n"
HAZARDS = "sparks, dust, noise, fumes, heat or spray"

SLIPS = {
    "a negative figure": (
        BASE + "[checks]\ngives-minds = -2\n",
        "line 11: checks.gives-minds.figure: -2 is negative; give 0 or more",
    ),
    "a rule that there is not": (
        BASE + "[checks]\ngive-minds = 2\n",
        "line 11: checks.give-minds: unknown check; did you mean 'gives-minds'?",
    ),
    "a severity that there is not": (
        BASE + '[checks]\nway-out = { severity = "may" }\n',
        "line 11: checks.way-out.severity: 'may' is not known here; use must or should",
    ),
    "a station that is not in the catalogue": (
        BASE.replace("pillar drill", "piller drill"),
        "line 7: stations.drill.like: 'piller drill' is not in the catalogue; did you mean 'pillar drill'?",
    ),
    "a vehicle without a door": (
        BASE.replace(", vehicle = true", "") + CAR,
        "line 10: vehicles.car: 'door' is missing; give a door vehicle = true",
    ),
    "a vehicle higher than its door": (
        BASE.replace("vehicle = true", "vehicle = true, height = 2.0") + CAR + "height = 2.2\n",
        (
            "line 12: vehicles.car.height: it is 2.20 m high and its door 'd' 2.00 m; measure both; a higher "
            "door, or another, would do"
        ),
    ),
    "an overhead leaf of unknown height": (
        BASE.replace("vehicle = true", "vehicle = true, leaf = 2"),
        "line 4: room.doors.d.leaf: nobody can tell how high its open leaf hangs; give its height",
    ),
    "a hazard misspelt": (
        BASE.replace("0.6] }", '0.6], gives = ["spark"] }'),
        f"line 6: stations.bench.gives: 'spark' is not known here; did you mean 'sparks'? use {HAZARDS}",
    ),
    "a gas misspelt": (
        BASE.replace("0.6] }", '0.6], holds = ["oxigen"] }'),
        (
            "line 6: stations.bench.holds: 'oxigen' is not known here; did you mean 'oxygen'? use oxygen or "
            "fuel gas"
        ),
    ),
    "a negative height": (
        BASE.replace("0.6] }", "0.6], ignition_height = -1 }"),
        "line 6: stations.bench.ignition_height: -1 is negative; give 0 or more",
    ),
    "service behind a wall station": (
        BASE.replace("0.6] }", '0.6], placing = "wall", service = { back = 0.3 } }'),
        (
            "line 6: stations.bench.service: it needs 0.30 m for service behind it, and a wall station "
            'stands within 0.10 m of its wall; let placing be "any", or lessen back'
        ),
    ),
    "a wall station worked from its back": (
        BASE.replace("0.6] }", '0.6], placing = "wall", stand = ["back"] }'),
        (
            "line 6: stations.bench.stand: it is worked from its back, which a wall station has at its wall; "
            'let placing be "any" or "island", or take "back" out of stand'
        ),
    ),
}


@pytest.mark.parametrize("slip", SLIPS)
def test_one_line_says_what_is_wrong(slip: str, tmp_path: Path) -> None:
    text, told = SLIPS[slip]
    path = tmp_path / "shed.toml"
    path.write_text(text, encoding="utf-8")
    done = footwork("check", str(path))
    assert (done.status, done.out, done.err) == (2, "", f"footwork: {path}: {told}\n")


def test_a_misspelt_room_key_hides_no_other_fault(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    path.write_text(BASE.replace("size = [4, 3]", "sise = [4, 3]").replace("1.5, 0.6", "15, 0.6"), "utf-8")
    told = footwork("check", str(path)).err.splitlines()
    assert [line.removeprefix(f"footwork: {path}: ") for line in told] == [
        "line 3: room.sise: unknown key; did you mean 'size'?",
        "line 6: stations.bench.size: it is larger than the room: 15.00 m by 0.60 m; check its unit",
    ]


def test_more_room_behind_a_wall_station_where_the_file_allows_it(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    text = BASE.replace("0.6] }", '0.6], placing = "wall", service = { back = 0.3 } }')
    path.write_text(text + "[checks]\nplacing = 0.3\n", encoding="utf-8")
    assert footwork("check", str(path)).status == 0
    told = footwork("suggest", str(path), "--iterations", "50", "--pitch", "0.5", "--quiet")
    assert told.status == 0, told.err


def test_sizes_that_look_like_feet_are_asked_about(tmp_path: Path) -> None:
    """A double garage written in feet, with no unit given."""
    path = tmp_path / "garage.toml"
    path.write_text(
        "[room]\nsize = [20, 24]\n[stations.bench]\nsize = [6, 2]\n"
        '[layouts.now]\nbench = { at = [10, 20], facing = "south" }\n',
        encoding="utf-8",
    )
    asked = "the room is 20 x 24 m and bench 6 x 2 m: are these feet?"
    assert f"note: {asked}" in footwork("check", str(path)).out
    assert asked in " ".join(footwork("score", str(path)).out.split())
    path.write_text("units = 'ft'\n" + path.read_text(encoding="utf-8"), encoding="utf-8")
    assert "are these" not in footwork("check", str(path)).out


def test_a_word_of_several_names_lists_them() -> None:
    told = footwork("stations", "lathe")
    assert told.status == 0
    lines = told.out.splitlines()
    assert lines[0].startswith("'lathe' is in ")
    assert {"metal", "small", "wood"} <= {line.split()[0] for line in lines if " lathe " in line}
    slip = footwork("stations", "piller")
    assert (slip.status, slip.err) == (
        2,
        "footwork: 'piller' is not in the catalogue; did you mean 'pillar drill'?\n",
    )


def test_rules_as_the_file_sets_them(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    path.write_text(
        BASE + '[checks]\ngives-minds = 3.0\npanel-space = { severity = "should" }\nplacing = 0.2\n', "utf-8"
    )
    lines = footwork("check", "--rules", str(path)).out.splitlines()
    row = {line.split()[0]: line for line in lines if line and not line.startswith(" ")}
    assert "3 m" in row["gives-minds"]
    assert row["gives-minds"].endswith("your file")
    assert row["placing"].endswith("your file")
    assert "should" in row["panel-space"]
    assert "your file for the severity;" in row["panel-space"]
    assert "common practice" in row["drive-in"]


def test_a_back_that_no_wall_is_behind_is_null_in_json(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    text = BASE.replace("0.6] }", '0.6], placing = "wall" }')
    layout = "[layouts.a]\nbench = { at = [2, 1.5], facing = 45 }\ndrill = { at = [3.5, 2], facing = 0 }\n"
    path.write_text(text + layout, encoding="utf-8")
    done = footwork("score", str(path), "--json")
    assert done.status == 1
    told = {c["id"]: c["actual"] for c in json.loads(done.out)["checks"] if c["subject"] == "bench"}
    assert told["placing"] is None
